"""One proposal for one circuit, from its record and what is true today.

Owns which rule speaks. Refuses to write anything down: deciding is in `decisions`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from whistlestop.coach.changes import CircuitTotals, change_fields
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.rules import (
    EASING,
    NEVER_PUT_OFF,
    RAISING,
    RULES,
    WAYS_BACK,
    same_again,
)
from whistlestop.coach.soreness import spared
from whistlestop.coach.verdicts import Blocker, CoachRule, Proposal
from whistlestop.domain.duration import clock

TAG_WORDS: Final = {
    "R": "read at the source",
    "R2": "common practice",
    "M": "common practice",
    "CP": "common practice",
    "C": "computed",
}


@dataclass(frozen=True, slots=True)
class NextStepAnswer:
    """What next, with its rule.

    `passed_over` is why earlier rules did not apply; `then` is what
    comes once a rest is over.
    """

    circuit: str
    name: str
    proposal: Proposal
    rule: CoachRule
    passed_over: tuple[Blocker, ...] = ()
    then: NextStepAnswer | None = None


def next_step(history: CircuitHistory, context: CoachContext) -> NextStepAnswer:
    """Propose the one next thing for a circuit.

    What stands against any session comes first, then rest, the way back, a lighter
    week and a step down; then the steps up in the order of the emphasis; else it is
    the same again. What is sore is changed in all of them. A rule that was put off is
    passed over until its day.

    Raises:
        PlanError: The circuit itself cannot be laid out.
    """
    answer = _first(history, context, EASING)
    if answer is None:
        answer = _first(history, context, RAISING[context.emphasis])
    if answer is None:
        proposal = same_again(history, context)
        assert isinstance(proposal, Proposal)
        passed = _unearned(history, context)
        answer = _answer(context, proposal, passed)
    answer = _sparing(answer, history, context)
    until = answer.proposal.until
    if answer.rule.id == "rest" and until is not None and until > context.now:
        after = next_step(history, _at(context, until))
        if after.rule.id != "rest":
            answer = replace(answer, then=after)
    return answer


def _sparing(
    answer: NextStepAnswer, history: CircuitHistory, context: CoachContext
) -> NextStepAnswer:
    """The same with what is sore changed in it."""
    proposal = spared(answer.proposal, history, context)
    if proposal is answer.proposal:
        return answer
    return replace(answer, proposal=proposal, rule=RULES[proposal.rule])


def _at(context: CoachContext, moment: datetime) -> CoachContext:
    return replace(context, now=moment, marks=frozenset())


def _first(
    history: CircuitHistory, context: CoachContext, order: Iterable[str]
) -> NextStepAnswer | None:
    passed: list[Blocker] = []
    back: list[Proposal] = []
    for key in order:
        later = context.put_off.get(key)
        if later is not None and context.today < later and key not in NEVER_PUT_OFF:
            passed.append(Blocker(key, f"Put off until {later:%d %b}."))
            continue
        verdict = RULES[key].judge(history, context)
        if isinstance(verdict, Proposal) and key in WAYS_BACK:
            back.append(verdict)
        elif isinstance(verdict, Proposal) and not back:
            return _answer(context, verdict, tuple(passed))
        if isinstance(verdict, Blocker):
            passed.append(verdict)
        if back and key == WAYS_BACK[-1]:
            break
    if not back:
        return None
    least = min(back, key=lambda each: each.rank)
    return _answer(context, least, tuple(passed))


def _unearned(history: CircuitHistory, context: CoachContext) -> tuple[Blocker, ...]:
    """What each rising rule says against itself, the same sentence once."""
    text: dict[str, Blocker] = {}
    for key in RAISING[context.emphasis]:
        verdict = RULES[key].judge(history, context)
        if isinstance(verdict, Blocker):
            text.setdefault(verdict.sentence, verdict)
    return tuple(text.values())


def _answer(
    context: CoachContext, proposal: Proposal, passed: tuple[Blocker, ...]
) -> NextStepAnswer:
    circuit = context.circuit
    return NextStepAnswer(
        circuit.id, circuit.name, proposal, RULES[proposal.rule], passed
    )


# --- In words and as fields ----------------------------------------------------


def answer_lines(answer: NextStepAnswer) -> list[str]:
    """An answer as lines of text: what, why, the numbers, totals, the rule."""
    proposal = answer.proposal
    lines = [f"{answer.name}: {proposal.title}", *(f"  {x}" for x in proposal.why)]
    lines += [f"  {fact.name}: {fact.value}" for fact in proposal.facts
              if fact.value not in proposal.why]  # fmt: skip
    lines += [f"  {line}" for line in totals_lines(proposal)]
    lines += [
        f"  not yet ({hold.rule}): {hold.sentence}"
        for hold in answer.passed_over
        if hold.sentence not in proposal.why
    ]
    rule = answer.rule
    lines.append(f"  rule {rule.id}: {rule.source} ({TAG_WORDS[rule.tag]})")
    if answer.then is not None:
        lines.append("  after that:")
        lines += [f"  {line}" for line in answer_lines(answer.then)]
    return lines


def totals_lines(proposal: Proposal) -> list[str]:
    """What would change in the totals; one line where nothing does."""
    before, after = proposal.before, proposal.after
    if before == after:
        return [f"totals stay: {_totals_text(before)}"]
    return [f"now:  {_totals_text(before)}", f"then: {_totals_text(after)}"]


def _totals_text(totals: CircuitTotals) -> str:
    loops = "loop" if totals.loops == 1 else "loops"
    return (
        f"{totals.loops} {loops}, {totals.interval_ms / 1000:g} s work, "
        f"{totals.recover_ms / 1000:g} s recovery; {clock(totals.work_ms)} of work in "
        f"{clock(totals.total_ms)}"
    )


def answer_json(answer: NextStepAnswer) -> dict[str, Any]:
    """An answer as the fields of `next --json`."""
    proposal, rule = answer.proposal, answer.rule
    return {
        "circuit": answer.circuit,
        "name": answer.name,
        "rule": rule.id,
        "title": proposal.title,
        "direction": proposal.direction.name.lower(),
        "lasting": proposal.lasting,
        "until": proposal.until.isoformat() if proposal.until else None,
        "why": list(proposal.why),
        "facts": [{"name": f.name, "value": f.value} for f in proposal.facts],
        "source": rule.source,
        "source_tag": rule.tag,
        "change": change_fields(proposal.change),
        "before": _totals_json(proposal.before),
        "after": _totals_json(proposal.after),
        "passed_over": [
            {"rule": hold.rule, "sentence": hold.sentence}
            for hold in answer.passed_over
        ],
        "then": None if answer.then is None else answer_json(answer.then),
    }


def _totals_json(totals: CircuitTotals) -> dict[str, int]:
    return {
        "work_ms": totals.work_ms,
        "total_ms": totals.total_ms,
        "loops": totals.loops,
        "interval_ms": totals.interval_ms,
        "recover_ms": totals.recover_ms,
    }
