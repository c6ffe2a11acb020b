"""What a circuit file may say, key by key, and how a wrong value is put in words.

The boundary: pydantic models of format 1, whose values are already those of the
domain. Refuses to know files, the library, and how stations come together.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Annotated, Any, Final, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationError,
)
from pydantic_core import ErrorDetails, PydanticCustomError

from whistlestop.domain import duration, load, tempo
from whistlestop.domain.circuit import (
    MAX_CHANGEOVER_MS,
    MAX_LOOPS,
    MAX_REST_MS,
    MAX_STATIONS,
    MAX_WORK_MS,
    LastRecover,
)
from whistlestop.domain.load import Load
from whistlestop.domain.parts import Lead
from whistlestop.domain.tempo import Tempo
from whistlestop.domain.text import (
    CALL_NAME_CELLS,
    CALL_NAME_LIMIT,
    call_name_cells,
    first_hostile,
    fold_call_name,
    shown,
)
from whistlestop.errors import Problem
from whistlestop.store.toml_places import KeyPath, TomlDocument, as_typed, nearest

FORMAT: Final = 1
UNTIL_KEY: Final = "until key"
NAME_LIMIT: Final = 80
NOTE_LIMIT: Final = 400
PART_LIMIT: Final = 20
MAX_PARTS: Final = 6
MAX_LIST: Final = 30
EXPECTED_ID: Final = (
    "1 to 48 of a-z, 0-9 and hyphen, with a letter or digit at both ends"
)

_ID: Final = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,46}[a-z0-9])?")
_DEVICES: Final = frozenset(
    ["con", "prn", "aux", "nul"]
    + [f"{port}{number}" for port in ("com", "lpt") for number in range(10)]
)
_T = TypeVar("_T")


def is_id(text: str) -> bool:
    """Say whether a text may be an id, and so the stem of a file on any system."""
    return bool(_ID.fullmatch(text)) and text not in _DEVICES


# --- Values ------------------------------------------------------------------


def _wrong(says: str, expected: str) -> PydanticCustomError:
    return PydanticCustomError("wrong", "wrong", {"says": says, "expected": expected})


def _text(limit: int) -> Callable[[object], str]:
    def check(value: object) -> str:
        if not isinstance(value, str):
            raise _wrong(f"is {as_typed(value)}", "text in quotes")
        if "\n" in value:
            raise _wrong("goes over several lines", "one line of text")
        if hostile := first_hostile(value):
            raise _wrong(
                f"holds the character {hostile}", "text without invisible characters"
            )
        if len(value) > limit:
            raise _wrong(f"has {len(value):,} characters", f"{limit} at most")
        return value.strip()

    return check


def _name(limit: int) -> Callable[[object], str]:
    checked = _text(limit)

    def check(value: object) -> str:
        text = checked(value)
        if not text:
            raise _wrong("is empty", "some text")
        return text

    return check


def _id(value: object) -> str:
    if not isinstance(value, str) or not is_id(value):
        raise _wrong(f"is {as_typed(value)}", EXPECTED_ID)
    return value


def _call(value: object) -> str:
    text = _name(NAME_LIMIT)(value)
    if len(text) > CALL_NAME_LIMIT:
        raise _wrong(f"has {len(text)} characters", f"{CALL_NAME_LIMIT} at most")
    cells = call_name_cells(text.upper())
    if cells > CALL_NAME_CELLS:
        raise _wrong(
            f"is {cells} columns wide in block letters",
            f"{CALL_NAME_CELLS} at most; M and W are the widest",
        )
    folded = fold_call_name(text)
    if folded != text.upper():
        example = f', as "{folded}"' if folded else ""
        raise _wrong(
            f"is {as_typed(text)}, which block letters cannot draw",
            f"letters A to Z, digits, single spaces and hyphens{example}",
        )
    return folded


def _duration(
    low_ms: int, high_ms: int, limits: str, also: str = ""
) -> Callable[[object], int]:
    def check(value: object) -> int:
        if isinstance(value, int) and not isinstance(value, bool):
            ms, typed = value * 1000, f"{as_typed(value)} s"
        else:
            ms = _read(duration.parse_duration_ms, value, also)
            typed = str(value).strip()
        if not low_ms <= ms <= high_ms:
            raise _wrong(f"is {typed}", limits + also)
        return ms

    return check


def _read(parse: Callable[[str], _T], value: object, also: str = "") -> _T:
    """Have the domain read a text; its own words say what it expected."""
    text = _text(NAME_LIMIT)(value) if isinstance(value, str) else ""
    try:
        return parse(text)
    except ValueError as error:
        expected = str(error).removeprefix("expected ") + also
        raise _wrong(f"is {as_typed(value)}", expected) from None


def _whole(low: int, high: int) -> Callable[[object], int]:
    limits = f"{low} to {high}" if low < high else str(low)

    def check(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise _wrong(f"is {as_typed(value)}", f"a whole number, {limits}")
        if not low <= value <= high:
            raise _wrong(f"is {as_typed(value)}", limits)
        return value

    return check


def _one_of(*words: str) -> Callable[[object], str]:
    def check(value: object) -> str:
        if not isinstance(value, str) or value not in words:
            choice = " or ".join(f'"{word}"' for word in words)
            raise _wrong(f"is {as_typed(value)}", choice)
        return value

    return check


def _yes_or_no(value: object) -> bool:
    if not isinstance(value, bool):
        raise _wrong(f"is {as_typed(value)}", "true or false")
    return value


_REST_LIMITS: Final = "0 s to 30 min"


def _loop_break(value: object) -> int | None:
    """Read a break in ms; None is a break until a key."""
    if value == UNTIL_KEY:
        return None
    return _duration(0, MAX_REST_MS, _REST_LIMITS, f', or "{UNTIL_KEY}"')(value)


def _parts(value: object) -> list[str]:
    if not isinstance(value, list):
        raise _wrong(f"is {as_typed(value)}", 'a list as ["left", "right"]')
    if len(value) > MAX_PARTS:
        raise _wrong(f"has {len(value)} names", f"{MAX_PARTS} at most")
    names = [_name(PART_LIMIT)(name) for name in value]
    for place, name in enumerate(names):
        if name.casefold() in (earlier.casefold() for earlier in names[:place]):
            raise _wrong(f"names {as_typed(name)} twice", "each part once")
    return names


def _drill(value: object) -> object:
    """Let a drill be its id alone; the table is checked by its own model."""
    return {"id": value} if isinstance(value, str) else value


Name = Annotated[str, PlainValidator(_name(NAME_LIMIT))]
Note = Annotated[str, PlainValidator(_text(NOTE_LIMIT))]
Id = Annotated[str, PlainValidator(_id)]
CallName = Annotated[str, PlainValidator(_call)]
WorkMs = Annotated[int, PlainValidator(_duration(5_000, MAX_WORK_MS, "5 s to 10 min"))]
RestMs = Annotated[int, PlainValidator(_duration(0, MAX_REST_MS, _REST_LIMITS))]
ItemMs = Annotated[int, PlainValidator(_duration(1_000, MAX_REST_MS, "1 s to 30 min"))]
ReadyMs = Annotated[int, PlainValidator(_duration(0, 300_000, "0 s to 5 min"))]
ChangeoverMs = Annotated[
    int, PlainValidator(_duration(0, MAX_CHANGEOVER_MS, "0 s to 10 s"))
]
ALoad = Annotated[Load, PlainValidator(partial(_read, load.parse_load))]
ATempo = Annotated[Tempo, PlainValidator(partial(_read, tempo.parse_tempo))]
ALead = Annotated[Lead, PlainValidator(_one_of("alternate", "fixed"))]
ALast = Annotated[LastRecover, PlainValidator(_one_of("keep", "drop"))]
YesNo = Annotated[bool, PlainValidator(_yes_or_no)]
StationNumber = Annotated[int, PlainValidator(_whole(1, MAX_STATIONS))]
LoopNumber = Annotated[int, PlainValidator(_whole(1, MAX_LOOPS))]


# --- Tables ------------------------------------------------------------------


class _Table(BaseModel):
    model_config = ConfigDict(
        strict=True, extra="forbid", frozen=True, arbitrary_types_allowed=True
    )


class ItemTable(_Table):
    """An item of `[[warm_up]]` or `[[cool_down]]`."""

    name: Name
    time: ItemMs
    note: Note = ""


class DrillTable(_Table):
    """A drill, by its id in the library or with a name of one's own."""

    id: Id
    name: Name | None = None


