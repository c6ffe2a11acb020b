"""Editing what differs in single loops: work, recover, load, and stations left out.

None always means: as it is without this loop's own word. What says nothing is let go.
Every operation gives a circuit that can be laid out, or refuses in words.
"""

from __future__ import annotations

from dataclasses import replace

from whistlestop.domain.circuit.circuit import Circuit, LoopChange, StationInLoop
from whistlestop.domain.circuit.edit import checked, rest_of, station_at, work_of
from whistlestop.domain.load import Load
from whistlestop.errors import RefusedError


def loop_work_set(circuit: Circuit, loop: int, work_ms: int | None) -> Circuit:
    """Set the work of one loop in ms, whole seconds.

    Raises:
        RefusedError: There is no such loop, it is out of range, or no plan results.
    """
    ms = None if work_ms is None else work_of(work_ms)
    return _with_loop(circuit, loop, replace(loop_at(circuit, loop), work_ms=ms))


def loop_recover_set(circuit: Circuit, loop: int, recover_ms: int | None) -> Circuit:
    """Set the recovery of one loop in ms, whole seconds.

    Raises:
        RefusedError: There is no such loop, or it is out of range.
    """
    ms = None if recover_ms is None else rest_of(recover_ms)
    return _with_loop(circuit, loop, replace(loop_at(circuit, loop), recover_ms=ms))


def loop_load_set(circuit: Circuit, loop: int, load: Load | None) -> Circuit:
    """Set one load for every station of a loop that has a load of its own.

    Raises:
        RefusedError: There is no such loop, or no station has a load.
    """
    if load is not None and not any(one.load for one in circuit.stations):
        raise RefusedError("no station has a load of its own")
    return _with_loop(circuit, loop, replace(loop_at(circuit, loop), load=load))


def in_loop_work_set(
    circuit: Circuit, loop: int, number: int, work_ms: int | None
) -> Circuit:
    """Set the work of one station in one loop, in ms, whole seconds.

    Raises:
        RefusedError: There is no such loop or station, it is out of range, or no
            plan results.
    """
    ms = None if work_ms is None else work_of(work_ms)
    own = replace(in_loop_at(circuit, loop, number), work_ms=ms)
    return _with_station(circuit, loop, number, own)


def in_loop_recover_set(
    circuit: Circuit, loop: int, number: int, recover_ms: int | None
) -> Circuit:
    """Set the recovery after one station in one loop, in ms, whole seconds.

    Raises:
        RefusedError: There is no such loop or station, or it is out of range.
    """
    ms = None if recover_ms is None else rest_of(recover_ms)
    own = replace(in_loop_at(circuit, loop, number), recover_ms=ms)
    return _with_station(circuit, loop, number, own)


def in_loop_load_set(
    circuit: Circuit, loop: int, number: int, load: Load | None
) -> Circuit:
    """Set the load of one station in one loop.

    Raises:
        RefusedError: There is no such loop or station, or it has no load otherwise.
    """
    if load is not None and station_at(circuit, number).load is None:
        raise RefusedError("the station has no load yet; give it one first")
    own = replace(in_loop_at(circuit, loop, number), load=load)
    return _with_station(circuit, loop, number, own)


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
