"""What a filled bottle, jug, can or backpack weighs, with an honest uncertainty.

A mass from a volume is a range, low to high, never one figure. Refuses to know
kit files; it advises to weigh whatever matters.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from types import MappingProxyType
from typing import Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.domain.load import Load

Contents = Literal["water", "sand", "damp sand", "gravel", "books"]

# kg per m3, low to high. Water: 30 °C to 4 °C, Kell 1975 below. Loose to settled
# dry sand 1442 to 1602, damp sand up to 2080, gravel 1520 to 1680: bulk density
# tables as reported by reference pages (second hand). Books: common practice, no
# source. Damp sand varies so much that only a scale helps.
BULK_DENSITY: Final[Mapping[Contents, tuple[Decimal, Decimal]]] = MappingProxyType(
    {
        "water": (Decimal("995.65"), Decimal("999.98")),
        "sand": (Decimal(1442), Decimal(1602)),
        "damp sand": (Decimal(1682), Decimal(2080)),
        "gravel": (Decimal(1520), Decimal(1680)),
        "books": (Decimal(700), Decimal(900)),
    }
)
# Common practice, no source: paper is sold within so much of its stated weight.
_PAPER_WITHIN: Final = Decimal("0.04")
SHEETS_IN_A_REAM: Final = 500
MOST_REAMS: Final = 20
MOST_LITRES: Final = 200
# One sheet of A4 at 80 g/m2: ISO 216 size, exact by definition.
_SHEET_KG: Final = Decimal("0.210") * Decimal("0.297") * Decimal("0.080")

# Kell 1975, J Chem Eng Data 20(1):97-105, air-free water at 1 atm, 0 to 150 °C.
# The coefficients are from memory; the tests hold them to published figures.
_KELL: Final = (
    Decimal("999.83952"),
    Decimal("16.945176"),
    Decimal("-7.9870401E-3"),
    Decimal("-46.170461E-6"),
    Decimal("105.56302E-9"),
    Decimal("-280.54253E-12"),
)
_KELL_BELOW: Final = Decimal("16.879850E-3")
_PACKING: Final = re.compile(
    r"(?P<amount>\d{1,4}(?:\.\d{1,3})?) ?(?P<unit>ml|l|reams?)(?: of)?"
    r"(?P<contents> [a-z ]{1,20})?",
    re.ASCII,
)
EXPECTED_PACKING: Final = (
    '"10 L books", "2 reams", "3 L water" or several with + between them; water, '
    "sand, damp sand, gravel or books"
)


@dataclass(frozen=True, slots=True)
class MassRange:
    """A mass known only as a range, both ends in kg."""

    low_kg: Decimal
    high_kg: Decimal

    @property
    def middle_kg(self) -> Decimal:
        """The middle of the range, in kg."""
        return (self.low_kg + self.high_kg) / 2

    def __add__(self, other: MassRange) -> MassRange:
        return MassRange(self.low_kg + other.low_kg, self.high_kg + other.high_kg)

    def times(self, count: int) -> MassRange:
        """The mass of `count` of them; their errors are taken to go one way."""
        return MassRange(self.low_kg * count, self.high_kg * count)

    def __str__(self) -> str:
        """Show it rounded outwards to 0.01 kg, from 10 kg to 0.1 kg."""
        step = Decimal("0.01") if self.high_kg < 10 else Decimal("0.1")
        low = self.low_kg.quantize(step, ROUND_FLOOR)
        high = self.high_kg.quantize(step, ROUND_CEILING)
        if low == high:
            return f"{low} kg"
        return f"{low} to {high} kg"


@dataclass(frozen=True, slots=True)
class Container:
    """Something that is filled: `volume_l` litres of contents, and its own mass.

    `weighed` is what a scale showed with it full; it wins over all arithmetic.
    """

    name: str
    volume_l: Decimal
    contents: Contents
    empty: MassRange
    count: int = 1
    weighed: MassRange | None = None

    @property
    def ready(self) -> MassRange:
        """Mass of one, filled to its mark, in kg."""
        if self.weighed is not None:
            return self.weighed
        return filling(self.volume_l, self.contents) + self.empty


def water_density(celsius: Decimal) -> Decimal:
    """Density of water in kg per m3 at 0 to 100 °C (Kell 1975).

    Raises:
        ValueError: The temperature is not in that range.
    """
    if not 0 <= celsius <= 100:
        raise ValueError("water is liquid from 0 to 100 °C")
    above = Decimal(0)
    for factor in reversed(_KELL):
        above = above * celsius + factor
    return above / (1 + _KELL_BELOW * celsius)


def water_kg(volume_l: Decimal, celsius: Decimal) -> Decimal:
    """Mass in kg of `volume_l` litres of water at a temperature.

    Raises:
        ValueError: The temperature is not from 0 to 100 °C.
    """
    return volume_l * water_density(celsius) / 1000


def filling(volume_l: Decimal, contents: Contents) -> MassRange:
    """Mass of `volume_l` litres of contents, in kg, for a garage of 4 to 30 °C."""
    low, high = BULK_DENSITY[contents]
    return MassRange(volume_l * low / 1000, volume_l * high / 1000)


def paper_kg(sheets: int) -> Decimal:
    """Mass in kg of so many sheets of A4 paper of 80 g per m2."""
    return sheets * _SHEET_KG


@dataclass(frozen=True, slots=True)
class Packing:
    """What goes into a backpack: litres of contents, or reams of A4 paper.

    `contents` None counts reams, of 500 sheets of 80 g per m2 each.
    """

    amount: Decimal
    contents: Contents | None

    @property
    def mass(self) -> MassRange:
        """Its mass as a range, in kg."""
        if self.contents is not None:
            return filling(self.amount, self.contents)
        stated_kg = self.amount * paper_kg(SHEETS_IN_A_REAM)
        off_kg = stated_kg * _PAPER_WITHIN
        return MassRange(stated_kg - off_kg, stated_kg + off_kg)

    def __str__(self) -> str:
        amount = f"{self.amount.normalize():f}"
        if self.contents is not None:
            return f"{amount} L {self.contents}"
        return f"{amount} ream" if self.amount == 1 else f"{amount} reams"


@dataclass(frozen=True, slots=True)
class Backpack:
    """A backpack: its own mass, and what it has been packed to, itself included.

    `filled` is what it may be filled with where nobody has weighed it.
    """

    empty: MassRange
    packed: tuple[Load, ...] = ()
    filled: tuple[tuple[Packing, ...], ...] = ()

    def ready(self, packing: Sequence[Packing]) -> MassRange:
        """Its mass with something in it, as a range, in kg."""
        return sum((one.mass for one in packing), start=self.empty)


def parse_packing(text: str) -> tuple[Packing, ...]:
    """Read what a backpack is filled with: `10 L books`, `2 reams + 1 L water`.

    Raises:
        ValueError: It cannot be read, or is more than a backpack holds.
    """
    found = []
    for piece in text.split("+"):
        match = _PACKING.fullmatch(piece.strip().casefold())
        if match is None:
            raise ValueError(EXPECTED_PACKING)
        contents = " ".join((match["contents"] or "").split())
        amount = Decimal(match["amount"])
        if match["unit"].startswith("ream"):
            if contents or not 0 < amount <= MOST_REAMS:
                raise ValueError(EXPECTED_PACKING)
            found.append(Packing(amount, None))
            continue
        litres = amount / 1000 if match["unit"] == "ml" else amount
        known = next((one for one in BULK_DENSITY if one == contents), None)
        if known is None or not 0 < litres <= MOST_LITRES:
            raise ValueError(EXPECTED_PACKING)
        found.append(Packing(litres, known))
    return tuple(found)


def packing_text(packing: Sequence[Packing]) -> str:
    """Say what is in a backpack, as `parse_packing` reads it."""
    return " + ".join(str(one) for one in packing)


def filling_text(container: Container) -> str:
    """Say what a filled container weighs and how far that can be trusted."""
    if container.weighed is not None:
        return f"{container.name}: {container.ready}, as weighed"
    return range_text(f"{container.name} with {container.contents}", container.ready)


def range_text(name: str, ready: MassRange) -> str:
    """Say a mass that was reckoned; where it is too wide a scale is asked for."""
    text = f"{name}: {ready}"
    spread = (ready.high_kg - ready.low_kg) / ready.middle_kg
    return f"{text}; weigh it" if spread > Decimal("0.05") else text
