"""What can be read from how far: computed from the cells that are really painted.

The rule is the visual angle of NUREG-0700 (Human-System Interface Design Review
Guidelines): 16 minutes of arc for a character at the least; from memory. That the
clock has 30 is our own rule. The letters are looked for in the painted cells by their
shape, whatever the table of sizes says.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from tests.support.halves import Found, find, halves, texts
from tests.support.scenes import SCENES, pair_shown, shown

from whistlestop.library import exercises
from whistlestop.library.cautions import CAUTIONS
from whistlestop.tui.floor.band import Band
from whistlestop.tui.floor.model import Board, FloorModel
from whistlestop.tui.floor.paint import paint
from whistlestop.tui.floor.paint_pair import paint_pair
from whistlestop.tui.floor.pair import PairModel
from whistlestop.tui.floor.sizes import (
    PANELS,
    TABLE,
    LaptopPanel,
    arcmin,
    least_half_lines,
    places_for,
)
from whistlestop.tui.fonts import FONTS, letter_width
from whistlestop.tui.raster import clock_lines

GRIDS = ((80, 24), (100, 30), (120, 40), (160, 50), (200, 60))
METRES = {24: 3.0, 30: 4.0, 40: 4.0, 50: 4.0, 60: 4.0}
LETTERS, CLOCK = 16.0, 30.0
SIDES = ("", "LEFT", "RIGHT", "TOGETHER")
LOADS = ("", "12 KG", "2×22.5 KG", "HEAVY BAND", "102.5 KG", "35 LB")
PAIRS = tuple(product(SIDES, LOADS))
NAMES = tuple(exercise.call_name for exercise in exercises().values())
STATES = tuple(SCENES)
CALLS = {
    one.call: one.live
    for caution in CAUTIONS.values()
    for one in (caution, *caution.others)
}
"""Each call of a caution with a sentence that stands under it."""

WIDEST = sorted(NAMES, key=lambda name: -letter_width(name, FONTS["6"]))[:2]

# What stands instead where a side and a load do not fit beside each other in letters
# of 16 minutes of arc: by people, rows of the grid, side and load.
INSTEAD = {
    (people, rows, "TOGETHER", load): ("BOTH", load)
    for people, rows, load in (
        (1, 24, "HEAVY BAND"),
        (1, 30, "HEAVY BAND"),
        (2, 24, "2×22.5 KG"),
        (2, 24, "HEAVY BAND"),
        (2, 24, "102.5 KG"),
        (2, 30, "2×22.5 KG"),
        (2, 30, "HEAVY BAND"),
        (2, 50, "HEAVY BAND"),
    )
}


def seen(found: Found | None, grid: tuple[int, int]) -> float:
    """The least minutes of arc on both panels of letters that were found."""
    assert found is not None
    return min(
        arcmin(found.height, grid[1], panel, METRES[grid[1]]) for panel in PANELS
    )


def stood(model: FloorModel, **board: object) -> FloorModel:
    """A model with another board, and a band that says no word of it."""
    return replace(model, board=replace(model.board, **board), band=Band())


def test_the_angle_is_that_of_trigonometry():
    """Worked by hand: 3.625 mm (half of 174 mm / 24) at 3 m is 4.154 minutes."""
    assert arcmin(1, 24, LaptopPanel(310, 174), 3.0) == pytest.approx(4.154, abs=0.001)
    assert arcmin(1, 24, LaptopPanel(302, 188), 3.0) == pytest.approx(4.488, abs=0.001)
    assert arcmin(9, 40, LaptopPanel(310, 174), 4.0) == pytest.approx(16.82, abs=0.01)
    assert arcmin(9, 43, LaptopPanel(310, 174), 4.0) == pytest.approx(15.65, abs=0.01)


@pytest.mark.parametrize("height", [1, 5, 9, 20, 32])
def test_the_angle_is_that_of_the_guideline(height):
    """NUREG-0700 1.3.1-4: height = 6.283 x distance x minutes of arc / 21600."""
    for panel, metres in product(PANELS, (3.0, 4.0)):
        height_mm = height * panel.height_mm / 40 / 2
        minutes = height_mm * 21_600 / (6.283 * metres * 1_000)
        assert arcmin(height, 40, panel, metres) == pytest.approx(minutes, rel=0.001)


def test_the_least_heights_follow_from_the_rule():
    """Half lines for 30, 16 and 12 minutes: 8/4/3 at 3 m on 24 rows, and so on."""
    found = {
        rows: tuple(least_half_lines(rows, of, METRES[rows]) for of in (30, 16, 12))
        for rows in METRES
    }
    assert found == {
        24: (8, 4, 3),
        30: (13, 7, 5),
        40: (17, 9, 7),
        50: (21, 11, 9),
        60: (25, 13, 10),
    }


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("state", STATES)
def test_the_widest_call_names_are_read_in_every_state(state, grid):
    assert_names_are_read(state, grid, WIDEST)


@pytest.mark.slow
@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("state", STATES)
def test_every_call_name_is_read_in_every_state(state, grid):
    assert_names_are_read(state, grid, NAMES)


def assert_names_are_read(state, grid, names):
    model = shown(SCENES[state])
    for name in names:
        painted = halves(paint(stood(model, name=name), *grid))
        assert seen(find(painted, name), grid) >= LETTERS, name


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("state", ["left", "recover", "paused"])
def test_every_side_and_load_is_read(state, grid):
    assert_sides_are_read(state, grid)


@pytest.mark.slow
@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("state", STATES)
def test_every_side_and_load_is_read_in_every_state(state, grid):
    assert_sides_are_read(state, grid)


def assert_sides_are_read(state, grid):
    model = shown(SCENES[state])
    for side, load in PAIRS:
        painted = halves(paint(stood(model, side=side, load=load), *grid))
        instead = INSTEAD.get((1, grid[1], side, load), (side, load))
        found = [find(painted, word) for word in instead if word]
        assert all(seen(one, grid) >= LETTERS for one in found), instead
        assert len({one.y for one in found}) <= 1


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("clock", ["7", "40", "1:30", "12:05"])
def test_the_clock_is_read_in_every_state(state, grid, clock):
    model = replace(shown(SCENES[state]), clock=clock)
    height, y, _ = drawn_clock(halves(paint(model, *grid)), clock, grid)
    assert y > 0
    angles = [arcmin(height, grid[1], p, METRES[grid[1]]) for p in PANELS]
    assert min(angles) >= CLOCK


def drawn_clock(lines, clock, grid):
    """Height, top and left of a clock, found by its drawing at any height."""
    for height in range(40, 9, -1):
        drawn = clock_lines(clock, width=grid[0], height=height)
        for narrower in range(len(drawn[0]), 4, -1) if drawn else ():
            tried = clock_lines(clock, width=narrower, height=height)
            if not tried or len(tried) != height:
                break
            for y in range(len(lines) - height):
                x = lines[y].find(tried[0])
                while x >= 0:
                    width = len(tried[0])
                    box = [line[x : x + width] for line in lines[y : y + height]]
                    if box == list(tried):
                        return height, y, x
                    x = lines[y].find(tried[0], x + 1)
    raise AssertionError(f"no clock {clock} on {grid}")


def two(model: PairModel, **boards: object) -> PairModel:
    people = tuple(
        replace(one, board=replace(one.board, **boards)) for one in model.people
    )
    return replace(model, people=people)


PAIR_AT = {"work": 135_000, "recover": 115_000, "switch": 149_000, "break": 300_000}


@pytest.mark.parametrize("grid", GRIDS)
def test_two_people_read_every_name_on_both_boards(grid):
    assert_both_names_are_read("recover", grid)


@pytest.mark.slow
@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("state", PAIR_AT)
def test_two_people_read_every_name_in_every_state(state, grid):
    assert_both_names_are_read(state, grid)


def assert_both_names_are_read(state, grid):
    model = pair_shown(PAIR_AT[state])
    for name in NAMES:
        painted = halves(paint_pair(two(model, name=name), *grid))
        upper = find(painted, name)
        assert seen(upper, grid) >= LETTERS, name
        lower = find(painted[upper.y + upper.height :], name)
        assert seen(lower, grid) >= LETTERS, name


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("state", ["work", "recover"])
def test_two_people_read_every_side_and_load(state, grid):
    model = pair_shown(PAIR_AT[state])
    for side, load in PAIRS:
        painted = halves(paint_pair(two(model, side=side, load=load), *grid))
        instead = INSTEAD.get((2, grid[1], side, load), (side, load))
        for word in filter(None, instead):
            assert seen(find(painted, word), grid) >= LETTERS, (side, load)


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("clock", ["9", "40", "1:30"])
def test_two_people_read_their_clock(grid, clock):
    model = pair_shown(115_000)
    model = replace(model, common=replace(model.common, clock=clock), beside=())
    height, _, _ = drawn_clock(halves(paint_pair(model, *grid)), clock, grid)
    assert min(arcmin(height, grid[1], p, METRES[grid[1]]) for p in PANELS) >= CLOCK


@pytest.mark.parametrize("grid", [(80, 24), (120, 40)])
@pytest.mark.parametrize("letters", CALLS)
def test_every_caution_is_called_in_letters(letters, grid):
    """12 minutes of arc, the band's; on the least grid the name's 16."""
    sentence = CALLS[letters]
    band = Band(letters, sentence=f"Caution: {sentence}")
    painted = paint(replace(shown(SCENES["recover"]), band=band), *grid)
    assert 0 < len(letters) <= 14
    assert seen(find(halves(painted), letters), grid) >= LETTERS
    assert sentence in "\n".join(texts(painted))


def test_the_grids_of_the_table_are_those_that_were_measured():
    assert tuple((one.columns, one.rows) for one in TABLE) == GRIDS
    assert all(places_for(*grid) in TABLE for grid in GRIDS)


@pytest.mark.parametrize("grid", [(125, 40), (145, 43), (90, 28), (110, 36), (180, 56)])
def test_between_the_grids_the_letters_follow_from_the_rule(grid):
    places = places_for(*grid)
    metres = 3.0 if grid[1] < 30 else 4.0
    assert places.metres == metres
    painted = halves(paint(shown(SCENES["left"]), *grid))
    for word in ("ONE-ARM ROW", "LEFT", "12 KG"):
        found = find(painted, word)
        angle = min(arcmin(found.height, grid[1], p, metres) for p in PANELS)
        assert angle >= LETTERS, word


def test_board_words_are_what_the_station_says():
    assert shown(SCENES["left"]).board == Board(
        "NOW  2 · One-arm row, hand on a bench · tempo 2-0-1-1",
        "ONE-ARM ROW",
        "LEFT",
        "12 KG",
        is_live=True,
    )


def documented() -> list[str]:
    """The rows of the table in DEVELOPERS.md, from the table in the code."""
    rows = []
    for one in TABLE:
        heights = (1, one.clock.height, one.name.height, one.side.height)
        heights += (one.band.height, one.sign.height, one.two.clock.height)
        heights += (one.two.height,)
        cells = []
        for height in heights:
            low, high = (arcmin(height, one.rows, p, one.metres) for p in PANELS)
            share = f"{low:.1f}–{high:.1f}"
            cells.append(share if height == 1 else f"{height}: {share}")
        least = [
            f"{least_half_lines(one.rows, minutes, one.metres)}"
            for minutes in (30, 16, 12)
        ]
        grid = f"{one.columns}×{one.rows}, {one.metres:g} m"
        rows.append(
            f"| {grid} | {' | '.join([cells[0], '/'.join(least), *cells[1:]])} |"
        )
    return rows


def test_developers_read_the_table_of_the_code():
    text = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    for row in documented():
        assert row in text, row
