"""A room in which one line of text can be asked for, below its page.

Owns the field and its two keys. What is asked, and whether an answer will do, the
room says; while a line is typed no other key means anything.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from textual.widgets import Input

from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.widgets.key_line import KeyEntry

Result = TypeVar("Result")
# Takes what was typed; gives "" where it will do, else a sentence why not.
Take = Callable[[str], str]


class AskingRoom(ChoosingRoom[Result]):
    """A room that may ask for one line."""

    DEFAULT_CSS = """
    AskingRoom > Input {
        background: $background; color: $foreground;
    }
    """

    def __init__(self) -> None:
        super().__init__()
        self._asked = ""
        self._take: Take | None = None

    @property
    def is_asking(self) -> bool:
        """Whether a line is being typed."""
        return self._take is not None

    def ask(self, words: str, take: Take, *, value: str = "", limit: int = 80) -> None:
        """Ask for a line; `take` gets it at Enter, and says why it will not do."""
        if self.is_asking:
            return
        self._asked, self._take = words, take
        field = Input(value, max_length=limit, select_on_focus=False, compact=True)
        field.cursor_blink = not self.services.settings.screen.reduced_motion
        field.styles.padding = (0, 2)
        self.mount(field, after="#page")
        field.focus()

    def asked_text(self) -> str:
        """What is asked now, or ""."""
        return self._asked

    def asked_keys(self) -> Sequence[KeyEntry]:
        """The key line while a line is typed."""
        return [KeyEntry("Enter", "accept"), KeyEntry("Esc", "cancel")]

    def press_asking(self, key: str) -> bool:
        """Take a key while a line is typed: only the way out means anything."""
        if key == "escape":
            self._end()
        return key == "escape"

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Hand the line over; one that will not do stays to be mended."""
        event.stop()
        if self._take is None:
            return
        why_not = self._take(event.value)
        if why_not:
            self.say(why_not)
            self.paint()
            return
        self._end()

    def _end(self) -> None:
        self._asked, self._take = "", None
        self.query(Input).remove()
        self.call_after_refresh(self.paint)
