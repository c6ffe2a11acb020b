"""The form for a session done without the laptop: its fields, their words, one entry.

Pure: circuits and today are handed in. Refuses to write, and to guess an effort.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final, Literal

from whistlestop.domain.circuit.circuit import MAX_LOOPS, Circuit, Today
from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.diary import TrainingEntry
from whistlestop.review.days import day_text
from whistlestop.review.exchange.import_csv import read_length_ms
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, cut, fit, row

Field = Literal["circuit", "day", "loops", "minutes", "efforts", "effort", "note"]
FIELDS: Final[tuple[Field, ...]] = (
    "circuit",
    "day",
    "loops",
    "minutes",
    "efforts",
    "effort",
    "note",
)
HINTS: Final[dict[Field, str]] = {
    "circuit": "A part of the circuit's name.",
    "day": "The day, as in 2031-05-12.",
    "loops": "How many loops were done, 1 to 20.",
    "minutes": "Minutes, such as 42 or 1:05, breaks included; empty means as planned.",
    "efforts": "Effort loop by loop, such as 5 - 6.5; - means not entered.",
    "effort": "Effort of the session, 0 to 10; empty is not entered.",
    "note": "A note.",
}
_TITLES: Final[dict[Field, str]] = {
    "circuit": "circuit",
    "day": "day",
    "loops": "loops",
    "minutes": "length",
    "efforts": "effort by loop",
    "effort": "effort of the session",
    "note": "note",
}
_TITLE_CELLS: Final = 24
_NOT_ENTERED: Final = "not entered"


@dataclass(frozen=True, slots=True)
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

    @property
    def circuit(self) -> Circuit:
        """The circuit chosen."""
        return self.circuits[self.at]

    @property
    def planned_ms(self) -> int:
        """How long the circuit would take with these loops, in ms."""
        return compile_plan(self.circuit, Today(loops=self.loops)).total_ms

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
    return replace(form, at=at, loops=loops, efforts=form.efforts[:loops])


def typed(form: EntryForm, field: Field, text: str, today: date) -> EntryForm:
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
            return replace(form, loops=count, efforts=form.efforts[:count])
        case "minutes":
            return replace(form, length_ms=read_length_ms(text) if text else None)
        case "efforts":
            return replace(form, efforts=_efforts(text, form.loops))
        case "effort":
            return replace(form, effort=Effort.parse(text) if text else None)
        case "note":
            return replace(form, note=text)


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


def value_of(form: EntryForm, field: Field) -> str:
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


def _shown(form: EntryForm, field: Field) -> str:
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
        case _:
            return value_of(form, field).replace("-", "–") or _NOT_ENTERED


def form_rows(
    form: EntryForm, at: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """One line a field, and where each stands."""
    rows: list[Row] = []
    for place, field in enumerate(FIELDS):
        is_chosen = place == at
        text = _shown(form, field)
        missing = text == _NOT_ENTERED or text.endswith("as planned")
        tone: Literal["bold", "dim", "text"] = "dim" if missing else "text"
        rows.append(
            row(
                TextSpan("▌ " if is_chosen else "  ", "bold"),
                TextSpan(
                    fit(_TITLES[field], _TITLE_CELLS), "bold" if is_chosen else "dim"
                ),
                TextSpan(cut(text, max(1, cells - _TITLE_CELLS - 4)), tone),
            )
        )
    details = "Only what you enter is counted. It counts as a circuit."
    return [*rows, BLANK, row("  ", TextSpan(cut(details, cells - 4), "dim"))], [
        (i, i) for i in range(len(FIELDS))
    ]
