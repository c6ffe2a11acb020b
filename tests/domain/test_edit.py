"""Editing: every step leaves a circuit that can be done, and can be taken back."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import LEFT_RIGHT, MODERATE, circuit, circuits, station

from whistlestop.domain.circuit import edit, edit_station
from whistlestop.domain.circuit.circuit import (
    MAX_STATIONS,
    Circuit,
    Drill,
    LoopChange,
    StationInLoop,
    Today,
)
from whistlestop.domain.circuit.edit import EditHistory
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan, resolve
from whistlestop.domain.tempo import parse_tempo
from whistlestop.errors import RefusedError


def three() -> Circuit:
    """Three stations, two loops; loop 2 says something of stations 1 and 3."""
    change = LoopChange(
        stations={
            1: StationInLoop(load=parse_load("14 kg")),
            3: StationInLoop(work_ms=60_000),
        }
    )
    return circuit(
        station(1, load=parse_load("12 kg")),
        station(2),
        station(3),
        loops=2,
        loop_changes={2: change},
    )


def told(made: Circuit) -> list[tuple[str, list[object]]]:
    """Each station with what it gets in every loop, whatever its number."""
    found = []
    for number, one in enumerate(made.stations, 1):
        loops = []
        for loop in range(1, made.loops + 1):
            own = made.loop_changes.get(loop, LoopChange()).stations
            skip = own.get(number, StationInLoop()).skip
            loops.append((resolve(made, one, loop, number, Today()), skip))
        found.append((one.exercise, loops))
    return found


# The order of stations


@MODERATE
@given(circuits(), st.data())
def test_moving_a_station_changes_its_place_and_nothing_it_gets(made, data):
    number = data.draw(st.integers(1, len(made.stations)))
    to = data.draw(st.integers(1, len(made.stations)))
    moved = edit.moved(made, number, to - number)
    expected = told(made)
    expected.insert(to - 1, expected.pop(number - 1))
    assert told(moved) == expected
    assert edit.moved(moved, to, number - to) == made


@MODERATE
@given(circuits(), st.data())
def test_a_copy_gets_in_every_loop_what_the_first_gets(made, data):
    number = data.draw(st.integers(1, len(made.stations)))
    doubled = edit.duplicated(made, number)
    expected = told(made)
    expected.insert(number, expected[number - 1])
    assert told(doubled) == expected
    assert edit.removed(doubled, number + 1) == made


@MODERATE
@given(circuits(), st.data())
def test_adding_and_removing_leave_the_others_as_they_were(made, data):
    after = data.draw(st.integers(0, len(made.stations)))
    grown = edit.added(made, station(9), after)
    expected = told(made)
    assert told(grown)[after][0] == "exercise-9"
    assert [one for n, one in enumerate(told(grown)) if n != after] == expected
    assert edit.removed(grown, after + 1) == made


def test_changes_of_a_loop_follow_their_stations():
    moved = edit.moved(three(), 1, 2)
    assert [one.exercise for one in moved.stations] == [
        "exercise-2",
        "exercise-3",
        "exercise-1",
    ]
    own = moved.loop_changes[2].stations
    assert str(own[3].load) == "14 kg"
    assert own[2].work_ms == 60_000
    assert 1 not in own
    assert set(edit.removed(three(), 1).loop_changes[2].stations) == {2}


def test_removing_the_one_station_a_loop_has_left_is_refused():
    only = LoopChange(stations={1: StationInLoop(skip=True)})
    made = circuit(station(1), station(2), loops=2, loop_changes={2: only})
    with pytest.raises(RefusedError, match="not possible: loop 2"):
        edit.removed(made, 2)


def test_a_circuit_may_become_empty_and_grow_again():
    empty = edit.removed(circuit(station(1)), 1)
    assert empty.stations == ()
    assert compile_plan(edit.added(empty, station(2), 0)).total_ms == 70_000


@pytest.mark.parametrize(
    ("step", "says"),
    [
        (lambda c: edit.moved(c, 1, -1), "it is the first station already"),
        (lambda c: edit.moved(c, 3, 1), "it is the last station already"),
        (lambda c: edit.moved(c, 9, 1), "there is no station 9"),
        (lambda c: edit.removed(c, 0), "there is no station 0"),
        (lambda c: edit.added(c, station(1), 4), "there is no station 4"),
        (lambda c: edit.loops_set(c, 0), "a circuit has 1 to 20 loops"),
        (lambda c: edit.loops_set(c, 21), "a circuit has 1 to 20 loops"),
        (lambda c: edit.work_set(c, 4_000), "work lasts 5 s to 10 min"),
        (
            lambda c: edit.work_set(c, 40_500),
            "40.500 s is not a whole number of seconds",
        ),
        (lambda c: edit.recover_set(c, -1_000), "lasts 0 s to 30 min"),
        (lambda c: edit.break_set(c, 1_801_000), "lasts 0 s to 30 min"),
        (lambda c: edit.changeover_set(c, 11_000), "a changeover lasts 0 s to 10 s"),
        (lambda c: edit.get_ready_set(c, 301_000), "get ready lasts 0 s to 5 min"),
        (lambda c: edit.renamed(c, "  "), "a name has at least one letter"),
        (lambda c: edit.renamed(c, "x" * 81), "a name has at most 80 characters"),
        (lambda c: edit.renamed(c, "a\x1b[31m"), "cannot hold the character U.001B"),
        (lambda c: edit.noted(c, "x" * 401), "a note has at most 400 characters"),
        (
            lambda c: edit_station.parted(c, 1, ["left", "Left"]),
            "each part has a name of its own",
        ),
        (lambda c: edit_station.parted(c, 1, "abcdefg"), "at most 6 parts"),
        (lambda c: edit_station.parted(c, 1, ["a" * 21]), "at most 20 characters"),
        (
            lambda c: edit_station.station_changeover_set(c, 1, 2_000),
            "not possible: station 1",
        ),
        (
            lambda c: edit_station.station_renamed(c, 1, "体操"),
            "block letters cannot draw this name",
        ),
        (
            lambda c: edit.work_set(
                edit_station.parted(c, 1, ["left", "right"]), 9_000
            ),
            "not possible: station 1, loop 1: ",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_text(step, says):
    with pytest.raises(RefusedError, match=says):
        step(three())


def test_a_full_circuit_takes_no_more_stations():
    full = circuit(*(station(1) for _ in range(MAX_STATIONS)))
    with pytest.raises(RefusedError, match="at most 30 stations"):
        edit.added(full, station(2), 0)
    with pytest.raises(RefusedError, match="at most 30 stations"):
        edit.duplicated(full, 1)


# Loops and breaks


def test_what_a_loop_said_comes_back_with_the_loop():
    fewer = edit.loops_set(three(), 1)
    assert edit.loops_set(fewer, 2) == three()
    assert edit.settled(fewer).loop_changes == {}
    assert edit.settled(three()) == three()


def test_what_waits_beyond_the_last_loop_never_stands_in_the_way():
    skips = LoopChange(stations={1: StationInLoop(skip=True)})
    made = circuit(station(1), station(2), loops=2, loop_changes={2: skips})
    alone = edit.removed(edit.loops_set(made, 1), 2)
    assert compile_plan(edit.loops_set(alone, 2)).loops == 2


@MODERATE
@given(circuits())
def test_settling_changes_nothing_that_is_done(made):
    fewer = edit.loops_set(made, 1)
    assert compile_plan(edit.settled(fewer)) == compile_plan(fewer)


def test_a_break_is_timed_or_until_a_key_or_none():
    timed = edit.break_set(three(), 90_000)
    assert (timed.loop_break_ms, timed.break_until_key) == (90_000, False)
    gate = edit.break_set(timed, None)
    assert (gate.loop_break_ms, gate.break_until_key) == (None, True)
    assert edit.break_set(gate, 0) == three()


# One station


def test_another_exercise_keeps_times_drill_and_hold():
    made = circuit(
        station(
            1,
            work_ms=50_000,
            recover_ms=15_000,
            hold=True,
            drill=Drill("stand", "Stand"),
            parts=LEFT_RIGHT,
            changeover_ms=3_000,
            note="slowly",
            load=parse_load("12 kg"),
        )
    )
    new = edit_station.exercise_set(made, 1, station(5, tempo=parse_tempo("hold")))
    own = new.stations[0]
    assert (own.exercise, str(own.tempo), own.note) == ("exercise-5", "hold", "")
    assert (own.work_ms, own.recover_ms, own.hold) == (50_000, 15_000, True)
    assert own.drill == Drill("stand", "Stand")
    assert (own.parts, own.changeover_ms, own.load) == ((), None, None)


def test_a_load_taken_away_is_gone_in_every_loop():
    bare = edit_station.loaded(three(), 1, None)
    assert bare.stations[0].load is None
    assert 1 not in bare.loop_changes[2].stations
    assert bare.loop_changes[2].stations[3].work_ms == 60_000
    segments = compile_plan(bare).segments
    assert all(segment.load is None for segment in segments)


def test_one_part_takes_the_changeover_with_it():
    parted = edit_station.parted(three(), 2, ["left", "right"])
    changed = edit_station.station_changeover_set(parted, 2, 4_000)
    whole = edit_station.parted(changed, 2, [])
    assert whole.stations[1] == three().stations[1]


def test_small_steps_on_a_station_say_what_they_say():
    made = three()
    assert edit_station.hold_set(made, 1, hold=True).stations[0].hold
    assert edit_station.station_noted(made, 1, " x ").stations[0].note == "x"
    assert edit_station.station_work_set(made, 1, 45_000).stations[0].work_ms == 45_000
    assert edit_station.station_recover_set(made, 1, 0).stations[0].recover_ms == 0
    drill = Drill("d", "D")
    assert edit_station.drill_set(made, 1, drill).stations[0].drill == drill
    named = edit_station.station_renamed(made, 1, "Über press").stations[0]
    assert (named.name, named.call_name) == ("Über press", "UBER PRESS")


# History


STEPS = (
    lambda c, n: edit.moved(c, n, 1),
    lambda c, n: edit.moved(c, n, -1),
    edit.duplicated,
    edit.removed,
    lambda c, n: edit.added(c, station(7), n),
    lambda c, n: edit.loops_set(c, c.loops + 1),
    lambda c, n: edit.loops_set(c, c.loops - 1),
    lambda c, n: edit.work_set(c, c.work_ms + 5_000),
    lambda c, n: edit.break_set(c, None),
    lambda c, n: edit_station.parted(c, n, LEFT_RIGHT),
    lambda c, n: edit_station.loaded(c, n, None),
    lambda c, n: edit_station.station_work_set(c, n, 10_000),
    lambda c, n: edit_station.exercise_set(c, n, station(8)),
)


TAKEN = st.lists(st.tuples(st.sampled_from(STEPS), st.integers(1, 4)), max_size=25)


@MODERATE
@given(circuits(most_stations=3), TAKEN)
def test_whatever_is_done_can_be_done_and_all_of_it_taken_back(made, wanted):
    history = EditHistory(made)
    for step, number in wanted:
        try:
            history = history.after("a step", step(history.present, number))
        except RefusedError:
            continue
        if history.present.stations:
            compile_plan(history.present)
    last, taken = history.present, len(history.past)
    for _ in range(taken):
        history = history.undone()
    assert history.present == made
    for _ in range(taken):
        history = history.redone()
    assert history.present == last


def test_a_step_that_changes_nothing_is_none_and_a_new_one_ends_redo():
    history = EditHistory(three())
    assert history.after("nothing", three()) is history
    named = history.after("a name", replace(three(), name="B"))
    assert named.past[0].words == "a name"
    other = named.undone().after("loops", edit.loops_set(three(), 3))
    with pytest.raises(RefusedError, match="nothing to do again"):
        other.redone()
    with pytest.raises(RefusedError, match="nothing to undo"):
        history.undone()


def test_an_empty_circuit_has_a_name():
    assert edit.empty_circuit(" Yard ").name == "Yard"
    with pytest.raises(RefusedError):
        edit.empty_circuit("")
