"""The station sheet: what will happen, today's changes to it, and the start.

Owns the keys; the words stand in `sheet_lines`, the changes in `today`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.kit.means import Means
from whistlestop.domain.kit.substitutions import drill_instead
from whistlestop.domain.limits import Limit
from whistlestop.domain.plan.pairing import Company
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.sharing import Pairing
from whistlestop.driver.guard import LIMITS, UNREAD
from whistlestop.driver.practice import FromLog, from_log
from whistlestop.errors import ProblemsFound, RefusedError, WhistlestopError
from whistlestop.library.whole import library_means
from whistlestop.prints.sheet_facts import SheetFacts
from whistlestop.store.settings.values import person_of
from whistlestop.tui.rooms.frame.actions import FRESH, ONCE, STEPS, Action, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.choosing import CHOOSE_ROW
from whistlestop.tui.rooms.frame.room import BACK
from whistlestop.tui.rooms.sheet.fit_room import FitRoom, FitTaken
from whistlestop.tui.rooms.sheet.lines import STOP_RULE, SheetPage, facts_of, sheet
from whistlestop.tui.rooms.sheet.today import SETTINGS, Changes, Draft
from whistlestop.tui.widgets.page import PageLayout

FROM_LOG: Final = "from the log"


class SheetRoom(AskingRoom[None]):
    """One circuit, before it is started."""

    def __init__(self, circuit: Circuit, draft: Draft | None = None) -> None:
        """Open the sheet of a circuit, or of a draft that has changes already.

        Raises:
            PlanError: The circuit cannot be laid out at all.
        """
        super().__init__()
        self.draft = draft or Draft.of(circuit)
        self._has_means = draft is not None
        self._unread = ""
        self._sheet = SheetPage((), (), ())
        self._facts: tuple[Draft, SheetFacts] | None = None
        self._along = ""
        self._apart: tuple[Draft, str] | None = None
        means = self.draft.means
        self._from_log = FromLog(means.loads.last_kg, means.waiting)

    def on_mount(self) -> None:
        """Take kit and limits in."""
        super().on_mount()
        if not self._has_means:
            self.take_means()
            self.run_worker(
                lambda: from_log(self.services),
                name=FROM_LOG,
                thread=True,
                exit_on_error=False,
            )

    def take_result(self, name: str, result: object) -> None:
        """Let no exchange go far beyond what was held and practised so far."""
        if name == FROM_LOG and isinstance(result, FromLog):
            self._from_log = result
            self.take_means()
            self.paint()

    def take_means(self) -> None:
        """Look at kit and limits again; what is wrong with a file is shown."""
        try:
            self.draft = self.draft.with_means(self.means())
        except RefusedError as refused:
            self.say(str(refused))

    def means(self) -> Means:
        """Kit and limits on this day; a broken file counts as none."""
        kit: Kit | None = None
        limits: tuple[Limit, ...] = ()
        try:
            kit = self.services.kit.owned()
        except ProblemsFound as found:
            self.say(f"{found.problems[0]}")
        guard = self.services.guard
        self._unread = guard.call(LIMITS, self.services.kit.limits_problem, UNREAD)
        if not self._unread:
            limits = (*self.services.kit.limits(), *self._limits_along())
        today = self.services.clock.wall().date()
        library = self.services.library.whole()
        past = self._from_log
        return library_means(kit, limits, today, library, past.last_kg, past.waiting)

    @property
    def facts(self) -> SheetFacts:
        """What there is to say of the draft; gathered once for each draft."""
        if self._facts is None or self._facts[0] is not self.draft:
            silenced = frozenset(self.services.settings.advice.silenced)
            person = person_of(self.services.settings.training)
            self._facts = self.draft, facts_of(self.draft, silenced, person)
        return self._facts[1]

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the circuit."""
        state = "changed for today" if self.draft.is_changed else ""
        details = ", ".join(filter(None, [self._apart_text(), state]))
        return "Station sheet", self.draft.circuit.name, details

    def idle_text(self) -> str:
        """The stop rule stays in sight, however far the page is scrolled."""
        if self._unread:
            return self._unread
        return STOP_RULE.format(key=self.services.keymap.first_key("health"))

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The sheet in as many columns as fit."""
        del lines
        self._sheet = sheet(self.draft, self.chosen, cells, self.facts)
        focus = self._sheet.row_ranges[self.chosen]
        return PageLayout(self._sheet.rows, focus, head=self._sheet.head)

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Settings, then stations."""
        return self._sheet.row_ranges

    def _on_station(self) -> bool:
        return self.chosen >= len(SETTINGS)

    def _on_setting(self) -> bool:
        return not self._on_station()

    @property
    def _station(self) -> int:
        return self.chosen - len(SETTINGS) + 1

    def perform(self, one: Action, key: str) -> None:
        """Do it, unless limits that cannot be read may stand against the choice."""
        warm_up = self._on_setting() and SETTINGS[self.chosen] == "warm-up"
        if self._unread and (
            one.id in {"swap_station", "set_minutes"}
            or (one.id == "step_value" and warm_up)
        ):
            self.say(self._unread)
            return
        try:
            super().perform(one, key)
        except RefusedError as refused:
            self.say(str(refused))

    @action("space enter", "start", held=FRESH)
    def start(self) -> None:
        """Start: get ready, then the first station."""
        if not self._along:
            self.rooms.begin(self.draft.plan)
            return
        try:
            plan, company, _ = self._together(self._along, keep=True)
        except WhistlestopError as error:
            self.say(str(error).splitlines()[-1])
            return
        self.rooms.begin(plan, company)

    go_back = BACK

    def _skip_text(self) -> str:
        out = self._station in self.draft.today.without_stations
        return "put it back" if out else "leave it out"

    @action("d", _skip_text, drop=1, when=_on_station, held=ONCE)
    def skip_station(self) -> None:
        """Leave the chosen station out today, or put it back."""
        self.draft = self.draft.toggled(self._station)

    @action("s", "swap", drop=1, when=_on_station, held=ONCE)
    def swap_station(self) -> None:
        """Swap the chosen station for one that trains the same thing."""
        # Another drill where only that is in the way; else the next best station.
        drill = drill_instead(self.draft.as_performed, self._station, self.draft.means)
        problem = any(
            one.station == self._station and not one.is_drill
            for one in self.facts.blocked
        )
        if drill is not None and not problem:
            self.draft = self.draft.with_drill(self._station, drill)
        else:
            self.draft = self.draft.exchanged(self._station)

    @action("l", "load", drop=3, when=_on_station, held=ONCE)
    def choose_load(self) -> None:
        """Take the next load you own for the chosen station."""
        self.draft = self.draft.next_load(self._station)

    @action(STEPS, lambda self: "change" * self._on_setting(), drop=1)
    def step_value(self, steps: int) -> None:
        """Less or more of the chosen setting; a station goes out or comes in."""
        if self._on_setting():
            self.draft = self.draft.with_steps(SETTINGS[self.chosen], steps)
            return
        is_out = self._station in self.draft.today.without_stations
        if is_out == (steps > 0):
            self.draft = self.draft.toggled(self._station)

    choose_row = replace(
        CHOOSE_ROW, label=lambda self: "choose" * self._on_setting(), shown="↑ ↓"
    )

    @action("m", "minutes", drop=2, held=ONCE)
    def set_minutes(self) -> None:
        """Fit it into the minutes you have."""
        self.app.push_screen(FitRoom(self.draft), self._take_fit)

    @action("w", "kit", drop=4, held=ONCE)
    def set_up_kit(self) -> None:
        """Say what you have; the sheet follows."""
        self.rooms.open_setup(self._after_setup)

    @action("p", "two people", drop=7, held=ONCE)
    def choose_partner(self) -> None:
        """Train with somebody: type the name, or nothing to train alone."""
        words = "Who trains with you? Type a name; leave it empty to train alone."
        self.ask(words, self._take_along, value=self._along)

    @action(
        "u",
        lambda self: "undo today's changes" * self.draft.is_changed,
        drop=5,
        held=ONCE,
    )
    def restore_sheet(self) -> None:
        """Undo today's changes: the circuit as it is written."""
        self.draft = self.draft.as_written()

    def _after_setup(self, _result: None) -> None:
        self.take_means()
        self.paint()

    def _take_fit(self, taken: FitTaken | None) -> None:
        """Take a way to fit; kit, loads and exchanged stations stay."""
        if taken is None:
            return
        now = self.draft.changes
        warm_up = now.warm_up if taken.warm_up is None else taken.warm_up
        changes = Changes(now.exchanges, now.drills, now.loads, warm_up)
        try:
            self.draft = self.draft.changed(taken.today, changes)
        except RefusedError as refused:
            self.say(str(refused))
        self.paint()

    # Two people

    def _take_along(self, typed: str) -> str:
        """Take who trains along, if two can do it as it is today."""
        name = " ".join(typed.split())
        if name:
            try:
                pairing = self._together(name, keep=False)[2]
            except WhistlestopError as error:
                return str(error).splitlines()[-1]
            if pairing.differs:
                self.say(f"For two, {pairing.differs}.")
        self._along, self._apart = name, None
        # Both do every station: what one of them spares, both exchange.
        self.take_means()
        return ""

    def _limits_along(self) -> tuple[Limit, ...]:
        """The limits of who trains along; nothing where nobody does."""
        if not self._along:
            return ()
        # Imported here: one alone needs none of it.
        from whistlestop.driver.athletes import companion

        try:
            return companion(self.services.places, self._along, keep=False).limits
        except WhistlestopError as error:
            self.say(str(error).splitlines()[-1])
            return ()

    def _together(self, name: str, *, keep: bool) -> tuple[Plan, Company, Pairing]:
        # Imported here: one alone needs none of it.
        from whistlestop.driver.pairs import together

        draft = self.draft
        return together(
            self.services, draft.as_performed, name, keep=keep, today=draft.today
        )

    def _apart_text(self) -> str:
        """With whom and how far apart, or why not as it is today."""
        if not self._along:
            return ""
        if self._apart is None or self._apart[0] is not self.draft:
            try:
                company = self._together(self._along, keep=False)[1]
                text = f"with {self._along}, offset {company.offset}"
            except WhistlestopError:
                text = f"cannot run with {self._along} as it is"
            self._apart = self.draft, text
        return self._apart[1]
