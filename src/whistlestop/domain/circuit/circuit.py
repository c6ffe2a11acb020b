"""A circuit as it was written: stations, settings and what differs by loop.

Values here are already valid one by one; `timeline.compile_plan` judges what
only shows when they come together.
"""

from __future__ import annotations

from dataclasses import field
from typing import Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import (
    NAME_LIMIT,
    Choice,
    Id,
    Length,
    ListOf,
    Optional,
    Read,
    TableOf,
    Text,
    Whole,
    Wrong,
    YesNo,
    table_of,
    value,
)
from whistlestop.domain.load import LOAD, Load
from whistlestop.domain.plan.parts import LEAD, Lead
from whistlestop.domain.tempo import TEMPO, Tempo
from whistlestop.domain.text import (
    CALL_NAME_CELLS,
    CALL_NAME_LIMIT,
    as_typed,
    call_name_cells,
    fold_call_name,
)

MIN_PART_MS: Final = 5_000
MAX_STATIONS: Final = 30
MAX_LOOPS: Final = 20
MAX_WORK_MS: Final = 600_000
MAX_REST_MS: Final = 1_800_000
MAX_CHANGEOVER_MS: Final = 10_000
MAX_SESSION_MS: Final = 4 * 3_600_000
MAX_ITEMS: Final = 30
MAX_PARTS: Final = 6
PART_LIMIT: Final = 20
UNTIL_KEY: Final = "until key"
# The heading in the editor of what goes up and down.
FIGURES: Final = "figures"

LastRecover = Literal["keep", "drop"]


# --- Kinds of values -------------------------------------------------------------


class Break(Length):
    """A loop break: a length, or None, which lasts until a key."""

    def judged(self, given: object) -> int | None:  # type: ignore[override]
        """Take a length, or the words for a break until a key."""
        if given == UNTIL_KEY:
            return None
        try:
            return super().judged(given)
        except Wrong as wrong:
            expected = f'{wrong.expected}, or "{UNTIL_KEY}"'
            raise Wrong(wrong.found, expected) from None


def _call_name(given: object) -> str:
    text = NAME.judged(given)
    if len(text) > CALL_NAME_LIMIT:
        raise Wrong(f"has {len(text)} characters", f"{CALL_NAME_LIMIT} at most")
    cells = call_name_cells(text.upper())
    if cells > CALL_NAME_CELLS:
        raise Wrong(
            f"is {cells} columns wide in block letters",
            f"{CALL_NAME_CELLS} at most; M and W are the widest",
        )
    folded = fold_call_name(text)
    if folded != text.upper():
        example = f', as "{folded}"' if folded else ""
        raise Wrong(
            f"is {as_typed(text)}, which block letters cannot draw",
            f"letters A to Z, digits, single spaces and hyphens{example}",
        )
    return folded


def _parts(given: object) -> tuple[str, ...]:
    if not isinstance(given, list):
        raise Wrong(f"is {as_typed(given)}", 'a list as ["left", "right"]')
    if len(given) > MAX_PARTS:
        raise Wrong(f"has {len(given)} names", f"{MAX_PARTS} at most")
    names = [Text(PART_LIMIT, least=1).judged(name) for name in given]
    for place, name in enumerate(names):
        if name.casefold() in (earlier.casefold() for earlier in names[:place]):
            raise Wrong(f"names {as_typed(name)} twice", "each part once")
    return tuple(names)


NAME: Final = Text(NAME_LIMIT, least=1)
NOTE: Final = Text()
CALL_NAME: Final = Read(_call_name)
PARTS: Final = Read(_parts, list)
WORK: Final = Length(MIN_PART_MS, MAX_WORK_MS)
REST: Final = Length(0, MAX_REST_MS)
BREAK: Final = Break(0, MAX_REST_MS, step_ms=15_000)
ITEM: Final = Length(1_000, MAX_REST_MS, step_ms=15_000)
READY: Final = Length(0, 300_000)
CHANGEOVER: Final = Length(0, MAX_CHANGEOVER_MS, step_ms=1_000)
LOOPS: Final = Whole(1, MAX_LOOPS)
STATION_NUMBER: Final = Whole(1, MAX_STATIONS)
LAST_RECOVER: Final = Choice({"keep": "stays", "drop": "gives way"})
_NAMES: Final = ListOf(NAME, most=30)
_AS_CIRCUIT: Final = "as the circuit says"


