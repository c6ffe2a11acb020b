"""How large everything on the Floor is and where it stands, as one table.

The rule: what is read from across the garage has to be high enough for the eye.
A height h at a distance d is seen under 2·atan(h / 2d). The clock has 30 minutes of
arc, name, side and load 16, the band 12; 16 is the least for a character and 20 to
22 preferred by NUREG-0700 1.3.1-4, from memory; 30 and 12 are our own. It holds at
3 m on 80 columns by 24 rows and at 4 m on larger grids, on screens of 14 inches and
16 to 9 or 16 to 10 that the terminal fills. Rows decide, columns do not.

Heights and places are in half lines (half a row) from the top, except where a field
says `row`. Between the grids of the table the places grow with the rows, and the
letters follow from the rule.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Final, NamedTuple

from whistlestop.dataclass import dataclass
from whistlestop.tui.fonts import FONTS, WHOLE_ROWS, Font

BOARD_ARCMIN: Final = 16.0
BAND_ARCMIN: Final = 12.0


class LaptopPanel(NamedTuple):
    """The lit surface of a screen, in millimetres."""

    width_mm: int
    height_mm: int


PANELS: Final = (LaptopPanel(310, 174), LaptopPanel(302, 188))
"""14 inches at 16 to 9 and at 16 to 10."""


def arcmin(half_lines: float, rows: int, panel: LaptopPanel, metres: float) -> float:
    """Minutes of arc of a height in half lines, on a panel that `rows` rows fill."""
    height_mm = half_lines * panel.height_mm / rows / 2
    return math.degrees(2 * math.atan(height_mm / (2000 * metres))) * 60


def least_half_lines(rows: int, minutes: float, metres: float) -> int:
    """The least height that gives some minutes of arc, on the lower of the panels."""
    lowest = min(PANELS, key=lambda panel: panel.height_mm)
    return math.ceil(minutes / arcmin(1, rows, lowest, metres) - 1e-9)


class BoardLine(NamedTuple):
    """A line of letters: its top, and the height of its largest font."""

    y: int
    height: int


class Ring(NamedTuple):
    """Where the floor ring stands, in columns."""

    x: int
    width: int


@dataclass(frozen=True, slots=True)
class Two:
    """What is elsewhere when two people share the Floor."""

    clock: BoardLine
    label_rows: tuple[int, int]
    lines: tuple[int, int, int, int]
    height: int
    tile_width: int


@dataclass(frozen=True, slots=True)
class FloorPlaces:
    """One grid: everything about it that does not depend on what is shown."""

    columns: int
    rows: int
    metres: float
    margin: int
    sign: BoardLine
    frame_rows: tuple[int, int]
    thickness: int
    dot: int
    clock: BoardLine
    picture_width: int
    ring: Ring | None
    label_row: int
    name: BoardLine
    side: BoardLine
    sentence_row: int
    band: BoardLine
    key_row: int | None
    two: Two
    whole_rows: bool = False

    @property
    def left(self) -> int:
        """The one left edge."""
        return self.margin

    @property
    def right(self) -> int:
        """The first column beyond the right edge."""
        return self.columns - self.margin

    @property
    def inner(self) -> int:
        """Columns between the edges."""
        return self.right - self.left

    @property
    def foot_row(self) -> int:
        """The frame's last row."""
        return self.frame_rows[1]

    @property
    def tile_gap(self) -> int:
        """Columns between a tile and its board."""
        return self.margin * 2 // 3

    def board_fonts(self, line: BoardLine, next_y: int) -> tuple[Font, ...]:
        """The ladder of a line of the board; `next_y` is where the next one begins."""
        return self._ladder(line, next_y, BOARD_ARCMIN)

    def band_fonts(self) -> tuple[Font, ...]:
        """The ladder of the band."""
        return self._ladder(self.band, 2 * self.foot_row, BAND_ARCMIN)

    def beside_fonts(self, height: int) -> tuple[Font, ...]:
        """The ladder beside the clock of two, at most some half lines high."""
        if self.whole_rows:
            return (WHOLE_ROWS,) if height >= WHOLE_ROWS.height else ()
        least = least_half_lines(self.rows, BAND_ARCMIN, self.metres)
        most = min(height, self.band.height)
        return tuple(
            font for font in FONTS.values() if min(least, most) <= font.height <= most
        )

    def sign_font(self) -> Font | None:
        """The font of the sign; None without half blocks, where it is text."""
        if self.whole_rows:
            return None
        return next(font for font in FONTS.values() if font.height <= self.sign.height)

    def _ladder(self, line: BoardLine, next_y: int, minutes: float) -> tuple[Font, ...]:
        """Fonts from the largest down to the smallest that the rule allows."""
        room = next_y - line.y - 1
        if self.whole_rows:
            return (WHOLE_ROWS,) if room >= WHOLE_ROWS.height - 1 else ()
        least = least_half_lines(self.rows, minutes, self.metres)
        enough = [font.height for font in FONTS.values() if font.height >= least]
        most = min(max(line.height, min(enough, default=0)), room)
        fonts = [font for font in FONTS.values() if font.height <= most]
        # Where the rule asks for more than there is room for, the largest there is.
        least = min(least, max(font.height for font in fonts))
        return tuple(font for font in fonts if font.height >= least)


