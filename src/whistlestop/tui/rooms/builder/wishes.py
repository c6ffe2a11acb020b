"""The settings of the builder room: their names, their values, and one step of each.

Pure: wishes in, wishes out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, Final

from whistlestop.domain.field import Field, fields_of
from whistlestop.domain.wishes import CIRCUIT, ROOM, WAIVABLE, CircuitWishes
from whistlestop.domain.wishes import LISTS as LISTED
from whistlestop.library import exercises
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.words import plain_text

# A setting is the label of a wish.
GROUPS: Final = {
    group: tuple(one.label for one in fields_of(CircuitWishes) if one.group == group)
    for group in (CIRCUIT, ROOM, LISTED)
}
SETTINGS: Final = tuple(label for labels in GROUPS.values() for label in labels)
LISTS: Final = GROUPS[LISTED]
_FIELDS: Final[dict[str, Field[Any]]] = {
    one.label: one for one in fields_of(CircuitWishes)
}


def value_text(wishes: CircuitWishes, setting: str) -> str:
    """What a setting holds, for people."""
    field = _FIELDS[setting]
    held = getattr(wishes, field.name)
    if setting in LISTS:
        known = exercises()
        held = [known[key].name if key in known else key for key in held]
        return ", ".join(held) or "none"
    return field.kind.shown(held)


def with_steps(wishes: CircuitWishes, setting: str, step: int) -> CircuitWishes:
    """Move a setting by a step of 1 or -1; at an end, or for a list, it stays."""
    field = _FIELDS[setting]
    return _with(
        wishes, field, field.kind.with_steps(getattr(wishes, field.name), step)
    )


def _with(wishes: CircuitWishes, field: Field[Any], value: object) -> CircuitWishes:
    changed: dict[str, Any] = {field.name: value}
    return replace(wishes, **changed)


def listed(wishes: CircuitWishes, setting: str) -> tuple[str, ...]:
    """The ids on one of the lists."""
    return tuple(getattr(wishes, _FIELDS[setting].name))


def toggled(wishes: CircuitWishes, setting: str, key: str) -> CircuitWishes:
    """Put an id on a list, or take it off; what is locked is no longer left out.

    Raises:
        ValueError: There are as many locked as stations.
    """
    field = _FIELDS[setting]
    now = getattr(wishes, field.name)
    if key in now:
        return _with(wishes, field, tuple(one for one in now if one != key))
    if field.name == "keep" and len(now) >= wishes.stations:
        raise ValueError(f"All {wishes.stations} stations are locked already.")
    changed = _with(wishes, field, (*now, key))
    other = {"locked": "avoid", "avoid": "locked"}.get(setting)
    if other is None or key not in listed(wishes, other):
        return changed
    return toggled(changed, other, key)


def pickable(wishes: CircuitWishes, setting: str) -> tuple[FilterEntry[str], ...]:
    """Everything that can be put on a list; what is on it comes first."""
    on = listed(wishes, setting)
    if setting == "rules off":
        entries = [
            FilterEntry(key, key, "", _group(key in on, "Rules in force"), words)
            for key, words in WAIVABLE.items()
        ]
    else:
        entries = [
            FilterEntry(
                key,
                known.name,
                known.region,
                _group(key in on, known.region.capitalize()),
                f"{known.region}, {plain_text(known.pattern)}",
                (key, known.call_name, *known.aliases),
            )
            for key, known in exercises().items()
        ]
    return tuple(_first(entries, on))


def _group(is_on: bool, otherwise: str) -> str:  # noqa: FBT001 - reads as a sentence
    return "Chosen: Enter removes it" if is_on else otherwise


def _first(
    entries: Iterable[FilterEntry[str]], on: tuple[str, ...]
) -> list[FilterEntry[str]]:
    return sorted(entries, key=lambda entry: entry.value not in on)
