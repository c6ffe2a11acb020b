"""A circuit as it was written: stations, settings and what differs by loop.

Values here are already valid one by one; `timeline.compile_plan` judges what
only shows when they come together.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

from whistlestop.domain.load import Load
from whistlestop.domain.parts import Lead
from whistlestop.domain.tempo import Tempo

MIN_PART_MS: Final = 5_000
MAX_STATIONS: Final = 30
MAX_LOOPS: Final = 20
MAX_WORK_MS: Final = 600_000
MAX_REST_MS: Final = 1_800_000
MAX_CHANGEOVER_MS: Final = 10_000
MAX_SESSION_MS: Final = 4 * 3_600_000

LastRecover = Literal["keep", "drop"]


@dataclass(frozen=True, slots=True)
class Item:
    """A timed item of a warm-up or cool-down."""

    name: str
    duration_ms: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Drill:
    """The skill that fills a recovery."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class Station:
    """One place in the circuit. None means: as the circuit says.

    `paced` is whether its tempo is heard.
    """

    exercise: str
    name: str
    call_name: str
    load: Load | None = None
    parts: tuple[str, ...] = ()
    changeover_ms: int | None = None
    lead: Lead | None = None
    tempo: Tempo | None = None
    kit: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    note: str = ""
    work_ms: int | None = None
    recover_ms: int | None = None
    drill: Drill | None = None
    hold: bool = False
    paced: bool = True


@dataclass(frozen=True, slots=True)
class StationInLoop:
    """What differs for one station in one loop."""

    work_ms: int | None = None
    recover_ms: int | None = None
    load: Load | None = None
    skip: bool = False


@dataclass(frozen=True, slots=True)
class LoopChange:
    """What differs in one loop; `stations` maps a number from 1 to its changes.

    A `load` here holds for every station that has a load of its own.
    """

    work_ms: int | None = None
    recover_ms: int | None = None
    load: Load | None = None
    stations: dict[int, StationInLoop] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Circuit:
    """An ordered list of stations, done for a number of loops.

    `loop_break_ms` is None where there is no break; `break_until_key` makes it
    a gate, whatever its length. `loop_changes` maps a loop number from 1.
    """

    id: str
    name: str
    stations: tuple[Station, ...]
    loops: int = 1
    work_ms: int = 40_000
    recover_ms: int = 20_000
    last_recover: LastRecover | None = None
    loop_break_ms: int | None = None
    break_until_key: bool = False
    get_ready_ms: int = 10_000
    changeover_ms: int = 0
    lead: Lead = "alternate"
    warm_up: tuple[Item, ...] = ()
    cool_down: tuple[Item, ...] = ()
    note: str = ""
    loop_changes: dict[int, LoopChange] = field(default_factory=dict)

    @property
    def has_break(self) -> bool:
        """Whether loops are set apart by a break, timed or until a key."""
        return self.break_until_key or bool(self.loop_break_ms)

    @property
    def keeps_last_recover(self) -> bool:
        """Whether the last recovery of each loop stays: said, or the default."""
        if self.last_recover is not None:
            return self.last_recover == "keep"
        return not self.has_break


@dataclass(frozen=True, slots=True)
class Today:
    """Changes for one session. They win over everything the circuit says."""

    loops: int | None = None
    work_ms: int | None = None
    recover_ms: int | None = None
    loop_break_ms: int | None = None
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
