"""The stations, drills and cautions that ship, as plain values read on first use.

The longer texts of a station are in `cards`, what it is good for in `families`.
It refuses to know circuits, sessions, files of the athlete's, or any screen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from whistlestop.library.cautions import CAUTIONS, Caution
from whistlestop.library.rows import rows

__all__ = [
    "CAUTIONS",
    "PARTS_OF_SIDES",
    "POSITIONS",
    "REGIONS",
    "SCREENS",
    "Caution",
    "DrillInfo",
    "Exercise",
    "drills",
    "exercises",
]

REGIONS: Final = ("legs", "core", "arms", "whole")
SCREENS: Final = ("yes", "part", "no")
POSITIONS: Final = (
    "standing",
    "half-kneeling",
    "tall-kneeling",
    "hands-and-knees",
    "plank",
    "face-down",
    "on-back",
    "side-lying",
    "seated",
    "hanging",
)
PARTS_OF_SIDES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {"both": (), "one-then-other": ("left", "right"), "alternating": ()}
)


@dataclass(frozen=True, slots=True)
class Exercise:
    """A station of the library.

    `region` is legs, core, arms or whole; `sides` is both, one-then-other or
    alternating, and `parts` follows from it; `screen` says whether the screen
    can be seen while moving: yes, part or no. `kit` is what it cannot be done
    without; `cautions` are codes of `CAUTIONS`.
    """

    id: str
    name: str
    call_name: str
    region: str
    pattern: str
    parts: tuple[str, ...]
    sides: str
    tempo: str | None
    kit: tuple[str, ...]
    position: str
    screen: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DrillInfo:
    """A drill of the library: a skill of low intensity for the recovery.

    `ladder` runs from the easiest level to the hardest. `gate` says what has to
    be steady before the eyes are closed; it is empty where they stay open.
    """

    id: str
    name: str
    kind: str
    kit: tuple[str, ...]
    eyes_closed: bool
    ladder: tuple[str, ...]
    gate: str = ""
    key_point: str = ""
    loads: tuple[str, ...] = ()
    impact: bool = False
    metronome_per_minute: int | None = None
    intensity: str = "low"


@lru_cache(maxsize=1)
def exercises() -> Mapping[str, Exercise]:
    """All stations by id, in the order of the file; read once, never changed."""
    found = rows("stations.toml", "station")
    return MappingProxyType({raw["id"]: _exercise(raw) for raw in found})


@lru_cache(maxsize=1)
def drills() -> Mapping[str, DrillInfo]:
    """All drills by id, in the order of the file; read once, never changed."""
    found = rows("drills.toml", "drill")
    return MappingProxyType({raw["id"]: DrillInfo(**raw) for raw in found})


def _exercise(raw: dict[str, Any]) -> Exercise:
    return Exercise(**raw, parts=PARTS_OF_SIDES[raw["sides"]])
