"""What may be chosen instead of a proposal: other steps, or amounts of one's own.

Owns which of them are legal: one variable at a time, nothing rises that is not
earned, nothing is proposed that is not owned. Refuses to write anything down.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Final

from whistlestop.coach.changes import (
    STEP_MS,
    CircuitChange,
    CircuitTotals,
    applied,
    totals_of,
)
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.next_step import NextStepAnswer
from whistlestop.coach.raising import MOST_LOOP_RISE
from whistlestop.coach.rules import RAISING, RULES
from whistlestop.coach.variety import rotation
from whistlestop.coach.verdicts import (
    CoachRule,
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    propose,
)
from whistlestop.domain.text import sentence_case
from whistlestop.errors import ChangeError, WhistlestopError
from whistlestop.library import drills

_MOST: Final = 9


def rotate(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Change what has been in for 3 weeks or longer, with one yardstick kept.

    Example: a drill done in its place for 22 days: another of its kind; the station
    in use the longest stays. Source: common practice.
    """
    found = rotation(history, context, drills())
    if found.change is None or not found.instead:
        return None
    entry, (key, reason) = found.change, found.instead[0]
    name = drills()[key].name if entry.what == "drill" else context.library[key].name
    change = (
        CircuitChange(new_drill=(entry.station, key))
        if entry.what == "drill"
        else CircuitChange(swap=(entry.station, key))
    )
    why = (found.sentence, f"{name} instead: {reason}. Nothing else changes.")
    facts = (Fact("days in use", f"{entry.days}"),)
    title = f"{name} instead of {entry.name}"
    try:
        return propose(
            "rotation",
            context,
            change,
            Reason(title, why, facts),
            direction=Direction.SAME,
        )
    except WhistlestopError:
        return None


ROTATION: Final = CoachRule(
    "rotation", "A rotation", "every 3 to 4 weeks, one yardstick stays", "CP", rotate
)
OWN: Final = CoachRule(
    "own-amounts",
    "Your own numbers",
    "yours; one variable at a time, and at most a sixth more work",
    "CP",
    lambda _history, _context: None,
)


def alternatives(
    history: CircuitHistory, context: CoachContext, answer: NextStepAnswer
) -> tuple[NextStepAnswer, ...]:
    """Every other step that is legal now, the rules' own order kept.

    Where the answer asks for less, nothing that rises is among them.
    """
    main = answer.proposal
    keys = [key for key in RULES if key not in {"rest", "same-again", "ask"}]
    if context.emphasis == "maintain":
        keys = [key for key in keys if key not in RAISING["build"]]
    rules = [RULES[key] for key in keys] + [ROTATION, RULES["same-again"]]
    found = []
    for rule in rules:
        verdict = rule.judge(history, context)
        if not isinstance(verdict, Proposal):
            continue
        if (verdict.change, verdict.rule) == (main.change, main.rule):
            continue
        if main.direction < Direction.SAME and verdict.direction > Direction.SAME:
            continue
        found.append(_answer(context, verdict, rule))
    return tuple(found[:_MOST])


def own_amounts(
    context: CoachContext,
    answer: NextStepAnswer,
    *,
    interval_ms: int | None = None,
    loops: int | None = None,
    recover_ms: int | None = None,
) -> NextStepAnswer:
    """A step with amounts of the athlete's own, where it is legal.

    Args:
        context: The circuit is in it.
        answer: What was proposed: only where it rises may anything rise.
        interval_ms: The usual work interval, in ms.
        loops: How many.
        recover_ms: The usual recovery, in ms.

    Raises:
        ChangeError: Nothing would change, two things would rise, or more than is
            earned; in a sentence.
    """
    now = context.totals
    change = CircuitChange(
        loops=None if loops in {None, now.loops} else loops,
        work_step_ms=0 if interval_ms is None else interval_ms - now.interval_ms,
        recover_step_ms=0 if recover_ms is None else recover_ms - now.recover_ms,
    )
    if change.is_nothing:
        raise ChangeError("the circuit is already set like that")
    try:
        after = totals_of(applied(context.circuit, change, context.library))
    except WhistlestopError as error:
        raise ChangeError(f"the circuit does not allow it: {error}") from None
    up = rises(now, after)
    _refuse(up, now, after, answer)
    made = _wording(now, after)
    first = (
        f"You chose {made} instead of: {answer.proposal.title}."
        if not up
        else f"You chose {made}: {up[0]} goes up, and nothing else does."
    )
    share = Fraction(after.work_ms - now.work_ms, now.work_ms) * 100
    why = (first, f"Work changes by {float(round(share, 1)):g} %.")
    proposal = propose(
        "own-amounts",
        context,
        change,
        Reason(sentence_case(made), why),
        direction=Direction.UP if up else Direction.DOWN,
        lasting=answer.proposal.lasting or answer.proposal.direction >= Direction.SAME,
    )
    return _answer(context, proposal, OWN)


def rises(before: CircuitTotals, after: CircuitTotals) -> list[str]:
    """Names of what is more than before: work, loops, density."""
    found = {
        "the interval": after.interval_ms > before.interval_ms,
        "the number of loops": after.loops > before.loops,
        "density": after.recover_ms < before.recover_ms,
    }
    return [name for name, is_more in found.items() if is_more]


def _refuse(
    up: list[str], now: CircuitTotals, after: CircuitTotals, answer: NextStepAnswer
) -> None:
    if not up:
        return
    main = answer.proposal
    if main.direction < Direction.UP:
        raise ChangeError(f"nothing goes up now. {main.why[0]}")
    if len(up) > 1:
        raise ChangeError(f"change one thing at a time: {' and '.join(up)} would go up")
    if up == ["density"] and now.recover_ms - after.recover_ms > STEP_MS:
        raise ChangeError("recovery shortens by 5 s at a time")
    if up == ["the interval"] and after.interval_ms - now.interval_ms <= STEP_MS:
        return
    if after.work_ms > (1 + MOST_LOOP_RISE) * now.work_ms:
        more = float(round(Fraction(after.work_ms, now.work_ms) * 100 - 100, 1))
        raise ChangeError(f"that is {more:g} % more work; at most a sixth at a time")


def _wording(now: CircuitTotals, after: CircuitTotals) -> str:
    sentences: Mapping[str, bool] = {
        f"{after.loops} loops" if after.loops > 1 else "one loop": after.loops
        != now.loops,
        f"work {after.interval_ms / 1000:g} s": after.interval_ms != now.interval_ms,
        f"recovery {after.recover_ms / 1000:g} s": after.recover_ms != now.recover_ms,
    }
    return ", ".join(words for words, changes in sentences.items() if changes)


def _answer(
    context: CoachContext, proposal: Proposal, rule: CoachRule
) -> NextStepAnswer:
    circuit = context.circuit
    return NextStepAnswer(circuit.id, circuit.name, proposal, rule)
