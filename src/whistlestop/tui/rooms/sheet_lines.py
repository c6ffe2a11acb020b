"""The words of the station sheet: what will happen, station by station.

Pure: a draft of today's session in, rows out. It knows no screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.circuit import Station
from whistlestop.domain.duration import clock
from whistlestop.domain.plan import AT_STATION, Kind, Plan
from whistlestop.tui.ring import floor_ring
from whistlestop.tui.rooms.caution_lines import applied, caution_rows
from whistlestop.tui.rooms.kit_lines import kit_rows, lay_out
from whistlestop.tui.rooms.today import SETTINGS, Draft, Setting
from whistlestop.tui.rooms.words import counted, seconds_words
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Column,
    Row,
    Span,
    beside,
    fit,
    row,
    wrapped,
)

TWO_FROM: Final = 112
THREE_FROM: Final = 168
_GAP: Final = 4
_RING_CELLS: Final = 38
_TABLE_WIDEST: Final = 86
STOP_RULE: Final = (
    "Sharp pain, dizziness, chest pressure: stop. {key} ends a session for health."
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows of a sheet, and where each choice stands: settings, then stations."""

    rows: tuple[Row, ...]
    spots: tuple[tuple[int, int], ...]


def sheet(draft: Draft, chosen: int, cells: int) -> Sheet:
    """Lay the sheet out in one, two or three columns, as the width allows."""
    plan = draft.plan
    if cells >= THREE_FROM:
        own = min(_TABLE_WIDEST, (cells - 2 * _GAP) // 2 - 4)
        middle = max(_RING_CELLS, 46)
        last = min(70, cells - own - middle - 2 * _GAP)
        main, spots = _main(draft, chosen, own)
        care = [*caution_rows(plan, last), *_note_rows(draft, last)]
        columns = [
            Column(main, own),
            Column(_floor(draft, middle), middle),
            Column(care, last),
        ]
    elif cells >= TWO_FROM:
        right = _RING_CELLS
        own = min(_TABLE_WIDEST, cells - right - _GAP)
        main, spots = _main(draft, chosen, own)
        below = [*caution_rows(plan, own - 4), *_note_rows(draft, own - 4)]
        main += [BLANK, *_inset(below)]
        columns = [Column(main, own), Column(_floor(draft, right), right)]
    else:
        main, spots = _main(draft, chosen, cells)
        inner = cells - 4
        for block in (
            kit_rows(plan, inner),
            caution_rows(plan, inner),
            _note_rows(draft, inner),
            _ring_rows(draft, inner, 11),
        ):
            main += [BLANK, *_inset(block)] if block else []
        return Sheet(tuple(main), tuple(spots))
    return Sheet(tuple(beside(columns, _GAP)), tuple(spots))


def _inset(rows: Sequence[Row]) -> list[Row]:
    return [(Span("  "), *one) if one else BLANK for one in rows]


def totals_row(draft: Draft) -> Row:
    """Say how long it all is, and of what."""
    plan = draft.plan
    spans = [
        *row("  ", Span(clock(plan.total_ms), "bold"), " in all   "),
        *row(Span(f"work {clock(plan.work_ms)}", "work"), "   "),
        *row(f"{counted(len(plan.stations), 'station')} × {plan.loops}"),
    ]
    if plan.open_gates:
        waits = "waits" if plan.open_gates == 1 else "waits, as long as you like"
        said = f"   and {plan.open_gates} {waits}"
        spans.append(Span(said, "dim"))
    return tuple(spans)


def _main(
    draft: Draft, chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """Totals, the settings of today, and the stations."""
    rows: list[Row] = [totals_row(draft), BLANK]
    spots: list[tuple[int, int]] = []
    for index, setting in enumerate(SETTINGS):
        spots.append((0 if index == 0 else len(rows), len(rows)))
        rows.append(_setting_row(draft, setting, chosen=index == chosen))
    rows += [BLANK, _header(cells)]
    for number, station in enumerate(draft.circuit.stations, 1):
        spots.append((len(rows), len(rows)))
        is_chosen = chosen == len(SETTINGS) + number - 1
        rows.append(_station_row(draft, number, station, (is_chosen, cells)))
    below = _below_words(draft.plan)
    if cells < TWO_FROM and below:
        rows.append(row("  ", Span(below, "dim")))
    return rows, spots


def _below_words(plan: Plan) -> str:
    kit, care = len(lay_out(plan)), len(applied(plan))
    said = [counted(kit, "thing") + " to lay out"] if kit else []
    said += [counted(care, "caution")] if care else []
    return "below: " + ", ".join(said) if said else ""


def _setting_row(draft: Draft, setting: Setting, *, chosen: bool) -> Row:
    circuit, today = draft.circuit, draft.today
    if setting == "loops":
        value, was = f"{draft.plan.loops}", f"{circuit.loops}"
        is_changed = today.loops is not None
    else:
        kinds = AT_STATION if setting == "work" else frozenset({Kind.RECOVER})
        own = today.work_ms if setting == "work" else today.recover_ms
        written = circuit.work_ms if setting == "work" else circuit.recover_ms
        lengths = _lengths(draft.plan, kinds)
        value, was = f"{seconds_words(lengths)} s", f"{written // 1000} s"
        is_changed = own is not None
        if own is not None:
            value = f"{own // 1000} s"
    arrows = ("← ", " →") if chosen else ("  ", "  ")
    note = f"   {was} as written" if is_changed else ""
    if is_changed and setting != "loops":
        note += ", now at every station"
    return row(
        Span("▌ " if chosen else "  ", "bold"),
        Span(fit(setting, 9), "bold" if chosen else "dim"),
        Span(arrows[0], "dim"),
        Span(fit(value, 8, right=True), "bold" if chosen or is_changed else "text"),
        Span(arrows[1], "dim"),
        Span(note, "dim"),
    )


def _lengths(plan: Plan, kinds: frozenset[Kind]) -> list[int]:
    """How long each stay at a station is, or each recovery, in ms."""
    sums: dict[tuple[int, int], int] = {}
    for segment in plan.segments:
        if segment.kind in kinds and segment.place:
            sums[segment.place] = sums.get(segment.place, 0) + segment.duration_ms
    return list(sums.values())


def _columns(cells: int) -> tuple[int, ...]:
    """Cells of name, parts, load, tempo, work / recover, drill."""
    rest = cells - 5
    fixed = (11, 11, 9, 12)
    flexible = rest - sum(fixed) - 1
    name = flexible * 3 // 5
    return (name, *fixed, flexible - name)


def _header(cells: int) -> Row:
    heads = ("station", "sides", "load", "tempo", "work / rest", "drill")
    widths = _columns(cells)
    said = "".join(
        fit(head, width, right=head.startswith("work")) + " " * head.startswith("work")
        for head, width in zip(heads, widths, strict=True)
    )
    return row(Span("     " + said, "dim"))


def _station_row(
    draft: Draft, number: int, station: Station, shape: tuple[bool, int]
) -> Row:
    chosen, cells = shape
    name, parts, load, tempo, times, drill = _columns(cells)
    head = row(
        Span("▌" if chosen else " ", "bold"),
        Span(f"{number:>3} ", "bold" if chosen else "dim"),
    )
    if number in draft.today.without_stations:
        said = fit(station.name, name) + "left out today"
        return (*head, Span(said, "dim"))
    stays = [s for s in draft.plan.segments if s.station == number]
    work, rest = _times(draft.plan, number)
    loads = list(dict.fromkeys(s.load for s in stays if s.load))
    hold = "hold, then " if station.hold else ""
    sides = ", ".join(station.parts)
    rest_cells = max(1, times - len(work) - 3)
    return (
        *head,
        Span(fit(hold + station.name, name - 1) + " ", "bold" if chosen else "text"),
        Span(fit(sides, parts - 1) + " "),
        Span(fit(_loads_words(loads), load - 1) + " "),
        Span(fit(str(station.tempo or ""), tempo)),
        Span(" " * max(0, times - len(work) - len(rest) - 3)),
        Span(work, "work"),
        Span(" / ", "dim"),
        Span(rest[:rest_cells], "recover"),
        Span(" "),
        Span(fit(station.drill.name if station.drill else "", drill), "dim"),
    )


def _loads_words(loads: Sequence[str]) -> str:
    """One load as typed; of several the first, and that there are more."""
    if len(loads) < 2:
        return "".join(loads)
    return f"{loads[0]} +{len(loads) - 1}"


def _times(plan: Plan, number: int) -> tuple[str, str]:
    own = [s for s in plan.segments if s.station == number]
    work: dict[int, int] = {}
    rest: list[int] = []
    for segment in own:
        if segment.kind in AT_STATION and segment.loop:
            work[segment.loop] = work.get(segment.loop, 0) + segment.duration_ms
        elif segment.kind is Kind.RECOVER:
            rest.append(segment.duration_ms)
    return seconds_words(list(work.values())), seconds_words(rest)


def _floor(draft: Draft, cells: int) -> list[Row]:
    """The ring as the stations stand, and the kit below it."""
    return [*_ring_rows(draft, cells, 13), BLANK, *kit_rows(draft.plan, cells)]


def _ring_rows(draft: Draft, cells: int, lines: int) -> list[Row]:
    count = len(draft.circuit.stations)
    ring = floor_ring(
        count,
        present=None,
        next_=None,
        done=frozenset(),
        width=min(cells, _RING_CELLS),
        height=lines,
    )
    rows: list[Row] = []
    dropped = draft.today.without_stations
    for index, line in enumerate(ring.lines):
        spans: list[Span] = []
        at = 0
        for place in sorted(s for s in ring.spans if s.row == index):
            end = place.col + place.length
            out = place.station in dropped
            mark = "·" * place.length if out else line[place.col : end]
            spans += [Span(line[at : place.col]), Span(mark, "dim" if out else "bold")]
            at = end
        rows.append((*spans, Span(line[at:])))
    return rows


def _note_rows(draft: Draft, cells: int) -> list[Row]:
    """What the circuit and its stations say themselves."""
    notes = [draft.circuit.note] if draft.circuit.note else []
    notes += [
        f"{number} {station.name}: {station.note}"
        for number, station in enumerate(draft.circuit.stations, 1)
        if station.note and number not in draft.today.without_stations
    ]
    if not notes:
        return []
    rows: list[Row] = [BLANK, row(Span("Notes", "bold"))]
    for note in notes:
        rows += [row(Span(line, "text")) for line in wrapped(note, cells)]
    return rows
