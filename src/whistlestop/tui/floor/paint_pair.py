"""The Floor for two, from words to cells: one above and left, one below and right.

Order of leaving out as for one: key line, then facts and the progress of the
session; never the clock, the sides, the names or what comes next. There is no ring:
it shows where one person stands.
"""

from __future__ import annotations

from typing import Final

from whistlestop.tui.canvas import Canvas, Rows
from whistlestop.tui.floor.model import EffortCard
from whistlestop.tui.floor.paint import Box, Brush, Layout
from whistlestop.tui.floor.pair import AthleteOnFloor, PairModel
from whistlestop.tui.frames import frame
from whistlestop.tui.raster import clock_digits

_LEAST_ROWS: Final = 13
"""Rows inside the frame for two names of three rows with their facts, and a clock."""
_COLUMNS_FROM: Final = (108, 34)


def paint_pair(
    model: PairModel, width: int, height: int, *, ascii_only: bool = False
) -> Rows:
    """Draw the Floor for two at a size."""
    canvas = Canvas(width, height)
    if width < 1 or height < 1:
        return canvas.rows()
    layout = _lay_out(width, height)
    brush = PairBrush(canvas, model, ascii_only=ascii_only)
    brush.status(layout.status)
    brush.main(layout.main)
    brush.next(layout.next_box)
    brush.total(layout.total)
    brush.keys(layout.key_line)
    return canvas.rows()


def _lay_out(width: int, height: int) -> Layout:
    keys = 1 if height >= 20 else 0
    total = 1 if height >= 22 else 0
    status = 1 if height >= 12 else 0
    has_columns = width >= _COLUMNS_FROM[0] and height >= _COLUMNS_FROM[1]
    letters = 5 if height >= 44 else 3
    next_rows = 1 + letters if has_columns else 2 if height >= 8 else 1
    main = max(1, height - keys - total - status - next_rows)
    y = status + main
    return Layout(
        status=Box(0, 0, width, status),
        main=Box(0, status, width, main),
        ring=Box(width, 0, 0, 0),
        next_box=Box(0, y, width, next_rows),
        total=Box(0, y + next_rows, width, total),
        key_line=Box(0, height - keys, width, keys),
    )


