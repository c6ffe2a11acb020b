"""The letters of every height: whole, distinct, as wide as the check counts them."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.strokes import holes, pixels

from whistlestop.domain.text import call_name_cells
from whistlestop.library import exercises
from whistlestop.tui.fonts import (
    FONTS,
    WHOLE_ROWS,
    Font,
    first_that_fits,
    letter_lines,
    letter_width,
)
from whistlestop.tui.glyphs import REPERTOIRE

EVERY = {**FONTS, "ascii": WHOLE_ROWS}
HEIGHTS = {"14": 14, "13": 13, "12": 12, "11": 11, "10": 10, "9": 9, "9n": 9, "7": 7}
HEIGHTS |= {"6": 6, "6n": 6, "5": 5, "5n": 5, "ascii": 10}
# Closed spaces of letters as people write them (common practice, no source).
EYES = dict.fromkeys("ADOPRQ", 1) | {"B": 2} | dict.fromkeys("CEFGHIJKLMNSTUVXYZ", 0)


@pytest.mark.parametrize("name", EVERY)
def test_a_font_draws_the_whole_repertoire_at_its_height(name: str) -> None:
    font = EVERY[name]
    assert font.height == HEIGHTS[name]
    written_out = {"½"} if font is WHOLE_ROWS else set()
    assert set(font.letters) == set(REPERTOIRE) - written_out
    for letter, glyph in font.letters.items():
        assert len(glyph) == font.height, letter
        assert len({len(line) for line in glyph}) == 1, letter
        assert set("".join(glyph)) <= set("# "), letter
    assert len(set(font.letters.values())) == len(font.letters)


def test_the_ladder_goes_from_the_largest_down() -> None:
    heights = [font.height for font in FONTS.values()]
    assert heights == sorted(heights, reverse=True)


@pytest.mark.parametrize("name", EVERY)
def test_letters_have_their_closed_spaces(name: str) -> None:
    """A, D, O, P, R and Q have one eye, B two, the open letters none."""
    for letter, expected in EYES.items():
        assert holes(letter_lines(letter, EVERY[name])) == expected, letter


@pytest.mark.parametrize("name", EVERY)
def test_two_letters_differ_in_a_twentieth_of_their_ink(name: str) -> None:
    for one, other in combinations(sorted(set(EVERY[name].letters) - {" "}), 2):
        first, second = (pixels(EVERY[name].letters[c]) for c in (one, other))
        assert len(first ^ second) >= 0.05 * len(first | second), (one, other)


@given(st.text(alphabet=REPERTOIRE, max_size=20), st.sampled_from(list(EVERY.values())))
def test_a_line_of_letters_begins_and_ends_in_ink(text: str, font: Font) -> None:
    lines = letter_lines(text, font)
    if not text.strip():
        assert lines == ()
        return
    assert len(lines) == font.height
    assert {len(line) for line in lines} == {letter_width(text, font)}
    assert any(line[0] == "#" for line in lines)
    assert any(line[-1] == "#" for line in lines)


def test_the_first_font_of_a_ladder_that_fits_is_taken() -> None:
    ladder = (FONTS["10"], FONTS["9"], FONTS["9n"])
    widths = [letter_width("SIDE PLANK", font) for font in ladder]
    assert widths == sorted(widths, reverse=True)
    for font, width in zip(ladder, widths, strict=True):
        assert first_that_fits("SIDE PLANK", ladder, width) is font
    assert first_that_fits("SIDE PLANK", ladder, widths[-1] - 1) is None


def test_whole_rows_are_pairs_of_half_lines_and_write_a_half_out() -> None:
    lines = letter_lines("6½", WHOLE_ROWS)
    assert lines[::2] == lines[1::2]
    assert lines == letter_lines("6.5", WHOLE_ROWS)


def test_unfolded_text_is_refused_by_code_point() -> None:
    """A hostile name cannot reach the screen through the letters."""
    with pytest.raises(ValueError, match=r"U\+001B"):
        letter_lines("A\x1b", FONTS["6"])


@given(st.text(alphabet="ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 -", max_size=14))
def test_a_call_name_is_as_wide_as_the_circuit_check_says(name: str) -> None:
    """The narrowest letters a name is ever set in; trimmed, `1` may be less."""
    folded = " ".join(name.split()).strip(" -")
    cells = call_name_cells(folded)
    assert cells - 2 <= letter_width(folded, FONTS["6n"]) <= cells
    assert cells - 2 <= letter_width(folded, FONTS["5n"]) <= cells


def test_every_call_name_of_the_library_has_room_for_two_people() -> None:
    """65 columns: 80 less both margins and the tile."""
    assert all(call_name_cells(one.call_name) <= 65 for one in exercises().values())
