"""The rule that brings an athlete back after time off, and how work is made less.

A pure function of history and context: a longer time off never asks for more. It
counts days and judges no health.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import pairwise
from statistics import median
from typing import Final

from whistlestop.coach.changes import (
    LEAST_WORK_MS,
    STEP_MS,
    CircuitChange,
    applied,
    loops_text,
    totals_of,
)
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.lighter import with_less_load
from whistlestop.coach.verdicts import (
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    propose,
)
from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import sentence_case
from whistlestop.errors import WhistlestopError

# Days since the last circuit, common practice built on Caterisano et al. 2019,
# Strength Cond J 41(3):1 (a transition after two weeks or more away).
AS_PLANNED_DAYS: Final = 7
LIGHTER_ONCE_DAYS: Final = 13
SHORT_GAP_DAYS: Final = 27
LONG_GAP_DAYS: Final = 56
AS_NEW_DAYS: Final = 182
SHORT_SHARES: Final = (Fraction(50, 100), Fraction(70, 100))
LONG_SHARES: Final = tuple(Fraction(n, 100) for n in (50, 70, 80, 90))
# Time off is measured against the athlete's own rhythm. Common practice, no source.
_GAPS_LOOKED_AT: Final = 5
_FEW_GAPS: Final = 3
_USUAL_RHYTHM: Final = 3.5
_MOST_RHYTHM_OF_FEW: Final = 7.0
# A gap after which nothing rises, though it is no time off yet. Common practice.
_MOST_GAP_DAYS: Final = 6
_LONG_GAP: Final = 1.5
# One loop fewer, where there is only one: a quarter less. Common practice.
ONE_LOOP_SHARE: Final = Fraction(3, 4)
BASE_INTERVAL_MS: Final = 30_000
# The rows of the table, from the mildest on.
_NOTHING, _ONCE, _TWO_WEEKS, _FOUR_WEEKS, _BASE = range(5)
_MOST_LOAD: Final = (Fraction(1), Fraction(3, 4), Fraction(2, 3), Fraction(2, 3))
_AS_NEW: Final = 3


@dataclass(frozen=True, slots=True)
class TimeOff:
    """A gap of so many days. `row` is that of the table, `loads` the one for loads."""

    days: int
    row: int
    loads: int

    @property
    def shares(self) -> tuple[Fraction, ...]:
        """Share of the work in each week of the return."""
        return {_TWO_WEEKS: SHORT_SHARES, _FOUR_WEEKS: LONG_SHARES}.get(self.row, ())


def restart(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Come back after time off, by calendar days since the last circuit of any kind.

    Time off is a gap of at least 8 days and of more than twice the athlete's rhythm.
    Example, at a rhythm of 3 days: 13 days off: one loop fewer once; 14: half of the
    work this week; 56: half, and at most three quarters of each load; 57: back to
    base and two thirds. After an injury one row lower. Source: the table of days is
    common practice, built on Caterisano et al. 2019.
    """
    days_out = _days_out(history, context)
    if not days_out:
        return None
    now = time_off(days_out, context.today, after_injury=context.after_injury)
    if now.row == _BASE:
        return _base(now, context)
    if now.row >= _TWO_WEEKS:
        return _transition(now, 0, context)
    inside = _stage_of_return(history, days_out, context)
    if now.row == _ONCE:
        once = _one_loop_fewer(now, context)
        if inside is None:
            return once
        again = _transition(*inside, context)
        return min(once, again, key=lambda proposal: proposal.rank)
    return None if inside is None else _transition(*inside, context)


def rhythm_of(days: Sequence[date]) -> float:
    """The usual gap between days with a circuit: the median of the last five."""
    recent = days[-_GAPS_LOOKED_AT - 1 :]
    gaps = [(b - a).days for a, b in pairwise(recent)]
    if not gaps:
        return _USUAL_RHYTHM
    usual = float(median(gaps))
    return usual if len(gaps) >= _FEW_GAPS else min(usual, _MOST_RHYTHM_OF_FEW)


