"""The editor: a circuit made and changed, with totals and advice beside every step.

Owns the keys, undo and saving; steps stand in `editor_steps`, words in
`editor_lines`. A file that somebody wrote by hand is never written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
from whistlestop.tui.rooms.editor.part import StepRoom, sentence
from whistlestop.tui.rooms.frame.saving import rebased, saved_as
from whistlestop.tui.rooms.library.known import KnownLibrary, read_known
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout

ASIDE_FROM: Final = 140
_WIDEST: Final = 100
_TYPED_KEYS: Final = {one.press: label for label, one in steps.TYPED.items()}


class EditorRoom(StepRoom):
    """One circuit, while it is made."""

    has_help = False

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
        self._left_once = False

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

    def standing_text(self) -> str:
        """What is asked; else the keys of the chosen line."""
        if self.is_asking:
            return self.asked_text()
        if not self.number:
            return ""
        return "l load · p parts · t tempo · d drill · w work · r recover · h wait"

    def key_entries(self) -> Sequence[KeyEntry]:
        """What is needed most; all the others behind the question mark."""
        if self.is_asking:
            return self.asked_keys()
        entries = [KeyEntry("a", "add")]
        if self.number:
            entries += [
                KeyEntry("Enter", "exercise", 2),
                KeyEntry("x", "out", 3),
                KeyEntry("c", "copy", 5),
                KeyEntry("Shift ↑ ↓", "move", 4),
            ]
        entries += [KeyEntry("u", "undo", 3)] if self.history.past else []
        return [
            *entries,
            KeyEntry("s", "save"),
            KeyEntry("Esc", "back"),
            KeyEntry("?", "keys", 1),
        ]

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

    def press(self, key: str) -> bool:
        """Change the chosen line, add, undo, save, or go back."""
        if self.is_asking:
            return self.press_asking(key)
        if key == "escape":
            self._leave()
            return True
        self._left_once = False
        if self.move(key):
            return True
        try:
            return self._press(key)
        except RefusedError as refused:
            self.say(sentence(refused))
            return True

    def _press(self, key: str) -> bool:
        if self.number and self._press_station(key):
            return True
        if not self.number and self._press_setting(key):
            return True
        match key:
            case "a":
                if self.debounced(key):
                    self._pick("station", self._add)
            case "u" | "ctrl+z":
                self.say(self.step_back())
            case "U" | "ctrl+y":
                self.say(self.step_forth())
            case "s":
                if self.debounced(key):
                    self._save()
            case "S":
                self._ask_name()
            case "question_mark" | "f1":
                # Imported here: it is seldom looked at.
                from whistlestop.tui.rooms.editor.key_groups import EditorKeys

                self.app.push_screen(EditorKeys())
            case _:
                return False
        return True

    def _press_setting(self, key: str) -> bool:
        setting = SETTINGS[self.chosen]
        match key:
            case "left" | "minus" | "right" | "plus":
                way = -1 if key in {"left", "minus"} else 1
                self.take_step(setting, steps.with_steps(self.circuit, setting, way))
            case "enter" if setting in steps.OPENED:
                if self.debounced(key):
                    self._open(setting)
            case "enter":
                self._ask_setting(setting)
            case _:
                return False
        return True

    def _press_station(self, key: str) -> bool:
        number, circuit = self.number, self.circuit
        match key:
            case "left" | "minus" | "right" | "plus":
                way = -1 if key in {"left", "minus"} else 1
                self.take_step("work", steps.station_with_step(circuit, number, way))
            case "shift+up" | "K":
                self._move(-1)
            case "shift+down" | "J":
                self._move(1)
            case "x" | "delete":
                if self.debounced(key):
                    name = self._station.name
                    self.take_step(f"{name} out", edit.removed(circuit, number))
                    self.say(f"{name} removed. u undoes it.")
            case "c":
                if self.debounced(key):
                    self.take_step("a copy", edit.duplicated(circuit, number))
                    self.chosen += 1
            case "enter":
                if self.debounced(key):
                    self._pick("station", self._exchange, self._station.exercise)
            case _:
                return self._press_detail(key)
        return True

    def _press_detail(self, key: str) -> bool:
        number, circuit = self.number, self.circuit
        match key:
            case "p":
                parts = steps.next_parts(self._station.parts)
                self.take_step("parts", edit_station.parted(circuit, number, parts))
            case "h":
                hold = not self._station.hold
                self.take_step(
                    "hold", edit_station.hold_set(circuit, number, hold=hold)
                )
            case "d":
                if self.debounced(key):
                    drill = self._station.drill
                    self._pick("drill", self._set_drill, drill.id if drill else "")
            case "D":
                self.take_step(
                    "no drill", edit_station.drill_set(circuit, number, None)
                )
            case _ if key in _TYPED_KEYS:
                self._ask_station(_TYPED_KEYS[key])
            case _:
                return False
        return True

    def _leave(self) -> None:
        if self.is_saved or self._left_once:
            self.dismiss(None)
            return
        self._left_once = True
        self.say("Not saved. s saves; Esc again discards the changes.")

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

    def _move(self, by: int) -> None:
        self.take_step("the order", edit.moved(self.circuit, self.number, by))
        self.chosen += by

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

    def _ask_station(self, what: str) -> None:
        number = self.number

        def made(typed: str) -> Circuit:
            if what == "name" and not typed.strip():
                return named_as_usual(self.known, self.circuit, number)
            usual = usual_tempo(self.known, self._station) if what == "tempo" else None
            return steps.station_typed(self.circuit, number, what, typed, usual)

        value = steps.station_value(self.circuit, number, what)
        self.ask_for(steps.ASKED[what], what, made, value)

    # Saving

    def _save(self) -> None:
        if not self.circuit.stations:
            self.say("It has no station yet: a adds one.")
        elif self.path is None or not is_program_owned(self.path):
            self._ask_name()
        else:
            try:
                save_circuit(self.circuit, self.path)
            except StoreError as error:
                self.say(f"Not saved: {error}.")
            else:
                self.saved = self.circuit
                self.say("Saved.")

    def _ask_name(self) -> None:
        if not self.circuit.stations:
            self.say("It has no station yet: a adds one.")
            return
        asked = "Save it under what name?"
        if self.path is not None and not is_program_owned(self.path):
            asked = f"You wrote this file by hand, so it is not changed. {asked}"
        is_other = self.path is not None
        value = f"{self.circuit.name} 2" if is_other else self.circuit.name
        self.ask(asked, self._save_as, value=value)

    def _save_as(self, typed: str) -> str:
        try:
            circuit, path = saved_as(self.services, self.circuit, typed)
        except (RefusedError, StoreError) as error:
            return f"Not saved: {error}."
        self.history = rebased(self.history, circuit)
        self.path, self.saved = path, circuit
        self.say(f"Saved as {circuit.id}.")
        return ""
