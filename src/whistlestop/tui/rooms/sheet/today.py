"""Today's changes to a circuit: one step at a time, refused where no plan results.

Pure. It holds a circuit, the changes, and the plan that follows from both.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from whistlestop.domain.circuit.circuit import (
    Circuit,
    Drill,
    TimedItem,
    Today,
)
from whistlestop.domain.circuit.fit import LEAST_WARM_UP_MS, scaled_items
from whistlestop.domain.circuit.warm_up import built_warm_up
from whistlestop.domain.field import fields_of
from whistlestop.domain.kit.means import Means
from whistlestop.domain.kit.owned_loads import LoadLine, rungs_at, with_owned_loads
from whistlestop.domain.kit.substitutions import Exchange, exchanged, exchanges
from whistlestop.domain.load import Load
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import PlanError, RefusedError
from whistlestop.library.whole import library_means
from whistlestop.prints.sheet_facts import patterns, spared

VALUES: Final = {one.label: one for one in fields_of(Today)}
WARM_UP: Final = "warm-up"
SETTINGS: Final = (*VALUES, WARM_UP)


@dataclass(frozen=True, slots=True)
class Changes:
    """What is changed today beside `Today`: stations, drills, loads, the warm-up.

    `loads` are by station number, chosen for the whole of today. `warm_up` None is
    the circuit's own.
    """

    exchanges: Mapping[int, Exchange] = field(default_factory=dict)
    drills: Mapping[int, Drill] = field(default_factory=dict)
    loads: Mapping[int, Load] = field(default_factory=dict)
    warm_up: tuple[TimedItem, ...] | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing is changed."""
        return self == Changes()


