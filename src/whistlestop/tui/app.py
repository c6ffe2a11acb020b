"""The application: rooms, the Floor, signals, and what happens at the end."""

from __future__ import annotations

import asyncio
import gc
import os
import signal
import sys
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import BindingType

from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.driver.guard import CLOSE_OUT, HEALTH, LIMITS
from whistlestop.driver.next_steps import for_session
from whistlestop.driver.services import Services
from whistlestop.errors import WhistlestopError
from whistlestop.tui.awake import KeepAwake
from whistlestop.tui.textual_private import FailsInOrder
from whistlestop.tui.theme import THEME_NAMES, THEMES, theme_for
from whistlestop.tui.widgets.painted import ScreenPainted

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from textual.screen import Screen

    from whistlestop.domain.circuit.circuit import Circuit
    from whistlestop.domain.plan.plan import Plan
    from whistlestop.driver.starting import RunningSession
    from whistlestop.driver.wellbeing import MorningQuestion
    from whistlestop.tui.floor.screen import FloorScreen
    from whistlestop.tui.rooms.close_out.room import Closed
    from whistlestop.tui.rooms.frame.actions import HelpLine

ROOMS = "rooms"
ENDING_SIGNALS = ("SIGTERM", "SIGHUP", "SIGINT")


class WhistlestopApp(FailsInOrder):
    """All rooms over one home."""

    TITLE = "whistlestop"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = []
    MODES = {ROOMS: lambda: _first_room()}  # noqa: PLW0108, RUF012 - made below
    CSS = "Screen { background: $text-field; color: $text-ink; }"

    def __init__(
        self,
        services: Services,
        *,
        plan: Plan | None = None,
        company: Company = ALONE,
        resume: str | None = None,
        polls: bool = True,
    ) -> None:
        """Prepare.

        Args:
            services: Places, settings, circuits and log.
            plan: Go straight to the Floor with this.
            company: Who trains along in it.
            resume: Go straight to this interrupted session.
            polls: False in tests: time moves only when the test says so.
        """
        super().__init__()
        self.services = services
        self.polls = polls
        self.running: RunningSession | None = None
        self.awake = KeepAwake()
        self._plan = plan
        self._company = company
        self._resume = resume
        self._unseen: tuple[Plan, Company] | None = None
        self._problem = ""
        self.failure = ""
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = _theme(services)
        if services.settings.screen.reduced_motion:
            # Scrolling jumps; fields of text see to their own caret.
            self.animation_level = "none"

    def get_default_screen(self) -> Screen[Any]:
        """What is seen first: the Floor where it was asked for, else the circuits."""
        if self._asks_for_floor and self._has_read_notice and not self._waits_for_page:
            try:
                self._start_asked()
            except WhistlestopError as error:
                self._problem = f"{error}"
            else:
                return self._floor(begin=self._resume is None, leave=self._to_rooms)
        return _first_room()

    def get_css_variables(self) -> dict[str, str]:
        """The colours of our themes; Textual asks once before they are there."""
        is_ours = self.theme in THEME_NAMES
        return super().get_css_variables() if is_ours else {}

    def on_mount(self) -> None:
        """Listen to signals; the notice comes first, if it was never read."""
        self._catch_signals()
        self.app_resume_signal.subscribe(self, lambda _: self.repaint())
        for problem in self.services.problems:
            self.notify(problem, severity="warning", markup=False)
        if self._problem:
            self.tell(self._problem)
        if not self._has_read_notice:
            from whistlestop.tui.rooms.safety.notice import NoticeScreen

            self.push_screen(NoticeScreen(), self._after_notice)
        elif self._asks_for_floor and self._waits_for_page:
            self._page_first(self._try_asked)

    def on_screen_painted(self, event: ScreenPainted) -> None:
        """Collect garbage from now on; what the start made is there to stay."""
        event.stop()
        if not gc.isenabled():
            gc.freeze()
            gc.enable()

    @cached_property
    def _has_read_notice(self) -> bool:
        return self.services.memory.read().notice_acknowledged is not None

    def _after_notice(self, has_read: bool | None) -> None:  # noqa: FBT001 - a result
        if not has_read:
            self.leave()
        elif self._asks_for_floor:
            self._page_first(self._try_asked)
        elif not os.path.lexists(self.services.places.kit_file):
            # Somebody new: what is there decides what can be done at all.
            self.open_setup()

    @cached_property
    def _waits_for_page(self) -> bool:
        """Whether a session that was asked for waits for the page after a stop."""
        if self._resume is not None:
            return False
        return self.services.wellbeing.stop_in_view() is not None

    def _try_asked(self) -> None:
        self._try(self._start_asked, begin=self._resume is None)

    # Rooms

    def open_sheet(self, circuit: Circuit) -> None:
        """Show a circuit before it is done."""
        self._page_first(lambda: self._open_sheet(circuit))

    def _open_sheet(self, circuit: Circuit) -> None:
        from whistlestop.tui.rooms.sheet.room import SheetRoom

        self.push_screen(SheetRoom(for_session(self.services, circuit)))
        for message in self.services.guard.messages():
            self.tell(message)

    def _page_first(self, go_on: Callable[[], object]) -> None:
        """Go on, after a stop for health once its page is answered."""
        stop = self.services.wellbeing.stop_in_view()
        if stop is None:
            go_on()
            return
        from whistlestop.tui.rooms.safety.well import WellRoom

        def answered(well: bool | None) -> None:  # noqa: FBT001 - a result
            if well:
                go_on()

        self.push_screen(WellRoom(stop), answered)

    def ask_well(self) -> None:
        """Show the page after a stop for health, if one waits for its answer."""
        self._page_first(lambda: None)

    def ask_morning(self, asked: MorningQuestion) -> None:
        """Ask how a discomfort was on the next morning."""
        from whistlestop.tui.rooms.safety.well import MorningRoom

        self.push_screen(MorningRoom(asked))

    def open_log(self) -> None:
        """Show what was done."""
        from whistlestop.tui.rooms.log.room import LogRoom

        self.push_screen(LogRoom())

    def open_library(self) -> None:
        """Show the library: stations and drills."""
        from whistlestop.tui.rooms.library.room import LibraryRoom

        self.push_screen(LibraryRoom())

    def open_kit(self) -> None:
        """Show what is owned; limits are reached from there."""
        from whistlestop.tui.rooms.kit.room import KitRoom

        self.push_screen(KitRoom())

    def open_editor(self, circuit: Circuit | None, path: Path | None) -> None:
        """Edit a circuit: None begins an empty one, no path a copy."""
        from whistlestop.tui.rooms.editor.room import EditorRoom

        self.push_screen(EditorRoom(circuit, path))

    def open_setup(self, then: Callable[[None], None] | None = None) -> None:
        """Ask what is there and how long there is, and offer what fits."""
        from whistlestop.tui.rooms.kit.setup import SetupRoom

        self._page_first(lambda: self.push_screen(SetupRoom(), then))

    def open_keys(self) -> None:
        """Show the keys of a session as they are mapped."""
        from whistlestop.tui.rooms.frame.key_list import KeysScreen

        self.push_screen(KeysScreen())

    def open_room_keys(self, room: str, lines: Sequence[HelpLine]) -> None:
        """Show the keys of a room, a sentence each."""
        from whistlestop.tui.rooms.frame.key_list import RoomKeys

        self.push_screen(RoomKeys(room, lines))

    def open_builder(self) -> None:
        """Ask for a new circuit."""
        from whistlestop.tui.rooms.builder.room import BuilderRoom

        self._page_first(lambda: self.push_screen(BuilderRoom()))

    def open_next(self) -> None:
        """Show the next step for each circuit in use."""
        from whistlestop.tui.rooms.coach.next_room import NextRoom

        self._page_first(lambda: self.push_screen(NextRoom()))

    def open_weeks(self) -> None:
        """Show the weeks ahead."""
        from whistlestop.tui.rooms.coach.weeks_room import WeeksRoom

        self._page_first(lambda: self.push_screen(WeeksRoom()))

    def open_sounds(self) -> None:
        """Show and play what is heard."""
        from whistlestop.tui.rooms.sounds.room import SoundsRoom

        self.push_screen(SoundsRoom())

    def again(self) -> None:
        """Do the last session's plan again."""
        self._page_first(self._again)

    def _again(self) -> None:
        try:
            plan, company = self.services.log.last_plan()
        except WhistlestopError as error:
            self.tell(f"{error}")
            return
        self._try(lambda: self._start_unseen(plan, company), begin=True)

    def leave(self) -> None:
        """Leave the program."""
        self.exit()

    async def action_quit(self) -> None:
        """Leave; while a session runs, ask on the Floor first."""
        from whistlestop.tui.floor.screen import FloorScreen

        floors = [one for one in self.screen_stack if isinstance(one, FloorScreen)]
        if not floors:
            self.leave()
        elif floors[-1] is self.screen:
            floors[-1].press("ctrl+c")

    def tell(self, words: str) -> None:
        """Say something went another way than asked."""
        self.notify(words, markup=False)

    # Sessions

    def begin(self, plan: Plan, company: Company = ALONE) -> None:
        """Go to the Floor with a plan, alone or in company."""
        self._try(lambda: self._start(plan, company), begin=True)

    def resume(self, session_id: str) -> None:
        """Go to the Floor where a session was interrupted."""
        self._try(lambda: self._start_again(session_id), begin=False)

    @property
    def _asks_for_floor(self) -> bool:
        return self._plan is not None or self._resume is not None

    def _start_asked(self) -> None:
        """Start what the command line asked for."""
        if self._plan is not None:
            self._start_unseen(self._plan, self._company)
        elif self._resume is not None:
            self._start_again(self._resume)

    def _start_unseen(self, plan: Plan, company: Company) -> None:
        """Start a plan of which no sheet was seen, so that limits are still to name."""
        self._start(plan, company)
        self._unseen = plan, company

    def _start(self, plan: Plan, company: Company) -> None:
        self.running = self.services.sessions.start(plan, company=company)

    def _start_again(self, session_id: str) -> None:
        self.running = self.services.sessions.resume(session_id)

    def _try(self, start: Callable[[], None], *, begin: bool) -> None:
        """Start a session and go to the Floor, or stay and say why not."""
        try:
            start()
        except WhistlestopError as error:
            self.tell(f"{error}")
        else:
            self.push_screen(self._floor(begin=begin), self._after_floor)

    def _floor(
        self, *, begin: bool, leave: Callable[[str], object] | None = None
    ) -> FloorScreen:
        assert self.running is not None
        from whistlestop.tui.floor.screen import FloorScreen

        return FloorScreen(
            self.services, self.running, begin=begin, leave=leave, going=self._is_going
        )

    def _is_going(self, floor: FloorScreen) -> None:
        """See to what can wait until the Floor is seen and the clock runs."""
        problem = self.awake.start()
        if problem:
            floor.say(problem)
        self.run_worker(
            lambda: self._look_around(floor), thread=True, exit_on_error=False
        )

    def _look_around(self, floor: FloorScreen) -> None:
        """Read what is said and asked next on the Floor; remember the circuits."""
        from whistlestop.driver.last_loads import readable_last_loads

        guard, unseen = self.services.guard, self._unseen
        self._unseen = None
        if unseen is not None:
            guard.call(LIMITS, lambda: self._show_against(*unseen), None)
        floor.last_kg = readable_last_loads(self.services.logbook)
        self.services.circuits.remember()

    def _show_against(self, plan: Plan, company: Company) -> None:
        from whistlestop.driver.before_start import against_limits

        for line in against_limits(self.services, plan, company):
            self.services.guard.show(line)

    def _to_rooms(self, how: str) -> None:
        """Go on from a Floor that was seen first: there is no room below it."""
        self.switch_mode(ROOMS)
        self._after_floor(how)

    def _after_floor(self, how: str | None) -> None:
        self.awake.stop()
        running = self.running
        if how == "health" and running is not None:
            signs = running.guard.call(HEALTH, _health_screen, None)
            if signs is not None:
                self.push_screen(signs, lambda _: self._close_out())
                return
        self._close_out()

    def _close_out(self) -> None:
        running = self.running
        if running is None:
            return
        room = running.guard.call(CLOSE_OUT, lambda: _close_out_room(running), None)
        if room is None:
            self._after_close_out("closed")
            return
        self.push_screen(room, self._after_close_out)

    def _after_close_out(self, how: str | None) -> None:
        if how == "reopened":
            self.push_screen(self._floor(begin=False), self._after_floor)
            return
        self.end_session()
        while len(self.screen_stack) > 1:
            self.pop_screen()

    def end_session(self) -> bool:
        """Let go of lock, journal and sound; False if not all is on disk."""
        running, self.running = self.running, None
        self.awake.stop()
        if running is None:
            return True
        if running.session.is_over:
            running.session.close()
        return running.release()

    # The terminal

    def _catch_signals(self) -> None:
        """End in order on TERM and HUP: terminal restored, journal flushed."""
        loop = asyncio.get_running_loop()
        for name in ENDING_SIGNALS:
            number = getattr(signal, name, None)
            if number is None:
                continue
            try:
                loop.add_signal_handler(number, self._end_by_signal, int(number))
            except (NotImplementedError, RuntimeError, ValueError):
                return

    def _end_by_signal(self, number: int) -> None:
        self.exit(return_code=128 + number)

    def repaint(self) -> None:
        """Paint everything: after a suspension the screen is blank."""
        for screen in self.screen_stack:
            repaint = getattr(screen, "repaint", None)
            if repaint is not None:
                repaint()
        self.refresh(layout=True)

    def close_record(self) -> None:
        """Save the record before anything else: the app is about to fail."""
        self.end_session()

    def on_unreadable_input(self) -> None:
        """Tell the person, in one line, that the terminal sent what nobody can read."""
        if not self.failure:
            self.failure = (
                "whistlestop: unreadable input from the terminal; your session is saved"
            )

    def on_failed(self, error: Exception) -> None:
        """Tell the person that something failed, and where the details are."""
        from whistlestop.driver.fault import fault_text

        text = fault_text(error, self.services.places)
        self.failure = f"{text}; your session is saved"


def _health_screen() -> Screen[None]:
    from whistlestop.tui.rooms.safety.health import HealthScreen

    return HealthScreen()


def _close_out_room(running: RunningSession) -> Screen[Closed]:
    from whistlestop.tui.rooms.close_out.room import CloseOutRoom

    return CloseOutRoom(running)


def _first_room() -> Screen[None]:
    from whistlestop.tui.rooms.circuits.room import CircuitsRoom

    return CircuitsRoom()


def _theme(services: Services) -> str:
    wanted = services.settings.screen.theme
    no_color = bool(os.environ.get("NO_COLOR")) or wanted == "mono"
    return theme_for(no_color=no_color, light=wanted == "light")


def run_app(services: Services, **what: Any) -> int:
    """Run the screens until they are left; return the exit status."""
    app = WhistlestopApp(services, **what)
    try:
        app.run(mouse=services.settings.screen.mouse)
    finally:
        app.end_session()
    try:
        if app.failure:
            print(app.failure, file=sys.stderr)
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError:
        # The terminal has gone; the interpreter must not try again and fail.
        nowhere = os.open(os.devnull, os.O_WRONLY)
        for stream in (1, 2):
            os.dup2(nowhere, stream)
    return app.return_code or 0
