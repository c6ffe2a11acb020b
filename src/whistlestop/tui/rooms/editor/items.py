"""The warm-up or the cool-down of the editor's circuit: its items, one a line.

Owns the keys; the steps stand in `domain.edit_items`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.domain.circuit import edit_items
from whistlestop.domain.circuit.circuit import ITEM, Circuit, TimedItem
from whistlestop.domain.circuit.edit_items import Side
from whistlestop.domain.circuit.warm_up import built_warm_up
from whistlestop.domain.columns import widest
from whistlestop.domain.duration import clock, parse_duration_ms
from whistlestop.errors import RefusedError
from whistlestop.tui.rooms.editor.lines import totals_row
from whistlestop.tui.rooms.editor.part import Editing, EditorPart
from whistlestop.tui.rooms.editor.steps import ms_typed
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, cut, fit, row

USUAL_MS: Final = 60_000
STEP_MS: Final = 15_000
ASKED: Final = "What, and how long? Easy jog, 2 min"
_NUMBER_CELLS: Final = 5
_TIME_CELLS: Final = 8


def item_typed(typed: str) -> TimedItem:
    """Read `Easy jog, 2 min`; without a time it lasts a minute.

    Raises:
        RefusedError: There is no name.
    """
    name, comma, time = typed.rpartition(",")
    try:
        ms = parse_duration_ms(time.strip()) if comma else None
    except ValueError:
        ms = None
    if ms is None:
        return TimedItem(typed.strip(), USUAL_MS)
    return TimedItem(name.strip(), ms)


def item_rows(
    items: Sequence[TimedItem], chosen: int, cells: int
) -> tuple[list[Row], list[tuple[int, int]]]:
    """One line an item: number, name, time, note."""
    rows: list[Row] = []
    wide = widest(item.name for item in items)
    name = min(wide, max(10, cells - _NUMBER_CELLS - _TIME_CELLS - 12))
    for place, item in enumerate(items):
        is_chosen = place == chosen
        left = cells - _NUMBER_CELLS - name - _TIME_CELLS - 3
        rows.append(
            row(
                TextSpan("▌" if is_chosen else " ", "bold"),
                TextSpan(f"{place + 1:>3} ", "dim"),
                TextSpan(fit(item.name, name), "bold" if is_chosen else "text"),
                TextSpan(fit(clock(item.duration_ms), _TIME_CELLS, right=True), "bold"),
                TextSpan(f"   {cut(item.note, left)}" if item.note else "", "dim"),
            )
        )
    return rows, [(place, place) for place in range(len(items))]


class ItemsRoom(EditorPart):
    """What comes before the first loop, or after the last."""

    def __init__(
        self, editing: Editing, side: Side, patterns: Sequence[str] = ()
    ) -> None:
        """Open the warm-up or the cool-down; `patterns` are those of the stations."""
        super().__init__(editing)
        self.side: Side = side
        self._patterns = tuple(patterns)

    @property
    def items(self) -> tuple[TimedItem, ...]:
        """The items as they stand."""
        return edit_items.items_of(self.circuit, self.side)

    @property
    def number(self) -> int:
        """The chosen item, from 1; 0 where there is none."""
        return self.chosen + 1 if self.items else 0

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the side and the circuit."""
        return self.side.capitalize(), self.circuit.name, self.editing.state

    def standing_text(self) -> str:
        """What is asked; else the keys of the chosen item."""
        if self.is_asking:
            return self.asked_text()
        if not self.number:
            return ""
        return "Enter name · t time · n note · x remove · c copy · Shift ↑ ↓ move"

    def key_entries(self) -> Sequence[KeyEntry]:
        """Add, change, build, undo, back."""
        if self.is_asking:
            return self.asked_keys()
        entries = [KeyEntry("a", "add")]
        entries += [KeyEntry("← →", "15 s", 1)] if self.number else []
        if self._patterns:
            entries.append(KeyEntry("b", "build it from the stations", 2))
        return [*entries, *self.step_entries()]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The items under the totals."""
        del lines
        rows, self._row_ranges = item_rows(self.items, self.chosen, min(cells, 100))
        total_ms = sum(item.duration_ms for item in self.items)
        text = f"{counted(len(self.items), 'item')}, {clock(total_ms)}"
        if not self.items:
            text = f"No {self.side} yet. Press a to add the first item."
        head = (totals_row(self.editing.now), row("  ", TextSpan(text, "bold")), BLANK)
        focus = self._row_ranges[self.chosen] if self._row_ranges else None
        return PageLayout(rows, focus, head=head)

    # Keys

    def settle_chosen(self) -> None:
        """Stay on an item that is there."""
        self.chosen = max(0, min(self.chosen, len(self.items) - 1))

    def act(self, key: str) -> bool:
        """Add and build; the rest is about the chosen item."""
        match key:
            case "a":
                self.ask_for(ASKED, f"{self.side} item added", self._added)
            case "b" if self._patterns:
                if self.debounced(key):
                    built = built_warm_up(self._patterns)
                    made = edit_items.items_set(self.circuit, self.side, built)
                    self.take_step(f"{self.side} built", made)
            case _:
                return bool(self.number) and self._act_on(key)
        return True

    def _act_on(self, key: str) -> bool:
        circuit, side, number = self.circuit, self.side, self.number
        item = self.items[number - 1]
        match key:
            case "left" | "minus" | "right" | "plus":
                way = -1 if key in {"left", "minus"} else 1
                self._set_time(_with_steps(item.duration_ms, way))
            case "enter" | "m":
                self.ask_for("Its name", "item name", self._named, item.name)
            case "t" | "w":
                value = f"{item.duration_ms // 1000} s"
                asked = "How long? 40, 90 s, 1:30 or 2 min"
                self.ask_for(asked, "item time", self._timed, value)
            case "n":
                asked = "A note on it; empty is none"
                self.ask_for(asked, "item note", self._noted, item.note)
            case "x" | "delete":
                if self.debounced(key):
                    gone = edit_items.item_removed(circuit, side, number)
                    self.take_step(f"{item.name} out", gone)
                    self.say(f"{item.name} removed. u undoes it.")
            case "c":
                if self.debounced(key):
                    copied = edit_items.item_added(circuit, side, item, number)
                    self.take_step("a copy", copied)
                    self.chosen += 1
            case "shift+up" | "K" | "shift+down" | "J":
                by = -1 if key in {"shift+up", "K"} else 1
                moved = edit_items.item_moved(circuit, side, number, by)
                self.take_step(f"order of the {side}", moved)
                self.chosen += by
            case _:
                return False
        return True

    def _set_time(self, ms: int) -> None:
        timed = edit_items.item_timed(self.circuit, self.side, self.number, ms)
        self.take_step("item time", timed)

    # Typed lines

    def _added(self, typed: str) -> Circuit:
        item, after = item_typed(typed), self.number
        added = edit_items.item_added(self.circuit, self.side, item, after)
        self.chosen = after
        return added

    def _named(self, typed: str) -> Circuit:
        return edit_items.item_renamed(self.circuit, self.side, self.number, typed)

    def _timed(self, typed: str) -> Circuit:
        ms = ms_typed(typed)
        return edit_items.item_timed(self.circuit, self.side, self.number, ms)

    def _noted(self, typed: str) -> Circuit:
        return edit_items.item_noted(self.circuit, self.side, self.number, typed)


def _with_steps(ms: int, way: int) -> int:
    """A quarter of a minute more or less, to whole quarters; the ends hold."""
    new_ms = (ms // STEP_MS + way) * STEP_MS if ms % STEP_MS == 0 or way > 0 else (
        ms // STEP_MS * STEP_MS
    )  # fmt: skip
    if new_ms < ITEM.least_ms and ms <= STEP_MS:
        raise RefusedError("t types a time under 15 s")
    return max(ITEM.least_ms, min(new_ms, ITEM.most_ms))