@dataclass(frozen=True, slots=True)
class Draft:
    """A circuit with today's changes, and its plan.

    `as_performed` is the circuit with stations exchanged and loads owned; `lines`
    state how each load came about.
    """

    circuit: Circuit
    today: Today
    plan: Plan
    as_performed: Circuit
    means: Means = field(default_factory=Means)
    changes: Changes = field(default_factory=Changes)
    lines: tuple[LoadLine, ...] = ()

    @classmethod
    def of(cls, circuit: Circuit, means: Means | None = None) -> Draft:
        """Begin with the circuit as it is written, with owned loads.

        Raises:
            PlanError: It cannot be laid out even so.
        """
        own = means or library_means()
        as_performed, lines = with_owned_loads(circuit, own.kit, {}, own.loads.last_kg)
        return cls(
            circuit, Today(), compile_plan(as_performed), as_performed, own, lines=lines
        )

    @property
    def is_changed(self) -> bool:
        """Whether somebody has changed anything for today."""
        return not (self.today.is_empty and self.changes.is_empty)

    def changed(
        self, today: Today | None = None, changes: Changes | None = None
    ) -> Draft:
        """The same circuit with other changes.

        Raises:
            Refused: No plan results.
        """
        new_today = self.today if today is None else today
        new = self.changes if changes is None else changes
        as_performed, lines = self._wear(new)
        try:
            plan = compile_plan(as_performed, new_today)
        except PlanError as error:
            raise RefusedError(f"Not possible: {error}.") from None
        return replace(
            self,
            today=new_today,
            changes=new,
            plan=plan,
            as_performed=as_performed,
            lines=lines,
        )

    def _wear(self, changes: Changes) -> tuple[Circuit, tuple[LoadLine, ...]]:
        as_performed = self.swapped_only(changes)
        as_performed, lines = with_owned_loads(
            as_performed, self.means.kit, changes.loads, self.means.loads.last_kg
        )
        if changes.warm_up is not None:
            as_performed = replace(as_performed, warm_up=changes.warm_up)
        return as_performed, lines

    def swapped_only(self, changes: Changes) -> Circuit:
        """The circuit with other stations and drills, and loads as they are wanted."""
        made = exchanged(self.circuit, changes.exchanges.values(), self.means)
        stations = tuple(
            replace(station, drill=changes.drills.get(number, station.drill))
            for number, station in enumerate(made.stations, 1)
        )
        return replace(made, stations=stations)

    def with_means(self, means: Means) -> Draft:
        """The same changes with other kit or limits.

        Raises:
            Refused: No plan results.
        """
        return replace(self, means=means).changed()

    # One step at a time

    def with_steps(self, setting: str, steps: int) -> Draft:
        """Change loops by one, lengths by 5 s, or the warm-up, up or down.

        What comes back to the circuit's own value counts as not changed.

        Raises:
            RefusedError: It would leave its range, or no plan results.
        """
        if setting == WARM_UP:
            return self._step_warm_up(steps)
        field = VALUES[setting]
        if field.name == "loop_break_ms":
            self._check_break(steps)
        own = getattr(self.today, field.name)
        written = getattr(self.circuit, field.name) or 0
        now = written if own is None else own
        after = field.kind.with_steps(now, steps)
        # The end of the range came before the last step: better refused than halved.
        if field.kind.with_steps(after, -steps) != now:
            name = setting.capitalize()
            raise RefusedError(f"{name}: {field.kind.expected}.")
        own_again: dict[str, Any] = {field.name: None if after == written else after}
        return self.changed(replace(self.today, **own_again))

    def _check_break(self, steps: int) -> None:
        if self.plan.loops == 1:
            raise RefusedError("With one loop there is no break.")
        waits = self.circuit.break_until_key and self.today.loop_break_ms is None
        if waits and steps < 0:
            raise RefusedError("The break waits for a key; → sets a length.")

    def _step_warm_up(self, steps: int) -> Draft:
        """Go along the warm-ups there are; the ends stay where they are."""
        choices = self.warm_ups()
        at = choices.index(self.changes.warm_up) if self.changes.warm_up in choices \
            else 0  # fmt: skip
        new = min(max(at + steps, 0), len(choices) - 1)
        if new == at:
            longer = "longer" if steps > 0 else "shorter"
            raise RefusedError(f"There is no {longer} warm-up.")
        return self.changed(changes=replace(self.changes, warm_up=choices[new]))

    def warm_ups(self) -> tuple[tuple[TimedItem, ...] | None, ...]:
        """The warm-ups to choose from, shortest first; None is the circuit's own.

        Where the file has none, one is built from the patterns of the stations.
        """
        own = self.circuit.warm_up
        if not own:
            as_performed = self.swapped_only(self.changes)
            built = built_warm_up(
                patterns(as_performed, self.means.exercises), spared(self.means)
            )
            return (None, built)
        if sum(item.duration_ms for item in own) <= LEAST_WARM_UP_MS:
            return ((), None)
        return ((), scaled_items(own, LEAST_WARM_UP_MS), None)

    # Stations

    def toggled(self, station: int) -> Draft:
        """Leave a station out today, or take it in again.

        Raises:
            Refused: No station would be left.
        """
        without = self.today.without_stations ^ {station}
        return self.changed(replace(self.today, without_stations=without))

    def exchanged(self, station: int) -> Draft:
        """Take the next best thing at a station; after the last, as written again.

        Raises:
            Refused: There is nothing to take instead, or no plan results.
        """
        ranked = exchanges(self._but_for(station), station, self.means)
        if not ranked:
            raise RefusedError("No station fits as a swap today.")
        held = self.changes.exchanges.get(station)
        at = ranked.index(held) + 1 if held in ranked else 0
        kept = {n: x for n, x in self.changes.exchanges.items() if n != station}
        if held is None or at < len(ranked):
            kept[station] = ranked[at]
        loads = {n: x for n, x in self.changes.loads.items() if n != station}
        new = replace(self.changes, exchanges=dict(sorted(kept.items())), loads=loads)
        return self.changed(changes=new)

    def _but_for(self, station: int) -> Circuit:
        """The circuit with all exchanges but that of one station."""
        others = {n: x for n, x in self.changes.exchanges.items() if n != station}
        return self.swapped_only(replace(self.changes, exchanges=others))

    def with_drill(self, station: int, drill: Drill) -> Draft:
        """Take another drill after a station."""
        drills = {**self.changes.drills, station: drill}
        return self.changed(changes=replace(self.changes, drills=drills))

    def next_load(self, station: int) -> Draft:
        """Take the next heavier owned load at a station, after the last the lightest.

        Raises:
            Refused: The station has no load, or nothing owned has one for it.
        """
        if self.means.kit is None:
            raise RefusedError("Your kit list is empty: press w to fill it.")
        as_performed = self.as_performed.stations[station - 1]
        loads = rungs_at(as_performed, self.means.kit)
        if not loads:
            raise RefusedError("Nothing in your kit can load this station.")
        at = next(
            (n for n, load in enumerate(loads) if _same(load, as_performed.load)), None
        )
        if at is None:
            line = next((x for x in self.lines if x.station == station), None)
            near = line.resolved.nearest if line is not None else None
            new = near if near is not None else loads[0]
        else:
            new = loads[(at + 1) % len(loads)]
        chosen = {**self.changes.loads, station: new}
        return self.changed(changes=replace(self.changes, loads=chosen))

    def as_written(self) -> Draft:
        """The circuit without changes."""
        return Draft.of(self.circuit, self.means)


def _same(load: Load, other: Load | None) -> bool:
    return other is not None and (load.total_kg, load.band) == (
        other.total_kg, other.band,
    )  # fmt: skip
