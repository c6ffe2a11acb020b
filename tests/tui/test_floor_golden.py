"""The Floor as lines of text, at three sizes: each was looked at before it was kept."""

from __future__ import annotations

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
    """Contract: key line, ring, tempo, progress go first; these four never."""
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


def test_clock_is_seven_rows_or_more_from_the_floor_size_up():
    """Trade facts 7.2: 7 cells give 36 arcmin at 4 m (NUREG-0700 form)."""
    for size in ((80, 24), (120, 40), (200, 60), (100, 30)):
        for name in ("work", "left", "recover", "break"):
            painted = lines(paint(shown(SCENES[name]), *size))
            filled = [
                line for line in painted if line.count("█") + line.count("▀") >= 4
            ]
            assert len(filled) >= 12, (name, size)  # 5 of the name, 7 of the clock
