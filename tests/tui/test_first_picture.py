"""What is seen first is the room itself, and what it waits for."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from tests.support.processes import environment, put_circuit, quiet_home
from tests.support.rooms_app import press, settle, texts, whole
from tests.support.services import SHED, ServicesForTests, do_session, make_services

from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.services import Services
from whistlestop.engine.commands import Do
from whistlestop.engine.states import Mode
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.canvas import CanvasView
from whistlestop.tui.floor.screen import FloorScreen
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.close_out.room import CloseOutRoom
from whistlestop.tui.rooms.safety.health import HealthScreen
from whistlestop.tui.widgets.page import Page

SIZE = (80, 24)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    """A home that was started before: notice read, circuits remembered."""
    two = {"rainy-shed": SHED, "yard": SHED.replace("Rainy shed", "Yard")}
    made = make_services(quiet_home(tmp_path / "home"), two)
    made.memory.acknowledge_notice()
    made.circuits.find_all()
    made.circuits.remember()
    return made


def first_lines(widget_class: type, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What a class of widgets showed as each was painted for the first time."""
    seen: list[str] = []
    real = widget_class.render_lines

    def noted(self, crop):
        strips = real(self, crop)
        if not getattr(self, "was_noted", False):
            self.was_noted = True
            seen.extend(strip.text for strip in strips)
        return strips

    monkeypatch.setattr(widget_class, "render_lines", noted)
    return seen


async def test_the_first_picture_lists_the_circuits(services, monkeypatch):
    """Nothing was looked for by then, and the log says when they were done later."""
    do_session(services, services.circuits.read("yard"))
    seen = first_lines(Page, monkeypatch)
    looked: list[int] = []
    monkeypatch.setattr(CircuitsRoom, "look", lambda self: looked.append(len(seen)))
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        sentences = "\n".join(seen)
        assert "Circuits" in sentences
        assert "Rainy shed" in sentences
        assert "Yard" in sentences
        assert "3 stations" in sentences or "3 × 2" in sentences
        assert "not done yet" not in sentences
        assert "Reading circuits" not in sentences
        assert looked[0] == SIZE[1]
    monkeypatch.undo()
    again = WhistlestopApp(services, polls=False)
    async with again.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "last today" in whole(again)
        assert "▌ Yard" in whole(again)


async def test_a_circuit_chosen_meanwhile_stays_chosen(services, monkeypatch):
    """The log arrives and knows another as the last one: the choice is theirs."""
    do_session(services, services.circuits.read("yard"))
    real = CircuitsRoom.look
    monkeypatch.setattr(CircuitsRoom, "look", lambda self: None)
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        await press(pilot, "down", "up")
        assert "▌ Rainy shed" in whole(app)
        real(app.screen)
        await settle(pilot)
        assert "last today" in whole(app)
        assert "▌ Rainy shed" in whole(app)


async def test_what_changed_since_is_read_before_it_is_listed(services, monkeypatch):
    """Never an old circuit in place of a new one, and a broken one stops nothing."""
    folder = services.places.circuits
    (folder / "yard.toml").write_text(SHED.replace("Rainy shed", "New yard"))
    (folder / "broken.toml").write_text("name = 3")
    seen = first_lines(Page, monkeypatch)
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        sentences = "\n".join(seen)
        assert "Rainy shed" in sentences
        assert "ard" not in sentences.replace("Guard", "")
        assert "New yard" in whole(app)
        assert "1 file that cannot be used" in whole(app)


