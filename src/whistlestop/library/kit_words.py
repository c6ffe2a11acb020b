"""The words in which stations and drills name their kit, with what each means.

Things are owned and laid out; places belong to the room. It refuses to know what
anybody owns.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

THINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "weight": "one kettlebell or dumbbell; a filled jug, but never overhead",
        "two weights": "two kettlebells or dumbbells; filled jugs, but never overhead",
        "kettlebell": "one kettlebell; no jug, it has to swing",
        "backpack": "a backpack with books, bottles or sand, closed and strapped tight",
        "bar": "a bar for plates",
        "plates": "plates with a rim to grip",
        "rack": "a rack or stands for a bar",
        "safeties": "arms or pins that catch a bar",
        "bench": "a bench against a wall; a chair there, but not to press on",
        "chair": "a firm chair without wheels, against a wall",
        "box": "a box of 20 to 60 cm that does not tip",
        "step": "a step of 10 to 20 cm, or a stair",
        "mat": "a mat, a rug or a folded blanket",
        "stick": "a broom handle or a straight stick",
        "band": "a long band without nicks, and an anchor that was tested",
        "loop band": "a short band in a loop, without nicks",
        "sliders": "two sliders, or small towels on a smooth floor",
        "foot anchor": "something heavy that holds the feet down, tested first",
        "pull-up bar": "a bar to hang from, tested with the feet down",
        "low bar": "a bar at hip height, or two straps",
        "wheel": "a roll-out wheel",
        "stability ball": "a large burst-resistant ball without cuts",
        "medicine ball": "a weighted ball that bounces little",
        "dead ball": "a weighted ball that does not bounce",
        "soft ball": "a cushion-sized soft ball, or a cushion",
        "heavy rope": "a heavy rope round an anchor",
        "ball": "a ball for two hands that bounces",
        "small ball": "a ball that fits one hand",
        "two small balls": "two of them",
        "three small balls": "three of them",
        "uneven ball": "a small ball that bounces oddly",
        "skipping rope": "a rope to skip with",
        "rocker board": "a rocker or wobble board",
    }
)

PLACES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "wall": "a bare wall",
        "post": "a post or door frame to hold",
        "clear lane": "four metres of clear floor",
        "line": "a line on the floor, chalk or tape",
        "floor marks": "a few marks on the floor, chalk or tape",
        "partner": "somebody to lend a hand",
    }
)

# Under these the eyes stay open, whatever the drill.
MOVING: Final = frozenset({"stability ball", "rocker board", "step", "box"})
# What even a well-fitted garage often lacks.
SPECIAL: Final = frozenset({"heavy rope", "wheel", "safeties", "rocker board"})
