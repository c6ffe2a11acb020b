"""A room with lines to choose among: the arrow, page, home and end keys.

Owns which line is chosen and what comes into view. It knows no line's meaning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar, Final, TypeVar

from whistlestop.tui.rooms.frame.actions import Action
from whistlestop.tui.rooms.frame.room import SCROLL, Room

Result = TypeVar("Result")
CHOOSE_ROW: Final = replace(
    SCROLL,
    id="choose_row",
    label="",
    sentence="Choose a line; past the last one the page scrolls on.",
    do=lambda room, key: room.move(key),
    drop=6,
    when=lambda room: room.can_choose(),
)


class ChoosingRoom(Room[Result]):
    """A room in which one of several options is chosen."""

    def __init__(self) -> None:
        super().__init__()
        self.chosen = 0

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """The first and last line of each option, as the page was last laid out."""
        raise NotImplementedError

    def can_choose(self) -> bool:
        """Whether there is anything to choose, or to scroll to."""
        return bool(self.row_ranges()) or self.page.count > self.page.lines

    choose_row: ClassVar[Action] = CHOOSE_ROW

    def move(self, key: str) -> None:
        """Choose by an arrow, page, home or end key."""
        row_ranges = self.row_ranges()
        last = len(row_ranges) - 1
        lines = max(1, self.page.lines - 2)
        match key:
            case "down" if self.chosen < last:
                self._choose(self.chosen + 1)
            case "up" if self.chosen > 0 and self._is_in_view():
                self._choose(self.chosen - 1)
            case "pagedown" if self.chosen < last:
                self._choose(
                    self._reach(row_ranges, row_ranges[self.chosen][0] + lines)
                )
            case "pageup" if self.chosen > 0 and self._is_in_view():
                self._choose(
                    self._reach(row_ranges, row_ranges[self.chosen][0] - lines)
                )
            case "home":
                self.page.move_by(-self.page.count)
                self._choose(0)
            case "end":
                self._choose(max(0, last))
                self.scroll(key)
            case _:
                self.scroll(key)

    def _choose(self, option: int) -> None:
        self.chosen = option

    def _is_in_view(self) -> bool:
        """Whether the page has not been scrolled past the chosen option."""
        row_ranges = self.row_ranges()
        return (
            bool(row_ranges) and row_ranges[self.chosen][1] >= self.page.in_view.start
        )

    def _reach(self, row_ranges: Sequence[tuple[int, int]], line: int) -> int:
        """The option farthest on the way to a line, and at least one away."""
        if line < row_ranges[self.chosen][0]:
            early = [i for i, spot in enumerate(row_ranges) if spot[0] >= line]
            return min(early[0], self.chosen - 1)
        late = [i for i, spot in enumerate(row_ranges) if spot[0] <= line]
        return max(late[-1], self.chosen + 1)
