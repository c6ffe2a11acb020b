"""The form for a session done without the laptop: its fields, their words, one entry.

Pure: circuits and today are handed in. Refuses to write, and to guess an effort.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Final, Literal

from whistlestop.domain.circuit.circuit import MAX_LOOPS, Circuit, Today
from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.diary import (
    DiscomfortEntry,
    TrainingEntry,
    parse_discomfort,
)
from whistlestop.review.days import day_text
from whistlestop.review.entered import (
    StationEntry,
    judge_entered,
    parse_at_station,
)
from whistlestop.review.exchange.import_options import read_length_ms
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, cut, fit, row

# A field is one of these, or the number of a station, which stand between them in
# the order of the sheet.
FIRST_FIELDS: Final = ("circuit", "day", "loops", "minutes")
LAST_FIELDS: Final = ("efforts", "effort", "discomfort", "note")
_STATION_HINT: Final = (
    "What was not as planned: out, 16 kg or 12 reps, also several with ; between "
    "them; in one loop alone: out in loop 2."
)
HINTS: Final[dict[str, str]] = {
    "circuit": "A part of the circuit's name.",
    "day": "The day, as in 2031-05-12.",
    "loops": "How many loops were done, 1 to 20.",
    "minutes": "Minutes, such as 42 or 1:05, breaks included; empty means as planned.",
    "efforts": "Effort loop by loop, such as 5 - 6.5; - means not entered.",
    "effort": "Effort of the session, 0 to 10; empty is not entered.",
    "discomfort": "Discomfort, such as knee left 3; several with ; between them.",
    "note": "A note.",
}
_TITLES: Final[dict[str, str]] = {
    "circuit": "circuit",
    "day": "day",
    "loops": "loops",
    "minutes": "length",
    "efforts": "effort by loop",
    "effort": "effort of the session",
    "discomfort": "discomfort",
    "note": "note",
}
_TITLE_CELLS: Final = 24
_NOT_ENTERED: Final = "not entered"


@dataclass(frozen=True)
class EntryForm:
    """What is filled in so far; `length_ms` is None while it is as planned."""

    circuits: tuple[Circuit, ...]
    day: date
    at: int = 0
    loops: int = 1
    length_ms: int | None = None
    efforts: tuple[Effort | None, ...] = ()
    effort: Effort | None = None
    note: str = ""
    stations: tuple[StationEntry, ...] = ()
    felt: tuple[DiscomfortEntry, ...] = ()

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields in order; a station's is its number."""
        numbers = (f"{card.number}" for card in self.plan.stations)
        return (*FIRST_FIELDS, *numbers, *LAST_FIELDS)

    @cached_property
    def plan(self) -> Plan:
        """The circuit as it would be done with these loops."""
        return compile_plan(self.circuit, Today(loops=self.loops))

    @property
    def circuit(self) -> Circuit:
        """The circuit chosen."""
        return self.circuits[self.at]

    @property
    def planned_ms(self) -> int:
        """How long the circuit would take with these loops, in ms."""
        return self.plan.total_ms

    def done(self) -> TrainingEntry:
        """The entry for the diary."""
        return TrainingEntry(
            self.day,
            self.circuit.name,
            self.length_ms or self.planned_ms,
            effort=self.effort,
            efforts=self.efforts,
            note=self.note,
            circuit=self.circuit.id,
            plan=self.plan,
            stations=self.stations,
            felt=self.felt,
        )


def begin(circuits: Sequence[Circuit], day: date, last: str) -> EntryForm:
    """An empty form: today, and the circuit that was done last, by its id."""
    ordered = tuple(sorted(circuits, key=lambda one: one.name.casefold()))
    ids = [circuit.id for circuit in ordered]
    at = ids.index(last) if last in ids else 0
    return EntryForm(ordered, day, at, ordered[at].loops)


def chosen(form: EntryForm, at: int) -> EntryForm:
    """Another circuit, with the loops that it has; past the last comes the first."""
    at %= len(form.circuits)
    loops = form.circuits[at].loops
    # What was different was so at the stations of another circuit.
    stations = form.stations if at == form.at else ()
    efforts = form.efforts[:loops]
    return replace(form, at=at, loops=loops, efforts=efforts, stations=stations)


