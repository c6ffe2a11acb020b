"""Boxes with one letter: panes of a station's parts and the tiles of two people.

Half lines of '#' and blank, no places and no colours.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.tui.fonts import FONTS, WHOLE_ROWS, Font, letter_lines, letter_width

_THIN: Final = ("9", "7", "5")


def filled_tile(
    letter: str, width: int, height: int, *, ascii_only: bool = False
) -> tuple[str, ...]:
    """A filled box with its letter cut out, as large as it fits.

    With `ascii_only` the letter begins on an even half line.
    """
    fonts = (WHOLE_ROWS,) if ascii_only else tuple(FONTS.values())
    font = _fitting(letter, fonts, width - 1, height - 2)
    full = "#" * width
    if font is None:
        return (full,) * height
    drawn = letter_lines(letter, font)
    top, left = (height - font.height) // 2, (width - len(drawn[0])) // 2
    if ascii_only:
        top = top // 2 * 2
    cut = [full[:left] + _turned(line) + full[left + len(line) :] for line in drawn]
    return (*(full,) * top, *cut, *(full,) * (height - top - len(cut)))


def thin_letter(
    letter: str, width: int, height: int, *, ascii_only: bool = False
) -> tuple[str, ...]:
    """The letter that stands in a thin box of this size; () where none fits."""
    fonts = (WHOLE_ROWS,) if ascii_only else [FONTS[name] for name in _THIN]
    font = _fitting(letter, fonts, width - 2, height - 5)
    return () if font is None else letter_lines(letter, font)


def thin_box(width: int, rows: int, *, ascii_only: bool = False) -> tuple[str, ...]:
    """The thin box itself, as rows of characters."""
    flat, upright, corners = ("-", "|", "++++") if ascii_only else ("─", "│", "┌┐└┘")
    middle = upright + " " * (width - 2) + upright
    return (
        corners[0] + flat * (width - 2) + corners[1],
        *(middle,) * (rows - 2),
        corners[2] + flat * (width - 2) + corners[3],
    )


def pane_letters(parts: Sequence[str]) -> tuple[str, ...]:
    """The first letter of each part, or its number where two begin alike."""
    letters = [part[:1] for part in parts]
    if "" in letters or len(set(letters)) < len(letters):
        return tuple(f"{number}" for number in range(1, len(parts) + 1))
    return tuple(letters)


def _fitting(
    letter: str, fonts: Sequence[Font], width: int, height: int
) -> Font | None:
    return next(
        (f for f in fonts if f.height <= height and letter_width(letter, f) <= width),
        None,
    )


def _turned(line: str) -> str:
    return line.translate(str.maketrans("# ", " #"))
