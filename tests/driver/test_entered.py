"""A session done without the laptop, entered afterwards, is a full record.

Worked out by hand before the code. The circuit has two loops of three stations with
40 s of work each: goblet squat 12 kg, side plank, step-up 2 x 6 kg.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from tests.support.services import SHED, ServicesForTests, make_services

from whistlestop.domain.effort import Effort
from whistlestop.driver.coaching import Coaching
from whistlestop.driver.diary import DiscomfortEntry, TrainingEntry, planned
from whistlestop.errors import UsageError
from whistlestop.review.entered import StationEntry, parse_station_entry
from whistlestop.review.items import Filter, ItemKind
from whistlestop.review.lines import record_lines
from whistlestop.review.stations import completion, loop_efforts, work_by
from whistlestop.store.diary.file import diary_path
from whistlestop.tui.rooms.circuits.room import find

DAY = date(2026, 3, 10)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path / "home", {"rainy-shed": SHED})


def enter(services: ServicesForTests, *typed: str, **changes: object) -> str:
    keeper = services.diary()
    plan = planned(services.circuits.read("rainy-shed"), None)
    values: dict[str, object] = {
        "efforts": (Effort.parse("5"), Effort.parse("8")),
        "note": "In the yard.",
        "felt": (DiscomfortEntry("knee", "left", 3),),
    }
    done = TrainingEntry(
        DAY,
        plan.name,
        20 * 60_000,
        circuit=plan.circuit,
        plan=plan,
        stations=tuple(parse_station_entry(one) for one in typed),
        **{**values, **changes},
    )
    return keeper.enter_session(done)


def test_its_stations_count_with_the_loads_that_were_used(
    services: ServicesForTests,
) -> None:
    """The answer by hand, for 16 kg in loop 2, no side plank at all, 14 step-ups.

    | station      | loop 1       | loop 2       | work | kg s                    |
    |--------------|--------------|--------------|------|-------------------------|
    | goblet squat | 40 s x 12 kg | 40 s x 16 kg | 80 s | 480 + 640 = 1120        |
    | side plank   | left out     | left out     | 0 s  | -                       |
    | step-up      | 40 s x 12 kg | 40 s x 12 kg | 80 s | 960                     |

    160 of 240 s of the planned work: two thirds.
    """
    enter(services, "1: 16 kg in loop 2", "2: out", "3: 14 reps in loop 1")
    logbook = services.logbook()
    bouts = logbook.bouts(logbook.done())
    work = work_by(bouts, "station")
    assert (work["goblet-squat"].work_ms, work["goblet-squat"].volume_kg_s) == (
        80_000,
        pytest.approx(1120),
    )
    assert work["side-plank"].work_ms == 0
    assert work["step-up"].volume_kg_s == pytest.approx(960)
    assert (work["step-up"].reps, work["step-up"].counted) == (14, 1)
    assert completion(bouts).value == pytest.approx(2 / 3)
    (line,) = logbook.done()
    assert line.entered
    assert line.exercises == ("goblet-squat", "step-up")
    assert (line.best_work_ms, line.plan_work_ms) == (160_000, 240_000)


def test_its_efforts_weigh_by_work_as_those_of_a_live_session(
    services: ServicesForTests,
) -> None:
    """Loop 1 120 s at 5, loop 2 only 40 s at 8: (600 + 320) / 160 = 5.75.

    5.75 x 20 min = 115 AU.
    """
    made = enter(services, "1: out in loop 2", "2: out in loop 2")
    logbook = services.logbook()
    record = logbook.record(made)
    assert record.derived_effort == pytest.approx(5.75)
    assert [loop.effort for loop in loop_efforts(record)] == [5, 8]
    assert [loop.partial for loop in loop_efforts(record)] == [False, True]
    (training,) = logbook.book().day(DAY).trainings
    assert training.effort == pytest.approx(5.75)
    assert training.effort_is_derived
    assert training.load_au == pytest.approx(115)


def test_it_is_seen_where_a_recorded_one_is(services: ServicesForTests) -> None:
    made = enter(services)
    (item,) = services.logbook().items()
    assert item.kind is ItemKind.ENTERED
    assert item.discomforts == (("knee", "left", 3),)
    assert services.logbook().items(Filter(station="goblet")) == [item]
    assert services.logbook().items(Filter(station="lunge")) == []
    (listed,) = find(services).listed
    assert (listed.last_wall or "")[:10] == "2026-03-10"
    coaching = Coaching(services)
    assert coaching.in_use() == ("rainy-shed",)
    advice = coaching.advise(services.circuits.read("rainy-shed"))
    (run,) = advice.history.runs
    assert (run.session_id, run.efforts) == (made, (5, 8))
    text = "\n".join(record_lines(services.logbook().record(made)))
    assert "entered afterwards" in text
    assert "knee, left, 3 of 10" in text
    assert "note: In the yard." in text


def test_it_is_amended_deleted_and_undone_like_any_entry(
    services: ServicesForTests,
) -> None:
    made = enter(services)
    services.diary().delete(made)
    assert services.logbook().done() == []
    services.diary().undo()
    assert [line.id for line in services.logbook().done()] == [made]


def test_the_same_plan_is_stored_once(services: ServicesForTests) -> None:
    first = enter(services, "1: 16 kg in loop 2")
    size = diary_path(services.places.log).stat().st_size
    second = enter(services)
    assert diary_path(services.places.log).stat().st_size < 2 * size - 2_000
    services.diary().delete(first)
    record = services.logbook().record(second)
    assert record.best_work_ms == 240_000
    assert services.logbook().diary.problems == ()
    kept = {line.id: line for line in services.logbook().done()}
    assert set(kept) == {second}
    done = [card.exercise for card in record.loops[0].done_cards]
    assert list(kept[second].exercises) == done


def test_it_stays_as_it_was_when_the_circuit_is_changed(
    services: ServicesForTests,
) -> None:
    enter(services)
    file = services.places.circuits / "rainy-shed.toml"
    file.write_text(SHED.replace("12 kg", "20 kg"))
    logbook = services.logbook()
    work = work_by(logbook.bouts(logbook.done()), "station")
    assert work["goblet-squat"].volume_kg_s == pytest.approx(960)


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("2: out", StationEntry(2, left_out=True)),
        ("2: left out in loop 3", StationEntry(2, loop=3, left_out=True)),
        ("1: 2 x 8 kg", StationEntry(1, load="2 x 8 kg")),
        ("3: 14 reps in loop 1", StationEntry(3, loop=1, count=14)),
    ],
)
def test_what_was_different_at_a_station_is_typed_in_words(
    typed: str, found: StationEntry
) -> None:
    assert parse_station_entry(typed) == found


@pytest.mark.parametrize(
    "typed", ["", "out", "x: out", "2:", "2: nonsense", "2: out in loop x", "0: out"]
)
def test_what_cannot_be_understood_is_refused_with_an_example(typed: str) -> None:
    with pytest.raises(ValueError, match="such as"):
        parse_station_entry(typed)


@pytest.mark.parametrize("typed", ["4: out", "1: out in loop 3"])
def test_a_station_or_loop_that_there_is_not_is_refused(
    services: ServicesForTests, typed: str
) -> None:
    with pytest.raises(UsageError, match="has"):
        enter(services, typed)


def test_a_session_with_everything_left_out_is_refused(
    services: ServicesForTests,
) -> None:
    with pytest.raises(UsageError, match="nothing was done"):
        enter(services, "1: out", "2: out", "3: out")
