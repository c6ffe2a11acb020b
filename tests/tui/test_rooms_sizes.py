"""Every room at three sizes, in three themes, and with names that mean harm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import (
    SHED,
    ServicesForTests,
    do_session,
    make_services,
    run_until,
    start_session,
)
from textual.screen import Screen

from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import first_hostile
from whistlestop.engine.commands import Do, EnterNote
from whistlestop.review.record import read_record
from whistlestop.store.circuits.circuit_list import CircuitEntry, CircuitList
from whistlestop.store.journal.index import SessionLine
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.close_out.room import CloseOutRoom
from whistlestop.tui.rooms.coach.next_room import NextRoom
from whistlestop.tui.rooms.coach.weeks_room import WeeksRoom
from whistlestop.tui.rooms.frame.key_list import KeysScreen
from whistlestop.tui.rooms.log.room import LogRoom, RecordScreen
from whistlestop.tui.rooms.safety.discomfort import DiscomfortScreen
from whistlestop.tui.rooms.safety.health import HealthScreen
from whistlestop.tui.rooms.safety.notice import NoticeScreen
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.theme import THEME_NAMES

HOSTILE = (
    "[/]",
    "[bold]loud[/bold]",
    "a[/b] [@click=app.quit]x[/]",
    "\x1b[31mred\x1b]0;title\x07",
    "left\u202eright\u2066x",
    "W" * 80,
    "日本語の体操" * 12,
    "e\u0301\u0301\u0301 zalgo\u200b\ufeff",
    "👩\u200d🚀 flies",
    "back\\slash [/",
    "two\nlines\tand a tab",
)


def hostile_circuit(name: str) -> Circuit:
    """A circuit whose every text is the name; built by hand, past the file reader."""
    station = Station(
        name,
        name,
        "X",
        parts=(name[:20], "other"),
        kit=(name, "mat"),
        note=name,
        drill=Drill(name, name),
        cautions=("Kn",),
    )
    return Circuit("x", name, (station, replace(station, hold=True)), note=name)


def running_of(services: ServicesForTests, circuit: Circuit, note: str = ""):
    running = start_session(services, circuit)
    run_until(services, running, 60_000)
    running.session.do(Do.HEALTH)
    if note:
        running.session.do(EnterNote(note))
    return running


Maker = Callable[[ServicesForTests], Screen[Any]]
ROOMS: dict[str, Maker] = {
    "circuits": lambda _: CircuitsRoom(),
    "sheet": lambda services: SheetRoom(services.circuits.read("goods-shed")),
    "close-out": lambda services: CloseOutRoom(
        running_of(services, services.circuits.read("rainy-shed")), poll_s=None
    ),
    "notice": lambda _: NoticeScreen(),
    "health": lambda _: HealthScreen(),
    "keys": lambda _: KeysScreen(),
    "log": lambda _: LogRoom(),
    "record": lambda services: RecordScreen(services.log.sessions()[0]),
    "discomfort": lambda _: DiscomfortScreen(),
    "next": lambda _: NextRoom(),
    "weeks": lambda _: WeeksRoom(),
}
# What must be on the key line of each room, however narrow the screen is.
WAY_ON = {
    "circuits": ("Enter open", "q quit"),
    "sheet": ("Space start", "Esc back"),
    "close-out": ("Enter save and close", "x discomfort", "o reopen"),
    "notice": ("Enter understood", "q quit"),
    "health": ("Enter to the close-out",),
    "keys": ("Esc back",),
    "log": ("Enter open", "Esc back"),
    "record": ("Esc back",),
    "discomfort": ("Esc cancel",),
    "next": ("Enter accept", "c change it", "x later", "Esc back"),
    "weeks": ("Enter save plan", "Esc back"),
}


def check_lines(lines: list[str], size: tuple[int, int]) -> None:
    assert len(lines) == size[1]
    for line in lines:
        assert cell_len(line) == size[0]
        assert first_hostile(line) is None


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("name", ROOMS)
async def test_a_room_fills_its_screen_and_no_more(tmp_path: Path, name, size):
    services = make_services(tmp_path, {"rainy-shed": SHED}, samples=True)
    do_session(services, services.circuits.read("goods-shed"), efforts=[5, 6.5, 7])
    app = RoomsApp(services, ROOMS[name](services))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        lines = texts(app)
        check_lines(lines, size)
        assert lines[0].startswith("━━ ")
        for words in WAY_ON[name]:
            assert words in lines[-1]


@pytest.mark.parametrize("size", [(40, 12), (20, 6), (10, 3), (1, 1)], ids=str)
@pytest.mark.parametrize("name", ROOMS)
async def test_a_screen_far_too_small_breaks_nothing(tmp_path: Path, name, size):
    services = make_services(tmp_path, {"rainy-shed": SHED}, samples=True)
    do_session(services, services.circuits.read("goods-shed"))
    app = RoomsApp(services, ROOMS[name](services))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, "down", "pagedown", "end", "up", "home")
        check_lines(texts(app), size)
        await pilot.resize_terminal(80, 24)
        await settle(pilot)
        check_lines(texts(app), (80, 24))


@pytest.mark.parametrize("theme", THEME_NAMES)
async def test_a_room_paints_only_the_inks_of_its_theme(tmp_path: Path, theme):
    from tests.support.picture import screen_strips

    from whistlestop.tui.theme import palette

    services = make_services(tmp_path, {"rainy-shed": SHED})
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")), theme)
    inks = palette(theme)
    allowed = {value for ink in inks.inks().values() for value in ink}
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        for strip in screen_strips(app):
            for segment in strip:
                assert segment.style is not None
                for color in (segment.style.color, segment.style.bgcolor):
                    assert color is not None
                    assert color.get_truecolor().hex in allowed


async def test_ascii_only_means_ascii_only(tmp_path: Path):
    for name, make in ROOMS.items():
        services = make_services(tmp_path / name, {"rainy-shed": SHED}, samples=True)
        screen = replace(services.settings.screen, ascii=True)
        services.settings = replace(services.settings, screen=screen)
        do_session(services, services.circuits.read("goods-shed"))
        app = RoomsApp(services, make(services))
        async with app.run_test(size=(120, 40)) as pilot:
            await settle(pilot)
            assert whole(app).isascii()


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
async def test_a_name_that_means_harm_is_shown_and_does_none(tmp_path: Path, name):
    services = make_services(tmp_path)
    circuit = hostile_circuit(name)
    services.circuits.find_all = lambda: CircuitList(
        {"x": CircuitEntry(circuit, Path(name + ".toml"))}, {}, {}
    )
    line = SessionLine("x", Path("x"), name=name, circuit="x", efforts=(5,))
    services.log.sessions = lambda **_options: [line]
    services.sessions.interrupted = lambda: line
    journal = {
        "k": "start",
        "plan": compile_plan(circuit).to_json(),
        "wall": name,
    }
    record = read_record([journal], session_id="x")
    services.log.record = lambda *_args, **_options: replace(record, note=name)
    rooms = [
        CircuitsRoom(),
        SheetRoom(circuit),
        CloseOutRoom(running_of(services, circuit), poll_s=None),
        LogRoom(),
        RecordScreen(line),
    ]
    for room in rooms:
        app = RoomsApp(services, room)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await press(pilot, "down", "down")
            check_lines(texts(app), (80, 24))
            assert not app._exit
            if name.isascii() and name.isprintable() and len(name) < 40:
                assert name[:8] in whole(app)
        if isinstance(room, CloseOutRoom):
            room.running.release()
