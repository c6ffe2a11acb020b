"""Coming back after a stop for health, and after an illness.

Owns the question that comes first and the sessions of the way back. It judges no
health: that somebody is well is their own word. A stop and an illness are counted in
sessions of any circuit, time off in days (`restart`).
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from typing import Final

from whistlestop.coach.changes import CircuitChange
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.restart import (
    least_change,
    percent,
    shape_after,
    share_left,
    smallest_change,
    time_off,
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
from whistlestop.dataclass import dataclass
from whistlestop.review.wellbeing import (
    GRAVE,
    HealthStop,
    answer_to,
    last_illness,
    unanswered,
)

# Common practice, no source: half at first, three sessions of it, seven after chest,
# head or fainting.
HALF: Final = Fraction(1, 2)
STOP_SESSIONS: Final = 3
GRAVE_SESSIONS: Final = 7
AFTER_STOP: Final = (Fraction(3, 4), Fraction(1))
# The stepwise return is from the IOC consensus 2022, Br J Sports Med 56:1066 (read);
# the half and the numbers of sessions are common practice.
FEWEST: Final = 3
NO_SYMPTOMS: Final = "First: no symptoms for 24 hours?"
MOST: Final = 7


@dataclass(frozen=True, slots=True)
class WayBack:
    """Where somebody is on a way back: `done` of the sessions that `shares` lists.

    `work_ms` is the work the shares are of, where that is not the circuit's own.
    """

    what: str
    since: date
    shares: tuple[Fraction, ...]
    done: int
    work_ms: int = 0

    @property
    def share(self) -> Fraction:
        """The most of the work that the next session may have."""
        return self.shares[min(self.done, len(self.shares) - 1)]

    @property
    def is_over(self) -> bool:
        """Whether all its sessions were done."""
        return self.done >= len(self.shares)


# --- The questions that come first ----------------------------------------------------


def page(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Nothing is proposed after a stop for health until its page is answered.

    Example: a session was stopped on Tuesday and nobody answered: the page. Source:
    common practice.
    """
    stop = unanswered(_stops(history), context.answers, context.today)
    if stop is None:
        return None
    why = (
        f"You ended the session of {stop.day:%d %b} for your health.",
        (
            "Read the signs that need a doctor first. Then say what it was, and "
            "whether you are well: next --well pain, or chest, head, ill, other."
        ),
    )
    return _asked("page", context, f"First: what was it on {stop.day:%A}?", why)


def ill(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Rest while ill, and ask once before the first session after it.

    Example: ill until yesterday: free of symptoms for 24 h, without medicine? Source:
    stepwise return, IOC consensus 2022; the 24 h are common practice.
    """
    found = last_illness(context.ill, context.today)
    if found is None or any(f.day > found[0].last for f in history.sessions):
        return None
    span, days = found
    if context.today <= span.last:
        why = ("You marked today as ill.", "Your plan waits.")
        return _asked("ill", context, "Rest", why)
    about = (a for a in context.answers if a.about == "illness")
    if any(answer.day > span.last for answer in about):
        return None
    counted = "a day" if days == 1 else f"{days} days"
    why = (
        f"You were ill for {counted}, until {span.last:%d %b}.",
        (
            "The first session fits once you have had no symptoms for 24 hours, "
            "without medicine. If that is so, say it: next --well."
        ),
    )
    return _asked("ill", context, NO_SYMPTOMS, why)


def asks_whether_well(proposal: Proposal) -> bool:
    """Whether a proposal is the question after an illness, and no rest in it."""
    return proposal.rule == "ill" and proposal.title == NO_SYMPTOMS


def _asked(
    rule: str, context: CoachContext, title: str, why: tuple[str, str]
) -> Proposal:
    return made_of(
        rule,
        context,
        context.circuit,
        CircuitChange(),
        Reason(title, why),
        Direction.REST,
        lasting=False,
    )


# --- The way back ---------------------------------------------------------------------


def return_in_sessions(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Build up again, session by session, after a stop for health or an illness.

    Example: ill for three days, three loops of 40 s: 2 x 30 s, 3 x 30 s, 3 x 40 s.
    Source: stepwise return, IOC consensus 2022; shares and numbers common practice.
    """
    ways = [way for way in ways_back(history, context) if way.share < 1]
    found = [_proposal(way, context) for way in ways]
    return min(found, key=lambda each: each.rank, default=None)


def ways_back(history: CircuitHistory, context: CoachContext) -> tuple[WayBack, ...]:
    """The ways back that are not over yet."""
    ways = (_after_stop(history, context), _after_illness(history, context))
    return tuple(way for way in ways if way is not None and not way.is_over)


def counts_since(history: CircuitHistory, context: CoachContext) -> date:
    """The first day that counts: after the last time off, illness or stop."""
    days = sorted({o.day for o in history.outings if o.day <= context.today})
    found = [date.min]
    for place in range(len(days) - 1, 0, -1):
        if time_off(days[:place], days[place]).row:
            found.append(days[place])
            break
    found += [stop.day + timedelta(days=1) for stop in _stops(history)]
    if illness := last_illness(context.ill, context.today):
        found.append(illness[0].last + timedelta(days=1))
    return max(found)


def _stops(history: CircuitHistory) -> list[HealthStop]:
    return [HealthStop(f.id, f.day) for f in history.sessions if f.ending == "health"]


def _after_stop(history: CircuitHistory, context: CoachContext) -> WayBack | None:
    stops = _stops(history)
    last = max(stops, key=lambda stop: (stop.day, stop.id), default=None)
    answer = None if last is None else answer_to(last, context.answers)
    if last is None or answer is None:
        return None
    easy = GRAVE_SESSIONS if answer.cause in GRAVE else STOP_SESSIONS
    ids = [facts.id for facts in history.sessions]
    later = history.sessions[ids.index(last.id) + 1 :]
    done = [facts for facts in later if facts.day >= answer.day]
    whole = [r for r in history.runs if r.ending == "complete" and r.day <= last.day]
    work_ms = whole[-1].best_ms if whole else 0
    what = f"your stop for health on {last.day:%d %b}"
    return WayBack(what, last.day, (HALF,) * easy + AFTER_STOP, len(done), work_ms)


def _after_illness(history: CircuitHistory, context: CoachContext) -> WayBack | None:
    found = last_illness(context.ill, context.today)
    if found is None:
        return None
    span, days = found
    count = min(MOST, max(FEWEST, days))
    step = HALF / (count - 1)
    shares = tuple(HALF + step * n for n in range(count))
    done = [facts for facts in history.sessions if facts.day > span.last]
    counted = "a day" if days == 1 else f"{days} days"
    return WayBack(f"{counted} of illness", span.last, shares, len(done))


def _proposal(way: WayBack, context: CoachContext) -> Proposal:
    planned_ms = context.totals.work_ms
    most = way.share
    if way.work_ms:
        # Of what was done last, where that was less than is planned now.
        most = min(most, most * Fraction(way.work_ms, planned_ms))
    change = least_change(context, most) or smallest_change(context)
    share = percent(share_left(context, change) or Fraction(1))
    why = (
        f"You are back after {way.what}: session {way.done + 1} of {len(way.shares)}.",
        f"Loads as before; all of it again in session {len(way.shares)}.",
    )
    facts = (
        Fact("session on the way back", f"{way.done + 1} of {len(way.shares)}"),
        Fact("work", f"{share} %, planned at most {percent(most)} %"),
    )
    title = f"{shape_after(context, change)}, {share} % of the work"
    reason = Reason(title, why, facts)
    return propose(
        "return", context, change, reason, direction=Direction.DOWN, lasting=False
    )
