"""What was decided about proposals, folded from the lines of decisions.jsonl.

Owns the meaning of the file: append-only, each line as a journal line is written;
no line is ever changed. Refuses to know where it lies and who writes it.

  decisions  format = 1; the first line
  decision   id, circuit, day, rule, title, choice (accept, change, put_off), change,
             lasting, settings (a mark of the circuit's file as it was), until or
             null, instead_of (the title of what was proposed) with `change`, and
             reason (too-much, not-this, no-time, other) with `put_off`, where given
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from datetime import date, timedelta
from hashlib import sha256
from typing import Any, Final, Literal, get_args

from whistlestop.coach.changes import (
    CircuitChange,
    applied,
    change_fields,
    change_from,
    settings_of,
    totals_of,
)
from whistlestop.coach.context import (
    LastStep,
    Refusal,
)
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.lighter_week import DELOAD_DAYS
from whistlestop.coach.verdicts import RISES, Proposal
from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.day import parse_day
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.field import Whole
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.reasons import REFUSAL_REASONS, RefusalReason
from whistlestop.errors import StoreError, WhistlestopError

FORMAT: Final = 1
PUT_OFF_DAYS: Final = 7
PUT_OFF: Final = Whole(1, 60)
_MOST_TEXT: Final = 400
# Written by what writes the diary, so its first line may be named as a diary's.
_HEADS: Final = ("decisions", "diary")
# A lighter session that was accepted is for the next one, if that comes soon.
_SOON_DAYS: Final = 7

Choice = Literal["accept", "change", "put_off"]


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision. `settings` marks the circuit's file it was made on."""

    id: str
    circuit: str
    day: date
    rule: str
    title: str
    choice: Choice
    change: CircuitChange
    lasting: bool
    settings: str
    until: date | None = None
    instead_of: str = ""
    reason: RefusalReason = ""

    @property
    def is_step(self) -> bool:
        """Whether it changes the circuit for good, and is no step back."""
        return (
            self.choice != "put_off"
            and self.lasting
            and not self.change.is_nothing
            and not self.change.revert
        )


@dataclass(frozen=True, slots=True)
class Decisions:
    """All decisions in order, and what could not be read."""

    items: tuple[Decision, ...] = ()
    problems: tuple[str, ...] = ()

    def of(self, circuit: str) -> tuple[Decision, ...]:
        """Those about one circuit."""
        return tuple(item for item in self.items if item.circuit == circuit)


@dataclass(frozen=True, slots=True)
class Progress:
    """A circuit with its accepted steps, and what the rules want to know of them."""

    circuit: Circuit
    catching_up: Mapping[int, int] = field(default_factory=dict)
    drill_levels: Mapping[int, int] = field(default_factory=dict)
    last_step: LastStep | None = None
    put_off: Mapping[str, date] = field(default_factory=dict)
    refusals: tuple[Refusal, ...] = ()
    deload_began: date | None = None
    problems: tuple[str, ...] = ()


def mark_of(circuit: Circuit) -> str:
    """A short mark of everything that counts in a circuit as its file says it."""
    return sha256(repr(settings_of(compile_plan(circuit))).encode()).hexdigest()[:16]


# --- Lines ---------------------------------------------------------------------


def decide(  # noqa: PLR0913 - what a decision is made of
    proposal: Proposal,
    file_circuit: Circuit,
    day: date,
    choice: Choice,
    *,
    number: int,
    instead: Proposal | None = None,
    put_off_days: int = PUT_OFF_DAYS,
    reason: RefusalReason = "",
) -> Decision:
    """Make a decision about a proposal.

    Args:
        proposal: What was proposed.
        file_circuit: The circuit as its file says it, without accepted steps.
        day: Today.
        choice: Accept it, take another change instead, or put it off.
        number: How many decisions there are already; makes the id.
        instead: With `change`: what was chosen instead.
        put_off_days: With `put_off`: for how many days, 1 to 60.
        reason: With `put_off`: why, where it was given.

    Raises:
        ValueError: What was chosen is missing, or the days are out of range.
    """
    if (choice == "change") != (instead is not None):
        raise ValueError("a changed proposal needs the change")
    if not 1 <= put_off_days <= 60:
        raise ValueError("a proposal is put off by 1 to 60 days")
    until = day + timedelta(days=put_off_days) if choice == "put_off" else None
    taken = instead or proposal
    return Decision(
        id=f"d{number + 1}",
        circuit=file_circuit.id,
        day=day,
        rule=taken.rule,
        title=taken.title,
        choice=choice,
        change=taken.change,
        lasting=taken.lasting,
        settings=mark_of(file_circuit),
        until=until,
        instead_of=proposal.title if instead else "",
        reason=reason if choice == "put_off" else "",
    )


def decision_fields(decision: Decision) -> dict[str, Any]:
    """A decision as the fields of its line, without `s`, `wall` and `a`."""
    return {
        "k": "decision",
        "id": decision.id,
        "circuit": decision.circuit,
        "day": decision.day.isoformat(),
        "rule": decision.rule,
        "title": decision.title,
        "choice": decision.choice,
        "change": change_fields(decision.change),
        "lasting": decision.lasting,
        "settings": decision.settings,
        "until": decision.until.isoformat() if decision.until else None,
        **({"instead_of": decision.instead_of} if decision.instead_of else {}),
        **({"reason": decision.reason} if decision.reason else {}),
    }


