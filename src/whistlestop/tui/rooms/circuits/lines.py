"""The text of the circuits room: a row for each circuit, file and session.

Pure: circuits and log in, rows out. It reads no file and knows no screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.columns import cells_of
from whistlestop.domain.duration import clock
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import PlanError
from whistlestop.tui.rooms.frame.words import (
    counted,
    day_text,
    shape_text,
    time_text,
)
from whistlestop.tui.rooms.sheet.floor_lines import floor_rows
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

if TYPE_CHECKING:
    from pathlib import Path

    from whistlestop.driver.wellbeing import MorningQuestion
    from whistlestop.store.circuits.circuit_list import CircuitList
    from whistlestop.store.journal.index import SessionLine

_NUMBERS_CELLS: Final = 38
_DAY_CELLS: Final = 17
BLOCK_LINES: Final = 3


@dataclass(frozen=True, slots=True)
class CircuitRow:
    """A circuit as the list shows it. Times in ms.

    `last_wall` is "" if it was never done, None while the log is not read yet.
    """

    circuit: Circuit
    total_ms: int
    work_ms: int
    open_gates: int
    kit: tuple[str, ...]
    last_wall: str | None = ""
    path: Path | None = None


@dataclass(frozen=True, slots=True)
class BrokenFile:
    """A file that cannot be used, and the first thing wrong in it."""

    name: str
    problem: str
    more: int


@dataclass(frozen=True, slots=True)
class ResumeOffer:
    """An interrupted session: where it stood, and when it was last seen."""

    session_id: str
    name: str
    wall: str
    loop: int | None
    station: int | None


@dataclass(frozen=True, slots=True)
class CircuitsPage:
    """Everything the room shows.

    `page` says why nothing is proposed before a page is answered, `morning` is asked.
    `for_new` is the id of the first circuit for somebody new.
    """

    listed: tuple[CircuitRow, ...] = ()
    broken: tuple[BrokenFile, ...] = ()
    last: SessionLine | None = None
    offer: ResumeOffer | None = None
    problem: str = ""
    new_files: int = 0
    page: str = ""
    morning: MorningQuestion | None = None
    for_new: str = ""


def listed(
    listing: CircuitList, sessions: Sequence[SessionLine] | None
) -> tuple[CircuitRow, ...]:
    """List the circuits that can be laid out, by name; None: no log was read yet."""
    done: dict[str, str] = {}
    for session in sessions or ():
        if session.done_work_ms > 0 or session.entered:
            done.setdefault(session.circuit, session.wall)
    found = []
    for entry in listing.circuits.values():
        circuit = entry.circuit
        try:
            plan = compile_plan(circuit)
        except PlanError:
            continue
        found.append(
            CircuitRow(
                circuit,
                plan.total_ms,
                plan.work_ms,
                plan.open_gates,
                tuple(dict.fromkeys(k for s in circuit.stations for k in s.kit)),
                None if sessions is None else done.get(circuit.id, ""),
                entry.path,
            )
        )
    return tuple(sorted(found, key=lambda one: one.circuit.name.casefold()))


def broken(listing: CircuitList) -> tuple[BrokenFile, ...]:
    """List what cannot be used, with the first reason for each."""
    found = []
    for path, problems in listing.problems.items():
        first = problems[0]
        at = f"line {first.line}: " if first.line else ""
        wanted = f"; expected {first.expected}" if first.expected else ""
        found.append(
            BrokenFile(path.name, f"{at}{first.what}{wanted}", len(problems) - 1)
        )
    for entry in listing.circuits.values():
        try:
            compile_plan(entry.circuit)
        except PlanError as error:
            found.append(BrokenFile(entry.path.name, str(error), 0))
    return tuple(found)


def stops(stations: Sequence[Station], cells: int) -> str:
    """Draw stations as stops on a line: ● whole, ◐ in parts, ╎ waits for a key."""
    marks = [
        ("╎" if station.hold else "") + ("◐" if station.parts else "●")
        for station in stations
    ]
    line = "─".join(marks)
    return cut(line if len(line) <= cells else "".join(marks), cells)


def circuit_rows(
    one: CircuitRow, *, chosen: bool, cells: int, today: date
) -> list[Row]:
    """Say one circuit on two lines, with a blank one below."""
    mark = TextSpan("▌ " if chosen else "  ", "bold")
    name = fit(one.circuit.name, cells - 2 - _NUMBERS_CELLS)
    more = "+" if one.open_gates else " "
    first = row(
        mark,
        TextSpan(name, "bold" if chosen else "text"),
        TextSpan(fit(shape_text(one.circuit), 17, right=True), "text"),
        TextSpan(fit(clock(one.total_ms), 9, right=True), "bold"),
        more,
        TextSpan(fit(f"work {clock(one.work_ms)}", 11, right=True), "work"),
    )
    day = day_text(one.last_wall or "", today)
    last = f"last {day}" if day else "not done yet"
    if one.last_wall is None:
        last = ""
    line = stops(one.circuit.stations, max(0, cells // 2 - 4))
    kit_cells = cells - 2 - len(line) - 3 - _DAY_CELLS - 1
    second = row(
        mark,
        TextSpan(line, "text" if chosen else "dim"),
        "   ",
        TextSpan(fit(kit_words(one.kit, kit_cells), kit_cells), "dim"),
        " ",
        TextSpan(fit(last, _DAY_CELLS, right=True), "dim"),
    )
    return [first, second, BLANK]


def kit_words(kit: Sequence[str], cells: int) -> str:
    """Name the kit in as many words as fit, and count the rest."""
    if not kit:
        return "no kit"
    for many in range(len(kit), 0, -1):
        rest = len(kit) - many
        text = ", ".join(kit[:many]) + (f" and {rest} more" if rest else "")
        if cells_of(text) <= cells:
            return text
    return cut(counted(len(kit), "thing"), cells)


def legend_rows(found: CircuitsPage, cells: int) -> list[Row]:
    """Explain the marks that are in use."""
    stations = [s for one in found.listed for s in one.circuit.stations]
    sentences = ["● one part"]
    sentences += ["◐ in parts"] if any(s.parts for s in stations) else []
    sentences += ["╎ waits for a key"] if any(s.hold for s in stations) else []
    gates = any(one.open_gates for one in found.listed)
    sentences += ["+ plus waits"] if gates else []
    return [
        row("  ", TextSpan(line, "dim")) for line in _together(sentences, cells - 2)
    ]


def _together(pieces: Sequence[str], cells: int) -> list[str]:
    """Set pieces on as few lines as hold them whole."""
    lines: list[str] = []
    for piece in pieces:
        if lines and len(lines[-1]) + len(piece) + 3 <= cells:
            lines[-1] += "   " + piece
        else:
            lines.append(piece)
    return lines


def broken_rows(files: Sequence[BrokenFile], cells: int) -> list[Row]:
    """List files that cannot be used, at the end of the page."""
    if not files:
        return []
    count = counted(len(files), "file")
    rows = [row("  ", *heading(f"{count} that cannot be used"))]
    for one in files:
        more = f" (and {one.more} more)" if one.more else ""
        rows.append(row("  ", cut(one.name, cells - 2)))
        rows += [
            row("    ", TextSpan(line, "dim"))
            for line in wrapped(one.problem + more, cells - 6)[:3]
        ]
    return [*rows, row("    ", TextSpan("`check FILE` lists every problem.", "dim"))]


def offer_rows(offer: ResumeOffer, today: date, cells: int) -> list[Row]:
    """Offer an interrupted session, with where it stood."""
    day = day_text(offer.wall, today)
    at = time_text(offer.wall)
    when = f"at {at}" if day == "today" else f"{day} at {at}"
    place = f", loop {offer.loop}" if offer.loop else ""
    place += f", station {offer.station}" if offer.station else ""
    text = f" was interrupted {when}{place}"
    name = cut(offer.name, max(8, cells - 3 - len(text)))
    return [
        row("  ", TextSpan(f"{name}{text}", "bold")),
        row(
            *row("  ", TextSpan("r", "bold"), " resume, paused where it stopped    "),
            *row(TextSpan("k", "bold"), " leave it unfinished"),
        ),
        BLANK,
    ]


def again_text(last: SessionLine, today: date) -> str:
    """Name the last session with its date."""
    day = day_text(last.wall, today)
    return f"again: {cut(last.name, 30)}" + (f", {day}" if day else "")


def empty_rows(folder: str, cells: int) -> list[Row]:
    """Say what to do where there is no circuit at all."""
    sentences = (
        "No circuits yet.",
        "",
        "A circuit is a small text file that ends in .toml. Put one into",
        folder,
        "and come back here. To train without a file, quit and type",
        "whistlestop run --stations 10 --work 40 --recover 20 --loops 3",
    )
    rows: list[Row] = []
    for sentence in sentences:
        rows += [row("  ", line) for line in wrapped(sentence, cells - 4)] or [BLANK]
    return rows


def aside_rows(one: CircuitRow, cells: int, lines: int) -> list[Row]:
    """Show the chosen circuit beside the list: its ring, its stations, its note."""
    count = len(one.circuit.stations)
    rows: list[Row] = [row(TextSpan(cut(one.circuit.name, cells), "bold")), BLANK]
    tall = min(13, max(0, lines - count - 6))
    drawn = floor_rows(count, frozenset(), cells, tall)
    rows += [*drawn, BLANK] if drawn else []
    for number, station in enumerate(one.circuit.stations, 1):
        load = f"  {station.load.typed}" if station.load else ""
        name = fit(station.name, cells - 4 - len(load))
        rows.append(
            row(TextSpan(f"{number:>2}", "dim"), "  ", name, TextSpan(load, "dim"))
        )
    if one.circuit.note:
        rows.append(BLANK)
        rows += [
            row(TextSpan(line, "dim")) for line in wrapped(one.circuit.note, cells)
        ]
    return rows
