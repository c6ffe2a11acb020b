"""How much a station gives to somebody who trains in circuits: 0 nothing to 3 a lot.

One careful reading by the trade's usual order: whole patterns with room to load or to
make harder first, single joints and fingers last. Common practice, no source.
"""

from __future__ import annotations

from typing import Final

MOST: Final = 3
_USUAL: Final = 2
_MOST: Final = frozenset(
    {
        # Legs.
        "goblet-squat", "front-rack-squat", "bar-back-squat", "chair-goblet-squat",
        "body-weight-squat", "split-squat", "raised-split-squat", "reverse-lunge",
        "forward-lunge", "side-lunge", "step-up", "romanian-deadlift",
        "one-leg-romanian-deadlift", "staggered-deadlift", "kettlebell-deadlift",
        "wide-stance-deadlift", "bar-deadlift", "two-hand-swing", "hip-thrust",
        "one-leg-bridge", "slider-leg-curl",
        # Arms.
        "push-up", "close-push-up", "knee-push-up", "raised-push-up", "floor-press",
        "one-arm-floor-press", "bench-press", "overhead-press", "half-kneeling-press",
        "push-press", "bent-over-row", "one-arm-row", "split-stance-row",
        "two-hand-row", "backpack-row", "towel-row", "inverted-row", "band-row",
        "band-pull-down", "pull-up", "chin-up", "slow-lowering",
        # Trunk.
        "suitcase-march", "two-hand-march", "front-rack-march", "overhead-march",
        "side-plank", "short-side-plank", "dead-bug", "plank-reach", "roll-out",
        "anti-rotation-press", "bear-crawl",
        # Whole.
        "squat-to-press", "get-up",
    }
)  # fmt: skip
_LITTLE: Final = frozenset(
    {
        "good-morning", "wall-hinge", "split-squat-hold", "wall-sit", "clamshell",
        "side-leg-raise", "standing-knee-drive", "standing-march", "curl-up",
        "ball-crunch", "boat-hold", "seated-twist", "elbow-to-knee", "side-bend",
        "windmill", "halo", "chest-pass", "blade-pull", "blade-push-up", "dead-hang",
        "band-pull-apart", "band-outward-turn", "letter-raise", "lateral-raise",
        "biceps-curl", "triceps-extension", "bench-dip", "jumping-jack",
        "ball-circles", "ball-leg-raise", "inner-thigh-plank", "cross-body-climber",
        # Jumps are for whoever wants them.
        "squat-jump", "box-jump", "split-jump", "skater-bound", "pogo-hops",
        "squat-thrust",
    }
)  # fmt: skip
_NONE: Final = frozenset(
    {"wall-toe-raise", "wrist-curl", "plate-pinch", "knee-squeeze"}
)


def worth_of(exercise: str) -> int:
    """The worth of a station, 0 to 3; 2 for one that nobody has judged."""
    for ids, worth in ((_MOST, MOST), (_LITTLE, 1), (_NONE, 0)):
        if exercise in ids:
            return worth
    return _USUAL