# --- Tables --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TimedItem:
    """A timed item of a warm-up or cool-down."""

    name: str = value(NAME, also="title")
    duration_ms: int = value(ITEM, key="time", also="duration")
    note: str = value(NOTE, "")


@dataclass(frozen=True, slots=True)
class Drill:
    """The skill that fills a recovery."""

    id: str = value(Id())
    name: str = value(NAME, filled=True, also="title")


@dataclass(frozen=True, slots=True)
class Station:
    """One place in the circuit. None means: as the circuit says.

    `paced` is whether its tempo is heard.
    """

    exercise: str = value(Id())
    name: str = value(
        NAME,
        meaning="a name of its own",
        filled=True,
        also="title",
        press="m",
        ask="Its name in this circuit; empty is as the library says",
    )
    call_name: str = value(CALL_NAME, key="call", filled=True)
    load: Load | None = value(
        LOAD,
        None,
        "what is lifted",
        also="weight",
        press="l",
        ask='Load: 12 kg, 2 x 8 kg, 18 lb or "band: green"; empty is none',
    )
    parts: tuple[str, ...] = value(
        PARTS,
        (),
        "how the work is shared",
        filled=True,
        also="sides",
        press="P",
        ask="Parts with commas between: left, right, together; empty is one part",
    )
    changeover_ms: int | None = value(
        Optional(CHANGEOVER, 0, _AS_CIRCUIT),
        None,
        "the time between its parts",
        label="changeover",
        key="changeover",
        press="b",
        ask="Changeover between its parts: 0 to 10 s; empty is as the circuit says",
    )
    lead: Lead | None = value(Optional(LEAD, "fixed", _AS_CIRCUIT), None)
    tempo: Tempo | None = value(
        TEMPO,
        None,
        "lowering, pause, lifting, pause in seconds",
        filled=True,
        option="--tempo TEMPO",
        press="t",
        ask="Tempo: 3-1-1-0, hold or flow; empty is as the library says",
    )
    kit: tuple[str, ...] = value(_NAMES, (), filled=True)
    cautions: tuple[str, ...] = value(_NAMES, ())
    note: str = value(
        NOTE, "", "a note on it", press="n", ask="A note on this station; empty is none"
    )
    work_ms: int | None = value(
        Optional(WORK, 40_000, _AS_CIRCUIT),
        None,
        "how long it is done",
        label="work",
        key="work",
        press="w",
        ask="Work: 40, 90 s or 1:30; empty is as the circuit says",
    )
    recover_ms: int | None = value(
        Optional(REST, 20_000, _AS_CIRCUIT),
        None,
        "the recovery after it",
        label="recover",
        key="recover",
        also="rest pause",
        press="r",
        ask="Recover: 20, 90 s or 1:30; empty is as the circuit says",
    )
    hold: bool = value(YesNo(), default=False)
    paced: bool = value(YesNo(), default=True)
    drill: Drill | None = value(TableOf(Drill, dict, alone="id"), None)


@dataclass(frozen=True, slots=True)
class InLoop:
    """What may differ in one loop, for all stations or for one. None is as usual."""

    work_ms: int | None = value(
        WORK,
        None,
        label="work",
        key="work",
        ask="Work in this loop: 40, 90 s or 1:30; empty is as usual",
    )
    recover_ms: int | None = value(
        REST,
        None,
        label="recover",
        key="recover",
        also="rest pause",
        ask="Recover in this loop: 20, 90 s or 1:30; empty is as usual",
    )
    load: Load | None = value(
        LOAD,
        None,
        also="weight",
        ask='Load in this loop: 12 kg, 2 x 8 kg, 18 lb or "band: green"; empty is none',
    )


@dataclass(frozen=True, slots=True)
class StationInLoop(InLoop):
    """What differs for one station in one loop."""

    skip: bool = value(YesNo(), default=False)


