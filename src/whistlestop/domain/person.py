"""What is known of the body of who trains, where they gave it; nothing is guessed."""

from __future__ import annotations

from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.wishes import Wished


@dataclass(frozen=True, slots=True)
class Person:
    """Body mass in whole kg, None where it was not given, and level of training."""

    mass_kg: int | None = None
    level: Wished = "auto"


NOBODY: Final = Person()
