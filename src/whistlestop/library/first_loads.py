"""First loads of a station for somebody without history, by level.

Owns the figures of first_loads.toml, for somebody of 70 kg, as values. It refuses to
know what anybody owns, and what was lifted before, which always comes first.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.library.rows import rows

Level = Literal["new", "regular", "strong"]
LEVELS: Final[tuple[Level, ...]] = ("new", "regular", "strong")
BANDS: Final = ("none", "light", "medium", "heavy")
EACH: Final = ("one", "two", "bar", "belt", "ankle weight", "backpack")


@dataclass(frozen=True, slots=True)
class FirstLoad:
    """First loads of one station, in kilograms; None is not yet, 0 without a load.

    `each` says what is weighed: one weight, each of two, the whole bar, what hangs
    from a belt, each ankle weight, or the whole backpack.
    """

    id: str
    each: str
    new: float | None = None
    regular: float | None = None
    strong: float | None = None
    note: str = ""

    def at(self, level: Level) -> float | None:
        """The first load at a level; None where it is not yet time for it."""
        by_level = {"new": self.new, "regular": self.regular, "strong": self.strong}
        return by_level[level]


@dataclass(frozen=True, slots=True)
class FirstBand:
    """The first band of one station by level: none, light, medium or heavy."""

    id: str
    each: str
    new: str
    regular: str
    strong: str


@lru_cache(maxsize=1)
def first_loads() -> Mapping[str, FirstLoad]:
    """First loads by station, in the order of the library; read once."""
    found = rows("first_loads.toml", "first_load")
    return MappingProxyType({raw["id"]: FirstLoad(**raw) for raw in found})


@lru_cache(maxsize=1)
def first_bands() -> Mapping[str, FirstBand]:
    """First bands by station; read once."""
    found = rows("first_loads.toml", "band")
    return MappingProxyType({raw["id"]: FirstBand(**raw) for raw in found})
