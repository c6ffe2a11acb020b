"""The kit room: what is owned, added and changed a line at a time, and saved at once.

Owns the keys; lines stand in `entries`, words in `lines`, undo and saving in
`saved_list`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from whistlestop.domain.kit.kit import Kit
from whistlestop.errors import RefusedError
from whistlestop.library.kit_words import PLACES, THINGS
from whistlestop.store.kit.file import read_kit, write_kit
from whistlestop.tui.rooms.frame.actions import FRESH, ONCE, STEPS, action
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.frame.room import BACK, QUIET_HELP
from whistlestop.tui.rooms.kit.entries import (
    KINDS_TO_ADD,
    KitKind,
    KitLine,
    kind_of,
    lines,
)
from whistlestop.tui.rooms.kit.lines import can_add, kind_rows, kit_room_rows
from whistlestop.tui.rooms.kit.saved_list import TYPED_LIMIT, SavedListRoom
from whistlestop.tui.rooms.kit.typed import (
    counted,
    put,
    sitting_text,
    without,
)
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import Row

_OTHERWISE: Final = frozenset(
    {"weight", "two weights", "kettlebell", "bar", "plates", "bench", "chair", "box",
     "step", "mat", "band", "loop band", "stability ball", "medicine ball",
     "dead ball", "backpack"}
)  # fmt: skip


class KitRoom(SavedListRoom[Kit]):
    """What is owned."""

    subject = "Kit"

    def __init__(self) -> None:
        super().__init__(Kit())
        self._lines: tuple[KitLine, ...] = ()

    @property
    def file(self) -> Path:
        """The kit file."""
        return self.services.places.kit_file

    def read_file(self, path: Path) -> Kit:
        """Read a kit."""
        return read_kit(path)

    def write_file(self, path: Path, listed: Kit) -> None:
        """Write a kit."""
        write_kit(path, listed)

    def list_rows(self, cells: int) -> tuple[list[Row], Sequence[tuple[int, int]]]:
        """What is owned, and what it makes."""
        return kit_room_rows(self.listed, self._lines, self.chosen, cells)

    def take_listed(self, listed: Kit) -> None:
        """Choose what is new; else the line at the same place."""
        before = self._lines
        self.listed, self._lines = listed, lines(listed)
        new = [n for n, line in enumerate(self._lines) if line not in before]
        if len(self._lines) > len(before) and new:
            self.chosen = new[0]
        self.chosen = max(0, min(self.chosen, len(self._lines) - 1))

    # Keys

    def _on_line(self) -> bool:
        return self.is_usable() and bool(self._lines)

    @property
    def _line(self) -> KitLine:
        return self._lines[self.chosen]

    @action("a", "add", when=SavedListRoom.is_usable, held=ONCE)
    def add_thing(self) -> None:
        """Add a thing you own."""
        self.app.push_screen(KindRoom(self.listed), self._begin_adding)

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
        self._try(lambda: counted(self.listed, self._line, step))

    @action("x delete", "remove", drop=2, when=_on_line, held=ONCE)
    def delete_thing(self) -> None:
        """Remove the chosen thing; undo brings it back."""
        line = self._line
        self._try(lambda: without(self.listed, line))
        self.say(f"{line.words} removed. u undoes it.")

    # Before the limits on the key line.
    list_actions = (
        SavedListRoom.undo,
        SavedListRoom.redo,
        SavedListRoom.save_copy,
        SavedListRoom.go_back,
    )

    @action("i", "limits", drop=4, when=SavedListRoom.is_usable, held=ONCE)
    def open_limits(self) -> None:
        """See what is left out for a while."""
        from whistlestop.tui.rooms.kit.limits_room import LimitsRoom

        self.app.push_screen(LimitsRoom())

    # Changing

    def _begin_adding(self, kind: str | None) -> None:
        if kind is None:
            return
        if kind == "bench":
            self._try(lambda: put(self.listed, "bench", ""))
        elif kind == "thing":
            self.app.push_screen(thing_room(self.listed), self._add_thing)
        else:
            self._ask(kind_of(kind), None)
        self.paint()

    def _add_thing(self, thing: str | None) -> None:
        if thing == "":
            self._ask(kind_of("thing"), None)
        elif thing is not None:
            self._try(lambda: put(self.listed, "thing", thing))
        self.paint()

    def _ask(self, kind: KitKind, line: KitLine | None) -> None:
        def take(typed: str) -> str:
            place = None if line is None else line.place
            try:
                changed = put(self.listed, kind.id, typed, place)
            except RefusedError as refused:
                return str(refused)
            self.change(changed)
            if kind.id == "ball":
                self.say(sitting_text(changed))
            return ""

        what = kind.title.capitalize()
        example = f": {kind.example}" if kind.example else ", in a word or two"
        typed = line.typed if line else ""
        self.ask(f"{what}{example}", take, value=typed, limit=TYPED_LIMIT)

    def _try(self, made: Callable[[], Kit]) -> None:
        try:
            changed = made()
        except RefusedError as refused:
            self.say(str(refused))
            return
        self.change(changed)


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
