"""From what the Floor says to cells: letters, frame, figures of the clock.

Where everything stands is read from the table of sizes. Order of leaving out: key
line, ring, label, progress of the session; never clock, board, next or finish. Pure
functions of model and size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from whistlestop.tui.canvas import Canvas, Rows
from whistlestop.tui.floor.band import Band
from whistlestop.tui.floor.model import Board, FloorModel
from whistlestop.tui.floor.notices import notice_lines
from whistlestop.tui.floor.paint_small import paint_small
from whistlestop.tui.floor.sizes import BoardLine, FloorPlaces, has_room, places_for
from whistlestop.tui.floor.tiles import (
    filled_tile,
    pane_letters,
    thin_box,
    thin_letter,
)
from whistlestop.tui.fonts import (
    FONTS,
    WHOLE_ROWS,
    Font,
    first_that_fits,
    letter_lines,
    letter_width,
)
from whistlestop.tui.frames import Edges, fit_cells, frame, track
from whistlestop.tui.raster import clock_lines
from whistlestop.tui.ring import floor_ring, ring_path
from whistlestop.tui.theme import SHAPE

LEAST_RAIL: Final = 8
_APART: Final = 3
"""Columns between side and load at least."""
_SIGN_AIR: Final = 3
"""Columns between the sign and what follows it on the frame's edge and above it."""


def paint(
    model: FloorModel, width: int, height: int, *, ascii_only: bool = False
) -> Rows:
    """Draw the Floor at a size."""
    if not has_room(width, height):
        return paint_small(model, width, height, ascii_only=ascii_only)
    places = places_for(width, height, whole_rows=ascii_only)
    canvas = Canvas(width, height, ascii_only=ascii_only)
    brush = Brush(canvas, model, places)
    brush.surround()
    clock_right = brush.clock(places.clock)
    brush.picture(clock_right)
    brush.board()
    brush.band()
    return canvas.rows()


