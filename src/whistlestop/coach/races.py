"""Races of the main sport: less before them, and after them.

Owns the taper and the days after a race. Refuses to train for one: the circuit gives
way to the main sport.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from whistlestop.coach.changes import applied, totals_of
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.restart import (
    least_change,
    percent,
    shape_after,
    smallest_change,
)
from whistlestop.coach.verdicts import (
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    propose,
)

# The last day of a taper, its first, and the most of the work that stays, counted in
# days before the race. Bosquet et al. 2007, Med Sci Sports Exerc 39:1358 (from memory):
# 8 to 14 days with 41 to 60 % less volume and the intensity kept, for endurance. For
# circuits, and the shares by priority, common practice.
TAPER: Final = {
    "A": ((8, 14, Fraction(59, 100)), (2, 7, Fraction(42, 100))),
    "B": ((2, 7, Fraction(59, 100)),),
    "C": (),
}
# How many days after a race there is less, and how much. Common practice, no source.
AFTER_DAYS: Final = {"A": 7, "B": 4, "C": 2}
AFTER_SHARE: Final = Fraction(70, 100)
# Before a C race nothing rises for so long. Common practice.
NO_RISE_DAYS: Final = 7
# So many tapers in so many days leave no training: then it is asked which races are C.
MANY_RACES: Final = 3
MANY_RACES_DAYS: Final = 42


def taper(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Less work before a race, the loads as they are.

    Example: an A race in 12 days, three loops of 40 s: two of 35 s, 42 % less. Source:
    Bosquet et al. 2007 (from memory); by priority common practice.
    """
    del history
    found = [
        _less("taper", context, most, f"Your race is in {days} days.")
        for day, priority in context.races.items()
        for days in [(day - context.today).days]
        for last, first, most in TAPER[priority]
        if last <= days <= first
    ]
    least = min(found, key=lambda each: each.rank, default=None)
    many = _races_ahead(context)
    if least is None or many < MANY_RACES:
        return least
    asked = f"{many} races in six weeks: which of them are C, trained through?"
    return replace(least, why=(least.why[0], asked), asks="which-are-c")


def _races_ahead(context: CoachContext) -> int:
    """How many races with a taper there are in the six weeks from today on."""
    ahead = (
        (day - context.today).days
        for day, priority in context.races.items()
        if TAPER[priority]
    )
    return sum(0 <= days <= MANY_RACES_DAYS for days in ahead)


def after_race(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Less work in the days after a race.

    Example: an A race five days ago: at most 70 %. Source: common practice.
    """
    del history
    found = []
    for day, priority in context.races.items():
        days = (context.today - day).days
        if 0 < days <= AFTER_DAYS[priority]:
            ago = "yesterday" if days == 1 else f"{days} days ago"
            why = f"Your race was {ago}."
            found.append(_less("after-race", context, AFTER_SHARE, why))
    return min(found, key=lambda each: each.rank, default=None)


def race_near(context: CoachContext) -> str:
    """Why nothing rises before a race, whatever its priority; else ""."""
    ahead = [(day - context.today).days for day in context.races]
    near = [days for days in ahead if 0 < days <= NO_RISE_DAYS]
    return f"Your race is in {min(near)} days: nothing rises before it." if near else ""


def _less(rule: str, context: CoachContext, most: Fraction, why: str) -> Proposal:
    change = least_change(context, most) or smallest_change(context)
    then = totals_of(applied(context.circuit, change, context.library))
    share = percent(Fraction(then.work_ms, context.totals.work_ms))
    reason = Reason(
        f"{shape_after(context, change)}, same loads",
        (why, f"{100 - share} % less work, the same loads."),
        (Fact("work", f"{share} %, planned at most {percent(most)} %"),),
    )
    return propose(
        rule, context, change, reason, direction=Direction.DOWN, lasting=False
    )
