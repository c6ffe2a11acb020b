"""What a circuit is asked for: time, shape, kit, room, wishes and a seed.

Refuses to know how an answer is found.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from whistlestop.domain.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.errors import UsageError

Space = Literal["spot", "mat", "lane"]
Noise = Literal["quiet", "some", "loud"]
Ceiling = Literal["low", "reach", "jump"]

MIN_STATIONS: Final = 3
MAX_STATIONS: Final = 15
MAX_LOOPS: Final = 6
MIN_MINUTES: Final = 4
MAX_MINUTES: Final = 120
MAX_SEED: Final = 2**32 - 1

# Ordering rules that are hard unless waived; the words say what giving one up means.
WAIVABLE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "one-sided": "allow more, or no, stations done one side at a time",
        "floor": "allow more changes between floor and standing",
        "fast": "allow fast stations late or after trunk work",
        "wrists": "allow three stations on the hands in a row",
        "grip": "allow two grip stations in a row",
        "pattern": "allow a pattern again within two stations",
        "regions": "allow legs, core and arms to differ by more than one station",
        "alternate": "allow neighbours of the same region",
    }
)


@dataclass(frozen=True, slots=True)
class Request:
    """One wish for a circuit.

    Attributes:
        minutes: The whole session, 4 to 120, met to the second.
        stations: 3 to 15.
        loops: 1 to 6.
        kit: What is owned; None where nobody has listed it, which leaves all open.
        limits: Those in force.
        difficulty: Mean of the cards' difficulty that is aimed at, 1 to 5.
        work_ms, recover_ms: Fixed lengths; None leaves them to the builder.
        warm_up: Whether warm-up and cool-down are part of the session.
        favourites, avoid, keep: Exercise ids: liked, left out, and must be in.
        recent: Exercise ids of the last weeks; others count as new.
        yardstick: An exercise id worth keeping to compare by; empty for none.
        athletes: 1, or 2 who start half the circuit apart.
        waived: Ids of `WAIVABLE` that do not hold.
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

    def __post_init__(self) -> None:
        for name, value, least, most in (
            ("minutes", self.minutes, MIN_MINUTES, MAX_MINUTES),
            ("stations", self.stations, MIN_STATIONS, MAX_STATIONS),
            ("loops", self.loops, 1, MAX_LOOPS),
            ("difficulty", self.difficulty, 1, 5),
            ("athletes", self.athletes, 1, 2),
            ("seed", self.seed, 0, MAX_SEED),
            ("kept stations", len(self.keep), 0, self.stations),
        ):
            if not least <= value <= most:
                raise UsageError(f"{name}: {value}; expected {least} to {most}")
        if len(set(self.keep)) < len(self.keep):
            raise UsageError("a station to keep is named twice")
        both = sorted(set(self.keep) & self.avoid)
        if both:
            raise UsageError(f"{both[0]} cannot be kept and avoided at once")
        unknown = sorted(self.waived - set(WAIVABLE))
        if unknown:
            raise UsageError(f"{unknown[0]} is no rule that can be waived")
