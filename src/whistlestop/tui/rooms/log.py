"""The log: all sessions, newest first, and each one's completion log.

Owns loading, choosing and the keys; the words stand in `log_lines`.
"""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.review.record import SessionRecord
from whistlestop.store.log_index import SessionLine
from whistlestop.tui.rooms import log_lines as words
from whistlestop.tui.rooms.choosing import ChoosingRoom
from whistlestop.tui.rooms.room import Room
from whistlestop.tui.rooms.words import counted
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import Laid, RowsOnDemand
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    Span,
    Tone,
    cut,
    row,
    width_of,
    wrapped,
)


class LogRoom(ChoosingRoom[None]):
    """All sessions that were no script."""

    def __init__(self) -> None:
        super().__init__()
        self.sessions: list[SessionLine] | None = None
        self._spots: list[tuple[int, int]] = []

    def on_mount(self) -> None:
        """Read the log in a thread; the room is on screen meanwhile."""
        super().on_mount()
        house = self.house
        self.run_worker(house.sessions, name="log", thread=True, exit_on_error=False)

    def take_result(self, name: str, result: object) -> None:
        """Show what was read."""
        del name
        if isinstance(result, list):
            self.sessions = result
            self._spots = [(i, i) for i in range(len(result))]

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say that the log cannot be read."""
        del name
        self.sessions = []
        self.say(f"The log could not be read: {error}")

    def title_words(self) -> tuple[str, str, str]:
        """Name the room and count the sessions."""
        if self.sessions is None:
            return "Log", "", ""
        return "Log", counted(len(self.sessions), "session"), ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """Read one, or go back."""
        back = KeyEntry("Esc", "back")
        if not self.sessions:
            return [back]
        return [KeyEntry("Enter", "its completion log"), back]

    def standing_words(self) -> str:
        """What a dash means."""
        return "– means not entered" if self.sessions else ""

    def lay(self, cells: int, lines: int) -> Laid:
        """One line a session, made when it comes into view."""
        del lines
        if self.sessions is None:
            return Laid((row("  ", Span("Reading the log", "dim")),))
        if not self.sessions:
            return Laid(words.empty_rows())
        sessions, chosen = self.sessions, self.chosen
        today = self.house.clock.wall().date()

        def make(index: int) -> Row:
            return words.session_row(
                sessions[index], chosen=index == chosen, cells=cells, today=today
            )

        rows = RowsOnDemand(len(sessions), make)
        return Laid(rows, self._spots[chosen], head=(words.header_row(cells),))

    def spots(self) -> Sequence[tuple[int, int]]:
        """Where each session stands."""
        return self._spots

    def press(self, key: str) -> bool:
        """Open a session's completion log, or go back."""
        if self.move(key):
            return True
        match key:
            case "enter" if self.sessions:
                if self.may(key):
                    self.app.push_screen(RecordScreen(self.sessions[self.chosen]))
            case "escape":
                self.dismiss(None)
            case _:
                return False
        return True


class RecordScreen(Room[None]):
    """The completion log of one session, read back from its journal."""

    def __init__(self, line: SessionLine) -> None:
        super().__init__()
        self.line = line
        self.lines: list[str] | None = None

    def on_mount(self) -> None:
        """Read the journal in a thread."""
        super().on_mount()
        house, session_id = self.house, self.line.id
        self.run_worker(
            lambda: house.record(session_id, scripted=True),
            name="record",
            thread=True,
            exit_on_error=False,
        )

    def take_result(self, name: str, result: object) -> None:
        """Show the record in the words of the completion log."""
        del name
        # Imported here: only this room reads whole records.
        from whistlestop.review.lines import record_lines

        if isinstance(result, SessionRecord):
            self.lines = record_lines(result)

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say what the journal's reader said."""
        del name
        self.lines = []
        self.say(str(error))

    def title_words(self) -> tuple[str, str, str]:
        """Name the room and the circuit."""
        return "Completion log", self.line.name, ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """Read on, or go back."""
        return [KeyEntry("Esc", "back"), KeyEntry("↑ ↓", "read on", 1)]

    def lay(self, cells: int, lines: int) -> Laid:
        """The completion log, long lines wrapped under their own beginning."""
        del lines
        if self.lines is None:
            return Laid((row("  ", Span("Reading the journal", "dim")),))
        rows: list[Row] = []
        for line in self.lines:
            rows += text_rows(line, cells)
        return Laid(rows)

    def press(self, key: str) -> bool:
        """Scroll, or go back."""
        lines = max(1, self.page.lines - 2)
        steps = {
            "down": 1,
            "up": -1,
            "pagedown": lines,
            "pageup": -lines,
            "space": lines,
            "home": -self.page.count,
            "end": self.page.count,
        }
        if key == "escape":
            self.dismiss(None)
            return True
        if key not in steps:
            return False
        self.page.move_by(steps[key])
        self.follow = False
        return True


def text_rows(line: str, cells: int) -> list[Row]:
    """Set one line of text; where it is too long, its end goes below, set in."""
    if not line.strip():
        return [BLANK]
    room = cells - 4
    tone: Tone = "text" if line.startswith(" ") else "bold"
    if width_of(row(line)) <= room:
        return [row("  ", Span(line, tone))]
    head = cut(line, room).removesuffix("…")
    start = len(line) - len(line.lstrip())
    # A gap between columns is the best place; a blank between words the next.
    gap, blank = head.rfind("  "), head.rfind(" ")
    at = max(gap if gap > room // 2 else blank, start)
    if at == start:
        at = len(head)
    indent = " " * min(start + 4, room // 2)
    rest = wrapped(line[at:], room - len(indent))
    below = [row("  ", Span(indent + piece, tone)) for piece in rest]
    return [row("  ", Span(line[:at].rstrip(), tone)), *below]
