"""The rules that ask for less: rest, a step down, a deload.

Each is a pure function of history and context; a higher effort or more missed work
never makes one of them ask for more. No rule here judges health.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import Final

from whistlestop.coach.changes import LEAST_WORK_MS, STEP_MS, CircuitChange, totals_of
from whistlestop.coach.context import CoachContext
from whistlestop.coach.evidence import (
    DELOAD_DAYS,
    MUCH_CUT_SHARE,
    TOO_HIGH,
    comparable,
    cut_stations,
    number,
)
from whistlestop.coach.history import CircuitHistory, CircuitRun, share_a_region
from whistlestop.coach.restart import (
    AS_PLANNED_DAYS,
    least_change,
    percent,
    share_left,
    weeks_back,
)
from whistlestop.coach.verdicts import (
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    made_of,
    propose,
)
from whistlestop.errors import WhistlestopError
from whistlestop.review.days import Mark

# Garber et al. 2011, Med Sci Sports Exerc 43:1334: 48 h between sessions for the
# same muscle group. From memory.
SPACING: Final = timedelta(hours=48)
# Rogerson et al. 2024 (survey, from memory): every 4 to 6 weeks, volume down by 30
# to 50 %.
DELOAD_SHARE: Final = Fraction(60, 100)
DELOAD_LEAST: Final = Fraction(50, 100)
DELOAD_MOST: Final = Fraction(70, 100)
_NOTHING: Final = CircuitChange()


# --- Rest ----------------------------------------------------------------------


def rest(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Rest where a region had less than 48 h, before a key session, or when ill.

    Example: a session with the same regions began 46 h ago: rest for 2 h. At 48 h
    sharp: nothing. Source: Garber et al. 2011 (from memory).
    """
    if Mark.ILLNESS in context.marks:
        why = ("You marked today as ill.", "Rest. Your plan waits.")
        return _rest(context, why, ())
    near = _too_near(history, context)
    if near is not None:
        return near
    tomorrow = context.today + timedelta(days=1)
    if tomorrow in context.key_days and context.is_legs_heavy:
        why = (
            "Tomorrow is a key session of your main sport, less than 24 h away.",
            "At least a third of these stations work the legs, so rest today.",
        )
        facts = (Fact("key session", tomorrow.isoformat()),)
        until = datetime.combine(
            tomorrow + timedelta(days=1), time(), context.now.tzinfo
        )
        return _rest(context, why, facts, until)
    return None


def _too_near(history: CircuitHistory, context: CoachContext) -> Proposal | None:
    latest: tuple[datetime, str, str] | None = None
    for outing in history.outings:
        if not share_a_region(outing.regions, context.regions):
            continue
        if outing.began is not None:
            if not timedelta(0) <= context.now - outing.began < SPACING:
                continue
            until = outing.began + SPACING
            hours = (context.now - outing.began) // timedelta(hours=1)
            ago = f"{hours} h ago"
        else:
            days = (context.today - outing.day).days
            if not 0 <= days < 2:
                continue
            over = outing.day + timedelta(days=2)
            until = datetime.combine(over, time(), context.now.tzinfo)
            ago = "today" if days == 0 else "yesterday"
        latest = max(latest or (until, ago, ""), (until, ago, outing.name))
    if latest is None:
        return None
    until, ago, name = latest
    why = (
        f"{name or 'A circuit'} with the same regions was {ago}, less than 48 h.",
        f"The next session of this circuit fits from {until:%a %d %b %H:%M} on.",
    )
    return _rest(context, why, (Fact("last session of these regions", ago),), until)


def _rest(
    context: CoachContext,
    why: tuple[str, str],
    facts: tuple[Fact, ...],
    until: datetime | None = None,
) -> Proposal:
    reason = Reason("Rest", why, facts)
    return made_of(
        "rest",
        context,
        context.circuit,
        _NOTHING,
        reason,
        Direction.REST,
        lasting=False,
        until=until,
    )


# --- Step down -----------------------------------------------------------------


