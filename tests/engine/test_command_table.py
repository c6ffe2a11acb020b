"""Every command in every place and mode, cell by cell.

What a cell should do is written here by hand, not read from the code; only the
set of cells is compared with the code. The plan is `every_place()`, whose
segments are, in order:

 0 warm-up  1 warm-up  2 get ready
 3 work 1  4 recover  5 left 21 s  6 changeover 3 s  7 right 21 s  8 recover
 9 hold  10 work 3  11 recover  12 break until a key
13 work 1  14 recover  15 right  16 changeover  17 left  18 recover
19 hold  20 work 3  21 recover  22 cool-down
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import pytest
from tests.engine.invariants import violations
from tests.engine.record import Run, state
from tests.support.plans import every_place, plan, station

from whistlestop.engine.commands import Do, Gap
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Ending, Why
from whistlestop.engine.states import ACTS, MODES, Mode, SegmentPlace
from whistlestop.errors import CommandRejected

WORK, CHANGEOVER, REST = SegmentPlace.WORK, SegmentPlace.CHANGEOVER, SegmentPlace.REST
HOLD, BREAK_GATE = SegmentPlace.HOLD, SegmentPlace.BREAK_GATE


@dataclass(frozen=True)
class Cell:
    """What is to happen: a row and where it leads, or a change that stays."""

    why: Why | None = None
    to: int | None = None
    dropped: frozenset[int] = frozenset()
    lengths_ms: dict[int, int] = field(default_factory=dict)
    cut_ms: int | None = None
    mode: Mode | None = None
    ending: Ending | None = None


# Where each place is tried: the segment, and how long it has run.
STANDS = {WORK: (5, 5_000), CHANGEOVER: (6, 1_000), REST: (4, 5_000),
          HOLD: (9, 0), BREAK_GATE: (12, 0)}  # fmt: skip

LOOP_1_AFTER_STATION_1 = frozenset({5, 6, 7, 8})

CELLS = {
    # next: to the next segment; in a rest to the next work after a count that
    # belongs to the rest; a gate opens after its count-in.
    (Do.NEXT, WORK): Cell(Why.LEFT, 6),
    (Do.NEXT, CHANGEOVER): Cell(Why.LEFT, 7),
    (Do.NEXT, REST): Cell(cut_ms=8_000),
    (Do.NEXT, HOLD): Cell(mode=Mode.COUNT_IN),
    (Do.NEXT, BREAK_GATE): Cell(mode=Mode.COUNT_IN),
    # skip: to the recover after this station; in a rest the coming one is dropped.
    (Do.SKIP, WORK): Cell(Why.SKIPPED, 8),
    (Do.SKIP, CHANGEOVER): Cell(Why.SKIPPED, 8),
    (Do.SKIP, REST): Cell(dropped=LOOP_1_AFTER_STATION_1),
    (Do.SKIP, HOLD): Cell(Why.SKIPPED, 11),
    (Do.SKIP, BREAK_GATE): Cell(dropped=frozenset({13, 14})),
    # back: later than 3 s this one anew; the part before; the last work anew.
    (Do.BACK, WORK): Cell(Why.RESTARTED, 5),
    (Do.BACK, CHANGEOVER): Cell(Why.LEFT, 5),
    (Do.BACK, REST): Cell(Why.LEFT, 3),
    (Do.BACK, HOLD): Cell(Why.LEFT, 7),
    (Do.BACK, BREAK_GATE): Cell(Why.LEFT, 10),
    # restart: this segment, or in a changeover the station from its first part.
    (Do.RESTART, WORK): Cell(Why.RESTARTED, 5),
    (Do.RESTART, CHANGEOVER): Cell(Why.RESTARTED, 5),
    (Do.RESTART, REST): Cell(Why.RESTARTED, 4),
    # longer, shorter: every part of a station, or this rest only.
    (Do.LONGER, WORK): Cell(lengths_ms={5: 31_000, 7: 31_000}),
    (Do.LONGER, REST): Cell(lengths_ms={4: 30_000}),
    (Do.SHORTER, WORK): Cell(lengths_ms={5: 11_000, 7: 11_000}),
    (Do.SHORTER, REST): Cell(lengths_ms={4: 10_000}),
    # drop loop: to its break; in the break the loop that comes.
    (Do.DROP_LOOP, WORK): Cell(Why.DROPPED, 12, frozenset({6, 7, 8, 9, 10, 11})),
    (Do.DROP_LOOP, CHANGEOVER): Cell(Why.DROPPED, 12, frozenset({7, 8, 9, 10, 11})),
    (Do.DROP_LOOP, REST): Cell(Why.DROPPED, 12, frozenset(range(5, 12))),
    (Do.DROP_LOOP, HOLD): Cell(Why.DROPPED, 12, frozenset({10, 11})),
    (Do.DROP_LOOP, BREAK_GATE): Cell(Why.LEFT, 22, frozenset(range(13, 22))),
    **{(Do.UNDO, place): Cell() for place in SegmentPlace},
    **{(Do.PAUSE, place): Cell(mode=Mode.PAUSED) for place in (WORK, CHANGEOVER, REST)},
    **{
        (Do.RESUME, place): Cell(mode=Mode.COUNT_IN)
        for place in (WORK, CHANGEOVER, REST)
    },
    (Do.RESUME, HOLD): Cell(mode=Mode.RUNNING),
    (Do.RESUME, BREAK_GATE): Cell(mode=Mode.RUNNING),
    **{
        (Do.STOP, place): Cell(Why.STOPPED, mode=Mode.ENDED, ending=Ending.STOPPED)
        for place in SegmentPlace
    },
    **{
        (Do.HEALTH, place): Cell(Why.HEALTH, mode=Mode.ENDED, ending=Ending.HEALTH)
        for place in SegmentPlace
    },
    **{(Do.REOPEN, place): Cell(mode=Mode.PAUSED) for place in SegmentPlace},
}

ALIVE = {Mode.RUNNING, Mode.PAUSED, Mode.COUNT_IN}
TAKEN_IN = {
    Do.PAUSE: {Mode.RUNNING, Mode.COUNT_IN},
    Do.RESUME: {Mode.PAUSED},
    Do.STOP: ALIVE,
    Do.HEALTH: ALIVE,
    Do.REOPEN: {Mode.ENDED},
}
MOVABLE = {Mode.RUNNING, Mode.PAUSED}

# A changeover and a break cannot come first, so no session is READY there.
UNREACHABLE = {(CHANGEOVER, Mode.READY), (BREAK_GATE, Mode.READY)}


def taken(do, place, mode):
    return (do, place) in CELLS and mode in TAKEN_IN.get(do, MOVABLE)


ALL = [
    (do, place, mode)
    for do, place, mode in itertools.product(Do, SegmentPlace, Mode)
    if (place, mode) not in UNREACHABLE
]
LEGAL = [triple for triple in ALL if taken(*triple)]
ILLEGAL = [triple for triple in ALL if not taken(*triple)]


def ids(triple):
    return "-".join(str(getattr(value, "name", value)).lower() for value in triple)


def stand(place, mode):
    """A session that stands at a place in a mode."""
    run = Run(every_place())
    if place is REST:
        run.wait(105_000)
    elif place is WORK:
        run.wait(125_000)
    elif place is CHANGEOVER:
        run.wait(142_000)
    else:
        run.wait(187_000)
        if place is BREAK_GATE:
            run.do(Do.NEXT)
            run.wait(3_000 + 40_000 + 20_000 + 2_000)
    gate = place in (HOLD, BREAK_GATE)
    if mode is Mode.PAUSED:
        run.do(Gap(1) if gate else Do.PAUSE)
    elif mode is Mode.COUNT_IN:
        if not gate:
            run.do(Do.PAUSE)
        run.do(Do.NEXT if gate else Do.RESUME)
        run.wait(1_000)
    elif mode is Mode.ENDED:
        run.do(Do.HEALTH)
    engine = run.engine
    assert (engine.place, engine.mode) == (place, mode)
    assert (engine.index, engine.offset_ms) == STANDS[place]
    return run


def ready_at(place):
    """A session that has not begun and stands before such a segment."""
    first = {
        REST: plan(),
        WORK: plan(get_ready_ms=0),
        HOLD: plan(station(hold=True), get_ready_ms=0),
    }
    engine = Engine(first[place])
    assert (engine.place, engine.mode) == (place, Mode.READY)
    return engine


def test_the_code_takes_exactly_the_cells_of_the_contract():
    assert {(do, place) for do in Do for place in ACTS[do]} == set(CELLS)
    assert {do: set(modes) for do, modes in MODES.items()} == {
        do: TAKEN_IN.get(do, MOVABLE) for do in Do
    }


def test_every_command_place_and_mode_is_tried():
    assert len(LEGAL) + len(ILLEGAL) == len(Do) * 25 - len(Do) * len(UNREACHABLE)
    # By hand: 27 moving cells and 5 undos in two modes, 3 pauses in two,
    # 5 resumes in one, 2 x 5 ends in three, 5 reopens in one.
    assert len(LEGAL) == (27 + 5) * 2 + 3 * 2 + 5 * 1 + 10 * 3 + 5 * 1


@pytest.mark.parametrize(
    "triple", [t for t in LEGAL if t[0] not in (Do.UNDO, Do.REOPEN)], ids=ids
)
def test_a_legal_command_does_what_the_contract_says(triple):
    do, place, mode = triple
    cell = CELLS[do, place]
    run = stand(place, mode)
    index, before = run.engine.index, state(run.engine)
    rows, visit = run.engine.rows, run.engine.visit
    track = run.engine.track
    assert run.do(do)
    engine = run.engine
    assert run.inputs[-1] == (before["t_ms"], do)
    assert engine.index == (index if cell.to is None else cell.to)
    assert engine.track.dropped == track.dropped | cell.dropped
    assert engine.track.lengths_ms == track.lengths_ms | cell.lengths_ms
    assert engine.cut_ms == cell.cut_ms
    assert engine.mode is (cell.mode or mode)
    assert engine.ending is cell.ending
    if cell.why is None:
        assert (engine.rows, engine.visit) == (rows, visit)
        assert engine.offset_ms == STANDS[place][1]
    else:
        (row,) = engine.rows[len(rows) :]
        assert row.why is cell.why
        assert row.segment == index
        assert row.ms == STANDS[place][1]
        assert row.t_ms == before["t_ms"]
        entered = engine.mode is not Mode.ENDED
        assert engine.visit == visit + entered
        assert engine.offset_ms == (0 if entered else STANDS[place][1])
    assert violations(run) == []


@pytest.mark.parametrize("triple", [t for t in LEGAL if t[0] is Do.REOPEN], ids=ids)
def test_a_session_stopped_for_health_goes_on_paused_where_it_was(triple):
    _, place, mode = triple
    run = stand(place, mode)
    rows = run.engine.rows
    run.wait(60_000)
    assert run.do(Do.REOPEN)
    engine = run.engine
    assert (engine.mode, engine.index) == (Mode.PAUSED, STANDS[place][0])
    assert engine.offset_ms == 0
    assert engine.rows == rows
    assert rows[-1].why is Why.HEALTH
    assert engine.ending is None
    assert violations(run) == []


def resting_dropped(place, mode):
    """A session that has dropped a station a moment ago and stands at a place."""
    if place is BREAK_GATE:
        run = stand(BREAK_GATE, Mode.RUNNING)
        run.do(Do.SKIP)
        run.do(Gap(1)) if mode is Mode.PAUSED else None
        return run, frozenset({13, 14})
    if place is HOLD:
        made = plan(station(1), station(2), station(3, hold=True))
        run = Run(made)
        run.wait(55_000)
        run.do(Do.SKIP)
        run.do(Do.NEXT)
        run.do(Gap(1)) if mode is Mode.PAUSED else None
        return run, frozenset({3, 4})
    # In the recover after station 2 the coming one is station 3 behind its hold.
    run = Run(every_place())
    run.wait(170_000)
    run.do(Do.SKIP)
    steps = {REST: [], WORK: [Do.BACK], CHANGEOVER: [Do.BACK, Do.BACK, Do.NEXT]}
    for do in steps[place]:
        assert run.do(do)
    run.do(Do.PAUSE) if mode is Mode.PAUSED else None
    return run, frozenset({9, 10, 11})


@pytest.mark.parametrize("triple", [t for t in LEGAL if t[0] is Do.UNDO], ids=ids)
def test_undo_brings_the_dropped_station_back_while_it_lies_ahead(triple):
    _, place, mode = triple
    run, dropped = resting_dropped(place, mode)
    assert (run.engine.place, run.engine.mode) == (place, mode)
    assert run.engine.track.dropped == dropped
    rows, index = run.engine.rows, run.engine.index
    if place is HOLD:
        # The hold is that of the station after: the dropped one lies behind.
        assert not run.do(Do.UNDO)
        assert run.engine.track.dropped == dropped
        return
    assert run.do(Do.UNDO)
    assert run.engine.track.dropped == frozenset()
    assert (run.engine.rows, run.engine.index) == (rows, index)
    assert not run.do(Do.UNDO)
    assert violations(run) == []


@pytest.mark.parametrize("triple", ILLEGAL, ids=ids)
def test_an_illegal_command_is_refused_and_changes_nothing(triple):
    do, place, mode = triple
    if mode is Mode.READY:
        engine, inputs, now_ms = ready_at(place), [], 0
    else:
        run = stand(place, mode)
        engine, inputs, now_ms = run.engine, list(run.inputs), run.now_ms
    before = state(engine)
    with pytest.raises(CommandRejected) as caught:
        engine.handle(do, now_ms)
    assert caught.value.message
    assert state(engine) == before
    assert engine.advance(now_ms) == []
    if mode is not Mode.READY:
        assert not run.do(do)
        assert run.inputs == inputs
        assert state(engine) == before


@pytest.mark.parametrize("place", list(SegmentPlace))
def test_undo_without_a_drop_is_refused_everywhere(place):
    for mode in (Mode.RUNNING, Mode.PAUSED):
        run = stand(place, mode)
        before = state(run.engine)
        assert not run.do(Do.UNDO)
        assert state(run.engine) == before


@pytest.mark.parametrize("do", [Do.STOP, None])
def test_only_a_stop_for_health_can_be_reopened(do):
    run = Run(plan())
    run.wait(10_000)
    if do:
        run.do(do)
    run.wait(200_000)
    assert run.engine.mode is Mode.ENDED
    before = state(run.engine)
    assert not run.do(Do.REOPEN)
    assert state(run.engine) == before


def test_what_came_due_before_a_refusal_is_told_by_the_next_advance():
    engine = Engine(plan())
    engine.start()
    with pytest.raises(CommandRejected):
        engine.handle(Do.RESUME, 10_000)
    other = Engine(plan())
    events = other.start() + other.advance(10_000)
    assert engine.advance(10_000) == events[1:]
    assert state(engine) == state(other)
