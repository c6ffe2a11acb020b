"""What was put off, and why: what is not asked for again for a while.

Owns what the coach learns from a refusal. Refuses to ask more than once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Final

from whistlestop.coach.changes import CircuitChange
from whistlestop.coach.context import CoachContext, Refusal
from whistlestop.coach.evidence import NO_TIME_DAYS, has_no_time
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.verdicts import (
    RISES,
    Blocker,
    Direction,
    Reason,
    Verdict,
    propose,
)
from whistlestop.domain.reasons import REFUSAL_REASONS, in_words

# For so many days, common practice, no source.
NOT_THIS_DAYS: Final = 28
ASKED_DAYS: Final = 28
UNEXPLAINED: Final = 2
# What takes more of the athlete's time.
TIMED: Final = ("more-work", "another-loop")


def barred_rises(
    history: CircuitHistory, context: CoachContext
) -> Mapping[str, Blocker]:
    """The steps up that are not asked for now, each with why.

    Example: put off for lack of time: no longer interval and no loop for 56 days.
    """
    barred: dict[str, Blocker] = {}
    for refusal in context.refusals:
        until = refusal.day + timedelta(days=NOT_THIS_DAYS)
        if refusal.reason == "not-this" and context.today < until:
            text = f"You put it off on {refusal.day:%d %b}: not before {until:%d %b}."
            barred[refusal.rule] = Blocker(refusal.rule, text)
    for key in TIMED if _lacks_time(history, context) else ():
        barred[key] = Blocker(key, "You have no more time for it.")
    return barred


def _lacks_time(history: CircuitHistory, context: CoachContext) -> bool:
    since = context.today - timedelta(days=NO_TIME_DAYS)
    refused = (
        refusal.reason == "no-time" and refusal.day > since
        for refusal in context.refusals
    )
    return any(refused) or has_no_time(history, context)


def unexplained(context: CoachContext) -> tuple[Refusal, ...]:
    """The last steps up that were put off without a reason, since one had one.

    A step that was accepted since is an answer, too.
    """
    since = context.today - timedelta(days=ASKED_DAYS)
    if context.last_step is not None:
        since = max(since, context.last_step.day)
    found: list[Refusal] = []
    for refusal in reversed(context.refusals):
        if refusal.rule not in RISES or refusal.day <= since:
            continue
        if refusal.reason:
            break
        found.append(refusal)
    return tuple(reversed(found))


def ask(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Ask once why two steps were put off, instead of proposing a third.

    Example: 45 s and a third loop put off, no reason given: the question. Source:
    common practice.
    """
    del history
    count = len(unexplained(context))
    if count < UNEXPLAINED:
        return None
    why = (
        f"You put off {count} steps.",
        "No other is proposed until you say why.",
    )
    made = propose(
        "ask",
        context,
        CircuitChange(),
        Reason(f"Why: {in_words(REFUSAL_REASONS)}?", why),
        direction=Direction.SAME,
        lasting=False,
    )
    return replace(made, asks="why-put-off")
