"""What a station could be done as instead, now: neighbours, other loads, the like.

Nothing here moves the clock: only stations with the same parts are offered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from whistlestop.domain.circuit import Station
from whistlestop.domain.kit import Kit, ladder
from whistlestop.domain.limits import Limit, swaps
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan import AT_STATION, StationCard
from whistlestop.engine.commands import Swap
from whistlestop.engine.view import View
from whistlestop.library import Exercise, exercises
from whistlestop.library.cards import cards

SwapKind = Literal["easier", "harder", "load", "other"]
MOST: Final = 9


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that may be done instead: what it is called, and the swap."""

    words: str
    swap: Swap


@dataclass(frozen=True, slots=True)
class Standing:
    """The station that a swap is about: the present one, in a rest the coming one."""

    card: StationCard
    load: str | None


def standing(view: View) -> Standing | None:
    """The station that would be swapped at this moment; None if there is none."""
    if view.card is not None and (view.kind in AT_STATION or view.at_gate):
        return Standing(view.card, view.load)
    if view.coming is not None:
        return Standing(view.coming.card, view.coming.load)
    return None


def choices(
    at: Standing, kind: SwapKind, *, kit: Kit | None, limits: Sequence[Limit] = ()
) -> tuple[Choice, ...]:
    """List what may be done instead, best first, nine at most.

    Args:
        at: The station.
        kind: An easier or harder neighbour, another load, or another station of
            the same pattern.
        kit: What is owned; None where nobody has said.
        limits: The limits in force.
    """
    if kind == "load":
        return _loads(at, kit)
    if at.card.exercise not in exercises():
        return ()
    if kind == "other":
        return tuple(_others(at, kit, limits))[:MOST]
    return tuple(_neighbours(at, kind, kit, limits))[:MOST]


def _loads(at: Standing, kit: Kit | None) -> tuple[Choice, ...]:
    """The loads owned around the planned one, nearest to it first in the middle."""
    if kit is None or at.load is None or at.load.startswith("band"):
        return ()
    planned = parse_load(at.load)
    rungs = ladder(kit, planned.count, at.card.kit or ("weight",))
    wanted = planned.each_kg or 0
    near = sorted(rungs, key=lambda rung: abs(rung.each_kg - wanted))[:MOST]
    ordered = sorted(near, key=lambda rung: rung.each_kg)
    found = []
    for rung in ordered:
        times = f"{planned.count} x " if planned.count > 1 else ""
        load = f"{times}{rung.load}"
        if rung.each_kg != wanted:
            found.append(Choice(load, _as_now(at, load)))
    return tuple(found)


def _as_now(at: Standing, load: str) -> Swap:
    card = at.card
    return Swap(
        card.number,
        card.exercise,
        card.name,
        card.call_name,
        load=load,
        tempo=card.tempo,
        cautions=card.cautions,
        kit=card.kit,
        why="load",
    )


def _neighbours(
    at: Standing, kind: SwapKind, kit: Kit | None, limits: Sequence[Limit]
) -> Iterable[Choice]:
    text = cards()[at.card.exercise]
    for neighbour in text.easier if kind == "easier" else text.harder:
        exercise = exercises()[neighbour.to]
        barred = any(limit.meets(exercise.id, exercise) for limit in limits)
        if _fits(at, exercise, kit) and not barred:
            yield Choice(f"{exercise.name}: {neighbour.by}", _to(at, exercise, kind))


def _others(at: Standing, kit: Kit | None, limits: Sequence[Limit]) -> Iterable[Choice]:
    card = at.card
    station = Station(card.exercise, card.name, card.call_name, kit=card.kit)
    for swap in swaps(station, exercises(), kit, limits):
        exercise = exercises()[swap.exercise]
        if _fits(at, exercise, kit):
            yield Choice(exercise.name, _to(at, exercise, "other"))


def _fits(at: Standing, exercise: Exercise, kit: Kit | None) -> bool:
    """Whether the clock stays as it is, and the kit is there."""
    same_parts = len(exercise.parts) == len(at.card.parts)
    return same_parts and (kit is None or not kit.missing(exercise.kit))


def _to(at: Standing, exercise: Exercise, why: str) -> Swap:
    text = cards()[exercise.id]
    kinds = {"required"} if why == "easier" else {"optional", "required"}
    keeps_load = text.load_kind in kinds and at.load is not None
    is_mass = at.load is not None and not at.load.startswith("band")
    return Swap(
        at.card.number,
        exercise.id,
        exercise.name,
        exercise.call_name,
        load=at.load if keeps_load and is_mass else None,
        tempo=exercise.tempo,
        cautions=exercise.cautions,
        kit=exercise.kit,
        why=why,
    )
