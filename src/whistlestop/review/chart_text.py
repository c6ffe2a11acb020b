"""The paper that charts are written on: cells, runs, bars, legends.

Owns the two sets of shapes, blocks and plain ASCII. Refuses to
know colours (a role is only a name) and what a chart is about.
"""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby
from typing import Final, NamedTuple

from whistlestop.domain.columns import cells_of, clipped, clusters
from whistlestop.domain.text import shown

NAME_LIMIT: Final = 60
_ASCII_FOLDS: Final = str.maketrans({"×": "x", "–": "-", "—": "-", "…": "~"})


class Role(StrEnum):
    """What a run is for; the painter may give it an ink, or none."""

    TITLE = "title"
    TEXT = "text"
    AXIS = "axis"
    BAR = "bar"
    OPEN = "open"
    RANGE = "range"
    CIRCUIT = "circuit"
    OTHER = "other"
    MARK = "mark"
    BLANK = "blank"


class ChartRun(NamedTuple):
    """Text of one role."""

    text: str
    role: Role


class Spot(NamedTuple):
    """Where a cursor stands: `width` cells of one row, from `column`."""

    row: int
    column: int
    width: int


class Glyphs(NamedTuple):
    """The shapes of a chart; `rises` holds the fillings of a cell from below."""

    full: str
    lower: str
    open: str
    rises: str
    range: str
    tick: str
    line: str
    corner: str
    floor: str
    is_ascii: bool


BLOCKS: Final = Glyphs(
    "█", "▓", "▒", "▁▂▃▄▅▆▇█", "╌", "┤", "│", "└", "─", is_ascii=False
)
PLAIN: Final = Glyphs("#", "C", ":", "########", "-", "+", "|", "+", "-", is_ascii=True)


class ChartBar(NamedTuple):
    """One bar; no value draws nothing, an open one is a least value.

    `lower` is the part of it that is drawn in a shape of its own, from below.
    """

    value: float | None
    is_open: bool = False
    lower: float = 0.0


@dataclass(frozen=True, slots=True)
class Chart:
    """Rows of runs, and for each cursor position a sentence and a spot."""

    rows: tuple[tuple[ChartRun, ...], ...]
    sentences: tuple[str, ...]
    row_ranges: tuple[Spot, ...]
    empty: str = "nothing to show yet"

    def at(self, index: int) -> str:
        """Say what stands under a cursor; beyond an end, the end's sentence."""
        if not self.sentences:
            return self.empty
        return self.sentences[max(0, min(index, len(self.sentences) - 1))]

    @property
    def lines(self) -> tuple[str, ...]:
        """The rows as text, without roles."""
        return tuple("".join(run.text for run in row) for row in self.rows)


def safe(text: str, glyphs: Glyphs) -> str:
    """Make a text harmless, and plain ASCII where the glyphs are."""
    harmless = shown(text)
    if not glyphs.is_ascii:
        return harmless
    apart = unicodedata.normalize("NFKD", harmless.translate(_ASCII_FOLDS))
    kept = (c for c in apart if not unicodedata.combining(c))
    return "".join(c if c.isascii() else "?" for c in kept)


def fitted(text: str, width: int) -> str:
    """Cut a text to a width in cells; what is cut off becomes an ellipsis."""
    if cells_of(text) <= width:
        return text
    return clipped(text, width - 1) + "…" if width > 0 else ""


class ChartPaper:
    """Paper of a fixed width that grows downwards. What does not fit is left out."""

    def __init__(self, width: int, glyphs: Glyphs) -> None:
        if width < 1:
            raise ValueError("a chart is one cell wide or wider")
        self.width = width
        self.glyphs = glyphs
        self._grid: list[list[tuple[str, Role]]] = []

    @property
    def height(self) -> int:
        """Rows so far."""
        return len(self._grid)

    def put(self, row: int, column: int, text: str, role: Role) -> None:
        """Write one line of text from a cell on, over what stands there."""
        while len(self._grid) <= row:
            self._grid.append([(" ", Role.TEXT)] * self.width)
        line = self._grid[row]
        for cluster in clusters(safe(text, self.glyphs)):
            wide = cells_of(cluster)
            if column + wide > self.width:
                return
            if wide:
                behind = [("", role)] * (wide - 1)
                line[column : column + wide] = [(cluster, role), *behind]
            column += wide

    def add(self, text: str, role: Role = Role.TEXT) -> None:
        """Write a text below, wrapped at words."""
        for line in textwrap.wrap(safe(text, self.glyphs), self.width):
            self.put(self.height, 0, line, role)

    def legend(self, items: Iterable[str]) -> None:
        """Write short texts below, as many on a line as fit."""
        line = ""
        for item in items:
            longer = f"{line}   {item}" if line else item
            if line and cells_of(longer) > self.width:
                self.add(line, Role.AXIS)
                longer = item
            line = longer
        if line:
            self.add(line, Role.AXIS)

    def rows(self) -> tuple[tuple[ChartRun, ...], ...]:
        """All rows as runs, without blanks at their ends."""
        return tuple(_runs(line) for line in self._grid)

    def chart(self, sentences: Sequence[str], row_ranges: Sequence[Spot]) -> Chart:
        """The sheet as a chart with its cursor positions."""
        text = tuple(safe(sentence, self.glyphs) for sentence in sentences)
        return Chart(self.rows(), text, tuple(row_ranges))


