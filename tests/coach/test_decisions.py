"""Decisions: kept by date, put on the circuit in order, looked at later."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from tests.coach.making import after, bells, context, history, run, shed

from whistlestop.coach.changes import CircuitChange, totals_of
from whistlestop.coach.decisions import (
    Decision,
    Decisions,
    decide,
    decision_fields,
    fold,
    progress,
    session_circuit,
)
from whistlestop.coach.next_step import next_step
from whistlestop.coach.outcomes import outcome, outcome_text
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import StoreError
from whistlestop.library import exercises


def accepted(number: int, day: int, change: CircuitChange, **changes: Any) -> Decision:
    """An accepted step of the shed circuit."""
    told = history(run(shed(), after(0), 6), run(shed(), after(3), 6))
    proposal = next_step(told, context(shed(), after(6))).proposal
    made = decide(proposal, shed(), after(day), "accept", number=number)
    return replace(made, change=change, **changes)


LONGER = CircuitChange(work_step_ms=5_000)


def test_a_decision_comes_back_from_its_line() -> None:
    made = accepted(
        0, 6, CircuitChange(loads=((1, "20 kg"),), work_step_at=((1, -5_000),))
    )
    later = replace(made, id="d2", choice="put_off", until=after(13))
    lines = [json.loads(json.dumps(decision_fields(d))) for d in (made, later)]
    assert fold([{"k": "decisions", "format": 1}, *lines]).items == (made, later)


def test_lines_that_cannot_be_read_are_named_and_the_rest_counts() -> None:
    good = decision_fields(accepted(0, 6, LONGER))
    bad: list[dict[str, Any]] = [
        {**good, "id": "x", "choice": "maybe"},
        {**good, "id": "y", "day": "2031-13-01"},
        {**good, "id": "z", "change": {"speed": 3}},
        {k: v for k, v in good.items() if k != "rule"},
        good,
    ]
    found = fold([good, {"k": "something-new"}, *bad])
    assert [item.id for item in found.items] == ["d1"]
    assert len(found.problems) == len(bad)
    assert found.problems[0].startswith("line 3:")


def test_a_later_format_is_refused_and_nothing_is_guessed() -> None:
    with pytest.raises(StoreError, match="format"):
        fold([{"k": "decisions", "format": 2}])


def test_accepted_steps_are_put_on_in_order_and_one_can_be_taken_back() -> None:
    steps = [accepted(0, 6, LONGER), accepted(1, 12, LONGER)]
    now = progress(shed(), Decisions(tuple(steps)), exercises())
    assert totals_of(now.circuit).interval_ms == 50_000
    assert now.last_step is not None
    assert (now.last_step.decision, now.last_step.day) == ("d2", after(12))
    assert totals_of(now.last_step.before).interval_ms == 45_000
    back = accepted(2, 15, CircuitChange(revert="d2"), rule="step-down")
    now = progress(shed(), Decisions((*steps, back)), exercises())
    assert totals_of(now.circuit).interval_ms == 45_000
    assert now.last_step is not None
    assert now.last_step.decision == "d1"


def test_what_fell_back_with_a_load_is_remembered_until_it_is_made_up() -> None:
    heavier = accepted(0, 6, CircuitChange(loads=((1, "20 kg"),),
                                    work_step_at=((1, -10_000),)))  # fmt: skip
    more = accepted(1, 12, CircuitChange(work_step_at=((1, 5_000),)))
    now = progress(shed(), Decisions((heavier,)), exercises())
    assert now.catching_up == {1: 10_000}
    now = progress(shed(), Decisions((heavier, more)), exercises())
    assert now.catching_up == {1: 5_000}
    last = accepted(2, 18, CircuitChange(work_step_at=((1, 5_000),)))
    now = progress(shed(), Decisions((heavier, more, last)), exercises())
    assert now.catching_up == {}
    assert now.circuit.stations[0].work_ms is None


def test_a_file_changed_by_hand_is_a_new_beginning_and_that_is_said() -> None:
    step = accepted(0, 6, LONGER)
    edited = shed(work_ms=50_000)
    now = progress(edited, Decisions((step,)), exercises())
    assert now.circuit == edited
    assert "changed since" in now.problems[0]
    renamed = shed(name="Other name", note="Sweep the floor.")
    now = progress(renamed, Decisions((step,)), exercises())
    assert now.problems == ()
    assert totals_of(now.circuit).interval_ms == 45_000


def test_put_off_and_lighter_days_are_known_by_date() -> None:
    off = accepted(0, 6, LONGER, choice="put_off", until=after(13))
    light = accepted(1, 8, CircuitChange(loops=1), rule="deload", lasting=False)
    again = accepted(2, 10, CircuitChange(loops=1), rule="deload", lasting=False)
    now = progress(shed(), Decisions((off, light, again)), exercises())
    assert now.circuit == shed()
    assert now.put_off == {"more-work": after(13)}
    assert now.deload_began == after(8)
    fresh = accepted(3, 15, CircuitChange(loops=1), rule="deload", lasting=False)
    now = progress(shed(), Decisions((light, again, fresh)), exercises())
    assert now.deload_began == after(15)


def test_a_lighter_session_holds_for_the_next_one_only() -> None:
    light = accepted(0, 6, CircuitChange(loops=1), rule="restart", lasting=False)
    decisions = Decisions((light,))
    now = progress(shed(), decisions, exercises())
    before = history(run(shed(), after(0), 5))

    def coming(told: object, day: int) -> int:
        made = session_circuit(now, decisions, told, after(day), exercises())
        return made.loops

    assert coming(before, 6) == 1
    assert coming(before, 13) == 1
    assert coming(before, 14) == 2
    since = history(run(shed(), after(0), 5), run(shed(), after(8), 5))
    assert coming(since, 9) == 2


def test_outcomes_kept_stepped_back_and_open() -> None:
    """Two whole sessions below effort 9 keep a step; a revert takes it back."""
    one, two = accepted(0, 6, LONGER), accepted(1, 12, LONGER)
    back = accepted(2, 16, CircuitChange(revert="d2"), rule="step-down")
    third = accepted(
        3, 20, CircuitChange(recover_step_ms=-5_000), rule="shorter-recovery"
    )
    decisions = Decisions((one, two, back, third))
    told = history(
        run(shed(work_ms=45_000), after(6), 6),
        run(shed(work_ms=45_000), after(9), 6),
        run(shed(work_ms=50_000), after(12), [9, 9]),
        run(shed(work_ms=45_000), after(20), 6),
    )
    assert outcome(one, decisions, told) == "kept"
    assert outcome(two, decisions, told) == "stepped back"
    assert outcome(third, decisions, told) == "open"
    text = outcome_text("shed", decisions, told)
    assert text == "the last three steps: kept one, stepped back one, one still open"
    assert outcome_text("other", decisions, told) == ""


def test_the_sentence_of_the_issue() -> None:
    """'the last three steps: kept two, stepped back one'."""
    steps = [accepted(n, 6 * n, LONGER) for n in range(3)]
    back = accepted(3, 16, CircuitChange(revert="d3"), rule="step-down")
    told = history(*(run(shed(), after(3 * n), 6) for n in range(5)))
    text = outcome_text("shed", Decisions((*steps, back)), told)
    assert text == "the last three steps: kept two, stepped back one"


def test_a_changed_proposal_needs_its_change_and_days_have_bounds() -> None:
    told = history(run(shed(), after(0), 6))
    proposal = next_step(told, context(shed(), after(3), kit=bells(16))).proposal
    with pytest.raises(ValueError, match="change"):
        decide(proposal, shed(), after(3), "change", number=0)
    with pytest.raises(ValueError, match="60 days"):
        decide(proposal, shed(), after(3), "put_off", number=0, put_off_days=61)
    compile_plan(proposal.circuit)
