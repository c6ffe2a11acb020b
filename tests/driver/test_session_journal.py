"""What a session writes down: inputs, rows, heartbeats, and the summary."""

from __future__ import annotations

import random
from contextlib import suppress
from dataclasses import asdict
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import FEW, every_place, plan, session_plans, station

from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.driver.session import Options
from whistlestop.engine.commands import (
    Do,
    EnterEffort,
    EnterNote,
    EnterSessionEffort,
)
from whistlestop.engine.derived import row_fields, summary
from whistlestop.errors import CommandRejected


def test_the_first_line_holds_all_that_a_replay_needs() -> None:
    """DEVELOPERS.md, "The files": format, id, tz, app, plan, athletes, scripted."""
    drive = Drive(every_place(), Options(count_in_ms=5_000, scripted=True))
    first = drive.journal.lines[0]
    assert first["k"] == "start"
    assert (first["format"], first["id"], first["tz"]) == (1, SESSION_ID, "EAST")
    assert first["scripted"] is True
    assert first["count_in_ms"] == 5_000
    assert first["athletes"] == ["a1"]
    assert Plan.from_json(first["plan"]) == drive.plan
    assert datetime.fromisoformat(first["wall"]).utcoffset() is not None


def test_every_line_carries_its_elapsed_time_and_the_time_of_day() -> None:
    drive = Drive(plan()).begin()
    drive.go(61_000)
    drive.do(EnterEffort(1, Effort(12)))
    drive.go(20_000)
    drive.session.close()
    assert {line["k"] for line in drive.journal.lines} == {
        *("start", "done", "loop", "effort", "end", "sum")
    }
    for line in drive.journal.lines:
        assert isinstance(line["t"], int)
        assert datetime.fromisoformat(line["wall"]).utcoffset() is not None


@pytest.mark.parametrize("seed", range(5))
def test_while_it_runs_each_tick_is_marked_as_seen(seed: int) -> None:
    """How often the disk has it is the heartbeat's."""
    drawn = random.Random(seed)
    drive = Drive(every_place()).begin()
    ticks = []
    while drive.engine.t_ms < 150_000:
        drive.go(drawn.randint(1, 100))
        ticks.append(drive.engine.t_ms)
        if drawn.random() < 0.01:
            with suppress(CommandRejected):
                drive.do(drawn.choice([Do.PAUSE, Do.RESUME, Do.LONGER]))
                ticks.append(drive.engine.t_ms)
    assert set(ticks) <= {beat.t_ms for beat in drive.heart.beats}
    assert drive.journal.of("seen") == []


def test_marks_go_on_while_paused() -> None:
    """A kill in a long pause loses none of the pause."""
    drive = Drive(plan()).begin()
    drive.go(12_000)
    drive.do(Do.PAUSE)
    drive.go(30_000)
    assert drive.heart.beats[-1].t_ms == 42_000


def test_nothing_is_marked_as_seen_after_the_end() -> None:
    drive = Drive(plan()).begin()
    drive.go(12_000)
    drive.do(Do.STOP)
    before = list(drive.heart.beats)
    drive.go(5_000)
    assert drive.heart.beats == before


def test_no_mark_lies_after_the_engine_when_the_process_was_stopped() -> None:
    """The lost stretch is no time of the session, so it is not seen either."""
    drive = Drive(plan()).begin()
    drive.go(12_000)
    drive.clock.go(60_000)
    drive.tick()
    assert drive.heart.beats[-1].t_ms == drive.engine.t_ms == 12_000


def test_a_refused_command_leaves_no_line() -> None:
    drive = Drive(plan()).begin()
    drive.go(12_000)
    before = list(drive.journal.lines)
    with pytest.raises(CommandRejected):
        drive.do(Do.RESUME)
    with pytest.raises(CommandRejected):
        drive.do(EnterEffort(1, Effort(10)))
    assert drive.journal.lines == before


def test_a_command_stands_at_the_time_of_the_clock() -> None:
    drive = Drive(plan()).begin()
    drive.clock.go(1_234)
    drive.do(Do.PAUSE)
    assert drive.journal.of("cmd")[0]["t"] == 1_234


def test_each_closed_visit_is_a_row_with_its_own_reason() -> None:
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(15_000)
    drive.do(Do.NEXT)
    drive.go(30_000)
    drive.do(Do.RESTART)
    rows = drive.journal.of("done")
    assert [(row["p"], row["ms"], row["why"]) for row in rows] == [
        (0, 10_000, "full"),
        (1, 5_000, "left"),
        (2, 20_000, "full"),
        (3, 10_000, "restarted"),
    ]
    assert [row["visit"] for row in rows] == [1, 2, 3, 4]
    assert rows[1]["plan_ms"] == 40_000
    assert rows[1]["x"] == "exercise-1"
    assert rows[0].get("loop") is None


