"""The questions of the Floor: what is asked at a key, and what may be chosen.

Loaded at the first question: what is seen first does not wait for the library.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Final

from whistlestop.domain.load import parse_load
from whistlestop.driver.last_loads import readable_last_loads
from whistlestop.driver.swapping import (
    SwapKind,
    SwapOption,
    SwapStation,
    choices,
    standing,
)
from whistlestop.engine.commands import Command, Do, EnterSkipReason, EnterVariant
from whistlestop.engine.view import View
from whistlestop.errors import WhistlestopError
from whistlestop.library.whole import library_means
from whistlestop.tui.discomfort import DiscomfortQuestion, sites_of
from whistlestop.tui.floor.prompts import (
    AskChoice,
    AskDiscomfort,
    AskNumber,
    Confirm,
    Prompt,
)

if TYPE_CHECKING:
    from whistlestop.driver.services import Services

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


def about(action: str, exercises: Iterable[str] = (), drill: str = "") -> Prompt:
    """The question that a key asks, whatever is being done.

    Args:
        action: stop, drop_loop, discomfort, skip or count.
        exercises: What today's stations are: their sites are named first.
        drill: The drill of the recovery that runs, if any: it can be counted too.
    """
    match action:
        case "stop":
            return Confirm("stop", Do.STOP)
        case "drop_loop":
            return Confirm("drop_loop", Do.DROP_LOOP)
        case "discomfort":
            return AskDiscomfort(DiscomfortQuestion(sites_of(exercises)))
        case "skip":
            return AskChoice("skipped because", REASONS, limit_ms=REASON_MS)
        case _:
            return AskNumber("count", drill=drill)


def typed_load(view: View) -> AskNumber:
    """Ask for a load in figures, in the unit of the planned one."""
    load = view.load or (view.card.load if view.card else None)
    is_mass = load is not None and not load.startswith("band")
    return AskNumber("load", planned=parse_load(load) if load and is_mass else None)


def noted(action: str) -> Command | None:
    """What is written down where nothing can be offered; None: nothing."""
    return EnterVariant(action) if action in ("easier", "harder") else None


def instead(
    services: Services,
    view: View,
    action: str,
    tell: Callable[[str], None],
    last_kg: Mapping[str, float] | None = None,
) -> Prompt | None:
    """Ask what to do instead of the present station; None where nothing fits.

    A load can be typed in where none is offered.

    Args:
        services: Its kit, limits and library are looked at.
        view: What is being done.
        action: easier, harder, load or swap.
        tell: Called with what is wrong with the kit, which then is left out.
        last_kg: The athlete's last load by exercise; None looks into the log for it,
            which takes a moment.

    Raises:
        WhistlestopError: The limits cannot be read, so nothing is exchanged.
    """
    at = standing(view)
    found = () if at is None else _choices(services, at, _KINDS[action], tell, last_kg)
    if not found:
        return typed_load(view) if action == "load" else None
    offered = tuple((choice.words, choice.swap) for choice in found)
    typed = typed_load(view) if action == "load" else None
    return AskChoice(action, offered, otherwise=noted(action), typed=typed)


def _choices(
    services: Services,
    at: SwapStation,
    kind: SwapKind,
    tell: Callable[[str], None],
    last_kg: Mapping[str, float] | None,
) -> tuple[SwapOption, ...]:
    library, today = services.library.whole(), services.clock.wall().date()
    # Another load of the same station is no exchange: it waits for no limits.
    is_waiting = kind == "load" and services.kit.limits_problem()
    limits = () if is_waiting else services.kit.limits()
    kit = None
    try:
        kit = services.kit.owned()
    except WhistlestopError as error:
        tell(f"{error}")
    if last_kg is None:
        last_kg = readable_last_loads(services.logbook)
    means = library_means(kit, limits, today, library, last_kg)
    return choices(at, kind, library=library, means=means)
