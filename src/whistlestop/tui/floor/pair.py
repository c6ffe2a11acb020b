"""What the Floor shows of two people on one clock, as text: a pure function.

The clock, the sign and the frame are common; each has a board and a tile. The owner
stands above, always. What matters now stands right of the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from whistlestop.domain.plan.plan import AT_STATION, SegmentKind
from whistlestop.domain.text import fold_call_name
from whistlestop.engine.states import Mode
from whistlestop.engine.view import View
from whistlestop.tui.floor.band import (
    TURN_MS,
    Band,
    call_bands,
    call_turn_ms,
    drill_band,
    effort_bands,
    press_band,
    standing_band,
)
from whistlestop.tui.floor.caution import Advice
from whistlestop.tui.floor.model import Around, Board, FloorModel, board_of, floor_model

CLOCK_IS_SHORT_MS: Final = 59_000
"""From here on the clock has two figures, and letters have room beside it."""


@dataclass(frozen=True, slots=True)
class AthleteOnFloor:
    """One of two: the letter of the tile, the name, the board, what comes after it."""

    initial: str
    name: str
    board: Board
    next_name: str
    caution: str


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands right of the clock; `person` is whose it is, None for both."""

    band: Band
    person: int | None = None


@dataclass(frozen=True, slots=True)
class PairModel:
    """The common part, and each of the two.

    `beside` are one or two lines; where there is room for one only, they take turns,
    and `turn` counts them.
    """

    common: FloorModel
    people: tuple[AthleteOnFloor, ...]
    beside: tuple[Beside, ...]
    turn: int


def pair_model(
    views: Sequence[View],
    names: Sequence[str],
    around: Around,
    *,
    answering: int,
    key: str,
) -> PairModel:
    """Put into text what is to be seen of several at one moment.

    Args:
        views: The session as it is for each, the owner first.
        names: What to call them, in the same order.
        around: What is not in a view.
        answering: Whose efforts and notes the keys enter now.
        key: The key that changes who answers.
    """
    common = floor_model(views[0], around)
    other = names[(answering + 1) % len(names)]
    advice = [around.advise(view) for view in views]
    return PairModel(
        common=replace(common, place=_place(views), panes=(), live=None),
        people=tuple(
            _person(view, own, name, initial)
            for view, own, name, initial in zip(
                views, advice, names, initials(names), strict=True
            )
        ),
        beside=_beside(views, advice, around, answering, f"{key}: enter for {other}"),
        turn=_passed_ms(views[0]) // TURN_MS,
    )


def initials(names: Sequence[str]) -> tuple[str, ...]:
    """The first letters, or 1 and 2 where they are alike."""
    letters = [fold_call_name(name)[:1] for name in names]
    if "" in letters or len(set(letters)) < len(letters):
        return tuple(f"{number}" for number in range(1, len(names) + 1))
    return tuple(letters)


def _person(view: View, advice: Advice, name: str, initial: str) -> AthleteOnFloor:
    at_station = view.kind in AT_STATION
    return AthleteOnFloor(
        initial=initial,
        name=fold_call_name(name),
        board=board_of(view),
        next_name=view.coming.card.call_name if at_station and view.coming else "",
        caution=advice.caution,
    )


def _passed_ms(view: View) -> int:
    if view.at_gate:
        return view.waited_ms
    return max(0, view.length_ms - view.left_ms)


def _beside(
    views: Sequence[View],
    advice: Sequence[Advice],
    around: Around,
    answering: int,
    ask: str,
) -> tuple[Beside, ...]:
    """The first that has a claim, in the order of the band; calls and efforts share."""
    first = views[0]
    standing = standing_band(first, pause_key=around.key("pause"))
    if standing is not None:
        return (Beside(standing),)
    if first.kind in AT_STATION or first.mode is Mode.COUNT_IN:
        return ()
    calls = [
        Beside(band, person)
        for person, own in enumerate(advice)
        for band in call_bands(own)
    ]
    claims = _efforts(views, answering, ask)
    if first.at_gate:
        claims = [Beside(press_band(around.key("next"))), *claims]
    turn = _passed_ms(first) // TURN_MS
    if first.kind is SegmentKind.RECOVER:
        if (at := _call_turn(first, len(calls))) < len(calls):
            return (calls[at],)
    else:
        claims += calls
    if claims:
        return (claims[turn % len(claims)],)
    return tuple(
        Beside(drill_band(view.drill_name, own.key_point), person)
        for person, (view, own) in enumerate(zip(views, advice, strict=True))
        if view.drill_name
    )


def _call_turn(view: View, calls: int) -> int:
    """Which call a recovery stands at.

    They are called from its start, and in a long one again as soon as the clock has
    two figures, since a longer one leaves a small screen no room for letters.
    """
    passed = _passed_ms(view)
    late = passed - (view.length_ms - CLOCK_IS_SHORT_MS)
    again = view.length_ms > CLOCK_IS_SHORT_MS and late >= 0
    return (late if again else passed) // call_turn_ms(view, calls)


def _efforts(views: Sequence[View], answering: int, ask: str) -> list[Beside]:
    """The question to the one who answers, and how the other one can."""
    return [
        Beside(replace(band, aside=ask), answering)
        for band in effort_bands(views[answering])
    ]


def _place(views: Sequence[View]) -> tuple[str, str]:
    first = views[0]
    if not first.loop:
        return "", ""
    loop, short = f"loop {first.loop} of {first.loops}", f"{first.loop}/{first.loops}"
    if first.kind is SegmentKind.LOOP_BREAK or first.station is None:
        return loop, short
    numbers = [f"{view.station}" for view in views]
    of = len(first.stations)
    return (
        f"{loop} · stations {' and '.join(numbers)} of {of}",
        f"{short} · {'+'.join(numbers)}/{of}",
    )