async def test_the_first_room_is_the_lowest_screen(services):
    app = WhistlestopApp(services, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert [type(one) for one in app.screen_stack] == [CircuitsRoom]


def floor_of(app: WhistlestopApp) -> FloorScreen:
    assert isinstance(app.screen, FloorScreen)
    return app.screen


async def test_what_limits_stand_against_is_said_where_no_sheet_was_seen(services):
    """Asked for on the command line: the Floor says it as it gets ready."""
    services.places.limits_file.write_text(
        'format = 2\n[[limit]]\nsite = "knee"\nstrength = "easy"\nuntil = 9999-12-31\n'
    )
    plan = compile_plan(services.circuits.read("yard"))
    app = WhistlestopApp(services, plan=plan, polls=False)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert floor_of(app).model().notice == (
            "Stations 1 and 3: you go easy on the knee until 9999-12-31."
        )
    app.end_session()


async def test_the_floor_is_seen_before_its_clock_runs(services, monkeypatch):
    """Its first picture has everything; sound is opened and begun after it."""
    seen = first_lines(CanvasView, monkeypatch)
    opened: list[tuple[int, Mode]] = []
    real = services.audio.port

    def noted():
        opened.append((len(seen), app.running.session.engine.mode))
        return real()

    services.audio.port = noted
    app = WhistlestopApp(
        services, plan=compile_plan(services.circuits.read("yard")), polls=False
    )
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        assert [type(one) for one in app.screen_stack] == [FloorScreen]
        assert len(seen) == SIZE[1]
        assert "FIRST  1" in "\n".join(seen)
        assert opened == [(SIZE[1], Mode.READY)]
        assert app.running.session.engine.mode is Mode.RUNNING
        assert app.running.session.engine.t_ms == 0
        # And it is the picture that stays.
        assert seen[1:] == texts(app)[1:]
        assert "sound off" in texts(app)[0]


async def test_a_floor_that_came_first_leads_to_the_rooms(services):
    app = WhistlestopApp(
        services, plan=compile_plan(services.circuits.read("yard")), polls=False
    )
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        await press(pilot, "q", "enter")
        await pilot.pause()
        assert isinstance(app.screen, CloseOutRoom)
        await press(pilot, "enter")
        await settle(pilot)
        assert [type(one) for one in app.screen_stack] == [CircuitsRoom]
        assert app.running is None
        assert "Rainy shed" in whole(app)


async def test_a_session_reopened_has_one_driver(services):
    """The Floor that came first stays hidden below: it must not go on as well."""
    app = WhistlestopApp(
        services, plan=compile_plan(services.circuits.read("yard")), polls=False
    )
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        first = floor_of(app)
        await press(pilot, "z")
        await pilot.pause()
        assert isinstance(app.screen, HealthScreen)
        await press(pilot, "enter")
        await pilot.pause()
        assert isinstance(app.screen, CloseOutRoom)
        await press(pilot, "o")
        await pilot.pause()
        second = floor_of(app)
        assert second is not first
        ticks: list[object] = []
        real = app.running.session.tick

        def noted():
            ticks.append(None)
            return real()

        app.running.session.tick = noted
        first.poll()
        assert ticks == []
        second.poll()
        assert len(ticks) == 1


async def test_a_session_that_cannot_begin_is_said_in_the_first_room(services):
    """Another program has the lock."""
    plan = compile_plan(services.circuits.read("yard"))
    other = Services(services.places.home).sessions.start(plan)
    try:
        app = WhistlestopApp(services, plan=plan, polls=False)
        async with app.run_test(size=SIZE) as pilot:
            await settle(pilot)
            assert isinstance(app.screen, CircuitsRoom)
            assert app.running is None
            assert any("another" in one.message.lower() for one in app._notifications)
    finally:
        other.session.begin()
        other.session.do(Do.STOP)
        other.release()


SEEN_FIRST = """
import dataclasses
import sys
from pathlib import Path
from whistlestop.driver.services import Services
home = Path(sys.argv[1])
from whistlestop.cli.short_words import understood
words = understood(["run", "long", "--home", sys.argv[1]])
services = Services(home)
import whistlestop.cli.main, whistlestop.cli.run, whistlestop.tui.app
import whistlestop.tui.rooms.circuits.room
listing = services.circuits.find_remembered()
assert (listing is not None) == (sys.argv[2] == "known")
plan, _ = whistlestop.cli.run._plan(services, words)
import whistlestop.tui.floor.screen
assert services.wellbeing.stop_in_view() is None
running = services.sessions.start(plan)
advice = whistlestop.tui.floor.screen.advice_of(running.session.view())
assert advice.calls or advice.caution
print(*sys.modules)
print(*(
    one.__qualname__
    for name, module in sorted(sys.modules.items())
    if name.startswith("whistlestop.")
    for one in vars(module).values()
    if isinstance(one, type) and one.__module__ == name
    and dataclasses.is_dataclass(one)
    and one.__repr__.__qualname__ == f"{one.__qualname__}.__repr__"
    and one.__repr__.__code__.co_filename.endswith("dataclasses.py")
))
library = sys.modules.get("whistlestop.library")
print(library and library.exercises.cache_info().currsize)
running.release()
"""
WAITS: dict[str, set[str]] = {
    "what judges circuit files": {
        "whistlestop.store.circuits.file",
        "whistlestop.store.table.judging",
    },
    "models of files with problems": {"pydantic"},
    "the parser": {"argparse", "whistlestop.cli.arguments"},
    "the log": {"sqlite3", "whistlestop.store.journal.index"},
    "sound": {"whistlestop.sound.helper_port", "whistlestop.sound.soundtrack"},
    "swaps": {"whistlestop.driver.swapping", "whistlestop.domain.kit.kit"},
    "limits": {"whistlestop.domain.limits", "whistlestop.domain.athlete"},
    "the diary": {"whistlestop.review.diary", "whistlestop.review.days"},
    "every station": {"whistlestop.library.cards", "whistlestop.library.whole"},
}


def test_the_first_picture_waits_for_nothing_it_does_not_need(tmp_path: Path) -> None:
    """Each costs a tenth of a start or more; what is unknown has to be read, though."""
    home = quiet_home(tmp_path)
    put_circuit(home, "long", SHED)
    words = [sys.executable, "-c", SEEN_FIRST, str(home)]

    def seen(known: str) -> list[str]:
        done = subprocess.run(
            [*words, known],
            capture_output=True,
            text=True,
            env=environment(),
            check=True,
        )
        return done.stdout.splitlines()

    first = set(seen("unknown")[0].split())
    assert WAITS["what judges circuit files"] <= first
    assert "pydantic" not in first
    services = Services(home)
    services.circuits.find_all()
    services.circuits.remember()
    found, compiled, read = seen("known")
    for what, modules in WAITS.items():
        assert not modules & set(found.split()), what
    # Most of a millisecond each: `whistlestop.dataclass` is for what a start loads.
    assert compiled == ""
    # The cautions of the first station are there without all the others.
    assert read in {"None", "0"}
