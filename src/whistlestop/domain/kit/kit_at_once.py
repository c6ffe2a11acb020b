"""Whether what is owned is enough for stations that are done at the same time.

Owns counting implements over several stations. Refuses to know offsets, rules and
how many people there are; loads are left aside, since each takes what suits.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final

from whistlestop.domain.kit.kit import HAND_KINDS, Adjustable, Kit, Weight

# Nobody waits for a mat; places belong to the room.
_LIES_READY: Final = frozenset(
    {"mat", "wall", "clear lane", "line", "floor marks", "partner"}
)
_HELD: Final = ("two weights", "kettlebell", "weight")
_ALIKE: Final = {"chair": "bench", "two small balls": "small ball"}


def too_few(kit: Kit | None, stations: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Name the things that stations done at once need more often than they are there.

    Args:
        kit: What is owned; None where nobody has listed it: then one of each thing.
        stations: The kit of each of the stations, in the library's words.
    """
    held = [thing for things in stations for thing in things if thing in _HELD]
    short = [] if _can_hold(kit, held) else ["weight"]
    wanted = Counter(
        _ALIKE.get(thing, thing)
        for things in stations
        for thing in dict.fromkeys(things)
        if thing not in _HELD and thing not in _LIES_READY
    )
    short += [thing for thing, need in wanted.items() if need > copies(kit, thing)]
    raised = wanted["box"] + wanted["step"]
    if raised > 1 and kit is not None and not short and raised > _raised(kit):
        short.append("box")
    return tuple(short)


def copies(kit: Kit | None, thing: str) -> int:
    """How many of a thing there are that is not held as a weight; 1 at least.

    What a kit lists without a number counts as one.
    """
    if kit is None:
        return 1
    counted = {
        "bench": kit.bench + len(kit.things & {"bench", "chair"}),
        "band": len(kit.bands),
        "loop band": len(kit.loop_bands),
        "bar": sum(bar.count for bar in kit.bars if not bar.is_handle),
        "step": sum(height <= 20 for height in kit.box_heights_cm),
        "box": sum(height >= 20 for height in kit.box_heights_cm),
        **{
            kind: sum(one.count for one in _implements(kit)
                      if one.kind == kind)
            for kind in ("medicine ball", "dead ball")
        },
    }  # fmt: skip
    return max(1, counted.get(thing, 1))


def _implements(kit: Kit) -> tuple[Weight | Adjustable, ...]:
    return (*kit.weights, *kit.adjustables)


def _raised(kit: Kit) -> int:
    return len(kit.box_heights_cm) + len(kit.things & {"box", "step"})


def _can_hold(kit: Kit | None, held: Sequence[str]) -> bool:
    """Say whether weights go round: pairs first, each of one mass."""
    if len(held) < 2:
        return True
    if kit is None:
        return False
    there = Counter(dict(_groups(kit)))
    return _goes_round(there, sorted(held, key=_HELD.index))


def _groups(kit: Kit) -> Iterator[tuple[tuple[str, int], int]]:
    """Equal implements: kind and a number of their own, and how many."""
    number = 0
    for one in _implements(kit):
        number += 1
        if one.kind in HAND_KINDS:
            yield (one.kind, number), one.count
    for bar in kit.bars:
        number += 1
        if bar.is_handle:
            yield ("dumbbell", number), bar.count
    for container in kit.containers:
        number += 1
        yield ("jug", number), container.count


def _goes_round(there: Counter[tuple[str, int]], held: Sequence[str]) -> bool:
    if not held:
        return True
    first, *rest = held
    need = 2 if first == "two weights" else 1
    for group, count in there.items():
        fits = first != "kettlebell" or group[0] == "kettlebell"
        if fits and count >= need:
            left = there.copy()
            left[group] -= need
            if _goes_round(left, rest):
                return True
    return False