def step_down(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Take a step back when the last session at these settings was too much.

    Example: effort 9 in loop 2 of 3, or 40 % of a station left out: 5 s less, or the
    last step taken back. Source: common practice.
    """
    runs = comparable(history, context)
    reason = _too_much(runs)
    if reason is None:
        return None
    text, facts = reason
    step = context.last_step
    if step is not None and runs[0].day >= step.day and len(runs) <= 2:
        why = (text, f"The last step ({step.words}) is undone.")
        return made_of(
            "step-down",
            context,
            step.before,
            CircuitChange(revert=step.decision),
            Reason("Undo the last step", why, facts),
            Direction.DOWN,
        )
    now = totals_of(context.circuit)
    if now.interval_ms - STEP_MS >= LEAST_WORK_MS:
        change = CircuitChange(work_step_ms=-STEP_MS)
        less = (
            f"Work goes from {_s(now.interval_ms)} to {_s(now.interval_ms - STEP_MS)}"
        )
    elif now.loops > 1:
        change = CircuitChange(loops=now.loops - 1)
        less = f"Loops go from {now.loops} to {now.loops - 1}"
    else:
        return None
    why = (text, f"{less}; if something else got in the way, leave it as it is.")
    try:
        return propose(
            "step-down",
            context,
            change,
            Reason("A step down", why, facts),
            direction=Direction.DOWN,
        )
    except WhistlestopError:
        return None


def _too_much(runs: Sequence[CircuitRun]) -> tuple[str, tuple[Fact, ...]] | None:
    if not runs:
        return None
    last = runs[-1]
    for loop, effort in enumerate(last.efforts[:-1], 1):
        if effort is not None and effort >= TOO_HIGH:
            sentences = (
                f"Effort was {number(effort)} in loop {loop} of {len(last.efforts)} "
                f"on {last.day:%d %b}."
            )
            return sentences, (Fact(f"effort of loop {loop}", number(effort)),)
    much = cut_stations(last, MUCH_CUT_SHARE)
    if much:
        worst = max(much, key=lambda station: station.missed)
        sentences = (
            f"{percent(worst.missed)} % of {worst.name} was left out "
            f"on {last.day:%d %b}, more than {percent(MUCH_CUT_SHARE)} %."
        )
        return sentences, (Fact(worst.name, f"{percent(worst.missed)} % left out"),)
    twice = [{s.exercise for s in run.stations if s.easier} for run in runs[-2:]]
    if len(twice) == 2 and twice[0] & twice[1]:
        named = min(twice[0] & twice[1]).replace("-", " ")
        return f"You needed the easier version of {named} twice in a row.", ()
    return None


# --- Deload --------------------------------------------------------------------


def deload(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Seven lighter days after 4 to 6 weeks (by the context) without an easier spell.

    Or in the lighter week of a planned block.

    Example: first session 5 weeks ago, training since: work down to about 60 %.
    Source: Bell et al. 2023 (definition, read); Rogerson et al. 2024 (rhythm and
    size, from memory).
    """
    began = context.deload_began
    goes_on = began is not None and 0 <= (context.today - began).days < DELOAD_DAYS
    since = _since_easy(history, context)
    if since is None or context.emphasis == "maintain":
        return None
    weeks = (context.today - since).days // 7
    planned = context.is_lighter_week
    if weeks < context.deload_weeks and not goes_on and not planned:
        return None
    change = least_change(context, DELOAD_MOST, near=DELOAD_SHARE)
    if change is None:
        return None
    share = share_left(context, change)
    if share is None or not DELOAD_LEAST <= share <= DELOAD_MOST:
        return None
    less = 100 - percent(share)
    first = f"It is {weeks} weeks since your last lighter week."
    if planned:
        first = f"This week is the lighter one of its block of {context.deload_weeks}."
    if goes_on and began is not None:
        first = f"The lighter week began on {began:%d %b} and lasts {DELOAD_DAYS} days."
    why = (first, f"Work is {less} % less for these {DELOAD_DAYS} days, loads stay.")
    facts = (
        Fact("weeks since the last lighter week", f"{weeks}"),
        Fact("work", f"-{less} %"),
    )
    return propose(
        "deload",
        context,
        change,
        Reason("A lighter week", why, facts),
        direction=Direction.DOWN,
        lasting=False,
    )


def _since_easy(history: CircuitHistory, context: CoachContext) -> date | None:
    """Since when training goes on without more than 7 days off or lighter days.

    The lighter weeks of a return after 14 days or more are an easier spell, too.
    """
    since: date | None = None
    days: list[date] = []
    for day in sorted({o.day for o in history.outings if o.day <= context.today}):
        if not days or (day - days[-1]).days > AS_PLANNED_DAYS:
            since = day + timedelta(weeks=weeks_back(days, day))
        days.append(day)
    if since is not None and context.deload_began is not None:
        since = max(since, context.deload_began + timedelta(days=DELOAD_DAYS))
    return since


def _s(ms: int) -> str:
    return f"{ms / 1000:g} s"
