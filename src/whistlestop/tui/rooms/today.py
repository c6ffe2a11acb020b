"""Today's changes to a circuit: one step at a time, refused where no plan results.

Pure. It holds a circuit, the changes, and the plan that follows from both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from whistlestop.domain.circuit import (
    MAX_LOOPS,
    MAX_REST_MS,
    MAX_WORK_MS,
    MIN_PART_MS,
    Circuit,
    Today,
)
from whistlestop.domain.plan import Plan
from whistlestop.domain.timeline import PlanError, compile_plan

STEP_MS: Final = 5_000
Setting = Literal["loops", "work", "recover"]
SETTINGS: Final[tuple[Setting, ...]] = ("loops", "work", "recover")


class Refused(Exception):
    """A change that cannot be made; its text is a sentence."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A circuit with today's changes, and its plan."""

    circuit: Circuit
    today: Today
    plan: Plan

    @classmethod
    def of(cls, circuit: Circuit) -> Draft:
        """Begin with the circuit as it is written.

        Raises:
            PlanError: It cannot be laid out even so.
        """
        return cls(circuit, Today(), compile_plan(circuit))

    def changed(self, today: Today) -> Draft:
        """The same circuit with other changes.

        Raises:
            Refused: No plan results.
        """
        try:
            return replace(self, today=today, plan=compile_plan(self.circuit, today))
        except PlanError as error:
            raise Refused(f"Not possible: {error}.") from None

    def stepped(self, setting: Setting, steps: int) -> Draft:
        """Change loops by one, or work and recover by 5 s, up or down.

        What comes back to the circuit's own value counts as not changed.

        Raises:
            Refused: It would leave its range, or no plan results.
        """
        circuit, today = self.circuit, self.today
        if setting == "loops":
            loops = (today.loops or circuit.loops) + steps
            if not 1 <= loops <= MAX_LOOPS:
                raise Refused(f"A circuit has 1 to {MAX_LOOPS} loops.")
            kept = None if loops == circuit.loops else loops
            return self.changed(replace(today, loops=kept))
        if setting == "work":
            now = circuit.work_ms if today.work_ms is None else today.work_ms
            ms = now + steps * STEP_MS
            if not MIN_PART_MS <= ms <= MAX_WORK_MS:
                raise Refused(f"Work lasts 5 to {MAX_WORK_MS // 1000} s.")
            own = None if ms == circuit.work_ms else ms
            return self.changed(replace(today, work_ms=own))
        now = circuit.recover_ms if today.recover_ms is None else today.recover_ms
        ms = now + steps * STEP_MS
        if not 0 <= ms <= MAX_REST_MS:
            raise Refused(f"Recover lasts 0 to {MAX_REST_MS // 1000} s.")
        own = None if ms == circuit.recover_ms else ms
        return self.changed(replace(today, recover_ms=own))

    def toggled(self, station: int) -> Draft:
        """Leave a station out today, or take it in again.

        Raises:
            Refused: No station would be left.
        """
        without = self.today.without_stations ^ {station}
        return self.changed(replace(self.today, without_stations=without))

    def as_written(self) -> Draft:
        """The circuit without changes."""
        return Draft.of(self.circuit)
