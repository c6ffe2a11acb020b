"""A lighter week when it is due, and which weeks were easier anyway.

Owns what an easier week is: what was planned counts, not what was decided, and work
left out makes none.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction
from statistics import median
from typing import Final

from whistlestop.coach.changes import applied, loops_text, totals_of
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory, SessionFacts
from whistlestop.coach.restart import (
    least_change,
    percent,
    rhythm_of,
    share_left,
    weeks_back,
)
from whistlestop.coach.verdicts import (
    Direction,
    Fact,
    Reason,
    Verdict,
    propose,
)
from whistlestop.dataclass import dataclass

# Rogerson et al. 2024 (survey, from memory): every 4 to 6 weeks, volume down by 30
# to 50 %.
DELOAD_DAYS: Final = 7
DELOAD_SHARE: Final = Fraction(60, 100)
DELOAD_LEAST: Final = Fraction(50, 100)
DELOAD_MOST: Final = Fraction(70, 100)
# Below this many sessions a week there is rest enough between them. Common practice.
LEAST_SESSIONS: Final = Fraction(3, 2)
# Sessions planned at no more than this share of the usual are lighter ones.
LIGHTER_SHARE: Final = Fraction(75, 100)
EASIER_SHARE: Final = Fraction(60, 100)
_WEEKS_BEFORE: Final = 4
_SESSIONS_BEFORE: Final = 5


def deload(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Seven lighter days after 4 to 6 weeks (by the context) without easier ones.

    Or in the lighter week of a planned block. Who trains less than 1.5 times a week,
    or maintains, needs none.

    Example: first session 5 weeks ago, training since: work down to about 60 %.
    Source: Bell et al. 2023 (definition, read); Rogerson et al. 2024 (rhythm and
    size, from memory).
    """
    first = _why_now(history, context)
    if not first:
        return None
    change = least_change(context, DELOAD_MOST, near=DELOAD_SHARE)
    if change is None:
        return None
    share = share_left(context, change)
    if share is None or not DELOAD_LEAST <= share <= DELOAD_MOST:
        return None
    less = 100 - percent(share)
    then = totals_of(applied(context.circuit, change, context.library))
    why = (first, f"{less} % less work for these {DELOAD_DAYS} days, the same loads.")
    return propose(
        "deload",
        context,
        change,
        Reason(
            f"A lighter week: {loops_text(then)}", why, (Fact("work", f"-{less} %"),)
        ),
        direction=Direction.DOWN,
        lasting=False,
    )


def is_due(history: CircuitHistory, context: CoachContext) -> bool:
    """Whether a lighter week is due, whatever was decided about it."""
    return bool(_why_now(history, context))


def _why_now(history: CircuitHistory, context: CoachContext) -> str:
    days = sorted({o.day for o in history.outings if o.day <= context.today})
    if not days or context.emphasis == "maintain":
        return ""
    began = context.deload_began
    if began is not None and 0 <= (context.today - began).days < DELOAD_DAYS:
        return f"The lighter week began on {began:%d %b} and lasts {DELOAD_DAYS} days."
    since = _since(history, days, context)
    if context.is_lighter_week:
        away = context.today - timedelta(days=DELOAD_DAYS) > days[-1]
        if away:
            return ""
        return f"This week is the lighter one of its block of {context.deload_weeks}."
    weeks = (context.today - since).days // 7
    lately = sum(since <= day < context.today for day in days)
    if weeks < context.deload_weeks or lately < LEAST_SESSIONS * weeks:
        return ""
    return f"You have trained for {weeks} weeks without an easier one."


def _since(
    history: CircuitHistory, days: Sequence[date], context: CoachContext
) -> date:
    """The first day after the last easier week; the first day at all without one."""
    since = days[0]
    began = context.deload_began
    if began is not None:
        since = max(since, began + timedelta(days=DELOAD_DAYS))
    for place in range(len(days) - 1, 0, -1):
        if (days[place] - days[place - 1]).days > DELOAD_DAYS:
            # The lighter weeks of a return are easier ones, too.
            back = timedelta(weeks=weeks_back(days[:place], days[place]))
            since = max(since, days[place] + back)
            break
    easier = last_easier_day(history.sessions, days, context.today)
    return since if easier is None else max(since, easier + timedelta(days=1))


@dataclass(frozen=True, slots=True)
class _Planned:
    """A session's day, its planned work, and that of its circuit's usual session."""

    day: date
    work_ms: int
    usual_ms: float

    @property
    def is_lighter(self) -> bool:
        return self.work_ms <= LIGHTER_SHARE * Fraction(self.usual_ms)


def last_easier_day(
    sessions: Sequence[SessionFacts], days: Sequence[date], today: date
) -> date | None:
    """The last day of the last seven that were easier, before today.

    Easier are seven days of sessions that were all planned at three quarters of the
    usual at most, or seven days with fewer sessions than the rhythm has and at most
    60 % of the work of the four weeks before.
    """
    planned = _planned([facts for facts in sessions if facts.day < today])
    if not planned:
        return None
    first = planned[0].day
    end = today - timedelta(days=1)
    while (end - first).days >= 2 * DELOAD_DAYS - 1:
        if _is_easier(end, planned, days):
            return end
        end -= timedelta(days=1)
    return None


def _planned(sessions: Sequence[SessionFacts]) -> list[_Planned]:
    known = [facts.plan_ms for facts in sessions if facts.plan_ms]
    middle = median(known) if known else 1
    found: list[_Planned] = []
    by_circuit: dict[str, list[int]] = {}
    for facts in sessions:
        work_ms = facts.plan_ms or int(middle)
        before = by_circuit.setdefault(facts.circuit, [])
        usual = median(before[-_SESSIONS_BEFORE:]) if before else work_ms
        one = _Planned(facts.day, work_ms, usual)
        found.append(one)
        if not one.is_lighter:
            before.append(work_ms)
    return found


def _is_easier(end: date, planned: Sequence[_Planned], days: Sequence[date]) -> bool:
    begin = end - timedelta(days=DELOAD_DAYS - 1)
    earlier = begin - timedelta(weeks=_WEEKS_BEFORE)
    # Looked up, not filtered: each day of a log of years is asked about.
    first, middle = _place(planned, earlier), _place(planned, begin)
    inside = planned[middle : _place(planned, end + timedelta(days=1))]
    if inside and all(one.is_lighter for one in inside):
        return True
    before = planned[first:middle]
    if not before:
        return False
    weeks = Fraction((begin - max(earlier, before[0].day)).days, DELOAD_DAYS)
    mean = sum(one.work_ms for one in before) / max(weeks, Fraction(1))
    if sum(one.work_ms for one in inside) > EASIER_SHARE * mean:
        return False
    # A gap of the usual length may leave seven days with one session fewer.
    rhythm = rhythm_of(days[: bisect_left(days, begin)])
    return len(inside) < DELOAD_DAYS // rhythm


def _place(planned: Sequence[_Planned], day: date) -> int:
    """Where the sessions from a day on begin."""
    return bisect_left(planned, day, key=lambda one: one.day)
