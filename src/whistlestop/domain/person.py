"""What is known of the body of who trains, where they gave it; nothing is guessed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

Level = Literal["new", "trained", "advanced"]
LEVELS: Final[Mapping[Level, str]] = MappingProxyType(
    {
        "new": "new to training, or back after a long time",
        "trained": "trained for months",
        "advanced": "trained for years, jumps included",
    }
)


@dataclass(frozen=True, slots=True)
class Person:
    """Body mass in whole kg and level of training; None where it was not given."""

    mass_kg: int | None = None
    level: Level | None = None


NOBODY: Final = Person()
