"""Warm-up, cool-down and single loops in the editor: keys, undo, totals, files."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from rich.cells import cell_len
from tests.support.golden import same_as_golden
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import SHED, ServicesForTests, make_services
from tests.tui.test_rooms_editor import ask, owned

from whistlestop.domain.circuit.circuit import (
    Circuit,
    LoopChange,
    Station,
    StationInLoop,
    TimedItem,
)
from whistlestop.domain.duration import clock
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import first_hostile
from whistlestop.store.circuits.file import read_circuit
from whistlestop.tui.rooms.editor.items import ItemsRoom, item_typed
from whistlestop.tui.rooms.editor.lines import SETTINGS
from whistlestop.tui.rooms.editor.loops import LoopsRoom
from whistlestop.tui.rooms.editor.loops_lines import loops_text
from whistlestop.tui.rooms.editor.room import EditorRoom

SIZE = (80, 24)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path / "home", {"rainy-shed": SHED}, samples=True)


async def opened(pilot, setting: str) -> None:
    """From the head of the editor to a setting's room."""
    await settle(pilot)
    await press(pilot, "home", *["down"] * SETTINGS.index(setting), "enter")
    await settle(pilot)


def editor(app: RoomsApp) -> EditorRoom:
    return next(one for one in app.screen_stack if isinstance(one, EditorRoom))


# Items


@pytest.mark.parametrize(
    ("typed", "item"),
    [
        ("Easy jog, 2 min", TimedItem("Easy jog", 120_000)),
        ("Jog, then hop, 1:30", TimedItem("Jog, then hop", 90_000)),
        ("Easy jog", TimedItem("Easy jog", 60_000)),
        ("Jog, then hop", TimedItem("Jog, then hop", 60_000)),
    ],
)
def test_an_item_is_typed_in_one_line(typed, item):
    assert item_typed(typed) == item


async def test_a_warm_up_is_made_item_by_item_and_saved(services):
    path = owned(services)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "warm-up")
        assert "No warm-up yet. Press a" in whole(app)
        await ask(pilot, "a", line="Easy jog, 2 min")
        await ask(pilot, "a", line="Leg swings")
        await ask(pilot, "n", line="both sides")
        await press(pilot, "left", "shift+up", "c", "x")
        assert "Leg swings removed. u undoes it." in whole(app)
        await ask(pilot, "t", line="1:45")
        await ask(pilot, "enter", line="Brisk walk")
        total = clock(compile_plan(editor(app).circuit).total_ms)
        assert f"{total} in all" in whole(app)
        await press(pilot, "escape")
        assert f"{total} in all" in whole(app)
        await press(pilot, "s")
        assert "Saved." in whole(app)
    made = read_circuit(path)
    assert made.warm_up == (
        TimedItem("Leg swings", 45_000, "both sides"),
        TimedItem("Brisk walk", 105_000),
    )
    assert made.cool_down == ()


