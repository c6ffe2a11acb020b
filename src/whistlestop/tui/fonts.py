"""Fonts for every height from 5 to 14 half lines, made from the tables of letters.

A half line is half a row: the unit in which heights count on a screen of cells. A
text comes as half lines of '#' and blank; which rows they fall into is not known
here, and neither are screens, colours or distances.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.tui import glyphs
from whistlestop.tui.glyphs import REPERTOIRE, Glyph

GAP: Final = 1
"""Blank columns between two letters."""


@dataclass(frozen=True, slots=True, eq=False)
class Font:
    """Letters of one height, in half lines, with the name they are asked by."""

    name: str
    height: int
    letters: Mapping[str, Glyph]


def _repeated(table: Mapping[str, Glyph], times: Sequence[int]) -> dict[str, Glyph]:
    """Repeat each line of each glyph, so that strokes stay even and counters grow."""
    return {
        name: tuple(
            line for line, n in zip(glyph, times, strict=True) for _ in range(n)
        )
        for name, glyph in table.items()
    }


def _wider(table: Mapping[str, Glyph]) -> dict[str, Glyph]:
    """One column more in the middle of every letter; marks and blanks stay."""
    return {
        name: glyph
        if name in " -:.I×"
        else tuple(line[: (m := len(line) // 2)] + line[m] + line[m:] for line in glyph)
        for name, glyph in table.items()
    }


def _half(drawn: Glyph, height: int) -> Glyph:
    """The half (½), drawn in ten lines, at another height."""
    return tuple(drawn[line * len(drawn) // height] for line in range(height))


def _from_lines(
    name: str, table: Mapping[str, Glyph], times: Sequence[int], half: Glyph
) -> Font:
    height = sum(times)
    drawn = _half(half, height)
    if table is glyphs.NARROW:
        drawn = glyphs.NARROW_HALVES.get(height, drawn)
    return Font(name, height, _repeated(table, times) | {"½": drawn})


def _made() -> tuple[Font, ...]:
    bold, narrow = glyphs.BOLD, glyphs.NARROW
    half = glyphs.NARROW_HALVES[10]
    seven = _from_lines("7", narrow, (1, 2, 1, 2, 1), half)
    less_one = {
        name: tuple(
            line
            for at, line in enumerate(glyph)
            if at != glyphs.LEFT_OUT_OF_SMALL.get(name, 4)
        )
        for name, glyph in glyphs.SMALL.items()
    }
    tall = _repeated(_wider(bold), (2, 4, 2, 4, 2))
    return (
        Font("14", 14, tall | {"½": _half(glyphs.BOLD_HALF, 14)}),
        *(
            _from_lines(f"{sum(times)}", bold, times, glyphs.BOLD_HALF)
            for times in (
                (2, 4, 2, 3, 2),
                (2, 3, 2, 3, 2),
                (2, 3, 2, 2, 2),
                (2, 2, 2, 2, 2),
            )
        ),
        Font("9", 9, dict(glyphs.NINE) | {"½": _half(half, 9)}),
        _from_lines("9n", narrow, (1, 3, 1, 3, 1), half),
        Font("7", 7, {**seven.letters, **glyphs.SEVEN}),
        _from_lines("6", narrow, (1, 1, 1, 2, 1), half),
        Font("6n", 6, glyphs.SMALL),
        _from_lines("5", narrow, (1, 1, 1, 1, 1), half),
        Font("5n", 5, less_one),
    )


FONTS: Final[Mapping[str, Font]] = {font.name: font for font in _made()}
"""By name, the largest first; of two as high the wider first."""
WHOLE_ROWS: Final = Font("ascii", 10, _repeated(glyphs.NARROW, (2, 2, 2, 2, 2)))
"""The letters of a terminal without half blocks: 5 rows, nothing between."""


def checked(text: str) -> str:
    """The text in capitals.

    Raises:
        ValueError: The letters have no glyph for a character of it.
    """
    upper = text.upper()
    strange = sorted(set(upper) - set(REPERTOIRE))
    if strange:
        listed = ", ".join(f"U+{ord(character):04X}" for character in strange)
        raise ValueError(f"the block font has no glyph for {listed}; fold the text")
    return upper


@lru_cache(maxsize=256)
def letter_lines(text: str, font: Font) -> tuple[str, ...]:
    """A text as half lines of '#' and blank, trimmed of blank columns at both ends.

    Nothing to draw gives (). Raises ValueError for characters outside the font.
    """
    if font is WHOLE_ROWS:
        text = text.replace("½", ".5")
    drawn = [font.letters[character] for character in checked(text)]
    gap = " " * GAP
    lines = [gap.join(glyph[line] for glyph in drawn) for line in range(font.height)]
    return _trimmed(lines)


def _trimmed(lines: Sequence[str]) -> tuple[str, ...]:
    inked = [line for line in lines if line.strip()]
    if not inked:
        return ()
    left = min(len(line) - len(line.lstrip()) for line in inked)
    right = max(len(line.rstrip()) for line in inked)
    return tuple(line[left:right] for line in lines)


def letter_width(text: str, font: Font) -> int:
    """How many columns a text takes."""
    lines = letter_lines(text, font)
    return len(lines[0]) if lines else 0


def first_that_fits(text: str, fonts: Sequence[Font], width: int) -> Font | None:
    """The first font of a ladder in which a text is at most `width` columns wide."""
    return next((font for font in fonts if letter_width(text, font) <= width), None)
