"""Which circuits suit kit, limits and minutes best: each with what it would change.

Pure. Stations and drills are exchanged, then the times; nothing is saved.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.circuit.fit import Option
from whistlestop.domain.kit.load_along import most_kg
from whistlestop.domain.kit.means import Means
from whistlestop.domain.kit.owned_loads import LoadLine
from whistlestop.domain.kit.substitutions import (
    drill_instead,
    exchanges,
    problems_found,
)
from whistlestop.errors import PlanError, RefusedError
from whistlestop.library.kit_words import PLACES
from whistlestop.tui.rooms.sheet.fit_lines import fit_circuit
from whistlestop.tui.rooms.sheet.today import Draft

# What lies or stands there whatever is named: no circuit is better for using it.
_LIES_THERE: Final = frozenset({"mat", "bench", "chair", "box", "step", *PLACES})


@dataclass(frozen=True, slots=True)
class FittedCircuit:
    """A circuit made to suit. `option` is None where no time was asked for.

    `fits` says whether it comes to the minutes; `left_out` are stations for which
    nothing stands in, `beyond` those that ask for more practice than there is;
    `eased` counts those exchanged for that reason, which speaks against no circuit.
    """

    draft: Draft
    option: Option | None
    fits: bool
    left_out: tuple[int, ...]
    beyond: tuple[int, ...] = ()
    eased: int = 0

    @property
    def uses(self) -> int:
        """At how many of today's stations something owned is held, pulled or hung from.

        Mats, seats and what belongs to the room are left aside; without a list of what
        is owned nothing is.
        """
        if self.draft.means.kit is None:
            return 0
        return sum(
            station.load is not None or not _LIES_THERE.issuperset(station.kit)
            for number, station in enumerate(self.draft.as_performed.stations, 1)
            if number not in self.draft.today.without_stations
        )

    @property
    def rank(self) -> tuple[object, ...]:
        """Smaller is better; the name decides at last, so that the order is fixed."""
        times = len(self.option.changes) if self.option else 0
        own = self.draft.changes
        written = self.draft.circuit.stations
        others = sum(
            exchange.exercise != written[number - 1].exercise
            for number, exchange in own.exchanges.items()
        )
        same = len(own.exchanges) - others
        # What leaves more than half of the time is not what was asked for.
        spare_ms = self.option.spare_ms if self.option else 0
        return (
            not self.fits,
            len(self.beyond),
            spare_ms > self.draft.plan.total_ms,
            len(self.left_out),
            -self.uses,
            3 * (others - self.eased)
            + same
            + 2 * len(own.loads)
            + len(own.drills)
            + times,
            spare_ms,
            self.draft.circuit.name,
            self.draft.circuit.id,
        )


def best_suited(
    circuits: Iterable[Circuit],
    means: Means,
    minutes: int | None,
    beyond: frozenset[str] = frozenset(),
) -> tuple[FittedCircuit, ...]:
    """Make every circuit suit as far as it can, and rank them, best first.

    Args:
        circuits: Circuits that can be read; one that cannot be laid out is left.
        means: Kit, limits and the library.
        minutes: The time there is; None where it does not matter.
        beyond: Stations and drills that ask for more practice than there is; none is
            put in, and circuits with fewer such stations come first.
    """
    found = (suited(circuit, means, minutes, beyond) for circuit in circuits)
    return tuple(sorted((one for one in found if one), key=lambda one: one.rank))


def suited(
    circuit: Circuit,
    means: Means,
    minutes: int | None,
    beyond: frozenset[str] = frozenset(),
) -> FittedCircuit | None:
    """Make one circuit suit; None where it cannot be laid out so."""
    try:
        draft, left_out = _dressed(Draft.of(circuit, means), beyond)
        draft, eased = _eased(draft, left_out, beyond)
        fits, option = True, None
        if minutes is not None:
            kept = _without(draft.as_performed, left_out)
            found = fit_circuit(kept, minutes, means.exercises)
            fits = bool(found.options)
            if found.options:
                option = found.options[0]
                today = replace(
                    option.today,
                    without_stations=_numbers(option.today.without_stations, left_out)
                    | left_out,
                )
                draft = draft.changed(today)
        elif left_out:
            draft = draft.changed(replace(draft.today, without_stations=left_out))
    except (RefusedError, PlanError):
        return None
    hard = tuple(
        number
        for number, station in enumerate(draft.as_performed.stations, 1)
        if station.exercise in beyond and number not in draft.today.without_stations
    )
    return FittedCircuit(draft, option, fits, tuple(sorted(left_out)), hard, eased)


def _dressed(draft: Draft, beyond: frozenset[str]) -> tuple[Draft, frozenset[int]]:
    """Exchange what cannot be done; give back what nothing stands in for."""
    left_out: set[int] = set()
    for problem in problems_found(draft.as_performed, draft.means):
        instead = _instead(draft, problem.station, beyond)
        if instead is None:
            left_out.add(problem.station)
        else:
            draft = instead
    return _with_drills(_with_loads(draft), beyond), frozenset(left_out)


def _eased(
    draft: Draft, left_out: frozenset[int], beyond: frozenset[str]
) -> tuple[Draft, int]:
    """Exchange what asks for more practice than there is; say how often."""
    count = 0
    for number, station in enumerate(draft.as_performed.stations, 1):
        if station.exercise in beyond and number not in left_out:
            instead = _instead(draft, number, beyond)
            if instead is not None:
                draft, count = _with_loads(instead), count + 1
    return draft, count


def _instead(draft: Draft, number: int, beyond: frozenset[str]) -> Draft | None:
    """The draft with the best exchange at a station, other kit for the same too."""
    own = draft.circuit.stations[number - 1].exercise
    for one in exchanges(draft.as_performed, number, draft.means):
        if one.exercise == own or one.exercise not in beyond:
            chosen = {**draft.changes.exchanges, number: one}
            return draft.changed(changes=replace(draft.changes, exchanges=chosen))
    return None


def _with_loads(draft: Draft) -> Draft:
    """Take the nearest owned load where it is more than a step away; it is stated."""
    asked = {
        line.station: line.resolved.nearest
        for line in draft.lines
        if line.asks
        and line.resolved.nearest is not None
        and _is_light_enough(line, draft)
    }
    loads = {**draft.changes.loads, **asked}
    return draft.changed(changes=replace(draft.changes, loads=loads))


def _is_light_enough(line: LoadLine, draft: Draft) -> bool:
    """Whether the nearest owned load may be taken unasked by somebody who fits."""
    near = line.resolved.nearest
    station = draft.as_performed.stations[line.station - 1]
    last = draft.means.loads.last_kg.get(station.exercise)
    most = most_kg(line.resolved.wanted, last)
    return near is None or not (most and near.each_kg and near.each_kg > most)


def _with_drills(draft: Draft, beyond: frozenset[str]) -> Draft:
    for number in range(1, len(draft.circuit.stations) + 1):
        instead = drill_instead(draft.as_performed, number, draft.means, beyond)
        if instead is not None:
            draft = draft.with_drill(number, instead)
    return draft


def _without(circuit: Circuit, left_out: frozenset[int]) -> Circuit:
    """The circuit without some stations, for the search; loops' own changes too."""
    if not left_out:
        return circuit
    kept = [n for n in range(1, len(circuit.stations) + 1) if n not in left_out]
    changes = {
        loop: replace(
            change,
            stations={
                at: change.stations[number]
                for at, number in enumerate(kept, 1)
                if number in change.stations
            },
        )
        for loop, change in circuit.loop_changes.items()
    }
    stations = tuple(circuit.stations[number - 1] for number in kept)
    return replace(circuit, stations=stations, loop_changes=changes)


def _numbers(numbers: frozenset[int], left_out: frozenset[int]) -> frozenset[int]:
    """Numbers among what is left, as numbers of the whole circuit."""
    whole = [n for n in range(1, 31) if n not in left_out]
    return frozenset(whole[number - 1] for number in numbers)