class StationTable(_Table):
    """A `[[station]]`; None means: as the library or the circuit says."""

    exercise: Id
    name: Name | None = None
    call: CallName | None = None
    load: ALoad | None = None
    parts: Annotated[list[str] | None, PlainValidator(_parts)] = None
    changeover: ChangeoverMs | None = None
    lead: ALead | None = None
    tempo: ATempo | None = None
    kit: Annotated[list[Name], Field(max_length=MAX_LIST)] | None = None
    cautions: Annotated[list[Name], Field(max_length=MAX_LIST)] = []
    note: Note = ""
    work: WorkMs | None = None
    recover: RestMs | None = None
    hold: YesNo = False
    paced: YesNo = True
    drill: Annotated[DrillTable | None, BeforeValidator(_drill)] = None


class LoopStationTable(_Table):
    """A `[[loop.station]]`: one station in one loop."""

    number: StationNumber
    work: WorkMs | None = None
    recover: RestMs | None = None
    load: ALoad | None = None
    skip: YesNo = False


class LoopTable(_Table):
    """A `[[loop]]`: what differs in one loop."""

    number: LoopNumber
    work: WorkMs | None = None
    recover: RestMs | None = None
    load: ALoad | None = None
    skip: Annotated[list[StationNumber], Field(max_length=MAX_STATIONS)] = []
    station: Annotated[list[LoopStationTable], Field(max_length=MAX_STATIONS)] = []


