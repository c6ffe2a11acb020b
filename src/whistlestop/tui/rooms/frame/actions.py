"""What can be done in a room: each action described once, beside what it does.

A method of a room becomes an action by naming its keys. The method's name is the
action's id and its docstring the sentence of the list of keys:

    @action("x delete", "remove", drop=2, held=ONCE)
    def delete_thing(self) -> None:
        "Remove the chosen line."

Owns the form of an action and what follows from it: what a key means now, the key
line, the line of words, and the list of keys. Ids are stable, so that a palette, a
click or a remapped key can name an action. It knows no screen.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Mapping, Sequence
from enum import Enum, auto
from typing import Any, Final, NamedTuple, TypeVar

from whistlestop.dataclass import dataclass
from whistlestop.tui.widgets.key_line import KeyEntry

LABELS: Final[Mapping[str, str]] = {
    "escape": "Esc",
    "delete": "Del",
    "pageup": "PgUp",
    "pagedown": "PgDn",
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "minus": "-",
    "plus": "+",
    "equals_sign": "=",
    "comma": ",",
    "full_stop": ".",
    "question_mark": "?",
    "left_square_bracket": "[",
    "right_square_bracket": "]",
}
# What enters an effort.
EFFORT_KEYS: Final[Mapping[str, str]] = {
    key: key for key in (*string.digits, "comma", "full_stop", "backspace")
}
Method = TypeVar("Method", bound=Callable[..., object])
_MARK: Final = "_action"
# Less and more of a value, wherever one is changed in place.
STEPS: Final[Mapping[str, int]] = {"left": -1, "minus": -1, "right": 1, "plus": 1}
# With more keys than these the list of keys shows only those of the key line.
MOST_LISTED: Final = 4


class Held(Enum):
    """What a key does that stays down, or was still down as the room opened."""

    REPEATS = auto()
    ONCE = auto()  # acts once, until it has rested
    FRESH = auto()  # and does not act at all as the room opens


REPEATS, ONCE, FRESH = Held


def _always(_room: object) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Action:
    """One thing that can be done in a room.

    Attributes:
        id: Its name in code and settings, the same in all rooms where the same is
            done.
        keys: Names of keys with blanks between; or by key the value that `do` gets.
        label: What a line on screen calls it, "" for nothing; it may ask the room.
        sentence: What it does, for the list of keys.
        do: Takes the room, and the key's value where `keys` has values.
        drop: How early it leaves a narrow key line: the highest goes first, 0 never.
        when: Whether it can be done now.
        held: What a key that stays down does.
        shown: How its keys are called on the key line, where that is no plain list.
        is_hint: Whether its label stands on the line of words instead.
        mapped: The action of a session whose keys it has, as the user maps them.
    """

    id: str
    keys: str | Mapping[str, Any]
    label: str | Callable[[Any], str]
    sentence: str
    do: Callable[..., object]
    drop: int = 0
    when: Callable[[Any], bool] = _always
    held: Held = REPEATS
    shown: str = ""
    is_hint: bool = False
    mapped: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its keys."""
        return tuple(self.keys.split() if isinstance(self.keys, str) else self.keys)

    def alike(self, key: str) -> tuple[str, ...]:
        """The keys that do exactly what this one does."""
        if isinstance(self.keys, str):
            return self.names
        return tuple(k for k, value in self.keys.items() if value == self.keys[key])

    def run(self, room: object, key: str) -> None:
        """Do it, as this key of it says."""
        if isinstance(self.keys, str):
            self.do(room)
        else:
            self.do(room, self.keys[key])

    def text(self, room: object) -> str:
        """What a line on screen calls it now."""
        return self.label if isinstance(self.label, str) else self.label(room)

    @property
    def short_keys(self) -> str:
        """Its keys for a line on screen: one for each thing they do."""
        if self.shown or not self.names:
            return self.shown
        if isinstance(self.keys, str):
            return key_text(self.names[0])
        first = {self.alike(key)[0]: None for key in self.keys}
        return " ".join(map(key_text, first))

    @property
    def long_keys(self) -> str:
        """Its keys for the list of keys: all of them, where they are few."""
        if len(self.names) > MOST_LISTED:
            return self.short_keys
        return " ".join(map(key_text, self.names))


def action(
    keys: str | Mapping[str, Any],
    label: str | Callable[[Any], str] = "",
    **more: Any,
) -> Callable[[Method], Method]:
    """Make a method of a room an action of it.

    Args:
        keys: As in Action.
        label: As in Action.
        more: Other attributes of Action, by name.
    """

    def described(method: Method) -> Method:
        sentence = " ".join((method.__doc__ or "").split())
        name = method.__name__

        def do(room: object, *value: object) -> object:
            return getattr(room, name)(*value)

        made = Action(name, keys, label, sentence, do, **more)
        setattr(method, _MARK, made)
        return method

    return described


def actions_of(room: type) -> tuple[Action, ...]:
    """All actions of a class of rooms: its own in their order, then its bases'."""
    found: dict[str, Action] = {}
    hidden: set[str] = set()
    for one in room.__mro__:
        for name, value in vars(one).items():
            things = value if isinstance(value, tuple) else (value,)
            made = [getattr(thing, _MARK, thing) for thing in things]
            own = [each for each in made if isinstance(each, Action)]
            # As with any attribute: what a subclass gives a name hides its base's.
            if own and name not in hidden and name != "ACTIONS":
                hidden.add(name)
                found |= {each.id: each for each in own if each.id not in found}
    return tuple(found.values())


class HelpLine(NamedTuple):
    """One line of a list of keys; one that is not possible now is still listed."""

    keys: str
    sentence: str
    is_possible: bool


def key_text(key: str) -> str:
    """A key as a person calls it: `Ctrl+Z`, `Shift ↑`, `PgDn`, `x`."""
    *modifiers, name = key.split("+")
    name = LABELS.get(name) or (name.capitalize() if name[1:] or modifiers else name)
    if modifiers == ["shift"]:
        return f"Shift {name}"
    return "+".join([*(one.capitalize() for one in modifiers), name])


def action_for(actions: Sequence[Action], room: object, key: str) -> Action | None:
    """The action a key stands for now."""
    for action in actions:
        if key in action.names and action.when(room):
            return action
    return None


def key_line(actions: Sequence[Action], room: object) -> list[KeyEntry]:
    """What the key line offers now."""
    return [
        KeyEntry(action.short_keys, text, action.drop)
        for action in actions
        if not action.is_hint and action.when(room) and (text := action.text(room))
    ]


def hint_line(actions: Sequence[Action], room: object) -> str:
    """What the line of words offers now."""
    return " · ".join(
        f"{action.short_keys} {text}"
        for action in actions
        if action.is_hint and action.when(room) and (text := action.text(room))
    )


def help_lines(actions: Sequence[Action], room: object) -> list[HelpLine]:
    """Every action with its sentence, those that are possible now first."""
    # How to read the list is not what anybody looks for in it.
    ordered = sorted(actions, key=lambda a: (not a.when(room), a.id == "show_help"))
    return [HelpLine(a.long_keys, a.sentence, a.when(room)) for a in ordered]
