"""The stations, drills and cautions that ship, as plain values read on first use.

The longer texts of a station are in `cards`, what it is good for in `families`.
It refuses to know circuits, sessions, files of the athlete's, or any screen.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from whistlestop.domain.demands import Asks
from whistlestop.domain.exercise import DrillInfo, Exercise
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
