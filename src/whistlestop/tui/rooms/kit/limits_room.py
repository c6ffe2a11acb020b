"""The limits room: what is left out for a while, until when, and what is over.

Owns the keys; words stand in `limits_lines`, undo and saving in `saved_list`. It asks
nobody why.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from whistlestop.domain.limits import Limit
from whistlestop.store.kit.limits import read_limits, write_limits
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.frame.words import deed_text, limit_text
from whistlestop.tui.rooms.kit.limits_lines import (
    EXAMPLE,
    limit_entries,
    limit_of,
    limit_rows,
    until_of,
)
from whistlestop.tui.rooms.kit.saved_list import SavedListRoom
from whistlestop.tui.widgets.safe_text import Row

_USUAL: Final = "2 weeks"
SIDES: Final = ("", "left", "right")


def _is_alike(one: Limit, other: Limit) -> bool:
    """Whether two limits are about one thing, so that the later takes its place."""
    about = (other.kind, other.value, other.side)
    return (one.kind, one.value, one.side) == about


class LimitsRoom(SavedListRoom[tuple[Limit, ...]]):
    """What is left out."""

    subject = "Limits"

    def __init__(self) -> None:
        super().__init__(())

    def on_mount(self) -> None:
        """Read the limits file, and what its words mean today."""
        super().on_mount()
        self.today = self.services.clock.wall().date()
        self._stations = self.services.library.whole().stations

    @property
    def file(self) -> Path:
        """The limits file."""
        return self.services.places.limits_file

    def read_file(self, path: Path) -> tuple[Limit, ...]:
        """Read limits, in the order of the file."""
        return read_limits(path)

    def write_file(self, path: Path, listed: tuple[Limit, ...]) -> None:
        """Write limits."""
        write_limits(path, listed)

    def idle_text(self) -> str:
        """That none of it is advice."""
        return super().idle_text() or (
            "These are your own limits. Ask a doctor or physiotherapist whether to "
            "train."
        )

    def list_rows(self, cells: int) -> tuple[list[Row], Sequence[tuple[int, int]]]:
        """What is over first, then what holds."""
        return limit_rows(self.listed, self.chosen, self.today, cells, self._stations)

    def take_listed(self, listed: tuple[Limit, ...]) -> None:
        """Stay at the same place of the list."""
        self.listed = listed
        self.chosen = max(0, min(self.chosen, len(listed) - 1))

    # Keys

    def _on_limit(self) -> bool:
        return self.is_usable() and bool(self.listed)

    @property
    def _limit(self) -> Limit:
        return self.listed[self.chosen]

    @action("a", "leave out more", when=SavedListRoom.is_usable, held=ONCE)
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
        self.change(tuple(one for one in self.listed if one is not limit))
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
                changed = [dated if one is limit else one for one in self.listed]
            else:
                rest = [x for x in self.listed if not _is_alike(x, limit)]
                changed = [*rest, dated]
            self.change(tuple(changed))
            self.chosen = changed.index(dated)
            return ""

        what = deed_text(limit, self._stations)
        asked = f"{what[0].upper()}{what[1:]} until when? {EXAMPLE}"
        self.ask(asked, take, value=_USUAL, limit=30)

    def _take_note(self, typed: str) -> str:
        limit = self.listed[self.chosen]
        noted = replace(limit, note=" ".join(typed.split()))
        self.change(tuple(noted if one is limit else one for one in self.listed))
        return ""

    def _put(self, changed: Limit) -> None:
        """Put a changed limit in the place of the chosen one."""
        limit = self._limit
        self.change(tuple(changed if one is limit else one for one in self.listed))
