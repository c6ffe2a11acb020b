"""The keys of kit.toml and the bounds of each, and how a wrong value is put in words.

The boundary: pydantic models of format 1. `Judge` puts what they say into problems
and serves limits.toml as well. Refuses to know files and how entries fit together.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Annotated, Final, TypeVar

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from whistlestop.domain.containers import (
    BULK_DENSITY,
    EXPECTED_PACKING,
    Contents,
    MassRange,
    Packing,
    parse_packing,
)
from whistlestop.domain.kit import KINDS
from whistlestop.domain.load import KG_PER_LB
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem
from whistlestop.store.circuit_schema import ALoad, Name, YesNo
from whistlestop.store.toml_places import KeyPath, TomlDocument, nearest

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

_Model = TypeVar("_Model", bound=BaseModel)
Tables = Mapping[tuple[str, ...], tuple[type[BaseModel], str]]


# --- Values --------------------------------------------------------------------


def wrong(says: str, expected: str) -> PydanticCustomError:
    """Make the error of a value: what it is, and what was expected of it."""
    return PydanticCustomError("wrong", "wrong", {"says": says, "expected": expected})


def whole(low: int, high: int) -> Callable[[object], int]:
    """Make a check for a whole number between two others, both allowed."""
    expected = f"{low} to {high}" if low < high else str(low)

    def check(value: object) -> int:
        if type(value) is not int:
            raise wrong(f"is {as_typed(value)}", f"a whole number, {expected}")
        if not low <= value <= high:
            raise wrong(f"is {as_typed(value)}", expected)
        return value

    return check


def one_of(*words: str) -> Callable[[object], str]:
    """Make a check for one of a few words."""

    def check(value: object) -> str:
        if not isinstance(value, str) or value not in words:
            raise wrong(
                f"is {as_typed(value)}", " or ".join(f'"{word}"' for word in words)
            )
        return value

    return check


def _range(value: object) -> MassRange:
    expected = '"0.4 kg" or "0.4 to 0.7 kg", at most 500 kg'
    match = _RANGE.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None:
        raise wrong(f"is {as_typed(value)}", expected)
    unit_kg = _IN_KG[match["unit"]]
    high_kg = Decimal(match["high"]) * unit_kg
    low_kg = Decimal(match["low"]) * unit_kg if match["low"] else high_kg
    if not low_kg <= high_kg <= 500:
        raise wrong(f"is {as_typed(value)}", f"{expected}, the lower one first")
    return MassRange(low_kg, high_kg)


def _litres(value: object) -> Decimal:
    match = _LITRES.fullmatch(value.strip()) if isinstance(value, str) else None
    litres = Decimal(match[1]) if match else Decimal(0)
    if match and match[2] == "ml":
        litres /= 1000
    if not Decimal("0.05") <= litres <= 200:
        raise wrong(f"is {as_typed(value)}", '"1.5 L" or "750 ml", 50 ml to 200 L')
    return litres


def _cm(low: int, high: int) -> Callable[[object], int]:
    def check(value: object) -> int:
        match = _CM.fullmatch(value.strip()) if isinstance(value, str) else None
        cm = int(match[1]) if match else value
        if type(cm) is not int or not low <= cm <= high:
            raise wrong(f"is {as_typed(value)}", f'"{low} cm" to "{high} cm"')
        return cm

    return check


def _packing(value: object) -> tuple[Packing, ...]:
    try:
        return parse_packing(value if isinstance(value, str) else "")
    except ValueError:
        raise wrong(f"is {as_typed(value)}", EXPECTED_PACKING) from None


APacking = Annotated[tuple[Packing, ...], PlainValidator(_packing)]
Count = Annotated[int, PlainValidator(whole(1, MAX_COUNT))]
Kind = Annotated[str, PlainValidator(one_of(*KINDS))]
Range = Annotated[MassRange, PlainValidator(_range)]
Loads = Annotated[list[ALoad], Field(min_length=1, max_length=MAX_LIST)]
Names = Annotated[list[Name], Field(max_length=MAX_LIST)]


# --- Tables --------------------------------------------------------------------


class Table(BaseModel):
    """What all tables of the program's own small files have in common."""

    model_config = ConfigDict(
        strict=True, extra="forbid", frozen=True, arbitrary_types_allowed=True
    )


class WeightTable(Table):
    """A `[[weight]]`: all fixed implements of a kind; `2 x 8 kg` is two of 8 kg."""

    kind: Kind
    loads: Loads


class AdjustableTable(Table):
    """An `[[adjustable]]`: every load it can be set to."""

    kind: Kind
    count: Count = 1
    settings: Annotated[list[ALoad], Field(min_length=2, max_length=MAX_SETTINGS)]


class BarTable(Table):
    """A `[[bar]]`; plates of its own, or those at the top of the file."""

    name: Name = "bar"
    mass: ALoad
    collar: ALoad | None = None
    plates: Annotated[list[ALoad], Field(max_length=MAX_LIST)] | None = None
    count: Count = 1
    handle: YesNo = False


