"""The safety notice, shown once: what the program is not, and whom to ask."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from whistlestop.library.cautions import FIRST_NOTICE
from whistlestop.tui.rooms.frame.actions import FRESH, action
from whistlestop.tui.rooms.frame.room import QUIET_HELP, SCROLL, Room
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

    help_keys = QUIET_HELP

    def title_text(self) -> tuple[str, str, str]:
        """Name the room."""
        return "Before you begin", "", ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The notice."""
        return PageLayout(notice_rows(cells, lines - 1))

    @action("enter", "understood", held=FRESH)
    def acknowledge(self) -> None:
        """Say that you have read it, and go on."""
        self.services.memory.acknowledge_notice()
        self.dismiss(result=True)

    @action("q escape", "quit")
    def leave(self) -> None:
        """Leave the program."""
        self.dismiss(result=False)

    read_on = replace(SCROLL, label="")
