"""Single loops of the editor's circuit: what differs in one of them.

Owns the keys; the steps stand in `domain.edit_loops`, the words in
`editor_loops_lines`.
"""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.domain.circuit import edit_loops as loops
from whistlestop.domain.circuit.circuit import Circuit, Today
from whistlestop.domain.plan.timeline import resolve
from whistlestop.errors import RefusedError
from whistlestop.tui.rooms.editor.lines import totals_row
from whistlestop.tui.rooms.editor.loops_lines import (
    FIGURES,
    IN_LOOP,
    loop_rows,
    loops_row,
)
from whistlestop.tui.rooms.editor.part import Editing, EditorPart
from whistlestop.tui.rooms.editor.steps import STEP_MS, read
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK

_KEYS = {"w": "work", "r": "recover", "l": "load"}


class LoopsRoom(EditorPart):
    """What differs in one loop, station by station."""

    def __init__(self, editing: Editing) -> None:
        """Begin with the last loop: it is the one that mostly differs."""
        super().__init__(editing)
        self.loop = editing.circuit.loops

    @property
    def number(self) -> int:
        """The chosen station, from 1; 0 while a setting of the loop is chosen."""
        return max(0, self.chosen - len(FIGURES) + 1)

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the circuit."""
        return "Each loop", self.circuit.name, self.editing.state

    def standing_text(self) -> str:
        """What is asked; else the keys of the chosen line, and what the dot means."""
        if self.is_asking:
            return self.asked_text()
        if not self.number:
            return "● changed in this loop · Backspace: reset · D: reset the loop"
        return "w work · r recover · l load · x leave out · Backspace: reset"

    def key_entries(self) -> Sequence[KeyEntry]:
        """Loops, steps, undo, back."""
        if self.is_asking:
            return self.asked_keys()
        entries = [KeyEntry("Tab", "next loop")] if self.circuit.loops > 1 else []
        entries.append(KeyEntry("← →", "5 s", 1))
        return [*entries, *self.step_entries()]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The loops, then the chosen one."""
        del lines
        rows, self._row_ranges = loop_rows(self.circuit, self.loop, self.chosen, cells)
        totals = totals_row(self.editing.now)
        head = (totals, loops_row(self.circuit, self.loop, cells), BLANK)
        return PageLayout(rows, self._row_ranges[self.chosen], head=head)

    # Keys

    def settle_chosen(self) -> None:
        """Stay on a loop and a line that are there."""
        self.loop = max(1, min(self.loop, self.circuit.loops))
        last = len(FIGURES) + len(self.circuit.stations) - 1
        self.chosen = max(0, min(self.chosen, last))

    def act(self, key: str) -> bool:
        """Go to another loop, or change the chosen line in this one."""
        count = self.circuit.loops
        match key:
            case "tab" | "right_square_bracket":
                self.loop = self.loop % count + 1
            case "shift+tab" | "left_square_bracket":
                self.loop = (self.loop - 2) % count + 1
            case "left" | "minus" | "right" | "plus":
                self._step_work(-1 if key in {"left", "minus"} else 1)
            case "enter":
                self._ask("work" if self.number else FIGURES[self.chosen])
            case "w" | "r" | "l":
                self._ask(_KEYS[key])
            case "x" | "delete":
                self._leave_out(key)
            case "backspace":
                self._clear()
            case "D":
                cleared = loops.loop_cleared(self.circuit, self.loop)
                self.take_step(f"loop {self.loop} as usual", cleared)
            case _:
                return False
        return True

    def _step_work(self, way: int) -> None:
        circuit, loop = self.circuit, self.loop
        figure = "work" if self.number else FIGURES[self.chosen]
        name = IN_LOOP[figure].name
        if figure == "load":
            raise RefusedError("Enter types it")
        if self.number:
            station = circuit.stations[self.number - 1]
            now_ms = resolve(circuit, station, loop, self.number, Today()).work_ms
        else:
            own_ms = getattr(loops.loop_at(circuit, loop), name)
            now_ms = getattr(circuit, name) if own_ms is None else own_ms
        made = self._set(figure, now_ms + way * STEP_MS)
        self.take_step(f"{figure} in loop {loop}", made)

    def _leave_out(self, key: str) -> None:
        if not self.number:
            raise RefusedError("choose a station; x leaves it out of this loop")
        if self.debounced(key):
            own = loops.in_loop_at(self.circuit, self.loop, self.number)
            made = loops.in_loop_skipped(
                self.circuit, self.loop, self.number, skip=not own.skip
            )
            self.take_step(f"stations in loop {self.loop}", made)

    def _clear(self) -> None:
        circuit, loop = self.circuit, self.loop
        if self.number:
            made = loops.in_loop_cleared(circuit, loop, self.number)
        else:
            made = self._set_typed(FIGURES[self.chosen], "")
        self.take_step(f"as usual in loop {loop}", made)

    # Typed lines

    def _ask(self, what: str) -> None:
        number = self.number
        if not number and what != FIGURES[self.chosen]:
            self.chosen = FIGURES.index(what)
        words = f"{what} in loop {self.loop}"
        value = self._value(what)
        self.ask_for(
            IN_LOOP[what].ask, words, lambda typed: self._set_typed(what, typed), value
        )

    def _value(self, what: str) -> str:
        own = (
            loops.in_loop_at(self.circuit, self.loop, self.number)
            if self.number
            else loops.loop_at(self.circuit, self.loop)
        )
        field = IN_LOOP[what]
        value = getattr(own, field.name)
        return "" if value is None else field.kind.as_line(value)

    def _set_typed(self, what: str, typed: str) -> Circuit:
        text = typed.strip()
        return self._set(what, read(IN_LOOP[what].kind.typed, text) if text else None)

    def _set(self, what: str, value: object) -> Circuit:
        circuit, loop, name = self.circuit, self.loop, IN_LOOP[what].name
        if self.number:
            return loops.in_loop_set(circuit, loop, self.number, name, value)
        return loops.loop_set(circuit, loop, name, value)
