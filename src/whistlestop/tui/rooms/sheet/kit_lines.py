"""What to lay out before a session, and what of the kit clashes, in the sheet's form.

Pure: facts of a sheet in, rows out.
"""

from __future__ import annotations

from typing import Final

from whistlestop.domain.columns import widest
from whistlestop.domain.kit.floor_list import FloorItem
from whistlestop.domain.kit.owned_loads import LoadLine
from whistlestop.prints.sheet_facts import SheetFacts
from whistlestop.tui.rooms.frame.words import counted, numbers_text
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, fit, row, wrapped
from whistlestop.tui.widgets.title_line import heading

_NAME_MOST: Final = 18
_LOAD_MOST: Final = 14


def kit_rows(facts: SheetFacts, cells: int) -> list[Row]:
    """Say what to lay out and what to keep clear, one thing a line."""
    items = facts.floor.items
    if not items:
        rows = [heading("No kit to lay out")]
    else:
        rows = [heading(f"Lay out {counted(len(items), 'thing')}, in floor order")]
    name_cells = min(_NAME_MOST, widest(map(_name, items)) + 1)
    load_cells = min(_LOAD_MOST, widest(map(_load, items)) + 1)
    lacking = {i.name for i in items if i.name in facts.floor.missing}
    marks = 2 if lacking else 0
    left = cells - marks - name_cells - load_cells
    for item in items:
        mark = "! " if item.name in lacking else "  "
        rows.append(
            row(
                TextSpan(mark[:marks], "bold"),
                fit(_name(item), name_cells),
                TextSpan(fit(_load(item), load_cells), "bold"),
                TextSpan(fit(_where(item), left), "dim"),
            )
        )
    if lacking:
        rows.append(row(TextSpan("! ", "bold"), TextSpan("not in your kit", "dim")))
    if facts.floor.places:
        text = "Keep clear: " + ", ".join(facts.floor.places)
        rows += [row(TextSpan(line, "dim")) for line in wrapped(text, cells)]
    for sentence in facts.clashes:
        rows += hanging("! ", sentence, cells)
    if facts.loads:
        rows += [BLANK, *load_rows(facts.loads, cells)]
    return rows


def load_rows(loads: tuple[LoadLine, ...], cells: int) -> list[Row]:
    """Say of each load what was wanted and what is here, stations drawn together."""
    where: dict[tuple[str, bool], list[int]] = {}
    for line in loads:
        where.setdefault((line.words, line.asks), []).append(line.station)
    rows: list[Row] = [heading("Loads from your kit")]
    for (words, asks), stations in where.items():
        mark = "! " if asks else "  "
        rows += hanging(mark, f"{numbers_text(stations)}: {words}", cells)
    return rows


def hanging(mark: str, text: str, cells: int) -> list[Row]:
    """A mark, then text that is wrapped beside it."""
    lines = wrapped(text, cells - len(mark))
    heads = [mark, *[" " * len(mark)] * len(lines)]
    return [
        row(TextSpan(head, "bold"), line)
        for head, line in zip(heads, lines, strict=False)
    ]


def _name(item: FloorItem) -> str:
    return item.name if item.count == 1 else f"{item.count} x {item.name}"


def _load(item: FloorItem) -> str:
    return f"{item.load} each" if item.load and item.count > 1 else item.load


def _where(item: FloorItem) -> str:
    sentences = []
    if item.stations:
        sentences.append(f"at {numbers_text(item.stations)}")
    if item.drills:
        sentences.append(f"drill after {numbers_text(item.drills)}")
    return ", ".join(sentences)
