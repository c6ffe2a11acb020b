"""Other training from a CSV text: which column is what, and what would be entered.

Owns reading and judging; everything is shown before anybody writes. Refuses to
guess where a date can be read in two ways, and to know files and the diary.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.domain.text import first_hostile, shown
from whistlestop.review.exchange.csv import unguarded
from whistlestop.review.exchange.import_options import (
    FIELDS,
    MOST_MS,
    Order,
    read_length_ms,
)
from whistlestop.review.heart import Heart, parse_heart

MOST_BYTES: Final = 8 * 1024 * 1024
MOST_ROWS: Final = 20_000
MOST_COLUMNS: Final = 200
MOST_OWN_MS: Final = 7 * MOST_MS
NAME_LIMIT: Final = 80
NOTE_LIMIT: Final = 400
# What our own export calls them; times there are in ms.
_OWN: Final = {
    "date": "day",
    "sport": "name",
    "minutes": "session_ms",
    "effort": "session_effort",
    "note": "note",
}
_OWN_NAMES: Final = frozenset({"id", "kind", "efforts", *_OWN.values()})
_OWN_CIRCUITS: Final = frozenset({"session", "entered"})
_OWN_TRAININGS: Final = frozenset({"training", *_OWN_CIRCUITS})
NEEDED: Final = ("date", "minutes")
NO_SPORT: Final = "training"

# Names that a column is known by without an option; compared without case.
_KNOWN: Final[Mapping[str, tuple[str, ...]]] = {
    "date": ("date", "day", "datum", "tag", "start", "start date"),
    "sport": ("sport", "activity", "kind", "type", "sportart", "name", "title"),
    "minutes": ("minutes", "duration", "length", "dauer", "min", "minuten"),
    "effort": ("effort", "rpe", "perceived effort", "session_effort", "anstrengung"),
    "note": ("note", "notes", "comment", "comments", "notiz", "bemerkung"),
}
_NUMBERS: Final = re.compile(r"(\d{1,4})[-./](\d{1,2})[-./](\d{1,4})", re.ASCII)


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A CSV text as read: its header and its rows, each with its line number."""

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class ImportedTraining:
    """One training that would be entered, and the line it stands on.

    `is_circuit`, `circuit` (its id), `efforts` (of its loops) and `heart` stand in our
    own export alone.
    """

    line: int
    day: date
    sport: str
    length_ms: int
    effort: Effort | None
    note: str
    is_circuit: bool = False
    circuit: str = ""
    efforts: tuple[Effort | None, ...] = ()
    heart: Heart | None = None

    @property
    def key(self) -> tuple[str, str, int]:
        """What two entries of the same training have in common."""
        return self.day.isoformat(), self.sport.casefold(), self.length_ms


@dataclass(frozen=True, slots=True)
class CsvReading:
    """What a table holds: trainings, those known already, and what is wrong.

    `problems` are sentences that begin with the line; `others` counts rows of our own
    export that are no training: marks, and what was deleted or scripted.
    """

    found: tuple[ImportedTraining, ...]
    known: tuple[ImportedTraining, ...]
    problems: tuple[str, ...]
    others: int = 0


def read_table(text: str) -> CsvTable:
    """Read a CSV text with a header; comma, semicolon or tab, whichever the header has.

    Raises:
        ValueError: It has no header, a quote is left open, or it is too long.
    """
    text = text.removeprefix("\ufeff")
    if "\0" in text:
        raise ValueError("it holds zero bytes and is not text")
    head = text.split("\n", 1)[0]
    parted_by = max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=parted_by, strict=True)
    rows: list[tuple[int, tuple[str, ...]]] = []
    line = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((line, tuple(cell.strip() for cell in row)))
            line = reader.line_num + 1
            if len(rows) > MOST_ROWS + 1:
                raise ValueError(f"it has more than {MOST_ROWS} rows")
    except csv.Error as error:
        raise ValueError(f"line {line}: {error}") from None
    if not rows:
        raise ValueError("it is empty")
    header = rows[0][1]
    if len(header) > MOST_COLUMNS:
        raise ValueError(f"it has more than {MOST_COLUMNS} columns")
    return CsvTable(header, tuple(rows[1:]))


def columns_of(table: CsvTable, asked: Mapping[str, str]) -> dict[str, int]:
    """Which column holds which field: as asked, else by its name.

    Args:
        table: The table.
        asked: Names of columns by field, such as date: Datum.

    Raises:
        ValueError: A field or a column is unknown, or a needed one is missing.
    """
    names = [name.casefold() for name in table.header]
    columns: dict[str, int] = {}
    for field, name in asked.items():
        if field not in FIELDS:
            raise ValueError(f'"{shown(field, 40)}" is none of {", ".join(FIELDS)}')
        if names.count(name.casefold()) != 1:
            there = ", ".join(shown(each, 40) for each in table.header)
            raise ValueError(f'no one column is called "{shown(name, 40)}": {there}')
        columns[field] = names.index(name.casefold())
    if is_own_export(table):
        own = {field: names.index(name) for field, name in _OWN.items()}
        columns = own | columns
    for field in FIELDS:
        known = [n for n in _KNOWN[field] if names.count(n) == 1]
        free = [n for n in known if names.index(n) not in columns.values()]
        if field not in columns and free:
            columns[field] = names.index(free[0])
    for field in NEEDED:
        if field not in columns:
            raise ValueError(
                f"no column is known to be the {field}; say --map {field}=NAME"
            )
    return {field: columns[field] for field in FIELDS if field in columns}


def is_own_export(table: CsvTable) -> bool:
    """Whether a table has the columns of `export log`."""
    return set(table.header) >= _OWN_NAMES


