"""The record: what is read back from a journal is what was lived."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import MODERATE, every_place, plan, session_plans, station
from tests.support.services import SHED, make_services, run_until, start_session

from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.session import Options
from whistlestop.engine.commands import (
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterVariant,
)
from whistlestop.engine.derived import summary
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Why
from whistlestop.engine.states import Mode
from whistlestop.errors import CommandRejected
from whistlestop.review.facts import session_json
from whistlestop.review.lines import record_lines
from whistlestop.review.record import read_record, replay_lines
from whistlestop.store.journal.heartbeat import Beat

STATE = (
    *("mode", "t_ms", "index", "visit", "offset_ms", "cut_ms", "pending"),
    *("count_left_ms", "after_gap", "paused_ms", "gated_ms", "rows", "entries"),
    *("loops_ended", "ending", "track"),
)


def state(engine: Engine) -> dict[str, Any]:
    return {name: getattr(engine, name) for name in STATE}


def record_of(drive: Drive) -> Any:
    return read_record(drive.journal.lines, session_id=SESSION_ID)


ACTS = st.sampled_from(
    [
        *Do,
        EnterEffort(1, Effort(9)),
        EnterEffort(2, None),
        EnterCount(12),
        EnterLoad("9 kg"),
        EnterVariant("easier"),
        EnterDiscomfort("knee", "left", 3),
        EnterSessionEffort(Effort(11)),
        "sleep",
    ]
)
LATE = "2031-04-13T06:15:02.000+02:00"
LIVED = st.lists(st.tuples(st.integers(0, 60_000), ACTS), max_size=20)


def live(plan: Plan, acts: list[tuple[int, Any]], count_in_ms: int) -> Drive:
    """A session that goes through these acts; what is refused is left out."""
    drive = Drive(plan, Options(count_in_ms=count_in_ms)).begin()
    for ms, act in acts:
        drive.go(ms, step_ms=900)
        if act == "sleep":
            drive.clock.sleep(ms + 501)
            drive.tick()
            continue
        try:
            drive.do(act)
        except CommandRejected:
            continue
    return drive


@MODERATE
@given(plan=session_plans(), acts=LIVED, count_in_ms=st.sampled_from([0, 3000, 5000]))
def test_replaying_a_journal_gives_the_live_session(
    plan: Plan, acts: list[tuple[int, Any]], count_in_ms: int
) -> None:
    """Replay equals live, and no written row differs from it."""
    drive = live(plan, acts, count_in_ms)
    replayed = replay_lines(drive.journal.lines, Beat(drive.engine.t_ms, LATE))
    assert state(replayed.engine) == state(drive.engine)
    assert replayed.problems == ()
    assert record_of(drive).problems == ()


@MODERATE
@given(plan=session_plans(), acts=LIVED, cut=st.floats(0, 1))
def test_every_prefix_of_a_journal_is_an_earlier_state(
    plan: Plan, acts: list[tuple[int, Any]], cut: float
) -> None:
    """Cut anywhere after the first line: readable, and never ahead of the journal."""
    drive = live(plan, acts, 3_000)
    lines = drive.journal.lines
    kept = lines[: max(1, round(len(lines) * cut))]
    record = read_record(kept, session_id=SESSION_ID)
    # Rows made again from the inputs may run ahead of those that were written.
    assert not [p for p in record.problems if "missing" not in p]
    assert record.elapsed_ms <= max(line["t"] for line in lines)
    whole = replay_lines(lines).engine.rows
    again = replay_lines(kept).engine.rows
    assert whole[: len(again)] == again


def lived() -> Drive:
    """Two loops with one of everything in them."""
    drive = Drive(
        plan(
            station(1, load=parse_load("2 x 8 kg")),
            station(2, parts=("left", "right")),
            loops=2,
            loop_break_ms=60_000,
        )
    ).begin()
    drive.go(10_000 + 25_000)
    drive.do(EnterLoad("2 x 6 kg"))
    drive.do(EnterVariant("easier"))
    drive.go(15_000 + 5_000)
    drive.do(EnterCount(17))
    drive.go(15_000 + 12_000)
    drive.do(EnterDiscomfort("knee", "left", 3))
    drive.go(28_000 + 10_000)
    drive.do(EnterEffort(1, Effort(13)))
    drive.clock.sleep(30_000)
    drive.tick()
    drive.do(Do.RESUME)
    drive.go(5_000 + 50_000 + 25_000)
    drive.do(Do.SKIP)
    drive.go(2_000)
    drive.do(Do.STOP)
    drive.do(EnterNote("cold"))
    drive.do(EnterNote("cold garage, warm later"))
    drive.session.close()
    return drive


def test_a_record_holds_what_was_entered_where_it_was_entered() -> None:
    record = record_of(lived())
    first, second = record.loops[0].stations
    assert (first.load, first.load_used, first.variants, first.count) == (
        "2 x 8 kg",
        "2 x 6 kg",
        ("easier",),
        17,
    )
    assert (second.load_used, second.count) == (None, None)
    assert [
        (d.entry.site, d.entry.level, d.loop, d.station) for d in record.discomforts
    ] == [("knee", 3, 1, 2)]
    assert record.note == "cold garage, warm later"
    assert record.gaps_ms == (30_000,)
    assert (record.ending, record.finished, record.scripted) == ("stopped", True, False)


def test_completion_is_the_best_visit_and_totals_are_all_visits() -> None:
    drive = Drive(plan(station(1))).begin()
    drive.go(10_000 + 30_000)
    drive.do(Do.RESTART)
    drive.go(20_000)
    drive.do(Do.STOP)
    part = record_of(drive).loops[0].stations[0].parts[0]
    assert (part.done_ms, part.best_ms, part.visits) == (50_000, 30_000, 2)
    assert part.why is Why.RESTARTED


def test_an_effort_never_entered_is_none_and_no_mean_is_made_of_the_rest() -> None:
    """Nothing is guessed silently."""
    record = record_of(lived())
    assert [loop.effort for loop in record.loops] == [Effort(13), None]
    assert record.session_effort is None
    assert record.derived_effort is None


def test_the_derived_effort_is_weighted_by_the_work_of_the_loops() -> None:
    """40 s at 6 and 30 s at 8: (6 x 40 + 8 x 30) / 70 = 6.857, worked by hand."""
    drive = Drive(
        plan(station(1), loops=2, recover_ms=0, loop_break_ms=10_000, get_ready_ms=0)
    ).begin()
    drive.go(45_000)
    drive.do(EnterEffort(1, Effort(12)))
    drive.go(5_000 + 30_000)
    drive.do(Do.STOP)
    drive.do(EnterEffort(2, Effort(16)))
    assert record_of(drive).derived_effort == pytest.approx(480 / 70)


def test_an_amended_effort_stands_and_the_earlier_line_is_kept() -> None:
    drive = Drive(plan(station(1))).begin()
    drive.go(55_000)
    drive.do(EnterEffort(1, Effort(12)))
    drive.do(EnterEffort(1, Effort(14)))
    assert record_of(drive).loops[0].effort == Effort(14)
    assert [line["v"] for line in drive.journal.of("effort")] == [6, 7]


def without(lines: list[dict[str, Any]], kind: str, place: int) -> list[dict[str, Any]]:
    gone = [line for line in lines if line["k"] == kind][place]
    return [line for line in lines if line is not gone]


def test_a_missing_row_is_named_and_made_again() -> None:
    drive = lived()
    whole = record_of(drive)
    record = read_record(without(drive.journal.lines, "done", 1), session_id=SESSION_ID)
    assert record.problems == ("rows that are missing: 1; made again from the inputs",)
    assert record.loops == whole.loops


def test_a_row_that_differs_is_named_and_the_inputs_stand() -> None:
    drive = lived()
    lines = [dict(line) for line in drive.journal.lines]
    row = next(line for line in lines if line["k"] == "done" and line["p"] == 1)
    row["ms"] += 1
    record = read_record(lines, session_id=SESSION_ID)
    assert any("differs from the inputs" in problem for problem in record.problems)
    assert record.loops[0].stations[0].done_ms == 40_000


def test_an_input_that_does_not_fit_is_named_and_left_out() -> None:
    drive = lived()
    lines = [dict(line) for line in drive.journal.lines]
    lines.insert(3, {"s": 99, "k": "cmd", "do": "reopen", "t": 12_000})
    lines.insert(4, {"s": 98, "k": "effort", "loop": 1, "v": 77, "t": 12_000})
    record = read_record(lines, session_id=SESSION_ID)
    assert record.problems[0].startswith("line 99: ")
    assert record.problems[1].startswith("line 98: ")
    assert record.elapsed_ms == record_of(drive).elapsed_ms


def test_unknown_kinds_and_fields_are_skipped() -> None:
    """A later version may add both (DEVELOPERS.md, "Change the journal")."""
    drive = lived()
    lines = [{**line, "later": [1]} for line in drive.journal.lines]
    lines.insert(5, {"s": 77, "k": "weather", "t": 12_000, "v": "rain"})
    assert read_record(lines, session_id=SESSION_ID) == record_of(drive)


@pytest.mark.parametrize(
    "first", [[], [{"k": "start", "t": 0}], [{"k": "start", "plan": 7}]]
)
def test_without_a_plan_there_is_no_record(first: list[dict[str, Any]]) -> None:
    with pytest.raises(ValueError, match="plan"):
        read_record(first, session_id=SESSION_ID)


def test_the_summary_line_agrees_with_the_record() -> None:
    """A quick list and the completion log never tell two stories."""
    drive = lived()
    fields, record = summary(drive.engine.for_athlete()), record_of(drive)
    assert fields["why"] == record.ending
    assert fields["elapsed_ms"] == record.elapsed_ms
    assert fields["active_ms"] == record.active_ms
    assert fields["paused_ms"] == record.paused_ms
    assert fields["gated_ms"] == record.gated_ms
    assert fields["plan_work_ms"] == record.plan.work_ms
    assert fields["best_work_ms"] == sum(loop.best_ms for loop in record.loops)
    assert fields["work_ms"] == sum(
        station.done_ms for loop in record.loops for station in loop.stations
    )
    assert fields["efforts"] == [6.5, None]


def test_an_interrupted_record_is_open_up_to_the_last_moment_seen() -> None:
    drive = Drive(every_place()).begin()
    drive.go(75_000)
    record = read_record(drive.journal.lines, session_id=SESSION_ID, beat=drive.beat)
    assert (record.ending, record.finished) == ("open", False)
    assert record.elapsed_ms == 75_000
    replayed = replay_lines(drive.journal.lines, drive.beat)
    assert replayed.engine.mode is Mode.RUNNING


def test_without_a_heartbeat_it_is_open_up_to_its_last_line() -> None:
    """On another machine, or where the state folder is lost: rows count as well."""
    drive = Drive(every_place()).begin()
    drive.go(75_000)
    record = record_of(drive)
    assert (record.ending, record.finished, record.problems) == ("open", False, ())
    assert record.elapsed_ms == drive.journal.lines[-1]["t"] == 60_000


def test_the_facts_of_a_record_are_plain_json_with_every_field() -> None:
    """DEVELOPERS.md lists these; scripts rest on them, so none may go."""
    facts = session_json(record_of(lived()))
    assert list(facts) == [
        *("id", "wall", "circuit", "name", "scripted", "ending", "elapsed_ms"),
        *("active_ms", "paused_ms", "gated_ms", "gaps_ms", "plan_work_ms"),
        *("best_work_ms", "session_effort", "derived_effort", "note", "loops"),
        *("discomforts", "problems", "athlete", "entered", "try_out", "drills"),
    ]
    loop = facts["loops"][0]
    assert list(loop) == ["loop", "effort", "partial", "plan_ms", "best_ms", "stations"]
    assert loop["stations"][0] == {
        "station": 1,
        "exercise": "exercise-1",
        "name": "Exercise 1",
        "load": "2 x 8 kg",
        "swapped_to": None,
        "done": [
            {
                "exercise": "exercise-1",
                "name": "Exercise 1",
                "load": "2 x 6 kg",
                "count": 17,
                "variants": ["easier"],
                "done_ms": 40_000,
            }
        ],
        "skip_reason": "",
        "load_used": "2 x 6 kg",
        "count": 17,
        "variants": ["easier"],
        "parts": [
            {
                "part": None,
                "plan_ms": 40_000,
                "set_ms": 40_000,
                "done_ms": 40_000,
                "best_ms": 40_000,
                "visits": 1,
                "why": "full",
            }
        ],
    }


def test_a_count_of_a_drill_is_of_its_recovery_and_not_of_the_station(
    tmp_path: Path,
) -> None:
    services = make_services(tmp_path / "home", {"rainy-shed": SHED})
    running = start_session(services, services.circuits.read("rainy-shed"))
    session = running.session
    run_until(services, running, 20_000)
    with pytest.raises(CommandRejected, match="no drill"):
        session.engine.handle(EnterCount(3, drill=True), session.engine.t_ms)
    run_until(services, running, 60_000)
    session.do(EnterCount(12))
    session.do(EnterCount(23, drill=True))
    run_until(services, running, 24 * 3_600_000, [5, 6])
    session.do(EnterCount(31, drill=True))
    session.close()
    assert running.release()
    record = services.log.record(running.session_id)
    assert record.problems == ()
    assert record.loops[0].stations[0].count == 12
    found = [(d.loop, d.station, d.drill, d.ms, d.count) for d in record.drills]
    assert found == [
        (1, 1, "one-ball-arc", 20_000, 23),
        (2, 1, "one-ball-arc", 20_000, 31),
    ]
    counted = [line for line in record_lines(record) if "drill" in line]
    assert counted == [
        "  drill after 1 Goblet squat: One-ball arc, count 23",
        "  drill after 1 Goblet squat: One-ball arc, count 31",
    ]
