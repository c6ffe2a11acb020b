"""Activity files in the rooms: offered at a start, imported, their efforts entered."""

from __future__ import annotations

from datetime import UTC, timedelta
from pathlib import Path

import pytest
from tests.support.activity_files import SPORTS, fit_file, ride
from tests.support.rooms_app import RoomsApp, press, settle, whole
from tests.support.services import SHED, ServicesForTests, make_services
from textual.widgets import Input

from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.log.room import LogRoom

SIZE = (80, 24)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "device"
    made.mkdir()
    return made


@pytest.fixture
def services(tmp_path: Path, folder: Path) -> ServicesForTests:
    """A home that watches a folder with a ride and a run, of the last two days."""
    home = tmp_path / "home"
    home.mkdir()
    (home / "config.toml").write_text(f'[log]\nwatched_folder = "{folder}"\n')
    made = make_services(home, {"rainy-shed": SHED})
    today = made.clock.wall().astimezone(UTC).replace(microsecond=0)
    (folder / "a.fit").write_bytes(fit_file(ride(today - timedelta(days=2), 90)))
    run = ride(today - timedelta(days=1), 45, sport=SPORTS[0])
    (folder / "b.fit").write_bytes(fit_file(run))
    return made


async def do(pilot, *keys: str) -> None:
    for key in keys:
        await press(pilot, key)
        await settle(pilot)


async def answer(pilot, text: str) -> None:
    pilot.app.screen.query_one(Input).value = text
    await do(pilot, "enter")


async def test_new_files_are_offered_in_the_first_room_and_never_taken(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await settle(pilot)
        assert "2 new activity files: import with i in the log." in whole(app)
    assert services.logbook().items() == []


async def test_a_home_without_a_watched_folder_offers_nothing(tmp_path):
    app = RoomsApp(make_services(tmp_path / "h", {"a": SHED}), CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "activity file" not in whole(app)


async def test_an_import_is_shown_first_and_entered_with_the_same_key(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "i")
        assert "1 ride and 1 run. Press i again to enter them" in whole(app)
        assert services.logbook().items() == []
        await do(pilot, "i")
        assert "Imported; u undoes it." in whole(app)
        assert [x.name for x in services.logbook().items()] == ["running", "cycling"]
        await do(pilot, "i")
        assert "2 in the log already." in whole(app)
        await do(pilot, "enter")
        shown = whole(app)
        assert "running" in shown
        assert "average heart rate: 140" in shown
        assert "activity files: 1\n" in shown
        await do(pilot, "escape", "i", "u")
    assert services.logbook().items() == []


async def test_efforts_that_are_missing_are_entered_in_one_pass(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "i", "i")
        assert "o 2 efforts missing" in whole(app)
        await do(pilot, "o")
        assert "2 left: cycling, 90 min on" in whole(app)
        await answer(pilot, "12")
        assert "0 to 10" in whole(app)
        await answer(pilot, "6.5")
        assert "1 left: running, 45 min on" in whole(app)
        await answer(pilot, "")
        assert "o 1 effort missing" in whole(app)
    efforts = {item.name: item.effort for item in services.logbook().items()}
    assert efforts == {"cycling": 6.5, "running": None}


async def test_without_a_watched_folder_a_path_is_asked_for(tmp_path, folder):
    services = make_services(tmp_path / "h", {"a": SHED})
    start = services.clock.wall().astimezone(UTC).replace(microsecond=0)
    (folder / "a.fit").write_bytes(fit_file(ride(start - timedelta(days=2), 90)))
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "i")
        await answer(pilot, str(folder / "nowhere.fit"))
        assert "1 file not readable" in whole(app)
        await do(pilot, "i")
        await answer(pilot, str(folder))
        assert "Press i again to enter them" in whole(app)
        await do(pilot, "i")
        assert "Imported; u undoes it." in whole(app)
