"""The station sheet: what will happen, today's changes to it, and the start.

Owns the keys; the words stand in `sheet_lines`, the changes in `today`.
"""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.domain.circuit import Circuit
from whistlestop.tui.rooms.choosing import ChoosingRoom
from whistlestop.tui.rooms.sheet_lines import STOP_RULE, Sheet, sheet
from whistlestop.tui.rooms.today import SETTINGS, Draft, Refused
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import Laid


class SheetRoom(ChoosingRoom[None]):
    """One circuit, before it is started."""

    def __init__(self, circuit: Circuit) -> None:
        """Open the sheet of a circuit.

        Raises:
            PlanError: The circuit cannot be laid out at all.
        """
        super().__init__()
        self.draft = Draft.of(circuit)
        self._sheet = Sheet((), (), ())

    # Words

    def title_words(self) -> tuple[str, str, str]:
        """Name the room and the circuit."""
        state = "" if self.draft.today.is_empty else "changed for today"
        return "Station sheet", self.draft.circuit.name, state

    def standing_words(self) -> str:
        """The stop rule stays in sight, however far the page is scrolled."""
        return STOP_RULE.format(key=self.house.keymap.first_key("health"))

    def key_entries(self) -> Sequence[KeyEntry]:
        """The start first: it is never dropped."""
        on_station = self.chosen >= len(SETTINGS)
        entries = [KeyEntry("Space", "start"), KeyEntry("Esc", "back")]
        entries.append(KeyEntry("↑ ↓", "choose", 3))
        if on_station:
            out = self._station in self.draft.today.without_stations
            entries.append(KeyEntry("d", "take it in again" if out else "leave it out"))
        else:
            entries.append(KeyEntry("← →", "less, more", 1))
        if not self.draft.today.is_empty:
            entries.append(KeyEntry("u", "as written", 2))
        return entries

    def lay(self, cells: int, lines: int) -> Laid:
        """The sheet in as many columns as fit."""
        del lines
        self._sheet = sheet(self.draft, self.chosen, cells)
        focus = self._sheet.spots[self.chosen]
        return Laid(self._sheet.rows, focus, head=self._sheet.head)

    # Keys

    def spots(self) -> Sequence[tuple[int, int]]:
        """Settings, then stations."""
        return self._sheet.spots

    @property
    def _station(self) -> int:
        return self.chosen - len(SETTINGS) + 1

    def press(self, key: str) -> bool:
        """Change, start, or go back."""
        if self.move(key):
            return True
        try:
            return self._act(key)
        except Refused as refused:
            self.say(str(refused))
            return True

    def _act(self, key: str) -> bool:
        match key:
            case "enter" | "space":
                if self.may("start", on_arrival=False):
                    self.rooms.begin(self.draft.plan)
            case "left" | "right":
                self._step(-1 if key == "left" else 1)
            case "minus" | "plus":
                self._step(-1 if key == "minus" else 1)
            case "d" if self.chosen >= len(SETTINGS):
                if self.may(key):
                    self.draft = self.draft.toggled(self._station)
            case "u":
                if self.may(key):
                    self.draft = self.draft.as_written()
            case "escape":
                self.dismiss(None)
            case _:
                return False
        return True

    def _step(self, steps: int) -> None:
        """Less or more of a setting; a station goes out or comes in."""
        if self.chosen < len(SETTINGS):
            self.draft = self.draft.stepped(SETTINGS[self.chosen], steps)
            return
        is_out = self._station in self.draft.today.without_stations
        if is_out == (steps > 0):
            self.draft = self.draft.toggled(self._station)
