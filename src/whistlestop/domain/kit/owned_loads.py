"""Every load of a circuit resolved to what is owned, and a remark on each.

A load changes unasked by one step at most. Refuses to know exercises and limits.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Protocol

from whistlestop.domain.circuit.circuit import (
    Circuit,
    LoopChange,
    Station,
    StationInLoop,
)
from whistlestop.domain.kit.kit import Kit, NearestLoad, ladder, resolve_load
from whistlestop.domain.kit.load_along import WEIGHED, most_kg, percent_more
from whistlestop.domain.load import Load

_WEIGHT: Final = ("weight",)


@dataclass(frozen=True, slots=True)
class LoadLine:
    """A load a station asks for, what comes nearest, and what is used today."""

    station: int
    resolved: NearestLoad
    used: Load

    @property
    def words(self) -> str:
        """Wanted and here, and whether anybody has to choose."""
        wanted, here = self.resolved.wanted, self.resolved.nearest
        if here is None:
            return f"{wanted} planned; nothing in your kit comes close"
        if self.used not in {wanted, here}:
            return f"{wanted} planned; {self.used} chosen for today"
        if self.resolved.steps == 0:
            return f"{wanted} planned, {here} today"
        text = f"{wanted} planned; nearest you own is {here}"
        if self.asks and (more := percent_more(wanted, here)) > 0:
            return f"{text}, {more} % more: choose a load"
        many = abs(self.resolved.steps)
        far = f"{many} steps" if many > 1 else "far"
        return f"{text}, {far} away: choose a load" if self.asks else text

    @property
    def asks(self) -> bool:
        """Whether it is more than one step away, and nobody has chosen yet."""
        return self.resolved.asks and self.used == self.resolved.wanted


def rungs_at(station: Station, kit: Kit) -> tuple[Load, ...]:
    """Every owned load a station could be done with, lightest first."""
    things = station.kit or _WEIGHT
    if station.load is not None and station.load.band:
        owned = kit.loop_bands if "loop band" in things else kit.bands
        return tuple(Load(f"band: {name}", band=name) for name in owned)
    count = station.load.count if station.load is not None else 1
    if station.load is None and not WEIGHED & set(things):
        return ()
    return tuple(rung.load for rung in ladder(kit, count, things))


def with_owned_loads(
    circuit: Circuit,
    kit: Kit | None,
    chosen: Mapping[int, Load],
    last_kg: Mapping[str, float] | None = None,
) -> tuple[Circuit, tuple[LoadLine, ...]]:
    """Resolve every load to the nearest owned one, and say so for each.

    What is more than one step away stays as it is wanted until somebody chooses.

    Args:
        circuit: As written, or with stations exchanged.
        kit: What is owned; None resolves nothing.
        chosen: Load by station number, chosen for the whole of today.
        last_kg: The athlete's last load by exercise; nothing goes a third beyond it.
    """
    if kit is None:
        chosen_only = _with_chosen(circuit, chosen)
        return chosen_only, ()
    lines: list[LoadLine] = []

    def settled(number: int, wanted: Load | None) -> Load | None:
        if wanted is None:
            return chosen.get(number)
        station = circuit.stations[number - 1]
        most = most_kg(wanted, (last_kg or {}).get(station.exercise))
        resolved = resolve_load(wanted, kit, station.kit or _WEIGHT, most)
        line = LoadLine(number, resolved, chosen.get(number, resolved.unasked))
        if line not in lines:
            lines.append(line)
        return line.used

    stations = tuple(
        replace(station, load=settled(number, station.load))
        for number, station in enumerate(circuit.stations, 1)
    )
    changes = {
        loop: _settled_change(circuit, change, settled)
        for loop, change in circuit.loop_changes.items()
    }
    made = replace(circuit, stations=stations, loop_changes=changes)
    return made, tuple(sorted(lines, key=lambda line: line.station))


class _Settle(Protocol):
    def __call__(self, number: int, wanted: Load | None) -> Load | None: ...


def _settled_change(
    circuit: Circuit, change: LoopChange, settled: _Settle
) -> LoopChange:
    """A loop's loads station by station: one mass may resolve to several."""
    stations = dict(change.stations)
    for number, station in enumerate(circuit.stations, 1):
        own = stations.get(number, StationInLoop())
        wanted = own.load or (change.load if station.load is not None else None)
        if wanted is not None and not own.skip:
            stations[number] = replace(own, load=settled(number, wanted))
    return replace(change, load=None, stations=stations)


def _with_chosen(circuit: Circuit, chosen: Mapping[int, Load]) -> Circuit:
    if not chosen:
        return circuit
    stations = tuple(
        replace(station, load=chosen.get(number, station.load))
        for number, station in enumerate(circuit.stations, 1)
    )
    return replace(circuit, stations=stations)
