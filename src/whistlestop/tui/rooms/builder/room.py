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
from whistlestop.builder.request import Request
from whistlestop.builder.sentences import along_text, level_text
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
from whistlestop.store.settings.values import person_of
from whistlestop.tui.rooms.builder.lines import (
    answer_head,
    answer_rows,
    home_text,
    no_fit_rows,
    saved_name,
    wishes_head,
    wishes_rows,
)
from whistlestop.tui.rooms.builder.wishes import (
    LISTS,
    SETTINGS,
    pickable,
    toggled,
    with_steps,
)
from whistlestop.tui.rooms.frame.actions import ONCE, STEPS, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.filtering import FilterEntry
from whistlestop.tui.rooms.frame.picking import PickRoom
from whistlestop.tui.rooms.frame.room import QUIET_HELP
from whistlestop.tui.rooms.frame.saving import saved_as
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.widgets.page import PageLayout

_MOST_ANSWERS: Final = 5
_MOST_TYPED: Final = 80


class BuilderRoom(AskingRoom[None]):
    """Asks for a circuit, shows it with reasons, and saves it."""

    help_keys = QUIET_HELP

    def __init__(self) -> None:
        super().__init__()
        self.wishes = CircuitWishes()
        self.answers: list[BuiltCircuit] = []
        self.number = 0
        self.marked: set[str] = set()
        self.no_fit: NoFit | None = None
        self.is_looking = False
        self._along = ""
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
            today = asked(self.services, self.wishes, self._with)
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
            level=level_text(request, "level asks for more"),
            along=self._along_text(request),
        )

    # Words

    @property
    def _with(self) -> str:
        """Who trains along, where it is for two."""
        return self._along if self.wishes.athletes > 1 else ""

    def _along_text(self, request: Request) -> str:
        if self._with:
            return f"For you and {self._with}."
        return along_text(request, self._with, "p says who it is")

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

    def idle_text(self) -> str:
        """What is locked of an answer; else nothing."""
        if self.shown and self.marked:
            return f"{counted(len(self.marked), 'station')} locked; c changes the rest."
        if self.no_fit:
            return "Nothing is given up unless you choose it."
        return ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The wishes, an answer, or why there is none."""
        del lines
        if self.no_fit:
            rows, self._row_ranges = no_fit_rows(self.no_fit, self.chosen, cells)
            return PageLayout(rows, self._row_ranges[self.chosen])
        if self.shown:
            person = person_of(self.services.settings.training)
            rows, self._row_ranges = answer_rows(
                self.shown, self.marked, self.chosen, cells, person
            )
            head = answer_head(self.shown, self.number + 1, len(self.answers), cells)
            return PageLayout(rows, self._row_ranges[self.chosen], head=head)
        rows, self._row_ranges = wishes_rows(self.wishes, self.chosen, cells)
        head = wishes_head(self._home_text, cells)
        return PageLayout(rows, self._row_ranges[self.chosen], head=head)

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each line stands that can be chosen."""
        return self._row_ranges

    # Keys

    def press(self, key: str) -> bool:
        """Take a key; while a circuit is looked for, only the way out."""
        return (self.is_looking and key != "escape") or super().press(key)

    def _on_wishes(self) -> bool:
        return not self.no_fit and not self.shown

    def _on_answer(self) -> bool:
        return not self.no_fit and self.shown is not None

    def _on_no_fit(self) -> bool:
        return self.no_fit is not None

    @property
    def _setting(self) -> str:
        return SETTINGS[self.chosen]

    @property
    def _answer(self) -> BuiltCircuit:
        assert self.shown is not None
        return self.shown

    # Where nothing fits

    @action("enter", "use it", when=_on_no_fit)
    def give_up_wish(self) -> None:
        """Do without the chosen wish; the first line changes nothing."""
        assert self.no_fit is not None
        if self.chosen == 0:
            self._to_wishes()
        elif self.debounced("enter"):
            offer = self.no_fit.offers[self.chosen - 1]
            request = offer.built.request
            self.wishes = wishes_of(request, self.wishes)
            if "level" in offer.kinds:
                self.wishes = replace(self.wishes, level=request.level)
            self._show([offer.built])
            self.say(f"Given up: {' and '.join(offer.words)}.")

    # An answer

    @action("s d", "save", when=_on_answer)
    def save_circuit(self) -> None:
        """Save it under a name and open its sheet."""
        circuits = self.services.circuits.find_all().circuits.values()
        names = [each.circuit.name for each in circuits]
        value = saved_name(names, self._answer.circuit.name)
        text = "Save it under what name?"
        self.ask(text, self._save, value=value, limit=_MOST_TYPED)

    @action("n", "another", when=_on_answer, held=ONCE)
    def build_another(self) -> None:
        """Build another circuit for the same wishes."""
        if len(self.answers) >= _MOST_ANSWERS:
            self.say(f"{_MOST_ANSWERS} is the most; change a wish to see others.")
            return
        found = tuple(self.answers)
        self._start("another", lambda: another(found))

    @action(
        {"left": -1, "right": 1},
        lambda self: "answers" * (len(self.answers) > 1),
        drop=2,
        when=_on_answer,
    )
    def next_answer(self, step: int) -> None:
        """See the answer before or after this one."""
        self.number = min(len(self.answers) - 1, max(0, self.number + step))

    @action("space", "lock", drop=1, when=_on_answer, shown="space")
    def lock_station(self) -> None:
        """Lock the chosen station, so that it stays; or unlock it."""
        self.marked ^= {self._answer.circuit.stations[self.chosen].exercise}

    @action("c", "change the rest", drop=1, when=_on_answer, held=ONCE)
    def build_rest(self) -> None:
        """Build again all that is not locked."""
        one = self._answer
        ids = [station.exercise for station in one.circuit.stations]
        keep = [key for key in ids if key in self.marked]
        if len(keep) == len(ids):
            self.say("Every station is locked; unlock one to change it.")
            return
        self._start("rest", lambda: rest_changed(one, keep))

    # Wishes

    def _on_list(self) -> bool:
        return self._on_wishes() and self._setting in LISTS

    def _on_setting(self) -> bool:
        return self._on_wishes() and not self._on_list()

    @action("enter", when=_on_list, held=ONCE)
    def pick_list(self) -> None:
        """Choose what stands on the chosen list."""
        self._pick(self._setting)

    @action("enter", when=_on_setting, held=ONCE)
    def open_row(self) -> None:
        """Build a circuit for these wishes, from any line but a list."""
        self.build()

    @action("b", "build", when=_on_wishes, held=ONCE)
    def build(self) -> None:
        """Build a circuit for these wishes."""
        try:
            today: BuildRequest = asked(self.services, self.wishes, self._with)
        except WhistlestopError as error:
            self.say(f"{error}")
            return
        self._start("build", lambda: answer(today.request))

    @action("k", "save wishes", drop=2, when=_on_wishes)
    def save_wishes(self) -> None:
        """Save these wishes under a name."""
        self.ask("Save these wishes under what name?", self._save_wishes)

    @action("w", "saved wishes", drop=2, when=_on_wishes, held=ONCE)
    def load_wishes(self) -> None:
        """Load wishes saved before."""
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

    @action("p", "two people", drop=4, when=_on_wishes, held=ONCE)
    def choose_partner(self) -> None:
        """Build for two: type the name, or nothing to build for one."""
        text = "Who trains with you? Type a name; leave it empty to train alone."
        self.ask(text, self._take_along, value=self._along)

    def _take_along(self, typed: str) -> str:
        """Take who trains along; what they leave out stays out as well."""
        name = " ".join(typed.split())
        before = self.wishes, self._along
        self.wishes = replace(self.wishes, athletes=2 if name else 1)
        self._along = name
        try:
            asked(self.services, self.wishes, name)
        except WhistlestopError as error:
            self.wishes, self._along = before
            return str(error).splitlines()[-1]
        self._look_round()
        return ""

    @action("o", "kit", drop=3, when=_on_wishes, held=ONCE)
    def open_kit(self) -> None:
        """List the kit you own."""
        self.rooms.open_kit()

    @action(STEPS, when=_on_wishes)
    def step_value(self, step: int) -> None:
        """Less or more of the chosen wish."""
        self._wish(with_steps(self.wishes, self._setting, step))

    def _back_text(self) -> str:
        if self.no_fit:
            return "back to wishes"
        return "wishes" if self.shown else "back"

    @action("escape", _back_text)
    def go_back(self) -> None:
        """Go back: from an answer to the wishes, and from there out."""
        if self.is_looking or self._on_wishes():
            self.dismiss(None)
        else:
            self._to_wishes()

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

    # Building

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
