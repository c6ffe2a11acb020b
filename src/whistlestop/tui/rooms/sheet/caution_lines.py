"""The cautions of exactly the stations and drills of a plan, in the sheet's form."""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.prints.sheet_facts import SheetFacts
from whistlestop.tui.rooms.frame.words import numbers_text
from whistlestop.tui.rooms.sheet.kit_lines import hanging
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row, wrapped
from whistlestop.tui.widgets.title_line import heading


def caution_rows(facts: SheetFacts, cells: int) -> list[Row]:
    """Say each caution with its stations, then what goes with the things."""
    rows: list[Row] = [heading("Take care")]
    for one in facts.cautions:
        caution = one.caution
        where = where_text(one.stations, one.drills)
        rows.append(row(TextSpan(caution.title, "bold"), TextSpan(f"  {where}", "dim")))
        rows += [row(line) for line in wrapped(caution.sheet, cells)]
        rows.append(BLANK)
    for note in facts.things:
        rows += hanging("· ", note, cells)
    return rows


def where_text(stations: Sequence[int], after: Sequence[int]) -> str:
    """Say stations, and drills by the stations they follow."""
    sentences = []
    if stations:
        sentences.append(numbers_text(stations))
    if after:
        sentences.append(f"drill after {numbers_text(after)}")
    return ", ".join(sentences)
