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
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.frame.room import QUIET_HELP
from whistlestop.tui.rooms.frame.words import deed_text, limit_text
from whistlestop.tui.rooms.kit.copying import copy_refused
from whistlestop.tui.rooms.kit.limits_lines import (
    EXAMPLE,
    limit_entries,
    limit_of,
    limit_rows,
    until_of,
)
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import row, wrapped

_TYPED_LIMIT: Final = 400
_USUAL: Final = "2 weeks"
SIDES: Final = ("", "left", "right")


def _is_alike(one: Limit, other: Limit) -> bool:
    """Whether two limits are about one thing, so that the later takes its place."""
    about = (other.kind, other.value, other.side)
    return (one.kind, one.value, one.side) == about


class LimitsRoom(AskingRoom[None]):
    """What is left out."""

    help_keys = QUIET_HELP

    def __init__(self) -> None:
        super().__init__()
        self.limits: tuple[Limit, ...] = ()
        self.problem = ""
        self._past: list[tuple[Limit, ...]] = []
        self._future: list[tuple[Limit, ...]] = []
        self._row_ranges: list[tuple[int, int]] = []
        self._is_own_file = False
        self._is_saved = True

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

    def idle_text(self) -> str:
        """That none of it is advice."""
        if self._is_own_file and not self.problem:
            return (
                "You wrote this limits.toml by hand, so it is not changed. S saves "
                "a copy."
            )
        return (
            "These are your own limits. Ask a doctor or physiotherapist whether to "
            "train."
        )

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

    def can_choose(self) -> bool:
        """Whether there are limits that can be chosen."""
        return self._is_usable() and super().can_choose()

    def _is_usable(self) -> bool:
        return not self.problem

    def _on_limit(self) -> bool:
        return self._is_usable() and bool(self.limits)

    @property
    def _limit(self) -> Limit:
        return self.limits[self.chosen]

    @action("a", "leave out more", when=_is_usable, held=ONCE)
    def add_limit(self) -> None:
        """Leave out a part of the body or a movement, until a day."""
        words = "Type a part of the body, a movement, or a word for it."
        entries = limit_entries(self._stations)
        pick = PickRoom("Leave out what?", entries, words=words)
        self.app.push_screen(pick, self._begin_adding)

    def _until_text(self) -> str:
        return "extend the limit" if self._limit.is_over(self.today) else "until"

    @action("enter", _until_text, when=_on_limit)
    def change_until(self) -> None:
        """Type until when it is left out."""
        self._ask_until(self._limit, replaces=True)

    @action("x delete", "lift the limit", when=_on_limit, held=ONCE)
    def end_limit(self) -> None:
        """Lift the limit: it is taken in again; undo brings it back."""
        limit = self._limit
        self._change(tuple(one for one in self.limits if one is not limit))
        self.say(f"{limit_text(limit, self._stations)}: limit lifted. u undoes it.")

    @action("n", "note", drop=3, when=_on_limit)
    def write_note(self) -> None:
        """Type a private note on it."""
        note = self._limit.note
        self.ask("A private note", self._take_note, value=note, limit=400)

    def _on_site(self) -> bool:
        return self._on_limit() and self._limit.kind == "site"

    def _strength_text(self) -> str:
        return "leave out" if self._limit.strength == "easy" else "go easy"

    @action("g", _strength_text, drop=1, when=_on_site, held=ONCE)
    def change_strength(self) -> None:
        """Leave the site out, or go easy on it: something may be asked of it."""
        is_easy = self._limit.strength == "easy"
        self._put(replace(self._limit, strength="out" if is_easy else "easy"))

    @action("s", "side", drop=2, when=_on_site, held=ONCE)
    def change_side(self) -> None:
        """Both sides, then left, then right."""
        at = SIDES.index(self._limit.side)
        self._put(replace(self._limit, side=SIDES[(at + 1) % len(SIDES)]))

    @action("u ctrl+z", lambda self: "undo" * bool(self._past), drop=2, when=_is_usable)
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
        drop=4,
        when=_is_usable,
    )
    def save_copy(self) -> None:
        """Save the list to another file; one you wrote by hand is not changed."""
        path = self.services.places.limits_file.with_name("limits-copy.toml")
        asked = "Save to which new file?"
        self.ask(asked, self._save_copy, value=str(path), limit=_TYPED_LIMIT)

    @action("escape", "back")
    def go_back(self) -> None:
        """Go back; where something is not saved it asks first."""
        if self._is_saved or self.again:
            self.dismiss(None)
        else:
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
                rest = [x for x in self.limits if not _is_alike(x, limit)]
                changed = [*rest, dated]
            self._change(tuple(changed))
            self.chosen = changed.index(dated)
            return ""

        what = deed_text(limit, self._stations)
        asked = f"{what[0].upper()}{what[1:]} until when? {EXAMPLE}"
        self.ask(asked, take, value=_USUAL, limit=30)

    def _take_note(self, typed: str) -> str:
        limit = self.limits[self.chosen]
        noted = replace(limit, note=" ".join(typed.split()))
        self._change(tuple(noted if one is limit else one for one in self.limits))
        return ""

    def _put(self, changed: Limit) -> None:
        """Put a changed limit in the place of the chosen one."""
        limit = self._limit
        self._change(tuple(changed if one is limit else one for one in self.limits))

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
