"""The keys of kit.toml and the bounds of each.

Refuses to know files and how entries fit together.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import (
    NAME_LIMIT,
    Choice,
    ListOf,
    Read,
    Text,
    Whole,
    Wrong,
    YesNo,
    table_of,
    value,
)
from whistlestop.domain.kit.containers import (
    BULK_DENSITY,
    EXPECTED_PACKING,
    Contents,
    MassRange,
    Packing,
    packing_text,
    parse_packing,
)
from whistlestop.domain.kit.kit import KINDS
from whistlestop.domain.load import KG_PER_LB, LOAD, Load
from whistlestop.domain.text import as_typed

FORMAT: Final = 1
MAX_LIST: Final = 30
MAX_SETTINGS: Final = 60
MAX_COUNT: Final = 20

_RANGE: Final = re.compile(
    r"(?:(?P<low>\d{1,3}(?:\.\d{1,11})?)\s*(?:to|-)\s*)?"
    r"(?P<high>\d{1,4}(?:\.\d{1,11})?)\s*(?P<unit>kg|g|lb)",
    re.ASCII,
)
_LITRES: Final = re.compile(r"(\d{1,5}(?:\.\d{1,3})?)\s*([lL]|ml)", re.ASCII)
_CM: Final = re.compile(r"(\d{1,3})\s*cm", re.ASCII)
_IN_KG: Final = {"kg": Decimal(1), "g": Decimal("0.001"), "lb": KG_PER_LB}


# --- Values --------------------------------------------------------------------


def _range(given: object) -> MassRange:
    expected = '"0.4 kg" or "0.4 to 0.7 kg", at most 500 kg'
    match = _RANGE.fullmatch(given.strip()) if isinstance(given, str) else None
    if match is None:
        raise Wrong(f"is {as_typed(given)}", expected)
    unit_kg = _IN_KG[match["unit"]]
    high_kg = Decimal(match["high"]) * unit_kg
    low_kg = Decimal(match["low"]) * unit_kg if match["low"] else high_kg
    if not low_kg <= high_kg <= 500:
        raise Wrong(f"is {as_typed(given)}", f"{expected}, the lower one first")
    return MassRange(low_kg, high_kg)


def _exactly(mass: MassRange) -> str:
    low, high = f"{mass.low_kg.normalize():f}", f"{mass.high_kg.normalize():f}"
    return f"{high} kg" if low == high else f"{low} to {high} kg"


def _litres(given: object) -> Decimal:
    match = _LITRES.fullmatch(given.strip()) if isinstance(given, str) else None
    litres = Decimal(match[1]) if match else Decimal(0)
    if match and match[2] == "ml":
        litres /= 1000
    if not Decimal("0.05") <= litres <= 200:
        raise Wrong(f"is {as_typed(given)}", '"1.5 L" or "750 ml", 50 ml to 200 L')
    return litres


def _cm(low: int, high: int) -> Read[int]:
    def check(given: object) -> int:
        match = _CM.fullmatch(given.strip()) if isinstance(given, str) else None
        cm = int(match[1]) if match else given
        if type(cm) is not int or not low <= cm <= high:
            raise Wrong(f"is {as_typed(given)}", f'"{low} cm" to "{high} cm"')
        return cm

    return Read(check, lambda cm: f"{cm} cm")


def _packing(given: object) -> tuple[Packing, ...]:
    try:
        return parse_packing(given if isinstance(given, str) else "")
    except ValueError:
        raise Wrong(f"is {as_typed(given)}", EXPECTED_PACKING) from None


COUNT: Final = Whole(1, MAX_COUNT)
KIND: Final = Choice({kind: kind for kind in KINDS})
RANGE: Final = Read(_range, _exactly)
NAME: Final = Text(NAME_LIMIT, least=1)
NAMES: Final = ListOf(NAME, most=MAX_LIST)
LOADS: Final = ListOf(LOAD, most=MAX_LIST)


# --- Tables --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WeightTable:
    """A `[[weight]]`: all fixed implements of a kind; `2 x 8 kg` is two of 8 kg."""

    kind: str = value(KIND)
    loads: tuple[Load, ...] = value(ListOf(LOAD, least=1, most=MAX_LIST))


@dataclass(frozen=True, slots=True, kw_only=True)
class AdjustableTable:
    """An `[[adjustable]]`: every load it can be set to."""

    kind: str = value(KIND)
    count: int = value(COUNT, 1, always=True)
    settings: tuple[Load, ...] = value(ListOf(LOAD, least=2, most=MAX_SETTINGS))


@dataclass(frozen=True, slots=True, kw_only=True)
class BarTable:
    """A `[[bar]]`; plates of its own, or those at the top of the file."""

    name: str = value(NAME, "bar")
    mass: Load = value(LOAD)
    collar: Load | None = value(LOAD, None)
    count: int = value(COUNT, 1, always=True)
    handle: bool = value(YesNo(), default=False)
    plates: tuple[Load, ...] | None = value(LOADS, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerTable:
    """A `[[container]]`: filled to its mark, or weighed full."""

    name: str = value(NAME)
    volume: Decimal = value(Read(_litres, lambda litres: f"{litres.normalize():f} L"))
    contents: Contents = value(
        Choice({word: word for word in BULK_DENSITY}), "water", always=True
    )
    empty: MassRange = value(RANGE)
    count: int = value(COUNT, 1, always=True)
    weighed: MassRange | None = value(RANGE, None)


@dataclass(frozen=True, slots=True)
class BackpackTable:
    """The `[backpack]`; `packed` are its loads with everything in it, weighed.

    `filled` is what it may be filled with; its mass is then reckoned, as a range.
    """

    empty: MassRange = value(RANGE)
    packed: tuple[Load, ...] = value(LOADS, ())
    filled: tuple[tuple[Packing, ...], ...] = value(
        ListOf(Read(_packing, packing_text), most=MAX_LIST), ()
    )


@dataclass(frozen=True, slots=True)
class KitTable:
    """A whole kit.toml of format 1."""

    mats: int = value(Whole(0, MAX_COUNT), 0)
    bench: bool = value(YesNo(), default=False)
    boxes: tuple[int, ...] = value(ListOf(_cm(5, 120), most=MAX_LIST), ())
    ball: int | None = value(_cm(20, 120), None)
    bands: tuple[str, ...] = value(NAMES, ())
    band_order: tuple[str, ...] = value(NAMES, ())
    loop_bands: tuple[str, ...] = value(NAMES, ())
    things: tuple[str, ...] = value(NAMES, ())
    own_things: tuple[str, ...] = value(NAMES, ())
    weight: tuple[WeightTable, ...] = value(
        ListOf(table_of(WeightTable, called="weight"), most=MAX_LIST), ()
    )
    adjustable: tuple[AdjustableTable, ...] = value(
        ListOf(table_of(AdjustableTable, called="adjustable"), most=MAX_LIST), ()
    )
    bar: tuple[BarTable, ...] = value(
        ListOf(table_of(BarTable, called="bar"), most=MAX_LIST), ()
    )
    plates: tuple[Load, ...] = value(LOADS, ())
    container: tuple[ContainerTable, ...] = value(
        ListOf(table_of(ContainerTable, called="container"), most=MAX_LIST), ()
    )
    backpack: BackpackTable | None = value(table_of(BackpackTable), None)