class PairBrush(Brush):
    """Draws two people on one canvas."""

    def __init__(self, canvas: Canvas, model: PairModel, *, ascii_only: bool) -> None:
        super().__init__(canvas, model.common, ascii_only=ascii_only)
        self._pair = model

    def main(self, box: Box) -> None:
        """The common frame, and in it the two with the clock between them."""
        model = self._model
        self._canvas.field(box.x, box.y, box.width, box.height, model.hue)
        lines = frame(
            "work" if model.frame == "switch" else model.frame,
            box.width,
            box.height,
            title=model.word,
            progress_permille=model.permille,
            ascii_only=self._ascii,
        )
        self._canvas.block(box.x, box.y, lines, model.hue)
        inner = Box(box.x + 3, box.y + 1, box.width - 6, box.height - 2)
        if inner.height >= _LEAST_ROWS:
            self._roomy(inner)
        else:
            self._narrow(inner)

    def _roomy(self, box: Box) -> None:
        """Name, letters, clock with sides or efforts beside it, letters, name."""
        words = self._words()
        rows = box.height - bool(words)
        letters = self._letter_rows(rows)
        first, second = self._pair.people[0], self._pair.people[-1]
        has_letters = bool(first.letters or second.letters)
        band = 1 + letters if has_letters else 1
        self._band(first, Box(box.x, box.y, box.width, band))
        low = box.y + rows - band
        self._band(second, Box(box.x, low, box.width, band))
        middle = Box(box.x, box.y + band, box.width, rows - 2 * band)
        if middle.height > 8:
            middle = Box(box.x, middle.y + 1, box.width, middle.height - 2)
        self._middle_band(middle)
        if words:
            self._middle(words, box, box.y + box.height - 1, self._model.hue)

    def _letter_rows(self, rows: int) -> int:
        """Letters as high as the clock of 7 rows leaves them."""
        if rows >= 52:
            return 15
        if rows >= 35:
            return 10
        return 5 if rows >= 21 else max(1, min(3, (rows - 9) // 2))

    def _band(self, person: AthleteOnFloor, box: Box) -> None:
        hue = self._model.hue
        self._text(box.x, box.y, f"{person.name}  {person.facts}", box.width, hue)
        place = Box(box.x, box.y + 1, box.width, box.height - 1)
        self._letters(person.letters, place, hue, middle=False)

    def _middle_band(self, box: Box) -> None:
        """The clock in the middle; left what is the one's, right the other's."""
        model = self._model
        drawn = 0
        if model.clock:
            digits = clock_digits(
                model.clock,
                width=max(1, box.width * 4 // 10),
                height=max(1, box.height),
                ascii_only=self._ascii,
            )
            drawn = len(digits[0]) if digits else 0
            x = box.x + (box.width - drawn) // 2
            y = box.y + (box.height - len(digits)) // 2
            self._canvas.block(x, y, digits, model.hue)
        has_efforts = any(person.effort for person in self._pair.people)
        if not model.clock and not has_efforts:
            self._gate(box)
            return
        side = max(1, (box.width - drawn) // 2 - 2)
        right = box.x + box.width - side
        first, second = self._pair.people[0], self._pair.people[-1]
        self._own(first, Box(box.x, box.y, side, box.height))
        self._own(second, Box(right, box.y, side, box.height))

    def _own(self, person: AthleteOnFloor, box: Box) -> None:
        """The effort card, or the side in letters, under the name."""
        hue = self._model.hue
        if person.effort is not None:
            self._rated(person, person.effort, box)
        elif person.side:
            rows = min(10 if box.height >= 14 else 5, box.height - 1)
            top = box.y + max(0, (box.height - rows - 1) // 2)
            self._text(box.x, top, person.name, box.width, hue)
            place = Box(box.x, top + 1, box.width, rows)
            self._letters(person.side, place, hue, middle=False)

    def _rated(self, person: AthleteOnFloor, card: EffortCard, box: Box) -> None:
        """Who answers is marked; the question is the same for both."""
        hue = self._model.hue
        mark = ("> " if self._ascii else "▶ ") if person.answers else "  "
        partial = " (partial)" if card.partial else ""
        head = f"{mark}{person.name} · loop {card.loop}{partial}"
        self._text(box.x, box.y, head, box.width, hue)
        said = card.effort
        if said is None:
            self._text(box.x + 2, box.y + 1, "not entered", box.width - 2, hue)
            return
        figures = f"{said.halves // 2}" + ("½" if said.halves % 2 else "")
        rows = min(5, box.height - 2)
        place = Box(box.x + 2, box.y + 1, box.width - 2, rows)
        used = self._letters(figures, place, hue, middle=False)
        self._text(box.x + 2, box.y + 1 + used, said.word, box.width - 2, hue)

    def _narrow(self, box: Box) -> None:
        """Small screens: a line for each, then the clock; efforts in the lines."""
        hue = self._model.hue
        lines = 0
        for person in self._pair.people:
            if lines < box.height:
                said = self._line(person)
                self._text(box.x, box.y + lines, said, box.width, hue)
                lines += 1
        words = self._words() if box.height > 4 else ""
        room = Box(box.x, box.y + lines, box.width, box.height - lines - bool(words))
        if self._model.clock and room.height > 0 and room.width > 0:
            digits = clock_digits(
                self._model.clock,
                width=room.width,
                height=room.height,
                ascii_only=self._ascii,
            )
            left = room.x + (room.width - len(digits[0])) // 2 if digits else room.x
            self._canvas.block(left, room.y, digits, hue)
        elif room.height > 0 and not self._model.clock:
            self._gate(Box(*room[:3], min(room.height, 5)))
        if words:
            self._middle(words, box, box.y + box.height - 1, hue)

    def _line(self, person: AthleteOnFloor) -> str:
        """The side comes first: it is never what falls off the end."""
        if person.effort is not None:
            mark = ("> " if self._ascii else "▶ ") if person.answers else ""
            said = person.effort.effort
            effort = f"{said} {said.word}" if said else "not entered"
            return f"{mark}{person.name}  loop {person.effort.loop}: {effort}"
        return "  ".join(filter(None, [person.name, person.side, person.facts]))

    def _gate(self, box: Box) -> None:
        """A gate without a clock: which key opens it."""
        model = self._model
        if model.word != "ENDED":
            key = model.keys[0][0].upper() if model.keys else "A KEY"
            rows = min(box.height, 5)
            y = box.y + max(0, (box.height - rows) // 2)
            self._letters(f"PRESS {key}", Box(box.x, y, box.width, rows), model.hue)

    def _words(self) -> str:
        model = self._model
        if model.notice:
            return model.notice
        if any(person.effort for person in self._pair.people):
            return f"How hard was the loop?  0 to 10 · {self._pair.ask}"
        return model.caution

    def next(self, box: Box) -> None:
        """What comes next for each: a line, and letters where there are columns."""
        if not box.height:
            return
        role = "text" if self._model.next_is_loud else "dim"
        people = self._pair.people
        if box.height == 1:
            names = [f"{one.name} {one.next_name}" for one in people if one.next_name]
            told = f"next  {' | '.join(names)}" if names else "no more stations"
            self._text(box.x + 1, box.y, told, box.width - 2, role)
            return
        if box.height == 2:
            for row, one in enumerate(people):
                label = "next  " if one.next_name else ""
                said = f"{label}{one.name}  {one.next_facts}"
                self._text(box.x + 1, box.y + row, said, box.width - 2, role)
            return
        width = (box.width - 2) // len(people)
        for place, one in enumerate(people):
            x = box.x + 1 + place * width
            label = "next  " if one.next_name else ""
            said = f"{label}{one.name}  {one.next_facts}"
            self._text(x, box.y, said, width - 2, role)
            letters = Box(x, box.y + 1, width - 2, box.height - 1)
            self._letters(one.next_name, letters, role, middle=False)
