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
from whistlestop.tui.rooms.editor.loops_lines import FIGURES, loop_rows, loops_row
from whistlestop.tui.rooms.editor.part import Editing, EditorPart
from whistlestop.tui.rooms.editor.steps import STEP_MS, load_typed, ms_typed
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK

_ASKED = {
    "work": "Work in this loop: 40, 90 s or 1:30; empty is as usual",
    "recover": "Recover in this loop: 20, 90 s or 1:30; empty is as usual",
    "load": 'Load in this loop: 12 kg, 2 x 8 kg, 18 lb or "band: green"; empty is none',
}
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
        if self.number:
            station = circuit.stations[self.number - 1]
            now_ms = resolve(circuit, station, loop, self.number, Today()).work_ms
            ms = now_ms + way * STEP_MS
            made = loops.in_loop_work_set(circuit, loop, self.number, ms)
            self.take_step(f"work in loop {loop}", made)
            return
        figure, change = FIGURES[self.chosen], loops.loop_at(circuit, loop)
        match figure:
            case "work":
                own = change.work_ms
                ms = (circuit.work_ms if own is None else own) + way * STEP_MS
                made = loops.loop_work_set(circuit, loop, ms)
            case "recover":
                own = change.recover_ms
                ms = (circuit.recover_ms if own is None else own) + way * STEP_MS
                made = loops.loop_recover_set(circuit, loop, ms)
            case "load":
                raise RefusedError("Enter types it")
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
            _ASKED[what], words, lambda typed: self._set_typed(what, typed), value
        )

    def _value(self, what: str) -> str:
        own = (
            loops.in_loop_at(self.circuit, self.loop, self.number)
            if self.number
            else loops.loop_at(self.circuit, self.loop)
        )
        if what == "load":
            return own.load.typed if own.load else ""
        ms = own.work_ms if what == "work" else own.recover_ms
        return "" if ms is None else f"{ms // 1000} s"

    def _set_typed(self, what: str, typed: str) -> Circuit:
        circuit, loop, number = self.circuit, self.loop, self.number
        text = typed.strip()
        if what == "load":
            load = load_typed(text) if text else None
            if number:
                return loops.in_loop_load_set(circuit, loop, number, load)
            return loops.loop_load_set(circuit, loop, load)
        ms = ms_typed(text) if text else None
        if number:
            setter = (
                loops.in_loop_work_set if what == "work" else loops.in_loop_recover_set
            )
            return setter(circuit, loop, number, ms)
        whole = loops.loop_work_set if what == "work" else loops.loop_recover_set
        return whole(circuit, loop, ms)
