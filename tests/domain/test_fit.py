"""'I have N minutes' against every combination on the grid, compiled one by one."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import FEW, MODERATE, circuit, circuits, station

from whistlestop.domain.circuit.circuit import (
    Circuit,
    LoopChange,
    StationInLoop,
    TimedItem,
    Today,
)
from whistlestop.domain.circuit.fit import (
    LEAST_WARM_UP_MS,
    PREFERENCES,
    fit,
    grid,
    scaled_items,
)
from whistlestop.domain.plan.parts import share_ms
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import PlanError

REGIONS = ("legs", "core", "arms")
MINUTE_MS = 60_000


def ten_stations(**changes: object) -> Circuit:
    """Ten stations, 40/20, three loops, 90 s between: 1920 s, and 10 s get ready."""
    return circuit(
        *(station(number) for number in range(1, 11)),
        loops=3,
        loop_break_ms=90_000,
        **changes,
    )


def in_turn(of: Circuit) -> dict[str, str]:
    """Regions legs, core, arms in turn."""
    return {s.exercise: REGIONS[n % 3] for n, s in enumerate(of.stations)}


# --- An independent brute force ----------------------------------------------------
# It knows the stated preferences in words and compiled plans, and nothing else.


def loads_of(plan) -> list[tuple[int, int, int, int]]:
    """Loop, station, work (with changeovers) and recovery in ms of each visit."""
    found: dict[tuple[int, int], list[int]] = {}
    for segment in plan.segments:
        if segment.kind in {SegmentKind.WORK, SegmentKind.CHANGEOVER}:
            found.setdefault(segment.place, [0, 0])[0] += segment.duration_ms
        elif segment.kind is SegmentKind.RECOVER:
            found.setdefault(segment.place, [0, 0])[1] += segment.duration_ms
    return [(*place, *values) for place, values in found.items()]


def spread(of: Circuit, regions: dict[str, str], dropped: frozenset[int]) -> int:
    all_of = [regions.get(s.exercise) for s in of.stations]
    left = [r for n, r in enumerate(all_of, 1) if n not in dropped]
    counts = [left.count(region) for region in REGIONS if region in all_of]
    return max(counts) - min(counts) if counts else 0


def settings_of(of: Circuit, today: Today) -> tuple[list[int], list[int]]:
    """Work and recovery of each visit that is left, as the circuit itself has them.

    Recoveries are read with the last one kept, so that none is out of sight.
    """
    plain = Today(loops=today.loops, without_stations=today.without_stations)
    visits = loads_of(compile_plan(replace(of, last_recover="keep"), plain))
    return [work for *_, work, _ in visits], [recover for *_, recover in visits]


def judged(
    of: Circuit, regions: dict[str, str], limit_ms: int, today: Today
) -> tuple[object, ...] | None:
    """The stated preferences as a tuple, smaller is better; None does not fit."""
    try:
        plan = compile_plan(of, today)
    except PlanError:
        return None
    if plan.total_ms > limit_ms:
        return None
    work, recover = settings_of(of, today)
    # Only what is shorter than the longest of what is left is a change at all.
    if (today.work_ms or 0) >= max(work) or (today.recover_ms or -1) >= max(recover):
        return None
    whole_work, _ = settings_of(of, Today())
    left = spread(of, regions, today.without_stations)
    before = spread(of, regions, frozenset())
    shortest = min(today.work_ms or ms for ms in work)
    loop_break = of.loop_break_ms or 0
    new_break = loop_break if today.loop_break_ms is None else today.loop_break_ms
    return (
        max(0, left - max(1, before)),
        max(0, min(30_000, *whole_work) - shortest),
        of.loops - (today.loops or of.loops),
        len(today.without_stations),
        left,
        max(abs((today.work_ms or ms) - ms) for ms in work),
        0
        if today.recover_ms is None
        else max(abs(today.recover_ms - ms) for ms in recover),
        loop_break - new_break,
        limit_ms - plan.total_ms,
        tuple(-n for n in sorted(today.without_stations, reverse=True)),
    )


def every_today(of: Circuit) -> list[Today]:
    """All of the documented grid."""
    tried = grid(of)
    numbers = range(1, len(of.stations) + 1)
    drops = [
        frozenset(chosen)
        for count in range(tried.most_dropped + 1)
        for chosen in combinations(numbers, count)
    ]
    return [
        Today(None if loops == of.loops else loops, work, recover, pause, dropped)
        for loops, work, recover, pause, dropped in product(
            tried.loops, tried.work_ms, tried.recover_ms, tried.loop_break_ms, drops
        )
        if loops > 1 or pause is None
    ]


def brute_force(of: Circuit, regions: dict[str, str], limit_ms: int) -> list[Today]:
    """The best three of different shapes (loops, stations left out, work).

    One that gives up at least as much as a better one, in everything, is no choice.
    """
    best: dict[object, tuple[tuple[object, ...], Today]] = {}
    for today in every_today(of):
        cost = judged(of, regions, limit_ms, today)
        shape = (today.loops, len(today.without_stations), today.work_ms)
        if cost is not None and (shape not in best or cost < best[shape][0]):
            best[shape] = cost, today
    offered: list[tuple[object, ...]] = []
    chosen: list[Today] = []
    for cost, today in sorted(best.values(), key=lambda entry: entry[0]):
        _, _, loops, stations, _, work, recover, pause, *_ = cost
        given = (loops, stations, work, recover, pause)
        if not any(all(better[n] <= given[n] for n in range(5)) for better in offered):
            offered.append(given)
            chosen.append(today)
    return chosen[:3]


def assert_best(of: Circuit, regions: dict[str, str], limit_ms: int) -> None:
    found = fit(of, limit_ms, regions)
    if compile_plan(of).total_ms <= limit_ms:
        assert [option.today for option in found.options] == [Today()]
        return
    expected = brute_force(of, regions, limit_ms)
    costs = [judged(of, regions, limit_ms, o.today) for o in found.options]
    assert costs == [judged(of, regions, limit_ms, today) for today in expected]


LONGER = [pytest.param(minutes, marks=pytest.mark.slow) for minutes in (14, 18, 20, 22)]


@pytest.mark.parametrize("minutes", [8, 11, *LONGER])
def test_no_better_way_exists_for_six_stations(minutes):
    """All of the grid, some 2,000 plans, each compiled."""
    of = ten_stations(warm_up=(TimedItem("Walk", 120_000),))
    small = replace(of, stations=of.stations[:6])
    assert_best(small, in_turn(small), minutes * MINUTE_MS)


@pytest.mark.parametrize("minutes", [7, 9])
def test_no_better_way_exists_where_two_stations_may_go(minutes):
    """Eight stations whose regions are uneven already: 4 legs, 3 core, 1 arms."""
    of = ten_stations(recover_ms=10_000)
    small = replace(of, stations=of.stations[:8], loops=2)
    regions = dict(
        zip(
            (s.exercise for s in small.stations),
            ["legs", "core", "legs", "arms", "legs", "core", "legs", "core"],
            strict=True,
        )
    )
    assert grid(small).most_dropped == 2
    assert_best(small, regions, minutes * MINUTE_MS)


@FEW
@given(circuits(most_stations=4, most_loops=3), st.integers(30, 100), st.data())
def test_no_better_way_exists_for_any_circuit(of, percent, data):
    """Parts, holds, own times, skips and changes by loop; regions at random."""
    regions = {
        s.exercise: data.draw(st.sampled_from([*REGIONS, "whole"])) for s in of.stations
    }
    limit_ms = compile_plan(of).total_ms * percent // 100_000 * 1000
    assert_best(of, regions, limit_ms)


@MODERATE
@given(circuits(most_stations=9, most_loops=4), st.integers(1, 1_500))
def test_every_option_fits_and_says_what_changes(of, limit_s):
    limit_ms = limit_s * 1000
    found = fit(of, limit_ms, in_turn(of))
    shapes = set()
    for option in found.options:
        plan = compile_plan(of, option.today)
        assert plan.total_ms == option.total_ms <= limit_ms
        assert option.spare_ms == limit_ms - plan.total_ms
        assert option.gates == plan.open_gates
        assert bool(option.changes) == (not option.today.is_empty)
        today = option.today
        shapes.add((today.loops, len(today.without_stations), today.work_ms))
    assert len(shapes) == len(found.options) <= 3


# --- By hand -----------------------------------------------------------------------


def test_what_fits_is_left_alone():
    """3 x 10 x 60 s without three last recoveries, 2 x 90 s, 10 s: 1930 s = 32:10."""
    found = fit(ten_stations(), 33 * MINUTE_MS, {})
    (option,) = found.options
    assert (option.today, option.total_ms, option.spare_ms) == (
        Today(),
        1_930_000,
        50_000,
    )
    assert found.sentence == "It takes 32:10 of 33:00; nothing has to change."


def test_breaks_give_way_first():
    """31 minutes are 70 s short: two breaks of 50 s save 80 s (grid of 10 s)."""
    best = fit(ten_stations(), 31 * MINUTE_MS, {}).options[0]
    assert best.today == Today(loop_break_ms=50_000)
    assert best.changes == ("loop break 50 s instead of 90 s",)


def test_then_recoveries_then_work_and_loops_stay():
    """25 minutes: recover 10 s saves 27 x 10 s, breaks of 30 s 120 s; 40 s more."""
    best = fit(ten_stations(), 25 * MINUTE_MS, in_turn(ten_stations())).options[0]
    assert best.today.loops is None
    assert best.today.work_ms == 35_000
    assert best.today.without_stations == frozenset()
    assert best.total_ms <= 25 * MINUTE_MS


def test_work_under_30_s_is_worse_than_a_loop_less():
    best = fit(ten_stations(), 16 * MINUTE_MS, in_turn(ten_stations())).options[0]
    assert best.today.loops == 2
    assert (best.today.work_ms or 40_000) >= 30_000


def test_a_station_that_is_short_by_itself_is_not_left_out_for_it():
    """Station 1 has 20 s of its own; shorter recoveries are enough."""
    of = circuit(station(1, work_ms=20_000), station(2), station(3))
    best = fit(of, compile_plan(of).total_ms - 10_000, {}).options[0]
    assert best.today == Today(recover_ms=15_000)


def test_gates_count_nothing_stay_gates_and_are_said():
    of = ten_stations(break_until_key=True)
    found = fit(of, 25 * MINUTE_MS, {})
    assert all(o.today.loop_break_ms is None for o in found.options)
    assert found.options[0].gates == 2
    assert found.sentence.endswith("2 waits for a key are not counted.")
    holding = circuit(station(1, hold=True))
    assert fit(holding, MINUTE_MS, {}).sentence.endswith(
        "One wait for a key is not counted."
    )


def test_what_cannot_fit_is_said_and_not_bent():
    found = fit(ten_stations(), 3 * MINUTE_MS, {})
    assert found.options == ()
    assert found.sentence == (
        "It takes 32:10; you have 3:00. No change tried makes it that short."
    )


def test_changes_are_said_with_names_and_ranges():
    """A work for all stations says what it was at the shortest and the longest."""
    of = circuit(
        *(station(number, work_ms=(30 + 10 * number) * 1000) for number in (1, 2, 3)),
        loops=2,
    )
    total_ms = compile_plan(of).total_ms
    sentences = {
        change
        for limit_ms in range(total_ms // 3, total_ms, 5_000)
        for option in fit(of, limit_ms, in_turn(of)).options
        for change in option.changes
    }
    assert "without station 3, Exercise 3" in sentences
    assert "1 loop instead of 2" in sentences
    assert "work 30 s everywhere; it was 40 s to 60 s" in sentences


def test_parts_never_fall_under_5_s():
    """20 s in three parts with changeovers of 3 s would be 4.6 s a part."""
    parts = ("left", "right", "together")
    of = circuit(*(station(n, parts=parts, changeover_ms=3_000) for n in (1, 2, 3)))
    assert share_ms(20_000, 3, 3_000)[0] < 5_000
    for limit_s in range(60, 190, 5):
        for option in fit(of, limit_s * 1000, {}).options:
            assert option.today.work_ms != 20_000


def test_a_station_that_is_not_done_binds_nothing():
    """Station 1 stands only in loop 2; its three parts do not bind loop 1."""
    parts = ("left", "right", "together")
    first = {1: LoopChange(stations={1: StationInLoop(skip=True)})}
    of = circuit(
        station(1, parts=parts, changeover_ms=3_000),
        station(2),
        loops=2,
        loop_changes=first,
        get_ready_ms=0,
    )
    best = fit(of, 30_000, {}).options[0]
    assert best.today == Today(loops=1, work_ms=20_000, recover_ms=10_000)


def test_a_loop_is_never_left_without_a_station():
    skipping = {2: LoopChange(stations={n: StationInLoop(skip=True) for n in (1, 2)})}
    of = circuit(station(1), station(2), station(3), loops=2, loop_changes=skipping)
    for limit_s in range(60, 200, 5):
        for option in fit(of, limit_s * 1000, {}).options:
            if option.today.loops is None:
                assert 3 not in option.today.without_stations


def test_there_is_a_sentence_for_every_preference():
    of = ten_stations()
    cost = judged(of, {}, 3_600_000, Today())
    assert len(PREFERENCES) == len(cost)


def test_the_grid_never_lengthens_and_has_bounds():
    tried = grid(ten_stations())
    assert tried.work_ms == (None, 35_000, 30_000, 25_000, 20_000)
    assert tried.recover_ms == (None, 15_000, 10_000)
    assert tried.loop_break_ms == (None, 80_000, 70_000, 60_000, 50_000, 40_000, 30_000)
    assert (tried.loops, tried.most_dropped) == ((3, 2, 1), 2)
    low = grid(circuit(station(1), work_ms=15_000, recover_ms=5_000))
    assert (low.work_ms, low.recover_ms, low.loop_break_ms) == ((None,),) * 3
    assert low.most_dropped == 0
    # A recovery of 90 s is never cut to less than half.
    assert grid(circuit(station(1), recover_ms=90_000)).recover_ms == (
        None,
        80_000,
        70_000,
        60_000,
        50_000,
    )


def test_a_loop_that_is_easy_already_is_not_made_harder():
    """Loop 1 has 30 s and 30 s; alone it takes no 35 s of work, nor 30 s anew."""
    easy = {1: LoopChange(work_ms=30_000, recover_ms=30_000)}
    of = circuit(*(station(n) for n in (1, 2, 3)), loops=3, loop_changes=easy)
    for limit_s in range(60, 500, 10):
        for option in fit(of, limit_s * 1000, {}).options:
            if option.today.loops == 1:
                assert (option.today.work_ms or 0) < 30_000
                assert (option.today.recover_ms or 0) < 30_000


# --- Warm-up -------------------------------------------------------------------------


def test_a_shorter_warm_up_is_offered_where_it_keeps_a_loop():
    """Eight minutes of warm-up; the offer scales both items to five in all."""
    items = (TimedItem("Jog", 300_000), TimedItem("Swing", 180_000))
    of = ten_stations(warm_up=items)
    limit_ms = 30 * MINUTE_MS
    found = fit(of, limit_ms, in_turn(of))
    assert found.options[0].today.loops is None
    assert found.warm_up is None  # nothing is lost, so nothing is offered
    tighter = next(
        f
        for minutes in range(29, 15, -1)
        if (f := fit(of, minutes * MINUTE_MS, in_turn(of))).warm_up is not None
    )
    offer = tighter.warm_up
    assert [item.duration_ms for item in offer.items] == [185_000, 110_000]
    assert offer.saved_ms == 185_000
    assert offer.option.total_ms <= tighter.limit_ms
    kept, lost = offer.option.today, tighter.options[0].today
    assert (kept.loops or 3, -len(kept.without_stations)) > (
        lost.loops or 3,
        -len(lost.without_stations),
    )


def test_a_warm_up_of_five_minutes_is_never_cut():
    of = ten_stations(warm_up=(TimedItem("Jog", LEAST_WARM_UP_MS),))
    for minutes in range(6, 37):
        assert fit(of, minutes * MINUTE_MS, in_turn(of)).warm_up is None


@MODERATE
@given(
    st.lists(st.integers(1, 600), min_size=1, max_size=8), st.integers(60_000, 600_000)
)
def test_scaled_items_keep_their_order_and_never_grow(seconds, target_ms):
    items = tuple(TimedItem(f"Item {n}", s * 1000) for n, s in enumerate(seconds))
    scaled = scaled_items(items, target_ms)
    assert [item.name for item in scaled] == [item.name for item in items]
    assert all(
        min(5_000, was.duration_ms) <= now.duration_ms <= was.duration_ms
        for was, now in zip(items, scaled, strict=True)
    )
    floor_ms = 5_000 * len(items)
    assert sum(item.duration_ms for item in scaled) <= max(target_ms, 0) + floor_ms