Items = Annotated[list[ItemTable], Field(max_length=MAX_LIST)]


class CircuitTable(_Table):
    """A whole file of format 1. A `loop_break` of None lasts until a key."""

    format: Annotated[int, PlainValidator(_whole(FORMAT, FORMAT))]
    name: Name
    id: Id | None = None
    note: Note = ""
    loops: LoopNumber = 1
    work: WorkMs = 40_000
    recover: RestMs = 20_000
    last_recover: ALast | None = None
    loop_break: Annotated[int | None, PlainValidator(_loop_break)] = 0
    get_ready: ReadyMs = 10_000
    changeover: ChangeoverMs = 0
    lead: ALead = "alternate"
    warm_up: Items = []
    cool_down: Items = []
    station: Annotated[list[StationTable], Field(min_length=1, max_length=MAX_STATIONS)]
    loop: Annotated[list[LoopTable], Field(max_length=MAX_LOOPS)] = []


# --- Words -------------------------------------------------------------------

# The tables of a file, and how an entry of each is spoken of.
_TABLES: Final[dict[tuple[str, ...], tuple[type[_Table], str]]] = {
    (): (CircuitTable, ""),
    ("warm_up",): (ItemTable, "warm-up item"),
    ("cool_down",): (ItemTable, "cool-down item"),
    ("station",): (StationTable, "station"),
    ("station", "drill"): (DrillTable, ""),
    ("loop",): (LoopTable, "loop"),
    ("loop", "station"): (LoopStationTable, "station"),
}
# Other people's words for the same things; only ever used to suggest ours.
_OTHER_WORDS: Final = {
    "recover": "rest pause",
    "loops": "rounds sets",
    "parts": "sides",
    "load": "weight",
    "name": "title",
    "loop_break": "break",
    "time": "duration",
    "station": "exercises stations",
}


