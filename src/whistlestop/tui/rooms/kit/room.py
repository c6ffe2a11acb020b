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
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.kit.copying import copy_refused
from whistlestop.tui.rooms.kit.entries import KitKind, KitLine, kind_of, lines
from whistlestop.tui.rooms.kit.lines import can_add, kind_rows, kit_room_rows
from whistlestop.tui.rooms.kit.typed import counted, put, sitting_text, without
from whistlestop.tui.widgets.key_line import KeyEntry
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

    has_help = False

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
        self._left_once = False

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

    def standing_text(self) -> str:
        """What is asked, or what the file allows."""
        if self.is_asking:
            return self.asked_text()
        if self._is_own_file and not self.problem:
            return (
                "You wrote this kit.toml by hand, so it is not changed. S saves a copy."
            )
        return ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """What can be done now."""
        if self.is_asking:
            return self.asked_keys()
        if self.problem:
            return [KeyEntry("Esc", "back")]
        entries = [KeyEntry("a", "add")]
        if self._lines:
            line = self._lines[self.chosen]
            if line.kind != "bench":
                entries.append(KeyEntry("Enter", "change", 1))
            if line.count is not None:
                entries.append(KeyEntry("← →", "fewer, more", 2))
            entries.append(KeyEntry("x", "remove", 2))
        if self._past:
            entries.append(KeyEntry("u", "undo", 1))
        if self._future:
            entries.append(KeyEntry("U", "redo", 3))
        entries += [KeyEntry("S", "save a copy", 3)] if not self._is_saved else []
        return [*entries, KeyEntry("Esc", "back"), KeyEntry("i", "limits", 4)]

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

    def press(self, key: str) -> bool:
        """Choose, add, change, count, take away, undo, or go back."""
        if self.is_asking:
            return self.press_asking(key)
        if self.problem:
            if key == "escape":
                self.dismiss(None)
            return key == "escape"
        if key == "escape":
            self._leave()
            return True
        self._left_once = False
        if self._row_ranges and self.move(key):
            return True
        return self._act(key)

    def _act(self, key: str) -> bool:
        match key:
            case "a":
                if self.debounced(key):
                    self.app.push_screen(KindRoom(self.kit), self._begin_adding)
            case "i":
                if self.debounced(key):
                    from whistlestop.tui.rooms.kit.limits_room import LimitsRoom

                    self.app.push_screen(LimitsRoom())
            case "u" | "ctrl+z":
                self._step(self._past, self._future)
            case "U" | "ctrl+y":
                self._step(self._future, self._past)
            case "S":
                path = self.services.places.kit_file.with_name("kit-copy.toml")
                self.ask(
                    "Save to which new file?",
                    self._save_copy,
                    value=str(path),
                    limit=_TYPED_LIMIT,
                )
            case _:
                return bool(self._lines) and self._act_on(self._lines[self.chosen], key)
        return True

    def _act_on(self, line: KitLine, key: str) -> bool:
        match key:
            case "enter" if line.kind != "bench":
                self._ask(kind_of(line.kind), line)
            case "left" | "minus":
                self._try(lambda: counted(self.kit, line, -1))
            case "right" | "plus":
                self._try(lambda: counted(self.kit, line, 1))
            case "x" | "delete":
                if self.debounced(key):
                    self._try(lambda: without(self.kit, line))
                    self.say(f"{line.words} removed. u undoes it.")
            case _:
                return False
        return True

    def _leave(self) -> None:
        if self._is_saved or self._left_once:
            self.dismiss(None)
            return
        self._left_once = True
        self.say("Not saved anywhere. S saves a copy; Esc again discards it.")

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

    has_help = False

    def __init__(self, kit: Kit) -> None:
        """Offer what can still be added to a kit."""
        super().__init__()
        self.kinds = can_add(kit)

    def title_text(self) -> tuple[str, str, str]:
        """Say what is asked."""
        return "Add what?", "", ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """The page names the letters."""
        return [KeyEntry("a letter", "or ↑ ↓ and Enter"), KeyEntry("Esc", "back")]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The kinds."""
        del lines
        return PageLayout(
            kind_rows(self.kinds, self.chosen, cells), self.row_ranges()[self.chosen]
        )

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """One line each."""
        return [(n, n) for n in range(len(self.kinds))]

    def press(self, key: str) -> bool:
        """Take a letter."""
        if self.move(key):
            return True
        letters = {kind.letter: kind.id for kind in self.kinds}
        if key == "escape":
            self.dismiss(None)
        elif key == "enter" and self.debounced(key, on_arrival=False):
            self.dismiss(self.kinds[self.chosen].id)
        elif key in letters and self.debounced(key):
            self.dismiss(letters[key])
        else:
            return False
        return True
