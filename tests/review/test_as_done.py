"""Every figure rests on what was really done: swaps, loads and versions as performed.

The tables were worked out by hand before the code was written. kg s is kilograms times
seconds of work (common practice, no source).
"""

from __future__ import annotations

import json
from datetime import UTC, date
from pathlib import Path

import pytest
from hypothesis import given
from tests.review.test_record import LIVED, live
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import FEW, LEFT_RIGHT, plan, session_plans, station

from whistlestop.coach.history import history_of
from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import Plan
from whistlestop.engine.commands import (
    Do,
    EnterCount,
    EnterEffort,
    EnterLoad,
    EnterVariant,
    SwapExercise,
)
from whistlestop.review.facts import session_json
from whistlestop.review.lines import record_lines
from whistlestop.review.record import SessionRecord, read_record
from whistlestop.review.stations import bouts_of, completion, sides_of, work_by
from whistlestop.store.journal.file import parse_journal
from whistlestop.store.journal.line import encode
from whistlestop.store.journal.session_line import SessionLine, summarise

DAY = date(2031, 4, 12)
PLACES = {
    "exercise-1": ("legs", "squat"),
    "exercise-2": ("arms", "pull"),
    "air-squat": ("legs", "squat"),
    "plank": ("core", "brace"),
}
AIR_SQUAT = SwapExercise(
    1, "air-squat", "Body-weight squat", "AIR SQUAT", why="too heavy today"
)
PLANK = SwapExercise(1, "plank", "Plank", "PLANK", kit=("mat",), why="wrist")


def two_loops(**changes: object) -> Drive:
    """Get ready 5 s; two loops of exercise 1, 40 s with 16 kg, and 2, 40 s; 20 s rest.

    Loop 1 is 5..65 and 65..125 s, loop 2 125..185 and 185..245 s.
    """
    first = station(1, load=parse_load("16 kg"), **changes)
    made = plan(first, station(2), loops=2, get_ready_ms=5_000, last_recover="keep")
    return Drive(made).begin()


def record_of(drive: Drive) -> SessionRecord:
    return read_record(drive.journal.lines, session_id=SESSION_ID)


def listed(drive: Drive) -> SessionLine:
    lines = json.loads(json.dumps(drive.journal.lines))
    path = Path("log", "2031", f"{SESSION_ID}.jsonl")
    return summarise(parse_journal(path, b"".join(encode(line) for line in lines)))


def test_a_swap_in_the_break_counts_for_what_was_done_from_there_on() -> None:
    """The answer by hand.

    | loop | planned          | done              | work | kg | kg s          |
    |------|------------------|-------------------|------|----|---------------|
    | 1    | exercise 1 16 kg | exercise 1 16 kg  | 40 s | 16 | 40 x 16 = 640 |
    | 2    | exercise 1 16 kg | body-weight squat | 40 s | -  | -             |

    Counted as planned it would be 80 x 16 = 1280 kg s, and no body-weight squat.
    """
    drive = two_loops()
    drive.go(110_000)
    drive.do(AIR_SQUAT)
    drive.go(135_000)
    record = record_of(drive)
    bouts = bouts_of(record, DAY, PLACES)
    work = work_by(bouts, "station")
    assert work["exercise-1"].work_ms == 40_000
    assert work["exercise-1"].volume_kg_s == pytest.approx(640)
    assert work["air-squat"].work_ms == work["air-squat"].unweighed_ms == 40_000
    assert work["air-squat"].volume_kg_s == 0
    assert completion(bouts).value == 1
    (squat,) = [bout for bout in bouts if bout.exercise == "air-squat"]
    assert (squat.name, squat.replaced, squat.load_text) == (
        "Body-weight squat",
        "Exercise 1",
        "",
    )
    assert {bout.replaced for bout in bouts if bout is not squat} == {""}
    assert listed(drive).exercises == ("exercise-1", "exercise-2", "air-squat")


def test_the_completion_log_names_what_was_done_and_what_it_replaced() -> None:
    drive = two_loops()
    drive.go(110_000)
    drive.do(AIR_SQUAT)
    drive.go(135_000)
    record = record_of(drive)
    text = "\n".join(record_lines(record))
    assert text.count("done as Body-weight squat, no load") == 1
    assert "instead of 16 kg" not in text
    assert text.count("load 16 kg") == 1
    (first, second) = (loop["stations"][0] for loop in session_json(record)["loops"])
    assert first["swapped_to"] is None
    assert [each["exercise"] for each in first["done"]] == ["exercise-1"]
    assert second["swapped_to"] == "air-squat"
    assert second["exercise"] == "exercise-1"
    (done,) = second["done"]
    assert (done["exercise"], done["load"], done["done_ms"]) == (
        "air-squat",
        None,
        40_000,
    )