def read_table(document: TomlDocument) -> tuple[CircuitTable | None, list[Problem]]:
    """Judge every key of a document; the table is None where there are problems."""
    try:
        return CircuitTable.model_validate(document.values), []
    except ValidationError as error:
        details = error.errors(include_url=False, include_input=True)
        return None, [_problem(document, detail) for detail in details]


def where(document: TomlDocument, path: KeyPath) -> str:
    """Say in words in which table a path lies: `station 4: `, or nothing.

    Stations and items are counted from 1; a loop goes by its own number.
    """
    words: list[str] = []
    value: Any = document.values
    for depth, step in enumerate(path):
        value = value[step] if _has(value, step) else None
        names = _names(path[: depth + 1])
        if isinstance(step, str) or names not in _TABLES:
            continue
        spoken = _TABLES[names][1]
        number = value.get("number") if isinstance(value, dict) else None
        if names[0] != "loop":
            words.append(f"{spoken} {step + 1}")
        elif type(number) is int:
            words.append(f"{spoken} {as_typed(number)}")
        else:
            words.append(f"[[{'.'.join(names)}]] {step + 1}")
    return f"{', '.join(words)}: " if words else ""


def _has(value: object, step: str | int) -> bool:
    if isinstance(value, dict):
        return step in value
    return isinstance(value, list) and isinstance(step, int) and step < len(value)


def _names(path: KeyPath) -> tuple[str, ...]:
    return tuple(step for step in path if isinstance(step, str))


def _label(path: KeyPath) -> str:
    """Name a value by its key, and by its place where it stands in a list."""
    last = path[-1]
    if isinstance(last, int):
        return f"{path[-2]}, entry {last + 1}" if len(path) > 1 else str(last + 1)
    owner = path[-2] if len(path) > 1 and isinstance(path[-2], str) else ""
    return f"{owner} {last}" if owner else last


def _problem(document: TomlDocument, detail: ErrorDetails) -> Problem:
    path: KeyPath = detail["loc"]
    place, context = where(document, path), detail.get("ctx", {})
    kind = detail["type"]
    if kind == "extra_forbidden":
        return _unknown_key(document, path)
    if kind == "missing":
        what = f"{where(document, path[:-1])}{_label(path)} is missing"
        expected = f"{path[-1]} = {FORMAT}" if path == ("format",) else ""
        return document.problem(path, what, expected, at_key=True)
    if kind == "wrong":
        what = f"{place}{_label(path)} {context['says']}"
        return document.problem(path, what, context["expected"])
    if kind in {"too_long", "too_short"}:
        limit = context.get("max_length") or context.get("min_length")
        side = "at most" if kind == "too_long" else "at least"
        what = f"{place}{_label(path)} has {context['actual_length']} entries"
        return document.problem(path, what, f"{limit} {side}")
    if isinstance(path[-1], int):
        place = where(document, path[:-1])
    expected = "a table" if kind == "model_type" else "a list"
    names = _names(path)
    if kind == "list_type" and names in _TABLES:
        expected = f"[[{'.'.join(names)}]] headers, one for each"
    elif names == ("station", "drill"):
        expected = 'an id, or a table { id = "...", name = "..." }'
    what = f"{place}{_label(path)} is {as_typed(detail['input'])}"
    return document.problem(path, what, expected)


def _unknown_key(document: TomlDocument, path: KeyPath) -> Problem:
    key = str(path[-1])
    what = f'{where(document, path[:-1])}unknown key "{shown(key, 40)}"'
    known = list(_TABLES[_names(path[:-1])][0].model_fields)
    problem = document.problem(path, what, at_key=True)
    words = {
        other: ours for ours in known for other in _OTHER_WORDS.get(ours, "").split()
    }
    found = nearest(key, [*known, *words])
    return replace(problem, nearest=words.get(found, found))
