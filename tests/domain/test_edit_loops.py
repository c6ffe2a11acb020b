"""What differs in single loops: set, cleared, left out; the file says the same."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import FEW, MODERATE, circuit, circuits, station

from whistlestop.domain.circuit import edit_items, edit_loops
from whistlestop.domain.circuit.circuit import (
    Circuit,
    LoopChange,
    StationInLoop,
    TimedItem,
)
from whistlestop.domain.circuit.edit import EditHistory, settled
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import RefusedError
from whistlestop.store.circuits.file import parse_circuit
from whistlestop.store.circuits.writer import circuit_text


def two() -> Circuit:
    """Two stations, the first with a load; three loops."""
    first = station(1, load=parse_load("12 kg"))
    return circuit(first, station(2), loops=3)


@pytest.mark.parametrize(
    ("step", "change"),
    [
        (
            lambda c: edit_loops.loop_set(c, 3, "work_ms", 30_000),
            LoopChange(work_ms=30_000),
        ),
        (
            lambda c: edit_loops.loop_set(c, 3, "recover_ms", 0),
            LoopChange(recover_ms=0),
        ),
        (
            lambda c: edit_loops.loop_set(c, 3, "load", parse_load("16 kg")),
            LoopChange(load=parse_load("16 kg")),
        ),
        (
            lambda c: edit_loops.in_loop_set(c, 3, 2, "work_ms", 50_000),
            LoopChange(stations={2: StationInLoop(work_ms=50_000)}),
        ),
        (
            lambda c: edit_loops.in_loop_set(c, 3, 2, "recover_ms", 30_000),
            LoopChange(stations={2: StationInLoop(recover_ms=30_000)}),
        ),
        (
            lambda c: edit_loops.in_loop_set(c, 3, 1, "load", parse_load("8 kg")),
            LoopChange(stations={1: StationInLoop(load=parse_load("8 kg"))}),
        ),
        (
            lambda c: edit_loops.in_loop_skipped(c, 3, 2, skip=True),
            LoopChange(stations={2: StationInLoop(skip=True)}),
        ),
    ],
)
def test_a_step_changes_one_thing_in_one_loop_and_clearing_takes_it_back(step, change):
    changed = step(two())
    assert changed.loop_changes == {3: change}
    assert edit_loops.loop_cleared(changed, 3) == two()
    for number in change.stations:
        assert edit_loops.in_loop_cleared(changed, 3, number) == two()


def test_what_says_nothing_is_let_go():
    made = edit_loops.in_loop_set(two(), 2, 1, "work_ms", 30_000)
    assert edit_loops.in_loop_set(made, 2, 1, "work_ms", None) == two()
    made = edit_loops.loop_set(two(), 2, "load", parse_load("8 kg"))
    assert edit_loops.loop_set(made, 2, "load", None) == two()
    out = edit_loops.in_loop_skipped(two(), 1, 2, skip=True)
    assert edit_loops.in_loop_skipped(out, 1, 2, skip=False) == two()


@pytest.mark.parametrize(
    ("step", "says"),
    [
        (lambda c: edit_loops.loop_set(c, 4, "work_ms", 30_000), "there is no loop 4"),
        (lambda c: edit_loops.loop_set(c, 1, "work_ms", 4_000), "5 s to 10 min"),
        (
            lambda c: edit_loops.loop_set(c, 1, "recover_ms", 1_500),
            "not a whole number",
        ),
        (lambda c: edit_loops.in_loop_set(c, 1, 3, "work_ms", 30_000), "no station 3"),
        (
            lambda c: edit_loops.in_loop_set(c, 1, 2, "load", parse_load("8 kg")),
            "the station has no load yet",
        ),
        (
            lambda c: edit_loops.in_loop_skipped(
                edit_loops.in_loop_skipped(c, 1, 1, skip=True), 1, 2, skip=True
            ),
            "loop 1",
        ),
        (
            lambda c: edit_loops.loop_set(
                circuit(loops=2), 1, "load", parse_load("8 kg")
            ),
            "no station has a load",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_text(step, says):
    with pytest.raises(RefusedError, match=says):
        step(two())


# Items


def test_items_are_added_moved_changed_and_taken_out():
    made = edit_items.item_added(two(), "warm-up", TimedItem(" Walk ", 60_000), 0)
    made = edit_items.item_added(made, "warm-up", TimedItem("Roll", 30_000), 1)
    made = edit_items.item_moved(made, "warm-up", 2, -1)
    made = edit_items.item_timed(made, "warm-up", 1, 45_000)
    made = edit_items.item_noted(made, "warm-up", 1, " slowly ")
    made = edit_items.item_renamed(made, "warm-up", 2, "March")
    assert made.warm_up == (
        TimedItem("Roll", 45_000, "slowly"),
        TimedItem("March", 60_000),
    )
    assert made.cool_down == ()
    assert edit_items.item_removed(made, "warm-up", 1).warm_up == (
        TimedItem("March", 60_000),
    )
    both = edit_items.item_added(made, "cool-down", TimedItem("Breathe", 90_000), 0)
    assert compile_plan(both).total_ms == compile_plan(two()).total_ms + 195_000


@pytest.mark.parametrize(
    ("item", "says"),
    [
        (TimedItem(" ", 60_000), "at least one letter"),
        (TimedItem("x" * 81, 60_000), "at most 80"),
        (TimedItem("a\x1bb", 60_000), "character"),
        (TimedItem("Walk", 0), "1 s to 30 min"),
        (TimedItem("Walk", 1_800_001), "1 s to 30 min"),
        (TimedItem("Walk", 1_500), "not a whole number"),
        (TimedItem("Walk", 60_000, "n" * 401), "at most 400"),
    ],
)
def test_an_item_that_cannot_be_is_refused(item, says):
    with pytest.raises(RefusedError, match=says):
        edit_items.item_added(two(), "cool-down", item, 0)


def test_items_have_ends_and_a_most():
    full = edit_items.items_set(two(), "warm-up", [TimedItem("Walk", 1_000)] * 30)
    with pytest.raises(RefusedError, match="at most 30 items"):
        edit_items.item_added(full, "warm-up", TimedItem("Walk", 1_000), 0)
    with pytest.raises(RefusedError, match="first item already"):
        edit_items.item_moved(full, "warm-up", 1, -1)
    with pytest.raises(RefusedError, match="there is no item 31"):
        edit_items.item_removed(full, "warm-up", 31)


# Both: what is done can be done, taken back, and read back from a file


_MS = st.integers(3, 70).map(lambda s: s * 1_000)
_LOADS = st.sampled_from(["8 kg", "2 x 8 kg", "band: green"]).map(parse_load)
_LOOP, _AT = st.integers(1, 4), st.integers(1, 3)
_SIDE = st.sampled_from(["warm-up", "cool-down"])
_ITEM = st.builds(
    TimedItem, st.sampled_from(["Walk", "Rôle ☼", " "]), _MS, st.just("x")
)
STEPS = st.one_of(
    st.tuples(st.just(edit_loops.loop_set), _LOOP, st.just("work_ms"), st.none() | _MS),
    st.tuples(
        st.just(edit_loops.loop_set), _LOOP, st.just("recover_ms"), st.none() | _MS
    ),
    st.tuples(st.just(edit_loops.loop_set), _LOOP, st.just("load"), st.none() | _LOADS),
    st.tuples(
        st.just(edit_loops.in_loop_set), _LOOP, _AT, st.just("work_ms"), st.none() | _MS
    ),
    st.tuples(
        st.just(edit_loops.in_loop_set),
        _LOOP,
        _AT,
        st.just("recover_ms"),
        st.none() | _MS,
    ),
    st.tuples(
        st.just(edit_loops.in_loop_set), _LOOP, _AT, st.just("load"), st.none() | _LOADS
    ),
    st.tuples(st.just(edit_loops.in_loop_cleared), _LOOP, _AT),
    st.tuples(
        st.sampled_from(
            [
                lambda c, loop, n: edit_loops.in_loop_skipped(c, loop, n, skip=True),
                lambda c, loop, n: edit_loops.in_loop_skipped(c, loop, n, skip=False),
            ]
        ),
        _LOOP,
        _AT,
    ),
    st.tuples(st.just(edit_items.item_added), _SIDE, _ITEM, st.integers(0, 3)),
    st.tuples(st.just(edit_items.item_removed), _SIDE, _AT),
    st.tuples(st.just(edit_items.item_moved), _SIDE, _AT, st.sampled_from([-1, 1])),
    st.tuples(st.just(edit_items.item_timed), _SIDE, _AT, _MS),
    st.tuples(st.just(edit_items.item_renamed), _SIDE, _AT, st.text(max_size=5)),
    st.tuples(st.just(edit_items.item_noted), _SIDE, _AT, st.text(max_size=5)),
)


@MODERATE
@given(circuits(most_stations=3), st.lists(STEPS, max_size=20))
def test_any_steps_can_be_done_taken_back_and_read_back_from_a_file(made, wanted):
    history = EditHistory(made)
    for step, *about in wanted:
        try:
            history = history.after("a step", step(history.present, *about))
        except RefusedError:
            continue
        compile_plan(history.present)
    last = history.present
    again = parse_circuit(circuit_text(last), name="again", stem=last.id)
    assert again == settled(last)
    for _ in history.past:
        history = history.undone()
    assert history.present == made


@FEW
@given(circuits(most_stations=3), STEPS)
def test_a_step_in_one_loop_leaves_every_other_loop_as_it_was(made, wanted):
    step, *about = wanted
    if isinstance(about[0], str):
        return
    try:
        changed = step(made, *about)
    except RefusedError:
        return
    others = {n: c for n, c in made.loop_changes.items() if n != about[0]}
    assert {n: c for n, c in changed.loop_changes.items() if n != about[0]} == others