def test_a_swap_to_another_load_counts_each_loop_with_its_own() -> None:
    """40 s x 16 kg = 640; 40 s x 8 kg = 320; together 960 kg s of one exercise."""
    drive = two_loops()
    drive.go(110_000)
    drive.do(SwapExercise(1, "exercise-1", "Exercise 1", "EXERCISE 1", load="8 kg"))
    drive.go(135_000)
    bouts = bouts_of(record_of(drive), DAY, PLACES)
    assert work_by(bouts, "station")["exercise-1"].volume_kg_s == pytest.approx(960)
    assert {bout.replaced for bout in bouts} == {""}


def test_the_load_entered_stands_over_the_load_of_the_swap() -> None:
    """Loop 2: body-weight squat with 6 kg entered: 40 x 6 = 240; loop 1 stays 640."""
    drive = two_loops()
    drive.go(110_000)
    drive.do(AIR_SQUAT)
    drive.go(45_000)  # 155 s: at station 1 of loop 2
    drive.do(EnterLoad("6 kg"))
    drive.go(90_000)
    work = work_by(bouts_of(record_of(drive), DAY, PLACES), "station")
    assert work["air-squat"].volume_kg_s == pytest.approx(240)
    assert work["exercise-1"].volume_kg_s == pytest.approx(640)


def test_a_station_done_again_after_a_swap_counts_for_both() -> None:
    """Loop 1: 10 s of exercise 1, back to its start, swapped, 40 s of planks.

    | visit | exercise   | work | kg | kg s |
    |-------|------------|------|----|------|
    | 1     | exercise 1 | 10 s | 16 | 160  |
    | 2     | plank      | 40 s | -  | -    |
    | loop 2| plank      | 40 s | -  | -    |

    The planned work of loop 1 counts once, by its best visit: 40 of 40 s.
    """
    drive = two_loops()
    drive.go(15_000)
    drive.do(Do.BACK)
    drive.do(PLANK)
    drive.go(300_000)
    record = record_of(drive)
    bouts = bouts_of(record, DAY, PLACES)
    work = work_by(bouts, "station")
    assert work["plank"].work_ms == 80_000
    assert work["exercise-1"].work_ms + work["plank"].work_ms == sum(
        row.ms
        for row in drive.engine.rows
        if row.exercise in {"exercise-1", "plank"} and row.kind.value == "work"
    )
    assert completion(bouts).value == 1
    assert "mat" in listed(drive).kit


def test_parts_done_as_two_exercises_fall_to_each_its_own_side() -> None:
    """Left 20 s with 16 kg, and 1 s into the right swapped for planks.

    | what       | loop 1             | loop 2               |
    |------------|--------------------|----------------------|
    | exercise 1 | left 20, right 1 s | -                    |
    | plank      | right 19 s         | left 20 s, right 20 s|
    """
    drive = two_loops(parts=LEFT_RIGHT, changeover_ms=0)
    drive.go(26_000)
    drive.do(PLANK)
    drive.go(300_000)
    bouts = bouts_of(record_of(drive), DAY, PLACES)
    own = sides_of(bout for bout in bouts if bout.exercise == "exercise-1")
    assert (own.left_ms, own.right_ms) == (20_000, 1_000)
    plank = sides_of(bout for bout in bouts if bout.exercise == "plank")
    assert (plank.left_ms, plank.right_ms) == (20_000, 39_000)
    assert completion(bouts).value == 1


def test_a_swap_in_the_middle_of_the_work_cuts_it_in_two() -> None:
    """Swapped 25 s into the 40 s of loop 1, with a pause of 30 s before it.

    | what       | loop 1 | loop 2 | kg s          |
    |------------|--------|--------|---------------|
    | exercise 1 | 25 s   | -      | 25 x 16 = 400 |
    | air squat  | 15 s   | 40 s   | -             |
    """
    drive = two_loops()
    drive.go(15_000)
    drive.do(Do.PAUSE)
    drive.go(30_000)
    drive.do(Do.RESUME)
    while drive.engine.offset_ms < 25_000:
        drive.go(100)
    drive.do(AIR_SQUAT)
    drive.go(300_000)
    bouts = bouts_of(record_of(drive), DAY, PLACES)
    work = work_by(bouts, "station")
    assert work["exercise-1"].work_ms == 25_000
    assert work["exercise-1"].volume_kg_s == pytest.approx(400)
    assert work["air-squat"].work_ms == 55_000
    assert completion(bouts).value == 1
    assert listed(drive).exercises == ("exercise-1", "air-squat", "exercise-2")


def test_a_version_is_named_where_it_was_done() -> None:
    drive = two_loops()
    drive.go(20_000)
    drive.do(EnterVariant("easier"))
    drive.go(225_000)
    bouts = bouts_of(record_of(drive), DAY, PLACES)
    versions = [(b.exercise, b.loop, b.variants) for b in bouts if b.variants]
    assert versions == [("exercise-1", 1, ("easier",))]


