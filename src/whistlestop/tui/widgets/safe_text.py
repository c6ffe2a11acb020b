"""Rows of toned text, measured in cells: the one way words reach a page.

Owns fitting, wrapping and setting side by side. Text is never read as markup, and
what may not be shown is made harmless here. It knows no widget and no room.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import Final, Literal, NamedTuple

from whistlestop.domain.columns import cells_of, clipped, padded
from whistlestop.domain.text import masked, shown

Tone = Literal["text", "bold", "dim", "work", "recover", "break", "board"]

_ASCII: Final = str.maketrans(
    {
        "━": "=",
        "─": "-",
        "│": "|",
        "╎": "|",
        "●": "o",
        "◐": "@",
        "○": ".",
        "▌": ">",
        "█": "#",
        "×": "x",
        "…": "~",
        "–": "-",
        "·": ".",
        "½": "h",
        "✓": "+",
        "←": "<",
        "→": ">",
        "↑": "^",
        "↓": "v",
        **dict.fromkeys("▏▎▍▌▋▊▉", "#"),
    }
)


class TextSpan(NamedTuple):
    """A stretch of text in one tone."""

    text: str
    tone: Tone = "text"


Row = tuple[TextSpan, ...]
BLANK: Final[Row] = ()


class Column(NamedTuple):
    """Rows to be set beside others, and the cells they have."""

    rows: Sequence[Row]
    cells: int


def row(*parts: str | TextSpan) -> Row:
    """Make a row of spans; bare text is in the plain tone."""
    return tuple(TextSpan(part) if isinstance(part, str) else part for part in parts)


def plain(spans: Row) -> str:
    """The text of a row, without its tones and trailing blanks."""
    return "".join(span.text for span in spans).rstrip()


def cut(text: str, cells: int) -> str:
    """Make text harmless and at most `cells` wide; a cut ends in an ellipsis."""
    safe = shown(text, 2000)
    if cells_of(safe) <= cells:
        return safe
    if cells < 1:
        return ""
    return clipped(safe, cells - 1).rstrip() + "…"


def fit(text: str, cells: int, *, right: bool = False) -> str:
    """Make text harmless and exactly `cells` wide, to the left or the right."""
    return padded(cut(text, cells), cells, right=right)


def wrapped(text: str, cells: int) -> list[str]:
    """Break text at blanks into lines of at most `cells`; long words are split."""
    if cells < 1:
        return []
    lines: list[str] = []
    line = ""
    for word in _pieces(shown(text, 2000), cells):
        longer = f"{line} {word}" if line else word
        if cells_of(longer) <= cells:
            line = longer
        else:
            lines.append(line)
            line = word
    return [*lines, line] if line else lines


def _pieces(text: str, cells: int) -> Iterable[str]:
    for word in text.split():
        rest = word
        while cells_of(rest) > cells:
            # A character wider than the line stands there all the same.
            head = clipped(rest, cells) or rest[:1]
            yield head
            rest = rest[len(head) :]
        yield rest


def width_of(spans: Row) -> int:
    """How many cells a row takes."""
    return sum(cells_of(span.text) for span in spans)


def fit_row(spans: Row, cells: int) -> Row:
    """Make a row exactly `cells` wide: blanks added, or the end cut away."""
    left = cells
    kept: list[TextSpan] = []
    for text, tone in spans:
        safe = masked(text, "?")
        length = cells_of(safe)
        if length > left:
            kept.append(TextSpan(padded(clipped(safe, left), left), tone))
            return tuple(kept)
        kept.append(TextSpan(safe, tone))
        left -= length
    if left > 0:
        kept.append(TextSpan(" " * left))
    return tuple(kept)


def spread(left: Row, right: Row, cells: int, *, fill: str = " ") -> Row:
    """Set one row at the left edge and one at the right; the left one gives way."""
    gap = cells - width_of(left) - width_of(right)
    if gap >= 1:
        return (*left, TextSpan(fill * gap, "dim"), *right)
    room = max(0, cells - width_of(right) - 1)
    return (*fit_row(left, room), TextSpan(" "), *right)


def beside(columns: Sequence[Column], gap: int = 3) -> list[Row]:
    """Set columns of rows side by side, as long as the longest one."""
    blank = TextSpan(" " * gap)
    together: list[Row] = []
    for line in zip_longest(*(column.rows for column in columns), fillvalue=BLANK):
        spans: list[TextSpan] = []
        for column, one in zip(columns, line, strict=True):
            spans += [blank] if spans else []
            spans += fit_row(one, column.cells)
        together.append(tuple(spans))
    return together


def in_ascii(spans: Row) -> Row:
    """Fold a row to ASCII, cell for cell: our own marks by table, others to '?'."""
    return tuple(TextSpan(_folded(text), tone) for text, tone in spans)


def _folded(text: str) -> str:
    if text.isascii():
        return text
    return "".join(
        character if character.isascii() else "?" * cells_of(character)
        for character in text.translate(_ASCII)
    )
