"""Pictures for README: the log, the year, and a plot of the printed page.

The page's picture is its own drawing of weeks, as a document of its own: what stands
in the HTML file, and no picture of a browser.
"""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
from tests.pages.season import material_of, season
from tests.support.golden import same_as_golden
from tests.support.rooms_app import RoomsApp, drawn, press, settle
from tests.support.services import ServicesForTests

from whistlestop.pages.plots import weeks_drawing
from whistlestop.tui.rooms.log.plots import YEAR, PlotsRoom
from whistlestop.tui.rooms.log.room import LogRoom

ROOMS = {
    "log": (LogRoom, ("down", "down")),
    "year": (lambda: PlotsRoom(YEAR), ("up", "left")),
}


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> ServicesForTests:
    return season(tmp_path_factory.mktemp("season"))


@pytest.mark.parametrize("name", ROOMS)
async def test_room_picture_is_as_it_was_looked_at(name, services):
    make, keys = ROOMS[name]
    app = RoomsApp(services, make())
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await press(pilot, *keys)
        await settle(pilot)
        svg = drawn(app, f"{name} room")

    ET.fromstring(svg)
    assert svg.count("http") == svg.count("http://www.w3.org/2000/svg")
    same_as_golden(f"pictures/room-{name}.svg", svg)


def test_page_picture_is_the_page_s_own_plot(services):
    material = material_of(services)
    drawing = weeks_drawing(material.weeks, material.earlier_weeks)
    svg = drawing.written(alone=True)

    ET.fromstring(svg)
    assert svg.count("http") == svg.count("http://www.w3.org/2000/svg")
    same_as_golden("pictures/page-weeks.svg", svg)
