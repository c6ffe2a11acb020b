"""Which key does what: one table for the floor and for the line mode.

Keys are named, never characters: a space may come without its character.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from typing import Final

from whistlestop.dataclass import dataclass

# Action: default keys, and what it does in a few words for the key list.
DEFAULTS: Final[dict[str, tuple[tuple[str, ...], str]]] = {
    "pause": (("space",), "pause or go on; end a wait"),
    "next": (("right", "pagedown", "n"), "go to the next one"),
    "back": (("left", "pageup", "b"), "go back one"),
    "restart": (("r",), "restart this one"),
    "skip": (("s",), "skip the station"),
    "undo": (("u",), "undo a skip (within 3 s)"),
    "longer": (("up",), "10 s longer"),
    "shorter": (("down",), "10 s shorter"),
    "easier": (("e",), "an easier version"),
    "harder": (("h",), "a harder version"),
    "load": (("l",), "another load"),
    "swap": (("w",), "swap for a similar station"),
    "drop_loop": (("d",), "drop this loop (asks first)"),
    "discomfort": (("x",), "note discomfort"),
    "count": (("c",), "reps at the station just done"),
    "athlete": (("a", "tab"), "enter for the other person"),
    "mute": (("m",), "sound off and on"),
    "voice": (("v",), "voice off and on"),
    "pacing": (("t",), "tempo pacing off and on"),
    "stop": (("q",), "end the session (asks first)"),
    "health": (("z",), "health stop: unwell or hurt"),
    "keys": (("question_mark", "f1"), "this list"),
}

# Keys that enter an effort are fixed: no action may take them.
RESERVED: Final = frozenset(
    [*"0123456789", "comma", "full_stop", "backspace", "enter", "escape", "ctrl+c"]
)

NAMES: Final = {"question_mark": "?", "pagedown": "Page Down", "pageup": "Page Up"}


@dataclass(frozen=True, slots=True)
class Keymap:
    """Actions by key, and keys by action, after the user's own table."""

    keys: Mapping[str, tuple[str, ...]]
    problems: tuple[str, ...] = ()
    _actions: dict[str, str] = field(default_factory=dict)

    def action(self, key: str) -> str | None:
        """The action of a key name, or None."""
        return self._actions.get(key)

    def first_key(self, action: str) -> str:
        """The first key of an action, as a person calls it."""
        keys = self.keys.get(action, ())
        return key_label(keys[0]) if keys else "-"


WORD_KEYS: Final = frozenset(
    [
        *("space", "tab", "enter", "escape", "backspace", "delete", "insert"),
        *("up", "down", "left", "right", "home", "end", "pageup", "pagedown"),
        *(f"f{number}" for number in range(1, 25)),
    ]
)
_MODIFIERS: Final = frozenset({"ctrl", "shift", "alt", "super", "meta", "hyper"})


def is_key_name(name: str) -> bool:
    """Say whether a key can have this name: `n`, `pageup`, `ctrl+n`, `plus_sign`."""
    *modifiers, key = name.split("+")
    if not set(modifiers) <= _MODIFIERS:
        return False
    if key in WORD_KEYS or (len(key) == 1 and key.isprintable()):
        return True
    try:
        unicodedata.lookup(key.replace("_", " "))
    except KeyError:
        return False
    return True


def key_label(key: str) -> str:
    """A key as a person calls it."""
    if key in NAMES:
        return NAMES[key]
    return key.capitalize() if len(key) > 1 else key


def build_keymap(own: Mapping[str, Sequence[str]] | None = None) -> Keymap:
    """Lay the user's table over the defaults, and name what does not fit.

    An unknown action, a reserved key, or a key given to two actions is a
    problem; the default stands for that action, so no action is ever lost.
    """
    keys = {action: default for action, (default, _) in DEFAULTS.items()}
    problems: list[str] = []
    for action, wanted in (own or {}).items():
        if action not in keys:
            near = _nearest(action, keys)
            hint = f'; nearest name: "{near[0]}"' if near else ""
            problems.append(f'keys: unknown action "{action}"{hint}')
            continue
        reserved = [key for key in wanted if key in RESERVED]
        if reserved:
            problems.append(
                f'keys: "{reserved[0]}" enters an effort and cannot be "{action}"'
            )
            continue
        if not wanted:
            problems.append(f'keys: "{action}" needs at least one key')
            continue
        unknown = [key for key in wanted if not is_key_name(key)]
        if unknown:
            near = _nearest(unknown[0], WORD_KEYS)
            hint = f'; nearest name: "{near[0]}"' if near else ""
            problems.append(f'keys: "{unknown[0]}" is not a key{hint}')
            continue
        keys[action] = tuple(wanted)
    actions: dict[str, str] = {}
    for action, names in keys.items():
        for key in names:
            other = actions.setdefault(key, action)
            if other != action:
                problems.append(f'keys: "{key}" is both "{other}" and "{action}"')
    if any(" is both " in problem for problem in problems):
        return Keymap(
            {action: default for action, (default, _) in DEFAULTS.items()},
            tuple(problems),
            {key: a for a, (default, _) in DEFAULTS.items() for key in default},
        )
    return Keymap(keys, tuple(problems), actions)


def _nearest(name: str, known: Iterable[str]) -> list[str]:
    # Imported here: most keys are right.
    from difflib import get_close_matches

    return get_close_matches(name, list(known), 1)
