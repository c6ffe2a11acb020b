"""The floor as it stands before a session: a faint ring with station numbers on it."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from whistlestop.tui.ring import MOST_STATIONS, floor_ring
from whistlestop.tui.widgets.safe_text import Row, TextSpan

_NOBODY: Final[frozenset[int]] = frozenset()
# Numbers stand a little inside the path: dots so near would look like slips.
_AIR: Final = 4


def floor_rows(
    count: int, dropped: Collection[int], cells: int, lines: int
) -> list[Row]:
    """Draw `count` stations round a ring; dropped ones lose their number.

    Gives nothing where the box is too small for the marks.
    """
    ring = floor_ring(
        count, present=None, next_=None, done=_NOBODY, width=cells, height=lines
    )
    if not ring.lines:
        return []
    kept = [span for span in ring.spans if span.station not in dropped]
    rows: list[Row] = []
    for number, path in enumerate(_path(cells, lines)):
        marks = sorted(span for span in kept if span.row == number)
        faint = "".join(
            " " if any(abs(col - mark.col) <= _AIR for mark in marks) else dot
            for col, dot in enumerate(path)
        )
        spans: list[TextSpan] = []
        at = 0
        for mark in marks:
            end = mark.col + mark.length
            spans.append(TextSpan(faint[at : mark.col], "dim"))
            spans.append(TextSpan(ring.lines[number][mark.col : end], "bold"))
            at = end
        rows.append((*spans, TextSpan(faint[at:], "dim")))
    return rows


def _path(cells: int, lines: int) -> tuple[str, ...]:
    """The ring itself: as many small dots as a ring can hold."""
    dots = floor_ring(
        MOST_STATIONS,
        present=None,
        next_=None,
        done=_NOBODY,
        width=cells,
        height=lines,
        numbers=False,
    )
    return dots.lines or (" " * cells,) * lines
