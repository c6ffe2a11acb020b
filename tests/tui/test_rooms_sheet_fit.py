"""'I have 25 minutes' on the sheet: the real sample, its keys, and no better way."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import pytest
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, whole
from tests.support.services import SHED, make_services

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Circuit, Today
from whistlestop.domain.circuit.fit import grid
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.library import exercises
from whistlestop.store.circuits.file import read_circuit
from whistlestop.tui.rooms.sheet.fit_lines import fit_draft, ways
from whistlestop.tui.rooms.sheet.fit_room import FitRoom
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.rooms.sheet.today import Draft

LIMIT_MS = 25 * 60_000


def goods_shed() -> Circuit:
    return read_circuit(samples_folder() / "goods-shed.toml")


def total_ms(of: Circuit, today: Today) -> int:
    """Arithmetic of its own for a circuit whose stations are all alike in time."""
    loops = today.loops or of.loops
    stations = len(of.stations) - len(today.without_stations)
    work = today.work_ms or of.work_ms
    recover = of.recover_ms if today.recover_ms is None else today.recover_ms
    pause = of.loop_break_ms if today.loop_break_ms is None else today.loop_break_ms
    items = sum(i.duration_ms for i in (*of.warm_up, *of.cool_down))
    # The break takes the place of the last recovery.
    loop = stations * work + (stations - 1) * recover
    return items + of.get_ready_ms + loops * loop + (loops - 1) * (pause or 0)


def unevenness(of: Circuit, without: frozenset[int]) -> int:
    regions = [exercises()[s.exercise].region for s in of.stations]
    left = [r for n, r in enumerate(regions, 1) if n not in without]
    counts = [left.count(r) for r in ("legs", "core", "arms")]
    return max(counts) - min(counts)


def judged(of: Circuit, today: Today) -> tuple[object, ...]:
    """The stated preferences, written down anew from their words; smaller is better."""
    before, left = (
        unevenness(of, without) for without in (frozenset(), today.without_stations)
    )
    work = today.work_ms or of.work_ms
    recover = of.recover_ms if today.recover_ms is None else today.recover_ms
    own = of.loop_break_ms or 0
    pause = own if today.loop_break_ms is None else today.loop_break_ms
    return (
        max(0, left - max(1, before)),
        max(0, 30_000 - work),
        of.loops - (today.loops or of.loops),
        len(today.without_stations),
        left,
        abs(work - of.work_ms),
        abs(recover - of.recover_ms),
        own - pause,
        LIMIT_MS - total_ms(of, today),
        tuple(-n for n in sorted(today.without_stations, reverse=True)),
    )


def every_today(of: Circuit) -> list[Today]:
    tried = grid(of)
    numbers = range(1, len(of.stations) + 1)
    dropped = [
        frozenset(some)
        for count in range(tried.most_dropped + 1)
        for some in combinations(numbers, count)
    ]
    return [
        Today(None if loops == of.loops else loops, work, recover, pause, without)
        for loops, work, recover, pause, without in product(
            tried.loops, tried.work_ms, tried.recover_ms, tried.loop_break_ms, dropped
        )
        if loops > 1 or pause is None
    ]


def test_the_arithmetic_of_this_test_is_that_of_compiled_plans():
    of = goods_shed()
    for today in every_today(of)[::97]:
        assert compile_plan(of, today).total_ms == total_ms(of, today)


def test_no_better_way_to_25_minutes_exists_on_the_real_sample():
    """All of the grid, about 17,000 ways; the room's own function gives the best."""
    of = goods_shed()
    found = fit_draft(Draft.of(of), 25)
    tried = every_today(of)
    assert len(tried) > 10_000
    best = min(judged(of, today) for today in tried if total_ms(of, today) <= LIMIT_MS)
    assert judged(of, found.options[0].today) == best
    for option in found.options:
        assert option.total_ms == total_ms(of, option.today) <= LIMIT_MS
    assert len(found.options) == 3
    # A shorter warm-up is offered as the last way, and comes to the minutes as well.
    last = ways(found)[-1]
    assert last.warm_up is not None
    shorter = replace(of, warm_up=last.warm_up)
    assert compile_plan(shorter, last.option.today).total_ms <= LIMIT_MS


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_minutes_are_typed_three_ways_shown_and_one_taken(tmp_path, size):
    services = make_services(tmp_path, samples=True)
    app = RoomsApp(services, SheetRoom(services.circuits.read("goods-shed")))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, "m")
        assert isinstance(app.screen, FitRoom)
        assert "As it stands it takes 44:10." in whole(app)
        await press(pilot, "2", "5", "enter")
        shown = whole(app)
        assert "It takes 44:10; you have 25:00." in shown
        assert shown.count("2 loops instead of 3") >= 3
        await press(pilot, "down", "enter")
        assert isinstance(app.screen, SheetRoom)
        assert "25:00 in all" in whole(app)
        assert "changed for today" in whole(app)
        await press(pilot, "space")
    [(_, plan)] = app.asked
    found = fit_draft(Draft.of(goods_shed()), 25)
    assert plan == compile_plan(goods_shed(), found.options[1].today)


async def test_the_shorter_warm_up_is_taken_with_its_times(tmp_path):
    services = make_services(tmp_path, samples=True)
    app = RoomsApp(services, SheetRoom(services.circuits.read("goods-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "m", "2", "5", "enter", "end", "down", "down", "enter")
        assert "7:00 as written" in whole(app)
        await press(pilot, "space")
    [(_, plan)] = app.asked
    assert plan.total_ms <= LIMIT_MS
    warm_up = [s.duration_ms for s in plan.segments if s.kind == "warm_up"]
    assert sum(warm_up) == 280_000


async def test_what_already_fits_changes_nothing_and_escape_takes_nothing(tmp_path):
    services = make_services(tmp_path, {"rainy-shed": SHED})
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "m", "enter")
        assert "Type the minutes you have." in whole(app)
        await press(pilot, "9", "enter")
        assert "nothing has to change" in whole(app)
        await press(pilot, "enter")
        assert "changed for today" not in whole(app)
        await press(pilot, "m", "1", "backspace", "escape")
        assert isinstance(app.screen, SheetRoom)
        assert "6:30 in all" in whole(app)


async def test_too_few_minutes_are_said_to_be_too_few(tmp_path):
    services = make_services(tmp_path, samples=True)
    app = RoomsApp(services, SheetRoom(services.circuits.read("goods-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "m", "1", "enter")
        assert "I have 1 minute\n" in whole(app)
        sentences = " ".join(whole(app).split())
        assert "No change tried makes it that short." in sentences
        await press(pilot, "enter", "escape")
        assert "44:10 in all" in whole(app)
