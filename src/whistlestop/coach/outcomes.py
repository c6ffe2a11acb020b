"""How accepted steps turned out, looked at later.

Owns what kept and stepped back mean. Refuses to blame: a step back is a fact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final, Literal

from whistlestop.coach.decisions import Decision, Decisions
from whistlestop.coach.evidence import TOO_HIGH, cut_stations
from whistlestop.coach.history import CircuitHistory

# A step has been kept once it was done this often without a cut or an effort of 9.
RUNS_WITHOUT_CUT: Final = 2

Outcome = Literal["kept", "stepped back", "open"]
_ONE: Final[Mapping[Outcome, str]] = {
    "kept": "kept",
    "stepped back": "taken back",
    "open": "still open",
}


def outcome(
    decision: Decision, decisions: Decisions, history: CircuitHistory
) -> Outcome:
    """How an accepted step turned out, looked at later.

    `stepped back` where it was taken back, or where the next decision on the circuit
    that changes it for good is a step down; `kept` once two sessions from its day on
    were whole and below effort 9; `open` until then.
    """
    own = decisions.of(decision.circuit)
    later = [d for d in own[own.index(decision) + 1 :] if d.choice != "put_off"]
    if any(d.change.revert == decision.id for d in later):
        return "stepped back"
    lasting = [d for d in later if d.lasting and not d.change.is_nothing]
    if lasting and lasting[0].rule == "step-down" and not lasting[0].change.revert:
        return "stepped back"
    end = lasting[0].day if lasting else date.max
    good = [
        run
        for run in history.runs
        if decision.day <= run.day <= end
        and not cut_stations(run)
        and (run.highest or 0.0) < TOO_HIGH
    ]
    return "kept" if len(good) >= RUNS_WITHOUT_CUT else "open"


def outcome_text(
    circuit: str, decisions: Decisions, history: CircuitHistory, last: int = 3
) -> str:
    """Say how the last steps on a circuit turned out; empty where there is none."""
    steps = [d for d in decisions.of(circuit) if d.is_step and d.rule != "step-down"]
    looked = [outcome(d, decisions, history) for d in steps[-last:]]
    if not looked:
        return ""
    if len(looked) == 1:
        return f"the last step: {_ONE[looked[0]]}"
    words: Sequence[tuple[Outcome, str]] = (
        ("kept", "kept {}"),
        ("stepped back", "stepped back {}"),
        ("open", "{} still open"),
    )
    sentences = [
        form.format(_count(looked.count(key))) for key, form in words if key in looked
    ]
    return f"the last {_count(len(looked))} steps: {', '.join(sentences)}"


def decision_lines(
    circuit: str, decisions: Decisions, history: CircuitHistory, last: int = 3
) -> list[str]:
    """The last decisions on a circuit, newest first, with what became of them."""
    sentences = []
    for decision in reversed(decisions.of(circuit)[-last:]):
        day = f"{decision.day:%d %b %Y}"
        if decision.choice == "put_off":
            until = f"{decision.until:%d %b}" if decision.until else "later"
            sentences.append(f"{day}: put off until {until}: {decision.title}")
            continue
        words = f"{day}: {decision.title}"
        if decision.instead_of:
            words += f", chosen instead of: {decision.instead_of}"
        if not decision.lasting:
            words += " (for the next session)"
        elif not decision.change.is_nothing:
            is_step = decision.is_step and decision.rule != "step-down"
            words += f" ({outcome(decision, decisions, history)})" if is_step else ""
        sentences.append(words)
    return sentences


def _count(number: int) -> str:
    words = ("none", "one", "two", "three", "four", "five", "six")
    return words[number] if number < len(words) else str(number)
