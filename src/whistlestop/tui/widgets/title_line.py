"""The title line: a name board on a rail, with what the room is about beside it."""

from __future__ import annotations

from typing import Final

from whistlestop.tui.widgets.safe_text import Row, Span, cut, row, width_of

_RAIL: Final = "━"
_LEAST_SUBJECT: Final = 12


def title_row(room: str, subject: str, state: str, cells: int) -> Row:
    """Set a room's name, its subject and a word of state on one row of `cells`."""
    board = row(Span(_RAIL * 2, "dim"), Span(f" {room} ", "board"))
    end = row(Span(f" {state} ", "bold"), Span(_RAIL * 2, "dim")) if state else row()
    left = cells - width_of(board) - width_of(end) - 4
    if subject and left >= _LEAST_SUBJECT:
        kept = cut(subject, left)
        board = (*board, Span(_RAIL * 2, "dim"), Span(f" {kept} ", "bold"))
    rest = cells - width_of(board) - width_of(end)
    return (*board, Span(_RAIL * max(0, rest), "dim"), *end)
