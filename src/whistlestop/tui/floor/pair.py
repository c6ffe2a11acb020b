"""What the Floor shows of two people on one clock, in words: a pure function.

The clock, the word and the frame are common; name, station, side, load, what comes
next and the effort are each one's own. The owner stands above and left, always.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from whistlestop.domain.plan.plan import AT_STATION, SegmentKind
from whistlestop.domain.text import fold_call_name
from whistlestop.engine.view import View
from whistlestop.tui.floor.model import (
    Around,
    EffortCard,
    FloorModel,
    floor_model,
    next_facts,
)

_ITEMS: Final = frozenset({SegmentKind.WARM_UP, SegmentKind.COOL_DOWN})


@dataclass(frozen=True, slots=True)
class AthleteOnFloor:
    """One of two, as the Floor shows them.

    `letters` is the station now, in a rest the one that comes; `side` the live one.
    Both are folded for block letters, and so is `name`.
    """

    name: str
    letters: str
    facts: str
    side: str
    next_name: str
    next_facts: str
    effort: EffortCard | None
    answers: bool


@dataclass(frozen=True, slots=True)
class PairModel:
    """The common part, and each of the two; `ask` says how to change who answers."""

    common: FloorModel
    people: tuple[AthleteOnFloor, ...]
    ask: str


def pair_model(
    views: Sequence[View],
    names: Sequence[str],
    around: Around,
    *,
    cautions: Sequence[str] = (),
    answering: int,
    key: str,
) -> PairModel:
    """Say in words what is to be seen of several at one moment.

    Args:
        views: The session as it is for each, the owner first.
        names: What to call them, in the same order.
        around: What is not in a view; its own caution is not shown.
        cautions: What each has to mind, "" for nothing, in the same order.
        answering: Whose efforts and notes the keys enter now.
        key: The key that changes who answers.
    """
    caution = _caution(views[0], names, cautions)
    around = replace(around, caution=caution)
    common = floor_model(views[0], around)
    models = [floor_model(view, around) for view in views]
    other = names[(answering + 1) % len(names)]
    return PairModel(
        common=replace(common, place=_place(views), sides=(), live=None),
        people=tuple(
            _person(view, model, name, answers=index == answering)
            for index, (view, model, name) in enumerate(
                zip(views, models, names, strict=True)
            )
        ),
        ask=f"{key}: enter for {other}",
    )


def _caution(view: View, names: Sequence[str], cautions: Sequence[str]) -> str:
    """One at a time, whole: in the first half of a segment one's, then the other's."""
    said = [
        f"{name}: {text}" for name, text in zip(names, cautions, strict=False) if text
    ]
    if len(said) < 2:
        return "".join(said)
    return said[0] if 2 * view.left_ms > view.length_ms else said[-1]


def _person(
    view: View, model: FloorModel, name: str, *, answers: bool
) -> AthleteOnFloor:
    at_station = view.kind in AT_STATION or view.kind is SegmentKind.HOLD
    shown = view.card if at_station else view.coming.card if view.coming else None
    side = model.sides[model.live] if model.live is not None else ""
    return AthleteOnFloor(
        name=fold_call_name(name),
        letters=shown.call_name if shown and view.kind not in _ITEMS else "",
        facts=_facts(view, side),
        side=side,
        next_name=view.coming.card.call_name if view.coming else "",
        next_facts=next_facts(view),
        effort=model.effort,
        answers=answers,
    )


def _facts(view: View, side: str) -> str:
    """The near view's line: station, side and load; in a rest the drill, then what."""
    if view.kind in _ITEMS:
        return view.item_name or ""
    if view.card is not None and (
        view.kind in AT_STATION or view.kind is SegmentKind.HOLD
    ):
        parts = [fold_call_name(part) for part in view.parts]
        order = " > ".join(f"[{one}]" if one == side else one for one in parts)
        words = [f"{view.card.number} {view.card.name}", order, view.load or ""]
        return " · ".join(filter(None, words))
    if view.coming is None:
        return view.drill_name or ""
    # The letters below name the station; in full it stands at the foot.
    side = f"{view.coming.part} first" if view.coming.part else ""
    ahead = ", ".join(filter(None, [side, view.coming.load or ""]))
    words = [view.drill_name or "", f"next: {ahead}" if ahead else "next"]
    return " · ".join(filter(None, words))


def _place(views: Sequence[View]) -> str:
    first = views[0]
    loop = f"loop {first.loop} of {first.loops}" if first.loop else ""
    if first.kind is SegmentKind.LOOP_BREAK or first.station is None:
        return loop
    numbers = " and ".join(f"{view.station}" for view in views)
    stations = f"stations {numbers} of {len(first.stations)}"
    return f"{loop} · {stations}" if loop else stations
