"""Which owned load a station gets, how much it brings, and why.

Owns the load of a station before anything is searched, and that of a finished circuit,
where one setting may have to do for all. Refuses to know orders and lengths.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Final

from whistlestop.builder.load_bounds import lower, most_kg, start_kg
from whistlestop.builder.request import Request
from whistlestop.builder.ways import is_open, owned_ways
from whistlestop.domain.along import MOST_BEYOND_LAST
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.demands import WEIGHT_ADDS
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.floor_list import PLATES_MS
from whistlestop.domain.kit.kit import Kit, Rung, ladder
from whistlestop.domain.kit.load_along import BANDS, WEIGHED
from whistlestop.library import exercises
from whistlestop.library.cards import card
from whistlestop.library.first_loads import Level, first_loads
from whistlestop.library.levels import station_levels

_SAME_KG: Final = 1e-6
# With a weight they are other stations: a goblet squat, with a chair or without.
_LOADED_ELSEWHERE: Final = frozenset({"body-weight-squat", "chair-stand"})
_MADE_UP: Final = ", each end "
# From here on the scale a station is hard without a load too.
_PRACTISED: Final = 6


@dataclass(frozen=True, slots=True)
class LoadBound:
    """How much a station may get, in kg each: `most`, and near to what.

    `last` is the last load there, None where there was none. `level` is whose start
    holds where there was none, 0 kg for a station that starts bare.
    """

    most: float
    start: float
    level: Level
    last: float | None = None


@dataclass(frozen=True, slots=True)
class StationLoad:
    """What one station gets: its kit then, the rung of the ladder, and why.

    `share` is how much of a load's gain it brings, in hundredths; `harder` how far it
    is above the station's base difficulty with that load, below 0 for easier.
    """

    kit: tuple[str, ...]
    rung: Rung | None
    reason: str = ""
    share: int = 0
    harder: int = 0

    @property
    def thing(self) -> str:
        """The one object whose setting makes the load; nothing for fixed ones."""
        if self.rung is None:
            return ""
        source, made_up, _ = self.rung.source.partition(_MADE_UP)
        if made_up or source.startswith("adjustable "):
            return source
        return "backpack" if source.startswith("backpack") else ""


def with_loads(circuit: Circuit, request: Request) -> tuple[Circuit, tuple[str, ...]]:
    """Load the stations of a circuit, and give the reason for each; empty for none.

    Where no kit is listed, or two share it, all stay as they are: nobody knows what is
    there, and what is in one pair of hands is not in the other.
    """
    kit = request.kit
    if kit is None or request.athletes > 1:
        return circuit, ("",) * len(circuit.stations)
    known = exercises()
    found = [
        load_of(known[station.exercise], station.kit, request)
        for station in circuit.stations
    ]
    if circuit.recover_ms < PLATES_MS[1]:
        found = [*_one_setting(found)]
    stations = tuple(
        replace(station, kit=one.kit, load=one.rung.load if one.rung else None)
        for station, one in zip(circuit.stations, found, strict=True)
    )
    return replace(circuit, stations=stations), tuple(one.reason for one in found)


def load_of(exercise: Exercise, kit: tuple[str, ...], request: Request) -> StationLoad:
    """The load of one station, by the first way of doing it that has one.

    Args:
        exercise: The station.
        kit: The way of doing it that comes first.
        request: What is owned, for whom, and what was lifted last.
    """
    owned = request.kit
    if owned is None or request.athletes > 1:
        # What is held is left to whoever takes it: half of what a right load brings.
        held = not WEIGHED.isdisjoint(kit)
        return StationLoad(kit, None, share=_FAIR if held else 0)
    band = _FAIR if not BANDS.isdisjoint(kit) else 0
    bare = StationLoad(kit, None, share=band, harder=_bare_harder(exercise, kit))
    bound = load_bound(exercise, request)
    if bound is None or (exercise.id in _LOADED_ELSEWHERE and bound.last is None):
        return bare
    lightest: Rung | None = None
    for way, carried in _ways(exercise, kit, request):
        rungs = _ladder(owned, carried)
        as_bar = _bar_share(exercise, carried)
        most = bound.most * as_bar
        fitting = [rung for rung in rungs if float(rung.each_kg) <= most + _SAME_KG]
        if fitting:
            rung = _nearest(fitting, bound)
            each = float(rung.each_kg) / as_bar
            return StationLoad(
                way,
                rung,
                _reason(rung, bound, most),
                _share(each, bound),
                _harder(exercise, each),
            )
        if rungs and (lightest is None or rungs[0].each_kg < lightest.each_kg):
            lightest = rungs[0]
    if lightest is None or not bound.most:
        return bare
    return replace(bare, reason=_too_heavy(lightest, bound))


def is_too_heavy(exercise: Exercise, kit: tuple[str, ...], request: Request) -> bool:
    """Say whether a station needs a load, and all that is owned for it is too much."""
    owned = request.kit
    if owned is None or request.athletes > 1 or exercise.id not in first_loads():
        return False
    text = card(exercise.id)
    if text.load_kind != "required" or WEIGHED.isdisjoint(kit):
        return False
    return bool(_ladder(owned, kit)) and load_of(exercise, kit, request).rung is None


@lru_cache(maxsize=256)
def _ladder(kit: Kit, carried: tuple[str, ...]) -> tuple[Rung, ...]:
    return ladder(kit, 2 if "two weights" in carried else 1, carried)


# From three quarters of the first load on, it trains; below half it hardly does.
_FULL: Final = 100
_FAIR: Final = 50
_SLIGHT: Final = 15


def _share(each_kg: float, bound: LoadBound) -> int:
    first = bound.start if bound.last is None else bound.last
    if each_kg >= 0.75 * first - _SAME_KG:
        return _FULL
    return _FAIR if each_kg >= 0.5 * first - _SAME_KG else _SLIGHT


# Twice the logarithm to base 2 of load ÷ first load, in halves: a doubling is two
# points on the scale.
_STEPS: Final = tuple((2 ** ((step - 0.5) / 2), step) for step in range(-3, 5))


def _harder(exercise: Exercise, each_kg: float) -> int:
    """How much harder a load makes a station than the one somebody regular has."""
    first = start_kg(exercise.id, "regular")
    if not first:
        return 1
    return max((step for least, step in _STEPS if each_kg / first >= least), default=-4)


def _bare_harder(exercise: Exercise, kit: tuple[str, ...]) -> int:
    """What a station that is meant to be loaded loses without a load."""
    loadable = card(exercise.id).load_kind == "optional"
    if not loadable or not WEIGHED.isdisjoint(kit):
        return 0
    if not start_kg(exercise.id, "regular"):
        return 0
    return -1 if station_levels()[exercise.id].base >= _PRACTISED else -2


def load_bound(exercise: Exercise, request: Request) -> LoadBound | None:
    """How much a station may get for a request; None where it gets nothing."""
    if exercise.id not in first_loads():
        return None
    extra = WEIGHT_ADDS
    is_sore = any(
        limit.is_asked(exercise.id, exercise, extra=extra) for limit in request.limits
    )
    level = lower(request.level) if is_sore else request.level
    start = start_kg(exercise.id, level)
    last = dict(request.last_kg).get(exercise.id)
    if last is not None:
        most = last if is_sore else last * MOST_BEYOND_LAST
        return LoadBound(most, start or 0.0, level, last)
    most_first = most_kg(exercise, level)
    if most_first is None or start is None:
        return None
    return LoadBound(most_first, start, level)


def _ways(
    exercise: Exercise, kit: tuple[str, ...], request: Request
) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Every way to hold a load there: the kit of the station, and what carries it.

    The way that was chosen comes first. Where none names a weight, one weight is held
    on top of what the station needs anyway.
    """
    text = card(exercise.id)
    ways = [kit, *(way for way in owned_ways(request, text) if way != kit)]
    if text.load_kind == "optional":
        held: list[tuple[tuple[str, ...], tuple[str, ...]]] = [(kit, ("weight",))]
    else:
        held = [(way, way) for way in ways if not WEIGHED.isdisjoint(way)]
    yield from (one for one in held if is_open(request, exercise, one[1]))


