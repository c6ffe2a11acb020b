"""Small circuits for tests, and hypothesis strategies for random ones.

Every drawn circuit is valid: it compiles without an error.
"""

from __future__ import annotations

from dataclasses import replace

from hypothesis import settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.domain.circuit.circuit import (
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
    TimedItem,
    Today,
)
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan

# The same examples on every run, so that a red run can be run again.
MODERATE = settings(
    max_examples=examples(100), deadline=None, derandomize=True, database=None
)
FEW = settings(MODERATE, max_examples=examples(40))

LEFT_RIGHT = ("left", "right")
THREE_PARTS = ("left", "right", "together")


def station(number: int = 1, **changes: object) -> Station:
    """A plain station, called after its number."""
    plain = Station(f"exercise-{number}", f"Exercise {number}", f"EXERCISE {number}")
    return replace(plain, **changes)  # type: ignore[arg-type]


def circuit(*stations: Station, **changes: object) -> Circuit:
    """A circuit of the given stations: 40/20, one loop, get ready 10 s."""
    plain = Circuit("test", "Test", stations or (station(1),))
    return replace(plain, **changes)  # type: ignore[arg-type]


def plan(*stations: Station, **changes: object) -> Plan:
    """The compiled plan of such a circuit."""
    return compile_plan(circuit(*stations, **changes))


def every_place() -> Plan:
    """Two loops in which every kind of place occurs, with round figures.

    Warm-up 30 s and 20 s, get ready 10 s; station 1 40 s; station 2 45 s in two
    parts with a changeover of 3 s (21 + 3 + 21); station 3 40 s behind a hold;
    20 s recoveries, the last one kept; a break until a key; cool-down 60 s.
    """
    return plan(
        station(1, load=parse_load("2 x 8 kg")),
        station(2, parts=LEFT_RIGHT, changeover_ms=3_000, work_ms=45_000),
        station(3, hold=True, drill=Drill("stand", "Stand on one leg")),
        loops=2,
        last_recover="keep",
        break_until_key=True,
        warm_up=(TimedItem("Walk", 30_000), TimedItem("Roll down", 20_000)),
        cool_down=(TimedItem("Breathe", 60_000),),
    )


# Whole seconds, as a circuit file gives them.
def _seconds(least: int, most: int) -> st.SearchStrategy[int]:
    return st.integers(least, most).map(lambda s: s * 1000)


_LOADS = st.sampled_from(["8 kg", "2 x 8 kg", "18 lb", "band: green"]).map(parse_load)
_DRILLS = st.sampled_from([None, Drill("stand", "Stand on one leg")])
# Long enough for three parts of 5 s with two changeovers of 4 s.
_SAFE_WORK = _seconds(25, 60)


@st.composite
def stations(draw: st.DrawFn, number: int) -> Station:
    """One station with anything a circuit file may say of it."""
    parts = draw(st.sampled_from([(), ("both",), LEFT_RIGHT, LEFT_RIGHT, THREE_PARTS]))
    split = len(parts) > 1
    return station(
        number,
        parts=parts,
        changeover_ms=draw(st.none() | _seconds(0, 4)) if split else None,
        lead=draw(st.sampled_from([None, "alternate", "fixed"])),
        load=draw(st.none() | _LOADS),
        drill=draw(_DRILLS),
        hold=draw(st.integers(0, 4)) == 0,
        paced=draw(st.integers(0, 4)) > 0,
        work_ms=draw(st.none() | (_SAFE_WORK if split else _seconds(5, 60))),
        recover_ms=draw(st.none() | _seconds(0, 30)),
    )


@st.composite
def _in_loop(draw: st.DrawFn) -> StationInLoop:
    return StationInLoop(
        work_ms=draw(st.none() | _SAFE_WORK),
        recover_ms=draw(st.none() | _seconds(0, 30)),
        load=draw(st.none() | _LOADS),
    )


@st.composite
def _loop_changes(draw: st.DrawFn, count: int) -> LoopChange:
    numbers = draw(st.lists(st.integers(1, count), unique=True, max_size=2))
    own = {number: draw(_in_loop()) for number in numbers}
    if count > 1 and draw(st.booleans()):
        skipped = draw(st.integers(1, count))
        own[skipped] = StationInLoop(skip=True)
    return LoopChange(
        work_ms=draw(st.none() | _SAFE_WORK),
        recover_ms=draw(st.none() | _seconds(0, 30)),
        load=draw(st.none() | _LOADS),
        stations=own,
    )


_ITEMS = st.lists(
    st.builds(TimedItem, st.sampled_from(["Walk", "Roll down"]), _seconds(1, 40)),
    max_size=2,
).map(tuple)


@st.composite
def circuits(
    draw: st.DrawFn, *, most_stations: int = 5, most_loops: int = 4
) -> Circuit:
    """A valid circuit of whole seconds."""
    count = draw(st.integers(1, most_stations))
    loops = draw(st.integers(1, most_loops))
    changed = draw(st.lists(st.integers(1, loops), unique=True, max_size=2))
    break_ms, until_key = draw(
        st.one_of(
            st.just((None, False)),
            st.just((None, True)),
            _seconds(1, 90).map(lambda ms: (ms, False)),
        )
    )
    return Circuit(
        "drawn",
        "Drawn",
        tuple(draw(stations(number)) for number in range(1, count + 1)),
        loops=loops,
        work_ms=draw(_SAFE_WORK),
        recover_ms=draw(_seconds(0, 30)),
        last_recover=draw(st.sampled_from([None, "keep", "drop"])),
        loop_break_ms=break_ms,
        break_until_key=until_key,
        get_ready_ms=draw(_seconds(0, 15)),
        changeover_ms=draw(_seconds(0, 4)),
        lead=draw(st.sampled_from(["alternate", "fixed"])),
        warm_up=draw(_ITEMS),
        cool_down=draw(_ITEMS),
        loop_changes={loop: draw(_loop_changes(count)) for loop in changed},
    )


@st.composite
def todays(draw: st.DrawFn) -> Today:
    """Changes for one session that leave every circuit valid."""
    return Today(
        loops=draw(st.none() | st.integers(1, 4)),
        work_ms=draw(st.none() | _SAFE_WORK),
        recover_ms=draw(st.none() | _seconds(0, 30)),
        loop_break_ms=draw(st.none() | _seconds(0, 60)),
    )


def plans(*, most_stations: int = 5, most_loops: int = 4) -> st.SearchStrategy[Plan]:
    """A plan of whole seconds (parts and changeovers may be odd)."""
    return circuits(most_stations=most_stations, most_loops=most_loops).map(
        compile_plan
    )


def _with_odd_ms(drawn: Circuit, odd_ms: int) -> Circuit:
    """No engine rule rests on whole seconds, so shift everything off them."""
    return replace(
        drawn,
        work_ms=drawn.work_ms + odd_ms,
        recover_ms=drawn.recover_ms + odd_ms,
        get_ready_ms=drawn.get_ready_ms + odd_ms,
        loop_break_ms=drawn.loop_break_ms and drawn.loop_break_ms + odd_ms,
    )


def session_plans() -> st.SearchStrategy[Plan]:
    """Short plans for the engine: few stations, any millisecond."""
    odd = st.sampled_from([0, 0, 1, 137, 999])
    small = circuits(most_stations=3, most_loops=3)
    return st.builds(_with_odd_ms, small, odd).map(compile_plan)
