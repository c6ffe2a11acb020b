"""Shapes of the clock's figures: strokes and bowls in a box of any size.

Owns the drawing only, on a grid of square pixels; it knows no cells, no screens and
no time. A shape answers whether the pixel with centre (x, y) is inked.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from whistlestop.dataclass import dataclass

Shape = Callable[[float, float], bool]

_SQUARENESS: Final = 2.7  # 2 is an ellipse; higher fills the corners of a bowl
FIGURES: Final = "0123456789"


@dataclass(frozen=True)
class Pen:
    """A figure's box and stroke in grid units: `stem` across, `bar` down."""

    width: int
    height: int
    stem: int
    bar: int

    @property
    def middle(self) -> int:
        """Top of the middle bar; the upper space is never the larger one."""
        return self.bar + (self.height - 3 * self.bar) // 2

    @property
    def bowl_top(self) -> int:
        """Top of the bowl of a 5 or 6, a little above the middle in large sizes."""
        return self.middle - (self.bar * 3 // 10 if self.bar > 2 else 0)

    @property
    def hook(self) -> float:
        """How far the end of an open bowl reaches past its bar."""
        return self.bar + 0.3 * (self.middle - self.bar)


def _nothing(_x: float, _y: float) -> bool:
    return False


def _box(left: float, top: float, right: float, bottom: float) -> Shape:
    return lambda x, y: left <= x < right and top <= y < bottom


def _oval(left: float, top: float, right: float, bottom: float) -> Shape:
    middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
    half_x, half_y = (right - left) / 2, (bottom - top) / 2
    if half_x <= 0 or half_y <= 0:
        return _nothing

    def is_inside(x: float, y: float) -> bool:
        across = math.pow(abs(x - middle_x) / half_x, _SQUARENESS)
        down = math.pow(abs(y - middle_y) / half_y, _SQUARENESS)
        return across + down <= 1.0

    return is_inside


def _ring(pen: Pen, top: float, bottom: float, inset: float = 0) -> Shape:
    outer = _oval(inset, top, pen.width - inset, bottom)
    inner = _oval(
        inset + pen.stem, top + pen.bar, pen.width - inset - pen.stem, bottom - pen.bar
    )
    return lambda x, y: outer(x, y) and not inner(x, y)


def _slant(
    start: tuple[float, float], end: tuple[float, float], across: float
) -> Shape:
    """Draw a straight stroke between two heights, `across` wide on every line."""
    (start_x, start_y), (end_x, end_y) = start, end

    def is_inside(x: float, y: float) -> bool:
        if not start_y <= y < end_y:
            return False
        centre = start_x + (end_x - start_x) * (y - start_y) / (end_y - start_y)
        return abs(x - centre) <= across / 2

    return is_inside


def _any(*shapes: Shape) -> Shape:
    return lambda x, y: any(shape(x, y) for shape in shapes)


def _all(*shapes: Shape) -> Shape:
    return lambda x, y: all(shape(x, y) for shape in shapes)


def _nought(pen: Pen) -> Shape:
    return _ring(pen, 0, pen.height)


def _one(pen: Pen) -> Shape:
    left = (pen.width - pen.stem) / 2
    edge, flag_foot = pen.width * 0.08, pen.bar + pen.height * 0.16
    flag = _slant((left + pen.stem / 2, 0), (pen.stem / 2, flag_foot), pen.stem * 1.7)
    return _any(
        _box(left, 0, left + pen.stem, pen.height),
        _all(flag, _box(edge, 0, left + pen.stem, pen.height)),
        _box(edge, pen.height - pen.bar, pen.width - edge, pen.height),
    )


def _two(pen: Pen) -> Shape:
    bowl_foot = 2.0 * pen.middle - pen.bar * 0.2
    turn = bowl_foot / 2
    bowl = _all(
        _ring(pen, 0, bowl_foot),
        _any(
            _box(0, 0, pen.width / 2, pen.hook), _box(pen.width / 2, 0, pen.width, turn)
        ),
    )
    across = pen.stem * 1.3
    return _any(
        bowl,
        _slant(
            (pen.width - across / 2, turn),
            (across / 2, pen.height - pen.bar),
            across,
        ),
        _box(0, pen.height - pen.bar, pen.width, pen.height),
    )


def _three(pen: Pen) -> Shape:
    foot = pen.middle + pen.bar
    right = _box(pen.width / 2, 0, pen.width, pen.height)
    upper = _all(
        _ring(pen, 0, foot, pen.width * 0.04),
        _any(right, _box(0, 0, pen.width, pen.hook)),
    )
    lower = _all(
        _ring(pen, pen.middle, pen.height),
        _any(right, _box(0, pen.height - pen.hook, pen.width, pen.height)),
    )
    return _any(upper, lower, _box(pen.width * 0.34, pen.middle, pen.width * 0.6, foot))


def _four(pen: Pen) -> Shape:
    bar_top = round(pen.height * 0.64)
    stem_right = pen.width - max(1, round(pen.width * 0.12))
    across = pen.stem * 1.25
    return _any(
        _box(stem_right - pen.stem, 0, stem_right, pen.height),
        _box(0, bar_top, pen.width, bar_top + pen.bar),
        _slant((stem_right - across / 2, 0), (across / 2, bar_top), across),
    )


def _five(pen: Pen) -> Shape:
    top = pen.bowl_top
    bowl = _all(
        _ring(pen, top, pen.height),
        _any(
            _box(pen.width / 2, 0, pen.width, pen.height),
            _box(0, pen.height - pen.hook, pen.width, pen.height),
        ),
    )
    return _any(
        _box(0, 0, pen.width * 0.94, pen.bar),
        _box(0, 0, pen.stem, top + pen.bar),
        _box(0, top, pen.width * 0.55, top + pen.bar),
        bowl,
    )


def _six(pen: Pen) -> Shape:
    top = pen.bowl_top
    back = _all(
        _nought(pen),
        _any(
            _box(0, 0, pen.width / 2, (top + pen.height) / 2),
            _box(0, 0, pen.width, pen.hook),
        ),
    )
    shoulder = _box(0, top, pen.width / 2, top + pen.bar)
    return _any(back, shoulder, _ring(pen, top, pen.height))


def _seven(pen: Pen) -> Shape:
    across = pen.stem * 1.2
    return _any(
        _box(0, 0, pen.width, pen.bar),
        _slant(
            (pen.width - across / 2, pen.bar),
            (pen.width * 0.36, pen.height),
            across,
        ),
    )


def _eight(pen: Pen) -> Shape:
    return _any(
        _ring(pen, 0, pen.middle + pen.bar, pen.width * 0.04),
        _ring(pen, pen.middle, pen.height),
    )


def _nine(pen: Pen) -> Shape:
    six = _six(pen)
    return lambda x, y: six(pen.width - x, pen.height - y)


_DRAWN: Final = dict(
    zip(
        FIGURES,
        (_nought, _one, _two, _three, _four, _five, _six, _seven, _eight, _nine),
        strict=True,
    )
)


def figure(name: str, pen: Pen) -> Shape:
    """Return the shape of one figure '0' to '9'; KeyError for anything else."""
    return _DRAWN[name](pen)


def mark(name: str, pen: Pen) -> Shape:
    """Return the shape of ':', '.', '-' or a space in the pen's box."""
    if name == ":":
        upper, lower = round(pen.height * 0.26), round(pen.height * 0.74)
        return _any(
            _box(0, upper - pen.bar // 2, pen.width, upper - pen.bar // 2 + pen.bar),
            _box(0, lower - pen.bar + pen.bar // 2, pen.width, lower + pen.bar // 2),
        )
    if name == ".":
        return _box(0, pen.height - pen.bar, pen.width, pen.height)
    if name == "-":
        return _box(0, pen.middle, pen.width, pen.middle + pen.bar)
    return _nothing


def half(pen: Pen) -> Shape:
    """Return ½: a small 1, a slant and a small 2 in the pen's box."""
    small_width, small_height = round(pen.width * 0.42), round(pen.height * 0.48)
    stem, bar = max(1, round(pen.stem * 0.7)), max(1, round(pen.bar * 0.7))
    small = Pen(small_width, small_height, stem, bar)
    one, two = _one(small), _two(small)
    right, foot = pen.width - small_width, pen.height - small_height
    slash = _slant(
        (pen.width * 0.72, 0), (pen.width * 0.28, pen.height), pen.stem * 0.85
    )
    return _any(
        lambda x, y: y < small_height and x < small_width and one(x, y),
        lambda x, y: y >= foot and x >= right and two(x - right, y - foot),
        slash,
    )
