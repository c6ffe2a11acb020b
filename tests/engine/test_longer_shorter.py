"""Ten seconds more or less: what changes, what refuses, what the row keeps."""

from __future__ import annotations

import pytest
from tests.engine.invariants import violations
from tests.engine.record import Run
from tests.support.plans import LEFT_RIGHT, THREE_PARTS, plan, station

from whistlestop.domain.plan.cues import CueName
from whistlestop.engine.commands import Do
from whistlestop.engine.events import CueDue


def sided(parts=LEFT_RIGHT):
    """0 get ready 10 s, then 40 s for each part with 3 s between, recover 20 s."""
    work_ms = 40_000 * len(parts) + 3_000 * (len(parts) - 1)
    one = station(1, parts=parts, changeover_ms=3_000, work_ms=work_ms)
    return Run(plan(one, station(2), loops=2))


def work_rows(run):
    return [
        (r.part, r.ms, r.plan_ms, r.set_ms, r.why.value)
        for r in run.engine.rows
        if r.kind == "work"
    ]


@pytest.mark.parametrize(("do", "set_ms"), [(Do.LONGER, 50_000), (Do.SHORTER, 30_000)])
def test_every_part_of_the_station_changes_and_both_lengths_are_kept(do, set_ms):
    run = sided(THREE_PARTS)
    run.wait(15_000)
    assert run.do(do)
    run.wait(3 * set_ms + 6_000)
    assert work_rows(run) == [
        (part, set_ms, 40_000, set_ms, "full") for part in THREE_PARTS
    ]
    assert violations(run) == []


def test_the_same_station_in_the_next_loop_keeps_its_length():
    run = sided()
    run.wait(15_000)
    assert run.do(Do.LONGER)
    assert run.engine.track.lengths_ms == {1: 50_000, 3: 50_000}
    second = [
        i for i, s in enumerate(run.plan.segments) if s.loop == 2 and s.kind == "work"
    ]
    assert all(run.engine.track.length_ms(i) == 40_000 for i in second)


@pytest.mark.parametrize("do", [Do.LONGER, Do.SHORTER])
def test_it_is_refused_in_the_changeover_and_after_the_first_switch(do):
    run = sided()
    run.wait(10_000 + 40_000 + 1_000)
    assert run.engine.segment.kind == "changeover"
    assert not run.do(do)
    run.wait(3_000)
    assert run.engine.segment.part == "right"
    assert not run.do(do)
    assert run.engine.track.lengths_ms == {}


def test_a_rest_changes_alone():
    run = Run(plan(station(1), station(2)))
    run.wait(55_000)
    assert run.do(Do.LONGER)
    assert run.do(Do.LONGER)
    assert run.engine.track.lengths_ms == {2: 40_000}
    run.wait(35_000)
    row = run.engine.rows[-1]
    assert (row.ms, row.plan_ms, row.set_ms) == (40_000, 20_000, 40_000)
    assert violations(run) == []


def test_longer_moves_the_ten_and_the_end():
    run = Run(plan(station(1)))
    run.wait(15_000)
    assert run.do(Do.LONGER)
    run.wait(200_000)
    cues = [(e.t_ms, e.cue) for e in run.events if isinstance(e, CueDue)]
    assert (50_000, CueName.TEN) in cues
    assert (40_000, CueName.TEN) not in cues
    assert (60_000, CueName.LOOP_END) in cues


def test_a_shorter_rest_keeps_its_whole_count():
    run = Run(plan(station(1), station(2)))
    run.wait(50_000 + 7_000)
    assert run.do(Do.SHORTER)
    run.wait(3_000)
    counts = [
        e.t_ms for e in run.events if isinstance(e, CueDue) and e.cue is CueName.COUNT
    ]
    assert counts[-3:] == [57_000, 58_000, 59_000]
    assert run.engine.rows[-1].ms == 10_000
    assert violations(run) == []


def test_a_rest_with_less_than_its_count_left_over_is_not_shortened():
    run = Run(plan(station(1), station(2)))
    run.wait(50_000 + 7_001)
    assert not run.do(Do.SHORTER)


@pytest.mark.parametrize(("offset_ms", "taken"), [(29_000, True), (29_001, False)])
def test_work_is_shortened_while_a_second_of_it_remains(offset_ms, taken):
    run = Run(plan(station(1), station(2)))
    run.wait(10_000 + offset_ms)
    assert run.do(Do.SHORTER) is taken


@pytest.mark.parametrize(("work_ms", "taken"), [(30_000, True), (29_998, False)])
def test_no_part_is_shortened_under_five_seconds(work_ms, taken):
    run = Run(plan(station(1, parts=LEFT_RIGHT, work_ms=work_ms)))
    run.wait(11_000)
    assert run.do(Do.SHORTER) is taken


def test_no_part_is_made_longer_than_ten_minutes():
    run = Run(plan(station(1, work_ms=590_000)))
    run.wait(11_000)
    assert run.do(Do.LONGER)
    assert not run.do(Do.LONGER)
    assert run.engine.track.lengths_ms == {1: 600_000}


def test_a_rest_that_counts_already_changes_no_more():
    run = Run(plan(station(1), station(2)))
    run.wait(55_000)
    assert run.do(Do.NEXT)
    assert not run.do(Do.LONGER)
    assert not run.do(Do.SHORTER)


def test_a_restarted_station_keeps_its_changed_length():
    run = sided()
    run.wait(15_000)
    run.do(Do.LONGER)
    run.do(Do.RESTART)
    run.wait(50_000)
    assert work_rows(run) == [
        ("left", 5_000, 40_000, 50_000, "restarted"),
        ("left", 50_000, 40_000, 50_000, "full"),
    ]
