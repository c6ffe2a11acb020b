"""State frames: told apart by shape alone, always exactly as large as asked."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.tui.frames import KINDS, FrameKind, fit_cells, frame, track

SIZES = (st.integers(-1, 240), st.integers(-1, 70))


def drawn(kind: FrameKind, *, ascii_only: bool = False) -> tuple[str, ...]:
    """A frame without any word in it."""
    return frame(
        kind, 60, 12, title="", progress_permille=400, live=0, ascii_only=ascii_only
    )


@given(
    st.sampled_from(KINDS),
    *SIZES,
    st.text(max_size=300),
    st.none() | st.integers(-5, 1005),
    st.booleans(),
)
def test_a_frame_is_exactly_as_large_as_asked(
    kind: FrameKind,
    width: int,
    height: int,
    title: str,
    permille: int | None,
    ascii_only: bool,
) -> None:
    """Any title, any size: `height` lines of `width` cells, or none at all."""
    lines = frame(
        kind,
        width,
        height,
        title=title,
        progress_permille=permille,
        side_labels=("LEFT", "RIGHT"),
        live=1,
        ascii_only=ascii_only,
    )
    if width < 1 or height < 1:
        assert lines == ()
        return
    assert [len(line) for line in lines] == [width] * height
    assert all(character.isprintable() for line in lines for character in line)
    if ascii_only:
        assert "".join(lines).isascii()


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize(("one", "other"), list(combinations(KINDS, 2)))
def test_kinds_differ_by_shape_without_word_or_colour(
    one: FrameKind, other: FrameKind, ascii_only: bool
) -> None:
    """Title and colour removed, a third of either frame's edge still differs."""
    first, second = (drawn(kind, ascii_only=ascii_only) for kind in (one, other))
    cells = list(zip("".join(first), "".join(second), strict=True))
    edge = [pair for pair in cells if pair != (" ", " ")]
    differing = [pair for pair in edge if pair[0] != pair[1]]
    assert len(differing) >= len(edge) / 3


@pytest.mark.parametrize("kind", KINDS)
def test_the_title_stands_in_the_top_line_when_there_is_room(kind: FrameKind) -> None:
    """Every state has its word, in a fixed place."""
    lines = frame(kind, 40, 8, title="STATE", side_labels=("L", "R"), live=0)
    assert "STATE" in lines[0]


def test_the_switch_names_the_live_side_in_the_solid_pane() -> None:
    """Two panes with a gap between; only the live one is solid."""
    left = frame("switch", 61, 6, title="SWITCH", side_labels=("LEFT", "RIGHT"), live=0)
    assert left[0].startswith("█▀ SWITCH LEFT ▀")
    assert left[0].endswith("┐")
    assert "┌─ RIGHT ─" in left[0]
    right = frame(
        "switch", 61, 6, title="SWITCH", side_labels=("LEFT", "RIGHT"), live=1
    )
    assert right[0].startswith("┌─ LEFT ─")
    assert "█▀ SWITCH RIGHT ▀" in right[0]
    assert {line[30] for line in right} == {" "}


@pytest.mark.parametrize(
    ("width", "top"),
    [
        (15, "┌─ RIGHT ─────┐"),
        (22, "┌─ SWITCH RIGHT ─────┐"),
        (23, "┌─ LEFT ──┐ █▀ RIGHT ▀█"),
        (29, "┌─ LEFT ─────┐ █▀ RIGHT ▀▀▀▀█"),
        (37, "┌─ LEFT ─────────┐ █▀ SWITCH RIGHT ▀█"),
    ],
)
def test_where_room_is_short_the_side_outlives_the_word(width: int, top: str) -> None:
    """The live side is what the athlete needs; it is the last thing to go."""
    lines = frame(
        "switch", width, 4, title="SWITCH", side_labels=("LEFT", "RIGHT"), live=1
    )
    assert lines[0] == top


def test_a_break_is_open_and_work_is_closed() -> None:
    """The middle of every side of a break is blank, and of work inked."""
    for kind, is_open in (("break", True), ("work", False)):
        lines = frame(kind, 60, 12, title="", progress_permille=500)
        middles = (lines[0][30], lines[-1][30], lines[6][0], lines[6][-1])
        assert [cell == " " for cell in middles] == [is_open] * 4


@given(st.integers(1, 240), st.integers(0, 999))
def test_the_track_only_grows(width: int, permille: int) -> None:
    """Its filled length in eighths of a cell is the share, rounded down."""
    eighths = " ▏▎▍▌▋▊▉█"
    for part in (permille, permille + 1):
        line = track(width, part)
        filled = sum(eighths.index(cell) for cell in line if cell != "─")
        assert len(line) == width
        assert filled == width * 8 * part // 1000


def test_the_track_is_held_to_its_ends() -> None:
    """Empty is all rail, full is all block, beyond is full, in both alphabets."""
    assert track(4, -20) == track(4, 0) == "────"
    assert track(4, 1000) == track(4, 5000) == "████"
    assert track(4, 500) == "██──"
    assert track(4, 540) == "██▏─"  # 17.28 eighths, rounded down
    assert track(4, 500, ascii_only=True) == "##--"
    assert track(0, 500) == ""


def test_recovery_dots_grow_with_the_progress() -> None:
    """None at the start, all at the end, and it stays dotted."""
    feet = [
        frame("recover", 41, 5, title="", progress_permille=permille)[-1]
        for permille in (0, 500, 1000)
    ]
    assert [foot.count("█") for foot in feet] == [0, 10, 21]
    assert all("██" not in foot for foot in feet)


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


def test_unknown_kinds_and_sides_are_refused() -> None:
    """The error says what there is."""
    with pytest.raises(ValueError, match="get_ready"):
        frame("stop", 20, 5, title="")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="number 2"):
        frame("switch", 40, 5, title="", side_labels=("LEFT", "RIGHT"), live=2)
