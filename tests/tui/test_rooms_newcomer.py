"""Somebody without a log: circuits of the first weeks come first, in words."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.support.rooms_app import RoomsApp, press, settle, whole
from tests.support.services import SHED, ServicesForTests, do_session, make_services

from whistlestop.driver.practice import beyond, done_often, level_of
from whistlestop.library.levels import too_hard, waiting
from whistlestop.tui.rooms.builder.room import BuilderRoom
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.kit.setup import SetupRoom

SAMPLES = Path(__file__).parents[2] / "sample_circuits"
SIZE = (80, 24)
WORDS = "or somebody new"


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    texts = {
        path.stem: path.read_text(encoding="utf-8") for path in SAMPLES.glob("*.toml")
    }
    return make_services(tmp_path, {**texts, "shed": SHED})


def test_somebody_is_new_until_a_session_was_carried_through(services):
    assert level_of(services) == "new"
    assert beyond(services) >= too_hard("new")
    do_session(services, services.circuits.read("shed"), efforts=(5, 6))
    assert level_of(services) == "regular"
    assert beyond(services) == frozenset()
    assert level_of(services, "new") == "new"


def test_the_setting_goes_before_the_log_and_what_is_typed_before_the_setting(
    services, tmp_path
):
    services.places.config_file.parent.mkdir(parents=True, exist_ok=True)
    services.places.config_file.write_text(
        '[training]\nlevel = "strong"\n', encoding="utf-8"
    )
    again = ServicesForTests(tmp_path, clock=services.standing)
    assert level_of(again) == "strong"
    assert level_of(again, "regular") == "regular"


def test_two_sessions_are_enough_for_what_comes_after(services):
    assert "box-jump" in waiting(done_often(services.log.sessions(), ()))
    for _ in range(2):
        do_session(services, services.circuits.read("shed"), efforts=(5, 6))
        services.standing.now_ms += 2 * 86_400_000
    done = done_often(services.log.sessions(), ())
    assert "goblet-squat" in done
    assert "squat-jump" not in waiting(done)
    assert "box-jump" in waiting(done)


async def test_the_circuit_chosen_at_first_asks_for_no_practice(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        chosen = app.screen.found.listed[app.screen.chosen].circuit
        assert chosen.id == "first-stop"
    assert not beyond(services) & {one.exercise for one in chosen.stations}


async def test_after_set_up_it_still_is(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        app.push_screen(SetupRoom())
        await settle(pilot)
        await press(pilot, "escape")
        await settle(pilot)
        assert app.screen.found.listed[app.screen.chosen].circuit.id == "first-stop"


async def test_what_fits_begins_with_the_first_weeks_and_says_so(services):
    app = RoomsApp(services, SetupRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await settle(pilot)
        assert WORDS in whole(app)
        found = app.screen.found
    assert found[0].beyond == ()
    hard = beyond(services)
    for one in found:
        written = {station.exercise for station in one.draft.circuit.stations}
        given = {station.exercise for station in one.draft.as_performed.stations}
        assert not (given - written) & hard


async def test_the_builder_says_for_whom_it_builds_and_stops_saying_it(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert WORDS in whole(app)
    do_session(services, services.circuits.read("shed"), efforts=(5, 6))
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert WORDS not in whole(app)
