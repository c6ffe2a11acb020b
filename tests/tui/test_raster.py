"""The clock's figures: they fit, they are legible, they do not jump."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.strokes import holes, pixels, regions

from whistlestop.tui.figures import FIGURES
from whistlestop.tui.raster import LEAST_HEIGHT, clock_lines

# Closed spaces in each figure as people write it (common practice, no source).
HOLES = {"0": 1, "4": 1, "6": 1, "8": 2, "9": 1} | dict.fromkeys("12357", 0)
DRAWN = (
    "    ###   ########",
    "    ###   ########",
    "   ####        ###",
    "   ####        ## ",
    "  ## ##        ## ",
    " ### ##       ### ",
    " ##  ##       ##  ",
    "###  ##       ##  ",
    "########     ###  ",
    "########     ##   ",
    "     ##      ##   ",
    "     ##     ###   ",
    "     ##     ##    ",
)
CLOCKS = st.from_regex(r"[0-9]{1,2}(:[0-5][0-9])?|[0-9]?½", fullmatch=True)


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("height", range(LEAST_HEIGHT, 61))
@pytest.mark.parametrize("name", FIGURES)
def test_each_figure_is_one_stroke_with_its_own_closed_spaces(
    name: str, height: int, ascii_only: bool
) -> None:
    """3 is never closed like 8, 6 and 9 never open, 1 and 7 have no eye."""
    for width in (height, 3 * height):
        lines = clock_lines(name, width=width, height=height, ascii_only=ascii_only)
        whole = 10 if height < 14 else height // 2 * 2
        assert len(lines) == (whole if ascii_only else height)
        assert regions(pixels(lines), diagonal=True) == 1
        # The four of letters is open, and has no eye.
        is_open_four = name == "4" and len(lines) < 13
        assert holes(lines) == (0 if is_open_four else HOLES[name])


@pytest.mark.parametrize("height", [10, 13, 16, 20, 24, 32, 40])
@pytest.mark.parametrize(("one", "other"), list(combinations(FIGURES, 2)))
def test_two_figures_differ_in_a_twelfth_of_their_ink(
    one: str, other: str, height: int
) -> None:
    """No pair can be taken for another for the sake of a few pixels."""
    first = pixels(clock_lines(one, width=99, height=height))
    second = pixels(clock_lines(other, width=99, height=height))
    assert len(first ^ second) >= 1 / 12 * len(first | second)


@given(CLOCKS, st.integers(1, 240), st.integers(1, 140), st.booleans())
def test_clock_keeps_to_its_box(
    text: str, width: int, height: int, ascii_only: bool
) -> None:
    """Lines are equally wide and never leave the box, at any size."""
    lines = clock_lines(text, width=width, height=height, ascii_only=ascii_only)
    if not lines:
        least = 4 * LEAST_HEIGHT
        assert height < LEAST_HEIGHT or width < least
        return
    assert LEAST_HEIGHT <= len(lines) <= height
    assert len({len(line) for line in lines}) == 1
    assert len(lines[0]) <= width
    assert set("".join(lines)) <= set("# ")
    if ascii_only:
        assert lines[::2] == lines[1::2], "whole rows"


@given(
    st.integers(0, 59),
    st.integers(0, 59),
    st.integers(40, 200),
    st.integers(LEAST_HEIGHT, 80),
)
def test_clock_does_not_jump(one: int, other: int, width: int, height: int) -> None:
    """Two times of one length are drawn at one size: the figures are tabular."""
    sizes = {
        (len(lines), len(lines[0]))
        for lines in (
            clock_lines(f"4:{second:02}", width=width, height=height)
            for second in (one, other)
        )
    }
    assert len(sizes) == 1


@pytest.mark.parametrize("height", range(LEAST_HEIGHT, 80, 5))
def test_upright_strokes_are_two_cells_or_more(height: int) -> None:
    """A cell is about 1:2, so an upright stroke of one cell would be too thin."""
    middle = clock_lines("0", width=200, height=height)[height // 2]
    runs = [len(run) for run in middle.split()]
    assert len(runs) == 2
    assert min(runs) >= 2


def test_clock_at_thirteen_half_lines_is_the_agreed_drawing() -> None:
    """A golden drawing: a changed figure is seen, not slipped in."""
    assert clock_lines("47", width=76, height=13) == DRAWN


@pytest.mark.parametrize("bad", ["", "a", "1;2", "\x1b[2J", "\uff11"])
def test_clock_refuses_other_characters(bad: str) -> None:
    """A clock is figures and its marks; anything else is named in the error."""
    with pytest.raises(ValueError, match="a clock has figures"):
        clock_lines(bad, width=40, height=18)
