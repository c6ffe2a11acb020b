"""The safety notice, shown once: what the program is not, and whom to ask."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.library.cautions import FIRST_NOTICE
from whistlestop.tui.rooms.frame.room import Room
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, row, wrapped

_WIDEST: Final = 84


def notice_rows(cells: int, lines: int) -> list[Row]:
    """Set the paragraphs, a blank line between them where they all fit."""
    width = min(_WIDEST, cells - 6)
    paragraphs = [wrapped(text, width) for text in FIRST_NOTICE]
    apart = sum(map(len, paragraphs)) + len(paragraphs) <= lines
    rows: list[Row] = []
    for index, paragraph in enumerate(paragraphs):
        rows += [BLANK] if apart and index else []
        first = [row("  · ", line) for line in paragraph[:1]]
        rows += [*first, *(row("    ", line) for line in paragraph[1:])]
    return rows


class NoticeScreen(Room[bool]):
    """Gives True once acknowledged, False where the program is to be left."""

    has_help = False

    def title_text(self) -> tuple[str, str, str]:
        """Name the room."""
        return "Before you begin", "", ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """Acknowledge or leave."""
        return [KeyEntry("Enter", "understood"), KeyEntry("q", "quit")]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The notice."""
        return PageLayout(notice_rows(cells, lines - 1))

    def press(self, key: str) -> bool:
        """Take the acknowledgement; a key still held does not give it."""
        match key:
            case "enter":
                if self.debounced(key, on_arrival=False):
                    self.services.memory.acknowledge_notice()
                    self.dismiss(result=True)
            case "q" | "escape":
                self.dismiss(result=False)
            case "down" | "up":
                self.page.move_by(1 if key == "down" else -1)
                self.follow = False
            case _:
                return False
        return True