def read_rows(
    table: CsvTable,
    columns: Mapping[str, int],
    *,
    order: Order | None = None,
    last: date,
    known: Collection[tuple[str, str, int]] = (),
    known_ids: Collection[str] = (),
) -> CsvReading:
    """Read every row; one that cannot be read is a problem, never a guess.

    Args:
        table: The table.
        columns: From `columns_of`.
        order: How dates are written; None lets those pass that only read one way.
        last: The last day that can have been trained on.
        known: Keys of trainings that are entered already; each stands for one.
        known_ids: Ids of what is in the log, for rows of our own export.
    """
    left = Counter(known)
    own = table.header if is_own_export(table) else ()
    others = 0
    found: list[ImportedTraining] = []
    again: list[ImportedTraining] = []
    problems: list[str] = []
    for line, cells in table.rows:
        named = dict(zip(own, map(unguarded, cells), strict=False))
        if own and not _is_training(named):
            others += 1
            continue
        try:
            in_ms = bool(own) and own[columns["minutes"]] == _OWN["minutes"]
            one = _row(line, cells, columns, order, last, in_ms=in_ms)
            one = _with_own(one, named) if own else one
        except ValueError as error:
            problems.append(f"line {line}: {error}")
            continue
        if named.get("id") in known_ids:
            again.append(one)
        elif left[one.key] > 0:
            left[one.key] -= 1
            again.append(one)
        else:
            found.append(one)
    return CsvReading(tuple(found), tuple(again), tuple(problems), others)


def keys_of(entries: Iterable[Mapping[str, object]]) -> list[tuple[str, str, int]]:
    """Keys of trainings from their values in the diary, to compare by."""
    return [
        (
            str(v["day"]),
            str(v.get("sport", v.get("name"))).casefold(),
            int(str(v["length_ms"])),
        )
        for v in entries
    ]


def _is_training(named: Mapping[str, str]) -> bool:
    is_done = "yes" not in {named.get("deleted"), named.get("scripted")}
    has_length = named.get("session_ms") not in {None, "", "0"}
    return named.get("kind") in _OWN_TRAININGS and is_done and has_length


def _with_own(one: ImportedTraining, named: Mapping[str, str]) -> ImportedTraining:
    """What only our own export has of a training."""
    heart = named.get("heart", "")
    one = replace(one, heart=parse_heart(heart) if heart else None)
    if named.get("kind") not in _OWN_CIRCUITS:
        return one
    cells = [cell for cell in named.get("efforts", "").split("|") if cell]
    efforts = tuple(None if c == "-" else Effort.parse(c) for c in cells)
    is_rated = bool(efforts) and None not in efforts
    if is_rated and not named.get("load_effort"):
        # No load, so there was a loop more than are listed, without an effort.
        efforts = (*efforts, None)
    circuit = _text(named.get("circuit", ""), NAME_LIMIT, "the circuit")
    return replace(one, is_circuit=True, circuit=circuit, efforts=efforts)


def _row(
    line: int,
    cells: Sequence[str],
    columns: Mapping[str, int],
    order: Order | None,
    last: date,
    *,
    in_ms: bool = False,
) -> ImportedTraining:
    def cell(field: str) -> str:
        at = columns.get(field)
        return "" if at is None or at >= len(cells) else unguarded(cells[at])

    day = read_day(cell("date"), order)
    if day > last:
        raise ValueError(f"{day} is still to come")
    effort = cell("effort")
    return ImportedTraining(
        line,
        day,
        _text(cell("sport") or NO_SPORT, NAME_LIMIT, "the sport"),
        read_ms(cell("minutes")) if in_ms else read_length_ms(cell("minutes")),
        Effort.parse(effort) if effort not in {"", "-"} else None,
        _text(cell("note"), NOTE_LIMIT, "the note"),
    )


def read_day(text: str, order: Order | None) -> date:
    """Read a day such as 2031-05-12, 12.05.2031 or 5/12/2031; a time after it is cut.

    Raises:
        ValueError: It is no day, or could be two days and no order is given.
    """
    parts = re.split(r"[T ]", text, maxsplit=1)
    match = _NUMBERS.fullmatch(parts[0])
    if match is None:
        raise ValueError(f'"{shown(text, 30)}" is not a date')
    numbers = [int(group) for group in match.groups()]
    if len(match[1]) == 4:
        return parse_day("{:04d}-{:02d}-{:02d}".format(*numbers))
    if len(match[3]) != 4 or order == "ymd":
        raise ValueError(
            f'"{shown(text, 30)}" has no year of four digits where it is due'
        )
    first, second, year = numbers
    if order is None:
        if first <= 12 and second <= 12 and first != second:
            raise ValueError(
                f'"{shown(text, 30)}" can be read in two ways; '
                "say --dates dmy or --dates mdy"
            )
        order = "dmy" if first > 12 or first == second else "mdy"
    day, month = (first, second) if order == "dmy" else (second, first)
    return parse_day(f"{year:04d}-{month:02d}-{day:02d}")


def read_ms(text: str) -> int:
    """Read whole milliseconds, as our own export has them.

    Raises:
        ValueError: They are none, or not above 0 and up to 7 days.
    """
    is_number = text.isascii() and text.isdigit() and len(text) < 10
    if not is_number or not 0 < int(text) <= MOST_OWN_MS:
        raise ValueError("expected whole milliseconds above 0 and up to 7 days")
    return int(text)


def _text(text: str, limit: int, what: str) -> str:
    if len(text) > limit:
        raise ValueError(f"{what} has more than {limit} characters")
    if first_hostile(text):
        raise ValueError(f"{what} holds control characters")
    return text
