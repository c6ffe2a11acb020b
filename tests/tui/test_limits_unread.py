"""Limits that cannot be read: named before Space, and nothing is exchanged."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.support.rooms_app import RoomsApp, press, settle, whole
from tests.support.services import (
    ServicesForTests,
    make_services,
    run_until,
    start_session,
)

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.load import parse_load
from whistlestop.driver.starting import RunningSession
from whistlestop.engine.commands import EnterVariant, SwapExercise
from whistlestop.store.circuits.file import read_circuit
from whistlestop.store.kit.file import write_kit
from whistlestop.tui.floor.screen import FloorScreen
from whistlestop.tui.rooms.kit.setup import SetupRoom
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.rooms.sheet.today import SETTINGS

BROKEN = 'limit = "knee"\n'
REFUSED = "nothing is exchanged until it is read"
BELLS = Kit(weights=(Weight("kettlebell", parse_load("14 kg")),), mats=1)
AT_WORK_MS = 432_000
FIRST_STATION = ["down"] * len(SETTINGS)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path, samples=True)
    write_kit(made.places.kit_file, BELLS)
    made.places.limits_file.write_text(BROKEN)
    return made


@pytest.fixture
def floor(services: ServicesForTests) -> Iterator[tuple[RunningSession, FloorScreen]]:
    running = start_session(services, goods_shed())
    run_until(services, running, AT_WORK_MS)
    yield running, FloorScreen(services, running, begin=False)
    running.release()


def goods_shed() -> Circuit:
    return read_circuit(samples_folder() / "goods-shed.toml")


def on_screen(app: RoomsApp) -> str:
    return " ".join(whole(app).split())


async def test_the_sheet_names_the_file_before_space(
    services: ServicesForTests,
) -> None:
    app = RoomsApp(services, SheetRoom(goods_shed()))
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert "limits.toml:1:" in on_screen(app)
        assert REFUSED in on_screen(app)


async def test_the_sheet_exchanges_nothing_and_starts_as_written(
    services: ServicesForTests,
) -> None:
    room = SheetRoom(goods_shed())
    app = RoomsApp(services, room)
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        before = room.draft.plan
        await press(pilot, *FIRST_STATION, "s")
        assert REFUSED in room.message
        assert room.draft.plan == before
        await press(pilot, "space")
    (began,) = [asked for asked in app.asked if asked[0] == "begin"]
    assert began[1] == before


async def test_the_setup_offers_nothing_and_writes_nothing_over(
    services: ServicesForTests,
) -> None:
    room = SetupRoom()
    app = RoomsApp(services, room)
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert REFUSED in on_screen(app)
        await press(pilot, "enter")
        await settle(pilot)
        assert REFUSED in on_screen(app)
        assert room.found is None
    assert services.places.limits_file.read_text() == BROKEN


@pytest.mark.parametrize("key", ["w", "e", "h"])
async def test_the_floor_exchanges_nothing_and_gives_the_reason(
    services: ServicesForTests, floor: tuple[RunningSession, FloorScreen], key: str
) -> None:
    running, screen = floor
    app = RoomsApp(services, screen)
    app.polls = False
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        plan = running.session.engine.track.swaps
        screen.press(key)
        assert REFUSED in screen.model().notice
        screen.press("1")
        assert running.session.engine.track.swaps == plan
        taken = [one.entry for one in running.session.engine.entries]
        # What the athlete did of their own accord is still noted, and no more.
        assert not any(isinstance(entry, SwapExercise) for entry in taken)
        assert [type(entry) for entry in taken] == [EnterVariant] * (key != "w")


async def test_once_the_file_is_mended_the_floor_offers_again(
    services: ServicesForTests, floor: tuple[RunningSession, FloorScreen]
) -> None:
    _, screen = floor
    app = RoomsApp(services, screen)
    app.polls = False
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        screen.press("w")
        assert REFUSED in screen.model().notice
        services.places.limits_file.unlink()
        screen.press("w")
        assert screen.model().question.startswith("swap:  1 ")
