"""Editing what differs in single loops: work, recover, load, and stations left out.

None always means: as it is without this loop's own word. What says nothing is let go.
Every operation gives a circuit that can be laid out, or refuses in words.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from whistlestop.domain.circuit.circuit import Circuit, LoopChange, StationInLoop
from whistlestop.domain.circuit.edit import (
    checked,
    rest_of,
    station_at,
    work_of,
)
from whistlestop.errors import RefusedError


def loop_set(circuit: Circuit, loop: int, name: str, value: Any) -> Circuit:
    """Set a value of one loop; `name` is an attribute of `InLoop`.

    Raises:
        RefusedError: There is no such loop, it is out of range, no station has a load
            where one is given, or no plan results.
    """
    if name == "load" and value and not any(one.load for one in circuit.stations):
        raise RefusedError("no station has a load of its own")
    own = {name: _taken(name, value)}
    return _with_loop(circuit, loop, replace(loop_at(circuit, loop), **own))


def in_loop_set(
    circuit: Circuit, loop: int, number: int, name: str, value: Any
) -> Circuit:
    """Set a value of one station in one loop; `name` is an attribute of `InLoop`.

    Raises:
        RefusedError: There is no such loop or station, it is out of range, the station
            has no load otherwise where one is given, or no plan results.
    """
    if name == "load" and value and station_at(circuit, number).load is None:
        raise RefusedError("the station has no load yet; give it one first")
    own = {name: _taken(name, value)}
    now = replace(in_loop_at(circuit, loop, number), **own)
    return _with_station(circuit, loop, number, now)


def _taken(name: str, value: Any) -> Any:
    lengths = {"work_ms": work_of, "recover_ms": rest_of}
    return value if value is None or name == "load" else lengths[name](value)


def in_loop_skipped(circuit: Circuit, loop: int, number: int, *, skip: bool) -> Circuit:
    """Leave a station out of one loop, or take it in again.

    Raises:
        RefusedError: There is no such loop or station, or the loop would be empty.
    """
    own = replace(in_loop_at(circuit, loop, number), skip=skip)
    return _with_station(circuit, loop, number, own)


def in_loop_cleared(circuit: Circuit, loop: int, number: int) -> Circuit:
    """Let one station be in a loop as it is otherwise.

    Raises:
        RefusedError: There is no such loop or station, or no plan results.
    """
    in_loop_at(circuit, loop, number)
    return _with_station(circuit, loop, number, StationInLoop())


def loop_cleared(circuit: Circuit, loop: int) -> Circuit:
    """Let a loop be like the others.

    Raises:
        RefusedError: There is no such loop, or no plan results.
    """
    loop_at(circuit, loop)
    return _with_loop(circuit, loop, LoopChange())


# --- What stands there -------------------------------------------------------------


def loop_at(circuit: Circuit, loop: int) -> LoopChange:
    """Get what differs in a loop.

    Raises:
        RefusedError: There is no such loop.
    """
    if not 1 <= loop <= circuit.loops:
        raise RefusedError(f"there is no loop {loop}")
    return circuit.loop_changes.get(loop, LoopChange())


def in_loop_at(circuit: Circuit, loop: int, number: int) -> StationInLoop:
    """Get what differs for a station in a loop.

    Raises:
        RefusedError: There is no such loop or station.
    """
    station_at(circuit, number)
    return loop_at(circuit, loop).stations.get(number, StationInLoop())


def _with_station(
    circuit: Circuit, loop: int, number: int, own: StationInLoop
) -> Circuit:
    change = loop_at(circuit, loop)
    kept = {n: one for n, one in change.stations.items() if n != number}
    if own != StationInLoop():
        kept[number] = own
    return _with_loop(
        circuit, loop, replace(change, stations=dict(sorted(kept.items())))
    )


def _with_loop(circuit: Circuit, loop: int, change: LoopChange) -> Circuit:
    kept = {n: one for n, one in circuit.loop_changes.items() if n != loop}
    if change != LoopChange():
        kept[loop] = change
    return checked(replace(circuit, loop_changes=dict(sorted(kept.items()))))
