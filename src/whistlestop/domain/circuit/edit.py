"""Editing a circuit, one step at a time: every step leaves a circuit that can be done.

Owns the whole and the order of the stations, what both mean for changes of single
loops, and the history for undo. Refuses to know files, the library and keys.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from whistlestop.domain.circuit.circuit import (
    CHANGEOVER,
    ITEM,
    LOOPS,
    MAX_STATIONS,
    READY,
    REST,
    WORK,
    Circuit,
    Station,
    StationInLoop,
)
from whistlestop.domain.duration import exact
from whistlestop.domain.field import NAME_LIMIT, NOTE_LIMIT, Length, Wrong
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import first_hostile
from whistlestop.errors import PlanError, RefusedError

MOST_STEPS: Final = 500


# --- History -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Step:
    """What was done, in a few words, and the circuit before it (or after, to redo)."""

    words: str
    circuit: Circuit


@dataclass(frozen=True, slots=True)
class EditHistory:
    """A circuit with the way it came about. Never changed, only replaced.

    `past` runs from the first step to the last; `future` holds what was undone,
    the next step to redo last.
    """

    present: Circuit
    past: tuple[Step, ...] = ()
    future: tuple[Step, ...] = ()

    def after(self, words: str, circuit: Circuit) -> EditHistory:
        """Take a step; a step that changes nothing is none. What was undone goes."""
        if circuit == self.present:
            return self
        past = (*self.past, Step(words, self.present))[-MOST_STEPS:]
        return EditHistory(circuit, past)

    def undone(self) -> EditHistory:
        """Go one step back.

        Raises:
            RefusedError: There is none.
        """
        if not self.past:
            raise RefusedError("there is nothing to undo")
        last = self.past[-1]
        future = (*self.future, Step(last.words, self.present))
        return EditHistory(last.circuit, self.past[:-1], future)

    def redone(self) -> EditHistory:
        """Go one step on again.

        Raises:
            RefusedError: Nothing was undone.
        """
        if not self.future:
            raise RefusedError("there is nothing to do again")
        after = self.future[-1]
        past = (*self.past, Step(after.words, self.present))
        return EditHistory(after.circuit, past, self.future[:-1])


# --- The circuit as a whole ------------------------------------------------------


def empty_circuit(name: str) -> Circuit:
    """Begin a circuit without stations; it can be done once it has one.

    Raises:
        RefusedError: The name cannot be one.
    """
    return renamed(Circuit("new", "-", ()), name)


def renamed(circuit: Circuit, name: str) -> Circuit:
    """Give the circuit another name, 1 to 80 characters. Its id stays.

    Raises:
        RefusedError: The name cannot be one.
    """
    return replace(circuit, name=name_of(name, "a name", NAME_LIMIT))


def noted(circuit: Circuit, note: str) -> Circuit:
    """Set the circuit's note, up to 400 characters; "" takes it away.

    Raises:
        RefusedError: It is too long, or holds what cannot be shown.
    """
    return replace(circuit, note=text_of(note, "a note", NOTE_LIMIT))


def loops_set(circuit: Circuit, loops: int) -> Circuit:
    """Set the number of loops, 1 to 20.

    Changes to a loop beyond the last one stay for when it comes back; it
    does not count meanwhile, and `settled` lets go of it.

    Raises:
        RefusedError: It is out of range, or no plan results.
    """
    if not LOOPS.least <= loops <= LOOPS.most:
        raise RefusedError(f"a circuit has {LOOPS.expected} loops")
    try:
        return checked(replace(circuit, loops=loops))
    except RefusedError:
        # What waits beyond the last loop may fit no longer; it is not worth a wall.
        return checked(replace(settled(circuit), loops=loops))


def work_set(circuit: Circuit, work_ms: int) -> Circuit:
    """Set the work of the whole circuit, in ms, whole seconds.

    Raises:
        RefusedError: It is out of range, or no plan results.
    """
    return checked(replace(circuit, work_ms=work_of(work_ms)))


def recover_set(circuit: Circuit, recover_ms: int) -> Circuit:
    """Set the recovery of the whole circuit, in ms, whole seconds.

    Raises:
        RefusedError: It is out of range, or no plan results.
    """
    return checked(replace(circuit, recover_ms=rest_of(recover_ms)))


def break_set(circuit: Circuit, break_ms: int | None) -> Circuit:
    """Set the loop break in ms; 0 is none, None lasts until a key.

    Raises:
        RefusedError: It is out of range, or no plan results.
    """
    if break_ms is None:
        return checked(replace(circuit, loop_break_ms=None, break_until_key=True))
    kept = rest_of(break_ms) or None
    return checked(replace(circuit, loop_break_ms=kept, break_until_key=False))


def changeover_set(circuit: Circuit, changeover_ms: int) -> Circuit:
    """Set the changeover of stations in parts, 0 to 10 s in ms, whole seconds.

    Raises:
        RefusedError: It is out of range, or no plan results.
    """
    return checked(replace(circuit, changeover_ms=changeover_of(changeover_ms)))


def get_ready_set(circuit: Circuit, get_ready_ms: int) -> Circuit:
    """Set the time to get ready, 0 to 5 min in ms, whole seconds.

    Raises:
        RefusedError: It is out of range.
    """
    ms = _within(READY, get_ready_ms, "get ready")
    return checked(replace(circuit, get_ready_ms=ms))


def setting_set(circuit: Circuit, name: str, value: Any) -> Circuit:
    """Set a value of the whole circuit to which nothing else is tied, by attribute.

    Raises:
        RefusedError: No plan results.
    """
    changed: dict[str, Any] = {name: value}
    return checked(replace(circuit, **changed))


# --- Which stations there are ------------------------------------------------------


def added(circuit: Circuit, station: Station, after: int) -> Circuit:
    """Put a station in behind the one with the number `after`; 0 makes it the first.

    Raises:
        RefusedError: The circuit is full, or no plan results.
    """
    if not 0 <= after <= len(circuit.stations):
        raise RefusedError(f"there is no station {after}")
    if len(circuit.stations) >= MAX_STATIONS:
        raise RefusedError(f"a circuit has at most {MAX_STATIONS} stations")
    order: list[int | Station] = list(range(1, len(circuit.stations) + 1))
    order.insert(after, station)
    return _in_order(circuit, order)


def duplicated(circuit: Circuit, number: int) -> Circuit:
    """Put a copy behind a station, with all that single loops say of it.

    Raises:
        RefusedError: There is no such station, the circuit is full, or no plan
            results.
    """
    station_at(circuit, number)
    if len(circuit.stations) >= MAX_STATIONS:
        raise RefusedError(f"a circuit has at most {MAX_STATIONS} stations")
    order: list[int | Station] = list(range(1, len(circuit.stations) + 1))
    order.insert(number, number)
    return _in_order(circuit, order)


def removed(circuit: Circuit, number: int) -> Circuit:
    """Take a station out, with all that single loops say of it.

    Raises:
        RefusedError: There is no such station, or a loop would have none left.
    """
    station_at(circuit, number)
    order = [n for n in range(1, len(circuit.stations) + 1) if n != number]
    return _in_order(circuit, order)


def moved(circuit: Circuit, number: int, by: int) -> Circuit:
    """Move a station by some places; what single loops say of it moves along.

    Raises:
        RefusedError: There is no such station, or no such place.
    """
    station_at(circuit, number)
    count = len(circuit.stations)
    if not 1 <= number + by <= count:
        end = "first" if by < 0 else "last"
        raise RefusedError(f"it is the {end} station already")
    order = list(range(1, count + 1))
    order.insert(number + by - 1, order.pop(number - 1))
    return _in_order(circuit, order)


def _in_order(circuit: Circuit, order: Sequence[int | Station]) -> Circuit:
    """Put stations in a new order, by their old numbers; changes of loops follow."""
    stations: list[Station] = []
    places: dict[int, list[int]] = {}
    for place, one in enumerate(order, 1):
        if isinstance(one, int):
            places.setdefault(one, []).append(place)
            stations.append(circuit.stations[one - 1])
        else:
            stations.append(one)
    changes = {
        loop: replace(change, stations=_renumbered(change.stations, places))
        for loop, change in circuit.loop_changes.items()
    }
    return checked(replace(circuit, stations=tuple(stations), loop_changes=changes))


def _renumbered(
    own: Mapping[int, StationInLoop], places: Mapping[int, Sequence[int]]
) -> dict[int, StationInLoop]:
    return {place: own[number] for number in own for place in places.get(number, ())}


# --- What holds always -----------------------------------------------------------


def checked(circuit: Circuit) -> Circuit:
    """Give back a circuit that can be laid out, or one still without stations.

    Raises:
        RefusedError: It cannot be laid out, in words.
    """
    if circuit.stations:
        try:
            compile_plan(circuit)
        except PlanError as error:
            raise RefusedError(f"not possible: {error}") from None
    return circuit


def settled(circuit: Circuit) -> Circuit:
    """Let go of what no longer counts: changes of loops and breaks that never come.

    It lays out exactly as before.
    """
    changes = {n: c for n, c in circuit.loop_changes.items() if n <= circuit.loops}
    break_ms = None if circuit.break_until_key else circuit.loop_break_ms or None
    return replace(circuit, loop_changes=changes, loop_break_ms=break_ms)


def station_at(circuit: Circuit, number: int) -> Station:
    """Get a station by its number.

    Raises:
        RefusedError: There is none.
    """
    if not 1 <= number <= len(circuit.stations):
        raise RefusedError(f"there is no station {number}")
    return circuit.stations[number - 1]


def with_station(circuit: Circuit, number: int, station: Station) -> Circuit:
    """Put a station in the place of the one with that number, checked."""
    stations = list(circuit.stations)
    stations[number - 1] = station
    return checked(replace(circuit, stations=tuple(stations)))


def text_of(text: str, what: str, limit: int) -> str:
    """Take a text without blanks round it; `what` names it in a refusal."""
    trimmed = text.strip()
    if hostile := first_hostile(trimmed):
        raise RefusedError(f"{what} cannot hold the character {hostile}")
    if len(trimmed) > limit:
        raise RefusedError(f"{what} has at most {limit} characters")
    return trimmed


def name_of(text: str, what: str, limit: int) -> str:
    """Take a text that is not empty."""
    named = text_of(text, what, limit)
    if not named:
        raise RefusedError(f"{what} has at least one letter")
    return named


def _within(kind: Length, ms: int, what: str) -> int:
    try:
        return kind.within(ms)
    except Wrong as wrong:
        if kind.least_ms <= ms <= kind.most_ms:
            raise RefusedError(
                f"{exact(ms)} is not a whole number of seconds"
            ) from None
        raise RefusedError(f"{what} lasts {wrong.expected}") from None


def work_of(ms: int) -> int:
    """Take a work in ms, whole seconds in range."""
    return _within(WORK, ms, "work")


def rest_of(ms: int) -> int:
    """Take a recovery or a break in ms, whole seconds in range."""
    return _within(REST, ms, "a recovery or break")


def changeover_of(ms: int) -> int:
    """Take a changeover in ms, whole seconds in range."""
    return _within(CHANGEOVER, ms, "a changeover")


def item_length_of(ms: int) -> int:
    """Take the length of a timed item in ms, whole seconds in range."""
    return _within(ITEM, ms, "an item")
