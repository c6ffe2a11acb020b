"""Block letters and clock figures: they fit, they are legible, they do not jump."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.tui.figures import FIGURES
from whistlestop.tui.glyphs import BOLD, NARROW, REPERTOIRE, SMALL, fold_pairs
from whistlestop.tui.raster import block_text, clock_digits

# Closed spaces in each figure as people write it (common practice, no source).
HOLES = {"0": 1, "4": 1, "6": 1, "8": 2, "9": 1} | dict.fromkeys("12357", 0)
FONTS = {"bold": BOLD, "narrow": NARROW, "small": SMALL}
CLOCKS = st.from_regex(r"[0-9]{1,2}(:[0-5][0-9])?|[0-9]?½", fullmatch=True)


def pixels(lines: tuple[str, ...]) -> set[tuple[int, int]]:
    """Unfold cells to inked (row, column) pixels, two rows a cell."""
    inked = set()
    for row, line in enumerate(lines):
        for column, cell in enumerate(line):
            inked |= {(2 * row, column)} if cell in "█▀#" else set()
            inked |= {(2 * row + 1, column)} if cell in "█▄#" else set()
    return inked


def regions(cells: set[tuple[int, int]], *, diagonal: bool) -> int:
    """Count connected regions of pixels."""
    steps = [(0, 1), (1, 0), (0, -1), (-1, 0)]
    steps += [(1, 1), (1, -1), (-1, 1), (-1, -1)] if diagonal else []
    left, count = set(cells), 0
    while left:
        count += 1
        queue = [left.pop()]
        while queue:
            row, column = queue.pop()
            for down, across in steps:
                near = (row + down, column + across)
                if near in left:
                    left.remove(near)
                    queue.append(near)
    return count


def holes(lines: tuple[str, ...]) -> int:
    """Count the closed spaces inside the ink (the space outside is not one)."""
    inked = pixels(lines)
    blank = {
        (row, column)
        for row in range(-1, 2 * len(lines) + 1)
        for column in range(-1, len(lines[0]) + 1)
    } - inked
    return regions(blank, diagonal=False) - 1


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("rows", range(5, 31))
@pytest.mark.parametrize("name", FIGURES)
def test_each_figure_is_one_stroke_with_its_own_closed_spaces(
    name: str, rows: int, ascii_only: bool
) -> None:
    """3 is never closed like 8, 6 and 9 never open, 1 and 7 have no eye."""
    for width in (rows, 3 * rows):
        lines = clock_digits(name, width=width, height=rows, ascii_only=ascii_only)
        assert len(lines) in range(min(rows, 5), rows + 1)
        assert regions(pixels(lines), diagonal=True) == 1
        # The small font has the open four, which has no eye.
        is_open_four = name == "4" and len(lines) < 7
        assert holes(lines) == (0 if is_open_four else HOLES[name])


@pytest.mark.parametrize("rows", [7, 8, 10, 12, 20])
@pytest.mark.parametrize(("one", "other"), list(combinations(FIGURES, 2)))
def test_two_figures_differ_in_a_tenth_of_their_ink(
    one: str, other: str, rows: int
) -> None:
    """No pair can be taken for another for the sake of a few pixels."""
    first = pixels(clock_digits(one, width=99, height=rows))
    second = pixels(clock_digits(other, width=99, height=rows))
    assert len(first ^ second) >= 0.1 * len(first | second)


@given(CLOCKS, st.integers(1, 240), st.integers(1, 70), st.booleans())
def test_clock_keeps_to_its_box(
    text: str, width: int, height: int, ascii_only: bool
) -> None:
    """Lines are equally wide and never leave the box, at any size."""
    lines = clock_digits(text, width=width, height=height, ascii_only=ascii_only)
    assert 1 <= len(lines) <= height
    assert len({len(line) for line in lines}) == 1
    assert len(lines[0]) <= width
    if ascii_only:
        assert "".join(lines).isascii()


@given(
    st.integers(0, 59),
    st.integers(0, 59),
    st.integers(24, 200),
    st.integers(5, 40),
)
def test_clock_does_not_jump(one: int, other: int, width: int, height: int) -> None:
    """Two times of one length are drawn at one size: the figures are tabular."""
    sizes = {
        (len(lines), len(lines[0]))
        for lines in (
            clock_digits(f"4:{second:02}", width=width, height=height)
            for second in (one, other)
        )
    }
    assert len(sizes) == 1


@pytest.mark.parametrize(
    ("text", "width", "height", "least"),
    [("12:05", 76, 12, 11), ("0:40", 76, 9, 9), ("0:40", 118, 24, 20), ("7", 76, 7, 7)],
)
def test_clock_is_seven_rows_or_more_where_the_box_allows(
    text: str, width: int, height: int, least: int
) -> None:
    """7 rows: 36 minutes of arc at 4 m on 30 rows; 16 is the least (NUREG-0700)."""
    assert least <= len(clock_digits(text, width=width, height=height)) <= height


@pytest.mark.parametrize("rows", range(7, 40, 3))
def test_upright_strokes_are_two_cells_or_more(rows: int) -> None:
    """A cell is about 1:2, so an upright stroke of one cell would be too thin."""
    lines = clock_digits("0", width=200, height=rows)
    middle = lines[rows // 2].replace("▀", "█").replace("▄", "█")
    runs = [len(run) for run in middle.split()]
    assert len(runs) == 2
    assert min(runs) >= 2


def test_clock_at_seven_rows_is_the_agreed_drawing() -> None:
    """A golden drawing: a changed figure is seen, not slipped in."""
    assert clock_digits("0:47", width=76, height=7) == (
        " ▄█████▄            ███   █████████",
        "▄█▀   ▀█▄  ▄▄     ▄████         ██▀",
        "██     ██  ▀▀    ▄██ ██        ▄██ ",
        "██     ██       ▄█▀  ██        ██  ",
        "██     ██  ▄▄  ███▄▄▄██▄      ██▀  ",
        "▀█▄   ▄█▀  ▀▀  ▀▀▀▀▀▀██▀     ██▀   ",
        " ▀█████▀             ██     ▄██    ",
    )


@pytest.mark.parametrize("bad", ["", "a", "1;2", "\x1b[2J", "\uff11"])
def test_clock_refuses_other_characters(bad: str) -> None:
    """A clock is figures and its marks; anything else is named in the error."""
    with pytest.raises(ValueError, match="a clock has figures"):
        clock_digits(bad, width=40, height=9)


@pytest.mark.parametrize("font", FONTS)
def test_font_draws_the_whole_repertoire_in_equal_lines(font: str) -> None:
    """Every character has a glyph; lines are equal; no two glyphs are alike."""
    glyphs = FONTS[font]
    assert set(glyphs) == set(REPERTOIRE)
    rows = 3 if font == "small" else 5
    for name, glyph in glyphs.items():
        assert len(glyph) == rows, name
        assert len({len(line) for line in glyph}) == 1, name
        assert set("".join(glyph)) <= set(" █▀▄"), name
    assert len(set(glyphs.values())) == len(glyphs)


@pytest.mark.parametrize("font", FONTS)
def test_letters_have_their_closed_spaces(font: str) -> None:
    """A, D, O, P, R and Q have one eye, B two, the open letters none."""
    eyes = (
        dict.fromkeys("ADOPRQ", 1) | {"B": 2} | dict.fromkeys("CEFGHIJKLMNSTUVXYZ", 0)
    )
    for letter, expected in eyes.items():
        assert holes(FONTS[font][letter]) == expected, letter


@given(
    st.text(alphabet=REPERTOIRE, max_size=40),
    st.integers(1, 240),
    st.integers(1, 24),
    st.booleans(),
)
def test_block_text_keeps_to_its_box(
    text: str, width: int, rows: int, ascii_only: bool
) -> None:
    """Any folded text at any size: equal lines, no overflow, never nothing."""
    lines = block_text(text, max_width=width, max_rows=rows, ascii_only=ascii_only)
    assert 1 <= len(lines) <= rows
    assert len({len(line) for line in lines}) == 1
    assert len(lines[0]) <= width
    if ascii_only:
        assert "".join(lines).isascii()
    if len(lines) > 1:
        assert set("".join(lines)) <= set(" #" if ascii_only else " █▀▄")


def test_block_text_goes_down_the_ladder_as_the_box_narrows() -> None:
    """10 rows, 5, 3, the text, the text cut: in that order and no other."""
    heights = [
        len(block_text("SIDE PLANK", max_width=width, max_rows=10))
        for width in range(160, 0, -1)
    ]
    assert heights == sorted(heights, reverse=True)
    assert set(heights) == {10, 5, 3, 1}
    assert block_text("side plank", max_width=10, max_rows=1) == ("SIDE PLANK",)
    assert block_text("SIDE PLANK", max_width=6, max_rows=1) == ("SIDE …",)
    assert block_text("SIDE PLANK", max_width=1, max_rows=1) == ("…",)
    assert block_text("SIDE PLANK", max_width=0, max_rows=1) == ()


def test_a_call_name_of_eleven_letters_is_bold_at_eighty_columns() -> None:
    """The floor of 80 columns carries 'SPLIT SQUAT' on two-cell stems."""
    lines = block_text("SPLIT SQUAT", max_width=80, max_rows=5)
    assert len(lines) == 5
    assert lines[4].startswith("█████   ██")


def test_twice_the_size_is_the_same_drawing() -> None:
    """At 10 rows every pixel of the 5-row drawing has become four."""
    small = pixels(block_text("A½", max_width=25, max_rows=5))
    large = pixels(block_text("A½", max_width=50, max_rows=10))
    assert large == {
        (2 * row + down, 2 * column + across)
        for row, column in small
        for down in (0, 1)
        for across in (0, 1)
    }


def test_ascii_has_no_half_row_size_and_writes_a_half_out() -> None:
    """'#' only; where 5 rows do not fit the plain text comes."""
    assert block_text("6½", max_width=9, max_rows=4, ascii_only=True) == ("6.5",)
    assert block_text("PLANK", max_width=4, max_rows=4, ascii_only=True) == ("PLA~",)
    assert "#" in block_text("6", max_width=9, max_rows=5, ascii_only=True)[0]


def test_unfolded_text_is_refused_by_code_point() -> None:
    """A hostile name cannot reach the screen through the block font."""
    with pytest.raises(ValueError, match=r"U\+001B"):
        block_text("A\x1b", max_width=80, max_rows=5)


def test_fold_pairs_fills_an_odd_line_with_blank() -> None:
    """Three lines make two rows; the last half row is empty."""
    assert fold_pairs(("# ", "##", " #")) == ("█▄", " ▀")
    assert fold_pairs(()) == ()
