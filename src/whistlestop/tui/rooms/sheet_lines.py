"""The words of the station sheet: what will happen, station by station.

Pure: a draft of today's session in, rows out. It knows no screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.duration import clock
from whistlestop.domain.plan import AT_STATION, Kind, Plan
from whistlestop.tui.rooms.caution_lines import applied, caution_rows
from whistlestop.tui.rooms.floor_lines import floor_rows
from whistlestop.tui.rooms.kit_lines import kit_rows, lay_out
from whistlestop.tui.rooms.station_lines import drill_words, station_rows
from whistlestop.tui.rooms.today import SETTINGS, Draft, Setting
from whistlestop.tui.rooms.words import counted, seconds_words
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Column,
    Row,
    Span,
    Tone,
    beside,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

TWO_FROM: Final = 112
THREE_FROM: Final = 168
_GAP: Final = 4
_RING_CELLS: Final = 38
_MIDDLE_CELLS: Final = 46
_CARE_WIDEST: Final = 66
_TABLE_WIDEST: Final = 92
STOP_RULE: Final = (
    "Sharp pain, dizziness, chest pressure: stop. {key} ends a session for health."
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows of a sheet, and where each choice stands: settings, then stations.

    `head` stays in sight while the rows scroll.
    """

    head: tuple[Row, ...]
    rows: tuple[Row, ...]
    spots: tuple[tuple[int, int], ...]


def sheet(draft: Draft, chosen: int, cells: int) -> Sheet:
    """Lay the sheet out in one, two or three columns, as the width allows."""
    plan = draft.plan
    head = (totals_row(draft), BLANK)
    if cells >= THREE_FROM:
        own = min(_TABLE_WIDEST, (cells - 2 * _GAP) // 2 - 4)
        last = min(_CARE_WIDEST, cells - own - _MIDDLE_CELLS - 2 * _GAP)
        main, spots = _main(draft, chosen, own)
        main += [BLANK, *_inset(_note_rows(draft, own - 4))]
        columns = [
            Column(main, own),
            Column(_floor(draft, _MIDDLE_CELLS), _MIDDLE_CELLS),
            Column(caution_rows(plan, last), last),
        ]
    elif cells >= TWO_FROM:
        own = min(_TABLE_WIDEST, cells - _RING_CELLS - _GAP)
        main, spots = _main(draft, chosen, own)
        for block in (caution_rows(plan, own - 4), _note_rows(draft, own - 4)):
            main += [BLANK, *_inset(block)] if block else []
        columns = [Column(main, own), Column(_floor(draft, _RING_CELLS), _RING_CELLS)]
    else:
        main, spots = _main(draft, chosen, cells)
        inner = cells - 4
        for block in (
            kit_rows(plan, inner),
            caution_rows(plan, inner),
            _note_rows(draft, inner),
            _ring(draft, inner, 11),
        ):
            main += [BLANK, *_inset(block)] if block else []
        return Sheet(head, tuple(main), tuple(spots))
    return Sheet(head, tuple(beside(columns, _GAP)), tuple(spots))


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
        said = f"   and {counted(plan.open_gates, 'wait')} for you"
        spans.append(Span(said, "dim"))
    return tuple(spans)


def _main(
    draft: Draft, chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """The settings of today, the stations, and the chosen one in full."""
    rows: list[Row] = []
    spots: list[tuple[int, int]] = []
    for index, setting in enumerate(SETTINGS):
        spots.append((0 if index == 0 else len(rows), len(rows)))
        rows.append(_setting_row(draft, setting, chosen=index == chosen))
    rows.append(BLANK)
    first = len(rows) + 1  # the heads of the table come first
    at_station = chosen - len(SETTINGS) + 1
    rows += station_rows(draft, at_station, cells)
    # The last station brings the line below the table into view.
    count = len(draft.circuit.stations)
    spots += [(first + i, first + i + (i == count - 1)) for i in range(count)]
    below = _in_full(draft, at_station) if at_station > 0 else _below_words(draft.plan)
    rows.append(row("     ", Span(cut(below, cells - 5), "dim")))
    return rows, spots


def _in_full(draft: Draft, number: int) -> str:
    """The chosen station in words that are not cut at a column."""
    station = draft.circuit.stations[number - 1]
    said = [station.name, " then ".join(station.parts)]
    drill = drill_words(draft, number)
    said += [f"then {drill}"] if drill else []
    return " · ".join(one for one in said if one)


def _below_words(plan: Plan) -> str:
    kit = sum(not thing.is_place for thing in lay_out(plan))
    care = len(applied(plan))
    said = [counted(kit, "thing") + " to lay out"] if kit else []
    said += [counted(care, "caution")] if care else []
    return ", ".join(said)


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
    note = f"   {was} as written" if is_changed else ""
    if is_changed and setting != "loops":
        note += ", now at every station"
    tones: dict[Setting, Tone] = {"loops": "bold", "work": "work", "recover": "recover"}
    return row(
        Span("▌ " if chosen else "  ", "bold"),
        Span(fit(setting, 9), "bold" if chosen else "text"),
        Span(fit(value, 9, right=True), tones[setting]),
        Span("  ← →" if chosen else "     ", "bold"),
        Span(note, "dim"),
    )


def _lengths(plan: Plan, kinds: frozenset[Kind]) -> list[int]:
    """How long each stay at a station is, or each recovery, in ms."""
    sums: dict[tuple[int, int], int] = {}
    for segment in plan.segments:
        if segment.kind in kinds and segment.place:
            sums[segment.place] = sums.get(segment.place, 0) + segment.duration_ms
    return list(sums.values())


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
    return [*_ring(draft, cells, 13), BLANK, *kit_rows(draft.plan, cells)]


def _ring(draft: Draft, cells: int, lines: int) -> list[Row]:
    count, out = len(draft.circuit.stations), draft.today.without_stations
    return floor_rows(count, out, min(cells, _RING_CELLS), lines)


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
    rows: list[Row] = [heading("Notes")]
    for note in notes:
        rows += [row(Span(line, "text")) for line in wrapped(note, cells)]
    return rows
