"""What a station could be done as instead, now: neighbours, other loads, the like.

Nothing here moves the clock: only stations with the same parts are offered, and no
owned load is heavier by more than a step; each other load is stated.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, Literal

from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.kit.kit import resolve_load
from whistlestop.domain.kit.load_along import SOLD, lacks_load, most_kg
from whistlestop.domain.kit.means import Means
from whistlestop.domain.kit.owned_loads import rungs_at
from whistlestop.domain.kit.substitutions import Exchange, exchanged
from whistlestop.domain.limits import swaps
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan.plan import AT_STATION, StationCard
from whistlestop.engine.commands import SwapExercise
from whistlestop.engine.view import View
from whistlestop.library.cards import StationCardText
from whistlestop.library.whole import Library

SwapKind = Literal["easier", "harder", "load", "other"]
# What the frame of the smallest screen shows whole.
MOST: Final = 6
_BAR_STEPS: Final = {"kg": ("2.5", "5", "10"), "lb": ("5", "10", "20")}


@dataclass(frozen=True, slots=True)
class SwapOption:
    """One thing that may be done instead: what it is called, and the swap."""

    words: str
    swap: SwapExercise


@dataclass(frozen=True, slots=True)
class SwapStation:
    """The station that a swap is about: the present one, in a rest the coming one."""

    card: StationCard
    load: str | None


def standing(view: View) -> SwapStation | None:
    """The station that would be swapped at this moment; None if there is none."""
    if view.card is not None and (view.kind in AT_STATION or view.at_gate):
        return SwapStation(view.card, view.load)
    if view.coming is not None:
        return SwapStation(view.coming.card, view.coming.load)
    return None


def choices(
    at: SwapStation, kind: SwapKind, *, library: Library, means: Means
) -> tuple[SwapOption, ...]:
    """List what may be done instead, best first, six at most.

    Args:
        at: The station.
        kind: An easier or harder neighbour, another load, or the same with other
            kit and other stations of the same pattern.
        library: The stations there are, the athlete's own among them.
        means: What is owned and what is to be left alone, over that library.
    """
    if kind == "load":
        return _loads(at, means)
    if at.card.exercise not in library.stations:
        return ()
    if kind == "other":
        found = _elsewhere(at, library, means)
    else:
        found = tuple(_neighbours(at, kind, library, means))
    return found[:MOST]


def _loads(at: SwapStation, means: Means) -> tuple[SwapOption, ...]:
    """The owned loads nearest to the planned one, lightest first; else usual ones."""
    if at.load is None:
        return ()
    planned = parse_load(at.load)
    if means.kit is None:
        owned = _usual_loads(planned, at.card.kit)
    else:
        owned = rungs_at(_station(at), means.kit)
    others = [load for load in owned if not _is_same(load, planned)]
    if planned.each_kg is not None:
        wanted = planned.each_kg
        others.sort(key=lambda load: abs((load.each_kg or wanted) - wanted))
    if means.is_asked(at.card.exercise, at.card.kit) and planned.each_kg is not None:
        others = [load for load in others if (load.each_kg or 0) <= planned.each_kg]
    near = others[:MOST]
    near.sort(key=lambda load: load.each_kg or 0)
    return tuple(SwapOption(str(load), _as_now(at, str(load))) for load in near)


def _usual_loads(planned: Load, kit: tuple[str, ...]) -> tuple[Load, ...]:
    """Masses as they are sold, where nobody has listed any kit; a bar by its plates."""
    if planned.mass is None:
        return ()
    if "bar" in kit:
        steps = (Decimal(step) for step in _BAR_STEPS[planned.unit])
        masses = [planned.mass + sign * step for step in steps for sign in (-1, 1)]
    else:
        masses = [Decimal(mass) for mass in SOLD[planned.unit]]
    loads = (replace(planned, mass=mass) for mass in masses if mass > 0)
    return tuple(replace(load, typed=str(load)) for load in loads)


def _is_same(load: Load, planned: Load) -> bool:
    return (load.total_kg, load.band) == (planned.total_kg, planned.band)


def _as_now(at: SwapStation, load: str) -> SwapExercise:
    card = at.card
    return SwapExercise(
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
    at: SwapStation, kind: SwapKind, library: Library, means: Means
) -> Iterator[SwapOption]:
    for to, by in _beside(library, at.card.exercise, kind):
        exercise = library.stations[to]
        kit = means.met(to) or ()
        barred = means.barred(to, kit) or (
            kind == "harder"
            and (means.is_asked(at.card.exercise) or means.is_asked(to, kit))
        )
        if not barred and _keeps_time(at, to, means):
            keeps = _keeps_load(library.cards[to], kind)
            swap = _to(at, to, kind, means, keeps_load=keeps)
            if swap is not None:
                yield SwapOption(_wording(f"{exercise.name}: {by}", at, swap), swap)


def _beside(library: Library, here: str, kind: SwapKind) -> Iterator[tuple[str, str]]:
    """Neighbours by either card: an own station may name one that ships."""
    card = library.cards[here]
    details = card.easier if kind == "easier" else card.harder
    yield from ((one.to, one.by) for one in details)
    named = {one.to for one in details}
    for key in library.own:
        other = library.cards.get(key)
        back = () if other is None else (
            other.harder if kind == "easier" else other.easier
        )  # fmt: skip
        if key not in named and any(one.to == here for one in back):
            yield key, f"{kind}, your own"


def _keeps_load(text: StationCardText, kind: SwapKind) -> bool:
    """Whether the load goes along: an easier form that can do without is without."""
    kinds = {"required", "band"} if kind == "easier" else {"optional", "required"}
    return text.load_kind in kinds


def _other_kit(at: SwapStation, means: Means) -> Iterator[SwapOption]:
    """The station itself with another alternative of its kit that is owned."""
    own = frozenset(at.card.kit)
    for way in means.needs.get(at.card.exercise, ()):
        is_left = means.missing(way) or means.barred(at.card.exercise, way)
        if frozenset(way) == own or is_left:
            continue
        text = f"with {' and '.join(way)}" if way else "without kit"
        swap = _to(at, at.card.exercise, "other", means, kit=tuple(way))
        if swap is not None:
            yield SwapOption(_wording(text, at, swap), swap)


def _elsewhere(
    at: SwapStation, library: Library, means: Means
) -> tuple[SwapOption, ...]:
    """The same with other kit, then others of the kind; at least half are others.

    Where nobody has listed any kit, others come first: then kit is a guess.
    """
    same, others = tuple(_other_kit(at, means)), tuple(_others(at, library, means))
    same = same[: max(MOST // 2, MOST - len(others))]
    if means.kit is None:
        return (*others[: MOST - len(same)], *same)
    return (*same, *others)


def _others(at: SwapStation, library: Library, means: Means) -> Iterator[SwapOption]:
    """Stations of the same pattern, of its family, of the region; done as owned.

    Of the same pattern the athlete's own come first: somebody wrote them down.
    """
    pattern = library.stations[at.card.exercise].pattern

    def is_other(exercise: str) -> bool:
        is_own = exercise in library.own
        return not (is_own and library.stations[exercise].pattern == pattern)

    found = swaps(_station(at), means.exercises, None, means.in_force)
    for one in sorted(found, key=lambda one: is_other(one.exercise)):
        kit = means.met(one.exercise) or ()
        barred = means.barred(one.exercise, kit) or means.goes_up(
            at.card.exercise, one.exercise, kit
        )
        if not barred and _keeps_time(at, one.exercise, means):
            swap = _to(at, one.exercise, "other", means)
            if swap is not None:
                yield SwapOption(_wording(one.name, at, swap), swap)


def _keeps_time(at: SwapStation, exercise: str, means: Means) -> bool:
    """Whether the clock stays as it is, and the kit is there."""
    same_parts = len(means.exercises[exercise].parts) == len(at.card.parts)
    return same_parts and means.met(exercise) is not None


def station_of(card: StationCard, load: str | None) -> Station:
    """The station that a card shows, with the load that is held there."""
    return Station(
        card.exercise,
        card.name,
        card.call_name,
        parse_load(load) if load else None,
        parts=card.parts,
        kit=card.kit,
        cautions=card.cautions,
    )


def _station(at: SwapStation) -> Station:
    return station_of(at.card, at.load)


def _to(
    at: SwapStation,
    exercise: str,
    why: str,
    means: Means,
    *,
    kit: tuple[str, ...] | None = None,
    keeps_load: bool = True,
) -> SwapExercise | None:
    """The swap, with a load that is owned; None where only too much of one is."""
    way = (means.met(exercise) or ()) if kit is None else kit
    name = means.exercises[exercise].name
    before = _station(at)
    alone = Circuit("now", "now", (before,))
    made = exchanged(alone, [Exchange(1, exercise, name, way, ())], means).stations[0]
    is_same = exercise == before.exercise
    load = made.load if keeps_load else None
    if keeps_load and lacks_load(before, made, means):
        return None
    if load is not None and means.kit is not None and is_same:
        most = most_kg(load, means.loads.last_kg.get(exercise))
        resolved = resolve_load(load, means.kit, way or ("weight",), most)
        if resolved.asks and resolved.steps >= 0:
            return None
        load = resolved.nearest
    return SwapExercise(
        at.card.number,
        exercise,
        made.name,
        made.call_name,
        load=str(load) if load else None,
        tempo=at.card.tempo if is_same else (str(made.tempo) if made.tempo else None),
        cautions=at.card.cautions if is_same else made.cautions,
        kit=way,
        why=why,
    )


def _wording(words: str, at: SwapStation, swap: SwapExercise) -> str:
    """Say the load as well wherever it is another one."""
    before = str(parse_load(at.load)) if at.load else None
    if swap.load == before:
        return words
    return f"{words}, {swap.load or 'no load'}"
