"""Applying a change: what it touches, what it leaves, and that it can be kept."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.coach.making import library_station, shed
from tests.support.plans import MODERATE, circuits

from whistlestop.coach.changes import (
    LEAST_WORK_MS,
    CircuitChange,
    applied,
    change_fields,
    change_from,
    demand,
    intervals_ms,
    totals_of,
    uniform_load,
)
from whistlestop.domain.circuit.circuit import Circuit, LoopChange, StationInLoop
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import ChangeError, PlanError
from whistlestop.library import exercises


def made(circuit: Circuit, change: CircuitChange) -> Circuit:
    return applied(circuit, change, exercises())


def test_a_step_of_work_reaches_every_interval_that_is_stated_anywhere() -> None:
    stations = list(shed().stations)
    stations[1] = library_station("push-up", work_ms=30_000)
    circuit = shed(
        stations=tuple(stations),
        loop_changes={
            2: LoopChange(work_ms=50_000, stations={3: StationInLoop(work_ms=20_000)})
        },
    )
    before = intervals_ms(compile_plan(circuit))
    after = intervals_ms(compile_plan(made(circuit, CircuitChange(work_step_ms=5_000))))
    assert {ms - before[place] for place, ms in after.items()} == {5_000}


@MODERATE
@given(circuits(), st.sampled_from([-10_000, -5_000, 5_000]))
def test_a_step_of_work_is_exact_for_any_circuit_or_stops_at_15_s(
    circuit: Circuit, step_ms: int
) -> None:
    before = intervals_ms(compile_plan(circuit))
    try:
        after = intervals_ms(
            compile_plan(made(circuit, CircuitChange(work_step_ms=step_ms)))
        )
    except PlanError:
        return
    for place, ms in after.items():
        old = before[place]
        assert ms == max(old + step_ms, min(old, LEAST_WORK_MS))


def test_one_station_falls_back_in_every_loop_and_comes_back_to_as_before() -> None:
    circuit = shed(
        loops=3,
        loop_changes={2: LoopChange(work_ms=50_000)},
    )
    back = made(circuit, CircuitChange(work_step_at=((1, -10_000),)))
    found = intervals_ms(compile_plan(back))
    assert [found[loop, 1] for loop in (1, 2, 3)] == [30_000, 40_000, 30_000]
    assert [found[loop, 2] for loop in (1, 2, 3)] == [40_000, 50_000, 40_000]
    again = made(back, CircuitChange(work_step_at=((1, 10_000),)))
    assert intervals_ms(compile_plan(again)) == intervals_ms(compile_plan(circuit))
    assert again.stations[0].work_ms is None


def test_a_load_holds_in_every_loop_and_other_stations_keep_theirs() -> None:
    stations = (library_station("goblet-squat", "16 kg"), *shed().stations[1:])
    circuit = shed(
        stations=stations,
        loop_changes={2: LoopChange(stations={1: StationInLoop(
            load=parse_load("20 kg"))})},
    )  # fmt: skip
    assert uniform_load(circuit, 1) is None
    lighter = made(circuit, CircuitChange(loads=((1, "12 kg"),)))
    assert str(uniform_load(lighter, 1)) == "12 kg"
    plan = compile_plan(lighter)
    assert {s.load for s in plan.segments if s.station == 1 and s.load} == {"12 kg"}


def test_demand_weighs_seconds_with_loads() -> None:
    """One station: 60 s with 20 kg is as much as 50 s with 24 kg: 50 x 1.2."""
    one = shed(
        stations=(library_station("goblet-squat", "20 kg"),), work_ms=60_000, loops=1
    )
    other = shed(
        stations=(library_station("goblet-squat", "24 kg"),), work_ms=50_000, loops=1
    )
    assert demand(other, one) == 1
    assert demand(shed(work_ms=45_000), shed()) == Fraction(9, 8)


def test_a_swap_takes_everything_from_the_library_and_keeps_the_drill() -> None:
    circuit = made(shed(), CircuitChange(swap=(1, "split-squat")))
    facts, new = exercises()["split-squat"], circuit.stations[0]
    assert (new.name, new.parts, new.kit) == (facts.name, facts.parts, facts.kit)
    assert new.drill == shed().stations[0].drill
    compile_plan(circuit)


def test_recovery_as_long_as_work_and_a_drill_that_is_not_there() -> None:
    circuit = made(shed(), CircuitChange(work_step_ms=-10_000, recover_as_work=True))
    totals = totals_of(circuit)
    assert (totals.interval_ms, totals.recover_ms) == (30_000, 30_000)
    for wrong in (
        CircuitChange(swap=(9, "push-up")),
        CircuitChange(swap=(1, "no-such")),
        CircuitChange(drill=(2, 1)),
        CircuitChange(drill=(1, 9)),
        CircuitChange(loops=21),
        CircuitChange(revert="d1"),
    ):
        with pytest.raises(ChangeError):
            made(shed(), wrong)


CHANGES = st.builds(
    CircuitChange,
    loops=st.none() | st.integers(1, 20),
    work_step_ms=st.integers(-60, 60).map(lambda s: s * 1000),
    recover_step_ms=st.integers(-60, 60).map(lambda s: s * 1000),
    recover_as_work=st.booleans(),
    work_step_at=st.lists(
        st.tuples(st.integers(1, 30), st.integers(-9, 9)), max_size=3
    ).map(tuple),
    loads=st.lists(
        st.tuples(st.integers(1, 30), st.sampled_from(["8 kg", "2 x 8 kg", "18 lb"])),
        max_size=3,
    ).map(tuple),
    swap=st.none() | st.tuples(st.integers(1, 30), st.sampled_from(["a", "b-c"])),
    drill=st.none() | st.tuples(st.integers(1, 30), st.integers(1, 4)),
    revert=st.sampled_from(["", "d1"]),
)


@MODERATE
@given(CHANGES)
def test_a_change_comes_back_from_its_fields(change: CircuitChange) -> None:
    fields = json.loads(json.dumps(change_fields(change)))
    assert change_from(fields) == change


@pytest.mark.parametrize(
    "fields",
    [
        None,
        [],
        {"loop": 2},
        {"loops": "2"},
        {"loops": True},
        {"work_step_ms": 1.5},
        {"work_step_ms": 10**12},
        {"loads": [[1, "heavy"]]},
        {"loads": [[1]]},
        {"swap": [1, "a", "b"]},
        {"work_step_at": {"1": 5}},
    ],
)
def test_fields_that_are_no_change_are_refused(fields: object) -> None:
    with pytest.raises(ValueError, match=r"expected|change"):
        change_from(fields)


def test_no_load_of_a_loop_comes_back_at_a_station_set_to_body_weight() -> None:
    """By the loop as a whole and by the station in the loop; others keep theirs."""
    squats = (library_station("goblet-squat", "16 kg"),) * 2
    heavy = parse_load("24 kg")
    loops = {2: LoopChange(load=heavy, stations={1: StationInLoop(load=heavy)})}
    circuit = shed(stations=squats, loops=2, loop_changes=loops)
    made = compile_plan(applied(circuit, CircuitChange(bare=(1,)), exercises()))
    loads = {(s.loop, s.station): s.load for s in made.segments if s.kind == "work"}
    assert loads == {
        (1, 1): None,
        (1, 2): "16 kg",
        (2, 1): None,
        (2, 2): "24 kg",
    }
