"""How much of a load may go along to another station.

Owns the arithmetic of the load factor on the way to an easier or a harder station.
It refuses to know stations, and where loads come from: owned ones are handed in.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

# Nothing but the coach, where time earned it, goes further beyond the last load.
MOST_BEYOND_LAST: Final = 4 / 3
# Below this two loads are one: kilograms come through division and pounds.
_SAME_KG: Final = 1e-6


def goes_along(
    load_kg: float,
    factor: float | None,
    owned_kg: Iterable[float],
    *,
    first_kg: float | None = None,
    last_kg: float | None = None,
) -> float | None:
    """The load each at the neighbour, the greatest owned that is not too much.

    Args:
        load_kg: The load each here; 0 without one.
        factor: The share that may go along; None where no load can be scaled.
        owned_kg: Loads that can be put together of what is owned, in any order.
        first_kg: The first load there for somebody new to it; None is not yet.
        last_kg: The athlete's own last load there; None where there was none.

    Returns:
        Kilograms each. None where nothing owned is little enough: then the station
        is done without a load, if it can be, or the athlete is asked.

    Where no load can be scaled, or none is held here, the lightest owned stands if it
    is no more than the first load.

    >>> goes_along(24, 0.4, [8, 12, 16, 24])
    8
    >>> goes_along(16, 0.5, [12, 16]) is None
    True
    >>> goes_along(0, None, [8, 12], first_kg=10)
    8
    >>> goes_along(24, 1.0, [8, 12, 16, 24], last_kg=10)
    12
    """
    loads = sorted(load for load in owned_kg if load > 0)
    if factor is None or load_kg <= 0:
        most = first_kg or 0.0
        loads = loads[:1]
    else:
        most = load_kg * factor
    if last_kg is not None:
        most = min(most, last_kg * MOST_BEYOND_LAST)
    fitting = [load for load in loads if load <= most + _SAME_KG]
    return fitting[-1] if fitting else None
