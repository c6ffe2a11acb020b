"""A grid of cells with roles, and the widget that repaints only changed rows.

A role is a word for what a cell is (work, dim, ...); the palette gives it ink.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import groupby
from typing import Final, NamedTuple

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from whistlestop.tui.fonts import FONTS, WHOLE_ROWS, letter_lines, letter_width
from whistlestop.tui.theme import Ink, palette
from whistlestop.tui.widgets.painted import ScreenPainted

BLANK: Final = " "
_INKED: Final = re.compile("#+")
_SAME: Final = re.compile(rb"(.)\1*", re.DOTALL)
# What is inked of a cell: 1 its upper half, 2 its lower one, 3 both.
_WITH_HALF: Final = tuple(bytes(v | half for v in range(256)) for half in (1, 2))
_FOLDED: Final = tuple(dict(enumerate(shown)) for shown in (" ▀▄█", " =-#"))
"""What a cell shows of that, by whether it is ASCII."""


class CellRun(NamedTuple):
    """Neighbouring cells of one role."""

    text: str
    role: str


Rows = tuple[tuple[CellRun, ...], ...]


class Canvas:
    """Cells being drawn, and over them a layer of half lines, two to a row.

    One character a cell; what lies outside is cut off. Half lines are folded into
    block characters at the end, so that they may begin anywhere; a cell has the role
    of what was inked in it last.
    """

    def __init__(self, width: int, height: int, *, ascii_only: bool = False) -> None:
        """Begin with blank cells of the role `text`."""
        self.width = width
        self.height = height
        self._ascii = ascii_only
        # By row, only those in which something stands: most of a picture is blank.
        self._texts: dict[int, list[str]] = {}
        self._halves: dict[int, bytearray] = {}
        self._roles: dict[int, bytearray] = {}
        self._numbers = {"text": b"\0"}

    def put(self, x: int, y: int, text: str, role: str) -> None:
        """Write one line of text at a column and row."""
        begin, end = max(x, 0), min(x + len(text), self.width)
        if not 0 <= y < self.height or begin >= end:
            return
        if y not in self._texts:
            self._texts[y] = [BLANK] * self.width
        self._texts[y][begin:end] = text[begin - x : end - x]
        self._give_role(y, begin, end, role)

    def block(self, x: int, y: int, lines: Sequence[str], role: str) -> None:
        """Write lines under each other; blanks in them stay see-through."""
        for row, line in enumerate(lines, y):
            for inked, run in groupby(enumerate(line, x), lambda at: at[1] != BLANK):
                if inked:
                    first, *rest = run
                    text = first[1] + "".join(character for _, character in rest)
                    self.put(first[0], row, text, role)

    def ink(self, x: int, y: int, lines: Sequence[str], role: str) -> None:
        """Ink half lines of '#' under each other, from a column and a half line.

        Blanks between strokes take the role too: one run a line is sent, not many.
        """
        for at, line in enumerate(lines, y):
            strokes = [run.span() for run in _INKED.finditer(line)]
            if not strokes or not 0 <= at < 2 * self.height:
                continue
            for begin, end in strokes:
                self._stroke(x + begin, x + end, at)
            begin, end = max(x + strokes[0][0], 0), min(x + strokes[-1][1], self.width)
            self._give_role(at // 2, begin, end, role)

    def fill(self, x: int, y: int, width: int, height: int, role: str) -> None:
        """Ink a box, its place and height in half lines."""
        self.ink(x, y, ("#" * width,) * height, role)

    def _stroke(self, begin: int, end: int, at: int) -> None:
        begin, end = max(begin, 0), min(end, self.width)
        if begin >= end:
            return
        row = at // 2
        if row not in self._halves:
            self._halves[row] = bytearray(self.width)
        halves = self._halves[row]
        halves[begin:end] = halves[begin:end].translate(_WITH_HALF[at % 2])

    def _give_role(self, row: int, begin: int, end: int, role: str) -> None:
        if begin >= end:
            return
        if row not in self._roles:
            self._roles[row] = bytearray(self.width)
        if role not in self._numbers:
            self._numbers[role] = bytes((len(self._numbers),))
        self._roles[row][begin:end] = self._numbers[role] * (end - begin)

    def rows(self) -> Rows:
        """The finished rows as runs."""
        names = tuple(self._numbers)
        blank = (CellRun(BLANK * self.width, "text"),) if self.width else ()
        return tuple(
            _runs(self._line(row), self._roles[row], names)
            if row in self._roles
            else blank
            for row in range(self.height)
        )

    def _line(self, row: int) -> str:
        """The characters of a row: its text, and over it the half lines."""
        text, halves = self._texts.get(row), self._halves.get(row)
        if halves is None:
            return "".join(text or ())
        folded = _FOLDED[self._ascii]
        if text is None:
            return halves.decode("ascii").translate(folded)
        return "".join(
            folded[half] if half else cell
            for half, cell in zip(halves, text, strict=True)
        )


def letter_rows(text: str, width: int, *, ascii_only: bool = False) -> tuple[str, ...]:
    """A word in letters five rows high, as rows; where it does not fit, as it is."""
    font = WHOLE_ROWS if ascii_only else FONTS["10"]
    if letter_width(text, font) > width:
        return (text[:width],)
    canvas = Canvas(letter_width(text, font), font.height // 2, ascii_only=ascii_only)
    canvas.ink(0, 0, letter_lines(text, font), "text")
    return tuple("".join(run.text for run in row) for row in canvas.rows())


def _runs(line: str, roles: bytearray, names: Sequence[str]) -> tuple[CellRun, ...]:
    return tuple(
        CellRun(line[run.start() : run.end()], names[roles[run.start()]])
        for run in _SAME.finditer(roles)
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
    return (colours.inks() | colours.shapes()).get(role, colours.text)


def _style(ink: Ink) -> Style:
    return Style(color=ink.fg, bgcolor=ink.bg)
