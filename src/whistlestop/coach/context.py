"""What a rule may know beside the record: the circuit now, kit, wishes, the calendar.

Plain facts, handed in. Refuses to know where they come from.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import field
from datetime import date, datetime
from typing import Final

from whistlestop.coach.changes import (
    CircuitTotals,
    Settings,
    settings_of,
    totals_of_plan,
)
from whistlestop.coach.history import asked_of
from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.demands import Strength
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit, in_force
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.reasons import RefusalReason
from whistlestop.domain.targets import Emphasis, Priority
from whistlestop.library import exercises
from whistlestop.review.days import DaySpan, Mark
from whistlestop.review.wellbeing import MorningAnswer, WellAnswer

# Target effort 5 to 7 to build and 3 to 5 for a base: the upper end is what a loop
# may feel like and still count as at or below target. Common practice, no source.
TARGET: Final[Mapping[Emphasis, float]] = {
    "base": 5.0,
    "build": 7.0,
    "strength": 7.0,
    "maintain": 7.0,
}


@dataclass(frozen=True, slots=True)
class Refusal:
    """A step that was put off: on which day, by its rule, and why."""

    day: date
    rule: str
    reason: RefusalReason = ""


@dataclass(frozen=True, slots=True)
class LastStep:
    """The step that was accepted last and stands: its decision and what it changed.

    `is_rise` says whether it asked for more.
    """

    decision: str
    words: str
    day: date
    before: Circuit
    is_rise: bool = True


@dataclass(frozen=True, slots=True)
class DayWishes:
    """What the weeks say of one day: as the fields of `CoachContext` of these names."""

    emphasis: Emphasis = "build"
    deload_weeks: int = 5
    is_lighter_week: bool = False
    key_days: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class CoachContext:
    """What is true today.

    `ill` are the days marked as ill, `answers` and `mornings` the athlete's own words
    about being well again and about the morning after a discomfort.
    `circuit` has every accepted step in it. `kit` is None where nobody listed it.
    `catching_up` is by how much (ms) a station's interval fell back with an accepted
    step, `drill_levels` the level (from 1) of the drill of a station, `put_off` the
    day until which a rule is not to ask again. `deload_weeks` is 4 to 6, `deload_began`
    the day on which the last lighter week was accepted, `is_lighter_week` says that the
    weeks as planned have a lighter one now. `races` are race days with their priority,
    `refusals` the steps that were put off, oldest first. `waiting` gives the stations
    and drills that wait for practice: nobody is given them unasked; it is asked only
    where something is exchanged, since it reads records. `plan`, `totals` and
    `settings` follow from the circuit.

    Raises:
        PlanError: The circuit cannot be laid out.
        ValueError: The moment has no zone, or a number is out of range.
    """

    circuit: Circuit
    now: datetime
    kit: Kit | None = None
    limits: tuple[Limit, ...] = ()
    emphasis: Emphasis = "build"
    target_effort: float | None = None
    top_interval_ms: int = 60_000
    top_loops: int = 3
    deload_weeks: int = 5
    is_lighter_week: bool = False
    key_days: frozenset[date] = frozenset()
    races: Mapping[date, Priority] = field(default_factory=dict)
    marks: frozenset[Mark] = frozenset()
    ill: tuple[DaySpan, ...] = ()
    answers: tuple[WellAnswer, ...] = ()
    mornings: tuple[MorningAnswer, ...] = ()
    after_injury: bool = False
    catching_up: Mapping[int, int] = field(default_factory=dict)
    drill_levels: Mapping[int, int] = field(default_factory=dict)
    last_step: LastStep | None = None
    deload_began: date | None = None
    put_off: Mapping[str, date] = field(default_factory=dict)
    refusals: tuple[Refusal, ...] = ()
    library: Mapping[str, Exercise] = field(default_factory=exercises, repr=False)
    waiting: Callable[[], Collection[str]] = field(
        default=frozenset, repr=False, compare=False
    )
    plan: Plan = field(init=False, repr=False, compare=False)
    totals: CircuitTotals = field(init=False, repr=False, compare=False)
    settings: Settings = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        # Every rule asks for these: laid out once. The class is frozen.
        plan = compile_plan(self.circuit)
        object.__setattr__(self, "plan", plan)
        object.__setattr__(self, "totals", totals_of_plan(plan))
        object.__setattr__(self, "settings", settings_of(plan))
        if self.now.tzinfo is None:
            raise ValueError("the present moment needs a zone")
        if not 4 <= self.deload_weeks <= 6:
            raise ValueError("a deload comes every 4 to 6 weeks")
        if self.target_effort is not None and not 1 <= self.target_effort <= 8:
            raise ValueError("a target effort lies within 1 and 8")

    @property
    def today(self) -> date:
        """The calendar day."""
        return self.now.date()

    @property
    def target(self) -> float:
        """The effort up to which a loop counts as at or below target, 0 to 10."""
        text = self.target_effort
        return TARGET[self.emphasis] if text is None else text

    @property
    def regions(self) -> frozenset[str]:
        """The regions of the circuit's stations; an unknown one is the whole body."""
        return frozenset(self._regions())

    @property
    def is_legs_heavy(self) -> bool:
        """Whether at least a third of its stations are for legs or the whole body."""
        legs = sum(region in {"legs", "whole"} for region in self._regions())
        return 3 * legs >= len(self.circuit.stations)

    @property
    def asked(self) -> Mapping[str, int]:
        """What the circuit asks of each site at most, 1 or 2, by the site's id."""
        known, shipped = self.library, exercises()
        own = {
            station.exercise: known[station.exercise]
            for station in self.circuit.stations
            if station.exercise in known
            and known[station.exercise] is not shipped.get(station.exercise)
        }
        return asked_of((x.exercise for x in self.circuit.stations), own)

    @property
    def limited(self) -> Mapping[str, Strength]:
        """The sites that are limited today, with how strongly."""
        sites = (x for x in in_force(self.limits, self.today) if x.kind == "site")
        found: dict[str, Strength] = {}
        for limit in sites:
            if found.get(limit.value) != "out":
                found[limit.value] = limit.strength
        return found

    def _regions(self) -> list[str]:
        known = (self.library.get(s.exercise) for s in self.circuit.stations)
        return [facts.region if facts else "whole" for facts in known]
