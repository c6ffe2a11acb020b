"""Editing the timed items before and after a circuit: its warm-up and its cool-down.

Every operation gives a circuit that can be laid out, or refuses in words. Refuses to
know files, the library and keys.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from whistlestop.domain.circuit.circuit import MAX_ITEMS, Circuit, TimedItem
from whistlestop.domain.circuit.edit import checked, item_length_of, name_of, text_of
from whistlestop.domain.field import NAME_LIMIT, NOTE_LIMIT
from whistlestop.errors import RefusedError

Side = Literal["warm-up", "cool-down"]


def items_of(circuit: Circuit, side: Side) -> tuple[TimedItem, ...]:
    """Get the items of the warm-up or the cool-down."""
    return circuit.warm_up if side == "warm-up" else circuit.cool_down


def items_set(circuit: Circuit, side: Side, items: Sequence[TimedItem]) -> Circuit:
    """Put other items in the place of all there are.

    Raises:
        RefusedError: There are too many, or no plan results.
    """
    if len(items) > MAX_ITEMS:
        raise RefusedError(f"a {side} has at most {MAX_ITEMS} items")
    if side == "warm-up":
        return checked(replace(circuit, warm_up=tuple(items)))
    return checked(replace(circuit, cool_down=tuple(items)))


def item_added(circuit: Circuit, side: Side, item: TimedItem, after: int) -> Circuit:
    """Put an item in behind the one with the number `after`; 0 makes it the first.

    Raises:
        RefusedError: It cannot be one, there are too many, or no plan results.
    """
    items = list(items_of(circuit, side))
    items.insert(max(0, min(after, len(items))), _item(item))
    return items_set(circuit, side, items)


def item_removed(circuit: Circuit, side: Side, number: int) -> Circuit:
    """Take an item out.

    Raises:
        RefusedError: There is no such item.
    """
    item_at(circuit, side, number)
    items = list(items_of(circuit, side))
    del items[number - 1]
    return items_set(circuit, side, items)


def item_moved(circuit: Circuit, side: Side, number: int, by: int) -> Circuit:
    """Move an item by some places.

    Raises:
        RefusedError: There is no such item, or no such place.
    """
    item = item_at(circuit, side, number)
    items = list(items_of(circuit, side))
    if not 1 <= number + by <= len(items):
        end = "first" if by < 0 else "last"
        raise RefusedError(f"it is the {end} item already")
    del items[number - 1]
    items.insert(number + by - 1, item)
    return items_set(circuit, side, items)


def item_renamed(circuit: Circuit, side: Side, number: int, name: str) -> Circuit:
    """Give an item another name.

    Raises:
        RefusedError: There is no such item, or the name cannot be one.
    """
    named = replace(item_at(circuit, side, number), name=name)
    return _with_item(circuit, side, number, named)


def item_timed(circuit: Circuit, side: Side, number: int, duration_ms: int) -> Circuit:
    """Set how long an item lasts, in ms, whole seconds, 1 s to 30 min.

    Raises:
        RefusedError: There is no such item, it is out of range, or no plan results.
    """
    timed = replace(item_at(circuit, side, number), duration_ms=duration_ms)
    return _with_item(circuit, side, number, timed)


def item_noted(circuit: Circuit, side: Side, number: int, note: str) -> Circuit:
    """Set the note of an item, up to 400 characters; "" takes it away.

    Raises:
        RefusedError: There is no such item, or it holds what cannot be shown.
    """
    noted = replace(item_at(circuit, side, number), note=note)
    return _with_item(circuit, side, number, noted)


def item_at(circuit: Circuit, side: Side, number: int) -> TimedItem:
    """Get an item by its number.

    Raises:
        RefusedError: There is none.
    """
    items = items_of(circuit, side)
    if not 1 <= number <= len(items):
        raise RefusedError(f"there is no item {number}")
    return items[number - 1]


def _with_item(circuit: Circuit, side: Side, number: int, item: TimedItem) -> Circuit:
    items = list(items_of(circuit, side))
    items[number - 1] = _item(item)
    return items_set(circuit, side, items)


def _item(item: TimedItem) -> TimedItem:
    return TimedItem(
        name_of(item.name, "a name", NAME_LIMIT),
        item_length_of(item.duration_ms),
        text_of(item.note, "a note", NOTE_LIMIT),
    )
