"""What is lifted: mass per implement and count, or a named band.

A load keeps the unit it was typed in; it is converted for sums only.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import ParsedText

# International yard and pound agreement of 1959: exact.
KG_PER_LB: Final = Decimal("0.45359237")

EXPECTED: Final = '"8 kg", "2 x 8 kg", "18 lb" or "band: green"'
_MASS: Final = re.compile(
    r"(?:(?P<count>\d{1,2})\s*[xX×]\s*)?(?P<mass>\d{1,3}(?:\.\d{1,3})?)\s*(?P<unit>kg|lb)",
    re.ASCII,
)
_BAND: Final = re.compile(
    r"band:\s*(?P<band>[A-Za-z0-9][A-Za-z0-9 \-]{0,19})", re.ASCII
)
_LIMIT_KG: Final = Decimal(500)

Unit = Literal["kg", "lb"]


@dataclass(frozen=True, slots=True)
class Load:
    """A load as typed: `count` implements of `mass` `unit` each, or a band."""

    typed: str
    count: int = 1
    mass: Decimal = Decimal(0)
    unit: Unit = "kg"
    band: str = ""

    @property
    def each_kg(self) -> Decimal | None:
        """Mass of one implement in kg, exact; None for a band."""
        if self.band:
            return None
        return self.mass * KG_PER_LB if self.unit == "lb" else self.mass

    @property
    def total_kg(self) -> Decimal | None:
        """Mass of all implements in kg, exact; None for a band."""
        return None if self.each_kg is None else self.each_kg * self.count

    def __str__(self) -> str:
        if self.band:
            return f"band: {self.band}"
        mass = f"{self.mass.normalize():f} {self.unit}"
        return mass if self.count == 1 else f"{self.count} x {mass}"


def parse_load(text: str) -> Load:
    """Read a load as typed.

    Raises:
        ValueError: It is no load, is zero, or is above 500 kg in all.
    """
    trimmed = text.strip()
    if match := _BAND.fullmatch(trimmed):
        return Load(typed=trimmed, band=match["band"].strip())
    match = _MASS.fullmatch(trimmed)
    if match is None:
        raise ValueError(f"expected {EXPECTED}")
    unit: Unit = "lb" if match["unit"] == "lb" else "kg"
    load = Load(trimmed, int(match["count"] or 1), Decimal(match["mass"]), unit)
    total = load.total_kg
    if not total or total > _LIMIT_KG:
        raise ValueError("expected a load above 0 and up to 500 kg in all")
    return load


LOAD: Final = ParsedText(parse_load, lambda load: load.typed)
