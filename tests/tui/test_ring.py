"""The floor ring: every station in its place, in order, apart and told by shape."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.tui.ring import FloorRing, floor_ring


def ring(n: int, width: int, height: int, **more: bool) -> FloorRing:
    """A ring in the middle of a loop, as far as its stations allow."""
    return floor_ring(
        n,
        present=min(3, n),
        next_=4 if n > 3 else None,
        done=frozenset(range(1, min(3, n))),
        width=width,
        height=height,
        **more,
    )


BOXES = {
    "n": st.integers(1, 30),
    "width": st.integers(16, 60),
    "height": st.integers(5, 20),
    "numbers": st.booleans(),
    "ascii_only": st.booleans(),
}


@given(**BOXES)
def test_marks_never_overlap_and_never_leave_the_box(
    n: int, width: int, height: int, numbers: bool, ascii_only: bool
) -> None:
    """1 to 30 stations, from 16 by 5 to 60 by 20 cells."""
    lines, spans = ring(n, width, height, numbers=numbers, ascii_only=ascii_only)
    assert [len(line) for line in lines] == [width] * height
    assert [span.station for span in spans] == list(range(1, n + 1))
    cells = [
        (span.row, span.col + step) for span in spans for step in range(span.length)
    ]
    assert len(cells) == len(set(cells))
    assert all(0 <= row < height and 0 <= col < width for row, col in cells)
    inked = {
        (row, col)
        for row, line in enumerate(lines)
        for col, cell in enumerate(line)
        if cell != " "
    }
    assert inked == set(cells)
    if ascii_only:
        assert "".join(lines).isascii()


@given(**BOXES)
def test_stations_stand_clockwise_from_the_top(
    n: int, width: int, height: int, numbers: bool, ascii_only: bool
) -> None:
    """Seen from the middle, each station is further round than the one before."""
    _, spans = ring(n, width, height, numbers=numbers, ascii_only=ascii_only)
    middle_row, middle_col = (height - 1) / 2, (width - 1) / 2
    angles = [
        math.atan2(
            span.col + (span.length - 1) / 2 - middle_col, 2 * (middle_row - span.row)
        )
        % (2 * math.pi)
        for span in spans[1:]
    ]
    assert spans[0].row == 0
    assert abs(spans[0].col + (spans[0].length - 1) / 2 - middle_col) <= 1.5
    assert angles == sorted(angles)


@given(st.integers(1, 30), st.integers(16, 60), st.integers(5, 20), st.data())
def test_nothing_moves_as_the_session_goes_on(
    n: int, width: int, height: int, data: st.DataObject
) -> None:
    """A station's row, and its column within the mark's own width, stay."""
    stations = st.integers(1, n)
    before = ring(n, width, height).spans
    after = floor_ring(
        n,
        present=data.draw(stations | st.none()),
        next_=data.draw(stations | st.none()),
        done=data.draw(st.frozensets(stations)),
        width=width,
        height=height,
    ).spans
    for one, other in zip(before, after, strict=True):
        assert one.row == other.row
        middles = [span.col + (span.length - 1) / 2 for span in (one, other)]
        assert abs(middles[0] - middles[1]) <= 1


def test_shapes_name_the_roles_without_colour() -> None:
    """Solid, ringed, ticked, plain; in ASCII too."""
    blocks = "\n".join(ring(10, 40, 13).lines)
    assert all(mark in blocks for mark in ("1✓", "2✓", "█3█", "(4)", " 5 ", "10"))
    plain = "\n".join(ring(10, 40, 13, ascii_only=True).lines)
    assert all(mark in plain for mark in ("1+", "2+", "[3]", "(4)", " 5 "))
    marks = "".join(ring(10, 40, 13, numbers=False).lines)
    assert {mark: marks.count(mark) for mark in "█○✓·"} == {
        "█": 1,
        "○": 1,
        "✓": 2,
        "·": 6,
    }


def test_roles_stand_in_the_spans_and_the_present_one_wins() -> None:
    """A station done and begun again is shown as the present one."""
    spans = floor_ring(
        5, present=2, next_=3, done=frozenset({1, 2, 3}), width=30, height=9
    ).spans
    assert [span.role for span in spans] == [
        "done",
        "present",
        "next",
        "other",
        "other",
    ]


def test_thirty_stations_carry_numbers_on_a_large_floor_and_marks_on_a_small_one() -> (
    None
):
    """Numbers where all fit, one mark a station where they do not."""
    large, small = ring(30, 60, 20), ring(30, 16, 5)
    assert "30" in "\n".join(large.lines)
    assert all(span.length == 1 for span in small.spans)
    assert not any(cell.isdigit() for cell in "".join(small.lines))


@pytest.mark.parametrize("size", [(0, 0), (1, 1), (5, 2), (-3, 4)])
def test_a_box_without_room_gives_no_lines(size: tuple[int, int]) -> None:
    """The ring is dropped whole, never cut."""
    assert ring(30, *size) == FloorRing((), ())


@pytest.mark.parametrize(
    ("n", "present", "done"),
    [(0, None, ()), (31, None, ()), (5, 6, ()), (5, 0, ()), (5, 1, (9,))],
)
def test_stations_out_of_range_are_refused(
    n: int, present: int | None, done: tuple[int, ...]
) -> None:
    """A number that is not on the floor is an error, not a silent gap."""
    with pytest.raises(ValueError, match="stations"):
        floor_ring(
            n, present=present, next_=None, done=frozenset(done), width=40, height=9
        )
