"""The frame of every room: title line, a page, a line of words, and the key line.

Owns key routing and repainting. The text and what can be done are each room's; from
its actions come the key line, the keys and their list. While a session is held, none
of that can end it: see `_guarded`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar, Final, TypeVar, cast

from textual import events
from textual.app import ComposeResult
from textual.await_complete import AwaitComplete
from textual.screen import ModalScreen, Screen
from textual.worker import Worker, WorkerState

from whistlestop.tui.rooms.frame.actions import (
    Action,
    Held,
    action_for,
    actions_of,
    help_lines,
    hint_line,
    key_line,
)
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

BACK: Final = Action(
    "go_back", "escape", "back", "Go back.", lambda room: room.dismiss(None)
)
# The list of keys, on the key line or only by its key.
HELP: Final = Action(
    "show_help",
    "question_mark f1",
    "keys",
    "List the keys of this room, a sentence each.",
    lambda room: room.show_help(),
    drop=8,
    mapped="keys",
)
QUIET_HELP: Final = replace(HELP, label="")
SCROLL_KEYS: Final = {
    key: key for key in ("up", "down", "pageup", "pagedown", "home", "end")
}
SCROLL: Final = Action(
    "read_on",
    SCROLL_KEYS,
    "scroll",
    "Read on, line by line or page by page.",
    lambda room, key: room.scroll(key),
    drop=1,
    shown="↑ ↓",
)


class Room(Screen[Result]):
    """A screen of ours. Subclasses say its words and what can be done in it."""

    AUTO_FOCUS: ClassVar[str | None] = ""
    DEFAULT_CSS = """
    Room { background: $background; layout: vertical; }
    Room > #title, Room > #words, Room > #keys { height: 1; }
    """
    # What a message calls it, should it fail in a session.
    part: ClassVar[str] = "This screen"
    # All that can be done here, whether or not it can be done now.
    ACTIONS: ClassVar[Sequence[Action]] = ()
    help_keys: ClassVar[Action] = HELP
    # Whether the message line holds its place while there is none.
    keeps_text: ClassVar[bool] = True

    def __init_subclass__(cls, **options: Any) -> None:
        super().__init_subclass__(**options)
        cls.ACTIONS = actions_of(cls)

    def __init__(self) -> None:
        super().__init__()
        self.message = ""
        self.follow = True
        # Whether the action being done was done with the key before as well.
        self.again = False
        self._before: Action | None = None
        self._guard: Debounce | None = None

    # What a room says

    def title_text(self) -> tuple[str, str, str]:
        """The room's name, its subject, and a word of state."""
        raise NotImplementedError

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The page, for its size."""
        raise NotImplementedError

    def standing_text(self) -> str:
        """What the message line shows while there is no message."""
        return self.hint_text()

    def press_failed(self, key: str) -> None:
        """Take a key where `press` fails and a session is held: the way on or back."""
        if key in {"enter", "escape"}:
            self.dismiss(None)

    def dismiss(self, result: Result | None = None) -> AwaitComplete:
        """Leave; nothing where another screen is seen, or there is none below.

        Textual takes away whatever screen is on top, so that the second of two keys
        that came at once would take the screen below as well.
        """
        if not self.is_active or len(self.app.screen_stack) == 1:
            return AwaitComplete()
        return super().dismiss(result)

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
        # A room that is being left has no page any more, and may still be asked.
        for text in self.query("#words"):
            text.styles.height = self._lead() + len(spoken)
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
        return PageLayout(
            (key_row(self._guarded("keys", self.key_entries, _WAY_ON), cells),)
        )

    # What can be done

    @property
    def actions(self) -> Sequence[Action]:
        """All that can be done here, with the user's own keys where they count."""
        own = self.services.keymap.keys
        return [
            replace(action, keys=" ".join(own.get(action.mapped, ())))
            if action.mapped
            else action
            for action in self.ACTIONS
        ]

    def key_entries(self) -> Sequence[KeyEntry]:
        """What the key line offers."""
        return key_line(self.actions, self)

    def hint_text(self) -> str:
        """What the line of words offers."""
        return hint_line(self.actions, self)

    def press(self, key: str) -> bool:
        """Take a key by its name; False when it means nothing here."""
        action = action_for(self.actions, self, key)
        if action is None:
            self._before = None
        elif self._lets(action, key):
            self.again = self._before is not None and action.id == self._before.id
            self._before = action
            self.perform(action, key)
        return action is not None

    def _lets(self, action: Action, key: str) -> bool:
        """Whether a key may act; those that do the same rest together."""
        if action.held is Held.REPEATS:
            return True
        on_arrival = action.held is Held.ONCE
        alike = [self.debounced(k, on_arrival=on_arrival) for k in action.alike(key)]
        return all(alike)

    def perform(self, one: Action, key: str) -> None:
        """Do an action; a room may say here what stands against it."""
        one.run(self, key)

    def show_help(self) -> None:
        """Show the list of what can be done here."""
        self.rooms.open_room_keys(self.title_text()[0], help_lines(self.actions, self))

    def scroll(self, key: str) -> None:
        """Read on by an arrow, page, home or end key."""
        block, lines = self.page.block, max(1, self.page.lines - 2)
        steps = {"up": -block, "down": block, "pageup": -lines, "pagedown": lines}
        steps |= {"home": -self.page.count, "end": self.page.count}
        self.page.move_by(steps[key])
        self.follow = False

    # Keys

    def on_key(self, event: events.Key) -> None:
        """Take a key; what it changed is painted at once."""
        if event.key in LONE_KEYS or not self.is_active:
            # One that is not active was left while the key was on its way.
            return
        self.message, self.follow = "", True
        taken = self._guarded("key", lambda: self.press(event.key), None)
        if taken is None:
            self.press_failed(event.key)
        if taken:
            event.stop()
            event.prevent_default()
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