@dataclass(frozen=True, slots=True)
class LoopChange(InLoop):
    """What differs in one loop; `stations` maps a number from 1 to its changes.

    A `load` here holds for every station that has a load of its own.
    """

    stations: dict[int, StationInLoop] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Circuit:
    """An ordered list of stations, done for a number of loops.

    `loop_break_ms` is None where there is no break; `break_until_key` makes it
    a gate, whatever its length. `loop_changes` maps a loop number from 1.
    """

    id: str = value(Id(), filled=True)
    name: str = value(NAME, also="title", ask="The name of the circuit")
    stations: tuple[Station, ...] = value(
        ListOf(TableOf(Station, dict, "station"), least=1, most=MAX_STATIONS),
        key="station",
        also="exercises stations",
    )
    note: str = value(
        NOTE, "", "a note on the circuit", ask="A note on the circuit; empty is none"
    )
    loops: int = value(
        LOOPS,
        1,
        "how often all stations come",
        FIGURES,
        also="rounds sets",
        option="--loops N",
        ask=f"How many loops, {LOOPS.expected}?",
    )
    work_ms: int = value(
        WORK,
        40_000,
        "work at each station",
        FIGURES,
        label="work",
        key="work",
        option="--work SECONDS",
        ask="Work: 40, 90 s or 1:30",
    )
    recover_ms: int = value(
        REST,
        20_000,
        "recovery after each station",
        FIGURES,
        label="recover",
        key="recover",
        also="rest pause",
        option="--recover SECONDS",
        ask="Recover: 20, 90 s or 1:30",
    )
    last_recover: LastRecover | None = value(
        Optional(LAST_RECOVER, "keep", "as usual"),
        None,
        "whether the last recovery of a loop stays; as usual it does without a break",
        FIGURES,
        ask="Last recovery of a loop: keep or drop; empty is as usual",
    )
    loop_break_ms: int | None = value(
        BREAK,
        None,
        "between two loops",
        FIGURES,
        label="loop break",
        key="loop_break",
        also="break",
        option="--break SECONDS",
        ask="Loop break: 0, 90 s, 1:30, or until key",
    )
    break_until_key: bool = False
    get_ready_ms: int = value(
        READY,
        10_000,
        "before the first work",
        FIGURES,
        label="get ready",
        key="get_ready",
        ask="Get ready: 10, 30 s or 1:00",
    )
    changeover_ms: int = value(
        CHANGEOVER,
        0,
        "between the parts of a station",
        FIGURES,
        label="changeover",
        key="changeover",
        ask=f"Changeover between parts: {CHANGEOVER.expected}",
    )
    lead: Lead = value(
        LEAD,
        "alternate",
        "which part comes first: alternating by loop, or as written",
        FIGURES,
        ask="The side that leads: alternate by loop, or fixed",
    )
    warm_up: tuple[TimedItem, ...] = value(
        ListOf(table_of(TimedItem, called="warm-up item"), most=MAX_ITEMS),
        (),
        "before the circuit",
        FIGURES,
        label="warm-up",
    )
    cool_down: tuple[TimedItem, ...] = value(
        ListOf(table_of(TimedItem, called="cool-down item"), most=MAX_ITEMS),
        (),
        "after it",
        FIGURES,
        label="cool-down",
    )
    loop_changes: dict[int, LoopChange] = field(default_factory=dict)

    @property
    def has_break(self) -> bool:
        """Whether loops are set apart by a break, timed or until a key."""
        return self.break_until_key or bool(self.loop_break_ms)

    @property
    def has_last_recover(self) -> bool:
        """Whether the last recovery of each loop stays: as set, or the default."""
        if self.last_recover is not None:
            return self.last_recover == "keep"
        return not self.has_break


@dataclass(frozen=True, slots=True)
class Today:
    """Changes for one session. They win over everything the circuit says."""

    loops: int | None = value(LOOPS, None)
    work_ms: int | None = value(WORK, None, label="work")
    recover_ms: int | None = value(REST, None, label="recover")
    loop_break_ms: int | None = value(REST, None, label="break")
    without_stations: frozenset[int] = frozenset()

    @property
    def is_empty(self) -> bool:
        """Whether nothing is changed."""
        return self == Today()


def quick_circuit(
    *, stations: int, work_ms: int, recover_ms: int, loops: int, loop_break_ms: int = 0
) -> Circuit:
    """Make a circuit of numbered stations, for training without any file."""
    return Circuit(
        id="quick",
        name=f"{stations} stations, {work_ms // 1000}/{recover_ms // 1000}",
        stations=tuple(
            Station(f"station-{n}", f"Station {n}", f"STATION {n}")
            for n in range(1, stations + 1)
        ),
        loops=loops,
        work_ms=work_ms,
        recover_ms=recover_ms,
        loop_break_ms=loop_break_ms or None,
    )
