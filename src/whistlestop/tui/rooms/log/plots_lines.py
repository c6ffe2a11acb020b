"""Charts as rows of toned text, with the cursor's cells set out. Pure.

Owns which role gets which tone, and the window of a chart that shows its last points
only. A tone is never the only sign: every shape has its word in the chart itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.columns import cells_of
from whistlestop.review.chart_text import Chart, ChartRun, Role
from whistlestop.tui.widgets.safe_text import Row, TextSpan, Tone

TONES: Final[dict[Role, Tone]] = {
    Role.TITLE: "bold",
    Role.TEXT: "text",
    Role.AXIS: "dim",
    Role.BAR: "work",
    Role.OPEN: "break",
    Role.RANGE: "recover",
    Role.CIRCUIT: "work",
    Role.OTHER: "recover",
    Role.MARK: "break",
    Role.BLANK: "dim",
}
_INSET: Final = 2


@dataclass(frozen=True, slots=True)
class Window:
    """A chart of the points from `first` to `end`, and which of them is under it."""

    chart: Chart
    first: int
    end: int
    at: int


def window(make: Callable[[int], Chart], count: int, cursor: int, end: int) -> Window:
    """Move the last point shown as little as brings the cursor into view.

    Args:
        make: The chart of the points before an index; it shows the last that fit.
        count: How many points there are.
        cursor: The point that has to be in view.
        end: The last window's end.
    """
    cursor = max(0, min(cursor, count - 1))
    end = max(min(max(end, 1), count), min(cursor + 1, count))
    chart = make(end)
    shown = len(chart.sentences)
    if count and cursor < end - shown:
        end = min(count, cursor + shown)
        chart = make(end)
        shown = len(chart.sentences)
    first = end - shown
    return Window(chart, first, end, cursor - first)


def chart_rows(chart: Chart, at: int) -> list[Row]:
    """All rows of a chart, the spot under the cursor set out as a board."""
    row_ranges = chart.row_ranges
    spot = row_ranges[max(0, min(at, len(row_ranges) - 1))] if row_ranges else None
    rows: list[Row] = []
    for number, runs in enumerate(chart.rows):
        spans = [TextSpan(run.text, TONES[run.role]) for run in runs]
        if spot is not None and spot.row == number:
            spans = _set_out(runs, spot.column, spot.width)
        rows.append((TextSpan(" " * _INSET), *spans))
    return rows


def _set_out(runs: tuple[ChartRun, ...], column: int, width: int) -> list[TextSpan]:
    """Cut the runs at the cursor's edges; blanks are added where the row is short."""
    spans: list[TextSpan] = []
    at = 0
    end = column + width
    for run in runs:
        for character in run.text:
            wide = cells_of(character)
            inside = column <= at < end or (wide == 0 and column < at <= end)
            tone: Tone = "board" if inside else TONES[run.role]
            if spans and spans[-1].tone == tone:
                spans[-1] = TextSpan(spans[-1].text + character, tone)
            else:
                spans.append(TextSpan(character, tone))
            at += wide
    if at < column:
        spans.append(TextSpan(" " * (column - at)))
        at = column
    if at < end:
        spans.append(TextSpan(" " * (end - at), "board"))
    return spans
