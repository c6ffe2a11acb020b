"""A warm-up for a circuit that has none, built from the patterns of its stations.

Raise, then mobilise, then activate: 6 to 8 minutes. Which patterns there are and what
is to be spared is handed in; refuses to know the library and the clock.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.circuit.circuit import TimedItem

LEAST_MS: Final = 360_000
MOST_MS: Final = 480_000

# Order as in raise, mobilise, activate (Jeffreys 2007, from memory); the lengths and
# the movements are common practice, no source. Nothing here jumps or needs kit.
_STEP_MS: Final = 5_000
_BLOCK_MS: Final = 150_000
_MOST_GROUPS: Final = 4
_RAISE: Final = (
    TimedItem("Walk on the spot, arms swinging", 60_000),
    TimedItem("March, knees a little higher", 60_000),
)


@dataclass(frozen=True, slots=True)
class _Group:
    """Patterns that one pair of movements prepares.

    `spared` takes the place of `activate` where a caution of `loads` is left out.
    """

    patterns: tuple[str, ...]
    mobilise: str
    activate: str
    loads: tuple[str, ...] = ()
    spared: str = ""


_GROUPS: Final = (
    _Group(
        ("squat", "squat-hold", "lunge", "step", "squat-and-push", "abduction",
         "adduction", "hip-flexion", "conditioning", "get-up"),
        "Ankle rocks, hip circles both ways",
        "Half squats, slow",
        ("Kn",),
        "Sideways steps, low and slow",
    ),
    _Group(
        ("hinge", "hinge-power", "hinge-and-push", "bridge", "knee-flexion",
         "extension"),
        "Leg swings, hand on a wall",
        "Hip hinge, hands down the thighs",
        ("Bk",),
        "Stand tall, squeeze your glutes",
    ),
    _Group(
        ("jump", "ankle", "flexion-power"),
        "Ankle circles, left and right",
        "Calf raises, lower slowly",
    ),
    _Group(
        ("anti-extension", "anti-rotation", "anti-lateral", "rotation",
         "rotation-power", "flexion", "flexion-hold", "crawl", "carry"),
        "Turn the trunk, arms loose",
        "Knee to the opposite elbow, standing",
        ("Bk",),
        "One-leg stand, then the other",
    ),
    _Group(
        ("horizontal-push", "vertical-push", "push-power", "dip", "shoulder-raise",
         "shoulder-mobility"),
        "Arm circles, small to large",
        "Push off the wall, slow",
        ("Wr", "Sh"),
        "Slow presses forwards with loose fists",
    ),
    _Group(
        ("horizontal-pull", "vertical-pull", "rear-shoulder", "scapular",
         "rotator-cuff"),
        "Shoulder blades back, down, then round",
        "Lean forward, row without load",
        ("Bk",),
        "Elbows back and hold, standing tall",
    ),
    _Group(
        ("grip", "wrist", "elbow"),
        "Circle wrists, then spread fingers",
        "Open and close the hands",
    ),
)  # fmt: skip
_ANYTHING: Final = _Group(
    (), "Shoulder and hip circles", "Half squats, slow presses, no load"
)
_GENTLE: Final = _Group((), "Shoulder and hip circles", "Walk, a little faster")


def built_warm_up(
    patterns: Iterable[str], spared: Collection[str] = ()
) -> tuple[TimedItem, ...]:
    """Build a warm-up of 6 to 8 minutes for the patterns of a circuit, in ms.

    Args:
        patterns: Pattern of each station, in floor order; unknown ones are let be.
        spared: Codes of cautions that are left out; a gentler movement comes then.
    """
    groups = _wanted(tuple(patterns), bool(spared))
    share_ms = _BLOCK_MS // len(groups) // _STEP_MS * _STEP_MS
    mobilise = [TimedItem(group.mobilise, share_ms) for group in groups]
    activate = [
        TimedItem(
            group.spared if set(group.loads) & set(spared) else group.activate, share_ms
        )
        for group in groups
    ]
    return (*_RAISE, *mobilise, *activate)


def _wanted(patterns: tuple[str, ...], gentle: bool) -> tuple[_Group, ...]:  # noqa: FBT001
    """The groups with the most stations, in the order of the table; two or more."""
    counts = [sum(p in group.patterns for p in patterns) for group in _GROUPS]
    ranked = sorted(range(len(_GROUPS)), key=lambda n: (-counts[n], n))
    kept = sorted(n for n in ranked[:_MOST_GROUPS] if counts[n])
    groups = tuple(_GROUPS[n] for n in kept)
    spare = _GENTLE if gentle else _ANYTHING
    return groups if len(groups) > 1 else (*groups, spare) if groups else (spare,)
