"""The Floor as lines of text, at five sizes: each was looked at before it was kept."""

from __future__ import annotations

import pytest
from tests.support.golden import same_as_golden
from tests.support.scenes import SCENES, shown

from whistlestop.tui.canvas import Rows
from whistlestop.tui.floor.paint import paint

SIZES = ((80, 24), (100, 30), (120, 40), (160, 50), (200, 60))


def lines(rows: Rows) -> list[str]:
    return ["".join(run.text for run in row) for row in rows]


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_floor_is_as_it_was_looked_at(name, width, height):
    painted = lines(paint(shown(SCENES[name]), width, height))

    assert all(len(line) == width for line in painted)
    assert len(painted) == height
    text = "\n".join(line.rstrip() for line in painted) + "\n"
    same_as_golden(f"floor/{name}-{width}x{height}.txt", text)


@pytest.mark.parametrize("name", SCENES)
def test_ascii_floor_is_ascii(name):
    painted = lines(paint(shown(SCENES[name]), 80, 24, ascii_only=True))

    text = "\n".join(painted)
    assert text.isascii(), sorted({c for c in text if not c.isascii()})
    same_as_golden(f"floor-ascii/{name}.txt", text + "\n")


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize("size", [(0, 0), (1, 1), (4, 2), (10, 3), (40, 10), (240, 70)])
def test_floor_fits_any_screen(name, size):
    painted = lines(paint(shown(SCENES[name]), *size))

    assert [len(line) for line in painted] == [size[0]] * size[1]


def test_a_small_screen_keeps_clock_board_next_and_finish():
    """Key line, ring, label, rail and figure go first; these four never."""
    for size in ((60, 16), (40, 12)):
        text = "\n".join(lines(paint(shown(SCENES["left"]), *size)))

        assert "█" in text  # the clock in blocks
        assert "LEFT  ONE-ARM ROW  12 KG" in text
        assert "next  SIDE PLANK" in text
        assert "done 18:07" in text
        assert "pause" not in text
        assert "tempo" not in text


def test_states_differ_without_colour():
    """Shape alone tells the states apart, the sign cut away."""
    scenes = ("work", "recover", "break", "paused", "get-ready", "changeover")
    edges = set()
    for name in scenes:
        painted = lines(paint(shown(SCENES[name]), 80, 24))
        edges.add((painted[1][45:], "".join(line[-1] for line in painted)))

    assert len(edges) == len(scenes)
