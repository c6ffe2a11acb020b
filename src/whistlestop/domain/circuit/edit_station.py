"""Editing one station of a circuit: exercise, load, parts, tempo, drill and times.

Every operation gives a circuit that can be laid out, or refuses in words. Refuses to
know files, the library and keys; an exercise comes in as a ready station.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from whistlestop.domain.circuit.circuit import (
    MAX_PARTS,
    PART_LIMIT,
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
)
from whistlestop.domain.circuit.edit import (
    changeover_of,
    checked,
    name_of,
    rest_of,
    station_at,
    text_of,
    with_station,
    work_of,
)
from whistlestop.domain.field import NAME_LIMIT, NOTE_LIMIT
from whistlestop.domain.load import Load
from whistlestop.domain.text import fold_call_name
from whistlestop.errors import RefusedError


def exercise_set(circuit: Circuit, number: int, fresh: Station) -> Circuit:
    """Put another exercise at a station; its times, drill and hold stay.

    `fresh` brings name, load, parts, tempo, kit and cautions of the exercise. A
    note on the old exercise goes, and so do the loads of single loops where the
    new one has none.

    Raises:
        RefusedError: There is no such station, or no plan results.
    """
    old = station_at(circuit, number)
    kept = replace(
        fresh,
        work_ms=old.work_ms,
        recover_ms=old.recover_ms,
        drill=old.drill,
        hold=old.hold,
        lead=old.lead,
        changeover_ms=old.changeover_ms if len(fresh.parts) > 1 else None,
    )
    changed = with_station(circuit, number, kept)
    return changed if fresh.load else checked(_without_loop_loads(changed, number))


def loaded(circuit: Circuit, number: int, load: Load | None) -> Circuit:
    """Set the load of a station; None takes it away, in single loops as well.

    Raises:
        RefusedError: There is no such station.
    """
    changed = with_station(
        circuit, number, replace(station_at(circuit, number), load=load)
    )
    return changed if load else checked(_without_loop_loads(changed, number))


def _without_loop_loads(circuit: Circuit, number: int) -> Circuit:
    changes: dict[int, LoopChange] = {}
    for loop, change in circuit.loop_changes.items():
        own = dict(change.stations)
        if number in own:
            own[number] = replace(own[number], load=None)
            if own[number] == StationInLoop():
                del own[number]
        changes[loop] = replace(change, stations=own)
    return replace(circuit, loop_changes=changes)


def parted(circuit: Circuit, number: int, parts: Sequence[str]) -> Circuit:
    """Share the work of a station among parts; none or one is the whole in one.

    Raises:
        RefusedError: A part is named twice or not at all, there are too many, or
            a part would last less than 5 s.
    """
    named = tuple(name_of(part, "a part", PART_LIMIT) for part in parts)
    folded = [part.casefold() for part in named]
    if len(set(folded)) < len(folded):
        raise RefusedError("each part has a name of its own")
    if len(named) > MAX_PARTS:
        raise RefusedError(f"a station has at most {MAX_PARTS} parts")
    old = station_at(circuit, number)
    changeover_ms = old.changeover_ms if len(named) > 1 else None
    return with_station(
        circuit, number, replace(old, parts=named, changeover_ms=changeover_ms)
    )


def drill_set(circuit: Circuit, number: int, drill: Drill | None) -> Circuit:
    """Set the drill in the recovery after a station; None leaves it free.

    Raises:
        RefusedError: There is no such station.
    """
    return with_station(
        circuit, number, replace(station_at(circuit, number), drill=drill)
    )


def station_work_set(circuit: Circuit, number: int, work_ms: int | None) -> Circuit:
    """Set the work of one station in ms, whole seconds; None is as the circuit says.

    Raises:
        RefusedError: It is out of range, or no plan results.
    """
    ms = None if work_ms is None else work_of(work_ms)
    return with_station(
        circuit, number, replace(station_at(circuit, number), work_ms=ms)
    )


def station_recover_set(
    circuit: Circuit, number: int, recover_ms: int | None
) -> Circuit:
    """Set the recovery after one station in ms; None is as the circuit says.

    Raises:
        RefusedError: It is out of range.
    """
    ms = None if recover_ms is None else rest_of(recover_ms)
    return with_station(
        circuit, number, replace(station_at(circuit, number), recover_ms=ms)
    )


def station_changeover_set(
    circuit: Circuit, number: int, changeover_ms: int | None
) -> Circuit:
    """Set the changeover of one station in parts, in ms; None is as the circuit says.

    Raises:
        RefusedError: It has one part, it is out of range, or no plan results.
    """
    ms = None if changeover_ms is None else changeover_of(changeover_ms)
    return with_station(
        circuit, number, replace(station_at(circuit, number), changeover_ms=ms)
    )


def setting_set(circuit: Circuit, number: int, name: str, value: Any) -> Circuit:
    """Set a value of a station to which nothing else is tied, by attribute.

    Raises:
        RefusedError: There is no such station, or no plan results.
    """
    changed: dict[str, Any] = {name: value}
    return with_station(
        circuit, number, replace(station_at(circuit, number), **changed)
    )


def hold_set(circuit: Circuit, number: int, *, hold: bool) -> Circuit:
    """Let a station wait for a key before it begins, or not.

    Raises:
        RefusedError: There is no such station.
    """
    return with_station(
        circuit, number, replace(station_at(circuit, number), hold=hold)
    )


def station_noted(circuit: Circuit, number: int, note: str) -> Circuit:
    """Set the note of a station, up to 400 characters; "" takes it away.

    Raises:
        RefusedError: It is too long, or holds what cannot be shown.
    """
    text = text_of(note, "a note", NOTE_LIMIT)
    return with_station(
        circuit, number, replace(station_at(circuit, number), note=text)
    )


def station_renamed(circuit: Circuit, number: int, name: str) -> Circuit:
    """Give one station a name and a call-name of its own.

    Raises:
        RefusedError: The name cannot be one, or block letters cannot draw it.
    """
    text = name_of(name, "a name", NAME_LIMIT)
    call = fold_call_name(text)
    if not call:
        raise RefusedError("block letters cannot draw this name")
    named = replace(station_at(circuit, number), name=text, call_name=call)
    return with_station(circuit, number, named)
