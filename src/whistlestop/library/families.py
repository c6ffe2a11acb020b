"""Families of stations and kinds of drills, and what each is good for by sport.

It refuses to know single stations beyond their ids, and promises nobody anything.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.library.rows import rows

SPORTS: Final = ("cyclist", "runner", "skier", "climber", "paddler")


@dataclass(frozen=True, slots=True)
class Family:
    """Patterns that belong together; `sports` has one sentence for each sport.

    `alone` are stations without a neighbour; `apart` says why the rest falls into
    several ladders, `no_kit` why nothing in it can be done without kit.
    """

    id: str
    title: str
    patterns: tuple[str, ...]
    sports: Mapping[str, str]
    alone: tuple[str, ...] = ()
    apart: str = ""
    no_kit: str = ""


@dataclass(frozen=True, slots=True)
class DrillKind:
    """A kind of drills, with one sentence for each sport."""

    id: str
    title: str
    sports: Mapping[str, str]


@lru_cache(maxsize=1)
def families() -> Mapping[str, Family]:
    """All families by id, in the order of the file; read once, never changed."""
    found = rows("families.toml", "family")
    return MappingProxyType({raw["id"]: Family(**_closed(raw)) for raw in found})


@lru_cache(maxsize=1)
def drill_kinds() -> Mapping[str, DrillKind]:
    """All kinds of drills by id; read once, never changed."""
    found = rows("families.toml", "drill_kind")
    return MappingProxyType({raw["id"]: DrillKind(**_closed(raw)) for raw in found})


@lru_cache(maxsize=1)
def family_of_pattern() -> Mapping[str, str]:
    """The family of each movement pattern, unless a card says otherwise."""
    return MappingProxyType(
        {word: family.id for family in families().values() for word in family.patterns}
    )


def _closed(raw: dict[str, Any]) -> dict[str, Any]:
    return {**raw, "sports": MappingProxyType(raw["sports"])}
