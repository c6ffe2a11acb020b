"""The pictures README shows: made by our own template from our own screens."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from rich.segment import Segment
from rich.style import Style
from tests.support.golden import same_as_golden
from tests.support.picture import picture
from tests.support.rooms_app import RoomsApp, drawn, settle
from tests.support.scenes import SCENES, pair_shown, shown
from tests.support.services import do_session, make_services, run_until, start_session

from whistlestop.data import samples_folder
from whistlestop.store.circuits.file import read_circuit
from whistlestop.tui.canvas import Rows, palette_ink
from whistlestop.tui.floor.paint import paint
from whistlestop.tui.floor.paint_pair import paint_pair
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.close_out.room import CloseOutRoom
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.theme import palette

FLOOR = {
    "floor-work": ("left", 100, 30, "whistlestop-dark"),
    "floor-recover": ("recover", 100, 30, "whistlestop-dark"),
    "floor-switch": ("changeover", 100, 30, "whistlestop-dark"),
    "floor-effort": ("break-rated", 100, 30, "whistlestop-dark"),
    "floor-full": ("three-parts", 160, 50, "whistlestop-dark"),
    "floor-light": ("left", 100, 30, "whistlestop-light"),
    "floor-pair": ("two people", 100, 30, "whistlestop-dark"),
}


def _painted(scene: str, width: int, height: int) -> Rows:
    if scene == "two people":
        return paint_pair(pair_shown(135_000), width, height)
    return paint(shown(SCENES[scene]), width, height)


def floor_picture(scene: str, width: int, height: int, theme: str) -> str:
    rows = [
        [
            Segment(
                run.text,
                Style(
                    color=palette_ink(theme, run.role).fg,
                    bgcolor=palette_ink(theme, run.role).bg,
                ),
            )
            for run in row
        ]
        for row in _painted(scene, width, height)
    ]
    colours = palette(theme)
    return picture(
        rows,
        title=f"The Floor: {scene}",
        foreground=colours.text.fg,
        background=colours.background,
    )


@pytest.mark.parametrize("name", FLOOR)
def test_floor_picture_is_as_it_was_looked_at(name):
    svg = floor_picture(*FLOOR[name])

    ET.fromstring(svg)
    assert svg.count("http") == svg.count("http://www.w3.org/2000/svg")
    same_as_golden(f"pictures/{name}.svg", svg)


async def _circuits(folder):
    services = make_services(folder, samples=True)
    do_session(
        services, read_circuit(samples_folder() / "goods-shed.toml"), efforts=[5]
    )
    services.standing.now_ms += 2 * 86_400_000
    return services, CircuitsRoom()


async def _sheet(folder):
    services = make_services(folder, samples=True)
    return services, SheetRoom(read_circuit(samples_folder() / "goods-shed.toml"))


async def _close_out(folder):
    services = make_services(folder, samples=True)
    running = start_session(
        services, read_circuit(samples_folder() / "goods-shed.toml")
    )
    run_until(services, running, 24 * 3_600_000, [5, 6.5, None])
    assert running.writer.flush(10)
    return services, CloseOutRoom(running, poll_s=None)


ROOMS = {"circuits": _circuits, "sheet": _sheet, "close-out": _close_out}


@pytest.mark.parametrize("name", ROOMS)
async def test_room_picture_is_as_it_was_looked_at(name, tmp_path):
    services, room = await ROOMS[name](tmp_path)
    app = RoomsApp(services, room)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        svg = drawn(app, f"{name} room")

    ET.fromstring(svg)
    same_as_golden(f"pictures/room-{name}.svg", svg)
