"""The Floor as lines of text, at three sizes: each was looked at before it was kept."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tests.support.golden import same_as_golden
from tests.support.scenes import SCENES, shown

from whistlestop.tui.canvas import Rows
from whistlestop.tui.floor.paint import paint

SIZES = ((80, 24), (120, 40), (200, 60))


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


def test_small_screen_keeps_clock_side_name_and_next():
    """Key line, ring, tempo and progress go first; these four never."""
    for size in ((80, 24), (60, 16), (40, 12)):
        text = "\n".join(lines(paint(shown(SCENES["left"]), *size)))

        assert "█" in text  # the clock in blocks
        assert "LEFT" in text
        assert "next" in text
        assert "Side plank" in text
    narrow = "\n".join(lines(paint(shown(SCENES["left"]), 40, 12)))
    assert "pause" not in narrow
    assert "tempo" not in narrow


def test_states_differ_without_colour():
    """Word and shape alone tell the states apart."""
    scenes = ("work", "recover", "break", "paused", "get-ready", "changeover", "hold")
    tops = {
        name: lines(paint(shown(SCENES[name]), 80, 24))[1].replace(" ", "")[:40]
        for name in scenes
    }

    assert len(set(tops.values())) == len(scenes)


def clock_rows(model, width, height):
    """How many rows the clock takes: what changes from figure 1 to figure 8."""
    ones, eights = (
        lines(paint(replace(model, clock=re.sub(r"\d", d, model.clock)), width, height))
        for d in "18"
    )
    changed = [y for y in range(height) if ones[y] != eights[y]]
    return changed[-1] - changed[0] + 1


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60), (100, 30)])
@pytest.mark.parametrize("name", ["work", "left", "recover", "break"])
def test_clock_is_seven_rows_and_36_minutes_of_arc_or_more_at_4_m(name, size):
    """NUREG-0700 1.3.1-4: height = 6.283 x distance x minutes of arc / 21600.

    On a 14-inch panel of 16:10 the rows share 188 mm, less about a twentieth for
    what surrounds a terminal: 7 of 30 rows are 41 mm, 36 minutes of arc at 4 m.
    """
    rows = clock_rows(shown(SCENES[name]), *size)
    clock_mm = rows * 0.95 * 188 / size[1]

    assert rows >= 7
    assert round(clock_mm * 21_600 / (6.283 * 4_000)) >= 36
