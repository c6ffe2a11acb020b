"""Variety: what is due, what stays to compare by, and something new for today."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.coach.making import after, bells, context, history, run, shed

from whistlestop.coach.variety import in_use, rotation, something_new
from whistlestop.domain.circuit.circuit import Drill
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.library import drills, exercises


def used_for(days: int) -> tuple[object, object]:
    circuit = shed()
    runs = [run(circuit, after(n), 5) for n in range(0, days + 1, 3)]
    return history(*runs), context(circuit, after(days), kit=bells(16))


def test_days_in_use_begin_with_the_first_run_that_had_it_there() -> None:
    circuit = shed()
    other = replace(circuit, stations=(*circuit.stations[:3], circuit.stations[1]))
    told = history(run(other, after(0)), run(circuit, after(3)), run(circuit, after(9)))
    found = {(x.what, x.station): x.days for x in in_use(told, circuit, after(10))}
    assert found["station", 1] == 10
    assert found["station", 4] == 7
    assert found["drill", 1] == 10


@pytest.mark.parametrize(("days", "due"), [(20, False), (21, True), (28, True)])
def test_a_rotation_is_due_after_three_weeks_and_keeps_one_yardstick(
    days: int, due: bool
) -> None:
    """Three to four weeks, one yardstick kept (common practice, no source)."""
    circuit = shed()
    runs = [run(circuit, after(0)), run(circuit, after(days - 2))]
    wishes = context(circuit, after(days), kit=bells(16))
    found = rotation(history(*runs), wishes, drills())
    assert found.yardstick is not None
    assert found.yardstick.id == "goblet-squat"
    assert (found.change is not None) is due
    if found.change is not None:
        assert found.change.id != found.yardstick.id
        assert found.instead
        assert f"{days} days" in found.sentence


def test_the_drill_changes_first_and_to_one_of_its_kind() -> None:
    told, wishes = used_for(24)
    found = rotation(told, wishes, drills())
    assert found.change is not None
    assert found.change.what == "drill"
    for key, _ in found.instead:
        assert drills()[key].kind == drills()["one-leg-stand"].kind
        assert not wishes.kit.missing(drills()[key].kit)


def test_a_named_yardstick_stays_and_the_next_thing_changes() -> None:
    told, wishes = used_for(24)
    found = rotation(told, wishes, drills(), yardstick="one-leg-stand")
    assert found.yardstick is not None
    assert found.yardstick.id == "one-leg-stand"
    assert found.change is not None
    assert found.change.what == "station"
    here = {station.exercise for station in wishes.circuit.stations}
    assert not here & {key for key, _ in found.instead}


def test_something_new_is_the_same_all_day_and_another_over_days() -> None:
    unused = (tuple(exercises()), tuple(drills()))
    wishes = context(shed(), after(0), kit=bells(16))
    one = something_new(unused, wishes, drills())
    later = replace(wishes, now=wishes.now + timedelta(hours=5))
    assert something_new(unused, later, drills()) == one
    picks = {
        something_new(unused, context(shed(), after(n)), drills()).id for n in range(60)
    }
    assert len(picks) > 20
    assert something_new(((), ()), wishes, drills()) is None


def test_something_new_needs_only_kit_that_is_there_and_keeps_to_limits() -> None:
    unused = (tuple(exercises()), tuple(drills()))
    limits = tuple(Limit("region", region, after(99)) for region in ("legs", "whole"))
    for n in range(40):
        wishes = context(shed(), after(n), kit=Kit(mats=1), limits=limits)
        pick = something_new(unused, wishes, drills())
        assert pick is not None
        known = exercises()[pick.id] if pick.what == "station" else drills()[pick.id]
        assert not Kit(mats=1).missing(known.kit)
        if pick.what == "station":
            assert exercises()[pick.id].region not in {"legs", "whole"}
        else:
            assert not {"legs", "whole"} & set(drills()[pick.id].loads)


def test_a_drill_named_by_its_level_is_the_same_drill() -> None:
    circuit = shed()
    level = replace(
        circuit.stations[0], drill=Drill("one-leg-stand", "One-leg stand: hands free")
    )
    harder = replace(circuit, stations=(level, *circuit.stations[1:]))
    told = history(run(circuit, after(0)), run(harder, after(9)))
    found = {(x.what, x.station): x.days for x in in_use(told, harder, after(10))}
    assert found["drill", 1] == 10
