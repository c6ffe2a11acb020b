"""The keys of the athlete's own stations.toml and drills.toml, and the bounds of each.

The boundary: pydantic models of format 1, with the words of the library. Refuses to
know files, and how stations lie beside each other.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Final

from pydantic import AfterValidator, Field, PlainValidator

from whistlestop.library import (
    INTENSITIES,
    PARTS_OF_SIDES,
    POSITIONS,
    REGIONS,
    SCREENS,
)
from whistlestop.library.cards import (
    BY_LIMIT,
    CEILINGS,
    FLOORS,
    KEY_POINT_LIMIT,
    KEY_POINT_WORDS,
    LOAD_KINDS,
    MISTAKE_LIMIT,
    NOISES,
    SET_UP_LIMIT,
    SPACES,
    VARIANT_LIMIT,
)
from whistlestop.store.circuit_schema import ATempo, CallName, Id, Name, Note, YesNo
from whistlestop.store.kit_schema import FORMAT, Table, Tables, one_of, whole, wrong
from whistlestop.store.toml_places import as_typed

MAX_ENTRIES: Final = 60
MAX_WORDS: Final = 12
LEVELS: Final = 4
# No way to another station takes more than the load itself along.
MOST_FACTOR: Final = 1


def _at_most(limit: int, words: int = 0) -> Callable[[str], str]:
    def check(text: str) -> str:
        if len(text) > limit:
            raise wrong(f"has {len(text)} characters", f"{limit} at most")
        if words and len(text.split()) > words:
            raise wrong(f"has {len(text.split())} words", f"{words} at most")
        return text

    return check


def _factor(value: object) -> float:
    number = value if type(value) in {int, float} else None
    if not isinstance(number, int | float) or not 0 <= number <= MOST_FACTOR:
        raise wrong(f"is {as_typed(value)}", f"a share of the load, 0 to {MOST_FACTOR}")
    return float(number)


KeyPoint = Annotated[Note, AfterValidator(_at_most(KEY_POINT_LIMIT, KEY_POINT_WORDS))]
Variant = Annotated[Note, AfterValidator(_at_most(VARIANT_LIMIT))]
Words = Annotated[list[Name], Field(max_length=MAX_WORDS)]
Format = Annotated[int, PlainValidator(whole(FORMAT, FORMAT))]
Region = Annotated[str, PlainValidator(one_of(*REGIONS))]


class NeighbourTable(Table):
    """A neighbour: where to, and the one thing that differs there."""

    to: Id
    by: Annotated[Name, AfterValidator(_at_most(BY_LIMIT))]
    factor: Annotated[float | None, PlainValidator(_factor)] = None


class LevelTable(Table):
    """What a level of a drill adds to its features, and every level after it."""

    level: Annotated[int, PlainValidator(whole(2, LEVELS))]
    features: Words


class OwnStationTable(Table):
    """A `[[station]]` with its card; what is left out is the plainest value."""

    id: Id
    name: Name
    call_name: CallName | None = None
    region: Region
    pattern: Name
    sides: Annotated[str, PlainValidator(one_of(*PARTS_OF_SIDES))] = "both"
    kit: Words = Field(default_factory=list)
    instead: Annotated[list[Words], Field(max_length=MAX_WORDS)] = Field(
        default_factory=list
    )
    tempo: ATempo | None = None
    position: Annotated[str, PlainValidator(one_of(*POSITIONS))] = "standing"
    screen: Annotated[str, PlainValidator(one_of(*SCREENS))] = "yes"
    cautions: Words = Field(default_factory=list)
    features: Words = Field(default_factory=list)
    aliases: Words = Field(default_factory=list)
    spoken: Note = ""
    set_up: Annotated[Note, AfterValidator(_at_most(SET_UP_LIMIT))] = ""
    key_point: KeyPoint = ""
    mistake: Annotated[Note, AfterValidator(_at_most(MISTAKE_LIMIT))] = ""
    ease: Variant = ""
    stretch: Variant = ""
    space: Annotated[str, PlainValidator(one_of(*SPACES))] = "spot"
    noise: Annotated[str, PlainValidator(one_of(*NOISES))] = "quiet"
    ceiling: Annotated[str, PlainValidator(one_of(*CEILINGS))] = "low"
    floor: Annotated[str, PlainValidator(one_of(*FLOORS))] = "any"
    load: Annotated[str, PlainValidator(one_of(*LOAD_KINDS))] = "none"
    grip: YesNo = False
    difficulty: Annotated[int, PlainValidator(whole(1, 5))] = 3
    family: Name | None = None
    easier: Annotated[list[NeighbourTable], Field(max_length=MAX_WORDS)] = Field(
        default_factory=list
    )
    harder: Annotated[list[NeighbourTable], Field(max_length=MAX_WORDS)] = Field(
        default_factory=list
    )


class OwnStationsTable(Table):
    """A whole stations.toml of format 1."""

    format: Format
    station: Annotated[list[OwnStationTable], Field(max_length=MAX_ENTRIES)] = Field(
        default_factory=list
    )


class OwnDrillTable(Table):
    """A `[[drill]]`: a skill of low intensity, with a ladder of up to four levels."""

    id: Id
    name: Name
    kind: Name
    kit: Words = Field(default_factory=list)
    loads: Annotated[list[Region], Field(max_length=len(REGIONS))] = Field(
        default_factory=list
    )
    key_point: KeyPoint = ""
    impact: YesNo = False
    metronome_per_minute: Annotated[int | None, PlainValidator(whole(40, 200))] = None
    eyes_closed: YesNo = False
    gate: Note = ""
    intensity: Annotated[str, PlainValidator(one_of(*INTENSITIES))] = "low"
    cautions: Words = Field(default_factory=list)
    features: Words = Field(default_factory=list)
    from_level: Annotated[list[LevelTable], Field(max_length=LEVELS)] = Field(
        default_factory=list
    )
    aliases: Words = Field(default_factory=list)
    ladder: Annotated[list[Name], Field(min_length=1, max_length=LEVELS)]


class OwnDrillsTable(Table):
    """A whole drills.toml of format 1."""

    format: Format
    drill: Annotated[list[OwnDrillTable], Field(max_length=MAX_ENTRIES)] = Field(
        default_factory=list
    )


STATION_TABLES: Final[Tables] = {
    (): (OwnStationsTable, ""),
    ("station",): (OwnStationTable, "station"),
    ("station", "easier"): (NeighbourTable, ""),
    ("station", "harder"): (NeighbourTable, ""),
}
DRILL_TABLES: Final[Tables] = {
    (): (OwnDrillsTable, ""),
    ("drill",): (OwnDrillTable, "drill"),
    ("drill", "from_level"): (LevelTable, ""),
}
