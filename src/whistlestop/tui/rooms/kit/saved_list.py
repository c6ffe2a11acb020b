"""A room whose list is one file: read, changed, saved at once, undone and copied.

Owns reading, undo and saving, and that a file somebody wrote by hand is never
written, a copy over nothing. What is listed, and its words, are each room's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import ClassVar, Final, Generic, TypeVar

from whistlestop.domain.text import shown
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.store.kit.file import is_saved
from whistlestop.store.table.text_file import read_text
from whistlestop.tui.rooms.frame.actions import action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.room import QUIET_HELP
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import Row, row, wrapped

Listed = TypeVar("Listed")
TYPED_LIMIT: Final = 400


def copy_refused(typed: str, write: Callable[[Path], object]) -> str:
    """Write a copy to the path typed; why not, or nothing where it is written."""
    try:
        path = Path(typed.strip()).expanduser()
        if path.suffix != ".toml":
            return "The file name must end in .toml."
        if path.exists():
            return "That file exists; choose another name."
        write(path)
    except (StoreError, OSError, RuntimeError, ValueError) as error:
        return f"Not saved: {error}."
    return ""


class SavedListRoom(AskingRoom[None], Generic[Listed]):
    """A list that is saved with every change. Subclasses say of what, and how."""

    help_keys = QUIET_HELP
    subject: ClassVar[str]

    def __init__(self, nothing: Listed) -> None:
        """Begin with nothing listed, until the file is read."""
        super().__init__()
        self.listed = nothing
        self.problem = ""
        self._past: list[Listed] = []
        self._future: list[Listed] = []
        self._row_ranges: Sequence[tuple[int, int]] = ()
        self._is_own_file = False
        self._is_saved = True

    # What a room says of its list

    @property
    def file(self) -> Path:
        """The file of the list."""
        raise NotImplementedError

    def read_file(self, path: Path) -> Listed:
        """Read a file of such a list."""
        raise NotImplementedError

    def write_file(self, path: Path, listed: Listed) -> None:
        """Write such a list."""
        raise NotImplementedError

    def list_rows(self, cells: int) -> tuple[list[Row], Sequence[tuple[int, int]]]:
        """The page, and where each line of the list stands on it."""
        raise NotImplementedError

    def take_listed(self, listed: Listed) -> None:
        """Take another list; the line chosen is one of its lines."""
        raise NotImplementedError

    # Words

    def on_mount(self) -> None:
        """Read the file; one with problems is shown and left alone."""
        super().on_mount()
        try:
            if self.file.exists():
                self.take_listed(self.read_file(self.file))
                self._is_own_file = not is_saved(read_text(self.file))
        except ProblemsFound as found:
            more = len(found.problems) - 1
            self.problem = f"{found.problems[0]}" + (f" (and {more} more)" * bool(more))
        except OSError as error:
            self.problem = f"{shown(str(self.file))} cannot be read: {error.strerror}"

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, and say whose file it is."""
        if self.problem:
            return self.subject, "", "cannot be used"
        if not self._is_saved:
            return self.subject, "", "not saved"
        return self.subject, "", "your own file" if self._is_own_file else ""

    def idle_text(self) -> str:
        """What the file allows."""
        if self._is_own_file and not self.problem:
            return (
                f"You wrote this {self.file.name} by hand, so it is not changed. S "
                "saves a copy."
            )
        return ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """What is listed, or why it cannot be used."""
        del lines
        if self.problem:
            rows = [row("  ", line) for line in wrapped(self.problem, cells - 4)]
            rows.append(row("  ", "Fix the file and come back; nothing was changed."))
            return PageLayout(rows)
        rows, self._row_ranges = self.list_rows(cells)
        focus = self._row_ranges[self.chosen] if self._row_ranges else None
        return PageLayout(rows, focus)

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each line stands."""
        return self._row_ranges

    def can_choose(self) -> bool:
        """Whether there are lines that can be chosen."""
        return self.is_usable() and super().can_choose()

    def is_usable(self) -> bool:
        """Whether the file could be read."""
        return not self.problem

    @action("u ctrl+z", lambda self: "undo" * bool(self._past), drop=2, when=is_usable)
    def undo(self) -> None:
        """Take the last change back."""
        self._step(self._past, self._future)

    @action(
        "U ctrl+y", lambda self: "redo" * bool(self._future), drop=3, when=is_usable
    )
    def redo(self) -> None:
        """Do again what was taken back."""
        self._step(self._future, self._past)

    @action(
        "S",
        lambda self: "save a copy" * (not self._is_saved),
        drop=3,
        when=is_usable,
    )
    def save_copy(self) -> None:
        """Save the list to another file; one you wrote by hand is not changed."""
        path = self.file.with_name(f"{self.file.stem}-copy.toml")
        asked = "Save to which new file?"
        self.ask(asked, self._save_copy, value=str(path), limit=TYPED_LIMIT)

    @action("escape", "back")
    def go_back(self) -> None:
        """Go back; where something is not saved it asks first."""
        if self._is_saved or self.again:
            self.dismiss(None)
        else:
            self.say("Not saved anywhere. S saves a copy; Esc again discards it.")

    # Changing and saving

    def change(self, listed: Listed) -> None:
        """Take a step, and save it; one that changes nothing is none."""
        if listed != self.listed:
            self._past.append(self.listed)
            self._future.clear()
            self._show(listed)

    def _step(self, back: list[Listed], forth: list[Listed]) -> None:
        if not back:
            self.say("Nothing to undo or redo.")
            return
        forth.append(self.listed)
        self._show(back.pop())

    def _show(self, listed: Listed) -> None:
        self.take_listed(listed)
        if self._is_own_file:
            self._is_saved = False
            return
        try:
            self.write_file(self.file, listed)
        except StoreError as error:
            self._is_saved = False
            self.say(f"Not saved: {error}.")
        else:
            self._is_saved = True

    def _save_copy(self, typed: str) -> str:
        refused = copy_refused(typed, lambda path: self.write_file(path, self.listed))
        if not refused:
            self._is_saved = True
            self.say(f"Copy saved. The program still reads {self.file.name}.")
        return refused
