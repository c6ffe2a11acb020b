"""Turns the clock into large drawn digits, in half lines.

Owns which pen fits a box. It knows no colours, no widgets and no time.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Final

from whistlestop.tui.figures import FIGURES, Pen, Shape, figure, half, mark
from whistlestop.tui.fonts import FONTS, WHOLE_ROWS, Font

_CLOCK_REPERTOIRE: Final = frozenset(FIGURES + " -:.½")
LEAST_HEIGHT: Final = 10
"""Half lines of the smallest clock there is."""
_LEAST_DRAWN: Final = 13  # below, drawn eyes close up; those of letters stay open
_LETTER_GAP: Final = 2
_WIDE, _CONDENSED = 0.64, 0.5  # figure width to height, in square pixels


@lru_cache(maxsize=512)
def clock_lines(
    text: str, *, width: int, height: int, ascii_only: bool = False
) -> tuple[str, ...]:
    """Draw a clock such as '0:40', '12:05' or '7' as half lines of '#' and blank.

    Figures are equally wide, so the clock does not jump while it counts. It is
    `height` half lines high, less where `width` columns do not hold it, and () where
    10 half lines do not. With `ascii_only` pairs of half lines are alike. Raises
    ValueError for other characters.
    """
    strange = sorted(set(text) - _CLOCK_REPERTOIRE)
    if strange or not text:
        raise ValueError(f"a clock has figures and ':.-½' only, not {text!r}")
    step = 2 if ascii_only else 1
    for tried in range(height // step * step, LEAST_HEIGHT - 1, -step):
        if tried < _LEAST_DRAWN:
            font = WHOLE_ROWS if ascii_only else FONTS[f"{tried}"]
            # Letters of whole rows are too low for a half.
            shown = text.replace("½", ".5") if ascii_only else text
            lines = _lettered(shown, font)
            if len(lines[0]) <= width:
                return lines
            continue
        pen = _fitting_pen(text, width, tried, ascii_only=ascii_only)
        if pen is not None:
            return _drawn(text, pen, ascii_only=ascii_only)
    return ()


def _lettered(text: str, font: Font) -> tuple[str, ...]:
    """A clock in letters, untrimmed: a `1` is as wide as the other figures."""
    gap = " " * _LETTER_GAP
    return tuple(
        gap.join(font.letters[character][line] for character in text)
        for line in range(font.height)
    )


def _fitting_pen(text: str, width: int, height: int, *, ascii_only: bool) -> Pen | None:
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
        return lines
    # Without half blocks a row is inked where its upper half is.
    return tuple(line for upper in lines[::2] for line in (upper, upper))


def _pixels(shape: Shape, width: int, height: int) -> list[str]:
    return [
        "".join("#" if shape(x + 0.5, y + 0.5) else " " for x in range(width))
        for y in range(height)
    ]
