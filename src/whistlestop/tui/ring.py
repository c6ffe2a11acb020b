"""The floor ring: stations set round an oval as they stand on the floor.

Owns places and marks. It shows stations and never time; roles name the cells that a
widget may colour, and every role differs in shape without colour.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise
from typing import Final, Literal, NamedTuple

Role = Literal["present", "next", "done", "other"]

MOST_STATIONS: Final = 30
_DOTS: Final = 60
_STEPS: Final = 1440  # points of the oval that are measured, four to a degree
_SQUARENESS: Final = (2.0, 2.6, 4.0, 8.0)  # from an oval to a box with round corners


class RingSpan(NamedTuple):
    """The cells of one station's mark: one row, `length` cells from `col`."""

    row: int
    col: int
    length: int
    role: Role
    station: int


class FloorRing(NamedTuple):
    """The ring as text lines, and the spans of its stations in floor order."""

    lines: tuple[str, ...]
    spans: tuple[RingSpan, ...]


_NO_ROOM: Final = FloorRing((), ())


class _Slots(NamedTuple):
    """A left column and row for each station; `cells` is the room each one has."""

    cells: int
    places: tuple[tuple[int, int], ...]


def floor_ring(  # noqa: PLR0913 -- all but one go by name
    n: int,
    *,
    present: int | None,
    next_: int | None,
    done: frozenset[int],
    width: int,
    height: int,
    numbers: bool = True,
    ascii_only: bool = False,
) -> FloorRing:
    """Set `n` stations (1 to 30) clockwise round a box of cells, station 1 on top.

    The present station is solid, the next one ringed, done ones ticked. Numbers are
    shown where all of them fit with a cell between; otherwise one mark a station.
    Places depend on the box and `n` only, so nothing moves as the session goes on.
    A box too small for the marks gives no lines. Raises ValueError for a number of
    stations, or a station, out of range.
    """
    _check(n, present, next_, done)
    numbered = _numbered_slots(n, width, height) if numbers else None
    slots = numbered or _mark_slots(n, width, height)
    if slots is None:
        return _NO_ROOM
    grid = [[" "] * width for _ in range(height)]
    spans: list[RingSpan] = []
    for station, (row, col) in enumerate(slots.places, start=1):
        role = _role(station, present, next_, done)
        if numbered is None:
            label = _mark(role, ascii_only=ascii_only)
        else:
            label = _numbered(station, role, ascii_only=ascii_only)
        start = col + (slots.cells - len(label)) // 2
        grid[row][start : start + len(label)] = label
        spans.append(RingSpan(row, start, len(label), role, station))
    return FloorRing(tuple("".join(line) for line in grid), tuple(spans))


@lru_cache(maxsize=64)
def ring_path(n: int, *, width: int, height: int) -> tuple[tuple[int, int], ...]:
    """List cells (row, column) of a dotted path between the stations of a ring.

    None touches a station; there are none where `floor_ring` has
    no oval to set its stations on.
    """
    cells = len(str(n)) + 2
    for squareness in _SQUARENESS:
        places = _oval_places(n, (width, height), cells, squareness)
        if places is None or not _is_apart(places, cells + 1):
            continue
        dots = _oval_places(_DOTS, (width, height), cells, squareness) or ()
        shifted = [(row, col + cells // 2) for row, col in dots]
        return tuple(
            dot
            for dot in dict.fromkeys(shifted)
            if not any(
                dot[0] == row and col - 3 < dot[1] < col + cells + 2
                for row, col in places
            )
        )
    return ()


def _check(
    n: int, present: int | None, next_: int | None, done: frozenset[int]
) -> None:
    if not 1 <= n <= MOST_STATIONS:
        raise ValueError(f"a floor ring has 1 to {MOST_STATIONS} stations, not {n}")
    named = {station for station in (present, next_) if station is not None} | done
    if any(not 1 <= station <= n for station in named):
        raise ValueError(f"stations on this ring are 1 to {n}, not {sorted(named)}")


def _role(
    station: int, present: int | None, next_: int | None, done: frozenset[int]
) -> Role:
    if station == present:
        return "present"
    if station == next_:
        return "next"
    return "done" if station in done else "other"


def _numbered(station: int, role: Role, *, ascii_only: bool) -> str:
    if role == "present":
        return f"[{station}]" if ascii_only else f"█{station}█"
    if role == "next":
        return f"({station})"
    if role == "done":
        return f"{station}{'+' if ascii_only else '✓'}"
    return str(station)


def _mark(role: Role, *, ascii_only: bool) -> str:
    marks = {"present": "█#", "next": "○o", "done": "✓+", "other": "·."}
    return marks[role][1 if ascii_only else 0]


@lru_cache(maxsize=64)
def _numbered_slots(n: int, width: int, height: int) -> _Slots | None:
    cells = len(str(n)) + 2
    for squareness in _SQUARENESS:
        places = _oval_places(n, (width, height), cells, squareness)
        if places is not None and _is_apart(places, cells + 1):
            return _Slots(cells, places)
    return None


@lru_cache(maxsize=64)
def _mark_slots(n: int, width: int, height: int) -> _Slots | None:
    for squareness in _SQUARENESS:
        places = _oval_places(n, (width, height), 1, squareness)
        if places is not None and _is_apart(places, 2):
            return _Slots(1, places)
    edge = _edge_cells(width, height)
    if len(edge) < n:
        return None
    return _Slots(1, tuple(edge[index * len(edge) // n] for index in range(n)))


def _oval_places(
    n: int, size: tuple[int, int], cells: int, squareness: float
) -> tuple[tuple[int, int], ...] | None:
    """Space the stations evenly along the oval as the eye sees it (cells are 1:2)."""
    width, height = size
    if width < cells or height < 1:
        return None
    half_width, half_height = (width - cells) / 2, (height - 1) / 2
    power = 2 / squareness
    points = []
    for step in range(_STEPS + 1):
        angle = 2 * math.pi * step / _STEPS
        across, up = math.sin(angle), math.cos(angle)
        x = half_width * math.copysign(abs(across) ** power, across)
        y = -half_height * math.copysign(abs(up) ** power, up)
        points.append((x, y))
    walked = [0.0]
    for (x0, y0), (x1, y1) in pairwise(points):
        walked.append(walked[-1] + math.hypot(x1 - x0, 2 * (y1 - y0)))
    places = []
    step = 0
    for index in range(n):
        while walked[step] < walked[-1] * index / n:
            step += 1
        x, y = points[step]
        places.append((_nearest(half_height + y), _nearest(half_width + x)))
    return tuple(places)


def _nearest(value: float) -> int:
    # The small amount keeps mirrored halves from rounding apart by float noise.
    return math.floor(value + 0.5 - 1e-6)


def _is_apart(places: tuple[tuple[int, int], ...], cells: int) -> bool:
    ordered = sorted(places)
    return all(
        row != next_row or next_col - col >= cells
        for (row, col), (next_row, next_col) in pairwise(ordered)
    )


def _edge_cells(width: int, height: int) -> list[tuple[int, int]]:
    """List the box's edge clockwise from the middle of its top row."""
    if width < 1 or height < 1:
        return []
    top = [(0, col) for col in range(width)]
    right = [(row, width - 1) for row in range(1, height)]
    bottom = [(height - 1, col) for col in range(width - 2, -1, -1)]
    left = [(row, 0) for row in range(height - 2, 0, -1)]
    edge = list(dict.fromkeys(top + right + bottom + left))
    start = edge.index((0, (width - 1) // 2))
    return edge[start:] + edge[:start]
