"""How much a station of a built circuit may be loaded where nobody knows a last load.

Owns how far a first load may lie above what somebody of a level starts with, which
`library.first_loads` states. Refuses to know what is owned.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from whistlestop.domain.exercise import Exercise
from whistlestop.library.first_loads import Level, first_loads

_LOWER: Final[Mapping[Level, Level]] = {
    "strong": "regular", "regular": "new", "new": "new"
}  # fmt: skip
_BIG: Final = frozenset({"squat", "hinge", "bridge", "ankle", "carry"})
# A march with one weight at the side is a carry too, though it is filed with holds.
_CARRIES: Final = frozenset({"suitcase-march"})
_OVERHEAD: Final = frozenset({"overhead-march"})
_BIG_SHARE: Final = 4 / 3
_SMALL_SHARE: Final = 1.15
_SOLID: Final = frozenset({"one", "two", "bar"})


def lower(level: Level) -> Level:
    """The level below, for somebody with a sore site; new stays new."""
    return _LOWER[level]


def start_kg(exercise: str, level: Level) -> float | None:
    """What somebody of a level starts with, in kg each; None where it is not yet time.

    0 is without a load.
    """
    first = first_loads().get(exercise)
    if first is None or first.each not in _SOLID:
        return None
    return first.at(level)


def most_kg(exercise: Exercise, level: Level) -> float | None:
    """The most that a first load may be, in kg each; None where it is not yet time.

    For somebody new not above the first load; else a third above it for squats,
    hinges, bridges, calves and carries on two legs, and 15 % for the rest.
    """
    start = start_kg(exercise.id, level)
    if start is None or level == "new":
        return start
    is_carry = exercise.id in _CARRIES
    on_two = exercise.sides == "both" and exercise.pattern in _BIG
    is_big = (is_carry or on_two) and exercise.id not in _OVERHEAD
    return start * (_BIG_SHARE if is_big else _SMALL_SHARE)
