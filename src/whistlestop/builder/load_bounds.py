"""How much a station of a built circuit may be loaded where nobody knows a last load.

Owns what somebody regular and somebody strong starts a circuit with, and how far a
first load may lie above it. Somebody new starts with `library.first_loads`. Refuses to
know what is owned.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from whistlestop.domain.exercise import Exercise
from whistlestop.library.first_loads import Level, first_loads

# Kilograms each for somebody of 70 kg: regular, strong. Common practice, no source.
STARTS_KG: Final[Mapping[str, tuple[float, float]]] = {
    "goblet-squat": (16, 24),
    "chair-goblet-squat": (12, 16),
    "front-rack-squat": (10, 16),
    "bar-back-squat": (40, 60),
    "split-squat": (12, 18),
    "reverse-lunge": (12, 18),
    "step-up": (12, 18),
    "raised-split-squat": (10, 16),
    "forward-lunge": (10, 16),
    "side-lunge": (10, 16),
    "walking-lunge": (8, 12),
    "deep-side-squat": (8, 12),
    "slow-step-down": (8, 12),
    "side-step-up": (8, 14),
    "one-leg-box-squat": (6, 10),
    "romanian-deadlift": (12, 20),
    "one-leg-romanian-deadlift": (12, 18),
    "staggered-deadlift": (10, 16),
    "kettlebell-deadlift": (24, 32),
    "wide-stance-deadlift": (24, 32),
    "bar-deadlift": (50, 80),
    "two-hand-swing": (16, 24),
    "one-hand-swing": (12, 20),
    "clean": (12, 20),
    "kettlebell-snatch": (12, 16),
    "glute-bridge": (20, 28),
    "hip-thrust": (24, 32),
    "calf-raise": (16, 24),
    "bent-knee-calf-raise": (16, 24),
    "one-leg-calf-raise": (8, 16),
    "suitcase-march": (16, 24),
    "two-hand-march": (16, 24),
    "front-rack-march": (10, 16),
    "overhead-march": (10, 16),
    "floor-press": (10, 16),
    "one-arm-floor-press": (10, 16),
    "bench-press": (40, 60),
    "push-press": (10, 14),
    "half-kneeling-press": (10, 14),
    "overhead-press": (8, 12),
    "ball-press": (8, 12),
    "plank-row": (8, 12),
    "squat-to-press": (8, 12),
    "one-arm-row": (14, 20),
    "two-hand-row": (12, 18),
    "get-up": (8, 16),
}  # fmt: skip
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
    own = first.at(level)
    if level == "new" or exercise not in STARTS_KG:
        return own
    return STARTS_KG[exercise][level == "strong"]


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
