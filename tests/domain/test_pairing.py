"""Two on one clock: rotation, common times, refusals, and what a journal keeps."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import groupby

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import (
    LEFT_RIGHT,
    MODERATE,
    THREE_PARTS,
    circuit,
    circuits,
    station,
    todays,
)

from whistlestop.domain.circuit.circuit import (
    Drill,
    LoopChange,
    StationInLoop,
    Today,
    quick_circuit,
)
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.pairing import (
    COMMON,
    companion_plan,
    offsets,
    own_part,
    paired_plans,
)
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import MisfitError

TWO = ({}, {})


def of(*stations, offset=1, loads=TWO, today=None, **changes):
    return paired_plans(circuit(*stations, **changes), offset, loads, today)


def order(plan: Plan, loop: int) -> list[int]:
    work = [
        s.station
        for s in plan.segments
        if s.loop == loop and s.kind is SegmentKind.WORK
    ]
    return [number for number, _ in groupby(work)]


def shape(plan: Plan) -> list[tuple[object, ...]]:
    return [tuple(getattr(s, name) for name in COMMON) for s in plan.segments]


def parts(plan: Plan) -> list[str | None]:
    return [s.part for s in plan.segments if s.kind is SegmentKind.WORK]


def test_half_the_circuit_apart_by_default():
    """floor(n / athletes); nearer ones first where it will not do."""
    ten = quick_circuit(stations=10, work_ms=40_000, recover_ms=20_000, loops=2)
    assert offsets(ten)[:4] == (5, 4, 6, 3)
    assert set(offsets(ten)) == set(range(1, 10))
    nine = quick_circuit(stations=9, work_ms=40_000, recover_ms=20_000, loops=1)
    assert offsets(nine)[0] == 4
    assert offsets(nine, athletes=3)[0] == 3
    alone = quick_circuit(stations=1, work_ms=40_000, recover_ms=20_000, loops=1)
    assert offsets(alone) == ()


def test_stations_left_out_today_count_for_the_offset():
    ten = quick_circuit(stations=10, work_ms=40_000, recover_ms=20_000, loops=1)
    today = Today(without_stations=frozenset({1, 2}))
    assert offsets(ten, today=today)[0] == 4


def test_the_second_goes_round_the_same_stations_from_further_on():
    first, second = paired_plans(
        quick_circuit(stations=5, work_ms=40_000, recover_ms=20_000, loops=2), 2, TWO
    )
    assert order(first, 1) == [1, 2, 3, 4, 5]
    assert order(second, 1) == order(second, 2) == [3, 4, 5, 1, 2]


def test_a_loop_with_a_station_skipped_turns_in_itself():
    change = {2: LoopChange(stations={2: StationInLoop(skip=True)})}
    made = replace(
        quick_circuit(stations=4, work_ms=40_000, recover_ms=20_000, loops=2),
        loop_changes=change,
    )
    first, second = paired_plans(made, 1, TWO)
    assert (order(first, 2), order(second, 2)) == ([1, 3, 4], [3, 4, 1])


def test_an_offset_that_comes_round_to_the_same_station_is_refused():
    change = {2: LoopChange(stations={2: StationInLoop(skip=True)})}
    made = replace(
        quick_circuit(stations=4, work_ms=40_000, recover_ms=20_000, loops=2),
        loop_changes=change,
    )
    with pytest.raises(MisfitError, match=r"loop 2 has 3 stations.*offset of 3"):
        paired_plans(made, 3, TWO)


def test_a_slot_works_the_shortest_and_recovers_the_longest():
    first, second = of(
        station(1, work_ms=30_000, recover_ms=20_000),
        station(2, work_ms=45_000, recover_ms=35_000),
        last_recover="keep",
    )
    lengths = [(s.kind, s.duration_ms) for s in first.segments[1:]]
    assert lengths == [(SegmentKind.WORK, 30_000), (SegmentKind.RECOVER, 35_000)] * 2
    assert shape(first) == shape(second)


def test_a_switch_is_common_and_who_has_no_sides_works_on_in_both_parts():
    first, second = of(
        station(1), station(2, parts=LEFT_RIGHT, changeover_ms=2_000), work_ms=42_000
    )
    assert parts(first) == [None, None, "left", "right"]
    assert parts(second) == ["left", "right", None, None]
    work = [s.duration_ms for s in first.segments if s.kind is SegmentKind.WORK]
    assert work == [20_000] * 4
    # The changeover is a pause for both: nobody is told to work on in it.
    assert [s.kind for s in second.segments].count(SegmentKind.CHANGEOVER) == 2


def test_the_longest_changeover_of_those_with_sides_holds():
    first, _ = of(
        station(1, parts=LEFT_RIGHT, changeover_ms=4_000),
        station(2, parts=LEFT_RIGHT, changeover_ms=0),
        work_ms=40_000,
    )
    pauses = [s.duration_ms for s in first.segments if s.kind is SegmentKind.CHANGEOVER]
    assert pauses == [4_000, 4_000]


def test_the_lead_side_alternates_by_loop_for_each():
    first, second = of(station(1, parts=LEFT_RIGHT), station(2), loops=2)
    assert parts(first) == ["left", "right", None, None, "right", "left", None, None]
    assert parts(second) == [None, None, "left", "right", None, None, "right", "left"]


def test_two_parts_against_three_are_refused_by_name():
    with pytest.raises(MisfitError, match=r"loop 1, slot 1: .* 2 parts .* 3 parts"):
        of(station(1, parts=LEFT_RIGHT), station(2, parts=THREE_PARTS))


def test_a_part_that_becomes_too_short_on_the_common_clock_is_refused():
    """9 s whole meets two sides: 4.5 s a side, below the 5 s of the shortest part."""
    with pytest.raises(MisfitError, match=r"slot 1: a part lasts 4.5 s"):
        of(station(1, work_ms=9_000), station(2, parts=LEFT_RIGHT))


def test_a_hold_of_either_holds_both():
    first, second = of(station(1), station(2, hold=True))
    assert [s.kind for s in first.segments].count(SegmentKind.HOLD) == 2
    assert [s.station for s in second.segments if s.kind is SegmentKind.HOLD] == [2, 1]


def test_own_loads_are_by_exercise_and_only_ones_own():
    own = {"exercise-1": parse_load("6 kg")}
    first, second = of(
        station(1, load=parse_load("12 kg")),
        station(2, load=parse_load("16 kg")),
        loads=({}, own),
    )
    assert [s.load for s in first.segments if s.kind is SegmentKind.WORK] == [
        "12 kg",
        "16 kg",
    ]
    assert [s.load for s in second.segments if s.kind is SegmentKind.WORK] == [
        "16 kg",
        "6 kg",
    ]
    assert second.card(1).load == "6 kg"
    assert first.card(1).load == "12 kg"


def test_each_has_the_drill_of_the_own_station():
    first, second = of(
        station(1, drill=Drill("stand", "Stand")), station(2), last_recover="keep"
    )
    assert [s.drill for s in first.segments if s.kind is SegmentKind.RECOVER] == [
        "stand",
        None,
    ]
    assert [s.drill for s in second.segments if s.kind is SegmentKind.RECOVER] == [
        None,
        "stand",
    ]


@MODERATE
@given(circuits(most_stations=6), todays(), st.integers(1, 5))
def test_one_clock_every_station_once_nobody_works_longer(drawn, today, offset):
    try:
        plans = paired_plans(drawn, offset, TWO, today)
    except MisfitError:
        return
    alone = compile_plan(drawn, today)
    first, second = plans
    assert shape(first) == shape(second)
    for loop in range(1, first.loops + 1):
        ones, others = order(first, loop), order(second, loop)
        assert ones == order(alone, loop)
        turn = offset % len(ones)
        assert others == ones[turn:] + ones[:turn]
        assert all(a != b for a, b in zip(ones, others, strict=True))
    for plan in plans:
        for key, ms in _worked(plan).items():
            assert ms <= _worked(alone)[key]
    # What is written in a journal gives the plan back, times and all.
    assert companion_plan(first, own_part(second)) == second


def _worked(plan: Plan) -> Counter:
    """Work and changeovers by loop and station: time at the station, in ms."""
    spent: Counter = Counter()
    for s in plan.segments:
        if s.kind in (SegmentKind.WORK, SegmentKind.CHANGEOVER):
            spent[s.loop, s.station] += s.duration_ms
    return spent


def test_a_journals_companion_takes_no_times_of_its_own():
    first, second = of(station(1), station(2))
    own = own_part(second)
    own["segments"][1]["duration_ms"] = 5
    assert companion_plan(first, own) == second


@pytest.mark.parametrize(
    "spoil",
    [
        lambda own: None,
        lambda own: [],
        lambda own: {"stations": own["stations"]},
        lambda own: {**own, "segments": own["segments"][1:]},
        lambda own: {**own, "segments": [None] * len(own["segments"])},
        lambda own: {**own, "stations": None},
        lambda own: {**own, "stations": own["stations"][:1]},
    ],
)
def test_a_spoilt_companion_is_a_plain_error(spoil):
    first, second = of(station(1), station(2))
    with pytest.raises(ValueError, match=r"companion|plan"):
        companion_plan(first, spoil(own_part(second)))
