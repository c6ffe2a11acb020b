"""Turns short texts into block letters and the clock into large drawn digits.

Owns which size fits a box. It knows no colours, no widgets and no time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Final

from whistlestop.tui.figures import FIGURES, Pen, Shape, figure, half, mark
from whistlestop.tui.glyphs import BOLD, NARROW, REPERTOIRE, SMALL, Glyph, fold_pairs

_UPPER = {"▀": "█", "▄": " "}
_LOWER = {"▀": " ", "▄": "█"}
_MAX_SCALE: Final = 4


@lru_cache(maxsize=256)
def block_text(
    text: str, *, max_width: int, max_rows: int, ascii_only: bool = False
) -> tuple[str, ...]:
    """Draw a folded text as large as the box allows, in block letters.

    The ladder: whole multiples of 5 rows (10, 15, 20 where they fit), 5 rows on
    two-cell stems, 5 rows on one-cell stems, 3 rows of half blocks, the plain
    text, the plain text cut with an ellipsis. Lines are equally wide, at most
    `max_width` cells and `max_rows` rows; a box without a cell gives ().
    With `ascii_only` strokes are '#', there is no 3-row size, ½ becomes .5 and
    the cut is marked '~'. Raises ValueError for characters outside the font.
    """
    upper = _checked(text)
    if max_width < 1 or max_rows < 1:
        return ()
    if ascii_only:
        upper = upper.replace("½", ".5")
    for scale in range(min(max_rows // 5, _MAX_SCALE), 0, -1):
        for font, gap_cells in _five_row_steps(scale):
            lines = _set_line(upper, font, gap_cells)
            if len(lines[0]) * scale <= max_width:
                scaled = _magnified(lines, scale)
                return _in_ascii(scaled) if ascii_only else scaled
    if max_rows >= 3 and not ascii_only:
        lines = _set_line(upper, SMALL, 1)
        if len(lines[0]) <= max_width:
            return lines
    if len(upper) <= max_width:
        return (upper,)
    return (upper[: max_width - 1] + ("~" if ascii_only else "…"),)


def _checked(text: str) -> str:
    upper = text.upper()
    strange = sorted(set(upper) - set(REPERTOIRE))
    if strange:
        shown = ", ".join(f"U+{ord(character):04X}" for character in strange)
        raise ValueError(f"the block font has no glyph for {shown}; fold the text")
    return upper


def _five_row_steps(scale: int) -> tuple[tuple[Mapping[str, Glyph], int], ...]:
    # Multiplied one-cell stems would look no better than one size down.
    if scale > 1:
        return ((BOLD, 2), (BOLD, 1))
    return ((BOLD, 2), (BOLD, 1), (NARROW, 1))


def _set_line(text: str, font: Mapping[str, Glyph], gap_cells: int) -> tuple[str, ...]:
    rows = len(next(iter(font.values())))
    gap = " " * gap_cells
    return tuple(gap.join(font[char][row] for char in text) for row in range(rows))


def _magnified(lines: tuple[str, ...], scale: int) -> tuple[str, ...]:
    if scale == 1:
        return lines
    grown: list[str] = []
    for line in lines:
        upper = "".join(_UPPER.get(cell, cell) * scale for cell in line)
        lower = "".join(_LOWER.get(cell, cell) * scale for cell in line)
        pixels = [upper] * scale + [lower] * scale
        for top, bottom in zip(pixels[::2], pixels[1::2], strict=True):
            grown.append("".join(map(_pair, top, bottom)))
    return tuple(grown)


def _pair(top: str, bottom: str) -> str:
    if top == bottom:
        return top
    return "▀" if top == "█" else "▄"


def _in_ascii(lines: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(line.replace("█", "#") for line in lines)


_CLOCK_REPERTOIRE: Final = frozenset(FIGURES + " -:.½")
_LEAST_DRAWN_ROWS: Final = 7  # below, drawn eyes close up; the font's stay open
_WIDE, _CONDENSED = 0.64, 0.5  # figure width to height, in square pixels


@lru_cache(maxsize=512)
def clock_digits(
    text: str, *, width: int, height: int, ascii_only: bool = False
) -> tuple[str, ...]:
    """Draw a clock such as '0:40', '12:05', '7' or '½' to fill a box of cells.

    Figures are equally wide, so the clock does not jump while it counts. Lines are
    equally wide, at most `width` cells and `height` rows; blanks around the drawing
    are the caller's. Below 7 rows, or where the figures do not fit, the text comes
    as `block_text`. Raises ValueError for other characters.
    """
    strange = sorted(set(text) - _CLOCK_REPERTOIRE)
    if strange or not text:
        raise ValueError(f"a clock has figures and ':.-½' only, not {text!r}")
    for rows in range(height, _LEAST_DRAWN_ROWS - 1, -1):
        pen = _fitting_pen(text, width, rows, ascii_only=ascii_only)
        if pen is not None:
            return _drawn(text, pen, ascii_only=ascii_only)
    return block_text(text, max_width=width, max_rows=height, ascii_only=ascii_only)


def _fitting_pen(text: str, width: int, rows: int, *, ascii_only: bool) -> Pen | None:
    height = 2 * rows
    stroke = max(2, round(height / 6.8))
    # Without half blocks a bar must be whole rows, or top and bottom differ.
    bar = stroke // 2 * 2 if ascii_only else stroke
    least = max(round(height * _CONDENSED), 2 * stroke + 2)
    most = max(round(height * _WIDE), least)
    for figure_width in range(most, least - 1, -1):
        pen = Pen(figure_width, height, stroke, bar)
        if _line_width(text, pen) <= width:
            return pen
    return None


def _line_width(text: str, pen: Pen) -> int:
    gaps = _gap(pen) * (len(text) - 1)
    return gaps + sum(_glyph_width(character, pen) for character in text)


def _gap(pen: Pen) -> int:
    return max(2, round(pen.stem * 0.75))


def _glyph_width(character: str, pen: Pen) -> int:
    if character in ":.":
        return pen.stem
    if character in " -":
        return pen.width // 2 + 1
    return round(pen.width * 1.8) if character == "½" else pen.width


def _shape(character: str, pen: Pen) -> Shape:
    box = replace(pen, width=_glyph_width(character, pen))
    if character in FIGURES:
        return figure(character, box)
    return half(box) if character == "½" else mark(character, box)


def _drawn(text: str, pen: Pen, *, ascii_only: bool) -> tuple[str, ...]:
    gap = " " * _gap(pen)
    parts = [
        _pixels(_shape(character, pen), _glyph_width(character, pen), pen.height)
        for character in text
    ]
    lines = tuple(gap.join(part[y] for part in parts) for y in range(pen.height))
    if not ascii_only:
        return fold_pairs(lines)
    # Without half blocks a row is inked where its upper pixel is.
    return lines[::2]


def _pixels(shape: Shape, width: int, height: int) -> list[str]:
    return [
        "".join("#" if shape(x + 0.5, y + 0.5) else " " for x in range(width))
        for y in range(height)
    ]
