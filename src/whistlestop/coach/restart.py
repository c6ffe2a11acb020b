"""The rule that brings an athlete back after time off, and how work is made less.

A pure function of history and context: a longer time off never asks for more. It
counts days and judges no health.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import Final

from whistlestop.coach.changes import (
    LEAST_WORK_MS,
    STEP_MS,
    CircuitChange,
    applied,
    totals_of,
    uniform_load,
)
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.verdicts import (
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    propose,
)
from whistlestop.domain.kit.kit import ladder
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import WhistlestopError

# Days since the last circuit, common practice built on Caterisano et al. 2019,
# Strength Cond J 41(3):1 (a transition after two weeks or more away).
AS_PLANNED_DAYS: Final = 7
LIGHTER_ONCE_DAYS: Final = 13
SHORT_GAP_DAYS: Final = 27
LONG_GAP_DAYS: Final = 56
SHORT_SHARES: Final = (Fraction(50, 100), Fraction(70, 100))
LONG_SHARES: Final = tuple(Fraction(n, 100) for n in (50, 70, 80, 90))
# One loop fewer, where there is only one: a quarter less. Common practice.
ONE_LOOP_SHARE: Final = Fraction(3, 4)
BASE_INTERVAL_MS: Final = 30_000


def restart(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Come back after time off, by calendar days since the last circuit of any kind.

    Example: 13 days off: one loop fewer once; 14: half of the work this week; 56:
    half, and loads a step down; 57: back to base. Up to 7: nothing. Source: the
    table of days is common practice, built on Caterisano et al. 2019.
    """
    days_out = sorted({o.day for o in history.outings if o.day <= context.today})
    if not days_out:
        return None
    off = (context.today - days_out[-1]).days
    if off > LONG_GAP_DAYS or context.after_injury:
        return _base(off, context)
    if off > LIGHTER_ONCE_DAYS:
        return _transition(off, 0, context)
    inside = _week_of_return(days_out, context.today)
    if off > AS_PLANNED_DAYS:
        once = _one_loop_fewer(off, context)
        if inside is None:
            return once
        again = _transition(*inside, context)
        return min(once, again, key=lambda proposal: proposal.rank)
    return None if inside is None else _transition(*inside, context)


def _week_of_return(days: Sequence[date], today: date) -> tuple[int, int] | None:
    """Length of the last gap of 14 to 56 days and full weeks since; None if over."""
    for before, after in reversed(list(pairwise(days))):
        gap = (after - before).days
        if gap > LONG_GAP_DAYS:
            return None
        if gap > LIGHTER_ONCE_DAYS:
            week = (today - after).days // 7
            return (gap, week) if week < len(_shares(gap)) else None
    return None


def weeks_back(off: int) -> int:
    """How many weeks a return after so many days off is lighter, 0 for none.

    After a start at the base nothing is planned to be lighter than it is.
    """
    if not LIGHTER_ONCE_DAYS < off <= LONG_GAP_DAYS:
        return 0
    return len(_shares(off))


def _shares(gap_days: int) -> tuple[Fraction, ...]:
    return SHORT_SHARES if gap_days <= SHORT_GAP_DAYS else LONG_SHARES


def _transition(off: int, week: int, context: CoachContext) -> Proposal:
    shares = _shares(off)
    change = replace(
        least_change(context, shares[week]) or smallest_change(context),
        recover_as_work=off <= SHORT_GAP_DAYS or week == 0,
    )
    lighter: tuple[tuple[int, str], ...] = ()
    if off > SHORT_GAP_DAYS:
        lighter = tuple(_lighter(context))
        change = replace(change, loads=lighter)
    left = f"{percent(share_left(context, change) or Fraction(1))} %"
    rests = ", recovery as long as work" if change.recover_as_work else ""
    why = (
        (
            f"You are back after {off} days off; this is week {week + 1} of "
            f"{len(shares)}."
        ),
        f"{left} of the work{rests}"
        + (", loads one step down" if lighter else "")
        + ", then more week by week.",
    )
    facts = (
        Fact("days off", f"{off}"),
        Fact("week since the return", f"{week + 1} of {len(shares)}"),
        Fact("work", f"{left}, planned at most {percent(shares[week])} %"),
    )
    reason = Reason("Restart, in steps", why, facts)
    return propose(
        "restart", context, change, reason, direction=Direction.DOWN, lasting=False
    )


def _one_loop_fewer(off: int, context: CoachContext) -> Proposal:
    loops = context.circuit.loops
    change = CircuitChange(loops=loops - 1)
    less = f"one loop fewer this time, {loops - 1} instead of {loops}"
    if loops == 1:
        change = least_change(context, ONE_LOOP_SHARE) or smallest_change(context)
        less = "with one loop only, about a quarter less work this time"
    why = (f"The last circuit was {off} days ago.", f"Same loads, {less}.")
    reason = Reason(
        "One loop fewer, this time only", why, (Fact("days off", f"{off}"),)
    )
    return propose(
        "restart",
        context,
        change,
        reason,
        direction=Direction.DOWN,
        lasting=False,
    )


def _base(off: int, context: CoachContext) -> Proposal:
    now = totals_of(context.circuit)
    half = least_change(context, SHORT_SHARES[0]) or smallest_change(context)
    change = CircuitChange(
        loops=1, work_step_ms=min(0, BASE_INTERVAL_MS - now.interval_ms)
    )
    base = applied(context.circuit, change, context.library)
    if 2 * totals_of(base).work_ms > now.work_ms:
        change = half
    lighter = tuple(_lighter(context))
    change = replace(change, recover_as_work=True, loads=lighter)
    why = (
        f"The last circuit was {off} days ago, more than {LONG_GAP_DAYS}."
        if off > LONG_GAP_DAYS
        else "You are coming back from an injury.",
        (
            "After illness or injury, ask a doctor or physiotherapist first. "
            "Then start again at the base."
        ),
    )
    reason = Reason("Start again at the base", why, (Fact("days off", f"{off}"),))
    return propose("restart", context, change, reason, direction=Direction.DOWN)


def _lighter(context: CoachContext) -> Iterator[tuple[int, str]]:
    """One kit step down for each loaded station that has a lighter load owned."""
    if context.kit is None:
        return
    for place, station in enumerate(context.circuit.stations, 1):
        load = uniform_load(context.circuit, place) or station.load
        if load is None or load.each_kg is None:
            continue
        rungs = ladder(context.kit, load.count, station.kit or ("weight",))
        below = [rung for rung in rungs if rung.each_kg < load.each_kg]
        if below:
            yield place, str(below[-1].load)


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
    now = totals_of(context.circuit)
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
    now = totals_of(context.circuit)
    step = min(0, LEAST_WORK_MS - now.interval_ms) // STEP_MS * STEP_MS
    return CircuitChange(loops=None if now.loops == 1 else 1, work_step_ms=step)


def share_left(context: CoachContext, change: CircuitChange) -> Fraction | None:
    """Share of the planned work that a change leaves; None where it does not fit."""
    return _share(context, change, totals_of(context.circuit).work_ms)


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
