"""The Floor for two, from values to cells: two boards, each with a tile.

Order of leaving out as for one. There are no panes and no ring: they show where one
person stands.
"""

from __future__ import annotations

from typing import Final

from whistlestop.tui.canvas import Canvas, Rows
from whistlestop.tui.floor.notices import APART, notice_lines
from whistlestop.tui.floor.paint import Brush, smaller, with_next
from whistlestop.tui.floor.paint_small import board_line, messages, paint_lines
from whistlestop.tui.floor.pair import AthleteOnFloor, Beside, PairModel
from whistlestop.tui.floor.sizes import BoardLine, FloorPlaces, has_room, places_for
from whistlestop.tui.floor.tiles import filled_tile
from whistlestop.tui.fonts import first_that_fits, letter_width
from whistlestop.tui.theme import SHAPE

_AIR: Final = 2
"""Columns right of the clock, and half lines between two lines beside it."""


def paint_pair(
    model: PairModel, width: int, height: int, *, ascii_only: bool = False
) -> Rows:
    """Draw the Floor for two at a size."""
    if not has_room(width, height):
        return _small(model, width, height, ascii_only=ascii_only)
    places = places_for(width, height, whole_rows=ascii_only)
    canvas = Canvas(width, height, ascii_only=ascii_only)
    brush = PairBrush(canvas, model, places)
    brush.surround(is_common=True)
    brush.boards(brush.clock(places.two.clock))
    return canvas.rows()


def _small(model: PairModel, width: int, height: int, *, ascii_only: bool) -> Rows:
    lines = [f"{one.name}  {board_line(one.board)}" for one in model.people]
    nexts = [f"{one.name} {one.next_name}" for one in model.people if one.next_name]
    if nexts:
        lines.append(f"next  {', '.join(nexts)}")
    lines += messages(model.common)
    return paint_lines(model.common, lines, width, height, ascii_only=ascii_only)


