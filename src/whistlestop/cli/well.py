"""The page after a stop for health, and what is asked about being well, in lines."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from whistlestop.cli.output import say
from whistlestop.driver.wellbeing import page_first
from whistlestop.errors import UsageError
from whistlestop.library.cautions import HEALTH_STOP
from whistlestop.review.wellbeing import CAUSES, GRAVE, Felt

if TYPE_CHECKING:
    from whistlestop.driver.services import Services
    from whistlestop.review.wellbeing import HealthStop

ILLNESS: Final = "illness"
_SEE_A_DOCTOR: Final = "After that see a doctor before your next session."
_WORDS: Final = "; ".join(f"{key}: {words}" for key, words in CAUSES.items())


def say_what_to_do() -> None:
    """After a stop for health: signs, then acts, the gravest first."""
    for level in HEALTH_STOP:
        say(f"{level.title}: {'; '.join(level.signs)}")
        say(*(f"- {act}" for act in level.actions))


def say_page(services: Services) -> bool:
    """Print the page if one waits for its answer; say whether it does."""
    sentence = page_first(services.wellbeing)
    if not sentence:
        return False
    say_what_to_do()
    say(f"{sentence}: next --well with one word of {', '.join(CAUSES)}", _WORDS)
    return True


def refuse_before_page(services: Services) -> None:
    """Refuse to propose anything while the page waits.

    Raises:
        UsageError: It does.
    """
    if sentence := page_first(services.wellbeing):
        raise UsageError(sentence, "next --well, with what it was")


def ask_page(services: Services) -> None:
    """Before a live session: the page, and its question in lines.

    Raises:
        UsageError: It was not answered.
        StoreError: The disk does not take the answer.
    """
    stop = services.wellbeing.stop_in_view()
    if stop is None:
        return
    say_page(services)
    say("What was it? Type one word, and with it say that you are well; empty: not yet")
    cause = (sys.stdin.readline() if sys.stdin is not None else "").strip()
    if cause not in CAUSES:
        refuse_before_page(services)
    _save(services, stop, cause)


def answer_well(services: Services, cause: str) -> None:
    """Save that the athlete is well: after a stop what it was, else after an illness.

    Raises:
        UsageError: A stop waits, and it is not said what it was.
        StoreError: The disk does not take it.
    """
    stop = services.wellbeing.stop_in_view()
    if stop is not None:
        if cause not in CAUSES:
            refuse_before_page(services)
        _save(services, stop, cause)
        return
    services.wellbeing.answer_illness()
    say("saved: no symptoms for 24 hours, without medicine")


def _save(services: Services, stop: HealthStop, cause: str) -> None:
    services.wellbeing.answer_stop(stop, cause)
    say(f"saved: well again after {CAUSES[cause]}")
    if cause in GRAVE:
        say(_SEE_A_DOCTOR)


def answer_morning(services: Services, felt: Felt) -> None:
    """Save how the noted discomfort was on the next morning.

    Raises:
        UsageError: Nothing is asked about.
        StoreError: The disk does not take it.
    """
    asked = services.wellbeing.morning()
    if asked is None:
        raise UsageError("no discomfort waits for its next morning")
    services.wellbeing.answer_morning(asked, felt)
    side = f"{asked.side} " if asked.side in {"left", "right"} else ""
    say(f"saved: {side}{asked.name}, {felt} the next morning")


def morning_lines(services: Services) -> Sequence[str]:
    """The question about the next morning, where it is due."""
    asked = services.wellbeing.morning()
    if asked is None:
        return ()
    return (f"{asked.words} next --morning better, same or worse",)