class ContainerTable(Table):
    """A `[[container]]`: filled to its mark, or weighed full."""

    name: Name
    volume: Annotated[Decimal, PlainValidator(_litres)]
    contents: Annotated[Contents, PlainValidator(one_of(*BULK_DENSITY))] = "water"
    empty: Range
    count: Count = 1
    weighed: Range | None = None


class BackpackTable(Table):
    """The `[backpack]`; `packed` are its loads with everything in it, weighed.

    `filled` is what it may be filled with; its mass is then reckoned, as a range.
    """

    empty: Range
    packed: Annotated[list[ALoad], Field(max_length=MAX_LIST)] = []
    filled: Annotated[list[APacking], Field(max_length=MAX_LIST)] = []


class KitTable(Table):
    """A whole kit.toml of format 1."""

    format: Annotated[int, PlainValidator(whole(FORMAT, FORMAT))]
    weight: Annotated[list[WeightTable], Field(max_length=MAX_LIST)] = []
    adjustable: Annotated[list[AdjustableTable], Field(max_length=MAX_LIST)] = []
    bar: Annotated[list[BarTable], Field(max_length=MAX_LIST)] = []
    plates: Annotated[list[ALoad], Field(max_length=MAX_LIST)] = []
    container: Annotated[list[ContainerTable], Field(max_length=MAX_LIST)] = []
    backpack: BackpackTable | None = None
    bands: Names = []
    band_order: Names = []
    loop_bands: Names = []
    mats: Annotated[int, PlainValidator(whole(0, MAX_COUNT))] = 0
    bench: YesNo = False
    boxes: Annotated[
        list[Annotated[int, PlainValidator(_cm(5, 120))]], Field(max_length=MAX_LIST)
    ] = []
    ball: Annotated[int | None, PlainValidator(_cm(20, 120))] = None
    things: Names = []
    own_things: Names = []


TABLES: Final[Tables] = {
    (): (KitTable, ""),
    ("weight",): (WeightTable, "weight"),
    ("adjustable",): (AdjustableTable, "adjustable"),
    ("bar",): (BarTable, "bar"),
    ("container",): (ContainerTable, "container"),
    ("backpack",): (BackpackTable, ""),
}


# --- Words ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Judge:
    """Puts what a schema says of a document into problems with places."""

    document: TomlDocument
    tables: Tables

    def read(self, model: type[_Model]) -> tuple[_Model | None, list[Problem]]:
        """Judge every key; the table is None where there are problems."""
        try:
            return model.model_validate(self.document.values), []
        except ValidationError as error:
            details = error.errors(include_url=False, include_input=True)
            return None, [self._problem(detail) for detail in details]

    def where(self, path: KeyPath) -> str:
        """Say in which entry a path lies: `bar 2: `, or nothing."""
        if len(path) > 1 and isinstance(path[1], int) and path[:1] in self.tables:
            return f"{self.tables[(str(path[0]),)][1]} {path[1] + 1}: "
        return ""

    def _problem(self, detail: ErrorDetails) -> Problem:
        path: KeyPath = detail["loc"]
        place, label = self.where(path), _label(path)
        kind, context = detail["type"], detail.get("ctx", {})
        if kind == "extra_forbidden":
            return self._unknown_key(path)
        if kind == "missing":
            what = f"{place}{label} is missing"
            expected = f"format = {FORMAT}" if path == ("format",) else ""
            return self.document.problem(path, what, expected, at_key=True)
        if kind == "wrong":
            what = f"{place}{label} {context['says']}"
            return self.document.problem(path, what, context["expected"])
        if kind in {"too_long", "too_short"}:
            limit = context.get("max_length") or context.get("min_length")
            side = "at most" if kind == "too_long" else "at least"
            what = f"{place}{label} has {context['actual_length']} entries"
            return self.document.problem(path, what, f"{limit} {side}")
        expected = "a table" if kind == "model_type" else "a list"
        if path in self.tables:
            header = f"[[{path[0]}]] headers, one for each"
            expected = header if kind == "list_type" else f"a [{path[0]}] header"
        if isinstance(path[-1], int):
            place = ""
        what = f"{place}{label} is {as_typed(detail['input'])}"
        return self.document.problem(path, what, expected)

    def _unknown_key(self, path: KeyPath) -> Problem:
        key = str(path[-1])
        what = f'{self.where(path)}unknown key "{shown(key, 40)}"'
        names = tuple(step for step in path[:-1] if isinstance(step, str))
        problem = self.document.problem(path, what, at_key=True)
        return replace(
            problem, nearest=nearest(key, self.tables[names][0].model_fields)
        )


def _label(path: KeyPath) -> str:
    last = path[-1]
    if isinstance(last, int):
        return f"{path[-2]}, entry {last + 1}"
    owner = f"{path[0]} " if path[:1] == ("backpack",) and len(path) > 1 else ""
    return f"{owner}{last}"
