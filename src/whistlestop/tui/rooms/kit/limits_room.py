"""The limits room: what is left out for a while, until when, and what is over.

Owns the keys, undo and keeping; words stand in `limits_room_lines`. It asks nobody
why, and a limits file that somebody wrote by hand is never written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from whistlestop.domain.limits import Limit
from whistlestop.domain.text import shown
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.store.kit.file import is_saved
from whistlestop.store.kit.limits import read_limits, write_limits
from whistlestop.store.table.text_file import read_text
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.frame.words import limit_text
from whistlestop.tui.rooms.kit.copying import copy_refused
from whistlestop.tui.rooms.kit.limits_lines import (
    EXAMPLE,
    limit_entries,
    limit_of,
    limit_rows,
    until_of,
)
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import row, wrapped

_TYPED_LIMIT: Final = 400
_USUAL: Final = "2 weeks"


class LimitsRoom(AskingRoom[None]):
    """What is left out."""

    has_help = False

    def __init__(self) -> None:
        super().__init__()
        self.limits: tuple[Limit, ...] = ()
        self.problem = ""
        self._past: list[tuple[Limit, ...]] = []
        self._future: list[tuple[Limit, ...]] = []
        self._row_ranges: list[tuple[int, int]] = []
        self._is_own_file = False
        self._is_saved = True
        self._left_once = False

    def on_mount(self) -> None:
        """Read the limits file; one with problems is shown and left alone."""
        super().on_mount()
        path = self.services.places.limits_file
        self.today = self.services.clock.wall().date()
        self._stations = self.services.library.whole().stations
        try:
            if path.exists():
                self.limits = read_limits(path)
                self._is_own_file = not is_saved(read_text(path))
        except ProblemsFound as found:
            more = len(found.problems) - 1
            self.problem = f"{found.problems[0]}" + (f" (and {more} more)" * bool(more))
        except OSError as error:
            self.problem = f"{shown(str(path))} cannot be read: {error.strerror}"

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, and say whose file it is."""
        if self.problem:
            return "Limits", "", "cannot be used"
        if not self._is_saved:
            return "Limits", "", "not saved"
        state = "your own file" if self._is_own_file else ""
        return "Limits", "", state

    def standing_text(self) -> str:
        """What is asked; else that none of it is advice."""
        if self.is_asking:
            return self.asked_text()
        if self._is_own_file and not self.problem:
            return (
                "You wrote this limits.toml by hand, so it is not changed. S saves "
                "a copy."
            )
        return (
            "These are your own limits. Ask a doctor or physiotherapist whether to "
            "train."
        )

    def key_entries(self) -> Sequence[KeyEntry]:
        """What can be done now."""
        if self.is_asking:
            return self.asked_keys()
        if self.problem:
            return [KeyEntry("Esc", "back")]
        entries = [KeyEntry("a", "leave out more")]
        if self.limits:
            limit = self.limits[self.chosen]
            over = limit.is_over(self.today)
            entries.append(KeyEntry("Enter", "extend the limit" if over else "until"))
            entries.append(KeyEntry("x", "lift the limit"))
            entries.append(KeyEntry("n", "note", 3))
        entries += [KeyEntry("u", "undo", 2)] if self._past else []
        entries += [KeyEntry("U", "redo", 3)] if self._future else []
        entries += [KeyEntry("S", "save a copy", 4)] if not self._is_saved else []
        return [*entries, KeyEntry("Esc", "back")]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """What is over first, then what holds."""
        del lines
        if self.problem:
            rows = [row("  ", line) for line in wrapped(self.problem, cells - 4)]
            rows.append(row("  ", "Fix the file and come back; nothing was changed."))
            return PageLayout(rows)
        rows, self._row_ranges = limit_rows(
            self.limits, self.chosen, self.today, cells, self._stations
        )
        return PageLayout(
            rows, self._row_ranges[self.chosen] if self._row_ranges else None
        )

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each limit stands."""
        return self._row_ranges

    def press(self, key: str) -> bool:
        """Choose, add, extend, take back in, undo, or go back."""
        if self.is_asking:
            return self.press_asking(key)
        if key == "escape":
            self._leave()
            return True
        self._left_once = False
        if self.problem:
            return False
        if self._row_ranges and self.move(key):
            return True
        return self._act(key)

    def _act(self, key: str) -> bool:
        match key:
            case "a":
                if self.debounced(key):
                    words = "Type a part of the body, a movement, or a word for it."
                    pick = PickRoom(
                        "Leave out what?", limit_entries(self._stations), words=words
                    )
                    self.app.push_screen(pick, self._begin_adding)
            case "u" | "ctrl+z":
                self._step(self._past, self._future)
            case "U" | "ctrl+y":
                self._step(self._future, self._past)
            case "S":
                path = self.services.places.limits_file.with_name("limits-copy.toml")
                self.ask(
                    "Save to which new file?",
                    self._save_copy,
                    value=str(path),
                    limit=_TYPED_LIMIT,
                )
            case _:
                return bool(self.limits) and self._act_on(key)
        return True

    def _act_on(self, key: str) -> bool:
        limit = self.limits[self.chosen]
        match key:
            case "enter":
                self._ask_until(limit, replaces=True)
            case "x" | "delete":
                if self.debounced(key):
                    rest = [one for one in self.limits if one is not limit]
                    self._change(tuple(rest))
                    words = limit_text(limit, self._stations)
                    self.say(f"{words}: limit lifted. u undoes it.")
            case "n":
                self.ask("A private note", self._take_note, value=limit.note, limit=400)
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

    def _begin_adding(self, value: str | None) -> None:
        if value is not None:
            self._ask_until(limit_of(value, self.today), replaces=False)
        self.paint()

    def _ask_until(self, limit: Limit, *, replaces: bool) -> None:
        def take(typed: str) -> str:
            try:
                until = until_of(typed, self.today)
            except ValueError as error:
                return str(error)
            since = limit.since
            dated = replace(limit, until=until)
            if since is not None and since > until:
                dated = replace(dated, since=None)
            if replaces:
                changed = [dated if one is limit else one for one in self.limits]
            else:
                alike = (limit.kind, limit.value)
                rest = [x for x in self.limits if (x.kind, x.value) != alike]
                changed = [*rest, dated]
            self._change(tuple(changed))
            self.chosen = changed.index(dated)
            return ""

        asked = f"Leave out {limit_text(limit, self._stations)} until when? {EXAMPLE}"
        self.ask(asked, take, value=_USUAL, limit=30)

    def _take_note(self, typed: str) -> str:
        limit = self.limits[self.chosen]
        noted = replace(limit, note=" ".join(typed.split()))
        self._change(tuple(noted if one is limit else one for one in self.limits))
        return ""

    def _change(self, limits: tuple[Limit, ...]) -> None:
        if limits != self.limits:
            self._past.append(self.limits)
            self._future.clear()
            self._show(limits)

    def _step(
        self, back: list[tuple[Limit, ...]], forth: list[tuple[Limit, ...]]
    ) -> None:
        if not back:
            self.say("Nothing to undo or redo.")
            return
        forth.append(self.limits)
        self._show(back.pop())

    def _show(self, limits: tuple[Limit, ...]) -> None:
        self.limits = limits
        self.chosen = max(0, min(self.chosen, len(limits) - 1))
        if self._is_own_file:
            self._is_saved = False
            return
        try:
            write_limits(self.services.places.limits_file, limits)
        except StoreError as error:
            self._is_saved = False
            self.say(f"Not saved: {error}.")
        else:
            self._is_saved = True

    def _save_copy(self, typed: str) -> str:
        if refused := copy_refused(typed, lambda path: write_limits(path, self.limits)):
            return refused
        self._is_saved = True
        self.say("Copy saved. The program still reads limits.toml.")
        return ""
