"""State frames: told apart by shape alone, inside their edges, and growing."""

from __future__ import annotations

from itertools import combinations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.tui.canvas import Canvas
from whistlestop.tui.frames import KINDS, Edges, FrameKind, fit_cells, frame, track

WIDE = Edges(120, 2, 38, 1, 2, (4, 40))


def drawn(
    kind: FrameKind,
    edges: Edges = WIDE,
    *,
    permille: int | None = 400,
    live: int | None = 1,
    parts: int = 2,
) -> list[str]:
    """The rows of a frame as characters."""
    canvas = Canvas(edges.width, edges.last + 1, ascii_only=edges.ascii_only)
    made = frame(kind, edges, permille=permille, live=live, parts=parts)
    for box in made.boxes:
        canvas.fill(*box, "work")
    for x, row, text in made.texts:
        canvas.put(x, row, text, "work")
    return ["".join(run.text for run in row) for row in canvas.rows()]


@given(
    st.sampled_from(KINDS),
    st.integers(80, 240),
    st.integers(24, 80),
    st.integers(1, 2),
    st.integers(2, 4),
    st.none() | st.integers(-5, 1005),
    st.integers(2, 3),
)
def test_a_frame_stays_within_its_edges(  # noqa: PLR0917
    kind: FrameKind,
    width: int,
    last: int,
    thickness: int,
    dot: int,
    permille: int | None,
    parts: int,
) -> None:
    """Boxes lie inside, and nothing stands in the gap of the sign."""
    edges = Edges(width, 1, last, thickness, dot, (2, 40))
    made = frame(kind, edges, permille=permille, parts=parts, live=0)
    for x, y, wide, high in made.boxes:
        assert 0 <= x <= x + wide <= width
        assert edges.top <= y <= y + high <= edges.bottom
        assert wide >= 0
        assert high > 0
        is_on_top = y < edges.top + 2 * thickness < edges.bottom - 2 * thickness
        if is_on_top and high <= 2 * thickness:
            assert x + wide <= max(2, 2 * thickness) or x >= 40 - dot
    for x, row, text in made.texts:
        assert 0 <= x <= x + len(text) <= width
        assert edges.first <= row <= edges.last


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize(("one", "other"), list(combinations(KINDS, 2)))
def test_kinds_differ_by_shape_without_word_or_colour(
    one: FrameKind, other: FrameKind, ascii_only: bool
) -> None:
    """A third of either frame's cells differs."""
    edges = Edges(120, 2, 38, 1, 2, (4, 40), ascii_only=ascii_only)
    first, second = ("".join(drawn(kind, edges)) for kind in (one, other))
    if ascii_only:
        assert first.isascii()
    edge = [pair for pair in zip(first, second, strict=True) if pair != (" ", " ")]
    differing = [pair for pair in edge if pair[0] != pair[1]]
    assert len(differing) >= len(edge) / 3


def test_a_break_is_open_and_work_is_closed() -> None:
    """The middle of every side of a break is blank, and of work inked."""
    for kind, is_open in (("break", True), ("work", False)):
        lines = drawn(kind, permille=500)
        middles = (lines[2][60], lines[-1][60], lines[20][0], lines[20][-1])
        assert [cell == " " for cell in middles] == [is_open] * 4


@pytest.mark.parametrize(("kind", "mark"), [("work", "█"), ("recover", "█")])
def test_the_foot_grows_with_the_progress(kind: FrameKind, mark: str) -> None:
    feet = [drawn(kind, permille=part)[-1] for part in (0, 300, 700, 1000)]
    grown = [foot.count(mark) for foot in feet]
    assert grown == sorted(grown)
    assert len(set(grown)) == 4


@pytest.mark.parametrize(("dot", "width"), list(product((2, 3, 4), range(80, 210, 7))))
def test_dots_are_whole_and_never_touch(dot: int, width: int) -> None:
    """Two dots joined, or a short blank between them, read as a line from afar.

    A wide one reads as a split, so none is wider than the others by more than two.
    """
    lines = drawn("recover", Edges(width, 1, 40, 1, dot, (2, 20)), permille=0)
    foot = lines[-1].replace("█", "▄")
    assert {len(run) for run in foot.split()} == {dot}
    blanks = [len(blank) for blank in foot.split("▄") if blank]
    assert min(blanks) >= dot
    assert max(blanks) - min(blanks) <= 2
    assert lines[-1][0] != " "
    assert lines[-1][-1] != " "


def test_no_dot_stands_close_to_the_sign() -> None:
    for dot in (2, 3, 4):
        top = drawn("recover", Edges(120, 2, 38, 1, dot, (4, 40)))[2]
        assert top[6:38].strip() == ""
        assert not top[max(1, 6 - dot) : 38 + dot].strip()


@pytest.mark.parametrize("live", [0, 1])
def test_the_live_half_of_a_switch_is_heavy_the_other_thin(live: int) -> None:
    lines = drawn("switch", live=live)
    heavy, thin = (lines[-1][:58], lines[-1][62:])[:: 1 if live == 0 else -1]
    assert set(heavy) == {"█"}
    assert set(thin) <= set("─└┘")
    assert {line[59] for line in lines} == {" "}


def test_a_switch_of_nobodys_side_is_heavy_on_both() -> None:
    foot = drawn("switch", live=None)[-1]
    assert set(foot.strip().replace(" ", "")) == {"█"}
    assert foot.count(" ") == 4


def test_a_switch_of_three_has_three_parts_and_an_open_middle() -> None:
    lines = drawn("switch", parts=3, live=1)
    assert [set(piece) for piece in lines[-1].split()][1] == {"█"}
    assert len(lines[-1].split()) == 3
    assert lines[20].strip() == "│" + " " * 118 + "│"


def test_the_track_is_held_to_its_ends() -> None:
    """Empty is all rail, full is heavy, beyond is full, in both alphabets."""
    assert track(4, -20) == track(4, 0) == "────"
    assert track(4, 1000) == track(4, 5000) == "━━━━"
    assert track(4, 500) == "━━──"
    assert track(4, 500, ascii_only=True) == "==--"
    assert track(0, 500) == ""


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("\x1b[31mRED", "?[31mRED"),
        ("a\u202eb", "a?b"),
        ("平衡", "??"),
        ("e\u0301", "e?"),
        ("ABCDEFGHIJK", "ABCDEFGHI…"),
    ],
)
def test_a_hostile_name_cannot_bend_a_line(name: str, shown: str) -> None:
    """Controls, direction marks, wide and combining characters become '?'."""
    assert fit_cells(name, 10) == shown
