"""Pictures of a screen as SVG, from our own template.

Owns the drawing of styled cells; it knows no screens of ours. Blocks and thin box
lines are drawn as rectangles, so that no font can leave a gap between them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple
from xml.sax.saxutils import escape

from rich.cells import cell_len
from rich.color import Color, ColorType
from rich.segment import Segment
from rich.style import Style

if TYPE_CHECKING:
    from textual.app import App

CELL_WIDTH: Final = 8
CELL_HEIGHT: Final = 16
# 0.602 em is the advance of the common monospaced faces: 8 units a cell.
_FONT_SIZE: Final = "13.29"
_BASELINE: Final = 12


class _Rect(NamedTuple):
    y: int
    x: int
    height: int
    width: int
    fill: str
    opacity: str = ""


class _Ink(NamedTuple):
    fore: str
    back: str
    decoration: str


_Part = tuple[int, int, int, int]  # x, y, width, height inside a cell
_W, _H = CELL_WIDTH, CELL_HEIGHT
_QUARTERS: Final[tuple[_Part, ...]] = (
    (0, 0, _W // 2, _H // 2),
    (_W // 2, 0, _W // 2, _H // 2),
    (0, _H // 2, _W // 2, _H // 2),
    (_W // 2, _H // 2, _W // 2, _H // 2),
)
# Upper left, upper right, lower left, lower right.
_QUADRANTS: Final = {
    "▖": "0010",
    "▗": "0001",
    "▘": "1000",
    "▙": "1011",
    "▚": "1001",
    "▛": "1110",
    "▜": "1101",
    "▝": "0100",
    "▞": "0110",
    "▟": "0111",
}
_SHADES: Final = {"░": "0.25", "▒": "0.5", "▓": "0.75"}
# Arms from the middle of a cell: up, right, down, left; 1 light, 2 heavy.
_LINES: Final = {
    "─": "0101",
    "│": "1010",
    "┌": "0110",
    "┐": "0011",
    "└": "1100",
    "┘": "1001",
    "├": "1110",
    "┤": "1011",
    "┬": "0111",
    "┴": "1101",
    "┼": "1111",
    "━": "0202",
    "┃": "2020",
    "┏": "0220",
    "┓": "0022",
    "┗": "2200",
    "┛": "2002",
    "╸": "0002",
    "╺": "0200",
}


def _line_parts(arms: str) -> tuple[_Part, ...]:
    parts: list[_Part] = []
    for direction, weight in enumerate(int(arm) for arm in arms):
        if not weight:
            continue
        left, top = _W // 2 - weight, _H // 2 - weight
        thick = 2 * weight
        parts.append(
            (
                (left, 0, thick, _H // 2 + weight),
                (left, top, _W - left, thick),
                (left, top, thick, _H - top),
                (0, top, _W // 2 + weight, thick),
            )[direction]
        )
    return tuple(parts)


def _block_parts() -> dict[str, tuple[_Part, ...]]:
    parts: dict[str, tuple[_Part, ...]] = {
        "▀": ((0, 0, _W, _H // 2),),
        "▐": ((_W // 2, 0, _W // 2, _H),),
        "▔": ((0, 0, _W, _H // 8),),
        "▕": ((_W - _W // 8, 0, _W // 8, _H),),
    }
    for eighths in range(1, 9):
        height, width = _H * eighths // 8, _W * eighths // 8
        parts[chr(0x2580 + eighths)] = ((0, _H - height, _W, height),)
        parts[chr(0x2590 - eighths)] = ((0, 0, width, _H),)
    for char, bits in _QUADRANTS.items():
        parts[char] = tuple(
            quarter for quarter, bit in zip(_QUARTERS, bits, strict=True) if bit == "1"
        )
    parts |= dict.fromkeys(_SHADES, ((0, 0, _W, _H),))
    return parts | {char: _line_parts(arms) for char, arms in _LINES.items()}


_PARTS: Final = _block_parts()


@dataclass(frozen=True)
class _Sheet:
    """Three layers, from below: fields behind cells, blocks in them, words."""

    fields: list[_Rect]
    blocks: list[_Rect]
    texts: list[str]

    def fill(self, row: int, column: int, cells: int, fill: str) -> None:
        self.fields.append(_Rect(row * _H, column * _W, _H, cells * _W, fill))

    def draw(self, text: str, row: int, column: int, ink: _Ink) -> None:
        word, word_column = "", column
        for char in text:
            if char == " " or char in _PARTS:
                self._write(word, row, word_column, ink)
                word = ""
                self._stamp(char, row, column, ink.fore)
            else:
                word_column = word_column if word else column
                word += char
            column += cell_len(char)
        self._write(word, row, word_column, ink)

    def _stamp(self, char: str, row: int, column: int, fill: str) -> None:
        opacity = _SHADES.get(char, "")
        for part_x, part_y, width, height in _PARTS.get(char, ()):
            x, y = column * _W + part_x, row * _H + part_y
            self.blocks.append(_Rect(y, x, height, width, fill, opacity))

    def _write(self, word: str, row: int, column: int, ink: _Ink) -> None:
        if not word:
            return
        # The length holds the word to its cells where the face is wider or narrower.
        self.texts.append(
            f'<text x="{column * _W}" y="{row * _H + _BASELINE}" '
            f'textLength="{cell_len(word) * _W}" fill="{ink.fore}"{ink.decoration}>'
            f"{escape(word)}</text>"
        )


def picture(
    lines_of_segments: Sequence[Sequence[Segment]],
    *,
    title: str,
    foreground: str = "#f2f2f0",
    background: str = "#0b0b0c",
) -> str:
    """Return an SVG document of styled rows, 8 by 16 units a cell.

    `title` is the document's title for readers; the two colours, '#rrggbb', stand
    for cells that name none. The same input gives the same bytes.
    """
    sheet = _Sheet([], [], [])
    columns = 0
    for row, segments in enumerate(lines_of_segments):
        column = 0
        for text, ink in _inked(segments, foreground, background):
            if ink.back != background:
                sheet.fill(row, column, cell_len(text), ink.back)
            sheet.draw(text, row, column, ink)
            column += cell_len(text)
        columns = max(columns, column)
    width, height = columns * _W, len(lines_of_segments) * _H
    heading = escape(_printable(title))
    opening = (
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" '
        f'viewBox="0 0 {width} {height}" width="{width}" height="{height}">'
    )
    words = f'<g font-family="monospace" font-size="{_FONT_SIZE}" xml:space="preserve">'
    return "\n".join(
        [
            opening,
            f"<title>{heading}</title>",
            f'<rect width="{width}" height="{height}" fill="{background}"/>',
            '<g shape-rendering="crispEdges">',
            *map(_rect_tag, [*_merged(sheet.fields), *_merged(sheet.blocks)]),
            "</g>",
            words,
            *sheet.texts,
            "</g>",
            "</svg>",
            "",
        ]
    )


def screen_strips(app: App[object]) -> list[list[Segment]]:
    """Return the rows of the screen a running application shows just now.

    The only place that reaches into Textual's compositor (8.2): a change there
    raises RuntimeError here, and nowhere else.
    """
    try:
        # Screens that are not opaque look through to these.
        from textual._context import visible_screen_stack

        visible_screen_stack.set(list(app._background_screens))
        strips = app.screen._compositor.render_strips()
        return [list(strip) for strip in strips]
    except (ImportError, AttributeError, TypeError) as error:
        raise RuntimeError(
            "this version of Textual gives no access to the painted rows"
        ) from error


def _inked(
    segments: Iterable[Segment], foreground: str, background: str
) -> Iterator[tuple[str, _Ink]]:
    for text, style, control in segments:
        if control or not text:
            continue
        yield _printable(text), _ink(style or Style.null(), foreground, background)


def _printable(text: str) -> str:
    return "".join(char if char.isprintable() else " " for char in text)


def _ink(style: Style, foreground: str, background: str) -> _Ink:
    fore = _hex(style.color, foreground)
    back = _hex(style.bgcolor, background)
    if style.reverse:
        fore, back = back, fore
    if style.dim:
        fore = _halfway(fore, back)
    lines = [
        name
        for name, wanted in (
            ("underline", style.underline),
            ("line-through", style.strike),
        )
        if wanted
    ]
    decoration = ' font-weight="bold"' if style.bold else ""
    decoration += ' font-style="italic"' if style.italic else ""
    decoration += f' text-decoration="{" ".join(lines)}"' if lines else ""
    return _Ink(fore, back, decoration)


def _hex(color: Color | None, default: str) -> str:
    if color is None or color.type is ColorType.DEFAULT:
        return default
    return color.get_truecolor().hex


def _halfway(one: str, other: str) -> str:
    pairs = ((int(one[i : i + 2], 16), int(other[i : i + 2], 16)) for i in (1, 3, 5))
    return "#" + "".join(f"{(a + b) // 2:02x}" for a, b in pairs)


def _merged(rects: Sequence[_Rect]) -> list[_Rect]:
    """Join touching rectangles of one colour, along rows and then down columns."""
    return _joined_down(_joined_along(rects))


def _joined_along(rects: Sequence[_Rect]) -> list[_Rect]:
    joined: list[_Rect] = []
    for rect in rects:
        last = joined[-1] if joined else None
        if (
            last is not None
            and last._replace(x=rect.x, width=rect.width) == rect
            and last.x + last.width == rect.x
        ):
            joined[-1] = last._replace(width=last.width + rect.width)
        else:
            joined.append(rect)
    return joined


def _joined_down(rects: Sequence[_Rect]) -> list[_Rect]:
    joined: list[_Rect] = []
    open_above: dict[tuple[int, int, int, str, str], int] = {}
    for rect in rects:
        foot = rect.y + rect.height
        key = (rect.x, rect.width, rect.y, rect.fill, rect.opacity)
        index = open_above.pop(key, None)
        if index is None:
            index = len(joined)
            joined.append(rect)
        else:
            above = joined[index]
            joined[index] = above._replace(height=above.height + rect.height)
        open_above[(rect.x, rect.width, foot, rect.fill, rect.opacity)] = index
    return joined


def _rect_tag(rect: _Rect) -> str:
    opacity = f' fill-opacity="{rect.opacity}"' if rect.opacity else ""
    return (
        f'<rect x="{rect.x}" y="{rect.y}" width="{rect.width}" '
        f'height="{rect.height}" fill="{rect.fill}"{opacity}/>'
    )
