"""The rules by name, as data, and in which order each emphasis asks them.

Owns the table and its sources. What a rule does stands in the module it comes from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from whistlestop.coach.changes import CircuitChange, loops_text
from whistlestop.coach.coming_back import ill, page, return_in_sessions
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.holds import holds
from whistlestop.coach.lighter_week import deload
from whistlestop.coach.races import after_race, taper
from whistlestop.coach.raising import (
    another_loop,
    drill_level,
    harder_variant,
    heavier,
    more_work,
    shorter_recovery,
)
from whistlestop.coach.refusals import ask
from whistlestop.coach.restart import restart
from whistlestop.coach.resting import rest
from whistlestop.coach.soreness import spared
from whistlestop.coach.stepping_down import fewer_loops, one_station, step_down
from whistlestop.coach.verdicts import (
    RISES,
    CoachRule,
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    propose,
)
from whistlestop.domain.targets import Emphasis
from whistlestop.domain.text import sentence_case

_ORDER_SOURCE: Final = "one variable at a time: interval, loops, density, load"


def same_again(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Do the same once more, with what holds a step back.

    Example: one session of two at these settings: the same again. Source: common
    practice.
    """
    found = holds(history, context)
    now = context.totals
    shape = loops_text(now)
    stays = f"{sentence_case(shape)}, with {now.recover_ms / 1000:g} s of recovery."
    if context.emphasis == "maintain" and history.runs:
        first = "The emphasis of these weeks is to maintain what you have."
    elif found:
        first = found[0].sentence
    else:
        first = "Every possible step is already accepted or put off."
    facts = tuple(Fact(hold.rule, hold.sentence) for hold in found)
    made = propose(
        "same-again",
        context,
        CircuitChange(),
        Reason(_title(history, context), (first, stays), facts),
        direction=Direction.SAME,
        lasting=False,
    )
    if found and found[0].rule == "clock":
        why = (first, "Out of the plan, or first next time?")
        return replace(made, why=why, asks="out-or-first")
    return made


def _title(history: CircuitHistory, context: CoachContext) -> str:
    """The same again, unless the last session was another, or there was none."""
    last = history.runs[-1:]
    is_same = bool(last) and last[0].settings == context.settings
    return "The same again" if is_same else "As planned"


def sore(history: CircuitHistory, context: CoachContext) -> Verdict:
    """The same again, with what is sore changed in it, by name.

    Example: shoulder 6 of 10 last time: the easier form of what asks much of it, and
    a limit of 14 days is offered. Source: common practice.
    """
    kept = same_again(history, context)
    assert isinstance(kept, Proposal)
    made = spared(kept, history, context)
    return made if made.rule == "sore" else None


# A source is named to the athlete only where it was read, tag R. The others: 48 h by
# Garber et al. 2011 and the lighter week by the survey of Rogerson et al. 2024, both
# from memory; the table by days off is common practice, built on Caterisano et al.
# 2019.
_TABLE: Final = (
    CoachRule("page", "First the page", "a stop for health comes first", "CP", page),
    CoachRule(
        "ill",
        "Ill, or just well",
        "stepwise return, IOC consensus 2022; 24 h without symptoms: common practice",
        "R",
        ill,
    ),
    CoachRule("rest", "Rest", "48 h for the same muscles", "M", rest),
    CoachRule(
        "return",
        "Back in steps",
        "stepwise return, IOC consensus 2022; shares and sessions: common practice",
        "R",
        return_in_sessions,
    ),
    CoachRule(
        "restart",
        "Restart after time off",
        "table by days off",
        "CP",
        restart,
    ),
    CoachRule(
        "taper",
        "Before a race",
        "41 to 60 % less volume, loads kept",
        "M",
        taper,
    ),
    CoachRule("after-race", "After a race", "less for days after it", "CP", after_race),
    CoachRule(
        "step-down",
        "A step down",
        "efforts of 9, or four above the aim",
        "CP",
        step_down,
    ),
    CoachRule("loops", "As many loops", "loops left out twice", "CP", fewer_loops),
    CoachRule(
        "one-station", "One station", "left out or eased twice", "CP", one_station
    ),
    CoachRule(
        "deload",
        "A lighter week",
        "every 4 to 6 weeks, 30 to 50 % less",
        "M",
        deload,
    ),
    CoachRule("ask", "Why not", "two steps put off without a reason", "CP", ask),
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
        "sore", "What is sore", "levels of discomfort, a careful reading", "CP", sore
    ),
    CoachRule(
        "same-again",
        "The same again",
        "nothing rises while something speaks against it",
        "CP",
        same_again,
    ),
)
RULES: Final[Mapping[str, CoachRule]] = MappingProxyType(
    {rule.id: rule for rule in _TABLE}
)

# One order of decision. Of FIRST the one that speaks first is the answer; of what asks
# for LESS for a while the smallest stands alone, a lighter week among them, so that a
# hard session never makes less of it; all that EASE asks for is proposed together.
FIRST: Final = ("page", "ill", "rest")
LESS: Final = ("return", "restart", "taper", "after-race", "deload")
EASE: Final = ("step-down", "loops", "one-station")
EASING: Final = (*FIRST, *LESS, *EASE)
# Whoever is not well, or does not know, cannot put that off.
NEVER_PUT_OFF: Final = frozenset({"page", "ill"})
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
        "base": RISES,
        "build": RISES,
        "strength": _LOAD_FIRST,
        "maintain": (),
    }
)
