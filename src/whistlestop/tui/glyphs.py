"""Our own pixel letters, as data: three designs of one repertoire.

BOLD stands 5 rows high on two-cell stems, NARROW 5 rows high on one-cell stems,
SMALL 3 rows high in half blocks. It knows no widths, screens or colours.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

Glyph = tuple[str, ...]

REPERTOIRE: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 -:.½"

# In the tables a stroke is '#'. Five-row tables hold one line a row; the small
# table holds six lines, two to a row. A half (½) needs more lines than five in
# every size, so it stands apart with two lines to a row. Figures are equally wide
# within a design, since a small clock is set in them.

_BOLD_TABLE: Final = """
A .####. ##..## ###### ##..## ##..##
B #####. ##..## #####. ##..## #####.
C .##### ##.... ##.... ##.... .#####
D #####. ##..## ##..## ##..## #####.
E ###### ##.... #####. ##.... ######
F ###### ##.... #####. ##.... ##....
G .##### ##.... ##.### ##..## .#####
H ##..## ##..## ###### ##..## ##..##
I ## ## ## ## ##
J ....## ....## ....## ##..## .####.
K ##..## ##.##. ####.. ##.##. ##..##
L ##.... ##.... ##.... ##.... ######
M ##....## ###..### ######## ##.##.## ##....##
N ##...## ###..## ####.## ##.#### ##..###
O .#####. ##...## ##...## ##...## .#####.
P #####. ##..## #####. ##.... ##....
Q .#####. ##...## ##...## ##..##. .###.##
R #####. ##..## #####. ##.##. ##..##
S .##### ##.... .####. ....## #####.
T ###### ..##.. ..##.. ..##.. ..##..
U ##..## ##..## ##..## ##..## .####.
V ##...## ##...## .##.##. .##.##. ..###..
W ##....## ##.##.## ##.##.## ######## .##..##.
X ##...## .##.##. ..###.. .##.##. ##...##
Y ##..## ##..## .####. ..##.. ..##..
Z ###### ...##. ..##.. .##... ######
0 .####. ##..## ##..## ##..## .####.
1 ..##.. .###.. ..##.. ..##.. .####.
2 #####. ....## .####. ##.... ######
3 #####. ....## .####. ....## #####.
4 ##..## ##..## ###### ....## ....##
5 ###### ##.... #####. ....## #####.
6 .####. ##.... #####. ##..## .####.
7 ###### ....## ...##. ..##.. ..##..
8 .####. ##..## .####. ##..## .####.
9 .####. ##..## .##### ....## .####.
- .... .... #### .... ....
: .. ## .. ## ..
. .. .. .. .. ##
"""

_NARROW_TABLE: Final = """
A .##. #..# #### #..# #..#
B ###. #..# ###. #..# ###.
C .### #... #... #... .###
D ###. #..# #..# #..# ###.
E #### #... ###. #... ####
F #### #... ###. #... #...
G .### #... #.## #..# .###
H #..# #..# #### #..# #..#
I # # # # #
J ...# ...# ...# #..# .##.
K #..# #.#. ##.. #.#. #..#
L #... #... #... #... ####
M #...# ##.## #.#.# #...# #...#
N #..# ##.# #.## #..# #..#
O .###. #...# #...# #...# .###.
P ###. #..# ###. #... #...
Q .###. #...# #...# #..#. .##.#
R ###. #..# ###. #.#. #..#
S .### #... .##. ...# ###.
T ##### ..#.. ..#.. ..#.. ..#..
U #..# #..# #..# #..# .##.
V #...# #...# .#.#. .#.#. ..#..
W #...# #...# #.#.# ##.## #...#
X #...# .#.#. ..#.. .#.#. #...#
Y #...# .#.#. ..#.. ..#.. ..#..
Z #### ...# .##. #... ####
0 .##. #..# #..# #..# .##.
1 ..#. .##. ..#. ..#. .###
2 ###. ...# .##. #... ####
3 ###. ...# .##. ...# ###.
4 #..# #..# #### ...# ...#
5 #### #... ###. ...# ###.
6 .##. #... ###. #..# .##.
7 #### ...# ..#. .#.. .#..
8 .##. #..# .##. #..# .##.
9 .##. #..# .### ...# .##.
- ... ... ### ... ...
: . # . # .
. . . . . #
"""

_SMALL_TABLE: Final = """
A .#. #.# #.# ### #.# #.#
B ##. #.# ##. #.# #.# ##.
C .## #.. #.. #.. #.. .##
D ##. #.# #.# #.# #.# ##.
E ### #.. ##. #.. #.. ###
F ### #.. ##. #.. #.. #..
G .### #... #... #.## #..# .###
H #.# #.# ### #.# #.# #.#
I # # # # # #
J ..# ..# ..# ..# #.# .#.
K #..# #.#. ##.. ##.. #.#. #..#
L #.. #.. #.. #.. #.. ###
M #...# ##.## #.#.# #...# #...# #...#
N #..# ##.# ##.# #.## #.## #..#
O .##. #..# #..# #..# #..# .##.
P ##. #.# #.# ##. #.. #..
Q .##. #..# #..# #..# #.#. .#.#
R ##. #.# #.# ##. #.# #.#
S .## #.. .#. ..# ..# ##.
T ### .#. .#. .#. .#. .#.
U #.# #.# #.# #.# #.# ###
V #.# #.# #.# #.# .#. .#.
W #...# #...# #...# #.#.# ##.## #...#
X #.# #.# .#. .#. #.# #.#
Y #.# #.# #.# .#. .#. .#.
Z ### ..# .#. .#. #.. ###
0 .#. #.# #.# #.# #.# .#.
1 .#. ##. .#. .#. .#. ###
2 ##. ..# ..# .#. #.. ###
3 ##. ..# .#. ..# ..# ##.
4 #.# #.# #.# ### ..# ..#
5 ### #.. ##. ..# ..# ##.
6 .## #.. ##. #.# #.# .#.
7 ### ..# ..# .#. .#. .#.
8 .#. #.# .#. #.# #.# .#.
9 .#. #.# #.# .## ..# ##.
- ... ... ... ### ... ...
: . # # . # #
. . . . . # #
"""

_BOLD_HALF: Final = (
    "##....##.",
    ".#....##.",
    ".#...##..",
    ".#...##..",
    "###.##...",
    "....##...",
    "...##.##.",
    "...##...#",
    "..##...#.",
    "..##..###",
)
_NARROW_HALF: Final = (
    "##...#.",
    ".#...#.",
    ".#..#..",
    ".#..#..",
    "...#...",
    "...#...",
    "..#.##.",
    "..#...#",
    ".#...#.",
    ".#..###",
)
_SMALL_HALF: Final = ("#..#..", "#..#..", "#.#...", "..#.##", ".#...#", ".#..##")

_PAIR: Final = {(" ", " "): " ", ("#", " "): "▀", (" ", "#"): "▄", ("#", "#"): "█"}


def fold_pairs(lines: tuple[str, ...]) -> Glyph:
    """Fold lines of '#' and blank, two to a row, into rows of half blocks.

    An odd last line is paired with a blank one. All lines must be equally wide.
    """
    blank = " " * len(lines[0]) if lines else ""
    even = lines if len(lines) % 2 == 0 else (*lines, blank)
    return tuple(
        "".join(_PAIR[pair] for pair in zip(upper, lower, strict=True))
        for upper, lower in zip(even[::2], even[1::2], strict=True)
    )


def _blanked(lines: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(line.replace(".", " ") for line in lines)


def _read(table: str) -> dict[str, Glyph]:
    glyphs: dict[str, Glyph] = {}
    for entry in table.strip().splitlines():
        name, *lines = entry.split(" ")
        glyphs[name] = _blanked(tuple(lines))
    return glyphs


def _whole_rows(table: str, half: Glyph, space_cells: int) -> dict[str, Glyph]:
    glyphs = {
        name: tuple(line.replace("#", "█") for line in lines)
        for name, lines in _read(table).items()
    }
    return glyphs | {" ": (" " * space_cells,) * 5, "½": fold_pairs(_blanked(half))}


def _half_rows(table: str, half: Glyph, space_cells: int) -> dict[str, Glyph]:
    glyphs = {name: fold_pairs(lines) for name, lines in _read(table).items()}
    return glyphs | {" ": (" " * space_cells,) * 3, "½": fold_pairs(_blanked(half))}


BOLD: Final[Mapping[str, Glyph]] = _whole_rows(_BOLD_TABLE, _BOLD_HALF, 3)
NARROW: Final[Mapping[str, Glyph]] = _whole_rows(_NARROW_TABLE, _NARROW_HALF, 2)
SMALL: Final[Mapping[str, Glyph]] = _half_rows(_SMALL_TABLE, _SMALL_HALF, 2)
