"""What there is to train with, and what is left out: exercises, drills, kit, limits.

Owns the questions that every exchange asks of them. It refuses to know files and
the library: what is known comes in from outside.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from whistlestop.domain.demands import added_by
from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit


@dataclass(frozen=True, slots=True)
class Neighbours:
    """Where easier and harder lead from each exercise: the share of load that goes.

    None is a way on which no load can be scaled.
    """

    easier: Mapping[str, Mapping[str, float | None]] = field(default_factory=dict)
    harder: Mapping[str, Mapping[str, float | None]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class KnownLoads:
    """Loads each in kilograms by exercise: first ones, those of somebody strong, last.

    `first_kg` is for somebody new to it; `strong_kg` compares two exercises that no
    way joins; `last_kg` is what the athlete held there at last.
    """

    first_kg: Mapping[str, float] = field(default_factory=dict)
    strong_kg: Mapping[str, float] = field(default_factory=dict)
    last_kg: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Means:
    """What there is to train with, and what is left out.

    `kit` None: nobody has listed it, so nothing is missing. `needs` gives the
    alternatives of kit by exercise id; `places` are words that are no things;
    `skills` are the drills there are; `loadable` can hold a load and can do without;
    `difficulty` is 1 to 5; `waiting` are stations and drills that are given to nobody
    unasked, for what comes before them was not practised yet.
    """

    exercises: Mapping[str, Exercise] = field(default_factory=dict)
    kit: Kit | None = None
    limits: tuple[Limit, ...] = ()
    on: date = date.max
    needs: Mapping[str, Sequence[tuple[str, ...]]] = field(default_factory=dict)
    places: frozenset[str] = frozenset()
    skills: Mapping[str, DrillInfo] = field(default_factory=dict)
    neighbours: Neighbours = field(default_factory=Neighbours)
    loads: KnownLoads = field(default_factory=KnownLoads)
    loadable: Collection[str] = frozenset()
    difficulty: Mapping[str, int] = field(default_factory=dict)
    waiting: frozenset[str] = frozenset()

    @property
    def in_force(self) -> tuple[Limit, ...]:
        """The limits that hold on the day."""
        return tuple(limit for limit in self.limits if limit.holds(self.on))

    def missing(self, things: Iterable[str]) -> tuple[str, ...]:
        """List what is not owned of the kit of a station; places are no kit."""
        asked = [thing for thing in things if thing not in self.places]
        return self.kit.missing(asked) if self.kit is not None else ()

    def barred(self, exercise: str, kit: Iterable[str] = ()) -> bool:
        """Whether a limit stands against an exercise, done with some kit."""
        facts, extra = self.exercises.get(exercise), added_by(kit)
        return any(one.meets(exercise, facts, extra=extra) for one in self.in_force)

    def is_asked(self, exercise: str, kit: Iterable[str] = ()) -> bool:
        """Whether an exercise asks anything of a limited site: nothing goes up there.

        Step-ups are for what is well; a sore site that still works is asked no more.
        """
        facts, extra = self.exercises.get(exercise), added_by(kit)
        return any(one.is_asked(exercise, facts, extra=extra) for one in self.in_force)

    def goes_up(self, here: str, there: str, kit: Iterable[str] = ()) -> bool:
        """Whether the way to another exercise is a step up that a limit forbids."""
        if there not in self.neighbours.harder.get(here, {}):
            return False
        return self.is_asked(here) or self.is_asked(there, kit)

    def is_far_harder(self, here: str, there: str) -> bool:
        """Whether an exercise is harder than another by more than a point."""
        known = self.difficulty
        return known.get(there, 0) > known.get(here, known.get(there, 0)) + 1

    def against_drill(self, drill: str, level: int | None = None) -> tuple[Limit, ...]:
        """The limits that stand against a drill at a level; None is the hardest."""
        facts = self.skills.get(drill)
        if facts is None:
            return ()
        return tuple(x for x in self.in_force if x.meets_drill(drill, facts, level))

    def level_of(self, drill: str, name: str) -> int | None:
        """The level that a drill's name in a circuit says; None where it says none."""
        facts = self.skills.get(drill)
        return None if facts is None else facts.level_named(name)

    def met(self, exercise: str) -> tuple[str, ...] | None:
        """The first alternative of kit that is owned; None where none is.

        One that no limit stands against comes before one that a limit is about.
        """
        own = self.exercises.get(exercise)
        ways = self.needs.get(exercise) or ((own.kit,) if own else ())
        owned = [tuple(way) for way in ways if not self.missing(way)]
        free = (way for way in owned if not self.barred(exercise, way))
        return next(free, owned[0] if owned else None)
