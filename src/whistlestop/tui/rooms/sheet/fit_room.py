"""'I have N minutes': minutes typed, the best ways to fit listed, one of them taken.

Owns the keys; the search is `domain.fit`, the words stand in `fit_lines`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from whistlestop.domain.circuit.circuit import TimedItem, Today
from whistlestop.domain.circuit.fit import Fit
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.sheet.fit_lines import FitChoice, fit_draft, fit_rows, ways
from whistlestop.tui.rooms.sheet.today import Draft
from whistlestop.tui.widgets.key_line import KeyEntry
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

    def key_entries(self) -> Sequence[KeyEntry]:
        """Type, look, take."""
        entries = [KeyEntry("0-9", "minutes")]
        if self.fit is None:
            entries.append(KeyEntry("Enter", "see what fits"))
        elif self.ways():
            entries += [KeyEntry("Enter", "use it"), KeyEntry("↑ ↓", "choose", 1)]
        return [*entries, KeyEntry("Esc", "back")]

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

    def press(self, key: str) -> bool:
        """Type minutes, look for ways, take one."""
        if self._row_ranges and self.move(key):
            return True
        match key:
            case _ if len(key) == 1 and key.isascii() and key.isdigit():
                # A way found for other minutes is no answer to these.
                before = self.typed if self.fit is None else ""
                self.typed = (before + key)[-MOST_DIGITS:].lstrip("0")
                self.fit, self.chosen = None, 0
            case "backspace":
                self.typed, self.fit, self.chosen = self.typed[:-1], None, 0
            case "enter":
                self._enter()
            case "escape":
                self.dismiss(None)
            case _:
                return False
        return True

    def _enter(self) -> None:
        if not self.debounced("enter"):
            return
        if self.fit is None:
            if not self.typed:
                self.say("Type the minutes you have.")
                return
            self.fit = fit_draft(self.draft, int(self.typed))
            return
        found = self.ways()
        if found:
            way = found[self.chosen]
            self.dismiss(FitTaken(way.option.today, way.warm_up))
