"""What an athlete asks of a new circuit, as it is typed, saved and asked for again.

Owns the values, each described once. Refuses to know kit, limits and the log, which
are those of the day on which it is asked for, and how a circuit is found.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import (
    NAME_LIMIT,
    Choice,
    ListOf,
    Optional,
    Seconds,
    Text,
    Whole,
    YesNo,
    value,
)

Space = Literal["spot", "mat", "lane"]
Noise = Literal["quiet", "some", "loud"]
Wished = Literal["auto", "new", "regular", "strong"]
Ceiling = Literal["low", "reach", "jump"]

# Under which heading a wish stands.
CIRCUIT: Final = "Circuit"
ROOM: Final = "Room"
LISTS: Final = "Stations"

MINUTES: Final = Whole(4, 120)
STATIONS: Final = Whole(3, 20)
LOOPS: Final = Whole(1, 6)
DIFFICULTY: Final = Whole(1, 5)
ATHLETES: Final = Whole(1, 2)
SEED: Final = Whole(0, 2**32 - 1)
# Each scale from the least to the most that is asked of a room.
SPACE: Final = Choice(
    {"spot": "arms' reach", "mat": "a mat's length", "lane": "a clear lane"}
)
NOISE: Final = Choice({"quiet": "quiet", "some": "some noise", "loud": "any noise"})
CEILING: Final = Choice(
    {"low": "low", "reach": "arms overhead", "jump": "high enough to jump"}
)

# How much practice what is chosen may ask for; auto goes by settings and log.
LEVEL: Final = Choice(
    {
        "auto": "by your log",
        "new": "new to it",
        "regular": "trains already",
        "strong": "strong, well practised",
    }
)

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


_LISTED: Final = ListOf(Text(NAME_LIMIT, least=1), most=60)


def _chosen(least_ms: int, most_ms: int, usual_ms: int) -> Optional[int]:
    """A length that is left to the builder unless somebody chooses it."""
    return Optional(Seconds(least_ms, most_ms), usual_ms, "automatic")


@dataclass(frozen=True, slots=True)
class CircuitWishes:
    """One wish for a circuit; ids are those of the library.

    `work_ms` and `recover_ms` are None where the builder may choose them. `like`,
    `avoid` and `keep` are stations that are liked, left out, and must be in. `waived`
    are ids of `WAIVABLE` that need not hold.
    """

    minutes: int = value(
        MINUTES, 30, "how long it all lasts", CIRCUIT, option="--minutes N", always=True
    )
    stations: int = value(
        STATIONS, 8, "how many stations", CIRCUIT, option="--stations N", always=True
    )
    loops: int = value(
        LOOPS, 2, "how often they all come", CIRCUIT, option="--loops N", always=True
    )
    work_ms: int | None = value(
        _chosen(20_000, 300_000, 40_000),
        None,
        "work at each station",
        CIRCUIT,
        label="work",
        key="work_s",
        option="--work SECONDS",
    )
    recover_ms: int | None = value(
        _chosen(5_000, 300_000, 20_000),
        None,
        "recovery after each",
        CIRCUIT,
        label="recovery",
        key="recover_s",
        option="--recover SECONDS",
    )
    warm_up: bool = value(
        YesNo("with a cool-down", "none"),
        default=True,
        meaning="with warm-up and cool-down",
        group=CIRCUIT,
        label="warm-up",
        option="--no-warm-up",
    )
    difficulty: int = value(
        DIFFICULTY, 3, "3 suits your level", CIRCUIT, option="--difficulty 1-5"
    )
    level: Wished = value(
        LEVEL,
        "auto",
        "for whom; auto is new until a session was carried through",
        CIRCUIT,
        option="--level",
    )
    athletes: int = value(
        ATHLETES,
        1,
        "2: half a circuit apart, sharing the kit",
        CIRCUIT,
        label="people",
        option="--athletes N",
    )
    space: Space = value(
        SPACE, "lane", "how much floor there is", ROOM, option="--space"
    )
    noise: Noise = value(NOISE, "loud", "how loud it may get", ROOM, option="--noise")
    ceiling: Ceiling = value(
        CEILING, "jump", "how high the ceiling is", ROOM, option="--ceiling"
    )
    like: tuple[str, ...] = value(
        _LISTED,
        (),
        "these rather than others",
        LISTS,
        label="liked",
        option="--like NAMES",
    )
    avoid: tuple[str, ...] = value(
        _LISTED,
        (),
        "these are left out",
        LISTS,
        label="avoid",
        option="--avoid NAMES",
    )
    keep: tuple[str, ...] = value(
        _LISTED, (), "these must be in", LISTS, label="locked", option="--keep NAMES"
    )
    waived: tuple[str, ...] = value(
        ListOf(Choice({rule: rule for rule in WAIVABLE}), most=20),
        (),
        f"ordering rules to ignore: {', '.join(WAIVABLE)}",
        LISTS,
        label="rules off",
        key="waive",
        option="--waive RULES",
    )
    seed: int = value(
        SEED,
        0,
        "the same wishes with another seed may give another circuit",
        option="--seed N",
    )
