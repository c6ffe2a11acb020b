"""The pictures README shows: made by our own template from our own screens."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from rich.segment import Segment
from rich.style import Style

from tests.support.golden import same_as_golden
from tests.support.scenes import SCENES, shown
from whistlestop.tui.canvas import palette_ink
from whistlestop.tui.floor.paint import paint
from whistlestop.tui.picture import picture
from whistlestop.tui.theme import palette

FLOOR = {
    "floor-work": ("left", 100, 30, "whistlestop-dark"),
    "floor-recover": ("recover", 100, 30, "whistlestop-dark"),
    "floor-switch": ("changeover", 100, 30, "whistlestop-dark"),
    "floor-effort": ("break-rated", 100, 30, "whistlestop-dark"),
    "floor-full": ("three-parts", 160, 48, "whistlestop-dark"),
    "floor-light": ("left", 100, 30, "whistlestop-light"),
}


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
        for row in paint(shown(SCENES[scene]), width, height)
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

    ElementTree.fromstring(svg)
    assert svg.count("http") == svg.count("http://www.w3.org/2000/svg")
    same_as_golden(f"pictures/{name}.svg", svg)
