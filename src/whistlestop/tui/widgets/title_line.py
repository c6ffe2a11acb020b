"""Rails: the title line with its name board, headings, and shares as drawn lengths."""

from __future__ import annotations

from typing import Final

from whistlestop.tui.widgets.safe_text import Row, TextSpan, cut, row, width_of

_RAIL: Final = "━"
_LEAST_SUBJECT: Final = 12


def heading(words: str) -> Row:
    """Name a section, with the beginning of a rail before it."""
    return row(TextSpan(_RAIL * 2, "dim"), " ", TextSpan(words, "bold"))


def rail(cells: int, permille: int) -> Row:
    """Draw a share as a rail: heavy as far as it goes, thin for the rest."""
    done = cells * min(max(permille, 0), 1000) // 1000
    return row(TextSpan(_RAIL * done, "work"), TextSpan("─" * (cells - done), "dim"))


def title_row(room: str, subject: str, state: str, cells: int) -> Row:
    """Set a room's name, its subject and a word of state on one row of `cells`."""
    board = row(TextSpan(_RAIL * 2, "dim"), TextSpan(f" {room} ", "board"))
    end = (
        row(TextSpan(f" {state} ", "bold"), TextSpan(_RAIL * 2, "dim"))
        if state
        else row()
    )
    left = cells - width_of(board) - width_of(end) - 4
    if subject and left >= _LEAST_SUBJECT:
        kept = cut(subject, left)
        board = (*board, TextSpan(_RAIL * 2, "dim"), TextSpan(f" {kept} ", "bold"))
    rest = cells - width_of(board) - width_of(end)
    return (*board, TextSpan(_RAIL * max(0, rest), "dim"), *end)
