"""Swaps: a station is done as something else from here on; the clock stays honest."""

from __future__ import annotations

import pytest
from tests.engine.invariants import violations
from tests.engine.record import Run, state
from tests.support.plans import plan, station
from tests.support.replay import replay

from whistlestop.engine.commands import (
    Do,
    EnterSkipReason,
    SwapExercise,
    from_fields,
    to_fields,
)
from whistlestop.engine.view import view

EASIER = SwapExercise(2, "wall-push-up", "Wall push-up", "WALL PUSH-UP", why="easier")


def two_loops() -> Run:
    """0 get ready 10; loop 1: work 40, recover 20, work 40; break 60; loop 2 alike."""
    return Run(plan(station(1), station(2), loops=2, loop_break_ms=60_000))


def test_the_coming_station_is_shown_and_done_as_the_swap_in_every_later_loop():
    run = two_loops()
    run.wait(55_000)
    assert run.do(EASIER)
    assert view(run.engine.for_athlete()).coming.card.call_name == "WALL PUSH-UP"
    before = run.engine.track.total_ms()
    run.wait(500_000)
    assert run.engine.track.total_ms() == before
    worked = [
        (r.loop, r.station, r.exercise, r.ms)
        for r in run.engine.rows
        if r.kind == "work"
    ]
    assert worked == [
        (1, 1, "exercise-1", 40_000),
        (1, 2, "wall-push-up", 40_000),
        (2, 1, "exercise-1", 40_000),
        (2, 2, "wall-push-up", 40_000),
    ]
    assert violations(run) == []


def test_what_was_done_before_a_swap_keeps_its_name():
    run = two_loops()
    run.wait(10_000 + 40_000 + 20_000 + 40_000 + 5_000)
    assert run.do(EASIER)
    run.wait(500_000)
    names = [r.exercise for r in run.engine.rows if r.station == 2 and r.kind == "work"]
    assert names == ["exercise-2", "wall-push-up"]


def test_a_swap_in_the_middle_of_the_work_keeps_the_clock():
    run = two_loops()
    run.wait(10_000 + 60_000 + 12_000)
    due = run.engine.next_due()
    assert run.do(EASIER)
    assert run.engine.next_due() == due
    assert view(run.engine.for_athlete()).card.name == "Wall push-up"


def test_a_swap_is_in_the_journal_whole_and_replays():
    run = two_loops()
    run.wait(30_000)
    swap = SwapExercise(
        2,
        "row",
        "Row",
        "ROW",
        load="2 x 8 kg",
        tempo="2-0-1-1",
        cautions=("Bk",),
        kit=("weight",),
        why="kit",
    )
    assert from_fields(to_fields(swap)) == swap
    assert run.do(swap)
    run.wait(400_000)
    again, _ = replay(run.engine.plan, run.inputs, until_ms=run.now_ms)
    assert state(again) == state(run.engine)


@pytest.mark.parametrize(
    "swap",
    [
        SwapExercise(9, "x", "X", "X"),
        SwapExercise(1, "x", "X", "x"),
        SwapExercise(1, "x", "X", ""),
        SwapExercise(1, "x", "X", "FIFTEEN LETTERS"),
        SwapExercise(1, "x", "a\x1bb", "X"),
        SwapExercise(1, "x", "X", "X", load="heavy"),
        SwapExercise(1, "x", "X", "X", tempo="slow"),
    ],
)
def test_a_swap_that_cannot_be_is_refused_and_changes_nothing(swap):
    run = two_loops()
    run.wait(30_000)
    before = state(run.engine)
    assert not run.do(swap)
    assert state(run.engine) == before


def test_a_station_that_does_not_come_any_more_cannot_be_swapped():
    run = Run(plan(station(1), station(2)))
    run.wait(10_000 + 40_000 + 5_000)
    assert not run.do(SwapExercise(1, "x", "X", "X"))
    run.wait(400_000)
    assert not run.do(EASIER)


def test_a_reason_belongs_to_the_station_skipped_last():
    run = two_loops()
    run.wait(30_000)
    assert not run.do(EnterSkipReason("sore"))
    run.do(Do.SKIP)
    assert run.do(EnterSkipReason("sore"))
    taken = run.engine.entries[-1]
    assert (taken.loop, taken.station) == (1, 1)
