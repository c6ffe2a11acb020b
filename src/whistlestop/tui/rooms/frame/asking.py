"""A room in which one line of text can be asked for, below its page.

Owns the field and its two keys. What is asked, and whether an answer will do, the
room says; while a line is typed no other key means anything.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, TypeVar

from textual.widgets import Input

from whistlestop.tui.rooms.frame.actions import Action
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.room import QUIET_HELP

Result = TypeVar("Result")
# Takes what was typed; gives "" where it will do, else a sentence why not.
Take = Callable[[str], str]
# All that can be done while a line is typed. A question mark is a letter then.
ASKING: Final = (
    Action(
        "accept_line",
        "enter",
        lambda room: room.accept_label,
        "Use the line as it is typed.",
        lambda room: room.accept_line(),
    ),
    Action(
        "cancel_line",
        "escape",
        "cancel",
        "Leave it as it was.",
        lambda room: room.end_asking(),
    ),
    QUIET_HELP,
)


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
        self.accept_label = "accept"

    @property
    def is_asking(self) -> bool:
        """Whether a line is being typed."""
        return self._take is not None

    @property
    def actions(self) -> Sequence[Action]:
        """What can be done here; while a line is typed only what concerns it."""
        return ASKING if self.is_asking else super().actions

    def ask(
        self,
        words: str,
        take: Take,
        *,
        value: str = "",
        limit: int = 80,
        accept: str = "accept",
    ) -> None:
        """Ask for a line; `take` gets it at Enter, and says why it will not do."""
        if self.is_asking:
            return
        self._asked, self._take, self.accept_label = words, take, accept
        field = Input(value, max_length=limit, select_on_focus=False, compact=True)
        field.cursor_blink = not self.services.settings.screen.reduced_motion
        field.styles.padding = (0, 2)
        self.mount(field, after="#page")
        field.focus()

    def ask_on(self, words: str) -> None:
        """Ask for the next line in the same field; for a `take` that wants more."""
        self._asked = words
        self.query_one(Input).value = ""

    def standing_text(self) -> str:
        """What is asked; else what the room says."""
        return self._asked if self.is_asking else self.idle_text()

    def idle_text(self) -> str:
        """What the line of words says while nothing is asked."""
        return self.hint_text()

    def accept_line(self) -> None:
        """Hand the line over; one that will not do stays to be mended."""
        if self._take is None:
            return
        why_not = self._take(self.query_one(Input).value)
        if why_not:
            self.say(why_not)
        else:
            self.end_asking()

    def end_asking(self) -> None:
        """Ask no more."""
        self._asked, self._take = "", None
        self.query(Input).remove()
        self.call_after_refresh(self.paint)
