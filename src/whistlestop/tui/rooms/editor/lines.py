"""The words of the editor: totals, settings, stations, and what to think about.

Pure: a circuit with its remarks in, rows out. It knows no screen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from whistlestop.domain.circuit.advice import source_lines
from whistlestop.domain.circuit.circuit import FIGURES as IN_FIGURES
from whistlestop.domain.circuit.circuit import Circuit, Station, TimedItem
from whistlestop.domain.duration import clock
from whistlestop.tui.rooms.editor.live import OTHER, LiveFacts
from whistlestop.tui.rooms.editor.loops_lines import loops_text
from whistlestop.tui.rooms.editor.steps import OPENED
from whistlestop.tui.rooms.editor.steps import SETTINGS as SETTINGS_BY_LABEL
from whistlestop.tui.rooms.frame.words import SILENCE, counted
from whistlestop.tui.rooms.library.card_lines import tempo_text
from whistlestop.tui.rooms.library.known import KnownLibrary
from whistlestop.tui.rooms.sheet.station_lines import station_rows
from whistlestop.tui.rooms.sheet.today import Draft
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    Tone,
    cut,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

LINES: Final = ("name", "note")
FIGURES: Final = tuple(
    label for label, one in SETTINGS_BY_LABEL.items() if one.group == IN_FIGURES
)
MORE: Final = ("each loop",)
SETTINGS: Final = (*LINES, *FIGURES, *MORE)
_VALUE_CELLS: Final = 12
_LABEL_CELLS: Final = 12
_TABLE_WIDEST: Final = 96
_DOTS: Final = 8
_NOTHING: Final = {"each loop": "all the same"}
_EMPTY: Final = "No station yet. Press a to add the first one."


@dataclass(frozen=True, slots=True)
class EditorPage:
    """The rows of the editor; on which lines each setting and station stands."""

    head: tuple[Row, ...]
    rows: tuple[Row, ...]
    row_ranges: tuple[tuple[int, int], ...]


def editor_page(now: LiveFacts, chosen: int, cells: int, *, beside: bool) -> EditorPage:
    """Lay the editor out; `beside` where the remarks have a column of their own."""
    rows: list[Row] = []
    row_ranges: list[tuple[int, int]] = []
    for place, setting in enumerate(LINES):
        row_ranges.append((place, place))
        rows.append(line_row(now.circuit, setting, cells, chosen=place == chosen))
    half = len(FIGURES) // 2
    for place in range(half):
        pair = [
            figure_cells(now.circuit, FIGURES[n], chosen=chosen == n + len(LINES))
            for n in (place, place + half)
        ]
        rows.append((*pair[0], *pair[1]))
    first = len(LINES)
    row_ranges += [(first + n % half, first + n % half) for n in range(len(FIGURES))]
    for place, setting in enumerate(MORE, len(LINES) + len(FIGURES)):
        row_ranges.append((len(rows), len(rows)))
        rows.append(line_row(now.circuit, setting, cells, chosen=place == chosen))
    rows.append(BLANK)
    if now.plan is None:
        rows.append(row("  ", TextSpan(_EMPTY, "bold")))
    else:
        first = len(rows) + 1
        number = chosen - len(SETTINGS) + 1
        table = min(cells, _TABLE_WIDEST)
        draft = Draft.of(now.circuit)
        rows += station_rows(draft, number, table, now.blocked)
        row_ranges += [(first + n, first + n) for n in range(len(now.circuit.stations))]
    if not beside:
        sentences = remark_rows(now, cells - 4)
        rows += (
            [BLANK, *((TextSpan("  "), *one) for one in sentences)] if sentences else []
        )
    number = chosen - len(SETTINGS) + 1
    first_remark = BLANK if beside else remark_row(now, number, cells)
    head: tuple[Row, ...] = (totals_row(now), balance_row(now, cells), first_remark)
    head = head if beside else (*head, BLANK)
    return EditorPage(head, tuple(rows), tuple(row_ranges))


def totals_row(now: LiveFacts) -> Row:
    """Say how long it all is, and of what."""
    plan = now.plan
    if plan is None:
        return row("  ", TextSpan("0:00", "bold"), " in all")
    spans = [
        *row("  ", TextSpan(clock(plan.total_ms), "bold"), " in all   "),
        *row(TextSpan(f"work {clock(plan.work_ms)}", "work"), "   "),
        *row(f"{counted(len(plan.stations), 'station')} × {plan.loops}"),
    ]
    if plan.open_gates:
        text = f"   plus {counted(plan.open_gates, 'wait')} for a key"
        spans.append(TextSpan(text, "dim"))
    return tuple(spans)


def balance_row(now: LiveFacts, cells: int) -> Row:
    """Say how many stations each region has, in figures and drawn."""
    spans: list[TextSpan] = [TextSpan("  ")]
    draws = cells >= 16 * len(now.balance)
    for region, count in now.balance.items():
        if region == OTHER and not count:
            continue
        dots = "●" * min(count, _DOTS) if draws else ""
        spans += [
            TextSpan(f"{region} ", "dim"),
            TextSpan(f"{count}", "bold"),
            TextSpan(f" {dots}   " if dots else "   "),
        ]
    return tuple(spans)


def line_row(circuit: Circuit, setting: str, cells: int, *, chosen: bool) -> Row:
    """Say the name or the note of the circuit."""
    value = setting_value(circuit, setting)
    tone: Tone = "bold" if setting == "name" else "text" if value else "dim"
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(setting, _LABEL_CELLS), "bold" if chosen else "text"),
        TextSpan(cut(value or _NOTHING.get(setting, "none"), cells - 23), tone),
        TextSpan("  Enter" if chosen else "", "bold"),
    )


def figure_cells(circuit: Circuit, setting: str, *, chosen: bool) -> Row:
    """Say a setting that goes up and down, in half a line."""
    value = setting_value(circuit, setting)
    hint = "  Enter     " if setting in OPENED else "  ← →  Enter"
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(setting, _LABEL_CELLS), "bold" if chosen else "text"),
        TextSpan(fit(value, _VALUE_CELLS, right=True), "bold"),
        TextSpan(hint if chosen else " " * 12, "bold"),
    )


def setting_value(circuit: Circuit, setting: str) -> str:
    """The value of a setting as it is shown."""
    if setting == "each loop":
        return loops_text(circuit)
    if setting == "loop break" and circuit.break_until_key:
        return "until a key"
    field = SETTINGS_BY_LABEL[setting]
    value = getattr(circuit, field.name)
    if field.name in {"warm_up", "cool_down"}:
        return _items_value(value)
    return (
        "none" if value is None and setting == "loop break" else field.kind.shown(value)
    )


def _items_value(items: tuple[TimedItem, ...]) -> str:
    total_ms = sum(item.duration_ms for item in items)
    return clock(total_ms) if items else "none"


def remark_row(now: LiveFacts, number: int, cells: int) -> Row:
    """The one remark nearest to what is chosen, and how many there are besides."""
    if not now.remarks:
        return row("  ", TextSpan("No advice." if now.plan else "", "dim"))
    near = [one for one in now.remarks if number in one.stations]
    first = (near or now.remarks)[0]
    rest = len(now.remarks) - 1
    tail = f"   and {rest} more below" if rest else ""
    text = cut(first.sentence, cells - 4 - len(tail))
    mark = "  · " if first.rule else "  ! "
    return row(TextSpan(mark, "bold"), text, TextSpan(tail, "dim"))


def remark_rows(now: LiveFacts, cells: int) -> list[Row]:
    """What to think about: kit and limits first, then advice by rule."""
    if now.plan is None:
        return []
    if not now.remarks:
        return [row(TextSpan("No advice.", "dim"))]
    rows: list[Row] = [heading("Advice")]
    for remark in now.remarks:
        mark = "! " if not remark.rule else "· "
        lines = wrapped(remark.sentence, cells - 2)
        for place, line in enumerate(lines):
            tail = ""
            if place == len(lines) - 1 and len(line) + len(remark.rule) + 4 <= cells:
                tail = f"  {remark.rule}" if remark.rule else ""
            head = TextSpan(mark if place == 0 else "  ", "bold")
            rows.append(row(head, line, TextSpan(tail, "dim")))
    notes = [remark.note for remark in now.remarks if remark.note is not None]
    if notes:
        sentences = (*source_lines(notes), SILENCE.format(rule=notes[0].rule))
        rows += [
            row(TextSpan(one, "dim"))
            for line in sentences
            for one in wrapped(line, cells)
        ]
    return rows


def station_text(station: Station, known: KnownLibrary | None, cells: int) -> list[Row]:
    """The chosen station in full, as far as the library knows it."""
    rows: list[Row] = [row(TextSpan(cut(station.name, cells), "bold"))]
    if station.load is not None:
        rows += _wrapped(f"load {station.load}", cells)
    if station.parts:
        rows += _wrapped(" then ".join(station.parts), cells)
    rows += _wrapped(tempo_text(str(station.tempo) if station.tempo else None), cells)
    rows += _wrapped(", ".join(station.kit) or "no kit", cells)
    if station.drill is not None:
        rows += _wrapped(f"then {station.drill.name}", cells)
    if station.note:
        rows += _wrapped(station.note, cells)
    card = known.cards.get(station.exercise) if known else None
    if card is not None:
        rows += [BLANK, *_wrapped(card.key_point, cells)]
    return rows


def _wrapped(text: str, cells: int) -> list[Row]:
    return [row(TextSpan(line, "dim")) for line in wrapped(text, cells)]


def aside_rows(
    now: LiveFacts, station: Station | None, known: KnownLibrary | None, cells: int
) -> list[Row]:
    """The chosen station and the remarks, for a column of their own."""
    rows = [*station_text(station, known, cells), BLANK] if station else []
    return [*rows, *remark_rows(now, cells)]
