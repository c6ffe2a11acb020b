"""Marks on paper: the one place that draws SVG, and that makes words safe in it.

Owns inks, shapes and the escaping of text. Refuses to know what is drawn. Two inks
of the Okabe-Ito set, every one of them with a shape or a hatching beside it, so that
a grey copy says the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from enum import StrEnum
from typing import Final, Literal

import svg

from whistlestop.domain.text import shown

WIDTH: Final = 720
INK: Final = "#111111"
DIM: Final = "#4a4a4d"
RULE: Final = "#c8c8cc"
SKY: Final = "#56b4e9"
ORANGE: Final = "#e69f00"
PAPER: Final = "#ffffff"
_FONT: Final = "system-ui, sans-serif"
# Half an em and a bit: what a letter of a text face takes on the average.
_EM_SHARE: Final = 0.55

Anchor = Literal["start", "middle", "end"]
Tone = Literal["plain", "dim", "bold"]
Point = tuple[float, float]


class MarkFill(StrEnum):
    """How a field is filled: in full, hatched for a least value, or not at all."""

    FULL = "full"
    OPEN = "open"
    BLANK = "blank"


def cut(words: str, width: float, size: float = 11) -> str:
    """Make a text harmless and cut it to about a width."""
    return shown(words, max(1, int(width / (size * _EM_SHARE))))


class Drawing:
    """A drawing that grows by marks; `name` keeps its hatching apart from others'."""

    def __init__(self, name: str, height: float, title: str, description: str) -> None:
        self._name = name
        self._height = height
        self._elements: list[svg.Element] = [
            svg.Title(text=_safe(title)),
            svg.Desc(text=_safe(description)),
            self._hatching(),
        ]

    def _hatching(self) -> svg.Element:
        stripe = svg.Line(x1=0, y1=0, x2=0, y2=5, stroke=INK, stroke_width=1.6)
        pattern = svg.Pattern(
            id=f"{self._name}-open",
            width=5,
            height=5,
            patternUnits="userSpaceOnUse",
            patternTransform=[svg.Rotate(45)],
            elements=[stripe],
        )
        return svg.Defs(elements=[pattern])

    def text(
        self,
        at: Point,
        words: str,
        *,
        anchor: Anchor = "start",
        size: float = 11,
        tone: Tone = "plain",
        rim: bool = False,
    ) -> None:
        """Write words, their base line at a point; `rim` keeps rules off them."""
        self._elements.append(
            svg.Text(
                x=_round(at[0]),
                y=_round(at[1]),
                text=_safe(words),
                text_anchor=anchor,
                font_size=_round(size),
                fill=DIM if tone == "dim" else INK,
                font_weight="bold" if tone == "bold" else None,
                # A rim of paper, so that no rule strikes a word through.
                stroke=PAPER if rim else None,
                stroke_width=3 if rim else None,
                paint_order="stroke" if rim else None,
            )
        )

    def line(
        self, one: Point, other: Point, *, ink: str = RULE, dashes: str = ""
    ) -> None:
        """Draw a straight line."""
        self._elements.append(
            svg.Line(
                x1=_round(one[0]),
                y1=_round(one[1]),
                x2=_round(other[0]),
                y2=_round(other[1]),
                stroke=ink,
                stroke_width=1,
                stroke_dasharray=_dashes(dashes),
            )
        )

    def curve(
        self, points: Sequence[Point], *, wide: float = 2, dashes: str = ""
    ) -> None:
        """Draw a line through points; a single point becomes a dot."""
        if len(points) == 1:
            self.dot(points[0], 1.5)
            return
        self._elements.append(
            svg.Polyline(
                points=_points(points),
                fill="none",
                stroke=INK,
                stroke_width=wide,
                stroke_dasharray=_dashes(dashes),
            )
        )

    def bar(
        self,
        corner: Point,
        size: Point,
        look: MarkFill,
        *,
        title: str = "",
        ink: str = SKY,
    ) -> None:
        """Draw a field from its upper left corner; `title` shows on pointing at it."""
        fills = {
            MarkFill.FULL: ink,
            MarkFill.OPEN: f"url(#{self._name}-open)",
            MarkFill.BLANK: PAPER,
        }
        self._elements.append(
            svg.Rect(
                x=_round(corner[0]),
                y=_round(corner[1]),
                width=_round(max(0.0, size[0])),
                height=_round(max(0.0, size[1])),
                fill=fills[look],
                stroke=INK,
                # A narrow field is not to drown in its edge.
                stroke_width=_round(min(0.8, size[0] / 8)),
                elements=_title(title),
            )
        )

    def dot(
        self, at: Point, radius: float, *, full: bool = True, title: str = ""
    ) -> None:
        """Draw a disc, or a ring."""
        self._elements.append(
            svg.Circle(
                cx=_round(at[0]),
                cy=_round(at[1]),
                r=_round(radius),
                fill=INK if full else PAPER,
                stroke=INK,
                stroke_width=1.2,
                elements=_title(title),
            )
        )

    def diamond(self, at: Point, radius: float, *, title: str = "") -> None:
        """Draw a square on its corner, half of it filled."""
        x, y = at
        half = [(x, y - radius), (x, y + radius), (x - radius, y)]
        whole = [(x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y)]
        for points, fill in ((whole, PAPER), (half, INK)):
            self._elements.append(
                svg.Polygon(
                    points=_points(points),
                    fill=fill,
                    stroke=INK,
                    stroke_width=1.2,
                    elements=_title(title),
                )
            )

    def _on_paper(self) -> list[svg.Element]:
        """With a field of paper behind it: a picture may stand on a dark page."""
        paper = svg.Rect(width=WIDTH, height=_round(self._height), fill=PAPER)
        return [*self._elements[:2], paper, *self._elements[2:]]

    def written(self, *, alone: bool = False) -> str:
        """The drawing as text; `alone` as a document, else to stand in a page."""
        drawn = svg.SVG(
            viewBox=svg.ViewBoxSpec(0, 0, WIDTH, _round(self._height)),
            width=WIDTH if alone else None,
            height=_round(self._height) if alone else None,
            xmlns="http://www.w3.org/2000/svg" if alone else None,
            extra={"role": "img"},
            style=f"font-family: {_FONT}",
            elements=self._on_paper() if alone else self._elements,
        )
        return f"{drawn}\n"


def _safe(words: str) -> str:
    # The library writes texts as they are handed in.
    return svg.escape(shown(words))


def _title(title: str) -> list[svg.Element] | None:
    return [svg.Title(text=_safe(title))] if title else None


def _points(points: Sequence[Point]) -> list[svg.Point]:
    return [svg.Point(_round(x), _round(y)) for x, y in points]


def _dashes(dashes: str) -> list[Decimal | float | int] | None:
    return [float(each) for each in dashes.split()] or None


def _round(value: float) -> float:
    """Two digits: fewer bytes, and no digits that depend on the machine."""
    rounded = round(value, 2)
    return int(rounded) if rounded == int(rounded) else rounded
