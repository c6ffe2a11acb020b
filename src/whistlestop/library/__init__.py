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

from whistlestop.domain.demands import Asks
from whistlestop.library.cautions import CAUTIONS, Caution
from whistlestop.library.rows import rows

__all__ = [
    "CAUTIONS",
    "INTENSITIES",
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
INTENSITIES: Final = ("low", "vigorous")
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
    without; `cautions` are codes of `CAUTIONS`, the gravest first. `features` are
    words of `domain.demands`, `exceptions` sites with what is asked of them by hand.
    `aliases` find it in a search and are never shown; `spoken` is empty where the
    voice reads the call name. `contacts_per_minute` are landings, of both feet or of
    one; 0 where nothing leaves the floor.
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
    features: tuple[str, ...] = ()
    exceptions: tuple[tuple[str, Asks], ...] = ()
    aliases: tuple[str, ...] = ()
    spoken: str = ""
    contacts_per_minute: int = 0


@dataclass(frozen=True, slots=True)
class DrillInfo:
    """A drill of the library: a skill for the recovery.

    `ladder` runs from the easiest level to the hardest. `gate` says what has to
    be steady before the eyes are closed; it is empty where they stay open.
    `from_level` adds features from a level on, counted from 1. `intensity` is low
    or vigorous.
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
    cautions: tuple[str, ...] = ()
    features: tuple[str, ...] = ()
    from_level: tuple[tuple[int, tuple[str, ...]], ...] = ()
    exceptions: tuple[tuple[str, Asks], ...] = ()
    aliases: tuple[str, ...] = ()

    def added_at(self, level: int | None = None) -> tuple[str, ...]:
        """The features that a level adds to `features`; None is the hardest one."""
        return tuple(
            feature
            for first, features in self.from_level
            if level is None or first <= level
            for feature in features
        )


@lru_cache(maxsize=1)
def exercises() -> Mapping[str, Exercise]:
    """All stations by id, in the order of the file; read once, never changed."""
    found = rows("stations.toml", "station")
    return MappingProxyType({raw["id"]: _exercise(raw) for raw in found})


@lru_cache(maxsize=1)
def drills() -> Mapping[str, DrillInfo]:
    """All drills by id, in the order of the file; read once, never changed."""
    found = rows("drills.toml", "drill")
    return MappingProxyType({raw["id"]: _drill(raw) for raw in found})


@lru_cache(maxsize=1)
def _exceptions() -> Mapping[str, tuple[tuple[str, Asks], ...]]:
    by_id: dict[str, tuple[tuple[str, Asks], ...]] = {}
    for raw in rows("exceptions.toml", "exception"):
        by_id[raw["id"]] = (*by_id.get(raw["id"], ()), (raw["site"], raw["asks"]))
    return MappingProxyType(by_id)


def _exercise(raw: dict[str, Any]) -> Exercise:
    return Exercise(
        **raw,
        parts=PARTS_OF_SIDES[raw["sides"]],
        exceptions=_exceptions().get(raw["id"], ()),
    )


def _drill(raw: dict[str, Any]) -> DrillInfo:
    levels = raw.pop("from_level", ())
    return DrillInfo(
        **raw,
        from_level=tuple((one["level"], tuple(one["features"])) for one in levels),
        exceptions=_exceptions().get(raw["id"], ()),
    )
