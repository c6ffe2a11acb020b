"""What can be seen of a session: facts that agree with the engine and the plan."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from tests.engine.record import Run, state
from tests.support.plans import (
    FEW,
    LEFT_RIGHT,
    every_place,
    plan,
    session_plans,
    station,
)

from whistlestop.domain.circuit.circuit import LoopChange
from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.engine.commands import Do, EnterEffort, Gap
from whistlestop.engine.engine import Engine
from whistlestop.engine.states import Mode
from whistlestop.engine.view import view


def seen(ms, made=None):
    run = Run(made or every_place())
    run.wait(ms)
    return view(run.engine.for_athlete())


@FEW
@given(session_plans(), st.integers(0, 400_000), st.integers(0, 60_000))
def test_looking_ahead_is_what_is_seen_then_and_moves_nothing(made, at_ms, ahead_ms):
    engine = Engine(made)
    engine.start()
    engine.advance(at_ms)
    before = state(engine)
    ahead = view(engine.at(engine.t_ms + ahead_ms).for_athlete())
    assert state(engine) == before
    engine.advance(engine.t_ms + ahead_ms)
    assert view(engine.for_athlete()) == ahead


@FEW
@given(session_plans(), st.integers(0, 400_000))
def test_what_is_done_and_what_is_left_are_the_whole_plan(made, at_ms):
    engine = Engine(made)
    engine.start()
    engine.advance(at_ms)
    now = view(engine.for_athlete())
    assert now.plan_left_ms + engine.active_ms == made.total_ms
    assert 0 <= now.left_ms <= now.length_ms
    assert 0 <= now.plan_done_permille <= 1000
    if engine.mode is Mode.ENDED:
        assert (now.plan_left_ms, now.plan_done_permille) == (0, 1000)


def test_work_shows_station_part_load_and_what_comes():
    now = seen(60_000 + 15_000)
    assert (now.kind, now.loop, now.station) == ("work", 1, 1)
    assert (now.left_ms, now.length_ms) == (25_000, 40_000)
    assert now.load == "2 x 8 kg"
    assert now.card.name == "Exercise 1"
    assert (now.coming.card.number, now.coming.loop, now.coming.part) == (2, 1, "left")
    assert now.parts == ()


def test_a_changeover_names_the_part_that_comes():
    now = seen(142_000)
    assert (now.kind, now.part, now.parts) == ("changeover", "right", LEFT_RIGHT)
    assert now.coming.card.number == 3


def test_done_grows_by_loop_and_starts_anew():
    assert seen(75_000).done == frozenset()
    assert seen(105_000).done == {1}
    assert seen(150_000).done == {1}
    assert seen(170_000).done == {1, 2}


def test_a_gate_shows_no_time_and_its_own_station_as_coming():
    now = seen(200_000)
    assert now.at_gate
    assert (now.left_ms, now.length_ms) == (0, 0)
    assert now.coming.card.number == 3


def test_a_load_that_differs_from_the_loop_before_is_marked():
    made = plan(
        station(1, load=parse_load("8 kg")),
        station(2, load=parse_load("12 kg")),
        loops=2,
        loop_changes={2: LoopChange(load=parse_load("12 kg"))},
    )
    in_loop_1 = seen(15_000, made)
    assert (in_loop_1.coming.load, in_loop_1.coming.load_changes) == ("12 kg", False)
    last_recover = seen(10_000 + 100_000 + 5_000, made)
    assert (last_recover.coming.load, last_recover.coming.load_changes) == (
        "12 kg",
        True,
    )
    in_loop_2 = seen(10_000 + 120_000 + 5_000, made)
    assert in_loop_2.coming.load_changes is False


def test_pause_count_in_gap_and_effort_are_seen():
    run = Run(plan(station(1), loops=2))
    run.wait(55_000)
    assert view(run.engine.for_athlete()).effort_loop == 1
    run.do(EnterEffort(1, Effort(13)))
    assert view(run.engine.for_athlete()).effort == Effort(13)
    run.do(Gap(9_000))
    assert view(run.engine.for_athlete()).after_gap
    run.do(Do.RESUME)
    run.wait(1_500)
    now = view(run.engine.for_athlete())
    assert (now.mode, now.count_left_ms, now.paused_ms) == (Mode.COUNT_IN, 3_500, 1_500)
    assert now.left_ms == 15_000
