"""What the library adds to the Floor: cautions and the drill's key point.

A session goes on without any of it: what fails is left out alone.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.support.halves import find, halves, texts
from tests.support.rooms_app import RoomsApp
from tests.support.scenes import CIRCUIT
from tests.support.services import make_services, run_until, start_session

from whistlestop.library import drills
from whistlestop.tui.floor import caution
from whistlestop.tui.floor.model import FloorModel
from whistlestop.tui.floor.screen import FloorScreen

CALL_MS, DRILL_MS = 111_000, 118_000
"""In the first recovery: its first four seconds, and later."""
SIZE = (80, 24)


class Fault(Exception):
    """What nobody foresaw."""


@pytest.fixture
def floor(tmp_path: Path):
    """A session of the engine house, its Floor, and an app to show it in."""
    services = make_services(tmp_path)
    running = start_session(services, CIRCUIT)
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    yield services, running, screen, app
    running.release()


async def test_a_recovery_shows_the_drills_key_point_over_its_name(floor):
    services, running, screen, app = floor
    run_until(services, running, DRILL_MS)
    async with app.run_test(size=SIZE):
        screen.poll()
        painted = screen.canvas._rows
        assert find(halves(painted), "ONE-BALL ARC")
        point = drills()["one-ball-arc"].key_point
        assert point
        assert point in "\n".join(texts(painted))


async def test_the_drills_are_looked_up_once(floor, monkeypatch):
    services, running, screen, app = floor
    run_until(services, running, DRILL_MS)
    asked: list[str] = []

    def look_up(drill: str) -> str:
        asked.append(drill)
        return drills()[drill].key_point

    monkeypatch.setattr(screen, "_look_up", look_up)
    async with app.run_test(size=SIZE):
        for _ in range(20):
            services.standing.now_ms += 100
            screen.poll()
    assert asked == ["one-ball-arc"]


@pytest.mark.parametrize("name", ["calls_for", "caution_during"])
async def test_a_caution_that_fails_takes_nothing_else_away(floor, monkeypatch, name):
    services, running, screen, app = floor
    run_until(services, running, CALL_MS)

    def fail(*_: object) -> None:
        raise Fault(name)

    monkeypatch.setattr(caution, name, fail)
    async with app.run_test(size=SIZE):
        screen.poll()
        model = screen.model()
        assert isinstance(model, FloorModel)
        # The call's turn falls to the drill, and clock and board stay large.
        assert model.band.letters == "ONE-BALL ARC"
        painted = screen.canvas._rows
        assert find(halves(painted), "ONE-ARM ROW")
        assert "The list of cautions failed" in "\n".join(texts(painted))


async def test_drills_that_fail_take_only_the_key_point_away(floor, monkeypatch):
    services, running, screen, app = floor
    run_until(services, running, DRILL_MS)

    def fail(*_: object) -> None:
        raise Fault("drills")

    monkeypatch.setattr(type(services.library), "drills", fail)
    async with app.run_test(size=SIZE):
        screen.poll()
        model = screen.model()
        assert isinstance(model, FloorModel)
        assert model.band.letters == "ONE-BALL ARC"
        assert model.band.sentence == "now: One-ball arc"
