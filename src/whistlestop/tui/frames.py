"""The frame round the Floor: one shape for each state, and the filling track.

Owns edges only, as boxes of half lines and, where a line is thin or hatched, as
characters. States differ in shape with every colour removed; what stands inside the
frame, and time, are not known here.
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple, get_args

from whistlestop.dataclass import dataclass
from whistlestop.domain.columns import cells_of

FrameKind = Literal["work", "switch", "recover", "break", "paused", "get_ready"]
KINDS: Final[tuple[FrameKind, ...]] = get_args(FrameKind)

APART: Final = 4
"""Columns between the parts of a split frame."""
_CORNER_SHARE: Final = (6, 4)
"""A corner reaches over this part of the width, and of the height."""


class Box(NamedTuple):
    """A filled box: column and width in cells, top and height in half lines."""

    x: int
    y: int
    width: int
    height: int


class FrameText(NamedTuple):
    """Characters from a column and row on."""

    x: int
    row: int
    text: str


@dataclass(frozen=True, slots=True)
class Edges:
    """Where a frame stands and how heavy it is.

    `first` and `last` are rows; `thickness` is in half lines down and columns
    across, `dot` the length of a dot and of the blank after it, alike; `gap` are the
    columns of the top edge that stay free for the sign.
    """

    width: int
    first: int
    last: int
    thickness: int
    dot: int
    gap: tuple[int, int]
    ascii_only: bool = False

    @property
    def top(self) -> int:
        """The first half line."""
        return 2 * self.first

    @property
    def bottom(self) -> int:
        """The half line after the last."""
        return 2 * self.last + 2

    @property
    def height(self) -> int:
        """All half lines."""
        return self.bottom - self.top


class DrawnFrame(NamedTuple):
    """A drawn frame."""

    boxes: tuple[Box, ...]
    texts: tuple[FrameText, ...] = ()


def frame(
    kind: FrameKind,
    edges: Edges,
    *,
    permille: int | None = None,
    parts: int = 2,
    live: int | None = None,
) -> DrawnFrame:
    """Draw the frame of a state.

    work: solid, its foot is the track. switch: as many parts as the station has, the
    live one heavy, the others thin; all heavy where `live` is None. recover: dots, of
    which those of the foot grow with the progress. break: corners only. paused:
    hatched, nothing moves. get_ready: a thin line, its foot the track. `permille` is
    held in 0 to 1000.
    """
    share = min(max(permille or 0, 0), 1000)
    match kind:
        case "work":
            return DrawnFrame((*_around(edges), *_track(edges, share)))
        case "recover":
            return DrawnFrame(tuple(_dots(edges, share)))
        case "break":
            return DrawnFrame(tuple(_corners(edges)))
        case "paused":
            return DrawnFrame((), tuple(_hatched(edges)))
        case "switch":
            return _split(edges, max(parts, 1), live)
        case "get_ready":
            return DrawnFrame((), tuple(_thin(edges, share)))


def _outside(edges: Edges, x: int, width: int) -> list[tuple[int, int]]:
    """What is left of a stretch of the top edge beside the gap."""
    begin, end = edges.gap
    pieces = ((x, min(x + width, begin)), (max(x, end), x + width))
    return [(left, right - left) for left, right in pieces if right > left]


def _around(edges: Edges) -> list[Box]:
    thick, foot = edges.thickness, edges.bottom - edges.thickness
    top = [
        Box(x, edges.top, width, thick) for x, width in _outside(edges, 0, edges.width)
    ]
    return [
        *top,
        Box(0, edges.top, thick, edges.height),
        Box(edges.width - thick, edges.top, thick, edges.height),
        Box(0, foot, edges.width, thick),
    ]


def _track(edges: Edges, share: int) -> list[Box]:
    """The foot twice as high, as far as the time has gone."""
    thick = edges.thickness
    return [Box(0, edges.bottom - 2 * thick, edges.width * share // 1000, thick)]


def _dots(edges: Edges, share: int) -> list[Box]:
    """Dots from both ends towards the middle, so that every corner has one."""
    dot, thick = edges.dot, edges.thickness
    foot, reached = edges.bottom - thick, edges.width * share // 1000
    boxes: list[Box] = []
    for x in _dotted(edges.width, dot):
        # None within its own length of the sign, or it reads as a stroke of it.
        if x + dot <= edges.gap[0] - dot + 2 or x >= edges.gap[1] + dot - 2:
            boxes.append(Box(x, edges.top, dot, thick))
        grown = thick if x < reached else 0
        boxes.append(Box(x, foot - grown, dot, thick + grown))
    for y in _dotted(edges.height, dot):
        for x in (0, edges.width - thick):
            boxes.append(Box(x, edges.top + y, thick, dot))
    return boxes


def _dotted(length: int, dot: int) -> list[int]:
    """Where dots begin along a length: the same from either end, evenly apart.

    What does not divide is spread over all the blanks, for one wide blank in the
    middle reads as a split.
    """
    last, blanks = length - dot, max(1, (length - dot) // (2 * dot))
    half = [at * last // blanks for at in range(blanks // 2 + 1)]
    mirrored = half if blanks % 2 else half[:-1]
    return [*half, *(last - start for start in reversed(mirrored))]


def _corners(edges: Edges) -> list[Box]:
    thick = edges.thickness
    arm = edges.width // _CORNER_SHARE[0]
    post = edges.height // 2 // _CORNER_SHARE[1] * 2
    right, low = edges.width - arm, edges.bottom - post
    boxes = [
        Box(x, edges.top, width, thick)
        for start in (0, right)
        for x, width in _outside(edges, start, arm)
    ]
    for x in (0, right):
        boxes.append(Box(x, edges.bottom - thick, arm, thick))
    for x in (0, edges.width - thick):
        boxes += [Box(x, edges.top, thick, post), Box(x, low, thick, post)]
    return boxes


def _hatched(edges: Edges) -> list[FrameText]:
    hatch = "/" if edges.ascii_only else "▚"
    texts = [
        FrameText(x, edges.first, hatch * width)
        for x, width in _outside(edges, 0, edges.width)
    ]
    for row in range(edges.first, edges.last):
        across = 2 * edges.thickness
        texts += [
            FrameText(0, row, hatch * across),
            FrameText(edges.width - across, row, hatch * across),
        ]
    return [*texts, FrameText(0, edges.last, hatch * edges.width)]


def _thin(edges: Edges, share: int) -> list[FrameText]:
    rail = track(edges.width - 2, share, ascii_only=edges.ascii_only)
    corners = "++" if edges.ascii_only else "└┘"
    return [
        *_thin_part(edges, 0, edges.width, open_left=False, open_right=False),
        FrameText(0, edges.last, corners[0] + rail + corners[1]),
    ]


def _thin_part(
    edges: Edges, x: int, width: int, *, open_left: bool, open_right: bool
) -> list[FrameText]:
    """A thin frame over some columns, open towards its neighbours."""
    flat, upright = ("-", "|") if edges.ascii_only else ("─", "│")
    corners = "++++" if edges.ascii_only else "┌┐└┘"
    last = x + width - 1
    texts = [
        FrameText(left, row, flat * wide)
        for row, pieces in (
            (edges.first, _outside(edges, x, width)),
            (edges.last, [(x, width)]),
        )
        for left, wide in pieces
    ]
    for column, is_open, top, foot in (
        (x, open_left, corners[0], corners[2]),
        (last, open_right, corners[1], corners[3]),
    ):
        if is_open:
            continue
        texts += [
            FrameText(column, edges.first, top),
            FrameText(column, edges.last, foot),
        ]
        texts += [
            FrameText(column, row, upright)
            for row in range(edges.first + 1, edges.last)
        ]
    return texts


def _split(edges: Edges, parts: int, live: int | None) -> DrawnFrame:
    boxes: list[Box] = []
    texts: list[FrameText] = []
    share = edges.width + APART
    for part in range(parts):
        x = part * share // parts
        width = (part + 1) * share // parts - APART - x
        is_first, is_last = part == 0, part == parts - 1
        if live is None or part == live:
            boxes += _heavy_part(edges, x, width, left=is_first, right=is_last)
        else:
            texts += _thin_part(
                edges, x, width, open_left=not is_first, open_right=not is_last
            )
    return DrawnFrame(tuple(boxes), tuple(texts))


def _heavy_part(
    edges: Edges, x: int, width: int, *, left: bool, right: bool
) -> list[Box]:
    thick = 2 * edges.thickness
    boxes = [Box(at, edges.top, wide, thick) for at, wide in _outside(edges, x, width)]
    boxes.append(Box(x, edges.bottom - thick, width, thick))
    if left:
        boxes.append(Box(x, edges.top, thick, edges.height))
    if right:
        boxes.append(Box(x + width - thick, edges.top, thick, edges.height))
    return boxes


def track(width: int, permille: int, *, ascii_only: bool = False) -> str:
    """A thin rail `width` cells long, heavy as far as `permille` (0 to 1000)."""
    heavy, thin = "=-" if ascii_only else "━─"
    done = max(width, 0) * min(max(permille, 0), 1000) // 1000
    return heavy * done + thin * (max(width, 0) - done)


def fit_cells(text: str, cells: int, *, ascii_only: bool = False) -> str:
    """Cut a text to at most `cells` cells, marking the cut.

    Characters that are not printable or not exactly one cell wide become '?', so
    that a name from a stranger's file cannot bend a line.
    """
    plain = "".join(
        character if _is_one_cell(character, ascii_only=ascii_only) else "?"
        for character in text
    )
    if len(plain) <= cells:
        return plain
    return plain[: max(cells - 1, 0)] + ("~" if ascii_only else "…")[:cells]


def _is_one_cell(character: str, *, ascii_only: bool) -> bool:
    if ascii_only and not character.isascii():
        return False
    return character.isprintable() and cells_of(character) == 1
