"""The Floor on a screen smaller than its table begins: lines of text and a clock.

Nothing here is meant to be read from afar. What stays longest: clock, name with side
and load, what comes next, the finish time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.tui.canvas import Canvas, Rows
from whistlestop.tui.floor.model import Board, FloorModel
from whistlestop.tui.frames import fit_cells
from whistlestop.tui.raster import LEAST_HEIGHT, clock_lines

_LEAST_CLOCK_ROWS: Final = LEAST_HEIGHT // 2


def paint_small(
    model: FloorModel, width: int, height: int, *, ascii_only: bool = False
) -> Rows:
    """Draw the Floor of one at a small size."""
    lines = [board_line(model.board), next_line(model.next_name), *messages(model)]
    return paint_lines(model, lines, width, height, ascii_only=ascii_only)


def board_line(board: Board) -> str:
    """Name, side and load; the side comes first, it is what changes."""
    return "  ".join(filter(None, [board.side, board.name, board.load]))


def next_line(name: str) -> str:
    """What comes next."""
    return f"next  {name}" if name else "no more stations"


def messages(model: FloorModel) -> tuple[str, ...]:
    """Question, notice or sentence."""
    text = model.question or model.notice or model.band.sentence
    return (text,) if text and text != "next" else ()


def paint_lines(
    model: FloorModel,
    lines: Sequence[str],
    width: int,
    height: int,
    *,
    ascii_only: bool = False,
) -> Rows:
    """The state and the finish, the clock, then as many of the lines as fit."""
    canvas = Canvas(width, height, ascii_only=ascii_only)

    def put(row: int, text: str, role: str) -> None:
        plain = text
        if ascii_only:
            plain = text.replace("·", "|").replace("×", "x").replace("½", ".5")
        canvas.put(0, row, fit_cells(plain, width, ascii_only=ascii_only), role)

    head = " · ".join(filter(None, [model.sign, model.place[1], model.finish[1]]))
    below = min(len(lines), max(0, height - 2))
    rows = height - 1 - below
    drawn: tuple[str, ...] = ()
    if model.clock and rows >= _LEAST_CLOCK_ROWS and width > 0:
        drawn = clock_lines(
            model.clock, width=width, height=2 * rows, ascii_only=ascii_only
        )
    if drawn:
        canvas.ink(0, 2, drawn, model.hue)
    elif model.clock:
        head = f"{model.clock}  {head}"
    put(0, head, model.hue)
    for row, line in enumerate(lines[:below], height - below):
        put(row, line, "text")
    return canvas.rows()
