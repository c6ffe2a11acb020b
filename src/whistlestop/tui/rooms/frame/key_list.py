"""The key list: every key that acts in a session, as it is mapped now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.driver.guard import KEYS
from whistlestop.driver.keymap import DEFAULTS, Keymap, key_label
from whistlestop.tui.rooms.frame.room import ModalRoom
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Column,
    Row,
    TextSpan,
    beside,
    fit,
    row,
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
_SHORT: Final = {
    "right": "→",
    "left": "←",
    "up": "↑",
    "down": "↓",
    "pagedown": "PgDn",
    "pageup": "PgUp",
}


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
    for action in actions:
        names = keymap.keys.get(action, ())
        keys = " ".join(_SHORT.get(key) or key_label(key) for key in names)
        rows.append(_line(keys, DEFAULTS[action][1] if action in DEFAULTS else action))
    return [*rows, BLANK]


def _line(keys: str, words: str) -> Row:
    return row(TextSpan(fit(keys, _KEY_CELLS - 1) + " "), TextSpan(words, "dim"))


class KeysScreen(ModalRoom[None]):
    """The list of keys; it goes as it came."""

    part = KEYS
    has_help = False

    def title_text(self) -> tuple[str, str, str]:
        """Name the room."""
        return "Keys in a session", "", ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """The way back."""
        return [KeyEntry("Esc", "back")]

    def standing_text(self) -> str:
        """Other rooms name theirs themselves."""
        return "Other screens list their keys on the bottom line."

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The list."""
        del lines
        return PageLayout(key_rows(self.services.keymap, cells))

    def press(self, key: str) -> bool:
        """Close, or read on."""
        if key in {"escape", "enter"} or self.services.keymap.action(key) == "keys":
            if self.debounced("close"):
                self.dismiss(None)
        elif key in {"down", "up"}:
            self.page.move_by(1 if key == "down" else -1)
            self.follow = False
        else:
            return False
        return True