def _bar_share(exercise: Exercise, carried: Sequence[str]) -> float:
    """A bar weighs as much as two weights where the first load counts each of two."""
    is_pair = first_loads()[exercise.id].each == "two"
    return 2.0 if "bar" in carried and is_pair else 1.0


def _nearest(fitting: Sequence[Rung], bound: LoadBound) -> Rung:
    if bound.last is None:
        return fitting[-1]
    last = Decimal(str(bound.last))
    return min(fitting, key=lambda rung: (abs(rung.each_kg - last), rung.each_kg))


def _one_setting(found: Sequence[StationLoad]) -> Iterator[StationLoad]:
    """One load, the lowest, for all stations that share what has to be set.

    A recovery is too short for another setting.
    """
    lowest: dict[str, Rung] = {}
    for one in found:
        if one.rung is not None and one.thing:
            held = lowest.get(one.thing, one.rung)
            lowest[one.thing] = min(held, one.rung, key=lambda rung: rung.each_kg)
    for one in found:
        rung = lowest.get(one.thing)
        if one.rung is None or rung is None or rung.each_kg == one.rung.each_kg:
            yield one
            continue
        load = replace(rung.load, count=one.rung.load.count)
        same = replace(rung, load=replace(load, typed=str(load)))
        text = f"{same.load}: one setting for the whole circuit"
        yield replace(one, rung=same, reason=text)


# --- Why that load ---------------------------------------------------------------


def _reason(rung: Rung, bound: LoadBound, most: float) -> str:
    if bound.last is not None:
        last = f"{bound.last:.3g} kg"
        if abs(float(rung.each_kg) - bound.last) < _SAME_KG:
            return f"{rung.load}: as last time"
        return f"{rung.load}: the nearest you own to {last} last time"
    return f"{rung.load}: somebody {bound.level} may start with up to {most:.3g} kg"


def _too_heavy(lightest: Rung, bound: LoadBound) -> str:
    """Why there is none though something is owned."""
    whose = (
        f"a third above your last {bound.last:.3g} kg"
        if bound.last is not None
        else f"what somebody {bound.level} may start with"
    )
    return (
        f"no load: the lightest you own for it, {lightest.load}, is more than "
        f"{bound.most:.3g} kg, {whose}"
    )
