"""What a circuit is asked for: time, shape, kit, room, wishes and a seed.

Refuses to know how an answer is found.
"""

from __future__ import annotations

from dataclasses import dataclass

from whistlestop.domain.field import Whole
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.domain.wishes import (
    ATHLETES,
    DIFFICULTY,
    LOOPS,
    MINUTES,
    SEED,
    STATIONS,
    WAIVABLE,
    Ceiling,
    Noise,
    Space,
)
from whistlestop.errors import UsageError
from whistlestop.library.first_loads import Level


def most_whole(stations: int) -> int:
    """How many whole-body stations are allowed among so many."""
    return max(1, stations // 6)


@dataclass(frozen=True, slots=True)
class Request:
    """One wish for a circuit.

    Attributes:
        minutes: The whole session, 4 to 120, met to the second.
        stations: 3 to 20.
        loops: 1 to 6.
        kit: What is owned; None where nobody has listed it, which leaves all open.
        limits: Those in force.
        difficulty: How hard, 1 to 5; 3 is what suits the level.
        work_ms, recover_ms: Fixed lengths; None leaves them to the builder.
        warm_up: Whether warm-up and cool-down are part of the session.
        favourites, avoid, keep: Exercise ids: liked, left out, and must be in.
        recent: Exercise ids of the last weeks; others count as new.
        yardstick: An exercise id worth keeping to compare by; empty for none.
        athletes: 1, or 2 who start half the circuit apart.
        waived: Ids of `WAIVABLE` that do not hold.
        level: Who it is for: what is too hard at it comes only by name.
        waiting: Ids of stations and drills that wait for others to be practised, and
            come only by name.
        last_kg: Exercise ids with the last load there, in kg each.
        held: Ids of drills with the hardest level held in two sessions, from 1.
        seed: 0 to 2**32 - 1; another seed may give another circuit.

    Raises:
        UsageError: A value is out of range, or wishes contradict each other.
    """

    minutes: int = 30
    stations: int = 8
    loops: int = 2
    kit: Kit | None = None
    limits: tuple[Limit, ...] = ()
    space: Space = "lane"
    noise: Noise = "loud"
    ceiling: Ceiling = "jump"
    difficulty: int = 3
    work_ms: int | None = None
    recover_ms: int | None = None
    warm_up: bool = True
    favourites: frozenset[str] = frozenset()
    avoid: frozenset[str] = frozenset()
    keep: tuple[str, ...] = ()
    recent: frozenset[str] = frozenset()
    yardstick: str = ""
    athletes: int = 1
    waived: frozenset[str] = frozenset()
    seed: int = 0
    level: Level = "strong"
    waiting: frozenset[str] = frozenset()
    last_kg: tuple[tuple[str, float], ...] = ()
    held: tuple[tuple[str, int], ...] = ()

    def __post_init__(self) -> None:
        for name, value, span in (
            ("minutes", self.minutes, MINUTES),
            ("stations", self.stations, STATIONS),
            ("loops", self.loops, LOOPS),
            ("difficulty", self.difficulty, DIFFICULTY),
            ("athletes", self.athletes, ATHLETES),
            ("seed", self.seed, SEED),
            ("locked stations", len(self.keep), Whole(0, self.stations)),
        ):
            if not span.least <= value <= span.most:
                raise UsageError(f"{name}: {value}; expected {span.expected}")
        if len(set(self.keep)) < len(self.keep):
            raise UsageError("a locked station is named twice")
        both = sorted(set(self.keep) & self.avoid)
        if both:
            raise UsageError(f"{both[0]} cannot be locked and avoided at once")
        unknown = sorted(self.waived - set(WAIVABLE))
        if unknown:
            raise UsageError(f"{unknown[0]} is not a rule that can be ignored")

    @property
    def named(self) -> frozenset[str]:
        """The stations that somebody asks for by name."""
        return self.favourites.union(self.keep)