def test_row_fields_lose_nothing_of_a_row() -> None:
    drive = Drive(plan()).begin()
    drive.go(51_000)
    row = drive.engine.rows[1]
    fields = row_fields(row)
    names = {"t": "t_ms", "p": "segment", "x": "exercise"}
    back = {names.get(key, key): value for key, value in fields.items() if key != "k"}
    assert back == {key: v for key, v in asdict(row).items() if v is not None}


def test_the_summary_is_a_fold_over_the_session() -> None:
    drive = Drive(plan(loops=2, loop_break_ms=30_000)).begin()
    drive.go(52_000)
    drive.do(EnterEffort(1, Effort(13)))
    drive.do(Do.PAUSE)
    drive.go(10_000)
    drive.do(Do.RESUME)
    drive.go(3_000 + 28_000 + 10_000)
    drive.do(Do.STOP)
    drive.do(EnterSessionEffort(Effort(14)))
    fields = drive.session.close()
    assert fields == {
        "k": "sum",
        "t": 103_000,
        "why": "stopped",
        "active_ms": 90_000,
        "elapsed_ms": 103_000,
        "paused_ms": 13_000,
        "gated_ms": 0,
        "work_ms": 50_000,
        "best_work_ms": 50_000,
        "plan_work_ms": 80_000,
        "efforts": [6.5, None],
        "session_effort": 7,
        "loops_done": 1,
    }


def test_best_work_counts_a_station_once_and_at_most_whole() -> None:
    """Two visits to one station: the totals add, the completion does not."""
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(10_000 + 30_000)
    drive.do(Do.RESTART)
    drive.do(Do.LONGER)
    drive.go(50_000)
    fields = summary(drive.engine.for_athlete())
    assert fields["work_ms"] == 80_000
    assert fields["best_work_ms"] == 40_000


def test_close_writes_the_summary_once_and_again_after_an_amendment() -> None:
    drive = Drive(plan()).begin()
    drive.do(Do.STOP)
    drive.session.close()
    drive.session.close()
    assert len(drive.journal.of("sum")) == 1
    drive.do(EnterNote("cold garage"))
    drive.session.reopen_record()
    drive.session.close()
    assert len(drive.journal.of("sum")) == 2
    assert drive.journal.lines[-1]["k"] == "sum"


def test_a_closed_unfinished_session_says_open() -> None:
    """Ended by a signal: the summary does not pretend an ending."""
    drive = Drive(plan()).begin()
    drive.go(15_000)
    assert drive.session.close()["why"] == "open"
    assert drive.journal.of("end") == []


def test_session_time_after_health_and_reopening_goes_on_as_paused() -> None:
    """The stretch between health stop and reopening is a pause, not a hole."""
    drive = Drive(plan()).begin()
    drive.go(20_000)
    drive.do(Do.HEALTH)
    drive.go(60_000)
    drive.do(Do.REOPEN)
    assert drive.engine.t_ms == 80_000
    assert drive.engine.paused_ms == 60_000


_ACTS = st.sampled_from(
    [*Do, EnterEffort(1, Effort(9)), EnterNote("so so"), "sleep", "stopped"]
)


@FEW
@given(
    plan=session_plans(),
    acts=st.lists(st.tuples(st.integers(1, 40_000), _ACTS), max_size=12),
)
def test_clock_time_is_elapsed_time_and_gaps_and_nothing_else(
    plan: Plan, acts: list[tuple[int, object]]
) -> None:
    """Whatever happens: real time passed = elapsed + all gaps, to the millisecond."""
    drive = Drive(plan).begin()
    begin_ms = drive.clock.awake_ms + drive.clock.slept_ms
    for ms, act in acts:
        drive.go(ms, step_ms=2_500)
        if act == "sleep":
            drive.clock.sleep(ms + 501)
            drive.tick()
        elif act == "stopped":
            drive.clock.go(ms + 3_001)
            drive.tick()
        else:
            try:
                drive.do(act)  # type: ignore[arg-type]
            except CommandRejected:
                continue
        if drive.session.is_over:
            break
    if drive.session.is_over:
        return
    real_ms = drive.clock.awake_ms + drive.clock.slept_ms - begin_ms
    lost_ms = sum(line["gap_ms"] for line in drive.journal.of("gap"))
    assert drive.engine.t_ms + lost_ms == real_ms
    engine = drive.engine
    rows_ms = sum(row.ms for row in engine.rows if row.kind is not SegmentKind.HOLD)
    assert engine.active_ms == rows_ms + (0 if engine.at_gate else engine.offset_ms)