TABLE: Final = (
    FloorPlaces(
        columns=80,
        rows=24,
        metres=3.0,
        margin=3,
        sign=BoardLine(0, 5),
        frame_rows=(1, 23),
        thickness=1,
        dot=2,
        clock=BoardLine(7, 13),
        picture_width=24,
        ring=None,
        label_row=10,
        name=BoardLine(22, 6),
        side=BoardLine(30, 6),
        sentence_row=18,
        band=BoardLine(38, 6),
        key_row=None,
        two=Two(BoardLine(7, 10), (8, 15), (18, 24, 32, 38), 5, 7),
    ),
    FloorPlaces(
        columns=100,
        rows=30,
        metres=4.0,
        margin=4,
        sign=BoardLine(0, 5),
        frame_rows=(1, 28),
        thickness=1,
        dot=2,
        clock=BoardLine(8, 16),
        picture_width=24,
        ring=None,
        label_row=12,
        name=BoardLine(27, 7),
        side=BoardLine(37, 7),
        sentence_row=23,
        band=BoardLine(48, 7),
        key_row=29,
        two=Two(BoardLine(7, 13), (10, 19), (22, 30, 40, 48), 7, 8),
    ),
    FloorPlaces(
        columns=120,
        rows=40,
        metres=4.0,
        margin=6,
        sign=BoardLine(1, 7),
        frame_rows=(2, 38),
        thickness=1,
        dot=2,
        clock=BoardLine(10, 20),
        picture_width=32,
        ring=Ring(53, 27),
        label_row=16,
        name=BoardLine(35, 10),
        side=BoardLine(48, 10),
        sentence_row=30,
        band=BoardLine(64, 9),
        key_row=39,
        two=Two(BoardLine(10, 18), (14, 26), (30, 41, 54, 65), 9, 10),
    ),
    FloorPlaces(
        columns=160,
        rows=50,
        metres=4.0,
        margin=8,
        sign=BoardLine(0, 9),
        frame_rows=(2, 48),
        thickness=2,
        dot=3,
        clock=BoardLine(13, 26),
        picture_width=40,
        ring=Ring(76, 32),
        label_row=20,
        name=BoardLine(43, 12),
        side=BoardLine(59, 12),
        sentence_row=38,
        band=BoardLine(79, 10),
        key_row=49,
        two=Two(BoardLine(12, 23), (18, 32), (39, 52, 67, 80), 12, 13),
    ),
    FloorPlaces(
        columns=200,
        rows=60,
        metres=4.0,
        margin=10,
        sign=BoardLine(0, 10),
        frame_rows=(2, 57),
        thickness=2,
        dot=4,
        clock=BoardLine(14, 32),
        picture_width=48,
        ring=Ring(96, 44),
        label_row=25,
        name=BoardLine(54, 14),
        side=BoardLine(73, 14),
        sentence_row=46,
        band=BoardLine(98, 12),
        key_row=59,
        two=Two(BoardLine(14, 28), (21, 38), (44, 60, 79, 95), 14, 16),
    ),
)


