"""The page after a stop for health and the question about the next morning."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.support.golden import same_as_golden
from tests.support.rooms_app import RoomsApp, press, settle, whole
from tests.support.services import (
    SHED,
    ServicesForTests,
    do_session,
    make_services,
    run_until,
    start_session,
)

from whistlestop.engine.commands import Do, EnterDiscomfort
from whistlestop.library.cautions import HEALTH_STOP
from whistlestop.review.days import DaySpan, Mark
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.coach.next_room import NextRoom
from whistlestop.tui.rooms.safety.well import MorningRoom, WellRoom
from whistlestop.tui.rooms.sheet.room import SheetRoom

SIZE = (80, 24)
DAY_MS = 24 * 3_600_000


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path, {"shed": SHED})
    made.memory.acknowledge_notice()
    do_session(made, made.circuits.read("shed"), efforts=(5, 6))
    made.standing.now_ms += DAY_MS
    return made


def ended(services: ServicesForTests, how: Do) -> None:
    running = start_session(services, services.circuits.read("shed"))
    run_until(services, running, 90_000)
    if how is Do.STOP:
        running.session.do(EnterDiscomfort("knee", "right", 4))
    running.session.do(how)
    running.session.close()
    assert running.release()
    services.standing.now_ms += 2 * DAY_MS


async def test_the_page_stands_before_every_room_that_proposes(services):
    ended(services, Do.HEALTH)
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, WellRoom)
        assert HEALTH_STOP[0].actions[0] in whole(app)
        await press(pilot, "escape")
        assert isinstance(app.screen, CircuitsRoom)
        assert "for your health" in whole(app)
        assert "again" not in app.screen.hint_text()
        for key in ("enter", "s", "p", "b", "w"):
            await press(pilot, key)
            assert isinstance(app.screen, WellRoom), key
            await press(pilot, "escape")
        await press(pilot, "s")
        await press(pilot, "enter")
        assert "What was it?" in whole(app)
        await press(pilot, "c")
        assert "see a doctor" in whole(app)
        assert "seven easy" in " ".join(whole(app).split())
        await press(pilot, "backspace", "p")
        assert "see a doctor" not in whole(app)
        await press(pilot, "enter")
        await settle(pilot)
        assert isinstance(app.screen, NextRoom)
        assert "% of the work" in whole(app)
        await press(pilot, "escape", "enter")
        await settle(pilot)
        assert isinstance(app.screen, SheetRoom)
    assert services.wellbeing.open_stop() is None


async def test_a_session_asked_for_by_name_waits_for_the_page(services):
    from whistlestop.domain.plan.timeline import compile_plan
    from whistlestop.tui.floor.screen import FloorScreen

    ended(services, Do.HEALTH)
    plan = compile_plan(services.circuits.read("shed"))
    app = WhistlestopApp(services, plan=plan, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert app.running is None
        assert isinstance(app.screen, WellRoom)
        await press(pilot, "enter", "o", "enter")
        await settle(pilot)
        assert isinstance(app.screen, FloorScreen)
        app.end_session()


async def test_the_next_morning_is_asked_at_the_start_and_saved(services):
    ended(services, Do.STOP)
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, MorningRoom)
        assert "right knee, 4 of 10" in " ".join(whole(app).split())
        await press(pilot, "w")
        assert isinstance(app.screen, CircuitsRoom)
    assert services.wellbeing.morning() is None


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize("step", ["signs", "cause", "word"])
async def test_the_page_as_it_was_looked_at(services, size, step):
    ended(services, Do.HEALTH)
    stop = services.wellbeing.open_stop()
    assert stop is not None
    app = RoomsApp(services, WellRoom(stop))
    keys = {"signs": (), "cause": ("enter",), "word": ("enter", "c")}[step]
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, *keys)
        name = f"rooms/well-{step}-{size[0]}x{size[1]}.txt"
        same_as_golden(name, whole(app) + "\n")


async def test_after_an_illness_the_next_step_takes_the_athletes_word(services):
    today = services.clock.wall().date()
    services.diary().mark(Mark.ILLNESS, DaySpan(today, today))
    services.standing.now_ms += 2 * DAY_MS
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "s")
        await settle(pilot)
        assert "no symptoms for 24 hours?" in whole(app)
        assert "later" not in app.screen.hint_text()
        await press(pilot, "enter")
        await settle(pilot)
        await pilot.pause()
        assert "% of the work" in whole(app)
        assert "session 1 of 3" in whole(app)
