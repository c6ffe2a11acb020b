"""The rule that says not today: 48 h by regions, races, key sessions, other training.

A pure function of history and context. Refuses to judge health.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Final, NamedTuple

from whistlestop.coach.changes import CircuitChange
from whistlestop.coach.context import CoachContext
from whistlestop.coach.elsewhere import too_much_elsewhere
from whistlestop.coach.history import CircuitHistory, share_a_region
from whistlestop.coach.verdicts import (
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    made_of,
)
from whistlestop.review.days import Mark

# Garber et al. 2011, Med Sci Sports Exerc 43:1334: 48 h between sessions for the
# same muscle group. From memory.
SPACING: Final = timedelta(hours=48)
_DAY: Final = timedelta(days=1)
_RACES: Final = "rest on the days around a race"
_KEY_DAYS: Final = "no legs on the day before a key session"
_ELSEWHERE: Final = "rest after much other training"
_LEGS_BEFORE: Final = "At least a third of these stations work the legs, so rest today."


class _Wait(NamedTuple):
    """Until when there is a rest, and why, with its number.

    `source` is that of the wait, where it is not the 48 h of the rule.
    """

    until: datetime
    why: tuple[str, str]
    fact: Fact
    source: str = ""


def rest(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Rest where a region had less than 48 h, around a race or a key day, or when ill.

    Example: a session with the same regions began 46 h ago: rest for 2 h. At 48 h
    sharp: nothing. Source: Garber et al. 2011 (from memory); races, key days and other
    training common practice.
    """
    if Mark.ILLNESS in context.marks:
        why = ("You marked today as ill.", "Your plan waits.")
        return _rest(context, Reason("Rest", why))
    waits = [
        *_too_near(history, context),
        *_around_races(context),
        *_before_key_day(context),
        *_after_other_training(history, context),
    ]
    if not waits:
        return None
    last = max(waits, key=lambda wait: wait.until)
    reason = Reason("Rest", last.why, (last.fact,))
    return replace(_rest(context, reason, last.until), source=last.source)


def _too_near(history: CircuitHistory, context: CoachContext) -> list[_Wait]:
    found = []
    for outing in history.outings:
        if not share_a_region(outing.regions, context.regions):
            continue
        if outing.began is not None:
            if not timedelta(0) <= context.now - outing.began < SPACING:
                continue
            until = outing.began + SPACING
            ago = _hours_ago((context.now - outing.began) // timedelta(hours=1))
            fits = f"{until:%A %d %b %H:%M}, 48 hours after it"
        else:
            days = (context.today - outing.day).days
            if not 0 <= days < 2:
                continue
            until = _at_midnight(outing.day + 2 * _DAY, context)
            ago = "today" if days == 0 else "yesterday"
            fits = f"{until:%A %d %b}"
        why = (
            f"{outing.name or 'A circuit'} worked the same muscles {ago}.",
            f"It fits from {fits}.",
        )
        found.append(_Wait(until, why, Fact("last session of these muscles", ago)))
    return found


def _hours_ago(hours: int) -> str:
    if hours == 0:
        return "less than an hour ago"
    return "an hour ago" if hours == 1 else f"{hours} hours ago"


def _around_races(context: CoachContext) -> list[_Wait]:
    found = []
    for day, priority in context.races.items():
        days = (day - context.today).days
        two_before = days == 2 and priority != "C" and context.is_legs_heavy
        if days not in {-1, 0, 1} and not two_before:
            continue
        when = {-1: "was yesterday", 0: "is today", 1: "is tomorrow"}.get(days)
        until = _at_midnight(day + 2 * _DAY, context)
        why = (
            f"Your race {when or 'is in 2 days'}.",
            f"This circuit fits from {until:%A %d %b}.",
        )
        found.append(_Wait(until, why, Fact("race", day.isoformat()), _RACES))
    return found


def _before_key_day(context: CoachContext) -> list[_Wait]:
    tomorrow = context.today + _DAY
    if tomorrow not in context.key_days or not context.is_legs_heavy:
        return []
    first = f"Tomorrow, {tomorrow:%d %b}, is a key session of your main sport."
    why = (first, _LEGS_BEFORE)
    until = _at_midnight(tomorrow + _DAY, context)
    fact = Fact("key session", tomorrow.isoformat())
    return [_Wait(until, why, fact, _KEY_DAYS)]


def _after_other_training(
    history: CircuitHistory, context: CoachContext
) -> list[_Wait]:
    found = too_much_elsewhere(history, context)
    if found is None:
        return []
    text, day = found
    why = (text, f"This circuit fits from {day:%A %d %b}.")
    fact = Fact("done elsewhere", text)
    return [_Wait(_at_midnight(day, context), why, fact, _ELSEWHERE)]


def _at_midnight(day: date, context: CoachContext) -> datetime:
    return datetime.combine(day, time(), context.now.tzinfo)


def _rest(
    context: CoachContext, reason: Reason, until: datetime | None = None
) -> Proposal:
    return made_of(
        "rest",
        context,
        context.circuit,
        CircuitChange(),
        reason,
        Direction.REST,
        lasting=False,
        until=until,
    )
