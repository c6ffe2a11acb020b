"""What is typed in: when it is taken, and which loop or station it belongs to."""

from __future__ import annotations

import pytest
from tests.engine.invariants import violations
from tests.engine.record import Run, state
from tests.support.plans import LEFT_RIGHT, plan, station

from whistlestop.domain.effort import Effort
from whistlestop.engine.commands import (
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterVariant,
)
from whistlestop.engine.engine import Engine
from whistlestop.engine.totals import totals
from whistlestop.errors import CommandRejected

SIX, SEVEN = Effort(12), Effort(14)


def three_loops():
    """Loops of 40 + 20 + 40 s with breaks of 60 s; work begins at 10 s."""
    return Run(plan(station(1), station(2), loops=3, loop_break_ms=60_000))


IN_BREAK_1 = 10_000 + 100_000 + 10_000
IN_BREAK_2 = IN_BREAK_1 + 160_000
END = 10_000 + 3 * 100_000 + 2 * 60_000


def debounced(run, loop):
    return run.do(EnterEffort(loop, SIX))


def test_no_effort_is_taken_before_a_loop_has_ended():
    run = three_loops()
    run.wait(10_000 + 100_000 - 1)
    assert not debounced(run, 1)
    run.wait(1)
    assert debounced(run, 1)


def test_only_the_loop_that_ended_last_is_rated_while_the_session_runs():
    run = three_loops()
    run.until(IN_BREAK_1)
    assert [debounced(run, loop) for loop in (1, 2, 3)] == [True, False, False]
    run.until(IN_BREAK_1 + 60_000)
    assert run.engine.segment.loop == 2
    assert [debounced(run, loop) for loop in (1, 2, 3)] == [True, False, False]
    run.until(IN_BREAK_2)
    assert [debounced(run, loop) for loop in (1, 2, 3)] == [False, True, False]


def test_earlier_loops_are_rated_after_the_end():
    run = three_loops()
    run.until(END + 1)
    assert run.engine.ending == "complete"
    assert [debounced(run, loop) for loop in (1, 2, 3, 4)] == [True, True, True, False]
    assert violations(run) == []


def test_the_last_word_on_an_effort_stands_and_every_word_is_kept():
    run = three_loops()
    run.until(IN_BREAK_1)
    run.do(EnterEffort(1, SIX))
    run.do(EnterEffort(1, SEVEN))
    assert totals(entries=run.engine.entries).efforts == {1: SEVEN}
    run.do(EnterEffort(1, None))
    assert totals(entries=run.engine.entries).efforts == {1: None}
    assert [t.entry.effort for t in run.engine.entries] == [SIX, SEVEN, None]


def test_a_dropped_loop_with_work_is_asked_and_marked_partial():
    run = three_loops()
    run.wait(20_000)
    run.do(Do.DROP_LOOP)
    assert run.engine.loops_ended[-1].partial
    assert debounced(run, 1)


def test_a_dropped_loop_without_work_is_not_asked():
    run = three_loops()
    run.until(IN_BREAK_1)
    run.do(Do.DROP_LOOP)
    assert [debounced(run, loop) for loop in (1, 2)] == [True, False]
    run.until(END + 1)
    assert [debounced(run, loop) for loop in (1, 2, 3)] == [True, False, True]


def test_a_loop_cut_short_by_a_stop_is_rated_at_close_out():
    run = three_loops()
    run.wait(20_000)
    run.do(Do.STOP)
    assert [debounced(run, loop) for loop in (1, 2)] == [True, False]


def test_the_effort_of_the_session_is_taken_at_its_end_and_not_before():
    run = three_loops()
    run.until(IN_BREAK_1)
    assert not run.do(EnterSessionEffort(SIX))
    run.until(END)
    assert run.do(EnterSessionEffort(SIX))
    assert run.do(EnterSessionEffort(None))


def belongs(run):
    taken = run.engine.entries[-1]
    return taken.loop, taken.station


