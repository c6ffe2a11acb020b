"""The questions of the Floor: what is asked at a key, and what may be chosen.

Loaded at the first question: what is seen first does not wait for the library.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from whistlestop.domain.load import parse_load
from whistlestop.driver.swapping import Choice, Standing, SwapKind, choices, standing
from whistlestop.engine.commands import Command, Do, EnterSkipReason, EnterVariant
from whistlestop.engine.view import View
from whistlestop.errors import WhistlestopError
from whistlestop.library.stock import library_means
from whistlestop.tui.floor.prompts import (
    AskChoice,
    AskDiscomfort,
    AskNumber,
    Confirm,
    Prompt,
)

if TYPE_CHECKING:
    from whistlestop.driver.house import House

REASON_MS: Final = 4_000
REASONS: Final = tuple(
    (words, EnterSkipReason(words))
    for words in ("pain", "kit missing", "too hard today", "no time", "no room")
)
_KINDS: Final[dict[str, SwapKind]] = {
    "easier": "easier",
    "harder": "harder",
    "load": "load",
    "swap": "other",
}


def about(action: str) -> Prompt:
    """The question that a key asks, whatever is being done."""
    match action:
        case "stop":
            return Confirm("stop", Do.STOP)
        case "drop_loop":
            return Confirm("drop_loop", Do.DROP_LOOP)
        case "discomfort":
            return AskDiscomfort()
        case "skip":
            return AskChoice("skipped because", REASONS, limit_ms=REASON_MS)
        case _:
            return AskNumber("count")


def typed_load(view: View) -> AskNumber:
    """Ask for a load in figures, in the unit of the planned one."""
    load = view.load or (view.card.load if view.card else None)
    is_mass = load is not None and not load.startswith("band")
    return AskNumber("load", planned=parse_load(load) if load and is_mass else None)


def noted(action: str) -> Command | None:
    """What is written down where nothing can be offered; None: nothing."""
    return EnterVariant(action) if action in ("easier", "harder") else None


def instead(
    house: House, view: View, action: str, tell: Callable[[str], None]
) -> Prompt | None:
    """Ask what to do instead of the present station; None where nothing fits.

    A load can be typed in where none is offered.

    Args:
        house: Its kit, limits and library are looked at.
        view: What is being done.
        action: easier, harder, load or swap.
        tell: Told what is wrong with kit or limits, which then are left out.
    """
    at = standing(view)
    found = () if at is None else _choices(house, at, _KINDS[action], tell)
    if not found:
        return typed_load(view) if action == "load" else None
    offered = tuple((choice.words, choice.swap) for choice in found)
    typed = typed_load(view) if action == "load" else None
    return AskChoice(action, offered, otherwise=noted(action), typed=typed)


def _choices(
    house: House, at: Standing, kind: SwapKind, tell: Callable[[str], None]
) -> tuple[Choice, ...]:
    library, today = house.library(), house.clock.wall().date()
    try:
        means = library_means(house.kit(), house.limits(), today, library)
    except WhistlestopError as error:
        tell(f"{error}")
        means = library_means(on=today, library=library)
    return choices(at, kind, library=library, means=means)
