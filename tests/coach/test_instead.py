"""What may be chosen instead of a proposal: legal steps, and amounts of one's own."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.coach.making import after, bells, context, history, run, shed
from tests.support.plans import FEW

from whistlestop.coach.changes import applied, totals_of
from whistlestop.coach.context import CoachContext
from whistlestop.coach.decisions import Decisions, decide, decision_fields, fold
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.instead import alternatives, own_amounts, rises, rotate
from whistlestop.coach.next_step import next_step
from whistlestop.coach.outcomes import decision_lines
from whistlestop.coach.verdicts import Direction, Proposal
from whistlestop.errors import ChangeError
from whistlestop.library import exercises


def earned(**changes: object) -> tuple[CircuitHistory, CoachContext]:
    """Two whole sessions at effort 5, asked three days later: a step is earned."""
    circuit = shed(**changes)
    told = history(run(circuit, after(0), 5), run(circuit, after(3), 5))
    return told, context(circuit, after(6), kit=bells(16, 20))


def test_every_other_earned_step_is_offered_and_the_proposal_is_not_again() -> None:
    told, wishes = earned()
    answer = next_step(told, wishes)
    others = alternatives(told, wishes, answer)
    rules = [other.rule.id for other in others]
    assert answer.rule.id == "more-work"
    assert rules[:2] == ["another-loop", "shorter-recovery"]
    assert "harder-variant" in rules
    assert rules[-1] == "same-again"
    assert "more-work" not in rules


def test_where_less_is_proposed_nothing_that_rises_can_be_chosen() -> None:
    """By hand: effort 9 in the first of two loops asks for a step down."""
    circuit = shed()
    told = history(run(circuit, after(0), 5), run(circuit, after(3), [9, 6]))
    wishes = context(circuit, after(6), kit=bells(16, 20))
    answer = next_step(told, wishes)
    assert answer.rule.id == "step-down"
    others = alternatives(told, wishes, answer)
    assert others
    assert all(o.proposal.direction <= Direction.SAME for o in others)
    with pytest.raises(ChangeError, match="nothing goes up now"):
        own_amounts(wishes, answer, interval_ms=45_000)
    less = own_amounts(wishes, answer, interval_ms=30_000, recover_ms=30_000)
    assert less.proposal.direction is Direction.DOWN


def test_emphasis_to_maintain_offers_nothing_that_rises() -> None:
    told, wishes = earned()
    kept = replace(wishes, emphasis="maintain")
    others = alternatives(told, kept, next_step(told, kept))
    assert all(o.proposal.direction <= Direction.SAME for o in others)


@pytest.mark.parametrize(
    ("amounts", "why"),
    [
        ({"interval_ms": 45_000, "loops": 3}, "one thing at a time"),
        ({"loops": 3}, "50 % more work"),
        ({"interval_ms": 60_000}, "50 % more work"),
        ({"recover_ms": 10_000}, "5 s at a time"),
        ({"interval_ms": 40_000}, "already set like that"),
        ({"loops": 200}, "does not allow it"),
    ],
)
def test_amounts_that_are_not_legal_are_refused_with_the_number(
    amounts: dict[str, int], why: str
) -> None:
    told, wishes = earned()
    with pytest.raises(ChangeError, match=why):
        own_amounts(wishes, next_step(told, wishes), **amounts)


def test_another_loop_with_a_shorter_interval_of_ones_own_is_legal() -> None:
    """2 x 40 s = 80 s; 3 x 30 s = 90 s, +12.5 %, within a sixth."""
    told, wishes = earned()
    made = own_amounts(wishes, next_step(told, wishes), interval_ms=30_000, loops=3)
    assert (made.proposal.after.loops, made.proposal.after.interval_ms) == (3, 30_000)
    assert "12.5 %" in made.proposal.why[1]


@FEW
@given(
    st.integers(15, 90).map(lambda s: s * 1000),
    st.integers(1, 5),
    st.integers(5, 60).map(lambda s: s * 1000),
)
def test_whatever_is_taken_raises_one_thing_by_a_sixth_at_most(
    interval_ms: int, loops: int, recover_ms: int
) -> None:
    told, wishes = earned()
    try:
        made = own_amounts(
            wishes,
            next_step(told, wishes),
            interval_ms=interval_ms,
            loops=loops,
            recover_ms=recover_ms,
        ).proposal
    except ChangeError:
        return
    now = totals_of(wishes.circuit)
    assert len(rises(now, made.after)) <= 1
    assert 6 * made.after.work_ms <= 7 * now.work_ms


def test_what_was_chosen_is_kept_with_what_it_was_chosen_instead_of() -> None:
    told, wishes = earned()
    answer = next_step(told, wishes)
    chosen = alternatives(told, wishes, answer)[0].proposal
    made = decide(
        answer.proposal, wishes.circuit, after(6), "change", number=0, instead=chosen
    )
    assert (made.rule, made.title) == ("another-loop", chosen.title)
    assert made.instead_of == answer.proposal.title
    assert fold([decision_fields(made)]).items == (made,)
    (line,) = decision_lines("shed", Decisions((made,)), told)
    assert line.endswith(f"chosen instead of: {answer.proposal.title} (open)")


def test_a_drill_in_its_place_for_22_days_is_rotated_and_the_step_is_one() -> None:
    circuit = shed()
    told = history(*(run(circuit, after(n), 5) for n in (0, 7, 14, 21)))
    made = rotate(told, context(circuit, after(22), kit=bells(16)))
    assert isinstance(made, Proposal)
    assert made.change.new_drill is not None
    assert made.direction is Direction.SAME
    turned = applied(circuit, made.change, exercises())
    assert turned.stations[0].drill != circuit.stations[0].drill
    assert turned.stations[1:] == circuit.stations[1:]
    assert made.before == made.after
    assert rotate(told, context(circuit, after(20), kit=bells(16))) is None


@FEW
@given(st.lists(st.integers(2, 20), min_size=4, max_size=4))
def test_how_hard_it_was_never_makes_a_rotation_a_step(halves: list[int]) -> None:
    """A rotation changes what is done and nothing of how much."""
    circuit = shed()
    efforts = [half / 2 for half in halves]
    runs = [run(circuit, after(7 * n), effort) for n, effort in enumerate(efforts)]
    made = rotate(history(*runs), context(circuit, after(22), kit=bells(16)))
    assert isinstance(made, Proposal)
    assert made.rank == (Direction.SAME, 0)