def sided():
    """0 get ready 10, 1 left 20, 2 right 20, 3 recover 20, 4 work 40, 5 recover."""
    return Run(plan(station(1, parts=LEFT_RIGHT), station(2), loops=2))


def test_a_count_belongs_to_the_station_just_done():
    run = sided()
    run.wait(5_000)
    assert not run.do(EnterCount(8))
    run.wait(10_000)  # 5 s into the left part
    assert not run.do(EnterCount(8))
    run.wait(20_000)  # in the right part: the station is not done yet
    assert not run.do(EnterCount(8))
    run.wait(20_000)  # in its recover
    assert run.do(EnterCount(8))
    assert belongs(run) == (1, 1)
    run.wait(20_000)  # 5 s into station 2: still the one just done
    assert run.do(EnterCount(9))
    assert belongs(run) == (1, 1)
    run.wait(40_000)
    assert run.do(EnterCount(10))
    assert belongs(run) == (1, 2)


def test_a_load_and_a_variant_belong_to_the_present_station_or_the_one_just_done():
    run = sided()
    run.wait(5_000)
    assert not run.do(EnterLoad("8 kg"))
    assert not run.do(EnterVariant("easier"))
    run.wait(10_000)
    assert run.do(EnterLoad("8 kg"))
    assert belongs(run) == (1, 1)
    run.wait(40_000)  # in its recover
    assert run.do(EnterVariant("harder"))
    assert belongs(run) == (1, 1)
    run.wait(20_000)
    assert run.do(EnterVariant("easier"))
    assert belongs(run) == (1, 2)


def test_after_the_end_they_belong_to_the_last_station_done():
    run = sided()
    run.wait(2_000_000)
    for entry in (EnterCount(3), EnterLoad("8 kg"), EnterVariant("easier")):
        assert run.do(entry)
        assert belongs(run) == (2, 2)


def test_a_station_that_was_skipped_at_once_was_not_done():
    run = sided()
    run.wait(10_000)
    run.do(Do.SKIP)
    run.wait(1_000)
    assert not run.do(EnterCount(8))


def test_discomfort_belongs_to_the_station_it_is_felt_at():
    run = sided()
    run.wait(15_000)
    assert run.do(EnterDiscomfort("knee", "left", 3))
    assert belongs(run) == (1, 1)
    run.wait(40_000)
    assert run.do(EnterDiscomfort("knee", "left", 3))
    assert belongs(run) == (None, None)


@pytest.mark.parametrize(
    "entry",
    [
        EnterNote("\x1b[2J"),
        EnterNote("a" * 401),
        EnterDiscomfort("kn\u202eee", "left", 2),
        EnterDiscomfort("knee", "left\n", 2),
        EnterDiscomfort("k" * 41, "left", 2),
        EnterLoad("8 kg\x07"),
        EnterVariant("sideways"),
    ],
)
def test_what_may_not_be_kept_is_refused_and_changes_nothing(entry):
    run = sided()
    run.wait(15_000)
    before = state(run.engine)
    assert not run.do(entry)
    assert state(run.engine) == before
    assert run.inputs == []


def test_a_note_is_taken_at_any_time_once_the_session_has_begun():
    run = sided()
    assert run.do(EnterNote("a" * 400))
    run.wait(2_000_000)
    assert run.do(EnterNote(""))
    with pytest.raises(CommandRejected):
        Engine(plan()).handle(EnterNote("too early"), 0)


def test_entries_move_nothing():
    run = sided()
    run.wait(15_000)
    before = state(run.engine)
    run.do(EnterNote("steady"))
    changed = {k for k, v in state(run.engine).items() if v != before[k]}
    assert changed == {"entries"}


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: EnterDiscomfort("knee", "left", 11), "0 to 10"),
        (lambda: EnterDiscomfort("knee", "left", -1), "0 to 10"),
        (lambda: EnterCount(-1), "0 to 9999"),
        (lambda: EnterCount(10_000), "0 to 9999"),
    ],
)
def test_a_number_out_of_range_is_no_entry_at_all(make, message):
    with pytest.raises(ValueError, match=message):
        make()
