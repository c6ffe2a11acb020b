"""The kit room: what is owned, added and changed a line at a time, and saved at once.

Owns the keys, undo and keeping; lines stand in `kit_room_entries`, words in
`kit_room_lines`. A kit file that somebody wrote by hand is never written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.text import shown
from whistlestop.errors import ProblemsFound, RefusedError, StoreError
from whistlestop.library.kit_words import PLACES, THINGS
from whistlestop.store.kit.file import is_saved, read_kit, write_kit
from whistlestop.store.table.text_file import read_text
from whistlestop.tui.rooms.frame.actions import FRESH, ONCE, STEPS, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.frame.room import BACK, QUIET_HELP
from whistlestop.tui.rooms.kit.copying import copy_refused
from whistlestop.tui.rooms.kit.entries import (
    KINDS_TO_ADD,
    KitKind,
    KitLine,
    kind_of,
    lines,
)
from whistlestop.tui.rooms.kit.lines import can_add, kind_rows, kit_room_rows
from whistlestop.tui.rooms.kit.typed import (
    counted,
    put,
    sitting_text,
    without,
)
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import row, wrapped

_TYPED_LIMIT: Final = 400
_OTHERWISE: Final = frozenset(
    {"weight", "two weights", "kettlebell", "bar", "plates", "bench", "chair", "box",
     "step", "mat", "band", "loop band", "stability ball", "medicine ball",
     "dead ball", "backpack"}
)  # fmt: skip


class KitRoom(AskingRoom[None]):
    """What is owned."""

    help_keys = QUIET_HELP

    def __init__(self) -> None:
        super().__init__()
        self.kit = Kit()
        self.problem = ""
        self._past: list[Kit] = []
        self._future: list[Kit] = []
        self._lines: tuple[KitLine, ...] = ()
        self._row_ranges: list[tuple[int, int]] = []
        self._is_own_file = False
        self._is_saved = True

    def on_mount(self) -> None:
        """Read the kit file; one with problems is shown and left alone."""
        super().on_mount()
        self._read()

    def _read(self) -> None:
        path = self.services.places.kit_file
        try:
            if not path.exists():
                return
            self.kit = read_kit(path)
            self._lines = lines(self.kit)
            self._is_own_file = not is_saved(read_text(path))
        except ProblemsFound as found:
            more = len(found.problems) - 1
            text = f" (and {more} more)" if more else ""
            self.problem = f"{found.problems[0]}{text}"
        except OSError as error:
            self.problem = f"{shown(str(path))} cannot be read: {error.strerror}"

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, and say whose file it is."""
        if self.problem:
            return "Kit", "", "cannot be used"
        if not self._is_saved:
            return "Kit", "", "not saved"
        return "Kit", "", "your own file" if self._is_own_file else ""

    def idle_text(self) -> str:
        """What the file allows."""
        if self._is_own_file and not self.problem:
            return (
                "You wrote this kit.toml by hand, so it is not changed. S saves a copy."
            )
        return ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """What is owned, and what it makes."""
        del lines
        if self.problem:
            sentences = wrapped(self.problem, cells - 4)
            rows = [row("  ", line) for line in sentences]
            rows.append(row("  ", "Fix the file and come back; nothing was changed."))
            return PageLayout(rows)
        rows, self._row_ranges = kit_room_rows(
            self.kit, self._lines, self.chosen, cells
        )
        return PageLayout(
            rows, self._row_ranges[self.chosen] if self._row_ranges else None
        )

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each line stands."""
        return self._row_ranges

    def can_choose(self) -> bool:
        """Whether there are lines that can be chosen."""
        return self._is_usable() and super().can_choose()

    def _is_usable(self) -> bool:
        return not self.problem

    def _on_line(self) -> bool:
        return self._is_usable() and bool(self._lines)

    @property
    def _line(self) -> KitLine:
        return self._lines[self.chosen]

    @action("a", "add", when=_is_usable, held=ONCE)
    def add_thing(self) -> None:
        """Add a thing you own."""
        self.app.push_screen(KindRoom(self.kit), self._begin_adding)

    @action(
        "enter",
        "change",
        drop=1,
        when=lambda self: self._on_line() and self._line.kind != "bench",
    )
    def change_thing(self) -> None:
        """Type the chosen line again: its loads, or how many."""
        self._ask(kind_of(self._line.kind), self._line)

    @action(
        STEPS,
        lambda self: "fewer, more" * (self._line.count is not None),
        drop=2,
        when=_on_line,
    )
    def step_value(self, step: int) -> None:
        """Fewer or more of the chosen thing."""
        self._try(lambda: counted(self.kit, self._line, step))

    @action("x delete", "remove", drop=2, when=_on_line, held=ONCE)
    def delete_thing(self) -> None:
        """Remove the chosen thing; undo brings it back."""
        line = self._line
        self._try(lambda: without(self.kit, line))
        self.say(f"{line.words} removed. u undoes it.")

    @action("u ctrl+z", lambda self: "undo" * bool(self._past), drop=1, when=_is_usable)
    def undo(self) -> None:
        """Take the last change back."""
        self._step(self._past, self._future)

    @action(
        "U ctrl+y", lambda self: "redo" * bool(self._future), drop=3, when=_is_usable
    )
    def redo(self) -> None:
        """Do again what was taken back."""
        self._step(self._future, self._past)

    @action(
        "S",
        lambda self: "save a copy" * (not self._is_saved),
        drop=3,
        when=_is_usable,
    )
    def save_copy(self) -> None:
        """Save the list to another file; one you wrote by hand is not changed."""
        path = self.services.places.kit_file.with_name("kit-copy.toml")
        asked = "Save to which new file?"
        self.ask(asked, self._save_copy, value=str(path), limit=_TYPED_LIMIT)

    @action("escape", "back")
    def go_back(self) -> None:
        """Go back; where something is not saved it asks first."""
        if self._is_saved or self.again:
            self.dismiss(None)
        else:
            self.say("Not saved anywhere. S saves a copy; Esc again discards it.")

    @action("i", "limits", drop=4, when=_is_usable, held=ONCE)
    def open_limits(self) -> None:
        """See what is left out for a while."""
        from whistlestop.tui.rooms.kit.limits_room import LimitsRoom

        self.app.push_screen(LimitsRoom())

    # Changing

    def _begin_adding(self, kind: str | None) -> None:
        if kind is None:
            return
        if kind == "bench":
            self._try(lambda: put(self.kit, "bench", ""))
        elif kind == "thing":
            self.app.push_screen(thing_room(self.kit), self._add_thing)
        else:
            self._ask(kind_of(kind), None)
        self.paint()

    def _add_thing(self, thing: str | None) -> None:
        if thing == "":
            self._ask(kind_of("thing"), None)
        elif thing is not None:
            self._try(lambda: put(self.kit, "thing", thing))
        self.paint()

    def _ask(self, kind: KitKind, line: KitLine | None) -> None:
        def take(typed: str) -> str:
            place = None if line is None else line.place
            try:
                changed = put(self.kit, kind.id, typed, place)
            except RefusedError as refused:
                return str(refused)
            self._change(changed)
            if kind.id == "ball":
                self.say(sitting_text(changed))
            return ""

        what = kind.title.capitalize()
        example = f": {kind.example}" if kind.example else ", in a word or two"
        typed = line.typed if line else ""
        self.ask(f"{what}{example}", take, value=typed, limit=_TYPED_LIMIT)

    def _try(self, made: Callable[[], Kit]) -> None:
        try:
            changed = made()
        except RefusedError as refused:
            self.say(str(refused))
            return
        self._change(changed)

    def _change(self, kit: Kit) -> None:
        if kit == self.kit:
            return
        self._past.append(self.kit)
        self._future.clear()
        self._show(kit)

    def _step(self, back: list[Kit], forth: list[Kit]) -> None:
        if not back:
            self.say("Nothing to undo or redo.")
            return
        forth.append(self.kit)
        self._show(back.pop())

    def _show(self, kit: Kit) -> None:
        before = self._lines
        self.kit, self._lines = kit, lines(kit)
        new = [n for n, line in enumerate(self._lines) if line not in before]
        if len(self._lines) > len(before) and new:
            self.chosen = new[0]
        self.chosen = max(0, min(self.chosen, len(self._lines) - 1))
        self._save()

    # Keeping

    def _save(self) -> None:
        if self._is_own_file:
            self._is_saved = False
            return
        try:
            write_kit(self.services.places.kit_file, self.kit)
        except StoreError as error:
            self._is_saved = False
            self.say(f"Not saved: {error}.")
        else:
            self._is_saved = True

    def _save_copy(self, typed: str) -> str:
        if refused := copy_refused(typed, lambda path: write_kit(path, self.kit)):
            return refused
        self._is_saved = True
        self.say("Copy saved. The program still reads kit.toml.")
        return ""


def thing_room(kit: Kit) -> PickRoom:
    """Offer the things of the library that are not owned, and one's own word."""
    entries = [
        FilterEntry(word, word, "", "", meaning)
        for word, meaning in {**THINGS, **PLACES}.items()
        if word not in _OTHERWISE and word not in kit.things and word not in PLACES
    ]
    own = FilterEntry("", "a word of my own", "", "", "for circuits that use it")
    return PickRoom("Add kit", [*entries, own])


class KindRoom(ChoosingRoom[str | None]):
    """Which kind of thing is added: one letter, or choose and Enter."""

    help_keys = QUIET_HELP

    def __init__(self, kit: Kit) -> None:
        """Offer what can still be added to a kit."""
        super().__init__()
        self.kinds = can_add(kit)

    def title_text(self) -> tuple[str, str, str]:
        """Say what is asked."""
        return "Add what?", "", ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The kinds."""
        del lines
        return PageLayout(
            kind_rows(self.kinds, self.chosen, cells), self.row_ranges()[self.chosen]
        )

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """One line each."""
        return [(n, n) for n in range(len(self.kinds))]

    @action(
        {kind.letter: kind.letter for kind in KINDS_TO_ADD},
        "or ↑ ↓ and Enter",
        held=ONCE,
        shown="a letter",
    )
    def take_letter(self, letter: str) -> None:
        """Add what stands beside this letter."""
        for kind in self.kinds:
            if kind.letter == letter:
                self.dismiss(kind.id)

    @action("enter", held=FRESH)
    def open_row(self) -> None:
        """Add the chosen one."""
        self.dismiss(self.kinds[self.chosen].id)

    go_back = BACK
