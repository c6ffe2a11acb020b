"""The builder room: wishes in, circuits out, or the reasons and what would do.

Owns the keys and the thread in which it is looked for; words stand in
`builder_lines`, one step of a wish in `builder_wishes`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from whistlestop.builder.explain import NoFit, answer
from whistlestop.builder.facts import pieces
from whistlestop.builder.making import BuiltCircuit, another, rest_changed
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.driver.building import (
    BuildRequest,
    asked,
    save_wishes,
    saved_names,
    saved_wishes,
    wishes_of,
)
from whistlestop.errors import RefusedError, WhistlestopError
from whistlestop.tui.rooms.builder.lines import (
    answer_head,
    answer_rows,
    home_text,
    no_fit_rows,
    saved_name,
    wishes_rows,
)
from whistlestop.tui.rooms.builder.wishes import (
    LISTS,
    SETTINGS,
    pickable,
    toggled,
    with_steps,
)
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.frame.saving import saved_as
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout

_MOST_ANSWERS: Final = 5
_MOST_TYPED: Final = 80


class BuilderRoom(AskingRoom[None]):
    """Asks for a circuit, shows it with reasons, and saves it."""

    has_help = False

    def __init__(self) -> None:
        super().__init__()
        self.wishes = CircuitWishes()
        self.answers: list[BuiltCircuit] = []
        self.number = 0
        self.marked: set[str] = set()
        self.no_fit: NoFit | None = None
        self.is_looking = False
        self._home_text = ""
        self._row_ranges: list[tuple[int, int]] = []

    def on_mount(self) -> None:
        """Say what the home adds to the wishes."""
        super().on_mount()
        self._look_round()

    def on_screen_resume(self) -> None:
        """Look again: the kit may have been changed."""
        self._look_round()

    def _look_round(self) -> None:
        try:
            today = asked(self.services, self.wishes)
        except WhistlestopError as error:
            self._home_text = ""
            self.say(f"{error}")
            return
        request = today.request
        self._home_text = home_text(
            kit_listed=request.kit is not None,
            limits=len(request.limits),
            left=len(pieces(request)),
            saved=saved_names(self.services),
        )

    # Words

    @property
    def shown(self) -> BuiltCircuit | None:
        """The answer on the page."""
        return self.answers[self.number] if self.answers else None

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, and say what stands on the page."""
        if self.is_looking:
            return "Build a circuit", "", "looking"
        if self.shown:
            return "Build a circuit", self.shown.circuit.name, ""
        return "Build a circuit", "", "nothing fits" if self.no_fit else ""

    def standing_text(self) -> str:
        """What is asked; what is saved of an answer; else nothing."""
        if self.is_asking:
            return self.asked_text()
        if self.shown and self.marked:
            return f"{counted(len(self.marked), 'station')} locked; c changes the rest."
        if self.no_fit:
            return "Nothing is given up unless you choose it."
        return ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """What can be done now."""
        if self.is_asking:
            return self.asked_keys()
        if self.no_fit:
            return [KeyEntry("Enter", "use it"), KeyEntry("Esc", "back to wishes")]
        if self.shown:
            several = len(self.answers) > 1
            entries = [KeyEntry("s", "save"), KeyEntry("n", "another")]
            entries += [KeyEntry("← →", "answers", 2)] if several else []
            return [
                *entries,
                KeyEntry("space", "lock", 1),
                KeyEntry("c", "change the rest", 1),
                KeyEntry("Esc", "wishes"),
            ]
        return [
            KeyEntry("b", "build"),
            KeyEntry("k", "save wishes", 2),
            KeyEntry("w", "saved wishes", 2),
            KeyEntry("o", "kit", 3),
            KeyEntry("Esc", "back"),
        ]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The wishes, an answer, or why there is none."""
        del lines
        if self.no_fit:
            rows, self._row_ranges = no_fit_rows(self.no_fit, self.chosen, cells)
            return PageLayout(rows, self._row_ranges[self.chosen])
        if self.shown:
            rows, self._row_ranges = answer_rows(
                self.shown, self.marked, self.chosen, cells
            )
            head = answer_head(self.shown, self.number + 1, len(self.answers), cells)
            return PageLayout(rows, self._row_ranges[self.chosen], head=head)
        words = self._home_text
        rows, self._row_ranges = wishes_rows(self.wishes, self.chosen, words, cells)
        return PageLayout(rows, self._row_ranges[self.chosen])

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each line stands that can be chosen."""
        return self._row_ranges

    # Keys

    def press(self, key: str) -> bool:
        """Take a key for what stands on the page."""
        if self.is_asking:
            return self.press_asking(key)
        if self.is_looking:
            return key != "escape" or self._leave()
        if self._row_ranges and self.move(key):
            return True
        if self.no_fit:
            return self._press_no_fit(key)
        return self._press_answer(key) if self.shown else self._press_wishes(key)

    def _leave(self) -> bool:
        self.dismiss(None)
        return True

    def _press_wishes(self, key: str) -> bool:
        setting = SETTINGS[self.chosen]
        match key:
            case "left" | "right" | "minus" | "plus":
                step = 1 if key in {"right", "plus"} else -1
                self._wish(with_steps(self.wishes, setting, step))
            case "enter" if setting in LISTS:
                if self.debounced(key):
                    self._pick(setting)
            case "b" | "enter":
                if self.debounced(key):
                    self._build()
            case "k":
                self.ask("Save these wishes under what name?", self._save_wishes)
            case "w":
                if self.debounced(key):
                    self._take_saved()
            case "o":
                if self.debounced(key):
                    self.rooms.open_kit()
            case "escape":
                self._leave()
            case _:
                return False
        return True

    def _press_answer(self, key: str) -> bool:
        assert self.shown is not None
        one = self.shown
        match key:
            case "s" | "d":
                names = [
                    each.circuit.name
                    for each in self.services.circuits.find_all().circuits.values()
                ]
                self.ask(
                    "Save it under what name?",
                    self._save,
                    value=saved_name(names, one.circuit.name),
                    limit=_MOST_TYPED,
                )
            case "space":
                self.marked ^= {one.circuit.stations[self.chosen].exercise}
            case "c":
                if self.debounced(key):
                    self._change_rest(one)
            case "n":
                if self.debounced(key):
                    self._another()
            case "left" | "right":
                last = len(self.answers) - 1
                step = 1 if key == "right" else -1
                self.number = min(last, max(0, self.number + step))
            case "escape":
                self._to_wishes()
            case _:
                return False
        return True

    def _press_no_fit(self, key: str) -> bool:
        assert self.no_fit is not None
        if key == "escape" or (key == "enter" and self.chosen == 0):
            self._to_wishes()
        elif key == "enter" and self.debounced(key):
            offer = self.no_fit.offers[self.chosen - 1]
            self.wishes = wishes_of(offer.built.request, self.wishes)
            self._show([offer.built])
            self.say(f"Given up: {' and '.join(offer.words)}.")
        else:
            return key == "enter"
        return True

    def _to_wishes(self) -> None:
        self.answers, self.no_fit, self.chosen = [], None, 0
        self.marked = set()
        self._look_round()

    # Wishes

    def _wish(self, wishes: CircuitWishes) -> None:
        self.wishes = wishes
        self._look_round()

    def _pick(self, setting: str) -> None:
        def take(key: str | None) -> None:
            if key is not None:
                try:
                    self._wish(toggled(self.wishes, setting, key))
                except ValueError as error:
                    self.say(f"{error}")
            self.paint()

        words = "Enter adds or removes one."
        room = PickRoom(
            setting.capitalize(), pickable(self.wishes, setting), words=words
        )
        self.app.push_screen(room, take)

    def _save_wishes(self, typed: str) -> str:
        try:
            save_wishes(self.services, typed.strip(), self.wishes)
        except WhistlestopError as error:
            return f"{error}"
        self._look_round()
        self.say(f"Saved. `build --wishes {typed.strip()}` uses them again.")
        return ""

    def _take_saved(self) -> None:
        names = saved_names(self.services)
        if not names:
            self.say("No saved wishes yet; k saves these.")
            return

        def take(name: str | None) -> None:
            if name is not None:
                try:
                    self._wish(saved_wishes(self.services, name))
                    self.say(f"Loaded: {name}.")
                except WhistlestopError as error:
                    self.say(f"{error}")
            self.paint()

        entries = [FilterEntry(name, name, "", "") for name in names]
        self.app.push_screen(PickRoom("Saved wishes", entries), take)

    # Building

    def _build(self) -> None:
        try:
            today: BuildRequest = asked(self.services, self.wishes)
        except WhistlestopError as error:
            self.say(f"{error}")
            return
        self._start("build", lambda: answer(today.request))

    def _another(self) -> None:
        if len(self.answers) >= _MOST_ANSWERS:
            self.say(f"{_MOST_ANSWERS} is the most; change a wish to see others.")
            return
        found = tuple(self.answers)
        self._start("another", lambda: another(found))

    def _change_rest(self, one: BuiltCircuit) -> None:
        ids = [station.exercise for station in one.circuit.stations]
        keep = [key for key in ids if key in self.marked]
        if len(keep) == len(ids):
            self.say("Every station is locked; unlock one to change it.")
            return
        self._start("rest", lambda: rest_changed(one, keep))

    def _start(self, name: str, work: Callable[[], object]) -> None:
        self.is_looking = True
        self.run_worker(
            work, name=name, thread=True, exclusive=True, exit_on_error=False
        )

    def take_result(self, name: str, result: object) -> None:
        """Show what was found."""
        self.is_looking = False
        if isinstance(result, NoFit):
            self.no_fit, self.chosen = result, 0
        elif isinstance(result, BuiltCircuit):
            more = self.answers if name == "another" else []
            self._show([*more, result], marked=self.marked if name == "rest" else ())
        elif name == "rest":
            self.say("None found with these locked; there may still be one.")
        else:
            self.say("No other circuit found.")

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say what went wrong; the page stays."""
        self.is_looking = False
        super().take_failure(name, error)

    def _show(
        self, answers: list[BuiltCircuit], *, marked: Sequence[str] | set[str] = ()
    ) -> None:
        self.answers, self.no_fit = answers, None
        self.number, self.marked = len(answers) - 1, set(marked)
        self.chosen = 0

    # Saving

    def _save(self, typed: str) -> str:
        assert self.shown is not None
        circuit = self.shown.circuit
        try:
            saved, _ = saved_as(self.services, replace(circuit), typed)
        except RefusedError as refused:
            return f"{refused}."
        except WhistlestopError as error:
            return f"Not saved: {error}."
        self.rooms.open_sheet(saved)
        return ""
