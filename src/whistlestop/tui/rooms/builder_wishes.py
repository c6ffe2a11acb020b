"""The settings of the builder room: their names, their values, and one step of each.

Pure: wishes in, wishes out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, Final, Literal, cast

from whistlestop.domain.wishes import (
    ATHLETES,
    DIFFICULTY,
    LOOPS,
    MINUTES,
    RECOVER_S,
    STATIONS,
    WAIVABLE,
    WORK_S,
    Ceiling,
    Noise,
    Space,
    Wishes,
)
from whistlestop.library import exercises
from whistlestop.library.cards import CEILINGS, NOISES, SPACES
from whistlestop.tui.rooms.library_filter import Entry
from whistlestop.tui.rooms.library_lines import plain_words

Setting = Literal[
    "minutes", "stations", "loops", "work", "recovery", "warm-up", "difficulty",
    "people", "space", "noise", "ceiling", "liked", "avoid", "locked", "rules off",
]  # fmt: skip
NUMBERS: Final[tuple[Setting, ...]] = (
    "minutes", "stations", "loops", "work", "recovery", "warm-up", "difficulty",
    "people",
)  # fmt: skip
ROOM: Final[tuple[Setting, ...]] = ("space", "noise", "ceiling")
LISTS: Final[tuple[Setting, ...]] = ("liked", "avoid", "locked", "rules off")
SETTINGS: Final = (*NUMBERS, *ROOM, *LISTS)

_COUNTED: Final = {
    "minutes": ("minutes", MINUTES),
    "stations": ("stations", STATIONS),
    "loops": ("loops", LOOPS),
    "difficulty": ("difficulty", DIFFICULTY),
    "people": ("athletes", ATHLETES),
}
_LENGTHS: Final = {
    "work": ("work_ms", WORK_S, 40_000),
    "recovery": ("recover_ms", RECOVER_S, 20_000),
}
_STEP_MS: Final = 5_000
_LISTED: Final = {
    "liked": "like",
    "avoid": "avoid",
    "locked": "keep",
    "rules off": "waived",
}
_WORDS: Final = {
    "spot": "arms' reach",
    "mat": "a mat's length",
    "lane": "a clear lane",
    "quiet": "quiet",
    "some": "some noise",
    "loud": "any noise",
    "low": "low",
    "reach": "arms overhead",
    "jump": "high enough to jump",
}


def value_words(wishes: Wishes, setting: Setting) -> str:
    """What a setting holds, for people."""
    if setting in _COUNTED:
        return str(getattr(wishes, _COUNTED[setting][0]))
    if setting in _LENGTHS:
        ms = getattr(wishes, _LENGTHS[setting][0])
        return "automatic" if ms is None else f"{ms // 1000} s"
    if setting == "warm-up":
        return "with a cool-down" if wishes.warm_up else "none"
    if setting in ROOM:
        return _WORDS[getattr(wishes, setting)]
    listed = getattr(wishes, _LISTED[setting])
    if setting == "rules off":
        return ", ".join(listed) or "none"
    known = exercises()
    names = (known[key].name if key in known else key for key in listed)
    return ", ".join(names) or "none"


def stepped(wishes: Wishes, setting: Setting, step: int) -> Wishes:
    """Move a setting by a step of 1 or -1; at an end, or for a list, it stays."""
    if setting in _COUNTED:
        name, (least, most) = _COUNTED[setting]
        value = min(most, max(least, getattr(wishes, name) + step))
        return _with(wishes, name, value)
    if setting in _LENGTHS:
        return _length(wishes, setting, step)
    if setting == "warm-up":
        return replace(wishes, warm_up=step > 0)
    if setting == "space":
        return replace(wishes, space=cast("Space", _next(SPACES, wishes.space, step)))
    if setting == "noise":
        return replace(wishes, noise=cast("Noise", _next(NOISES, wishes.noise, step)))
    if setting == "ceiling":
        to = cast("Ceiling", _next(CEILINGS, wishes.ceiling, step))
        return replace(wishes, ceiling=to)
    return wishes


def _with(wishes: Wishes, name: str, value: object) -> Wishes:
    changed: dict[str, Any] = {name: value}
    return replace(wishes, **changed)


def _length(wishes: Wishes, setting: Setting, step: int) -> Wishes:
    """Below the shortest there is that the builder chooses; above that, the usual."""
    name, (least_s, most_s), usual_ms = _LENGTHS[setting]
    before = getattr(wishes, name)
    if before is None:
        after = usual_ms if step > 0 else None
    else:
        after = before + step * _STEP_MS
        after = None if after < least_s * 1000 else min(most_s * 1000, after)
    return _with(wishes, name, after)


def _next(scale: tuple[str, ...], word: str, step: int) -> str:
    return scale[min(len(scale) - 1, max(0, scale.index(word) + step))]


def listed(wishes: Wishes, setting: Setting) -> tuple[str, ...]:
    """The ids on one of the lists."""
    return tuple(getattr(wishes, _LISTED[setting]))


def toggled(wishes: Wishes, setting: Setting, key: str) -> Wishes:
    """Put an id on a list, or take it off; what is kept is no longer left out.

    Raises:
        ValueError: There are as many kept as stations, in words.
    """
    name = _LISTED[setting]
    now = getattr(wishes, name)
    if key in now:
        return _with(wishes, name, tuple(one for one in now if one != key))
    if name == "keep" and len(now) >= wishes.stations:
        raise ValueError(f"All {wishes.stations} stations are locked already.")
    changed = _with(wishes, name, (*now, key))
    other = {"keep": "avoid", "avoid": "keep"}.get(name)
    if other is None:
        return changed
    left = tuple(one for one in getattr(wishes, other) if one != key)
    return _with(changed, other, left)


def pickable(wishes: Wishes, setting: Setting) -> tuple[Entry[str], ...]:
    """Everything that can be put on a list; what is on it comes first."""
    on = listed(wishes, setting)
    if setting == "rules off":
        entries = [
            Entry(key, key, "", _group(key in on, "Rules in force"), words)
            for key, words in WAIVABLE.items()
        ]
    else:
        entries = [
            Entry(
                key,
                known.name,
                known.region,
                _group(key in on, known.region.capitalize()),
                f"{known.region}, {plain_words(known.pattern)}",
            )
            for key, known in exercises().items()
        ]
    return tuple(_first(entries, on))


def _group(is_on: bool, otherwise: str) -> str:  # noqa: FBT001 - reads as a sentence
    return "Chosen: Enter removes it" if is_on else otherwise


def _first(entries: Iterable[Entry[str]], on: tuple[str, ...]) -> list[Entry[str]]:
    return sorted(entries, key=lambda entry: entry.value not in on)
