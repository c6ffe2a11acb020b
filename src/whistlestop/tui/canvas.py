"""A grid of cells with roles, and the widget that repaints only changed rows.

A role is a word for what a cell is (work, dim, ...); the palette gives it ink.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import Final, NamedTuple

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from whistlestop.tui.theme import Ink, palette
from whistlestop.tui.widgets.painted import ScreenPainted

BLANK: Final = " "


class CellRun(NamedTuple):
    """Neighbouring cells of one role."""

    text: str
    role: str


Rows = tuple[tuple[CellRun, ...], ...]


class Canvas:
    """Cells being drawn. One character a cell; what lies outside is cut off."""

    def __init__(self, width: int, height: int) -> None:
        """Begin with blank cells of the role `text`."""
        self.width = width
        self.height = height
        self._cells = [[BLANK] * width for _ in range(height)]
        self._roles = [["text"] * width for _ in range(height)]

    def put(self, x: int, y: int, text: str, role: str) -> None:
        """Write one line of text at a column and row."""
        if not 0 <= y < self.height:
            return
        cells, roles = self._cells[y], self._roles[y]
        for column, character in enumerate(text, x):
            if 0 <= column < self.width:
                cells[column] = character
                roles[column] = role

    def block(self, x: int, y: int, lines: Sequence[str], role: str) -> None:
        """Write lines under each other; blanks in them stay see-through."""
        for row, line in enumerate(lines, y):
            for inked, run in groupby(enumerate(line, x), lambda at: at[1] != BLANK):
                if inked:
                    first, *rest = run
                    text = first[1] + "".join(character for _, character in rest)
                    self.put(first[0], row, text, role)

    def field(self, x: int, y: int, width: int, height: int, role: str) -> None:
        """Give a box of cells a role, so that its field shows."""
        for row in range(max(0, y), min(self.height, y + height)):
            for column in range(max(0, x), min(self.width, x + width)):
                self._roles[row][column] = role

    def rows(self) -> Rows:
        """The finished rows as runs."""
        return tuple(
            _runs(cells, roles)
            for cells, roles in zip(self._cells, self._roles, strict=True)
        )


def _runs(cells: list[str], roles: list[str]) -> tuple[CellRun, ...]:
    pairs = zip(cells, roles, strict=True)
    return tuple(
        CellRun("".join(cell for cell, _ in run), role)
        for role, run in groupby(pairs, lambda pair: pair[1])
    )


class CanvasView(Widget):
    """Shows rows of runs; `show` repaints those that changed and no others."""

    DEFAULT_CSS = """
    CanvasView { width: 1fr; height: 1fr; }
    """

    def __init__(self, first: Callable[[int, int], Rows] | None = None) -> None:
        """Prepare.

        Args:
            first: Makes the rows of the first picture, for its width and height, if
                none were shown before.
        """
        super().__init__()
        self._rows: Rows = ()
        self._first = first
        self._is_painted = False
        self._styles_of: dict[str, Style] = {}
        self._theme_name = ""
        self.repaints = 0

    def show(self, rows: Rows) -> None:
        """Show these rows from now on."""
        before, self._rows = self._rows, rows
        if len(before) != len(rows):
            self.repaints += 1
            self.refresh()
            return
        width = self.size.width
        changed = [
            Region(0, y, width, 1) for y, row in enumerate(rows) if row != before[y]
        ]
        if changed:
            self.repaints += 1
            self.refresh(*changed)

    def repaint(self) -> None:
        """Paint everything again: a resumed terminal, another theme."""
        self.refresh()

    def render_lines(self, crop: Region) -> list[Strip]:
        """Some rows; the first picture of all has them already."""
        if not self._is_painted:
            self._is_painted = True
            if not self._rows and self._first is not None:
                self._rows = self._first(*self.size)
            self.post_message(ScreenPainted())
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        """One row as a strip of segments."""
        width = self.size.width
        if y >= len(self._rows):
            return Strip([Segment(BLANK * width, self._style("text"))], width)
        segments = [Segment(run.text, self._style(run.role)) for run in self._rows[y]]
        return Strip(segments).adjust_cell_length(width, self._style("text"))

    def _style(self, role: str) -> Style:
        if self.app.theme != self._theme_name:
            self._theme_name = self.app.theme
            self._styles_of = {}
        if role not in self._styles_of:
            self._styles_of[role] = _style(palette_ink(self._theme_name, role))
        return self._styles_of[role]


def palette_ink(theme_name: str, role: str) -> Ink:
    """The ink of a role in a theme; another program's theme counts as dark."""
    name = theme_name if theme_name.startswith("whistlestop-") else "whistlestop-dark"
    colours = palette(name)
    return colours.inks().get(role, colours.text)


def _style(ink: Ink) -> Style:
    return Style(color=ink.fg, bgcolor=ink.bg)