class Brush:
    """Draws the parts of one model on one canvas."""

    def __init__(self, canvas: Canvas, model: FloorModel, places: FloorPlaces) -> None:
        """Prepare; nothing is drawn yet."""
        self._canvas = canvas
        self._model = model
        self._places = places
        self._ascii = places.whole_rows
        self._sign_font = places.sign_font()

    @property
    def sign_right(self) -> int:
        """The first column right of the sign."""
        font, sign = self._sign_font, self._model.sign
        width = letter_width(sign, font) if font else len(sign)
        return self._places.left + width

    # Texts and letters

    def text(self, x: int, row: int, text: str, role: str, width: int) -> int:
        """One line of ordinary text, cut to a width; the column after it."""
        plain = text
        if self._ascii:
            plain = text.replace("·", "|").replace("×", "x").replace("½", ".5")
        line = fit_cells(plain, max(0, width), ascii_only=self._ascii).rstrip()
        self._canvas.put(x, row, line, role)
        return x + len(line)

    def letters(self, text: str, font: Font, x: int, y: int, role: str) -> int:
        """Letters with their left edge at a column; the column after them."""
        lines = letter_lines(text, font)
        self._canvas.ink(x, y, lines, role)
        return x + (len(lines[0]) if lines else 0)

    def fitted(
        self, text: str, fonts: Sequence[Font], x: int, y: int, role: str, width: int
    ) -> None:
        """Letters as large as a ladder and a width allow; text where none do."""
        font = first_that_fits(text, (*fonts, *smaller(fonts)), width)
        if font is not None:
            self.letters(text, font, x, y, role)
        else:
            self.text(x, (y + 1) // 2, text, role, width)

    # What surrounds

    def surround(self, *, is_common: bool = False) -> None:
        """Frame, sign, head and key line; `is_common` splits for nobody's side."""
        self._frame(is_common=is_common)
        self._sign()
        self._head()
        if self._places.key_row is not None:
            self.keys(self._places.margin // 3, self._places.key_row)

    def _frame(self, *, is_common: bool) -> None:
        places, model = self._places, self._model
        edges = Edges(
            places.columns,
            *places.frame_rows,
            places.thickness,
            places.dot,
            (places.left - 2, self.sign_right + _SIGN_AIR - 1),
            ascii_only=self._ascii,
        )
        drawn = frame(
            model.frame,
            edges,
            permille=model.permille,
            parts=2 if is_common else max(2, len(model.panes)),
            live=None if is_common else model.live,
        )
        role = model.hue + SHAPE
        for box in drawn.boxes:
            self._canvas.fill(*box, role)
        for x, row, text in drawn.texts:
            self._canvas.put(x, row, text, role)

    def _sign(self) -> None:
        places, model = self._places, self._model
        if self._sign_font is None:
            self.text(places.left, places.frame_rows[0], model.sign, model.hue, 20)
        else:
            self.letters(
                model.sign, self._sign_font, places.left, places.sign.y, model.hue
            )

    def _head(self) -> None:
        """Where we are, how far the session is, and when it will be over."""
        model, places = self._model, self._places
        is_short = places.key_row is None
        x = self.sign_right + _SIGN_AIR if self._sign_font else places.left
        finish = model.finish[is_short]
        right = places.right - len(finish)
        if finish:
            self.text(right, 0, finish, "text", len(finish))
        for text in (model.place[is_short], model.status):
            if text and x < right - 2:
                x = self.text(x, 0, text, "text", right - 2 - x) + 2
        room = right - 2 - x
        if finish and room >= LEAST_RAIL:
            rail = track(room, model.total_permille, ascii_only=self._ascii)
            self._canvas.put(x, 0, rail, "dim")

    def keys(self, x: int, row: int) -> None:
        """Our own key line: the first keys, as many as fit."""
        for key, label in self._model.keys:
            if x + len(key) + len(label) + 1 > self._places.columns - 2:
                break
            self._canvas.put(x, row, key, "text")
            self._canvas.put(x + len(key) + 1, row, label, "dim")
            x += len(key) + len(label) + 4

    # The clock and right of it

    def clock(self, line: BoardLine) -> int:
        """The countdown on the left edge; the first column right of it."""
        model, places = self._model, self._places
        if not model.clock:
            return places.left
        room = places.inner - places.picture_width - 2
        lines = clock_lines(
            model.clock, width=room, height=line.height, ascii_only=self._ascii
        )
        role = "dim" if model.counts_up else model.hue
        if not lines:
            fonts = places.board_fonts(line, line.y + line.height + 1)
            self.fitted(model.clock, fonts, places.left, line.y, role, room)
            return places.left + room
        self._canvas.ink(places.left, line.y, lines, role)
        return places.left + len(lines[0])

    def picture(self, clock_right: int) -> None:
        """The panes of a station with parts, and the ring where there is room."""
        if self._model.panes:
            self._panes()
        self._ring(clock_right)

    def _panes(self) -> None:
        model, places = self._model, self._places
        count = len(model.panes)
        gap = 2 if count == 2 else 1
        x = places.right - places.picture_width
        share = places.picture_width + gap
        for index, letter in enumerate(pane_letters(model.panes)):
            left = x + index * share // count
            width = x + (index + 1) * share // count - gap - left
            self._pane(letter, left, width, is_live=index == model.live)

    def _pane(self, letter: str, x: int, width: int, *, is_live: bool) -> None:
        """One box beside the clock: the live one filled, the others thin."""
        clock = self._places.clock
        first = (clock.y + 1) // 2
        rows = (clock.y + clock.height) // 2 - first
        if is_live:
            tile = filled_tile(letter, width, 2 * rows, ascii_only=self._ascii)
            self._canvas.ink(x, 2 * first, tile, self._model.hue + SHAPE)
            return
        box = thin_box(width, rows, ascii_only=self._ascii)
        self._canvas.block(x, first, box, "dim")
        lines = thin_letter(letter, width, 2 * rows, ascii_only=self._ascii)
        if not lines:
            self._canvas.put(x + width // 2, first + rows // 2, letter, "dim")
            return
        y = 2 * first + (2 * rows - len(lines)) // 2
        left = x + (width - len(lines[0])) // 2
        self._canvas.ink(left, y // 2 * 2 if self._ascii else y, lines, "dim")

    def _ring(self, clock_right: int) -> None:
        """The floor ring: stations as they stand in the garage, never time."""
        model, places = self._model, self._places
        at = places.ring
        if at is None or not model.stations or clock_right > at.x:
            return
        y, height = (places.clock.y + 1) // 2, places.clock.height // 2 + 1
        numbers = {number: index for index, number in enumerate(model.stations, 1)}
        drawn = floor_ring(
            len(model.stations),
            present=numbers.get(model.present or 0),
            next_=numbers.get(model.coming or 0),
            done=frozenset(numbers[n] for n in model.done if n in numbers),
            width=at.width,
            height=height,
            ascii_only=self._ascii,
        )
        dot = "." if self._ascii else "·"
        for row, column in ring_path(len(numbers), width=at.width, height=height):
            self._canvas.put(at.x + column, y + row, dot, "dim")
        self._canvas.block(at.x, y, drawn.lines, "dim")
        for span in drawn.spans:
            text = drawn.lines[span.row][span.col : span.col + span.length]
            role = {"present": model.hue, "done": "dim"}.get(span.role, "text")
            self._canvas.put(at.x + span.col, y + span.row, text, role)

    # The board and the band

    def board(self) -> None:
        """The station that counts: label, name, side and load."""
        model, places = self._model, self._places
        board, label = model.board, model.board.label
        is_said = not model.question and model.band.letters == model.next_name
        if model.present and model.next_name and not is_said:
            # Something else stands where the next one did.
            label = with_next(label, model.next_name)
        # On the least grid the picture reaches down to the label.
        taken = places.picture_width + 1 if places.key_row is None else 0
        self.text(places.left, places.label_row, label, "dim", places.inner - taken)
        fonts = places.board_fonts(places.name, places.side.y)
        self.fitted(board.name, fonts, places.left, places.name.y, "text", places.inner)
        fonts = places.board_fonts(places.side, 2 * places.sentence_row)
        self.side_and_load(board, fonts, places.left, places.side.y)

    def side_and_load(
        self, board: Board, fonts: Sequence[Font], left: int, y: int
    ) -> None:
        """The side at the left end, the load at the right one, in one font."""
        role = self._model.hue if board.is_live else "text"
        width = self._places.right - left
        found = _side_and_load_that_fit(board, fonts, width)
        found = found or _side_and_load_that_fit(board, smaller(fonts), width)
        if found is None:
            text = "  ".join(filter(None, [board.side, board.load]))
            self.text(left, (y + 1) // 2, text, "text", width)
            return
        font, side, load = found
        self.letters(side, font, left, y, role)
        self.letters(
            load, font, self._places.right - letter_width(load, font), y, "text"
        )

    def band(self) -> None:
        """The question, or the sentence and under it the letters."""
        model, places = self._model, self._places
        band, row = model.band, places.sentence_row
        if model.question:
            lines = notice_lines(model.question, places.inner, places.foot_row - row)
            for at, line in enumerate(lines, row):
                self.text(places.left, at, line, "text", places.inner)
            return
        self._sentence(band, row)
        role = model.hue if band.role == "hue" else band.role
        fonts = places.band_fonts()
        wide = first_that_fits(band.letters, (*fonts, *smaller(fonts)), places.inner)
        letters = band.letters if wide else band.short or band.letters
        self.fitted(letters, fonts, places.left, places.band.y, role, places.inner)

    def _sentence(self, band: Band, row: int) -> None:
        model, places = self._model, self._places
        if model.notice:
            self.text(places.left, row, model.notice, "text", places.inner)
            return
        x = self.text(places.left, row, band.sentence, "dim", places.inner)
        if band.shows_keys and places.key_row is None:
            self.keys(x + 2 if band.sentence else x, row)
        right = places.right - len(band.aside)
        if band.aside and right > x + 2:
            self.text(right, row, band.aside, "dim", len(band.aside))


def with_next(label: str, name: str) -> str:
    """A label that says what comes next too, before what may be cut off."""
    number, dot, rest = label.partition(" · ")
    return f"{number} · next {name}{dot}{rest}"


def smaller(fonts: Sequence[Font]) -> tuple[Font, ...]:
    """What is left below a ladder, for what fits in none of it."""
    if WHOLE_ROWS in fonts or not fonts:
        return ()
    least = min(font.height for font in fonts)
    return tuple(font for font in FONTS.values() if font.height < least)


def _side_and_load_that_fit(
    board: Board, fonts: Sequence[Font], width: int
) -> tuple[Font, str, str] | None:
    """The first pair of forms and the largest font in which both fit in a line."""
    for side, load in _forms(board.side, board.load):
        for font in fonts:
            taken = letter_width(side, font) + letter_width(load, font)
            if taken + (_APART if side and load else 0) <= width:
                return font, side, load
    return None


def _forms(side: str, load: str) -> Iterator[tuple[str, str]]:
    """A side and a load from the full forms to the shortest ones."""
    short = {"TOGETHER": "BOTH"}.get(side, side)
    number, _, unit = load.rpartition(" ")
    is_mass = unit in {"KG", "LB"}
    yield side, load
    yield short, load
    yield short, f"{number}{unit}" if is_mass else load
    yield short, number if is_mass else load
    yield side[:1], load
