"""The keys of the athlete's own stations.toml and drills.toml, and the bounds of each.

Refuses to know files, and how stations lie beside each other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.circuit.circuit import CALL_NAME, NAME, NOTE
from whistlestop.domain.field import (
    NOTE_LIMIT,
    Choice,
    Id,
    ListOf,
    Optional,
    Read,
    Text,
    Whole,
    Wrong,
    YesNo,
    table_of,
    value,
)
from whistlestop.domain.tempo import TEMPO, Tempo
from whistlestop.domain.text import as_typed
from whistlestop.domain.wishes import CEILING, DIFFICULTY, NOISE, SPACE
from whistlestop.library import (
    INTENSITIES,
    PARTS_OF_SIDES,
    POSITIONS,
    REGIONS,
    SCREENS,
)
from whistlestop.library.cards import (
    BY_LIMIT,
    FLOORS,
    KEY_POINT_LIMIT,
    KEY_POINT_WORDS,
    LOAD_KINDS,
    MISTAKE_LIMIT,
    SET_UP_LIMIT,
    VARIANT_LIMIT,
)

MAX_ENTRIES: Final = 60
MAX_WORDS: Final = 12
LEVELS: Final = 4
# A landing of both feet counts once; rope turns faster than anybody jumps.
MOST_CONTACTS: Final = 240
# No way to another station takes more than the load itself along.
MOST_FACTOR: Final = 1


def _at_most(limit: int, words: int = 0, least: int = 0) -> Read[str]:
    """A text that has to fit on a card."""

    def check(given: object) -> str:
        text = Text(NOTE_LIMIT, least).judged(given)
        if len(text) > limit:
            raise Wrong(f"has {len(text)} characters", f"{limit} at most")
        if words and len(text.split()) > words:
            raise Wrong(f"has {len(text.split())} words", f"{words} at most")
        return text

    return Read(check)


def _one_of(words: Iterable[str]) -> Choice[str]:
    return Choice({word: word for word in words})


def _factor(given: object) -> float:
    number = given if type(given) in {int, float} else None
    if not isinstance(number, int | float) or not 0 <= number <= MOST_FACTOR:
        raise Wrong(f"is {as_typed(given)}", f"a share of the load, 0 to {MOST_FACTOR}")
    return float(number)


WORDS: Final = ListOf(NAME, most=MAX_WORDS)
KEY_POINT: Final = _at_most(KEY_POINT_LIMIT, KEY_POINT_WORDS)
VARIANT: Final = _at_most(VARIANT_LIMIT)
# An empty list says that nothing is asked of the body; no list says nothing at all.
FEATURES: Final = Optional[tuple[str, ...]](WORDS, (), "not stated")
REGION: Final = _one_of(REGIONS)


@dataclass(frozen=True, slots=True)
class NeighbourTable:
    """A neighbour: where to, and the one thing that differs there."""

    to: str = value(Id())
    by: str = value(_at_most(BY_LIMIT, least=1))
    factor: float | None = value(Read(_factor), None)


@dataclass(frozen=True, slots=True)
class LevelTable:
    """What a level of a drill adds to its features, and every level after it."""

    level: int = value(Whole(2, LEVELS))
    features: tuple[str, ...] = value(WORDS)


NEIGHBOURS: Final = ListOf(table_of(NeighbourTable), most=MAX_WORDS)
LEVEL_TABLES: Final = ListOf(table_of(LevelTable), most=LEVELS)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnStationTable:
    """A `[[station]]` with its card; what is left out is the plainest value."""

    id: str = value(Id())
    name: str = value(NAME)
    call_name: str | None = value(CALL_NAME, None)
    region: str = value(REGION)
    pattern: str = value(NAME)
    sides: str = value(_one_of(PARTS_OF_SIDES), "both")
    kit: tuple[str, ...] = value(WORDS, ())
    instead: tuple[tuple[str, ...], ...] = value(ListOf(WORDS, most=MAX_WORDS), ())
    tempo: Tempo | None = value(TEMPO, None)
    position: str = value(_one_of(POSITIONS), "standing")
    screen: str = value(_one_of(SCREENS), "yes")
    cautions: tuple[str, ...] = value(WORDS, ())
    features: tuple[str, ...] | None = value(FEATURES, None)
    aliases: tuple[str, ...] = value(WORDS, ())
    spoken: str = value(NOTE, "")
    contacts_per_minute: int = value(Whole(0, MOST_CONTACTS), 0)
    set_up: str = value(_at_most(SET_UP_LIMIT), "")
    key_point: str = value(KEY_POINT, "")
    mistake: str = value(_at_most(MISTAKE_LIMIT), "")
    ease: str = value(VARIANT, "")
    stretch: str = value(VARIANT, "")
    space: str = value(SPACE, "spot")
    noise: str = value(NOISE, "quiet")
    ceiling: str = value(CEILING, "low")
    floor: str = value(_one_of(FLOORS), "any")
    load: str = value(_one_of(LOAD_KINDS), "none")
    grip: bool = value(YesNo(), default=False)
    difficulty: int = value(DIFFICULTY, 3)
    family: str | None = value(NAME, None)
    easier: tuple[NeighbourTable, ...] = value(NEIGHBOURS, ())
    harder: tuple[NeighbourTable, ...] = value(NEIGHBOURS, ())


@dataclass(frozen=True, slots=True)
class OwnStationsTable:
    """A whole stations.toml of format 1."""

    station: tuple[OwnStationTable, ...] = value(
        ListOf(table_of(OwnStationTable, called="station"), most=MAX_ENTRIES), ()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnDrillTable:
    """A `[[drill]]`: a skill of low intensity, with a ladder of up to four levels."""

    id: str = value(Id())
    name: str = value(NAME)
    kind: str = value(NAME)
    kit: tuple[str, ...] = value(WORDS, ())
    loads: tuple[str, ...] = value(ListOf(REGION, most=len(REGIONS)), ())
    key_point: str = value(KEY_POINT, "")
    impact: bool = value(YesNo(), default=False)
    metronome_per_minute: int | None = value(Whole(40, 200), None)
    eyes_closed: bool = value(YesNo(), default=False)
    gate: str = value(NOTE, "")
    intensity: str = value(_one_of(INTENSITIES), "low")
    cautions: tuple[str, ...] = value(WORDS, ())
    features: tuple[str, ...] | None = value(FEATURES, None)
    from_level: tuple[LevelTable, ...] = value(LEVEL_TABLES, ())
    aliases: tuple[str, ...] = value(WORDS, ())
    ladder: tuple[str, ...] = value(ListOf(NAME, least=1, most=LEVELS))


@dataclass(frozen=True, slots=True)
class OwnDrillsTable:
    """A whole drills.toml of format 1."""

    drill: tuple[OwnDrillTable, ...] = value(
        ListOf(table_of(OwnDrillTable, called="drill"), most=MAX_ENTRIES), ()
    )
