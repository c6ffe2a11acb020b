"""What is known of a station and of a drill, whoever describes it.

Owns the two values that library, limits, exchanges, advice and builder share. It
refuses to know where they come from.
"""

from __future__ import annotations

from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.demands import Asks

# What a level says whose eyes are closed.
EYES_CLOSED: Final = "eyes closed"


@dataclass(frozen=True, slots=True)
class Exercise:
    """What is known of a station, shipped or of the athlete's own.

    `region` is legs, core, arms or whole; `sides` is both, one-then-other or
    alternating, and `parts` follows from it; `screen` says whether the screen
    can be seen while moving: yes, part or no. `kit` is what it cannot be done
    without; `cautions` are codes of cautions, the gravest first. `features` are
    words of `domain.demands`, `exceptions` sites with what is asked of them by hand.
    `aliases` find it in a search and are never shown; `spoken` is empty where the
    voice reads the call name. `contacts_per_minute` are landings, of both feet or of
    one; 0 where nothing leaves the floor.
    """

    id: str
    name: str
    call_name: str
    region: str
    pattern: str
    parts: tuple[str, ...]
    sides: str
    tempo: str | None
    kit: tuple[str, ...]
    position: str
    screen: str
    cautions: tuple[str, ...]
    features: tuple[str, ...] = ()
    exceptions: tuple[tuple[str, Asks], ...] = ()
    aliases: tuple[str, ...] = ()
    spoken: str = ""
    contacts_per_minute: int = 0


@dataclass(frozen=True, slots=True)
class DrillInfo:
    """What is known of a drill: a skill for the recovery.

    `ladder` runs from the easiest level to the hardest. `gate` says what has to
    be steady before the eyes are closed; it is empty where they stay open.
    `from_level` adds features from a level on, counted from 1. `intensity` is low
    or vigorous.
    """

    id: str
    name: str
    kind: str
    kit: tuple[str, ...]
    eyes_closed: bool
    ladder: tuple[str, ...]
    gate: str = ""
    key_point: str = ""
    loads: tuple[str, ...] = ()
    impact: bool = False
    metronome_per_minute: int | None = None
    intensity: str = "low"
    cautions: tuple[str, ...] = ()
    features: tuple[str, ...] = ()
    from_level: tuple[tuple[int, tuple[str, ...]], ...] = ()
    exceptions: tuple[tuple[str, Asks], ...] = ()
    aliases: tuple[str, ...] = ()

    def at_level(self, level: int) -> str:
        """The name of the drill with a level, from 1, as a circuit has it."""
        return f"{self.name}: {self.ladder[level - 1]}"

    def level_named(self, name: str) -> int | None:
        """The level that a name in a circuit says; None where it says none.

        >>> drill = DrillInfo("a", "A", "b", (), False, ("slow", "fast"))
        >>> drill.level_named("A: fast"), drill.level_named("A")
        (2, None)
        """
        step = name.partition(": ")[2].casefold()
        steps = [each.casefold() for each in self.ladder]
        return steps.index(step) + 1 if step in steps else None

    def closes_eyes(self, level: int | None = None) -> bool:
        """Whether the eyes are closed at a level; without one, whether they may be."""
        if level is None:
            return self.eyes_closed
        return EYES_CLOSED in self.ladder[level - 1]

    def added_at(self, level: int | None = None) -> tuple[str, ...]:
        """The features that a level adds to `features`; None is the hardest one."""
        return tuple(
            feature
            for first, features in self.from_level
            if level is None or first <= level
            for feature in features
        )