async def test_a_warm_up_is_built_from_the_stations_and_undone_at_once(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("rainy-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "warm-up")
        await press(pilot, "b")
        built = editor(app).circuit.warm_up
        assert 360_000 <= sum(item.duration_ms for item in built) <= 480_000
        await press(pilot, "u")
        assert editor(app).circuit.warm_up == ()
        assert "warm-up built: undone." in whole(app)
        await press(pilot, "U")
        assert editor(app).circuit.warm_up == built


async def test_a_cool_down_is_its_own(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("rainy-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "cool-down")
        await press(pilot, "b")
        assert editor(app).circuit.cool_down == ()
        await ask(pilot, "a", line="Breathe, 90 s")
        assert editor(app).circuit.cool_down == (TimedItem("Breathe", 90_000),)


async def test_what_an_item_cannot_be_is_said_and_stays_to_be_mended(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("rainy-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "cool-down")
        await ask(pilot, "a", line="Breathe, 31 min")
        assert "An item lasts 1 s to 30 min." in whole(app)
        await press(pilot, "escape")
        await settle(pilot)
        await ask(pilot, "a", line="Breathe, 10 s")
        await press(pilot, "shift+up")
        assert "It is the first item already." in whole(app)
        await press(pilot, "left")
        assert editor(app).circuit.cool_down[0].duration_ms >= 1_000


async def test_arrows_go_by_quarters_of_a_minute_and_stop_at_the_ends(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("rainy-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "cool-down")
        await ask(pilot, "a", line="Breathe, 50 s")
        seen = []
        for key in ("left", "left", "right", "right"):
            await press(pilot, key)
            seen.append(editor(app).circuit.cool_down[0].duration_ms // 1000)
        assert seen == [45, 30, 45, 60]


# Single loops


async def test_one_loop_is_made_different_line_by_line_and_saved(services):
    path = owned(services)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "each loop")
        assert "[2]" in whole(app)
        await press(pilot, "left", "down", "right")
        await ask(pilot, "l", line="10 kg")
        assert "[2●]" in whole(app)
        await press(pilot, "down", "right")
        await ask(pilot, "r", line="30")
        await ask(pilot, "l", line="14 kg")
        await press(pilot, "down", "x")
        await press(pilot, "tab")
        assert "[1] 2●" in whole(app)
        await ask(pilot, "w", line="55")
        total = clock(compile_plan(editor(app).circuit).total_ms)
        assert f"{total} in all" in whole(app)
        await press(pilot, "escape", "s")
        assert "Saved." in whole(app)
        assert "loop 1: own figures at 2; loop 2: work 35 s" in whole(app)
    changes = read_circuit(path).loop_changes
    assert changes[2] == LoopChange(
        35_000,
        25_000,
        parse_load("10 kg"),
        {
            1: StationInLoop(40_000, 30_000, parse_load("14 kg")),
            2: StationInLoop(skip=True),
        },
    )
    assert changes[1].stations == {2: StationInLoop(work_ms=55_000)}


async def test_backspace_is_as_usual_and_u_takes_any_step_back(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("rainy-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "each loop")
        begun = editor(app).circuit
        await press(pilot, "left", "down", "left", "down", "down", "left", "x")
        many = len(editor(app).history.past)
        assert many == 4
        await press(pilot, "backspace")
        assert 1 not in editor(app).circuit.loop_changes[2].stations
        await press(pilot, "home", "backspace", "down", "backspace")
        assert editor(app).circuit == begun
        await press(pilot, *["u"] * len(editor(app).history.past))
        assert editor(app).circuit == begun
        await press(pilot, "u")
        assert "There is nothing to undo." in whole(app)
        await press(pilot, *["U"] * 4, "D")
        assert editor(app).circuit == begun


async def test_the_last_station_of_a_loop_stays_and_says_why(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("rainy-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "each loop")
        await press(pilot, "x")
        assert "Choose a station; x leaves it out of this loop." in whole(app)
        await press(pilot, "down", "down", "down", "x", "down", "x", "down", "x")
        assert "Not possible: " in whole(app)
        change = editor(app).circuit.loop_changes[2]
        assert sum(own.skip for own in change.stations.values()) == 2


async def test_a_circuit_without_stations_has_no_loops_to_open(services):
    app = RoomsApp(services, EditorRoom())
    async with app.run_test(size=SIZE) as pilot:
        await opened(pilot, "each loop")
        assert isinstance(app.screen, EditorRoom)
        assert "It has no station yet: a adds one." in whole(app)


async def test_undoing_a_loop_away_leaves_a_loop_that_is_there(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("rainy-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "home", "down", "down", "right")
        await opened(pilot, "each loop")
        assert "[3]" in whole(app)
        await press(pilot, "u")
        assert "[2]" in whole(app)


def test_what_differs_is_said_in_one_line(services):
    made = services.circuits.read("rainy-shed")
    assert loops_text(made) == ""
    change = LoopChange(recover_ms=10_000, stations={2: StationInLoop(skip=True)})
    changed = replace(made, loop_changes={2: change, 5: LoopChange(work_ms=5_000)})
    assert loops_text(changed) == "loop 2: recover 10 s, without 2"


# How it looks


def differing(services: ServicesForTests) -> Circuit:
    """Goods shed with a last loop of its own."""
    made = services.circuits.read("goods-shed")
    own = {
        2: StationInLoop(skip=True),
        4: StationInLoop(work_ms=50_000, load=parse_load("14 kg")),
    }
    return replace(made, loop_changes={3: LoopChange(work_ms=30_000, stations=own)})


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("setting", ["warm-up", "cool-down", "each loop"])
async def test_each_room_looks_as_it_did(services, setting, size):
    app = RoomsApp(services, EditorRoom(differing(services), None))
    async with app.run_test(size=size) as pilot:
        await opened(pilot, setting)
        await press(pilot, "down")
        name = setting.replace(" ", "-")
        same_as_golden(
            f"editor/{name}-{size[0]}x{size[1]}.txt", whole(app).rstrip() + "\n"
        )


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_the_editor_looks_as_it_did(services, size):
    app = RoomsApp(services, EditorRoom(differing(services), None))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, "home")
        same_as_golden(
            f"editor/whole-{size[0]}x{size[1]}.txt", whole(app).rstrip() + "\n"
        )


@pytest.mark.parametrize("size", [*SIZES, (40, 12), (20, 6), (1, 1)], ids=str)
@pytest.mark.parametrize("kind", [ItemsRoom, LoopsRoom])
async def test_no_line_is_wider_than_the_screen_and_nothing_does_harm(
    services, kind, size
):
    name = "[/] [bold]\x1b[31m日本語の体操" * 4
    station = Station(name, name, "X", note=name)
    item = TimedItem(name, 60_000, name)
    made = Circuit("x", name, (station,) * 12, loops=8, warm_up=(item,) * 12, note=name)
    room = EditorRoom(made, None)
    part = ItemsRoom(room, "warm-up") if kind is ItemsRoom else LoopsRoom(room)
    app = RoomsApp(services, room)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        app.push_screen(part)
        await settle(pilot)
        for keys in (("down", "end"), ("right",), ("x", "u"), ("home", "left")):
            await press(pilot, *keys)
            for line in texts(app):
                assert cell_len(line) == size[0]
                assert first_hostile(line) is None


async def test_ascii_only_means_ascii_only(services):
    screen = replace(services.settings.screen, ascii=True)
    services.settings = replace(services.settings, screen=screen)
    for setting in ("warm-up", "each loop"):
        app = RoomsApp(services, EditorRoom(differing(services), None))
        async with app.run_test(size=SIZE) as pilot:
            await opened(pilot, setting)
            assert whole(app).isascii()
