"""The editor: a circuit made and changed, with totals and advice beside every step.

Owns undo and saving; steps stand in `editor_steps`, words in
`editor_lines`. A file that somebody wrote by hand is never written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from whistlestop.domain.circuit import edit, edit_station
from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.circuit.edit import EditHistory
from whistlestop.errors import RefusedError, StoreError
from whistlestop.store.circuits.writer import is_program_owned, save_circuit
from whistlestop.tui.rooms.editor import steps
from whistlestop.tui.rooms.editor.lines import (
    SETTINGS,
    EditorPage,
    aside_rows,
    editor_page,
)
from whistlestop.tui.rooms.editor.live import (
    LiveFacts,
    drill_for,
    fresh_station,
    live,
    named_as_usual,
    usual_tempo,
)
from whistlestop.tui.rooms.editor.opening import part_of
from whistlestop.tui.rooms.editor.part import MOVES, StepRoom, sentence
from whistlestop.tui.rooms.frame.actions import ONCE, STEPS, Action, action
from whistlestop.tui.rooms.frame.room import HELP
from whistlestop.tui.rooms.frame.saving import rebased, saved_as
from whistlestop.tui.rooms.library.known import KnownLibrary, read_known
from whistlestop.tui.widgets.page import PageLayout

ASIDE_FROM: Final = 140
_WIDEST: Final = 100
# What can be typed of a station, and is named on the line of words.
_HINTED: Final = ("load", "tempo", "work", "recover")


def _typed(label: str) -> Action:
    """The action that types a setting of the chosen station."""
    own = steps.TYPED[label]
    return Action(
        f"set_{label}",
        own.press,
        label if label in _HINTED else "",
        f"Type {own.meaning}.",
        lambda room: room.ask_station(label),
        when=lambda room: room.number > 0,
        is_hint=True,
    )


class EditorRoom(StepRoom):
    """One circuit, while it is made."""

    def __init__(
        self, circuit: Circuit | None = None, path: Path | None = None
    ) -> None:
        """Open the editor.

        Args:
            circuit: What to begin with; None begins an empty one.
            path: The file it came from. None: it is saved under a name of its own.
        """
        super().__init__()
        begun = circuit or edit.empty_circuit("New circuit")
        self.history = EditHistory(begun)
        self.path = path
        self.saved: Circuit | None = circuit if path else None
        self.known: KnownLibrary | None = None
        self.chosen = len(SETTINGS) if begun.stations else 0
        self._live: LiveFacts | None = None
        self._page = EditorPage((), (), ())

    def on_mount(self) -> None:
        """Read library, kit and limits in a thread."""
        super().on_mount()
        services = self.services
        self.run_worker(
            lambda: read_known(services), name="read", thread=True, exit_on_error=False
        )

    def take_result(self, name: str, result: object) -> None:
        """Say more once more is known."""
        del name
        if isinstance(result, KnownLibrary):
            self.known, self._live = result, None
            if result.problems_found:
                self.say(result.problems_found[0])

    @property
    def circuit(self) -> Circuit:
        """The circuit as it stands."""
        return self.history.present

    @property
    def is_saved(self) -> bool:
        """Whether nothing would be lost by leaving."""
        if self.saved is None:
            return not self.history.past
        return self.circuit == self.saved

    @property
    def number(self) -> int:
        """The chosen station, from 1; 0 while a setting is chosen."""
        return max(0, self.chosen - len(SETTINGS) + 1)

    @property
    def now(self) -> LiveFacts:
        """What there is to say of it; gathered once for each step."""
        if self._live is None or self._live.circuit is not self.circuit:
            silenced = frozenset(self.services.settings.advice.silenced)
            self._live = live(self.circuit, self.known, silenced)
        return self._live

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the circuit, and say whether it is saved."""
        return "Editor", self.circuit.name, self.state

    @property
    def state(self) -> str:
        """Whether it is saved, in a word."""
        if not self.is_saved:
            return "not saved"
        return "saved" if self.saved is not None and self.history.past else ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """Settings and stations; beside them what there is to think about."""
        del lines
        wide = cells >= ASIDE_FROM
        own = min(_WIDEST, cells - 42) if wide else cells
        self._page = editor_page(self.now, self.chosen, own, beside=wide)
        focus = self._page.row_ranges[self.chosen]
        if not wide:
            return PageLayout(self._page.rows, focus, head=self._page.head)
        beside = cells - own - 3
        station = self._station if self.number else None
        aside = aside_rows(self.now, station, self.known, beside)
        return PageLayout(self._page.rows, focus, aside, beside, self._page.head)

    @property
    def _station(self) -> Station:
        return self.circuit.stations[self.number - 1]

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Settings, then stations."""
        return self._page.row_ranges

    def _on_station(self) -> bool:
        return self.number > 0

    def _on_part(self) -> bool:
        return not self.number and self._setting in steps.OPENED

    def _on_typed(self) -> bool:
        return not self.number and self._setting not in steps.OPENED

    @property
    def _setting(self) -> str:
        return SETTINGS[self.chosen]

    @action("a", "add", held=ONCE)
    def add_station(self) -> None:
        """Add a station after the chosen one."""
        self._pick("station", self._add)

    @action("enter", "exercise", drop=2, when=_on_station, held=ONCE)
    def swap_station(self) -> None:
        """Put another exercise in the place of the chosen station's."""
        self._pick("station", self._exchange, self._station.exercise)

    @action("x delete", "out", drop=3, when=_on_station, held=ONCE)
    def delete_station(self) -> None:
        """Remove the chosen station; undo brings it back."""
        name = self._station.name
        self.take_step(f"{name} out", edit.removed(self.circuit, self.number))
        self.say(f"{name} removed. u undoes it.")

    @action("c", "copy", drop=5, when=_on_station, held=ONCE)
    def copy_station(self) -> None:
        """Add a copy after the chosen station."""
        self.take_step("a copy", edit.duplicated(self.circuit, self.number))
        self.chosen += 1

    @action(MOVES, "move", drop=4, when=_on_station, shown="Shift ↑ ↓")
    def move_station(self, by: int) -> None:
        """Move the chosen station up or down."""
        self.take_step("the order", edit.moved(self.circuit, self.number, by))
        self.chosen += by

    @action("u ctrl+z", lambda self: "undo" * bool(self.history.past), drop=3)
    def undo(self) -> None:
        """Take the last step back."""
        self.say(self.step_back())

    @action("s", "save", held=ONCE)
    def save(self) -> None:
        """Save the circuit."""
        if not self.circuit.stations:
            self.say("It has no station yet: a adds one.")
        elif self.path is None or not is_program_owned(self.path):
            self.save_copy()
        else:
            try:
                save_circuit(self.circuit, self.path)
            except StoreError as error:
                self.say(f"Not saved: {error}.")
            else:
                self.saved = self.circuit
                self.say("Saved.")

    @action("escape", "back")
    def go_back(self) -> None:
        """Go back; where something is not saved it asks first."""
        if self.is_saved or self.again:
            self.dismiss(None)
        else:
            self.say("Not saved. s saves; Esc again discards the changes.")

    help_keys = replace(HELP, drop=1)

    @action("S")
    def save_copy(self) -> None:
        """Save it as another circuit, under a name you type."""
        if not self.circuit.stations:
            self.say("It has no station yet: a adds one.")
            return
        asked = "Save it under what name?"
        if self.path is not None and not is_program_owned(self.path):
            asked = f"You wrote this file by hand, so it is not changed. {asked}"
        is_other = self.path is not None
        value = f"{self.circuit.name} 2" if is_other else self.circuit.name
        self.ask(asked, self._save_as, value=value)

    @action("U ctrl+y")
    def redo(self) -> None:
        """Do again the step that was taken back."""
        self.say(self.step_forth())

    @action(STEPS)
    def step_value(self, way: int) -> None:
        """Less or more of the chosen setting, or of the chosen station's work."""
        if self.number:
            made = steps.station_with_step(self.circuit, self.number, way)
            self.take_step("work", made)
        else:
            made = steps.with_steps(self.circuit, self._setting, way)
            self.take_step(self._setting, made)

    @action("enter", when=_on_part, held=ONCE)
    def open_part(self) -> None:
        """Open the warm-up, the cool-down or each loop."""
        self._open(self._setting)

    @action("enter", when=_on_typed)
    def edit_setting(self) -> None:
        """Type the chosen setting."""
        self._ask_setting(self._setting)

    set_load = _typed("load")

    @action("p", "parts", when=_on_station, is_hint=True)
    def next_parts(self) -> None:
        """Do it in one, left and right, or left, right and together."""
        parts = steps.next_parts(self._station.parts)
        made = edit_station.parted(self.circuit, self.number, parts)
        self.take_step("parts", made)

    set_tempo = _typed("tempo")

    @action("d", "drill", when=_on_station, held=ONCE, is_hint=True)
    def choose_drill(self) -> None:
        """Choose the drill that fills the recovery."""
        drill = self._station.drill
        self._pick("drill", self._set_drill, drill.id if drill else "")

    set_work = _typed("work")
    set_recover = _typed("recover")

    @action("h", "wait", when=_on_station, is_hint=True)
    def toggle_gate(self) -> None:
        """Wait for a key before the chosen station, or do not."""
        hold = not self._station.hold
        made = edit_station.hold_set(self.circuit, self.number, hold=hold)
        self.take_step("hold", made)

    more_fields = tuple(_typed(label) for label in steps.TYPED if label not in _HINTED)

    @action("D", when=lambda self: self.number > 0 and self._station.drill is not None)
    def clear_drill(self) -> None:
        """Take the drill away."""
        made = edit_station.drill_set(self.circuit, self.number, None)
        self.take_step("no drill", made)

    # Steps

    def take_step(self, words: str, circuit: Circuit) -> None:
        """Go on with another circuit; `words` name the step for undo."""
        self._go(self.history.after(words, circuit))

    def step_back(self) -> str:
        """Undo the last step, and say which; RefusedError where there is none."""
        self._go(self.history.undone())
        return f"{self.history.future[-1].words}: undone."

    def step_forth(self) -> str:
        """Do the step that was undone last again, and say which."""
        self._go(self.history.redone())
        return f"{self.history.past[-1].words}: done again."

    def _go(self, history: EditHistory) -> None:
        self.history = history
        last = len(SETTINGS) + len(self.circuit.stations) - 1
        self.chosen = max(0, min(self.chosen, last))

    def _open(self, setting: str) -> None:
        part = part_of(setting, self, self.known)
        self.app.push_screen(part, self._after_part)

    def _after_part(self, _result: None) -> None:
        self.paint()

    def _pick(
        self,
        takes: str,
        then: Callable[[KnownLibrary, str], None],
        at: str = "",
    ) -> None:
        known = self.known
        if known is None:
            self.say("The library is still loading.")
            return

        def take(taken: str | None) -> None:
            if taken is not None:
                try:
                    then(known, taken)
                except RefusedError as refused:
                    self.say(sentence(refused))
            self.paint()

        # Imported here: the library is opened from several rooms.
        from whistlestop.tui.rooms.library.room import LibraryRoom

        room = LibraryRoom(
            takes="drill" if takes == "drill" else "station", at=at, known=known
        )
        self.app.push_screen(room, take)

    def _add(self, known: KnownLibrary, exercise: str) -> None:
        fresh = fresh_station(known, exercise)
        if fresh is None:
            return
        after = self.number or len(self.circuit.stations)
        self.take_step(f"{fresh.name} added", edit.added(self.circuit, fresh, after))
        self.chosen = len(SETTINGS) + after
        if known.cards[exercise].load_kind == "required":
            self.say("It needs a load: press l.")

    def _exchange(self, known: KnownLibrary, exercise: str) -> None:
        fresh = fresh_station(known, exercise, self._station)
        if fresh is not None and exercise != self._station.exercise:
            changed = edit_station.exercise_set(self.circuit, self.number, fresh)
            self.take_step(f"{fresh.name} instead", changed)

    def _set_drill(self, known: KnownLibrary, drill: str) -> None:
        found = drill_for(known, drill)
        self.take_step(
            "drill", edit_station.drill_set(self.circuit, self.number, found)
        )
        is_last = self.number == len(self.circuit.stations)
        if is_last and not self.circuit.has_last_recover:
            self.say("Set. The loop break replaces the last recovery.")

    # Typed lines

    def _ask_setting(self, setting: str) -> None:
        value = steps.setting_line(self.circuit, setting)
        self.ask_for(
            steps.SETTINGS[setting].ask,
            setting,
            lambda typed: steps.setting_typed(self.circuit, setting, typed),
            value,
        )

    def ask_station(self, what: str) -> None:
        """Ask for a line on one thing of the chosen station."""
        number = self.number

        def made(typed: str) -> Circuit:
            if what == "name" and not typed.strip():
                return named_as_usual(self.known, self.circuit, number)
            usual = usual_tempo(self.known, self._station) if what == "tempo" else None
            return steps.station_typed(self.circuit, number, what, typed, usual)

        value = steps.station_value(self.circuit, number, what)
        self.ask_for(steps.ASKED[what], what, made, value)

    # Saving

    def _save_as(self, typed: str) -> str:
        try:
            circuit, path = saved_as(self.services, self.circuit, typed)
        except (RefusedError, StoreError) as error:
            return f"Not saved: {error}."
        self.history = rebased(self.history, circuit)
        self.path, self.saved = path, circuit
        self.say(f"Saved as {circuit.id}.")
        return ""
