"""The lists of keys: those of a room, and those of a session as they are mapped now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from whistlestop.driver.guard import KEYS
from whistlestop.driver.keymap import DEFAULTS, Keymap
from whistlestop.tui.rooms.frame.actions import ONCE, HelpLine, action, key_text
from whistlestop.tui.rooms.frame.room import BACK, QUIET_HELP, SCROLL, ModalRoom
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Column,
    Row,
    TextSpan,
    Tone,
    beside,
    fit,
    row,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading

_GROUPS: Final = (
    ("Moving on", ("pause", "next", "back", "restart", "skip", "undo")),
    ("Changing", ("longer", "shorter", "drop_loop")),
    (
        "Adjusting and noting",
        ("easier", "harder", "load", "swap", "count", "discomfort"),
    ),
    ("Sound", ("mute", "voice", "pacing")),
    ("Ending", ("stop", "health")),
    ("Help", ("keys",)),
)
_EFFORT: Final = (
    ("0-9", "effort for the last loop"),
    ("1, 0", "effort 10"),
    (", or .", "half a point more"),
    ("Bksp", "undo"),
)
_COLUMN_CELLS: Final = 52
_KEY_CELLS: Final = 9
_LEAST_TWO: Final = 76
_WIDEST: Final = 100


def key_rows(keymap: Keymap, cells: int) -> list[Row]:
    """List all actions in groups, in two columns where they fit."""
    grouped = {action for _, actions in _GROUPS for action in actions}
    others = tuple(action for action in keymap.keys if action not in grouped)
    groups = (*_GROUPS, ("Also", others)) if others else _GROUPS
    blocks = [_group(keymap, title, actions) for title, actions in groups]
    effort: list[Row] = [heading("Effort")]
    effort += [_line(keys, words) for keys, words in _EFFORT]
    blocks.insert(3, [*effort, BLANK])
    if cells < _LEAST_TWO:
        rows = [one for block in blocks for one in block]
    else:
        own = min(_COLUMN_CELLS, (cells - 2) // 2)
        left = [one for block in blocks[:3] for one in block]
        right = [one for block in blocks[3:] for one in block]
        rows = beside([Column(left, own + 1), Column(right, own - 1)], 0)
    rows = [(TextSpan("  "), *one) if one else BLANK for one in rows]
    for problem in keymap.problems:
        rows.append(row("  ", TextSpan(problem, "dim")))
    return rows


def _group(keymap: Keymap, title: str, actions: Sequence[str]) -> list[Row]:
    rows: list[Row] = [heading(title)]
    for name in actions:
        names = keymap.keys.get(name, ())
        keys = " ".join(map(key_text, names))
        rows.append(_line(keys, DEFAULTS[name][1] if name in DEFAULTS else name))
    return [*rows, BLANK]


def _line(keys: str, words: str) -> Row:
    return row(TextSpan(fit(keys, _KEY_CELLS - 1) + " "), TextSpan(words, "dim"))


def help_rows(lines: Sequence[HelpLine], cells: int) -> list[Row]:
    """List what can be done now, then the rest, long sentences wrapped."""
    wide = max((len(line.keys) for line in lines), default=0)
    rows: list[Row] = []
    last = True
    for line in lines:
        if last and not line.is_possible:
            rows += [BLANK, row("  ", *heading("At other times"))]
        last = line.is_possible
        own = max(1, min(_WIDEST, cells) - wide - 7)
        first, *more = wrapped(line.sentence, own) or [""]
        tone: Tone = "text" if line.is_possible else "dim"
        keys = TextSpan(fit(line.keys, wide), "bold" if line.is_possible else "dim")
        rows.append(row("    ", keys, "  ", TextSpan(first, tone)))
        rows += [row(" " * (wide + 6), TextSpan(text, tone)) for text in more]
    return rows


class ListScreen(ModalRoom[None]):
    """A list of keys; it goes as it came."""

    part = KEYS

    def show_help(self) -> None:
        """Close: this is the list already."""
        self.dismiss(None)

    go_back = replace(BACK, keys="escape enter", held=ONCE)
    help_keys = replace(QUIET_HELP, sentence="Close the list.", held=ONCE)


class KeysScreen(ListScreen):
    """All keys of a session."""

    def title_text(self) -> tuple[str, str, str]:
        """Name the room."""
        return "Keys in a session", "", ""

    def standing_text(self) -> str:
        """Where the others are."""
        return "In every other room, the same key lists the keys of that room."

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The list."""
        del lines
        return PageLayout(key_rows(self.services.keymap, cells))

    read_on = replace(SCROLL, label="")


class RoomKeys(ListScreen):
    """All that can be done in a room."""

    def __init__(self, room: str, lines: Sequence[HelpLine]) -> None:
        """Show the lines of a room."""
        super().__init__()
        self._room, self._lines = room, tuple(lines)

    def title_text(self) -> tuple[str, str, str]:
        """Name the list, and the room it is about."""
        return "Keys", self._room, ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The list."""
        del lines
        return PageLayout(help_rows(self._lines, cells))

    go_back = ListScreen.go_back

    @action("tab", "keys in a session", held=ONCE)
    def show_session_keys(self) -> None:
        """List the keys of a session."""
        self.rooms.open_keys()

    read_on = SCROLL
