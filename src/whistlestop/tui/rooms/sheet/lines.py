"""The words of the station sheet: what will happen, station by station.

Pure: a draft of today's session and the facts of it in, rows out. It knows no screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.circuit.advice import source_lines
from whistlestop.domain.duration import clock
from whistlestop.domain.person import NOBODY, Person
from whistlestop.prints.sheet_facts import SheetFacts, gather
from whistlestop.tui.rooms.frame.words import SILENCE, counted, limit_text
from whistlestop.tui.rooms.sheet.caution_lines import caution_rows
from whistlestop.tui.rooms.sheet.floor_lines import floor_rows
from whistlestop.tui.rooms.sheet.kit_lines import hanging, kit_rows
from whistlestop.tui.rooms.sheet.setting_lines import setting_row
from whistlestop.tui.rooms.sheet.station_lines import drill_text, station_rows
from whistlestop.tui.rooms.sheet.today import SETTINGS, Draft
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Column,
    Row,
    TextSpan,
    beside,
    cut,
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
    "Stop on sharp pain, dizziness or chest pressure: press {key} (health stop)."
)


@dataclass(frozen=True, slots=True)
class SheetPage:
    """The rows of a sheet, and where each choice stands: settings, then stations.

    `head` stays in sight while the rows scroll.
    """

    head: tuple[Row, ...]
    rows: tuple[Row, ...]
    row_ranges: tuple[tuple[int, int], ...]


def facts_of(
    draft: Draft, silenced: frozenset[str] = frozenset(), person: Person = NOBODY
) -> SheetFacts:
    """Gather what the sheet of a draft says."""
    return gather(
        draft.as_performed,
        draft.plan,
        draft.means,
        loads=draft.lines,
        silenced=silenced,
        person=person,
    )


def sheet(
    draft: Draft, chosen: int, cells: int, facts: SheetFacts | None = None
) -> SheetPage:
    """Lay the sheet out in one, two or three columns, as the width allows."""
    known = facts or facts_of(draft)
    head = (totals_row(draft), BLANK)
    if cells >= THREE_FROM:
        rows, row_ranges = _three(draft, known, chosen, cells)
    elif cells >= TWO_FROM:
        rows, row_ranges = _two(draft, known, chosen, cells)
    else:
        rows, row_ranges = _one(draft, known, chosen, cells)
    return SheetPage(head, tuple(rows), tuple(row_ranges))


_SheetRows = tuple[list[Row], list[tuple[int, int]]]


def _one(draft: Draft, facts: SheetFacts, chosen: int, cells: int) -> _SheetRows:
    main, row_ranges = _main(draft, facts, chosen, cells)
    inner = cells - 4
    blocks = (
        way_rows(facts, inner),
        kit_rows(facts, inner),
        caution_rows(facts, inner),
        warm_up_rows(draft, facts, inner),
        advice_rows(facts, inner),
        _note_rows(draft, inner),
        _ring(draft, inner, 11),
    )
    return [*main, *_stacked(blocks)], row_ranges


def _two(draft: Draft, facts: SheetFacts, chosen: int, cells: int) -> _SheetRows:
    own = min(_TABLE_WIDEST, cells - _RING_CELLS - _GAP)
    main, row_ranges = _main(draft, facts, chosen, own)
    blocks = (
        way_rows(facts, own - 4),
        caution_rows(facts, own - 4),
        advice_rows(facts, own - 4),
        _note_rows(draft, own - 4),
    )
    columns = [
        Column([*main, *_stacked(blocks)], own),
        Column(_floor(draft, facts, _RING_CELLS), _RING_CELLS),
    ]
    return beside(columns, _GAP), row_ranges


def _three(draft: Draft, facts: SheetFacts, chosen: int, cells: int) -> _SheetRows:
    own = min(_TABLE_WIDEST, (cells - 2 * _GAP) // 2 - 4)
    last = min(_CARE_WIDEST, cells - own - _MIDDLE_CELLS - 2 * _GAP)
    main, row_ranges = _main(draft, facts, chosen, own)
    blocks = (
        way_rows(facts, own - 4),
        advice_rows(facts, own - 4),
        _note_rows(draft, own - 4),
    )
    columns = [
        Column([*main, *_stacked(blocks)], own),
        Column(_floor(draft, facts, _MIDDLE_CELLS), _MIDDLE_CELLS),
        Column(caution_rows(facts, last), last),
    ]
    return beside(columns, _GAP), row_ranges


def _stacked(blocks: Sequence[Sequence[Row]]) -> list[Row]:
    """Blocks one below the other, a little in from the left; empty ones are left."""
    rows: list[Row] = []
    for block in blocks:
        if block:
            rows += [
                BLANK,
                *((TextSpan("  "), *one) if one else BLANK for one in block),
            ]
    return rows


def totals_row(draft: Draft) -> Row:
    """Say how long it all is, and of what."""
    plan = draft.plan
    spans = [
        *row("  ", TextSpan(clock(plan.total_ms), "bold"), " in all   "),
        *row(TextSpan(f"work {clock(plan.work_ms)}", "work"), "   "),
        *row(f"{counted(len(plan.stations), 'station')} × {plan.loops}"),
    ]
    if plan.open_gates:
        text = f"   plus {counted(plan.open_gates, 'wait')} for a key"
        spans.append(TextSpan(text, "dim"))
    return tuple(spans)


def _main(
    draft: Draft, facts: SheetFacts, chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """The settings of today, the stations, and the chosen one in full."""
    rows: list[Row] = []
    row_ranges: list[tuple[int, int]] = []
    for index, setting in enumerate(SETTINGS):
        row_ranges.append((0 if index == 0 else len(rows), len(rows)))
        rows.append(setting_row(draft, setting, chosen=index == chosen))
    rows.append(BLANK)
    starts: list[int] = []
    at_station = chosen - len(SETTINGS) + 1
    blocked = {one.station for one in facts.blocked}
    heads, *lines = station_rows(draft, at_station, cells, blocked)
    rows.append(heads)
    marks = limit_marks(facts)
    ends: list[int] = []
    for number, line in enumerate(lines, 1):
        starts.append(len(rows))
        rows.append(line)
        rows += [
            row("     ", TextSpan(cut(mark, cells - 5), "bold"))
            for mark in marks.get(number, ())
        ]
        ends.append(len(rows) - 1)
    below = _in_full(draft, facts, at_station) if at_station > 0 else [
        _below_text(facts)
    ]  # fmt: skip
    # The last station brings the lines below the table into view, and so does any
    # that is chosen and has more to say than one line.
    count = len(draft.circuit.stations)
    end = ends[-1] + len(below)
    brings = {count, at_station if len(below) > 1 else count}
    row_ranges += [
        (starts[i], end if i + 1 in brings else ends[i]) for i in range(count)
    ]
    rows += [row("     ", TextSpan(cut(line, cells - 5), "dim")) for line in below]
    return rows, row_ranges


def limit_marks(facts: SheetFacts) -> dict[int, list[str]]:
    """What is limited at a station, and what one key swaps in, one line each."""
    marks: dict[int, list[str]] = {}
    for one in facts.blocked:
        if not one.limits:
            continue
        named = ", ".join(dict.fromkeys(limit_text(limit) for limit in one.limits))
        after = "drill: " if one.is_drill else ""
        name = one.drill.name if one.drill else one.instead and one.instead.name
        if one.instead is not None and name == one.name:
            # The same with other kit, or without a weight: its name alone says nothing.
            name = one.instead.reasons[0]
        swap = f"s swaps in {name}" if name else "no swap; d leaves it out"
        marks.setdefault(one.station, []).append(f"{after}{named} · {swap}")
    return marks


def _in_full(draft: Draft, facts: SheetFacts, number: int) -> list[str]:
    """The chosen station in words that are not cut at a column, and its problems."""
    station = draft.as_performed.stations[number - 1]
    sentences = [station.name, " then ".join(station.parts)]
    drill = drill_text(draft, number)
    sentences += [f"then {drill}"] if drill else []
    lines = [" · ".join(one for one in sentences if one)]
    if number in draft.changes.exchanges:
        was = draft.circuit.stations[number - 1].name
        reasons = ", ".join(draft.changes.exchanges[number].reasons)
        lines.append(
            f"~ for {was}: {reasons}" if was != station.name else f"~ {reasons}"
        )
    for one in facts.blocked:
        if one.station == number:
            lines.append(f"! {'drill: ' * one.is_drill}{one.why}")
            lines += [f"s: {one.swap}"] if one.swap else []
    lines += [
        f"! {line.words}" if line.asks else line.words
        for line in facts.loads
        if line.station == number and (line.asks or line.resolved.steps)
    ]
    return lines


def _below_text(facts: SheetFacts) -> str:
    drills = sum(one.is_drill for one in facts.blocked)
    counts = (
        (len(facts.blocked) - drills, "station", " blocked"),
        (drills, "drill", " blocked"),
        (len(facts.floor.items), "thing", " to lay out"),
        (len(facts.cautions), "caution", ""),
    )
    return ", ".join(counted(count, one) + rest for count, one, rest in counts if count)


def _floor(draft: Draft, facts: SheetFacts, cells: int) -> list[Row]:
    """The ring as the stations stand, the kit below it, and the warm-up."""
    rows = [*_ring(draft, cells, 13), BLANK, *kit_rows(facts, cells)]
    return [*rows, BLANK, *warm_up_rows(draft, facts, cells)]


def _ring(draft: Draft, cells: int, lines: int) -> list[Row]:
    count, out = len(draft.circuit.stations), draft.today.without_stations
    return floor_rows(count, out, min(cells, _RING_CELLS), lines)


# --- Blocks ---------------------------------------------------------------------


def way_rows(facts: SheetFacts, cells: int) -> list[Row]:
    """Name what kit and limits stand against, with the best thing to do instead."""
    if not facts.blocked and not facts.reviews:
        return []
    rows: list[Row] = [heading("Blocked today")] if facts.blocked else []
    for one in facts.blocked:
        rows += hanging("! ", f"{one.number_and_name}: {one.why}", cells)
        text = f"s swaps in {one.swap}"
        if not one.swap:
            text = "no swap in your kit; d leaves it out"
        rows += [row("  ", TextSpan(line, "dim")) for line in wrapped(text, cells - 2)]
    for review in facts.reviews:
        rows += hanging("? ", review.sentence, cells)
    return rows


def warm_up_rows(draft: Draft, facts: SheetFacts, cells: int) -> list[Row]:
    """The warm-up that is in the plan, or the one that could be."""
    chosen = draft.changes.warm_up
    items = facts.warm_up
    if chosen is not None and not chosen and draft.circuit.warm_up:
        return [heading("No warm-up today")]
    total_ms = sum(item.duration_ms for item in items)
    is_in = bool(draft.as_performed.warm_up)
    text = f"Warm-up, {clock(total_ms)}"
    rows: list[Row] = [heading(text if is_in else f"{text}, not added yet")]
    for item in items:
        time = f"{clock(item.duration_ms)}  "
        rows += [
            row(TextSpan(time if not at else " " * len(time), "dim"), line)
            for at, line in enumerate(wrapped(item.name, cells - len(time)))
        ]
    return rows


def advice_rows(facts: SheetFacts, cells: int) -> list[Row]:
    """Each note with the rule it follows, and how to silence one."""
    if not facts.advice:
        return []
    rows: list[Row] = [heading("Advice on station order")]
    for one in facts.advice:
        rows += hanging("· ", f"{one.sentence} ({one.rule})", cells)
    sentences = (*source_lines(facts.advice), SILENCE.format(rule=facts.advice[0].rule))
    rows += [
        row(TextSpan(one, "dim")) for line in sentences for one in wrapped(line, cells)
    ]
    return rows


def _note_rows(draft: Draft, cells: int) -> list[Row]:
    """What the circuit and its stations say themselves."""
    notes = [draft.circuit.note] if draft.circuit.note else []
    notes += [
        f"{number} {station.name}: {station.note}"
        for number, station in enumerate(draft.as_performed.stations, 1)
        if station.note and number not in draft.today.without_stations
    ]
    if not notes:
        return []
    rows: list[Row] = [heading("Notes")]
    for note in notes:
        rows += [row(TextSpan(line, "text")) for line in wrapped(note, cells)]
    return rows