def time_off(
    days: Sequence[date], today: date, *, after_injury: bool = False
) -> TimeOff:
    """How much time off there was up to a day, in rows of the table.

    Args:
        days: The days with a circuit before, in order; at least one.
        today: The day of the next one.
        after_injury: Whether the athlete says that an injury was the reason.
    """
    gap, rhythm = (today - days[-1]).days, rhythm_of(days)
    row, loads = _NOTHING, 0
    if _is_off(gap, rhythm, days):
        bounds = (AS_PLANNED_DAYS, LIGHTER_ONCE_DAYS, SHORT_GAP_DAYS, LONG_GAP_DAYS)
        row = sum(gap > bound for bound in bounds)
        if row != _BASE and gap <= 3 * rhythm:
            row -= 1
        # Tissue counts days, whatever the rhythm.
        loads = sum(gap > most for most in (SHORT_GAP_DAYS, LONG_GAP_DAYS, AS_NEW_DAYS))
    if after_injury:
        row, loads = min(_BASE, row + 1), min(_AS_NEW, loads + 1)
    return TimeOff(gap, row, loads)


def rhythm(history: CircuitHistory, context: CoachContext) -> float:
    """The athlete's usual gap between days with a circuit, in days."""
    return rhythm_of(_days_out(history, context))


def longer_gap(history: CircuitHistory, context: CoachContext) -> int:
    """The days since the last circuit where they are many for this athlete; else 0.

    Many are more than 6 and at least one and a half times the rhythm.
    """
    days = _days_out(history, context)
    gap = (context.today - days[-1]).days if days else 0
    is_long = gap > _MOST_GAP_DAYS and gap >= _LONG_GAP * rhythm_of(days)
    return gap if is_long else 0


def _days_out(history: CircuitHistory, context: CoachContext) -> list[date]:
    return sorted({o.day for o in history.outings if o.day <= context.today})


def _is_off(gap: int, rhythm: float, days: Sequence[date]) -> bool:
    if gap <= AS_PLANNED_DAYS or gap <= 2 * rhythm:
        return False
    if len(days) == 1:
        return gap > LIGHTER_ONCE_DAYS
    before = (days[-1] - days[-2]).days
    slower = AS_PLANNED_DAYS < before <= LIGHTER_ONCE_DAYS
    return not (slower and gap <= 1.5 * before)


def _stage_of_return(
    history: CircuitHistory, days: Sequence[date], context: CoachContext
) -> tuple[TimeOff, int] | None:
    """The last time off with a return by weeks, and its stage now; None if over.

    A stage lasts a week and a session at least, and again after a session above
    target.
    """
    for place in range(len(days) - 1, 0, -1):
        gap = time_off(days[:place], days[place])
        if gap.row == _BASE:
            return None
        if gap.shares:
            if context.after_injury:
                gap = time_off(days[:place], days[place], after_injury=True)
            stage = _stage(history, days[place:], context)
            return (gap, stage) if stage < len(gap.shares) else None
    return None


def _stage(
    history: CircuitHistory, since: Sequence[date], context: CoachContext
) -> int:
    hard = {
        facts.day
        for facts in history.sessions
        if facts.hardest is not None and facts.hardest > context.target
    }
    stage, began = 0, since[0]
    for last, day in pairwise((*since, context.today)):
        if (day - began).days >= 7 and last not in hard:
            stage, began = stage + 1, day
    return stage


def weeks_back(days: Sequence[date], today: date) -> int:
    """How many weeks a return on a day is lighter, 0 for none.

    After a start at the base nothing is planned to be lighter than it is.
    """
    return len(time_off(days, today).shares) if days else 0


def _transition(off: TimeOff, week: int, context: CoachContext) -> Proposal:
    shares = off.shares
    change = replace(
        least_change(context, shares[week]) or smallest_change(context),
        recover_as_work=off.row == _TWO_WEEKS or week == 0,
    )
    # Loads come back with the work, but never faster than the table says.
    most = max(_MOST_LOAD[off.loads], shares[week]) if off.loads else Fraction(1)
    change = with_less_load(change, context, most) if most < 1 else change
    left = f"{percent(share_left(context, change) or Fraction(1))} %"
    parts = ["recovery as long as work"] if change.recover_as_work else []
    parts += [f"loads at most {percent(most)} %"] if most < 1 else []
    parts.append(_next_week(shares, week))
    second = "; ".join(parts)
    why = (
        (
            f"You are back after {off.days} days off; this is week {week + 1} of "
            f"{len(shares)}."
        ),
        f"{sentence_case(second)}.",
    )
    facts = (
        Fact("days off", f"{off.days}"),
        Fact("week since the return", f"{week + 1} of {len(shares)}"),
        Fact("work", f"{left}, planned at most {percent(shares[week])} %"),
    )
    title = f"{shape_after(context, change)}, {left} of the work"
    reason = Reason(title, why, facts)
    return propose(
        "restart", context, change, reason, direction=Direction.DOWN, lasting=False
    )


