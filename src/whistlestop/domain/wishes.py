"""What an athlete asks of a new circuit, as it is typed, kept and asked for again.

Owns the values and their ranges. Refuses to know kit, limits and the log, which are
those of the day on which it is asked for, and how a circuit is found.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

Space = Literal["spot", "mat", "lane"]
Noise = Literal["quiet", "some", "loud"]
Ceiling = Literal["low", "reach", "jump"]

MINUTES: Final = (4, 120)
STATIONS: Final = (3, 15)
LOOPS: Final = (1, 6)
WORK_S: Final = (20, 300)
RECOVER_S: Final = (5, 300)
DIFFICULTY: Final = (1, 5)
ATHLETES: Final = (1, 2)
SEED: Final = (0, 2**32 - 1)

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
class Wishes:
    """One wish for a circuit; ids are those of the library.

    `work_ms` and `recover_ms` are None where the builder may choose them. `like`,
    `avoid` and `keep` are stations that are liked, left out, and must be in. `waived`
    are ids of `WAIVABLE` that need not hold.
    """

    minutes: int = 30
    stations: int = 8
    loops: int = 2
    work_ms: int | None = None
    recover_ms: int | None = None
    warm_up: bool = True
    difficulty: int = 3
    space: Space = "lane"
    noise: Noise = "loud"
    ceiling: Ceiling = "jump"
    like: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    keep: tuple[str, ...] = ()
    waived: tuple[str, ...] = ()
    athletes: int = 1
    seed: int = 0