def fold(lines: Iterable[Mapping[str, Any]]) -> Decisions:
    """Read decisions from the fields of their lines, in order.

    Unknown kinds are passed by; a line that cannot be read is named and counts for
    nothing.

    Raises:
        StoreError: The file is of a later format than this program reads.
    """
    items: list[Decision] = []
    problems: list[str] = []
    for place, fields in enumerate(lines, 1):
        kind = fields.get("k")
        if kind in _HEADS and fields.get("format") != FORMAT:
            raise StoreError(
                "the decisions are of a format this program does not read",
                "a newer whistlestop reads them; nothing was changed",
            )
        if kind != "decision":
            continue
        try:
            made = _decision(fields)
            if any(item.id == made.id for item in items):
                raise ValueError(f"the id {made.id} is taken")
            items.append(made)
        except (ValueError, KeyError, TypeError) as error:
            problems.append(f"line {place}: {error}")
    return Decisions(tuple(items), tuple(problems))


def _decision(fields: Mapping[str, Any]) -> Decision:
    choice = fields["choice"]
    if choice not in get_args(Choice):
        raise ValueError("choice: expected accept, change or put_off")
    until = fields.get("until")
    return Decision(
        id=_text(fields["id"]),
        circuit=_text(fields["circuit"]),
        day=parse_day(_text(fields["day"])),
        rule=_text(fields["rule"]),
        title=_text(fields["title"]),
        choice=choice,
        change=change_from(fields["change"]),
        lasting=fields["lasting"] is True,
        settings=_text(fields["settings"]),
        until=None if until is None else parse_day(_text(until)),
        instead_of=_text(fields.get("instead_of", "")),
        reason=_refusal_reason(fields.get("reason", "")),
    )


def _refusal_reason(value: object) -> RefusalReason:
    """A reason of this version; one of a later version counts as some other."""
    text = _text(value)
    if not text:
        return ""
    return next((reason for reason in REFUSAL_REASONS if reason == text), "other")


def _text(value: object) -> str:
    if not isinstance(value, str) or len(value) > _MOST_TEXT:
        raise ValueError(f"expected a text of up to {_MOST_TEXT} characters")
    return value


# --- What stands ---------------------------------------------------------------


def progress(
    circuit: Circuit, decisions: Decisions, library: Mapping[str, Exercise]
) -> Progress:
    """Put the accepted steps on a circuit, in order, those taken back left out.

    Steps that were decided on another state of the file do not count: a file that
    was changed by hand is a new beginning, and is called so.
    """
    own = decisions.of(circuit.id)
    mark = mark_of(circuit)
    back = {d.change.revert for d in own if d.choice != "put_off" and d.change.revert}
    steps = [d for d in own if d.is_step and d.id not in back]
    now = Progress(circuit)
    problems = []
    stale = [d for d in steps if d.settings != mark]
    if stale:
        problems.append(
            f"{circuit.name}: its file was changed since {stale[-1].day:%d %b %Y}; "
            f"steps before are not applied ({len(stale)})"
        )
    for step in steps:
        if step.settings != mark:
            continue
        try:
            now = _with_steps(now, step, library)
        except (WhistlestopError, ValueError) as error:
            problems.append(f"{circuit.name}, step {step.id}: {error}")
    put_off = {
        d.rule: d.until for d in own if d.choice == "put_off" and d.until is not None
    }
    began = _deload_began(own)
    refusals = tuple(
        Refusal(d.day, d.rule, d.reason) for d in own if d.choice == "put_off"
    )
    return replace(
        now,
        put_off=put_off,
        refusals=refusals,
        deload_began=began,
        problems=tuple(problems),
    )


def _deload_began(own: Iterable[Decision]) -> date | None:
    """The first of the last lighter days that were accepted."""
    began: date | None = None
    for decision in own:
        if decision.rule == "deload" and decision.choice != "put_off":
            fresh = began is None or (decision.day - began).days >= DELOAD_DAYS
            began = decision.day if fresh else began
    return began


def _with_steps(
    now: Progress, step: Decision, library: Mapping[str, Exercise]
) -> Progress:
    made = applied(now.circuit, step.change, library)
    compile_plan(made)
    behind = dict(now.catching_up)
    for number, ms in step.change.work_step_at:
        behind[number] = behind.get(number, 0) - ms
    levels = dict(now.drill_levels)
    if step.change.drill:
        levels[step.change.drill[0]] = step.change.drill[1]
    if step.change.new_drill:
        levels.pop(step.change.new_drill[0], None)
    is_rise = _is_rise(step.rule, now.circuit, made)
    last = LastStep(step.id, step.title, step.day, now.circuit, is_rise=is_rise)
    return Progress(made, {n: ms for n, ms in behind.items() if ms > 0}, levels, last)


def _is_rise(rule: str, before: Circuit, after: Circuit) -> bool:
    """Whether a step asked for more: by its rule, else by its numbers."""
    if rule != "own-amounts":
        return rule in RISES
    now, then = totals_of(before), totals_of(after)
    return then.work_ms > now.work_ms or then.recover_ms < now.recover_ms


def session_circuit(
    now: Progress,
    decisions: Decisions,
    history: CircuitHistory,
    today: date,
    library: Mapping[str, Exercise],
) -> Circuit:
    """The circuit for the coming session: with a lighter one that was accepted for it.

    That is the latest decision about the circuit, if it changes one session only, is
    at most 7 days old, and no session was done since.
    """
    own = [d for d in decisions.of(now.circuit.id) if d.choice != "put_off"]
    if not own or own[-1].lasting or own[-1].change.is_nothing:
        return now.circuit
    last = own[-1]
    done = any(run.day >= last.day for run in history.runs)
    if done or not 0 <= (today - last.day).days <= _SOON_DAYS:
        return now.circuit
    try:
        made = applied(now.circuit, last.change, library)
        compile_plan(made)
    except (WhistlestopError, ValueError):
        return now.circuit
    return made
