"""What changed in twelve weeks, or in the period of the filter, in sentences.

Owns the reading and the keys; the sentences are `review.change_text`'s.
"""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.driver.changes import change_span, read_changes
from whistlestop.review.change_text import change_sections, sentence_rows
from whistlestop.review.days import day_text
from whistlestop.review.items import Filter
from whistlestop.review.what_changed import PeriodChanges
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.room import BACK, SCROLL, Room
from whistlestop.tui.rooms.log.forms import filter_text
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row, wrapped

# Longer lines are hard to read.
_WIDEST = 100


class ChangesRoom(Room[None]):
    """Each heading with its sentences, a blank line between them."""

    def __init__(self, wanted: Filter | None = None) -> None:
        super().__init__()
        self.wanted = wanted or Filter()
        self.found: PeriodChanges | None = None
        self._rows: tuple[int, list[Row]] = (0, [])

    def on_mount(self) -> None:
        """Read the sessions in a thread."""
        super().on_mount()
        services, wanted = self.services, self.wanted
        span = change_span(services.clock.wall().date(), wanted)
        self.run_worker(
            lambda: read_changes(services, wanted, span),
            name="changes",
            thread=True,
            exit_on_error=False,
        )

    def take_result(self, name: str, result: object) -> None:
        """Show what was read."""
        del name
        if isinstance(result, PeriodChanges):
            self.found = result
            self._rows = (0, [])

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say that the log cannot be read."""
        del name
        self.say(f"The log could not be read: {error}")

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, the period, and what is filtered."""
        text = filter_text(self.wanted)
        period = ""
        if self.found is not None:
            span = self.found.span
            period = f"{day_text(span.first)} to {day_text(span.last)}"
        return "What changed", period, f"filter: {text}" if text else ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """All sentences, wrapped, made once for a width."""
        del lines
        if self.found is None:
            return PageLayout((row("  ", TextSpan("Reading the log", "dim")),))
        if self._rows[0] != cells:
            self._rows = (cells, _rows(self.found, cells))
        return PageLayout(self._rows[1])

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Nothing is chosen among the sentences."""
        return ()

    # Keys

    choose_row = SCROLL

    @action("tab", "plots", drop=2, held=ONCE)
    def show_plots(self) -> None:
        """Go on to the plots."""
        # Imported here: only this key needs the plots.
        from whistlestop.tui.rooms.log.plots import PlotsRoom

        self.app.push_screen(PlotsRoom(wanted=self.wanted))

    go_back = BACK


def _rows(found: PeriodChanges, cells: int) -> list[Row]:
    room = max(1, min(_WIDEST, cells - 6))
    rows: list[Row] = []
    for is_heading, text in sentence_rows(change_sections(found)):
        if is_heading:
            rows += [*([BLANK] if rows else []), row("  ", TextSpan(text, "bold"))]
            continue
        for number, line in enumerate(wrapped(text, room)):
            rows.append(row("  " if number == 0 else "    ", TextSpan(line)))
    return rows
