"""Which load a station gets in the place of another, of what is owned.

Owns the choice among owned loads on the way from one exercise to another, and how far
an owned load may lie above the one that is asked for. It refuses to know who asks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final

from whistlestop.domain.along import MOST_BEYOND_LAST, goes_along
from whistlestop.domain.circuit.circuit import Station
from whistlestop.domain.kit.kit import Kit, ladder
from whistlestop.domain.kit.means import Means
from whistlestop.domain.load import Load, Unit

# Kit that has a mass of its own, and so a load.
WEIGHED: Final = frozenset(
    {"weight", "two weights", "kettlebell", "bar", "medicine ball", "dead ball",
     "backpack", "plates"}
)  # fmt: skip
BANDS: Final = frozenset({"band", "loop band"})
# Common practice, no source: what bells and dumb-bells weigh, and plates by the pair.
SOLD: Final[Mapping[Unit, tuple[int, ...]]] = {
    "kg": (1, 2, 3, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 24, 28, 32, 36, 40, 48),
    "lb": (2, 3, 5, 8, 10, 12, 15, 18, 20, 25, 30, 35, 40, 44, 50, 53, 62, 70, 80),
}
# Of a station nobody knows a first load of: half. Common practice, no source.
_SHARE_UNKNOWN: Final = 0.5
_SAME_KG: Final = 1e-6


def load_along(
    before: Station, exercise: str, things: Iterable[str], means: Means
) -> Load | None:
    """The load for an exercise in the place of a station, owned and not too much.

    Args:
        before: The station as it is.
        exercise: What is done instead; the station's own is the same with other kit.
        things: The kit it is done with.
        means: What is owned, ways between exercises, first and last loads.

    Returns:
        None where it is done without, or where nothing owned is little enough
        (`lacks_load` tells them apart).
    """
    kit = tuple(things)
    if not BANDS.isdisjoint(kit):
        return _band_along(before, kit, means.kit)
    held = before.load if before.load is not None and not before.load.band else None
    if WEIGHED.isdisjoint(kit):
        if held is None or not _may_hold(before, exercise, means):
            return None
        kit = tuple(WEIGHED.intersection(before.kit)) or ("weight",)
    count = 2 if "two weights" in kit else 1
    if exercise == before.exercise and held is not None:
        return held if held.count == count else _counted(held, count)
    if means.kit is None and held is None:
        return None
    last_kg = means.loads.last_kg.get(exercise)
    # Whoever has held a load there is not new to it.
    first_kg = last_kg or means.loads.first_kg.get(exercise)
    factor = share(before.exercise, exercise, means) if held is not None else None
    by_kg = {
        float(load.each_kg or 0): load for load in _owned(means.kit, count, kit, held)
    }
    owned = sorted(by_kg)
    if means.kit is None and factor is None:
        # The lightest that is sold is nobody's lightest.
        owned = [kg for kg in owned if kg <= (first_kg or 0)][-1:]
    here_kg = float(held.each_kg or 0) if held is not None else 0.0
    found = goes_along(here_kg, factor, owned, first_kg=first_kg, last_kg=last_kg)
    return None if found is None else by_kg[found]


def lacks_load(before: Station, after: Station, means: Means) -> bool:
    """Whether a station that is done with a weight got none: none was little enough.

    Where nobody has listed any kit and there was no load, nobody can say.
    """
    if WEIGHED.isdisjoint(after.kit) or after.load is not None:
        return False
    return means.kit is not None or before.load is not None


def share(here: str, there: str, means: Means) -> float | None:
    """The share of a load that may go along; None where no load can be scaled.

    Without a way between the two, what somebody strong begins with in each says how
    they compare; it is never more than the whole.
    """
    strong = means.loads.strong_kg
    is_known = bool(strong.get(here) and strong.get(there))
    for ways in (means.neighbours.harder, means.neighbours.easier):
        if there in ways.get(here, {}):
            factor = ways[here][there]
            return _SHARE_UNKNOWN if factor is None and not is_known else factor
    if not is_known:
        return _SHARE_UNKNOWN
    return min(1.0, strong[there] / strong[here])


def _may_hold(before: Station, exercise: str, means: Means) -> bool:
    """Whether a load goes along to a station that can do without: to neighbours."""
    is_harder = exercise in means.neighbours.harder.get(before.exercise, {})
    return exercise in means.loadable and is_harder


def _owned(
    kit: Kit | None, count: int, things: tuple[str, ...], like: Load | None
) -> tuple[Load, ...]:
    if kit is not None:
        return tuple(rung.load for rung in ladder(kit, count, things))
    unit = like.unit if like is not None else "kg"
    masses = (Load("", count, Decimal(mass), unit) for mass in SOLD[unit])
    return tuple(replace(load, typed=str(load)) for load in masses)


def _band_along(
    before: Station, things: tuple[str, ...], kit: Kit | None
) -> Load | None:
    if before.load is not None and before.load.band:
        return before.load
    if kit is None:
        return None
    owned = kit.loop_bands if "loop band" in things else kit.bands
    return Load(f"band: {owned[0]}", band=owned[0]) if owned else None


def _counted(load: Load, count: int) -> Load:
    many = replace(load, count=count)
    return replace(many, typed=str(many))


# --- The same station with what is owned ----------------------------------------


def most_kg(wanted: Load, last_kg: float | None = None) -> Decimal | None:
    """The most an owned load may be in the place of a wanted one; None for a band.

    A third more than the athlete's own last load there, or than what is written
    where there was none.
    """
    if wanted.each_kg is None:
        return None
    own = float(wanted.each_kg)
    most = (own if last_kg is None else min(own, last_kg)) * MOST_BEYOND_LAST
    return Decimal(most + _SAME_KG)


def percent_more(wanted: Load, near: Load) -> int:
    """How much heavier an owned load is than a wanted one, in whole per cent."""
    if not wanted.each_kg or near.each_kg is None:
        return 0
    return round(float(near.each_kg / wanted.each_kg - 1) * 100)


def too_heavy(station: Station, means: Means) -> Load | None:
    """The lightest owned load where even that is too much for a station; else None."""
    if station.load is None or means.kit is None:
        return None
    most = most_kg(station.load, means.loads.last_kg.get(station.exercise))
    rungs = ladder(means.kit, station.load.count, station.kit or ("weight",))
    if most is None or not rungs or rungs[0].each_kg <= most:
        return None
    # What is written and owned is no change.
    is_owned = any(rung.each_kg == station.load.each_kg for rung in rungs)
    return None if is_owned else rungs[0].load