class _WholeRows(NamedTuple):
    """What of a grid is elsewhere where letters are five whole rows high."""

    clock: BoardLine
    label_row: int
    name: BoardLine
    side: BoardLine
    sentence_row: int
    band: BoardLine


# The smaller grids set the band as text, for letters of five rows leave no room.
_WHOLE_ROWS: Final = {
    24: _WholeRows(
        BoardLine(4, 14), 9, BoardLine(20, 10), BoardLine(32, 10), 21, BoardLine(44, 2)
    ),
    30: _WholeRows(
        BoardLine(6, 16), 11, BoardLine(24, 10), BoardLine(36, 10), 24, BoardLine(50, 2)
    ),
    40: _WholeRows(
        BoardLine(10, 20),
        16,
        BoardLine(34, 10),
        BoardLine(48, 10),
        30,
        BoardLine(64, 10),
    ),
    50: _WholeRows(
        BoardLine(12, 26),
        20,
        BoardLine(42, 10),
        BoardLine(58, 10),
        38,
        BoardLine(78, 10),
    ),
    60: _WholeRows(
        BoardLine(14, 32),
        25,
        BoardLine(54, 10),
        BoardLine(72, 10),
        46,
        BoardLine(98, 10),
    ),
}


def has_room(columns: int, rows: int) -> bool:
    """Whether a grid is as large as the least one of the table."""
    return columns >= TABLE[0].columns and rows >= TABLE[0].rows


@lru_cache(maxsize=16)
def places_for(columns: int, rows: int, *, whole_rows: bool = False) -> FloorPlaces:
    """The places of a grid: those of the next smaller one, grown to its rows.

    Columns to spare lie between the left and the right edge. Raises ValueError for a
    grid smaller than the least of the table.
    """
    if not has_room(columns, rows):
        raise ValueError(f"{columns} by {rows} is smaller than the table begins")
    base = [one for one in TABLE if one.columns <= columns and one.rows <= rows][-1]
    if whole_rows:
        base = replace(base, whole_rows=True, **_WHOLE_ROWS[base.rows]._asdict())
    if (columns, rows) != (base.columns, base.rows):
        base = _grown(base, columns, rows)
    return replace(base, two=_evened(base.two)) if whole_rows else base


def _evened(two: Two) -> Two:
    """The places of two people where everything begins on a whole row."""
    first, second, third, fourth = ((y + 1) // 2 * 2 for y in two.lines)
    return replace(
        two,
        clock=BoardLine(two.clock.y // 2 * 2, two.clock.height),
        lines=(first, second, third, fourth),
        height=(two.height + 1) // 2 * 2,
    )


def _grown(base: FloorPlaces, columns: int, rows: int) -> FloorPlaces:
    def at(y: int) -> int:
        grown = y * rows // base.rows
        return grown // 2 * 2 if base.whole_rows else grown

    def row(y: int) -> int:
        return y * rows // base.rows

    def line(one: BoardLine) -> BoardLine:
        return BoardLine(at(one.y), at(one.height))

    below = base.rows - 1 - base.frame_rows[1]
    spare = columns - base.columns
    two = base.two
    return replace(
        base,
        columns=columns,
        rows=rows,
        sign=base.sign,
        frame_rows=(base.frame_rows[0], rows - 1 - below),
        clock=line(base.clock),
        ring=base.ring and Ring(base.ring.x + spare // 2, base.ring.width),
        label_row=row(base.label_row),
        name=line(base.name),
        side=line(base.side),
        sentence_row=row(base.sentence_row),
        band=line(base.band),
        key_row=None if base.key_row is None else rows - 1,
        two=Two(
            line(two.clock),
            (row(two.label_rows[0]), row(two.label_rows[1])),
            (at(two.lines[0]), at(two.lines[1]), at(two.lines[2]), at(two.lines[3])),
            at(two.height),
            two.tile_width,
        ),
    )
