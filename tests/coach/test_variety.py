"""Variety: what is due, what stays to compare by, and something new for today."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.coach.making import (
    after,
    bells,
    context,
    history,
    library_station,
    run,
    shed,
)

from whistlestop.coach.lighter import stand_in
from whistlestop.coach.variety import in_use, rotation, something_new
from whistlestop.domain.circuit.circuit import Drill
from whistlestop.domain.demands import added_by, asks
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.library import drills, exercises
from whistlestop.library.cards import cards
from whistlestop.library.families import family_of_pattern
from whistlestop.library.levels import station_levels


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


def test_a_rotation_is_no_step_and_needs_no_new_load() -> None:
    """Close-grip push-ups in the place of push-ups would be an unearned step."""
    circuit = shed(stations=[library_station("push-up"), library_station("bird-dog")])
    runs = [run(circuit, after(n), 5) for n in range(0, 25, 3)]
    wishes = context(circuit, after(25), kit=bells(16))
    found = rotation(history(*runs), wishes, drills(), yardstick="bird-dog")
    card, base = cards()["push-up"], station_levels()["push-up"].base
    harder = {each.to for each in card.harder}
    assert "close-push-up" in harder
    assert found.instead
    for key, _ in found.instead:
        assert key not in harder
        assert family_of_pattern()[exercises()[key].pattern] == "push"
        assert cards()[key].load_kind != "required"
        assert station_levels()[key].base <= base


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


def asks_too_much(key: str, site: str, most: int) -> bool:
    """Counted by the demands alone, a drill at its hardest level."""
    known = drills().get(key)
    if known is not None:
        return asks(known, site, extra=known.added_at()) > most
    own = exercises()[key]
    return asks(own, site, extra=added_by(own.kit)) > most


@pytest.mark.parametrize("site", ["ankle", "neck", "wrist-hand"])
def test_something_new_asks_no_more_of_a_sore_site_than_it_may(site: str) -> None:
    """By hand: with the ankle left out no one-leg stand and no rope; juggling may."""
    unused = (tuple(exercises()), tuple(drills()))
    for strength, most in (("out", 0), ("easy", 1)):
        limits = (Limit("site", site, after(99), strength=strength),)
        for n in range(40):
            wishes = context(shed(), after(n), limits=limits)
            pick = something_new(unused, wishes, drills())
            assert pick is not None
            assert not asks_too_much(pick.id, site, most), pick.id


def test_a_region_that_is_left_out_does_not_bar_a_drill_that_spares_the_site() -> None:
    """Feet that are well may step to a call while a wrist is left out."""
    limits = (Limit("site", "wrist-hand", after(99)),)
    picks = set()
    for n in range(60):
        wishes = context(shed(), after(n), limits=limits)
        pick = something_new(((), tuple(drills())), wishes, drills())
        picks.add(pick.id if pick else "")
    assert "called-step" in picks
    assert "one-ball-arc" not in picks


def test_a_rotation_gives_no_drill_that_a_limit_stands_against() -> None:
    """A one-leg stand has been in for 24 days; with the neck out no head turns come."""
    told, wishes = used_for(24)
    free = {key for key, _ in rotation(told, wishes, drills()).instead}
    assert free
    barred = next(iter(free))
    limits = (Limit("movement", barred, after(99)), Limit("site", "neck", after(99)))
    found = rotation(told, replace(wishes, limits=limits), drills()).instead
    assert barred not in {key for key, _ in found}
    for key, _ in found:
        assert not asks_too_much(key, "neck", 0), key


def test_a_rotation_counts_the_load_that_goes_along() -> None:
    """A bridge can do without a weight, but not in the place of a loaded hinge.

    With the elbow left out nothing may be held; bare, the same stands open.
    """
    elbow = (Limit("site", "elbow", after(99)),)
    for load, may in (("12 kg", False), (None, True)):
        hinge = library_station("romanian-deadlift", load, kit=())
        circuit = replace(shed(), stations=(library_station("bird-dog"), hinge))
        runs = [run(circuit, after(n), 5) for n in range(0, 25, 3)]
        wishes = context(circuit, after(24), limits=elbow)
        found = rotation(history(*runs), wishes, drills(), yardstick="bird-dog")
        keys = {key for key, _ in found.instead}
        assert ("glute-bridge" in keys) is may


def test_nothing_that_waits_for_practice_comes_by_a_rotation_or_an_exchange() -> None:
    """A coach gives a step of balance or a jump once the step before is held."""
    told, wishes = used_for(30)
    first = rotation(told, wishes, drills())
    assert first.change is not None
    waits = frozenset(key for key, _ in first.instead)
    later = rotation(told, replace(wishes, waiting=lambda: waits), drills())
    assert not waits & {key for key, _ in later.instead}
    sore = {"knee": "out"}
    taken = stand_in(wishes, 1, sore, ())
    assert taken is not None
    other = stand_in(replace(wishes, waiting=lambda: {taken.exercise}), 1, sore, ())
    assert other != taken