def typed(form: EntryForm, field: str, text: str, today: date) -> EntryForm:
    """The form with one field as typed.

    Raises:
        ValueError: It will not do; the words say why.
    """
    text = " ".join(text.split())
    match field:
        case "circuit":
            return _named(form, text)
        case "day":
            day = parse_day(text)
            if day > today:
                raise ValueError(f"{day_text(day)} is in the future")
            return replace(form, day=day)
        case "loops":
            count = int(text) if text.isascii() and text.isdigit() else 0
            if not 1 <= count <= MAX_LOOPS or len(text) > 2:
                raise ValueError(f"expected 1 to {MAX_LOOPS} loops")
            stations = tuple(s for s in form.stations if (s.loop or 1) <= count)
            efforts = form.efforts[:count]
            return replace(form, loops=count, efforts=efforts, stations=stations)
        case "minutes":
            return replace(form, length_ms=read_length_ms(text) if text else None)
        case "efforts":
            return replace(form, efforts=_efforts(text, form.loops))
        case "effort":
            return replace(form, effort=Effort.parse(text) if text else None)
        case "discomfort":
            parts = [part.strip() for part in text.split(";") if part.strip()]
            return replace(form, felt=tuple(parse_discomfort(part) for part in parts))
        case "note":
            return replace(form, note=text)
        case _:
            return _at_station(form, int(field), text)


def _at_station(form: EntryForm, number: int, text: str) -> EntryForm:
    others = [one for one in form.stations if one.station != number]
    stated = (*others, *parse_at_station(number, text))
    judge_entered(form.plan, stated)
    return replace(form, stations=stated)


def hint_of(field: str) -> str:
    """What is asked where a field is typed."""
    return HINTS.get(field, _STATION_HINT)


def _named(form: EntryForm, text: str) -> EntryForm:
    found = [
        at
        for at, circuit in enumerate(form.circuits)
        if text.casefold() in f"{circuit.name} {circuit.id}".casefold()
    ]
    if not text or not found:
        raise ValueError("no circuit name contains that")
    return chosen(form, found[0])


def _efforts(text: str, loops: int) -> tuple[Effort | None, ...]:
    # A comma may part loops, or stand in 6,5: with blanks about it is the former.
    words = text.split() if " " in text else text.split(",") if text else []
    parts = [word.strip(",") for word in words]
    if len(parts) > loops:
        raise ValueError(f"expected efforts of {counted(loops, 'loop')} at most")
    return tuple(None if part in {"-", "–"} else Effort.parse(part) for part in parts)


def value_of(form: EntryForm, field: str) -> str:
    """A field as it would be typed, to be mended."""
    match field:
        case "circuit":
            return ""
        case "day":
            return form.day.isoformat()
        case "loops":
            return f"{form.loops}"
        case "minutes":
            return "" if form.length_ms is None else f"{form.length_ms / 60_000:g}"
        case "efforts":
            return " ".join("-" if e is None else f"{e}" for e in form.efforts)
        case "effort":
            return "" if form.effort is None else f"{form.effort}"
        case "note":
            return form.note
        case "discomfort":
            return "; ".join(f"{one.site} {one.side} {one.level}" for one in form.felt)
        case _:
            stated = (one for one in form.stations if f"{one.station}" == field)
            return "; ".join(one.text for one in stated)


def _shown(form: EntryForm, field: str) -> str:
    match field:
        case "circuit":
            return form.circuit.name
        case "day":
            return day_text(form.day)
        case "loops":
            planned = form.circuit.loops
            return (
                f"{form.loops}"
                if form.loops == planned
                else f"{form.loops} of {planned}"
            )
        case "minutes":
            ms = form.length_ms or form.planned_ms
            text = f"{ms / 60_000:.0f} min"
            return text if form.length_ms else f"{text}, as planned"
        case _ if field.isdigit():
            load = form.plan.card(int(field)).load
            as_planned = f"{load}, as planned" if load else "as planned"
            return value_of(form, field) or as_planned
        case _:
            return value_of(form, field).replace("-", "–") or _NOT_ENTERED


def _title(form: EntryForm, field: str) -> str:
    if not field.isdigit():
        return _TITLES[field]
    return f"{field} {form.plan.card(int(field)).name}"


def form_rows(
    form: EntryForm, at: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """One line a field, and where each stands."""
    rows: list[Row] = []
    for place, field in enumerate(form.fields):
        is_chosen = place == at
        text = _shown(form, field)
        missing = text == _NOT_ENTERED or text.endswith("as planned")
        tone: Literal["bold", "dim", "text"] = "dim" if missing else "text"
        rows.append(
            row(
                TextSpan("▌ " if is_chosen else "  ", "bold"),
                TextSpan(
                    fit(_title(form, field), _TITLE_CELLS),
                    "bold" if is_chosen else "dim",
                ),
                TextSpan(cut(text, max(1, cells - _TITLE_CELLS - 4)), tone),
            )
        )
    details = "Only what you enter is counted. It counts as a circuit."
    return [*rows, BLANK, row("  ", TextSpan(cut(details, cells - 4), "dim"))], [
        (i, i) for i in range(len(form.fields))
    ]
