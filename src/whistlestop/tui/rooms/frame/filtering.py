"""A room with a long list that is narrowed by typing, under a few shelves.

Owns what is typed, which section is open and what is chosen. What the entries are and
how they look, each room says.
"""

from __future__ import annotations

import string
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Final, Generic, TypeVar

from whistlestop.domain.search import Sought, found
from whistlestop.tui.rooms.frame.actions import Action, action
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.room import QUIET_HELP
from whistlestop.tui.widgets.safe_text import Row, TextSpan, cut, row

Result = TypeVar("Result")
Value = TypeVar("Value")
TYPED_LIMIT: Final = 30
_SIGNS: Final = {"space": " ", "minus": "-", "apostrophe": "'"}
_TYPED: Final = {sign: sign for sign in string.ascii_letters + string.digits} | _SIGNS


@dataclass(frozen=True, slots=True)
class FilterEntry(Generic[Value]):
    """One line of a list: `section` it is in, `group` it stands under.

    `found_by` is what typing is held against besides the name; `aliases` are other
    names, which count for more and are never shown. A group that `leads` stands
    before the others, whatever answers best.
    """

    value: Value
    name: str
    section: str
    group: str
    found_by: str = ""
    aliases: tuple[str, ...] = ()
    leads: bool = False


def narrowed(
    entries: Sequence[FilterEntry[Value]], section: str, typed: str
) -> list[FilterEntry[Value]]:
    """Entries of a section ("" is all) that answer to what is typed.

    Nothing typed leaves their order; else the best answer comes first, and after it
    the others of its group, so that each group stands once.
    """
    open_ones = [one for one in entries if not section or one.section == section]
    if not typed.strip():
        return open_ones
    # No id: two entries may share all that is sought, and a place is no name.
    sought = [
        Sought("", one.name, (), one.aliases, (one.found_by,)) for one in open_ones
    ]
    of = {id(key): one for key, one in zip(sought, open_ones, strict=True)}
    groups: dict[str, list[FilterEntry[Value]]] = {}
    for answer in found(sought, typed):
        one = of[id(answer)]
        groups.setdefault(one.group, []).append(one)
    in_order = sorted(groups.values(), key=lambda group: not group[0].leads)
    return [one for group in in_order for one in group]


def group_row(groups: Sequence[str], open_group: int, cells: int) -> Row:
    """Name the shelves, the open one on a board; around it where all do not fit."""
    first = 0
    while first < open_group and _width(groups[first : open_group + 1]) > cells - 4:
        first += 1
    spans: list[TextSpan] = [TextSpan("… " if first else "  ", "dim")]
    for place, name in enumerate(groups[first:], first):
        spans.append(TextSpan(f" {name} ", "board" if place == open_group else "dim"))
        spans.append(TextSpan(" "))
    return tuple(spans)


def _width(names: Sequence[str]) -> int:
    return sum(len(name) + 3 for name in names)


def typed_row(typed: str, count: int, cells: int, words: str) -> Row:
    """Show what is typed and how many lines it leaves; else how to begin."""
    if not typed:
        return row("  ", TextSpan(cut(words, cells - 2), "dim"))
    left = cut(typed, cells - 24)
    details = f"   {count} found" if count else "   nothing found"
    return row(
        "  find ",
        TextSpan(left, "bold"),
        TextSpan("▏", "bold"),
        TextSpan(details, "dim"),
    )


class FilterRoom(ChoosingRoom[Result]):
    """A list narrowed by typing; Tab goes from section to section."""

    help_keys: ClassVar[Action] = QUIET_HELP

    def __init__(self) -> None:
        super().__init__()
        self.typed = ""
        self.section = 0

    def group_count(self) -> int:
        """How many shelves there are."""
        raise NotImplementedError

    def narrow(self) -> None:
        """Find what is typed on the open section."""
        raise NotImplementedError

    def find(self, typed: str) -> None:
        """Find this instead of what was typed."""
        self.typed, self.chosen = typed, 0
        self.narrow()

    def _has_typed(self) -> bool:
        return bool(self.typed)

    @action("escape", "back", when=lambda room: not room.typed)
    def go_back(self) -> None:
        """Go back."""
        self.dismiss(None)

    @action("escape", "clear", when=_has_typed)
    def clear_find(self) -> None:
        """Clear what is typed."""
        self.find("")

    @action(
        {"tab": 1, "shift+tab": -1},
        "next group",
        drop=1,
        when=lambda room: room.group_count() > 0,
        shown="Tab",
    )
    def next_pane(self, step: int) -> None:
        """Go to the next group; with Shift to the one before."""
        self.section = (self.section + step) % self.group_count()
        self.chosen = 0
        self.narrow()

    @action(_TYPED, shown="a-z 0-9")
    def type_to_find(self, sign: str) -> None:
        """Type to find."""
        if len(self.typed) < TYPED_LIMIT and (self.typed or sign != " "):
            self.find(self.typed + sign)

    @action("backspace", when=_has_typed)
    def find_less(self) -> None:
        """Delete the last letter typed."""
        self.find(self.typed[:-1])