def test_a_count_falls_to_what_was_counted() -> None:
    drive = two_loops()
    drive.go(110_000)
    drive.do(AIR_SQUAT)
    drive.go(65_000)  # 175 s: in the recovery after station 1 of loop 2
    drive.do(EnterCount(15))
    drive.go(70_000)
    work = work_by(bouts_of(record_of(drive), DAY, PLACES), "station")
    assert (work["air-squat"].reps, work["exercise-1"].reps) == (15, 0)


def test_a_swap_that_never_came_up_was_not_done() -> None:
    """Swapped in loop 1 for loop 2, stopped before: the squat was never done."""
    drive = two_loops()
    drive.go(110_000)
    drive.do(AIR_SQUAT)
    drive.do(Do.STOP)
    record = record_of(drive)
    assert "air-squat" not in work_by(
        [b for b in bouts_of(record, DAY, PLACES) if b.done_ms], "station"
    )
    assert "done as" not in "\n".join(record_lines(record))
    assert all(s.swapped_to is None for loop in record.loops for s in loop.stations)
    assert listed(drive).exercises == ("exercise-1", "exercise-2")


@FEW
@given(session_plans(), LIVED)
def test_no_work_is_lost_or_counted_twice(made: Plan, acts: list) -> None:
    """However it was lived: the bouts add up to the rows, exercise by exercise."""
    swap = (4_000, SwapExercise(1, "plank", "Plank", "PLANK"))
    drive = live(made, [*acts[:2], swap, *acts[2:]], count_in_ms=3_000)
    record = record_of(drive)
    bouts = bouts_of(record, DAY, PLACES)
    by_rows: dict[str, int] = {}
    for row in drive.engine.rows:
        if row.kind.value == "work" and row.ms:
            key = str(row.exercise)
            by_rows[key] = by_rows.get(key, 0) + row.ms
    for cut in drive.engine.track.cuts:
        for row in drive.engine.rows:
            if row.visit == cut.visit:
                before = str(cut.exercise)
                by_rows[str(row.exercise)] -= cut.offset_ms
                by_rows[before] = by_rows.get(before, 0) + cut.offset_ms
    by_rows = {key: ms for key, ms in by_rows.items() if ms}
    found = {k: w.work_ms for k, w in work_by(bouts, "station").items() if w.work_ms}
    assert found == by_rows
    shares = [share for bout in bouts for share in bout.shares]
    assert sum(share.plan_ms for share in shares) == made.work_ms
    assert sum(share.best_ms for share in shares) == record.best_work_ms


# --- The effort of a session that nobody entered ----------------------------------


def test_the_derived_effort_weighs_loops_by_their_work() -> None:
    """Three loops with 40 s of work each, rated 5, 6, 8: (5 + 6 + 8) / 3 = 6.33.

    By the time they took it would be less: the last has no break behind it.
    """
    made = plan(station(1), loops=3, get_ready_ms=5_000, loop_break_ms=60_000)
    drive = Drive(made).begin()
    drive.go(600_000)
    for loop, halves in ((1, 10), (2, 12), (3, 16)):
        drive.do(EnterEffort(loop, Effort(halves)))
    record = record_of(drive)
    assert record.derived_effort == pytest.approx(19 / 3)
    assert listed(drive).derived_effort == pytest.approx(19 / 3)
    text = "\n".join(record_lines(record))
    assert "mean of the loops by their work 6.3" in text


def test_a_loop_cut_short_weighs_as_much_as_was_worked_in_it() -> None:
    """40 s at 5, 20 s at 8: (5 x 40 + 8 x 20) / 60 = 6.0."""
    made = plan(station(1), loops=2, get_ready_ms=5_000, loop_break_ms=60_000)
    drive = Drive(made).begin()
    while drive.engine.segment.loop != 2 or drive.engine.segment.kind.value != "work":
        drive.go(100)
    begun = drive.engine.offset_ms
    drive.go(20_000 - begun)
    drive.do(Do.STOP)
    drive.do(EnterEffort(1, Effort(10)))
    drive.do(EnterEffort(2, Effort(16)))
    assert record_of(drive).derived_effort == pytest.approx(6.0)
    assert listed(drive).derived_effort == pytest.approx(6.0)


def test_what_was_worked_and_what_the_muscles_of_48_hours_ago_were() -> None:
    """By hand: legs were planned, and swapped for core before any of them was done.

    The arms were never begun: they are as rested as before.
    """
    drive = two_loops()
    drive.do(PLANK)
    drive.go(5_000 + 40_000)
    drive.do(Do.STOP)
    record = record_of(drive)
    assert record.exercises_done == {"plank"}
    regions = {key: region for key, (region, _) in PLACES.items()}
    [outing] = history_of("other", [record], None, UTC, regions).outings
    assert outing.regions == {"core"}