@dataclass(frozen=True, slots=True)
class Panel:
    """A place for upright bars: `height` rows from `top`, one bar each `pitch`."""

    top: int
    height: int
    left: int
    pitch: int
    peak: float

    def row_of(self, value: float) -> int:
        """The row of the sheet in which a bar of this value ends."""
        eighths = round(value / self.peak * self.height * 8) if self.peak else 0
        steps = max(0, min(self.height, -(-eighths // 8)) - 1)
        return self.top + self.height - 1 - steps

    def draw(self, sheet: ChartPaper, bars: Sequence[ChartBar]) -> None:
        """Draw the bars; the axis is `draw_axis`'s."""
        for index, bar in enumerate(bars):
            if not bar.value or not self.peak:
                continue
            column = self.left + index * self.pitch
            eighths = max(1, round(bar.value / self.peak * self.height * 8))
            role = Role.OPEN if bar.is_open else Role.BAR
            # Of what is drawn at least one row, and of the rest as well.
            rows = -(-eighths // 8)
            lower = round(bar.lower / self.peak * self.height)
            lower = max(1, min(lower, rows - 1)) if bar.lower and rows > 1 else 0
            for step in range(self.height):
                shape = _filling(
                    eighths - 8 * step,
                    sheet.glyphs,
                    is_open=bar.is_open,
                    is_floor=step == 0,
                )
                if shape and step < lower:
                    shape = sheet.glyphs.lower
                if shape:
                    row = self.top + self.height - 1 - step
                    sheet.put(row, column, shape * (self.pitch - 2), role)

    def draw_axis(self, sheet: ChartPaper, unit: str) -> None:
        """Draw the upright with the greatest value on it, and the floor."""
        glyphs, at = sheet.glyphs, self.left - 1
        for step in range(self.height):
            sheet.put(self.top + step, at, glyphs.line, Role.AXIS)
        put_label(sheet, self.top, at, f"{self.peak:.0f} {unit}")
        sheet.put(self.top, at, glyphs.tick, Role.AXIS)
        floor = glyphs.corner + glyphs.floor * (sheet.width - self.left)
        sheet.put(self.top + self.height, at, floor, Role.AXIS)
        put_label(sheet, self.top + self.height, at, "0")

    def under(self, sheet: ChartPaper, name: str, texts: Sequence[str]) -> list[Spot]:
        """Write a row of labels below, one under each bar; return their places."""
        at = sheet.height
        put_label(sheet, at, self.left - 1, name)
        row_ranges = []
        for index, text in enumerate(texts):
            row_ranges.append(Spot(at, self.left + index * self.pitch, self.pitch - 1))
            sheet.put(
                at, row_ranges[-1].column, fitted(text, self.pitch - 1), Role.TEXT
            )
        return row_ranges


def put_label(sheet: ChartPaper, row: int, end: int, text: str) -> None:
    """Write a label that ends one cell before the cell `end`."""
    label = fitted(text, max(0, end - 1))
    sheet.put(row, max(0, end - 1 - cells_of(label)), label, Role.AXIS)


def flat_bar(share: float, width: int, glyphs: Glyphs) -> str:
    """A lying bar of a share (0 to 1) of a width; one cell for the least share."""
    if share <= 0:
        return ""
    return glyphs.full * max(1, round(min(1.0, share) * width))


def _filling(eighths: int, glyphs: Glyphs, *, is_open: bool, is_floor: bool) -> str:
    if eighths <= 0:
        return ""
    if eighths < 8 and (is_open or glyphs.is_ascii):
        # A shape without eighths stands for half a cell and more; the lowest cell
        # for anything, so that a small value is not taken for none.
        eighths = 8 if eighths >= 4 or is_floor else 0
    if eighths == 0:
        return ""
    return glyphs.open if is_open else glyphs.rises[min(eighths, 8) - 1]


def _runs(line: Sequence[tuple[str, Role]]) -> tuple[ChartRun, ...]:
    end = len(line)
    while end and line[end - 1][0] == " ":
        end -= 1
    grouped = groupby(line[:end], key=lambda cell: cell[1])
    return tuple(
        ChartRun("".join(cell[0] for cell in run), role) for role, run in grouped
    )