class PairBrush(Brush):
    """Draws two people on one canvas."""

    def __init__(self, canvas: Canvas, model: PairModel, places: FloorPlaces) -> None:
        """Prepare; nothing is drawn yet."""
        super().__init__(canvas, model.common, places)
        self._pair = model
        self._has_label = True

    def boards(self, clock_right: int) -> None:
        """What stands beside the clock, and the two boards."""
        lit = self._beside(clock_right + max(_AIR, self._places.tile_gap))
        for number, person in enumerate(self._pair.people):
            self._board(number, person, clock_right, is_lit=number == lit)

    # Beside the clock

    def _beside(self, x: int) -> int | None:
        """Question, notice or band; whose tile is lit by it."""
        model, places = self._model, self._places
        clock = places.two.clock
        first = self._first_row
        width, last = places.right - x, places.two.label_rows[0] - 1
        if model.question:
            self._question(x, width, first, last)
            return None
        if model.notice:
            self.text(x, first, model.notice, "text", width)
            return None
        shown = self._shown(width)
        if len(shown) == 2:
            self._two_lines(shown, x, clock)
            return None
        for one in shown:
            self._one_line(one, width, first, last)
            return one.person
        return None

    def _question(self, x: int, width: int, first: int, last: int) -> None:
        """The question; a long one begins a row higher and takes the label's row."""
        question = self._model.question
        rows = last - first + 1
        if len(notice_lines(question, width, 2 * rows)) > rows:
            head, _, question = question.partition(APART)
            self._right(
                head, first - 1, self._places.right - self.sign_right - 2, "text"
            )
            rows += 1
            self._has_label = False
        for row, line in enumerate(notice_lines(question, width, rows), first):
            self.text(x, row, line, "text", width)

    @property
    def _first_row(self) -> int:
        """The row under the sign."""
        places = self._places
        return max((places.sign.y + places.sign.height) // 2, places.frame_rows[0]) + 1

    def _shown(self, width: int) -> tuple[Beside, ...]:
        """Both lines where both fit beside the clock in letters, else one in turn."""
        beside = self._pair.beside
        if len(beside) < 2:
            return beside
        height = (self._places.two.clock.height - _AIR) // 2
        fonts = self._places.beside_fonts(height)
        if fonts and all(
            first_that_fits(one.band.letters, fonts, width) for one in beside
        ):
            return beside
        return (beside[self._pair.turn % len(beside)],)

    def _two_lines(self, shown: tuple[Beside, ...], x: int, clock: BoardLine) -> None:
        places = self._places
        height = (clock.height - _AIR) // 2
        fonts = self._places.beside_fonts(height)
        font = min(
            (
                first_that_fits(one.band.letters, fonts, places.right - x) or fonts[-1]
                for one in shown
            ),
            key=lambda one: one.height,
        )
        for at, one in enumerate(shown):
            y = clock.y + at * (clock.height - font.height)
            left = places.right - letter_width(one.band.letters, font)
            self.letters(one.band.letters, font, left, y, self._model.hue)

    def _one_line(self, one: Beside, width: int, first: int, last: int) -> None:
        """Letters at the right end, the sentence over or under them."""
        places, band = self._places, one.band
        clock = places.two.clock
        role = self._model.hue if band.role == "hue" else band.role
        fonts = self._places.beside_fonts(clock.height - 2 * _AIR)
        every = (*fonts, *smaller(fonts))
        for letters in filter(None, (band.letters, band.short)):
            font = first_that_fits(letters, every, width)
            if font is not None:
                y = clock.y + (clock.height - font.height) // 2
                y = y // 2 * 2 if places.whole_rows else y
                left = places.right - letter_width(letters, font)
                self.letters(letters, font, left, y, role)
                text = band.aside if letters == band.letters else band.sentence
                text = text or band.sentence
                if 2 * last >= y + font.height:
                    self._right(text, last, width)
                elif 2 * first + 2 <= y:
                    self._right(text, first, width)
                return
        self._right(band.letters, first, width, "text")
        self._right(band.sentence, first + 1, width)

    def _right(self, text: str, row: int, width: int, role: str = "dim") -> None:
        taken = min(len(text), width)
        self.text(self._places.right - taken, row, text, role, taken)

    # The boards

    def _board(
        self, number: int, person: AthleteOnFloor, clock_right: int, *, is_lit: bool
    ) -> None:
        places, two = self._places, self._places.two
        name_y, side_y = two.lines[2 * number : 2 * number + 2]
        height = side_y - name_y + two.height
        tile = filled_tile(
            person.initial, two.tile_width, height, ascii_only=places.whole_rows
        )
        role = self._model.hue if is_lit else "dim"
        self._canvas.ink(places.left, name_y, tile, role + SHAPE)
        x = places.left + two.tile_width + places.tile_gap
        if number > 0 or self._has_label:
            self._label(person, two.label_rows[number], x, clock_right)
        end = two.lines[2] - 2 if number == 0 else 2 * places.foot_row
        fonts = places.board_fonts(BoardLine(name_y, two.height), side_y)
        self.fitted(person.board.name, fonts, x, name_y, "text", places.right - x)
        fonts = places.board_fonts(BoardLine(side_y, two.height), end)
        self.side_and_load(person.board, fonts, x, side_y)

    def _label(
        self, person: AthleteOnFloor, row: int, x: int, clock_right: int
    ) -> None:
        places = self._places
        left = places.left
        clock = places.two.clock
        if 2 * row < clock.y + clock.height:
            # The clock reaches down to this row.
            left = x = max(x, clock_right + _AIR)
        label = person.board.label
        if person.next_name:
            label = with_next(label, person.next_name)
        end = self.text(left, row, person.name, "text", places.right - left)
        x = max(x, end + 2)
        label = " · ".join(filter(None, [label, person.caution]))
        self.text(x, row, label, "dim", places.right - x)
