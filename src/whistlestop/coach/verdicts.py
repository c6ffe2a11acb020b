"""What a rule may answer: a proposal, or what holds a step back.

Owns the form of an answer and its size. Refuses to know any single rule.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from enum import IntEnum
from fractions import Fraction
from typing import Final, Literal

from whistlestop.coach.changes import (
    CircuitChange,
    CircuitTotals,
    applied,
    demand,
    totals_of,
)
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit

# [R] read at the source, [R2] second-hand, [M] from memory, [CP] common practice
# without a single source, [C] computed from a formula that is stated.
Tag = Literal["R", "R2", "M", "CP", "C"]
# The one thing a proposal asks besides: why steps were put off; whether a station that
# always falls to the clock goes out or comes first; whether a training elsewhere was
# the cause; which of many races are trained through.
Question = Literal["", "why-put-off", "out-or-first", "was-it-that", "which-are-c"]


# The rules that ask for more, one variable each, in the order of most emphases.
RISES: Final = (
    "more-work",
    "another-loop",
    "shorter-recovery",
    "heavier",
    "harder-variant",
    "drill-level",
)


class Direction(IntEnum):
    """Which way a proposal goes."""

    REST = -2
    DOWN = -1
    SAME = 0
    UP = 1


@dataclass(frozen=True, slots=True)
class Fact:
    """A number behind a proposal, with its name, in words."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """One thing to do next. `why` are two sentences with the numbers.

    `lasting` says whether it stays once accepted, or is for the coming session only.
    `size` is the change of demand, 0 for none, -1 for a day without the circuit; of a
    reduction the change of density, where that is more.
    `until` is when a rest is over, `asks` the one question that goes with it.
    `source` is what it rests on, where that is not its rule's and common practice.
    """

    rule: str
    title: str
    direction: Direction
    change: CircuitChange
    why: tuple[str, str]
    facts: tuple[Fact, ...]
    before: CircuitTotals
    after: CircuitTotals
    size: Fraction
    circuit: Circuit
    lasting: bool = True
    until: datetime | None = None
    asks: Question = ""
    source: str = ""

    @property
    def rank(self) -> tuple[int, Fraction]:
        """How large a step it is: direction first, then size."""
        return self.direction, self.size


@dataclass(frozen=True, slots=True)
class Blocker:
    """What speaks against a rise now, as one sentence with its number."""

    rule: str
    sentence: str


Verdict = Proposal | Blocker | None
Judge = Callable[[CircuitHistory, CoachContext], Verdict]


@dataclass(frozen=True, slots=True)
class CoachRule:
    """A rule as data. `judge` is pure; `tag` says how well its source was read."""

    id: str
    title: str
    source: str
    tag: Tag
    judge: Judge


@dataclass(frozen=True, slots=True)
class Reason:
    """The title of a proposal, its two sentences and the numbers behind it."""

    title: str
    why: tuple[str, str]
    facts: tuple[Fact, ...] = ()


def propose(
    rule: str,
    context: CoachContext,
    change: CircuitChange,
    reason: Reason,
    *,
    direction: Direction,
    lasting: bool = True,
) -> Proposal:
    """Make a proposal with the totals before and after.

    Raises:
        WhistlestopError: The changed circuit cannot be laid out.
    """
    after = applied(context.circuit, change, context.library)
    return made_of(rule, context, after, change, reason, direction, lasting=lasting)


def made_of(  # noqa: PLR0913 - a proposal has that many sides
    rule: str,
    context: CoachContext,
    after: Circuit,
    change: CircuitChange,
    reason: Reason,
    direction: Direction,
    *,
    lasting: bool = True,
    until: datetime | None = None,
) -> Proposal:
    """Make a proposal of a circuit that is changed already."""
    now, then = context.totals, totals_of(after)
    size = Fraction(-1)
    if direction is not Direction.REST:
        size = demand(after, context.circuit) - 1
    if direction is Direction.DOWN and now.density:
        size = min(size, then.density / now.density - 1)
    return Proposal(
        rule=rule,
        title=reason.title,
        direction=direction,
        change=change,
        why=reason.why,
        facts=reason.facts,
        before=now,
        after=then,
        size=size,
        circuit=after,
        lasting=lasting,
        until=until,
    )
