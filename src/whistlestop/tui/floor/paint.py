"""From what the Floor says to cells: sizes, places, and what is left out when small.

Order of leaving out: key line, ring, tempo and other facts, progress of the
session; never clock, side, name or next. Pure functions of model and size.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from whistlestop.domain.text import fold_call_name
from whistlestop.tui.canvas import Canvas, Rows
from whistlestop.tui.floor.model import EffortCard, FloorModel
from whistlestop.tui.floor.notices import notice_lines
from whistlestop.tui.frames import fit_cells, frame
from whistlestop.tui.raster import block_text, clock_digits
from whistlestop.tui.ring import floor_ring, ring_path

RING_FROM_WIDTH: Final = 108
RING_FROM_HEIGHT: Final = 26
STRIP_FROM_HEIGHT: Final = 34
LEAST_PANE_WIDTH: Final = 26
_BODY: Final = {"LEFT": 0, "RIGHT": 2}


class Box(NamedTuple):
    """A rectangle of cells."""

    x: int
    y: int
    width: int
    height: int


class Layout(NamedTuple):
    """Where everything goes; a box of no height is left out."""

    status: Box
    main: Box
    ring: Box
    next_box: Box
    total: Box
    key_line: Box


def lay_out(width: int, height: int) -> Layout:
    """Divide a screen of any size."""
    keys = 1 if height >= 20 else 0
    total = 1 if height >= 22 else 0
    status = 1 if height >= 12 else 0
    next_rows = _next_rows(height)
    main_rows = max(1, height - keys - total - status - next_rows)
    has_ring = width >= RING_FROM_WIDTH and height >= RING_FROM_HEIGHT
    ring_width = max(30, width * 3 // 10) if has_ring else 0
    y = status
    return Layout(
        status=Box(0, 0, width, status),
        main=Box(0, y, width - ring_width, main_rows),
        ring=Box(width - ring_width, y, ring_width, main_rows if has_ring else 0),
        next_box=Box(0, y + main_rows, width, next_rows),
        total=Box(0, y + main_rows + next_rows, width, total),
        key_line=Box(0, height - keys, width, keys),
    )


def _next_rows(height: int) -> int:
    """Rows for what comes next: a line of facts, and letters where there is room."""
    if height >= 44:
        return 7
    if height >= 24:
        return 4
    return 2 if height >= 8 else 1


def paint(
    model: FloorModel, width: int, height: int, *, ascii_only: bool = False
) -> Rows:
    """Draw the Floor at a size."""
    canvas = Canvas(width, height)
    if width < 1 or height < 1:
        return canvas.rows()
    layout = lay_out(width, height)
    brush = Brush(canvas, model, ascii_only=ascii_only)
    brush.status(layout.status)
    brush.main(layout.main)
    brush.ring(layout.ring)
    brush.next(layout.next_box)
    brush.total(layout.total)
    brush.keys(layout.key_line)
    return canvas.rows()


def _pane_width(width: int, panes: int) -> int:
    """How wide each of some panes is, one cell apart."""
    return (width - (panes - 1)) // max(1, panes)


class Brush:
    """Draws the parts of one model on one canvas."""

    def __init__(self, canvas: Canvas, model: FloorModel, *, ascii_only: bool) -> None:
        self._canvas = canvas
        self._model = model
        self._ascii = ascii_only

    def _fitted(self, text: str, width: int) -> str:
        plain = text.replace("·", "|") if self._ascii else text
        return fit_cells(plain, width, ascii_only=self._ascii)

    def _text(self, x: int, y: int, text: str, width: int, role: str) -> None:
        line = self._fitted(text, max(0, width)).rstrip()
        self._canvas.put(x, y, line, role)

    def _letters(self, text: str, box: Box, role: str, *, middle: bool = True) -> int:
        """Block letters in a box; the rows used."""
        if not text or box.width < 1 or box.height < 1:
            return 0
        lines = block_text(
            text, max_width=box.width, max_rows=box.height, ascii_only=self._ascii
        )
        x = box.x + (box.width - len(lines[0])) // 2 if middle else box.x
        self._canvas.block(x, box.y, lines, role)
        return len(lines)

    def status(self, box: Box) -> None:
        """One line: where we are, and when it will be over."""
        if not box.height:
            return
        model = self._model
        right = " · ".join(filter(None, [model.saved, model.sound, model.finish]))
        self._text(box.x + 1, box.y, model.place, box.width - 2, "text")
        if len(right) + len(model.place) + 4 <= box.width:
            x = box.x + box.width - 1 - len(right)
            self._text(x, box.y, right, len(right), "text")

    def main(self, box: Box) -> None:
        """The frame with what now, the clock, and the side, drill or effort."""
        model = self._model
        self._canvas.field(box.x, box.y, box.width, box.height, model.hue)
        panes, live = self._panes_in_place()
        width = _pane_width(box.width, len(panes))
        if model.frame == "switch" and live is not None and width >= LEAST_PANE_WIDTH:
            self._split(box, panes, live)
            return
        lines = frame(
            "work" if model.frame == "switch" else model.frame,
            box.width,
            box.height,
            title=model.word,
            progress_permille=model.permille,
            ascii_only=self._ascii,
        )
        self._canvas.block(box.x, box.y, lines, model.hue)
        self._inside(Box(box.x + 3, box.y + 1, box.width - 6, box.height - 2))

    def _panes_in_place(self) -> tuple[tuple[str, ...], int | None]:
        """The parts as they stand on the body, left before right; the live one."""
        sides, live = self._model.sides, self._model.live
        places = sorted(range(len(sides)), key=lambda i: _BODY.get(sides[i], 1))
        if not {"LEFT", "RIGHT"} <= set(sides):
            places = list(range(len(sides)))
        return tuple(sides[i] for i in places), (
            None if live is None else places.index(live)
        )

    def _split(self, box: Box, panes: tuple[str, ...], live: int) -> None:
        """Draw the switch: two frames, and all that counts on the live side."""
        model = self._model
        lines = frame(
            "switch",
            box.width,
            box.height,
            title=model.word,
            progress_permille=model.permille,
            side_labels=panes,
            live=live,
            ascii_only=self._ascii,
        )
        self._canvas.block(box.x, box.y, lines, model.hue)
        width = _pane_width(box.width, len(panes))
        x = box.x + live * (width + 1) + 3
        inner = Box(x, box.y + 2, width - 6, box.height - 4)
        used = self._letters(panes[live], Box(*inner[:3], 10), model.hue)
        room = Box(inner.x, inner.y + used + 1, inner.width, inner.height - used - 1)
        digits = clock_digits(
            model.clock,
            width=max(1, room.width),
            height=max(1, room.height),
            ascii_only=self._ascii,
        )
        if digits:
            left = room.x + (room.width - len(digits[0])) // 2
            top = room.y + (room.height - len(digits)) // 2
            self._canvas.block(left, top, digits, model.hue)

    def _inside(self, box: Box) -> None:
        """Name, facts, clock, strip and note under each other, air between them."""
        model, rows = self._model, box.height
        words = notice_lines(model.notice or model.caution, box.width)
        notice = len(words)
        facts = 1 if rows >= 13 + min(notice, 1) else 0
        second = self._second_rows(rows - facts - notice)
        clock_rows = self._clock_rows(rows - facts - notice - second)
        name_rows = max(1, rows - facts - notice - second - clock_rows)
        name = Box(box.x, box.y, box.width, min(name_rows, 20))
        y = box.y + self._letters(model.now, name, model.hue)
        spare = rows - (y - box.y) - facts - notice - second
        clock_rows = min(clock_rows, max(1, self._clock_height(box, spare, second)))
        air = max(0, spare - clock_rows)
        if facts:
            y += min(air, 1)
            self._middle(model.facts, box, y, model.hue)
            y += 1
            air -= min(air, 1)
        y += (air + 1) // 2 if second else air // 2
        self._clock(Box(box.x, y, box.width, clock_rows), second)
        y += clock_rows
        if second:
            self._second(Box(box.x, y + air // 4, box.width, second))
        for place, line in enumerate(words, rows - notice):
            self._middle(line, box, box.y + place, model.hue)

    def _clock_height(self, box: Box, rows: int, second: int) -> int:
        """How high the clock is really drawn: a wide one is bound by the width."""
        model = self._model
        if not model.clock:
            return min(rows, 7)
        beside = not second and bool(model.sides or model.drill or model.effort)
        width = box.width * 6 // 10 if beside else box.width
        return len(
            clock_digits(
                model.clock,
                width=max(1, width),
                height=max(1, rows),
                ascii_only=self._ascii,
            )
        )

    def _clock_rows(self, rows: int) -> int:
        """The clock takes what the name can spare: at least 7 where there are."""
        name = 5 if rows >= 13 else 3 if rows >= 9 else 1
        if rows >= 26:
            name = rows * 3 // 10
        return max(1, rows - name - (1 if rows >= 14 else 0))

    def _second_rows(self, rows: int) -> int:
        """Rows under the clock for sides, drill or effort; 0 puts them beside it."""
        model = self._model
        if not (model.sides or model.drill or model.effort):
            return 0
        if rows < STRIP_FROM_HEIGHT - 12:
            return 0
        return 9 if rows >= 34 else 7

    def _middle(self, text: str, box: Box, y: int, role: str) -> None:
        line = self._fitted(text, box.width).strip()
        self._canvas.put(box.x + (box.width - len(line)) // 2, y, line, role)

    def _clock(self, box: Box, second: int) -> None:
        """The countdown; on a small screen the side stands beside it."""
        model = self._model
        beside = not second and bool(model.sides or model.drill or model.effort)
        if not model.clock:
            self._gate(box)
            return
        width = box.width
        if beside:
            width = max(box.width * 6 // 10, min(box.width, 24))
        digits = clock_digits(
            model.clock, width=width, height=box.height, ascii_only=self._ascii
        )
        if not digits:
            return
        drawn = len(digits[0])
        x = box.x if beside else box.x + (box.width - drawn) // 2
        self._canvas.block(x, box.y, digits, model.hue)
        if beside:
            gap = drawn + 3
            self._beside(Box(box.x + gap, box.y, box.width - gap, box.height))

    def _gate(self, box: Box) -> None:
        model = self._model
        if model.effort:
            self._effort(box, model.effort)
        elif model.word != "ENDED":
            key = fold_call_name(model.keys[0][0]) if model.keys else "A KEY"
            words = f"PRESS {key}"
            self._letters(words, Box(*box[:3], min(box.height, 5)), model.hue)

    def _beside(self, box: Box) -> None:
        """Side, drill or effort in the room right of the clock."""
        model = self._model
        if model.effort:
            self._effort(box, model.effort)
            return
        if model.sides and model.live is not None:
            live = model.sides[model.live]
            top = Box(box.x, box.y, box.width, min(5, max(1, box.height - 2)))
            used = self._letters(live, top, model.hue, middle=False)
            order = " > ".join(
                f"[{side}]" if i == model.live else side
                for i, side in enumerate(model.sides)
            )
            if box.height > used + 1:
                self._text(box.x, box.y + used + 1, order, box.width, model.hue)
            return
        top = Box(box.x, box.y, box.width, min(5, box.height))
        self._letters(model.drill, top, model.hue, middle=False)

    def _second(self, box: Box) -> None:
        """The strip under the clock: panes of sides, the drill, or the effort."""
        model = self._model
        if model.effort:
            self._effort(Box(box.x, box.y + 1, box.width, box.height - 1), model.effort)
        elif model.sides:
            self._panes(box)
        else:
            rows = min(5, box.height - 1)
            self._letters(
                model.drill, Box(box.x, box.y + 1, box.width, rows), model.hue
            )

    def _panes(self, box: Box) -> None:
        model = self._model
        panes, live = self._panes_in_place()
        width = _pane_width(box.width, len(panes))
        for index, side in enumerate(panes):
            x = box.x + index * (width + 1)
            is_live = index == live
            lines = frame(
                "work" if is_live else "get_ready",
                width,
                box.height,
                title="",
                ascii_only=self._ascii,
            )
            role = model.hue
            self._canvas.block(x, box.y, lines, role)
            inner = Box(x + 2, box.y + 1, width - 4, box.height - 2)
            if is_live:
                rows = min(5, inner.height)
                top = inner.y + (inner.height - rows) // 2
                self._letters(side, Box(inner.x, top, inner.width, rows), role)
            else:
                self._middle(side, inner, inner.y + inner.height // 2, role)

    def _effort(self, box: Box, card: EffortCard) -> None:
        """How hard was it: the question, and the answer in large figures."""
        hue = self._model.hue
        partial = " (partial)" if card.partial else ""
        question = f"How hard was loop {card.loop}{partial}?  0 to 10"
        self._text(box.x, box.y, question, box.width, hue)
        if box.height < 2:
            return
        if card.effort is None:
            self._text(box.x, box.y + 1, "not entered", box.width, hue)
            return
        figures = f"{card.effort.halves // 2}" + ("½" if card.effort.halves % 2 else "")
        rows = min(5, box.height - 2)
        used = 0
        if rows >= 3:
            place = Box(box.x, box.y + 1, box.width, rows)
            used = self._letters(figures, place, hue, middle=False)
        else:
            self._text(box.x, box.y + 1, figures, box.width, hue)
            used = 1
        self._text(box.x, box.y + 1 + used, card.effort.word, box.width, hue)

    def ring(self, box: Box) -> None:
        """The floor ring: stations as they stand in the garage, never time."""
        model = self._model
        if not box.height or not model.stations:
            return
        places = {number: index for index, number in enumerate(model.stations, 1)}
        width = box.width - 4
        height = min(box.height - 2, max(9, width // 2))
        drawn = floor_ring(
            len(model.stations),
            present=places.get(model.present or 0),
            next_=places.get(model.coming or 0),
            done=frozenset(places[n] for n in model.done if n in places),
            width=width,
            height=height,
            ascii_only=self._ascii,
        )
        y = box.y + max(0, (box.height - len(drawn.lines)) // 2)
        for row, column in ring_path(len(places), width=width, height=height):
            dot = "." if self._ascii else "·"
            self._canvas.put(box.x + 3 + column, y + row, dot, "dim")
        self._middle(
            f"loop {model.loop} of {model.loops}" if model.loop else "",
            Box(box.x + 3, y, width, 1),
            y + len(drawn.lines) // 2,
            "dim",
        )
        self._canvas.block(box.x + 3, y, drawn.lines, "dim")
        for span in drawn.spans:
            text = drawn.lines[span.row][span.col : span.col + span.length]
            role = {"present": model.hue, "next": "text", "done": "dim"}.get(
                span.role, "text"
            )
            self._canvas.put(box.x + 3 + span.col, y + span.row, text, role)

    def next(self, box: Box) -> None:
        """What comes next: facts in a line, the name in letters when it matters."""
        model = self._model
        if not box.height:
            return
        role = "text" if model.next_is_loud else "dim"
        label = "next  " if model.next_name else ""
        self._text(box.x + 1, box.y, label + model.next_facts, box.width - 2, role)
        if box.height > 1:
            rows = min(box.height - 1, 5)
            place = Box(box.x + 1, box.y + 1, box.width - 2, rows)
            self._letters(model.next_name, place, role, middle=False)

    def total(self, box: Box) -> None:
        """How far the whole session is."""
        if box.height:
            width = box.width - 2
            done = width * self._model.total_permille // 1000
            heavy, thin = ("=", "-") if self._ascii else ("━", "─")
            line = heavy * done + thin * (width - done)
            self._canvas.put(box.x + 1, box.y, line, "dim")

    def keys(self, box: Box) -> None:
        """Our own key line: the first keys, as many as fit."""
        if not box.height:
            return
        x = box.x + 1
        for key, label in self._model.keys:
            if x + len(key) + len(label) + 1 > box.width - 1:
                break
            self._canvas.put(x, box.y, key, "text")
            self._canvas.put(x + len(key) + 1, box.y, label, "dim")
            x += len(key) + len(label) + 4
