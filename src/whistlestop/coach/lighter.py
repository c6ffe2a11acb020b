"""Less load at every station: the nearest owned, body weight, or another station.

Owns which loads may come back after time off, and what stands in where nothing owned
is light enough. Refuses to know why less is asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction
from typing import Final

from whistlestop.coach.changes import CircuitChange, least_load
from whistlestop.coach.context import CoachContext
from whistlestop.dataclass import dataclass
from whistlestop.domain.along import goes_along
from whistlestop.domain.circuit.circuit import Station
from whistlestop.domain.demands import (
    SiteLimit,
    Strength,
    added_by,
    allowed,
    is_unstated,
)
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.kit import ladder
from whistlestop.domain.limits import in_force, swaps
from whistlestop.domain.load import Load
from whistlestop.library.cards import Neighbour, cards
from whistlestop.library.first_loads import first_loads

# Where nobody listed the kit, loads are taken down in halves of a kilogram.
_HALF_KG: Final = Decimal("0.5")
_LOADED: Final = frozenset({"optional", "required"})


@dataclass(frozen=True, slots=True)
class StandIn:
    """What to do at a station instead, with its load each as typed, or without."""

    exercise: str
    load: str = ""


def with_less_load(
    change: CircuitChange,
    context: CoachContext,
    most: Fraction,
    *,
    as_new: bool = False,
) -> CircuitChange:
    """Take every load down to a share at most, on top of another change.

    Args:
        change: What changes already.
        context: Circuit, kit and limits are in it.
        most: The largest share of each load that may stay, 0 to 1.
        as_new: Whether no load may be above the first one of somebody new.
    """
    loads, bare, taken = dict(change.loads), list(change.bare), dict(change.swaps)
    in_use = {station.exercise for station in context.circuit.stations}
    for place, station in enumerate(context.circuit.stations, 1):
        load = least_load(context.circuit, place)
        if load is None or load.each_kg is None or place in taken:
            continue
        least = Fraction(load.each_kg) * most
        if as_new:
            least = min(least, _first_each_kg(station.exercise, load.count))
        found = _owned_below(context, station, load, least)
        if found:
            loads[place] = found
            continue
        card = cards().get(station.exercise)
        if card is None or card.load_kind == "optional":
            bare.append(place)
            continue
        instead = stand_in(context, place, {}, in_use | set(taken.values()), bare=True)
        bare.append(place)
        if instead is not None:
            taken[place] = instead.exercise
    return replace(
        change,
        loads=tuple(sorted(loads.items())),
        bare=tuple(sorted(bare)),
        swaps=tuple(sorted(taken.items())),
    )


def _first_each_kg(exercise: str, count: int) -> Fraction:
    """The first load of somebody new, for each of so many; 0 where not yet."""
    first = first_loads().get(exercise)
    if first is None or first.new is None:
        return Fraction(0)
    pieces = 2 if first.each == "two" else 1
    return Fraction(first.new) * pieces / count


def _owned_below(
    context: CoachContext, station: Station, load: Load, most: Fraction
) -> str:
    """The greatest owned load up to so many kilograms each, as typed; "" is none."""
    if context.kit is None:
        each = (Decimal(most.numerator) / most.denominator).quantize(
            _HALF_KG, ROUND_DOWN
        )
        halves = each // _HALF_KG * _HALF_KG
        times = f"{load.count} x " if load.count > 1 else ""
        return f"{times}{halves.normalize():f} kg" if halves > 0 else ""
    rungs = ladder(context.kit, load.count, station.kit or ("weight",))
    below = [rung for rung in rungs if Fraction(rung.each_kg) <= most]
    return str(below[-1].load) if below else ""


def stand_in(
    context: CoachContext,
    place: int,
    sites: Mapping[str, Strength],
    in_use: Iterable[str],
    *,
    bare: bool = False,
) -> StandIn | None:
    """What to do instead of a station: an easier neighbour first, else what is alike.

    Args:
        context: Circuit, kit, limits and library are in it.
        place: The number of the station, from 1.
        sites: Sites that are spared, with how strongly.
        in_use: Exercises that stand in the circuit already.
        bare: Whether it has to go without a load.

    Returns:
        None where nothing that is there may be done.
    """
    station = context.circuit.stations[place - 1]
    card = cards().get(station.exercise)
    taken = {*in_use, *context.waiting()}
    limits = [SiteLimit(site, strength) for site, strength in sites.items()]
    may = {
        key: facts
        for key, facts in context.library.items()
        if key in cards() and key not in taken and _lets_in(context, key, facts, limits)
    }
    for neighbour in card.easier if card else ():
        if neighbour.to in may:
            load = _load_along(context, place, neighbour)
            if load is not None and not (bare and load):
                return StandIn(neighbour.to, load)
    most = card.difficulty if card else 2
    easy = {
        key: facts
        for key, facts in may.items()
        if cards()[key].load_kind in {"none", "optional"}
        and cards()[key].difficulty <= max(2, most)
    }
    own = context.library.get(station.exercise)
    if own is None:
        return next((StandIn(key) for key in easy), None)
    barred = in_force(context.limits, context.today)
    ranked = swaps(station, {**easy, station.exercise: own}, context.kit, barred)
    if ranked:
        return StandIn(ranked[0].exercise)
    return next((StandIn(key) for key in easy), None)


def _lets_in(
    context: CoachContext, key: str, facts: Exercise, limits: Sequence[SiteLimit]
) -> bool:
    """Whether kit, limits and sore sites let an exercise in."""
    barred, extra = in_force(context.limits, context.today), added_by(facts.kit)
    if any(limit.meets(key, facts, extra=extra) for limit in barred):
        return False
    if context.kit is not None and context.kit.missing(facts.kit):
        return False
    if context.kit is None and facts.kit not in {(), ("mat",)}:
        return False
    if limits and is_unstated(facts):
        return False
    return cards()[key].load_kind != "band" and allowed(facts, limits, extra=extra)


def _load_along(context: CoachContext, place: int, to: Neighbour) -> str | None:
    """The load that goes along to a neighbour, as typed; None: it cannot be done."""
    kind = cards()[to.to].load_kind
    if kind not in _LOADED:
        return ""
    load = least_load(context.circuit, place)
    each = load_along(context, load, to) if context.kit is not None else None
    if each is not None:
        return each
    return None if kind == "required" else ""


def load_along(
    context: CoachContext,
    load: Load | None,
    to: Neighbour,
    last_kg: float | None = None,
) -> str | None:
    """The load each that may go along an edge, as typed; None where none is owned.

    Args:
        context: The kit is in it.
        load: What is held here; None without.
        to: The neighbour.
        last_kg: The athlete's own last load there.
    """
    facts = context.library.get(to.to)
    if context.kit is None or facts is None:
        return None
    count = 2 if "two weights" in facts.kit else 1
    rungs = ladder(context.kit, count, facts.kit or ("weight",))
    first = first_loads().get(to.to)
    held = float(load.each_kg) if load is not None and load.each_kg else 0.0
    each = goes_along(
        held,
        to.factor,
        [float(rung.each_kg) for rung in rungs],
        first_kg=first.new if first else None,
        last_kg=last_kg,
    )
    if each is None:
        return None
    return next(str(r.load) for r in rungs if float(r.each_kg) == each)
