"""A list to pick one word from, narrowed by typing; it serves several rooms.

Owns the picking. What the words mean, the caller knows.
"""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.tui.rooms.frame.actions import FRESH, action
from whistlestop.tui.rooms.frame.filtering import (
    FilterEntry,
    FilterRoom,
    group_row,
    narrowed,
    typed_row,
)
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, cut, fit, row
from whistlestop.tui.widgets.title_line import heading

_NAME_CELLS = 30
_ALL = "all"


class PickRoom(FilterRoom[str | None]):
    """Gives the value of the picked entry, or None."""

    def __init__(
        self, title: str, entries: Sequence[FilterEntry[str]], *, words: str = ""
    ) -> None:
        """Offer entries; what they are found by stands beside the name."""
        super().__init__()
        self._title, self._wording = title, words
        self._entries = tuple(entries)
        groups = dict.fromkeys(entry.section for entry in entries)
        self._groups = (_ALL, *groups) if len(groups) > 1 else ()
        self._found = list(self._entries)
        self._row_ranges: list[tuple[int, int]] = []

    def title_text(self) -> tuple[str, str, str]:
        """Say what is picked."""
        return self._title, "", ""

    def standing_text(self) -> str:
        """The message the caller wants shown."""
        return self._wording

    def group_count(self) -> int:
        """None where all lies on one."""
        return len(self._groups)

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The list under its groups."""
        del lines
        head: list[Row] = [group_row(self._groups, self.section, cells)]
        head = head if self._groups else []
        head += [typed_row(self.typed, len(self._found), cells, "Type to find."), BLANK]
        rows: list[Row] = []
        self._row_ranges = []
        group = ""
        for place, entry in enumerate(self._found):
            first = len(rows)
            if entry.group != group:
                group = entry.group
                rows += [BLANK] if rows else []
                rows.append(row("  ", *heading(group)))
            self._row_ranges.append((first, len(rows)))
            rows.append(_line(entry, chosen=place == self.chosen, cells=cells))
        return PageLayout(
            rows, self._row_ranges[self.chosen] if self._row_ranges else None, head=head
        )

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each entry stands."""
        return self._row_ranges

    def narrow(self) -> None:
        """List what is found on the open section."""
        section = self._groups[self.section] if self._groups else _ALL
        wanted = "" if section == _ALL else section
        self._found = narrowed(self._entries, wanted, self.typed)

    @action("enter", "use it", held=FRESH)
    def open_row(self) -> None:
        """Use the chosen line."""
        if self._found:
            self.dismiss(self._found[self.chosen].value)


def _line(entry: FilterEntry[str], *, chosen: bool, cells: int) -> Row:
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(entry.name, _NAME_CELLS) + " ", "bold" if chosen else "text"),
        TextSpan(cut(entry.found_by, cells - _NAME_CELLS - 3), "dim"),
    )
