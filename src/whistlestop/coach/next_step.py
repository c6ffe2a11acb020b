"""One proposal for one circuit, from its record and what is true today.

Owns which rule speaks. Refuses to write anything down: deciding is in `decisions`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from whistlestop.coach.changes import CircuitTotals, change_fields
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.holds import holds
from whistlestop.coach.refusals import barred_rises
from whistlestop.coach.rules import (
    EASE,
    FIRST,
    LESS,
    NEVER_PUT_OFF,
    RAISING,
    RULES,
    same_again,
)
from whistlestop.coach.soreness import spared
from whistlestop.coach.stepping_down import together
from whistlestop.coach.verdicts import Blocker, CoachRule, Proposal, Verdict
from whistlestop.dataclass import dataclass
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

    What stands against any session comes first, then rest, then less for a while, then
    every reduction that is due; where nothing holds, one variable rises in the order of
    the emphasis; else it is the same again. What is sore is changed in all of them. A
    rule that was put off is passed over until its day.

    Raises:
        PlanError: The circuit itself cannot be laid out.
    """
    asking = _Asking(history, context)
    answer = asking.first(FIRST) or asking.least(LESS) or asking.all(EASE)
    if answer is None:
        answer = asking.rise() or asking.answer(same_again(history, context))
    answer = _sparing(answer, history, context)
    until = answer.proposal.until
    if answer.rule.id == "rest" and until is not None and until > context.now:
        after = next_step(history, _at(context, until))
        if after.rule.id != "rest":
            answer = replace(answer, then=after)
    return answer


class _Asking:
    """The rules asked in turn, with why they were passed over."""

    def __init__(self, history: CircuitHistory, context: CoachContext) -> None:
        self._history, self._context = history, context
        self._passed: list[Blocker] = []

    def first(self, keys: Iterable[str]) -> NextStepAnswer | None:
        """The first that proposes something."""
        for key in keys:
            if found := self._judged(key):
                return self.answer(found)
        return None

    def least(self, keys: Iterable[str]) -> NextStepAnswer | None:
        """The smallest of those that propose something."""
        found = [proposal for key in keys if (proposal := self._judged(key))]
        return self.answer(min(found, key=lambda each: each.rank)) if found else None

    def all(self, keys: Iterable[str]) -> NextStepAnswer | None:
        """Everything that is proposed, as one."""
        found = [proposal for key in keys if (proposal := self._judged(key))]
        return self.answer(together(found, self._context)) if found else None

    def rise(self) -> NextStepAnswer | None:
        """One variable, where nothing holds it back."""
        keys = RAISING[self._context.emphasis]
        if not keys or holds(self._history, self._context):
            return None
        barred = barred_rises(self._history, self._context)
        self._passed += barred.values()
        return self.first(("ask", *(key for key in keys if key not in barred)))

    def _judged(self, key: str) -> Proposal | None:
        context = self._context
        later = context.put_off.get(key)
        if later is not None and context.today < later and key not in NEVER_PUT_OFF:
            self._passed.append(Blocker(key, f"Put off until {later:%d %b}."))
            return None
        verdict = RULES[key].judge(self._history, context)
        if isinstance(verdict, Blocker):
            self._passed.append(verdict)
        return verdict if isinstance(verdict, Proposal) else None

    def answer(self, verdict: Verdict) -> NextStepAnswer:
        """The answer that a proposal makes."""
        assert isinstance(verdict, Proposal)
        circuit, rule = self._context.circuit, RULES[verdict.rule]
        if verdict.source:
            rule = replace(rule, source=verdict.source, tag="CP")
        passed = tuple(self._passed)
        return NextStepAnswer(circuit.id, circuit.name, verdict, rule, passed)


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


# --- In words and as fields ----------------------------------------------------


def answer_lines(answer: NextStepAnswer) -> list[str]:
    """An answer as lines of text: what, why, the numbers, totals, the rule."""
    proposal = answer.proposal
    lines = [f"{answer.name}: {proposal.title}", *(f"  {x}" for x in proposal.why)]
    spoken = " ".join(proposal.why)
    lines += [f"  {fact.name}: {fact.value}" for fact in proposal.facts
              if fact.value not in spoken]  # fmt: skip
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
        "asks": proposal.asks or None,
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