def _next_week(shares: Sequence[Fraction], week: int) -> str:
    following = [percent(share) for share in shares[week + 1 : week + 2]] or [100]
    return f"next week at most {following[0]} % of the work"


def _one_loop_fewer(off: TimeOff, context: CoachContext) -> Proposal:
    loops = context.circuit.loops
    change = CircuitChange(loops=loops - 1)
    less = f"one loop fewer this time, {loops - 1} instead of {loops}"
    if loops == 1:
        change = least_change(context, ONE_LOOP_SHARE) or smallest_change(context)
        less = "with one loop only, about a quarter less work this time"
    loads = "Same loads"
    if off.loads:
        most = _MOST_LOAD[off.loads]
        change = with_less_load(change, context, most)
        loads = f"Loads at most {percent(most)} %"
    first = f"The last circuit was {off.days} days ago."
    if context.after_injury:
        first = "You are coming back from an injury."
    why = (first, f"{loads}, {less}.")
    reason = Reason(
        "One loop fewer, this time only", why, (Fact("days off", f"{off.days}"),)
    )
    return propose(
        "restart",
        context,
        change,
        reason,
        direction=Direction.DOWN,
        lasting=False,
    )


def _base(off: TimeOff, context: CoachContext) -> Proposal:
    now = context.totals
    half = least_change(context, SHORT_SHARES[0]) or smallest_change(context)
    change = CircuitChange(
        loops=1, work_step_ms=min(0, BASE_INTERVAL_MS - now.interval_ms)
    )
    base = applied(context.circuit, change, context.library)
    if 2 * totals_of(base).work_ms > now.work_ms:
        change = half
    most, as_new = _MOST_LOAD[off.loads], off.loads == _AS_NEW
    change = with_less_load(
        replace(change, recover_as_work=True), context, most, as_new=as_new
    )
    less = f"with at most {percent(most)} % of each load"
    if as_new:
        less = "with the loads of somebody new"
    why = (
        f"You are coming back from an injury, {off.days} days since the last circuit."
        if context.after_injury
        else f"The last circuit was {off.days} days ago, more than {LONG_GAP_DAYS}.",
        (
            "After illness or injury, ask a doctor or physiotherapist first. "
            f"Then start again at the base, {less}."
        ),
    )
    reason = Reason("Start again at the base", why, (Fact("days off", f"{off.days}"),))
    return propose("restart", context, change, reason, direction=Direction.DOWN)


def least_change(
    context: CoachContext, most: Fraction, *, near: Fraction | None = None
) -> CircuitChange | None:
    """Shorten loops and interval so that at most a share of the work is left.

    Args:
        context: The circuit is in it.
        most: The largest share of the planned work, 0 to 1.
        near: The share to come nearest to; by default `most`.

    Returns:
        The change that comes nearest, the longer interval of two as near; None where
        even the shortest does more than `most`.
    """
    now = context.totals
    aim = most if near is None else near
    found: list[tuple[Fraction, int, CircuitChange]] = []
    for loops in range(1, now.loops + 1):
        for step in range(0, LEAST_WORK_MS - now.interval_ms - 1, -STEP_MS):
            change = CircuitChange(
                loops=None if loops == now.loops else loops, work_step_ms=step
            )
            share = _share(context, change, now.work_ms)
            if share is not None and share <= most:
                found.append((abs(share - aim), -step, change))
    return min(found, key=lambda item: item[:2])[2] if found else None


def smallest_change(context: CoachContext) -> CircuitChange:
    """One loop at the shortest interval there is."""
    now = context.totals
    step = min(0, LEAST_WORK_MS - now.interval_ms) // STEP_MS * STEP_MS
    return CircuitChange(loops=None if now.loops == 1 else 1, work_step_ms=step)


def shape_after(context: CoachContext, change: CircuitChange) -> str:
    """Loops and interval after a change, as the beginning of a sentence."""
    shape = loops_text(totals_of(applied(context.circuit, change, context.library)))
    return sentence_case(shape)


def share_left(context: CoachContext, change: CircuitChange) -> Fraction | None:
    """Share of the planned work that a change leaves; None where it does not fit."""
    return _share(context, change, context.totals.work_ms)


def _share(
    context: CoachContext, change: CircuitChange, work_ms: int
) -> Fraction | None:
    try:
        after = applied(context.circuit, change, context.library)
        return Fraction(compile_plan(after).work_ms, work_ms)
    except WhistlestopError:
        return None


def percent(share: Fraction) -> int:
    """A share in whole per cent, rounded."""
    return round(share * 100)
