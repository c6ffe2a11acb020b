"""Live swaps on the Floor: two presses, in the journal, and the clock stays honest."""

from __future__ import annotations

import re

import pytest
from tests.driver.test_swapping import OWN
from tests.support.rooms_app import RoomsApp, texts
from tests.support.services import make_services, run_until, start_session

from whistlestop.data import samples_folder
from whistlestop.engine.commands import EnterSkipReason, SwapExercise
from whistlestop.store.circuits.file import read_circuit
from whistlestop.tui.floor.screen import FloorScreen

AT_WORK_MS = 432_000
IN_RECOVER_MS = 475_000


@pytest.fixture
def floor(tmp_path):
    """The Floor of goods-shed, with a kit of two bells, and how to stand at a time."""
    services = make_services(tmp_path, samples=True)
    circuit = read_circuit(samples_folder() / "goods-shed.toml")
    running = start_session(services, circuit)
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    yield services, running, screen, app
    running.release()


def swaps_of(running):
    return [swap for _, swap in running.session.engine.track.swaps]


async def test_an_easier_form_takes_two_presses_and_moves_no_time(floor):
    services, running, screen, app = floor
    run_until(services, running, AT_WORK_MS)
    async with app.run_test(size=(100, 30)):
        due = running.session.engine.next_due()
        screen.press("e")
        assert "2 Body-weight squat" in screen.model().question
        screen.press("2")
        assert [swap.exercise for swap in swaps_of(running)] == ["body-weight-squat"]
        assert screen.model().board.name == "SQUAT"
        assert running.session.engine.next_due() == due


async def test_another_station_of_the_kind_is_offered_for_what_comes(floor):
    services, running, screen, app = floor
    run_until(services, running, IN_RECOVER_MS)
    async with app.run_test(size=(100, 30)):
        coming = screen.model().board.name
        screen.press("w")
        assert screen.model().question.startswith("swap:  1 ")
        screen.press("1")
        assert screen.model().board.name != coming
        assert isinstance(swaps_of(running)[0], SwapExercise)


async def test_a_key_that_fits_no_choice_does_what_it_always_does(floor):
    services, running, screen, app = floor
    run_until(services, running, AT_WORK_MS)
    async with app.run_test(size=(100, 30)):
        screen.press("e")
        screen.press("space")
        assert screen.model().sign == "PAUSED"
        assert swaps_of(running) == []


async def test_a_skip_may_be_given_a_reason_by_one_digit(floor):
    services, running, screen, app = floor
    run_until(services, running, AT_WORK_MS)
    async with app.run_test(size=(100, 30)):
        screen.press("s")
        assert "because" in screen.model().question
        screen.press("2")
        taken = running.session.engine.entries[-1]
        assert taken.entry == EnterSkipReason("kit missing")
        assert (taken.loop, taken.station) == (1, 1)


@pytest.mark.parametrize("key", ["e", "h", "w", "s"])
async def test_every_choice_is_seen_whole_on_the_smallest_screen(floor, key):
    """A digit nobody can read the meaning of is no choice."""
    services, running, screen, app = floor
    run_until(services, running, AT_WORK_MS)
    async with app.run_test(size=(80, 24)) as pilot:
        screen.press(key)
        await pilot.pause()
        asked = screen.model().question
        bare = re.sub("[\u2500-\u259f]", " ", " ".join(texts(app)[18:23]))
        shown = " ".join(bare.split())
        assert " ".join(asked.split()) in shown
        assert "…" not in shown


async def test_own_stations_are_swaps_on_the_floor(floor):
    services, running, screen, app = floor
    services.places.library.mkdir(parents=True, exist_ok=True)
    (services.places.library / "stations.toml").write_text(OWN)
    run_until(services, running, AT_WORK_MS)
    async with app.run_test(size=(100, 30)):
        screen.press("w")
        assert "1 Squat with a sandbag hugged" in screen.model().question
        screen.press("1")
        assert [swap.exercise for swap in swaps_of(running)] == ["sandbag-squat"]


async def test_another_load_takes_two_presses_and_enter_types_any_other(floor):
    services, running, screen, app = floor
    run_until(services, running, AT_WORK_MS)
    async with app.run_test(size=(80, 24)) as pilot:
        screen.press("l")
        await pilot.pause()
        assert "Enter another" in screen.model().question
        screen.press("1")
        assert [swap.load for swap in swaps_of(running)] == ["8 kg"]
        screen.press("l")
        screen.press("enter")
        assert "load: _ kg" in screen.model().question
        for key in ("1", "3", "enter"):
            screen.press(key)
        assert running.session.engine.entries[-1].entry.load == "13 kg"
