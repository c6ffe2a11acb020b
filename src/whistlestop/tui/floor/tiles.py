"""Boxes with one letter: panes of a station's parts and the tiles of two people.

Half lines of '#' and blank, no places and no colours.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.tui.fonts import FONTS, WHOLE_ROWS, Font, letter_lines, letter_width

_LEAST_DOUBLED: Final = 9
_LETTER_SHARE: Final = (17, 20)
"""Of a tile's height at most: more, and it no longer looks filled."""
_THIN: Final = ("9", "7", "5")


def filled_tile(
    letter: str, width: int, height: int, *, ascii_only: bool = False
) -> tuple[str, ...]:
    """A filled box with its letter cut out, as large as it fits.

    With `ascii_only` the letter begins on an even half line.
    """
    full = "#" * width
    most = height * _LETTER_SHARE[0] // _LETTER_SHARE[1]
    drawn = _largest(letter, width - 1, most, ascii_only=ascii_only)
    if not drawn:
        return (full,) * height
    top, left = (height - len(drawn)) // 2, (width - len(drawn[0])) // 2
    if ascii_only:
        top = top // 2 * 2
    cut = [full[:left] + _turned(line) + full[left + len(line) :] for line in drawn]
    return (*(full,) * top, *cut, *(full,) * (height - top - len(cut)))


def _largest(
    letter: str, width: int, height: int, *, ascii_only: bool
) -> tuple[str, ...]:
    """A letter at twice the size of a font where that fits, else in a font."""
    if ascii_only:
        font = _fitting(letter, (WHOLE_ROWS,), width, height)
        return () if font is None else letter_lines(letter, font)
    every = tuple(FONTS.values())
    double = _fitting(letter, every, width // 2, height // 2)
    if double is not None and double.height >= _LEAST_DOUBLED:
        return _twice(letter_lines(letter, double))
    font = _fitting(letter, every, width, height)
    return () if font is None else letter_lines(letter, font)


def thin_letter(
    letter: str, width: int, height: int, *, ascii_only: bool = False
) -> tuple[str, ...]:
    """The letter that stands in a thin box of this size; () where none fits."""
    fonts = (WHOLE_ROWS,) if ascii_only else tuple(FONTS[name] for name in _THIN)
    inside = (width - 2, height - 5)
    is_wide = 2 * letter_width(letter, fonts[0]) <= inside[0]
    if not ascii_only and is_wide and 2 * fonts[0].height <= inside[1]:
        return _twice(letter_lines(letter, fonts[0]))
    font = _fitting(letter, fonts, *inside)
    return () if font is None else letter_lines(letter, font)


def _twice(lines: tuple[str, ...]) -> tuple[str, ...]:
    doubled = ("".join(2 * character for character in line) for line in lines)
    return tuple(line for one in doubled for line in (one, one))


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
