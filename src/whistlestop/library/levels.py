"""What waits until somebody has practised: base difficulty, and what comes before.

Owns the figures of levels.toml and the rule that reads them. It refuses to know the
log: what was done comes in as ids.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.library.first_loads import Level
from whistlestop.library.rows import rows

# The hardest station that is given unasked. Common practice, no source.
MOST_BASE: Final[Mapping[Level, int]] = MappingProxyType(
    {"new": 4, "regular": 7, "strong": 9}
)
SESSIONS_BEFORE: Final = 2
"""In so many sessions what comes before is done before the next one is given."""


@dataclass(frozen=True, slots=True)
class StationLevel:
    """How much practice a station asks, `base` 1 to 10.

    `waits` are stations of which one comes before; empty waits for nobody's word but
    the athlete's, None for nothing.
    """

    id: str
    base: int
    waits: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class DrillLevel:
    """Whether a drill is one for somebody new, and what comes before it."""

    id: str
    first: bool = False
    waits: tuple[str, ...] | None = None


@lru_cache(maxsize=1)
def station_levels() -> Mapping[str, StationLevel]:
    """The level of every station that ships, by id; read once."""
    found = rows("levels.toml", "station")
    return MappingProxyType({raw["id"]: StationLevel(**raw) for raw in found})


@lru_cache(maxsize=1)
def drill_levels() -> Mapping[str, DrillLevel]:
    """The level of every drill that ships, by id; read once."""
    found = rows("levels.toml", "drill")
    return MappingProxyType({raw["id"]: DrillLevel(**raw) for raw in found})


def too_hard(level: Level) -> frozenset[str]:
    """The stations that a level is not given unasked."""
    most = MOST_BASE[level]
    return frozenset(one.id for one in station_levels().values() if one.base > most)


def waiting(done: Collection[str]) -> frozenset[str]:
    """The stations and drills that wait, where `done` were done often enough.

    >>> "squat-jump" in waiting(()), "squat-jump" in waiting({"body-weight-squat"})
    (True, False)
    """
    every: Iterable[StationLevel | DrillLevel] = (
        *station_levels().values(),
        *drill_levels().values(),
    )
    return frozenset(
        one.id
        for one in every
        if one.waits is not None and not {one.id, *one.waits} & set(done)
    )
