"""'I have N minutes': minutes typed, the best ways to fit listed, one of them taken.

Owns the keys; the search is `domain.fit`, the words stand in `fit_lines`.
"""

from __future__ import annotations

import string
from collections.abc import Sequence
from dataclasses import dataclass, replace

from whistlestop.domain.circuit.circuit import TimedItem, Today
from whistlestop.domain.circuit.fit import Fit
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.choosing import CHOOSE_ROW, ChoosingRoom
from whistlestop.tui.rooms.frame.room import BACK
from whistlestop.tui.rooms.sheet.fit_lines import FitChoice, fit_draft, fit_rows, ways
from whistlestop.tui.rooms.sheet.today import Draft
from whistlestop.tui.widgets.page import PageLayout

MOST_DIGITS = 3


@dataclass(frozen=True, slots=True)
class FitTaken:
    """What was chosen: today's changes, and another warm-up or None for the same."""

    today: Today
    warm_up: tuple[TimedItem, ...] | None


class FitRoom(ChoosingRoom[FitTaken | None]):
    """Asks for minutes and offers the best ways to fit a circuit into them."""

    def __init__(self, draft: Draft) -> None:
        """Open over the sheet of a draft."""
        super().__init__()
        self.draft = draft
        self.typed = ""
        self.fit: Fit | None = None
        self._row_ranges: list[tuple[int, int]] = []

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the circuit."""
        return "I have … minutes", self.draft.circuit.name, ""

    def ways(self) -> tuple[FitChoice, ...]:
        """What can be taken; the shorter warm-up, where it keeps more, comes last."""
        return ways(self.fit) if self.fit is not None else ()

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The minutes, and the ways to fit."""
        del lines
        rows, self._row_ranges = fit_rows(
            self.draft, self.typed, self.fit, self.chosen, cells
        )
        focus = (
            self._row_ranges[self.chosen]
            if self.chosen < len(self._row_ranges)
            else None
        )
        return PageLayout(rows, focus)

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each way stands on the page."""
        return self._row_ranges

    # Keys

    @action({digit: digit for digit in string.digits}, "minutes", shown="0-9")
    def type_minutes(self, digit: str) -> None:
        """Type the minutes you have."""
        # A way found for other minutes is no answer to these.
        before = self.typed if self.fit is None else ""
        self.typed = (before + digit)[-MOST_DIGITS:].lstrip("0")
        self.fit, self.chosen = None, 0

    @action("enter", "see what fits", when=lambda self: self.fit is None, held=ONCE)
    def show_fits(self) -> None:
        """See what fits into these minutes."""
        if self.typed:
            self.fit = fit_draft(self.draft, int(self.typed))
        else:
            self.say("Type the minutes you have.")

    @action("enter", "use it", when=lambda self: bool(self.ways()), held=ONCE)
    def take_way(self) -> None:
        """Fit it the chosen way."""
        way = self.ways()[self.chosen]
        self.dismiss(FitTaken(way.option.today, way.warm_up))

    choose_row = replace(CHOOSE_ROW, label="choose", drop=1, shown="↑ ↓")
    go_back = BACK

    @action("backspace", when=lambda self: bool(self.typed))
    def delete_digit(self) -> None:
        """Delete the last digit typed."""
        self.typed, self.fit, self.chosen = self.typed[:-1], None, 0
