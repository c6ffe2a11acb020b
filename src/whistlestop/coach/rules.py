"""The rules by name, as data, and in which order each emphasis asks them.

Owns the table and its sources. What a rule does stands in `easing` and `raising`.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from whistlestop.coach.changes import CircuitChange, totals_of
from whistlestop.coach.context import CoachContext
from whistlestop.coach.easing import deload, rest, step_down
from whistlestop.coach.evidence import holds
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.raising import (
    another_loop,
    drill_level,
    harder_variant,
    heavier,
    more_work,
    shorter_recovery,
)
from whistlestop.coach.restart import restart
from whistlestop.coach.verdicts import (
    CoachRule,
    Direction,
    Fact,
    Reason,
    Verdict,
    propose,
)
from whistlestop.domain.targets import Emphasis

_ORDER_SOURCE: Final = "one variable at a time: interval, loops, density, load"


def same_again(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Do the same once more, with what holds a step back.

    Example: one session of two at these settings: the same again. Source: common
    practice.
    """
    found = holds(history, context)
    now = totals_of(context.circuit)
    kept = (
        f"The same again: {now.loops} x {now.interval_ms / 1000:g} s, with "
        f"{now.recover_ms / 1000:g} s of recovery."
    )
    if not history.runs:
        first = "This circuit is not in the log yet."
    elif context.emphasis == "maintain":
        first = "The emphasis of these weeks is to maintain what you have."
    elif found:
        first = found[0].sentence
    else:
        first = "Every possible step is already accepted or put off."
    facts = tuple(Fact(hold.rule, hold.sentence) for hold in found)
    return propose(
        "same-again",
        context,
        CircuitChange(),
        Reason("The same again", (first, kept), facts),
        direction=Direction.SAME,
        lasting=False,
    )


# A source is named to the athlete only where it was read, tag R. The others: 48 h by
# Garber et al. 2011 and the lighter week by the survey of Rogerson et al. 2024, both
# from memory; the table by days off is common practice, built on Caterisano et al.
# 2019.
_TABLE: Final = (
    CoachRule("rest", "Rest", "48 h for the same muscles", "M", rest),
    CoachRule(
        "restart",
        "Restart after time off",
        "table by days off",
        "CP",
        restart,
    ),
    CoachRule(
        "step-down", "A step down", "regress now: effort 9, cuts", "CP", step_down
    ),
    CoachRule(
        "deload",
        "A lighter week",
        "every 4 to 6 weeks, 30 to 50 % less",
        "M",
        deload,
    ),
    CoachRule("more-work", "5 s more work", _ORDER_SOURCE, "CP", more_work),
    CoachRule("another-loop", "Another loop", _ORDER_SOURCE, "CP", another_loop),
    CoachRule(
        "shorter-recovery", "Less recovery", _ORDER_SOURCE, "CP", shorter_recovery
    ),
    CoachRule(
        "heavier",
        "The next load",
        "loads rise by 2 to 10 %: ACSM 2009; larger jumps are earned by seconds",
        "R",
        heavier,
    ),
    CoachRule(
        "harder-variant", "A harder version", _ORDER_SOURCE, "CP", harder_variant
    ),
    CoachRule("drill-level", "The next level of a drill", "ladders", "CP", drill_level),
    CoachRule(
        "same-again", "The same again", "two complete sessions", "CP", same_again
    ),
)
RULES: Final[Mapping[str, CoachRule]] = MappingProxyType(
    {rule.id: rule for rule in _TABLE}
)

# Asked in this order; the first that proposes something is the answer.
# A lighter week is more than a step down, so it is asked before it: a hard session
# never makes less of it.
EASING: Final = ("rest", "restart", "deload", "step-down")
_SECONDS_FIRST: Final = (
    "more-work",
    "another-loop",
    "shorter-recovery",
    "heavier",
    "harder-variant",
    "drill-level",
)
_LOAD_FIRST: Final = (
    "heavier",
    "more-work",
    "harder-variant",
    "another-loop",
    "shorter-recovery",
    "drill-level",
)
RAISING: Final[Mapping[Emphasis, tuple[str, ...]]] = MappingProxyType(
    {
        "base": _SECONDS_FIRST,
        "build": _SECONDS_FIRST,
        "strength": _LOAD_FIRST,
        "maintain": (),
    }
)
