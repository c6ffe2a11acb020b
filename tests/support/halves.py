"""Painted rows read back as half lines, and letters looked for in them.

It knows the fonts and nothing of the layout: what it finds stands in the cells.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from whistlestop.tui.canvas import Rows
from whistlestop.tui.fonts import FONTS, WHOLE_ROWS, Font, letter_lines

_TABLES = tuple(
    {ord(cell): "#" if cell in inked else " " for cell in "▀▄█▚"}
    for inked in ("▀█▚", "▄█▚")
)


_NO_BLOCK = re.compile("[^▀▄█▚]")


class Found(NamedTuple):
    """A text in letters: its font, and the place of its ink in half lines."""

    font: Font
    x: int
    y: int
    width: int
    height: int


def texts(rows: Rows) -> list[str]:
    """The rows as plain lines."""
    return ["".join(run.text for run in row) for row in rows]


def roles(rows: Rows) -> list[list[str]]:
    """The role of every cell."""
    return [[run.role for run in row for _ in run.text] for row in rows]


def halves(rows: Rows) -> list[str]:
    """Two lines of '#' and blank for each row of blocks; text is blank."""
    lines = []
    for text in texts(rows):
        blocks = _NO_BLOCK.sub(" ", text)
        lines += [blocks.translate(table) for table in _TABLES]
    return lines


def find(lines: Sequence[str], text: str, fonts: Iterable[Font] = ()) -> Found | None:
    """Where a text stands in letters, in whatever font; the highest one first.

    Nothing else may touch the letters: one column at either side is blank, and so
    are the half lines above and below, between the edges of the text.
    """
    for font in fonts or (*FONTS.values(), WHOLE_ROWS):
        for found in _all(lines, text, font):
            return found
    return None


def _all(lines: Sequence[str], text: str, font: Font) -> Iterator[Found]:
    drawn = letter_lines(text, font)
    if not drawn:
        return
    width = len(drawn[0])
    for y in range(len(lines) - len(drawn) + 1):
        x = lines[y].find(drawn[0])
        while x >= 0:
            box = [line[x : x + width] for line in lines[y : y + len(drawn)]]
            if box == list(drawn) and _is_alone(lines, x, y, width, len(drawn)):
                yield Found(font, x, y, width, len(drawn))
            x = lines[y].find(drawn[0], x + 1)


def _is_alone(lines: Sequence[str], x: int, y: int, width: int, height: int) -> bool:
    beside = [
        line[x - 1 : x] + line[x + width : x + width + 1]
        for line in lines[y : y + height]
    ]
    beyond = [lines[at] for at in (y - 1, y + height) if 0 <= at < len(lines)]
    beside += [line[max(0, x - 1) : x + width + 1] for line in beyond]
    return not "".join(beside).strip()
