"""The list, the `sum` line, the completion log and the close-out say the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from tests.review.test_record import LIVED, live
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import FEW, every_place, session_plans

from whistlestop.domain.duration import clock
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import Plan
from whistlestop.engine.commands import Do, EnterEffort, EnterSessionEffort
from whistlestop.engine.events import Row
from whistlestop.review.amended import line_of
from whistlestop.review.record import read_record, session_record
from whistlestop.store.journal.file import parse_journal
from whistlestop.store.journal.line import encode
from whistlestop.store.journal.session_line import SessionLine, summarise
from whistlestop.tui.rooms.close_out.lines import close_out
from whistlestop.tui.widgets.safe_text import plain

PATH = Path("log", "2031", f"{SESSION_ID}.jsonl")


def listed(lines: list[dict]) -> SessionLine:
    """The session's line in the list, of a journal of these lines."""
    return summarise(parse_journal(PATH, b"".join(encode(line) for line in lines)))


def ended(plan: Plan, acts: list) -> Drive:
    drive = live(plan, acts, count_in_ms=3_000)
    if not drive.session.is_over:
        drive.do(Do.STOP)
    drive.session.close()
    return drive


@FEW
@given(session_plans(), LIVED)
def test_whatever_was_done_each_of_them_comes_to_the_same_figures(
    plan: Plan, acts: list
) -> None:
    drive = ended(plan, acts)
    lines = json.loads(json.dumps(drive.journal.lines))
    record = read_record(lines, session_id=SESSION_ID)
    quick = listed(lines)
    assert record.problems == ()
    assert quick.is_exact
    assert line_of(record, quick) == quick
    total = lines[-1]
    assert total["best_work_ms"] == record.best_work_ms == quick.best_work_ms
    assert total["efforts"] == list(quick.efforts)
    assert total["loops_done"] == quick.loops
    in_hand = session_record(drive.engine.for_athlete())
    assert in_hand.loops == record.loops
    assert in_hand.discomforts == record.discomforts


@FEW
@given(session_plans(), LIVED)
def test_without_a_sum_the_rows_give_all_but_pauses(plan: Plan, acts: list) -> None:
    """As after a dead battery: what rows cannot tell is what a replay is for."""
    lines = json.loads(json.dumps(ended(plan, acts).journal.lines))
    whole, torn = listed(lines), listed(lines[:-1])
    assert not torn.is_exact
    for name in (
        *("why", "active_ms", "loops", "efforts", "session_effort", "done_work_ms"),
        *("plan_work_ms", "best_work_ms", "loop_work_ms", "note", "discomforts"),
    ):
        assert getattr(torn, name) == getattr(whole, name), name


def test_the_close_out_shows_the_figures_of_the_sum() -> None:
    drive = Drive(every_place()).begin()
    drive.go(250_000)
    drive.do(Do.STOP)
    drive.do(EnterEffort(1, Effort(13)))
    drive.do(EnterSessionEffort(Effort(15)))
    total = drive.session.close()
    record = session_record(drive.engine.for_athlete())
    rows = [plain(row) for row in close_out(record, 0, 80).rows]
    session = next(row for row in rows if " session " in row)
    assert clock(total["best_work_ms"]) in session
    assert clock(total["plan_work_ms"]) in session
    assert session.endswith("7.5  digging deep")
    assert next(row for row in rows if "loop 1" in row).count("6.5  tough") == 1


@pytest.mark.parametrize("wrong", ["nine", 11, 6.3, True, {}])
def test_an_effort_that_a_replay_refuses_is_in_no_figure(wrong: object) -> None:
    drive = ended(every_place(), [(250_000, EnterSessionEffort(Effort(9)))])
    lines = json.loads(json.dumps(drive.journal.lines))
    lines.insert(-1, {"s": 900, "k": "session_effort", "t": lines[-1]["t"], "v": wrong})
    lines[-1]["s"] = 901
    assert listed(lines).session_effort is None
    assert read_record(lines, session_id=SESSION_ID).session_effort is None


def test_a_row_of_the_engine_and_its_line_add_up_alike() -> None:
    """The list reads five fields of a row; here each of them counts."""
    drive = ended(every_place(), [(100_000, Do.BACK), (30_000, Do.LONGER)])
    row: Row = max(drive.engine.rows, key=lambda row: row.ms)
    lines = json.loads(json.dumps(drive.journal.lines))
    place = next(
        n
        for n, line in enumerate(lines)
        if line["k"] == "done" and line["visit"] == row.visit
    )
    before = listed(lines[:-1])
    for name, value in (("ms", 1), ("kind", "recover"), ("loop", 7)):
        changed = [
            *lines[:place],
            {**lines[place], name: value},
            *lines[place + 1 : -1],
        ]
        assert listed(changed) != before, name
