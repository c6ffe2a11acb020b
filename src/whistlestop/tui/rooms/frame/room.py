"""The frame of every room: title line, a page, a line of words, and the key line.

Owns key routing and repainting. The text and what keys do are each room's. While
a session is held, none of that can end it: see `_guarded`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar, Final, TypeVar, cast

from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen, Screen
from textual.worker import Worker, WorkerState

from whistlestop.tui.rooms.frame.debounce import Debounce
from whistlestop.tui.rooms.frame.protocol import Rooms
from whistlestop.tui.widgets.key_line import KeyEntry, key_row
from whistlestop.tui.widgets.page import Page, PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, TextSpan, Tone, row, wrapped
from whistlestop.tui.widgets.title_line import title_row

if TYPE_CHECKING:
    from whistlestop.driver.services import Services

Result = TypeVar("Result")
Answer = TypeVar("Answer")

LONE_KEYS: Final = frozenset(
    f"{side}_{name}"
    for side in ("left", "right")
    for name in ("shift", "control", "alt", "super", "hyper", "meta")
) | {"caps_lock", "num_lock", "scroll_lock", "iso_level3_shift", "iso_level5_shift"}
_AIRY: Final = 20
_ROOMY: Final = 30
_MOST_WORDS: Final = 3
# What stands where a room fails in a session.
_FAILED: Final = PageLayout([row("  ", TextSpan("This cannot be shown.", "dim"))])
_WAY_ON: Final[Sequence[KeyEntry]] = (KeyEntry("Enter", "on"),)


class Room(Screen[Result]):
    """A screen of ours. Subclasses say its words and take its keys."""

    AUTO_FOCUS: ClassVar[str | None] = ""
    DEFAULT_CSS = """
    Room { background: $background; layout: vertical; }
    Room > #title, Room > #words, Room > #keys { height: 1; }
    """
    # What a message calls it, should it fail in a session.
    part: ClassVar[str] = "This screen"
    has_help: bool = True
    # Whether the message line holds its place while there is none.
    keeps_text: ClassVar[bool] = True

    def __init__(self) -> None:
        super().__init__()
        self.message = ""
        self.follow = True
        self._guard: Debounce | None = None

    # What a room says

    def title_text(self) -> tuple[str, str, str]:
        """The room's name, its subject, and a word of state."""
        raise NotImplementedError

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The page, for its size."""
        raise NotImplementedError

    def key_entries(self) -> Sequence[KeyEntry]:
        """What the key line offers."""
        raise NotImplementedError

    def press(self, key: str) -> bool:
        """Take a key by its name; False when it means nothing here."""
        raise NotImplementedError

    def standing_text(self) -> str:
        """What the message line shows while there is no message."""
        return ""

    def press_failed(self, key: str) -> None:
        """Take a key where `press` fails and a session is held: the way on or back."""
        if key in {"enter", "escape"}:
            self.dismiss(None)

    # What a room has

    @property
    def rooms(self) -> Rooms:
        """The application."""
        return cast("Rooms", self.app)

    @property
    def services(self) -> Services:
        """Everything but the screen."""
        return self.rooms.services

    @property
    def page(self) -> Page:
        """The page in the middle."""
        return self.query_one("#page", Page)

    def now_ms(self) -> int:
        """A steady clock, in ms."""
        return self.services.clock.read().awake_ms

    def debounced(self, key: str, *, on_arrival: bool = True) -> bool:
        """Whether a key that changes something may act: a held key acts once."""
        if self._guard is None:
            return False
        return self._guard.lets(key, self.now_ms(), on_arrival=on_arrival)

    def say(self, sentence: str) -> None:
        """Say a sentence on the line of words, until the next key."""
        self.message = sentence

    def paint(self) -> None:
        """Bring everything on screen up to date."""
        if not self.is_mounted:
            return
        spoken = self._spoken(self.size.width)
        self.query_one("#words", Page).styles.height = self._lead() + len(spoken)
        for page in self.query(Page):
            page.lay_out(follow=self.follow)

    def repaint(self) -> None:
        """Paint every cell again: after a suspension the terminal is blank."""
        self.paint()
        self.refresh(layout=True)
        for page in self.query(Page):
            page.refresh()

    # How it is put together

    def compose(self) -> ComposeResult:
        """Put the lines and the page in place."""
        folded = self.services.settings.screen.ascii
        yield Page(
            self._title_layout,
            id="title",
            scrolls=False,
            ascii_only=folded,
        )
        yield Page(self._body_layout, id="page", ascii_only=folded)
        yield Page(
            self._words_layout,
            id="words",
            scrolls=False,
            ascii_only=folded,
        )
        yield Page(
            self._keys_layout,
            id="keys",
            scrolls=False,
            ascii_only=folded,
        )

    def on_mount(self) -> None:
        """Note when the room opened."""
        self._guard = Debounce(self.now_ms())
        self.call_after_refresh(self.paint)

    def on_resize(self) -> None:
        """Set the edge lines again; pages see to themselves."""
        self.call_after_refresh(self.paint)

    def _guarded(
        self, what: str, function: Callable[[], Answer], without: Answer
    ) -> Answer:
        """Ask the room something; a fault ends no session that is held.

        Args:
            what: Of what kind it is: where one fails, the others are still asked.
            function: The question.
            without: What stands in for an answer.
        """
        running = self.rooms.running
        if running is None:
            return function()
        part = f"{self.part} ({what})"
        found = running.guard.call(part, function, without)
        if found is without and not self.message:
            self.message = running.guard.next_message()
        return found

    def _title_layout(self, cells: int, lines: int) -> PageLayout:
        del lines
        title = self._guarded("title", self.title_text, ("", "", ""))
        return PageLayout((title_row(*title, cells),))

    def _body_layout(self, cells: int, lines: int) -> PageLayout:
        layout = self._guarded("page", lambda: self.page_layout(cells, lines), _FAILED)
        if lines < _AIRY:
            return layout
        aside = (BLANK, *layout.aside) if layout.aside_cells else ()
        return replace(layout, head=(BLANK, *layout.head), aside=aside)

    def _words_layout(self, cells: int, lines: int) -> PageLayout:
        del lines
        tone: Tone = "bold" if self.message else "dim"
        spoken = [row("  ", TextSpan(line, tone)) for line in self._spoken(cells)]
        return PageLayout([*[BLANK] * self._lead(), *spoken])

    def _lead(self) -> int:
        """Blank lines above the words: one where there is room for it."""
        return int(self.size.height >= _ROOMY)

    def _spoken(self, cells: int) -> list[str]:
        standing = self.message or self._guarded("text", self.standing_text, "")
        text = wrapped(standing, cells - 3)[:_MOST_WORDS]
        return text or ([""] if self.keeps_text else [])

    def _keys_layout(self, cells: int, lines: int) -> PageLayout:
        del lines
        entries = list(self._guarded("keys", self.key_entries, _WAY_ON))
        if self.has_help:
            entries.append(KeyEntry(self.services.keymap.first_key("keys"), "keys", 8))
        return PageLayout((key_row(entries, cells),))

    # Keys

    def on_key(self, event: events.Key) -> None:
        """Take a key; what it changed is painted at once."""
        if event.key in LONE_KEYS:
            return
        self.message, self.follow = "", True
        taken = self._guarded("key", lambda: self.press(event.key), None)
        if taken is None:
            self.press_failed(event.key)
        if taken:
            event.stop()
            event.prevent_default()
        elif self.has_help and self.services.keymap.action(event.key) == "keys":
            event.stop()
            self.rooms.open_keys()
        if self.is_attached:
            self.paint()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Take what a thread brought, or say that it failed."""
        if event.worker.node is not self:
            return
        if event.state is WorkerState.SUCCESS:
            self.take_result(event.worker.name, event.worker.result)
            self.paint()
        elif event.state is WorkerState.ERROR:
            self.take_failure(event.worker.name, event.worker.error)
            self.paint()

    def take_result(self, name: str, result: object) -> None:
        """Take what a thread of this room brought."""

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say what went wrong in a thread of this room."""
        del name
        self.say(f"That did not work: {error}")


class ModalRoom(Room[Result], ModalScreen[Result]):
    """A room that stands before another one and gives way to it again."""

    DEFAULT_CSS = """
    ModalRoom { background: $background; layout: vertical; align: left top; }
    """
