"""The circuits room: what there is to do, and what was left unfinished.

Owns loading, choosing and the keys; the words stand in `circuits_lines`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from whistlestop.errors import StoreError
from whistlestop.tui.rooms.circuits import lines as words
from whistlestop.tui.rooms.frame.actions import FRESH, ONCE, action
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.widgets.key_line import dropped
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.painted import ScreenPainted
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row

if TYPE_CHECKING:
    from whistlestop.driver.services import Services
    from whistlestop.driver.wellbeing import MorningQuestion
    from whistlestop.store.journal.index import SessionLine

ASIDE_FROM: Final = 112
_ASIDE_CELLS: Final = 40
_WIDEST: Final = 100


class CircuitsRoom(ChoosingRoom[None]):
    """All circuits, and the session that was interrupted, if there is one."""

    def __init__(self) -> None:
        super().__init__()
        self.found: words.CircuitsPage | None = None
        self._row_ranges: list[tuple[int, int]] = []
        self._left_alone: set[str] = set()
        self._is_settled = False
        self._has_looked = False
        self._has_offered = False
        self._has_asked = False

    def on_mount(self) -> None:
        """List what is remembered; look in a thread, once the room is on screen."""
        super().on_mount()
        self.found = glance(self.services)

    def on_screen_painted(self, _event: ScreenPainted) -> None:
        """Look, now that the room is seen: what a thread imports holds the painter."""
        if not self._has_looked:
            self.look()

    def on_screen_resume(self) -> None:
        """Look again after a session: dates and offers may have changed."""
        if self._has_looked:
            self.look()

    def look(self) -> None:
        """Read circuits and log in a thread."""
        self._has_looked = True
        services = self.services
        self.run_worker(
            lambda: find(services),
            name="look",
            thread=True,
            exclusive=True,
            exit_on_error=False,
        )

    def take_result(self, name: str, result: object) -> None:
        """Show what was found; the circuit done last is chosen at first."""
        del name
        if not isinstance(result, words.CircuitsPage):
            return
        is_first = not self._has_asked
        self._has_asked = True
        before = self._circuit_id()
        if not self._is_settled:
            before = result.last.circuit if result.last else result.for_new or before
        self.found, self._is_settled = result, True
        ids = [one.circuit.id for one in result.listed]
        self.chosen = ids.index(before) if before in ids else 0
        if result.problem:
            self.say(result.problem)
        elif result.new_files and not self._has_offered:
            # Once a start: what is not wanted is not said again and again.
            self._has_offered = True
            files = counted(result.new_files, "new activity file")
            self.say(f"{files}: import with i in the log.")
        if is_first and self.is_current:
            self._ask(result)
        if result.last is not None:
            # The log is opened next as a rule, and its diary takes longest to read.
            services = self.services
            self.run_worker(
                services.read_ahead, name="ahead", thread=True, exit_on_error=False
            )

    def _ask(self, result: words.CircuitsPage) -> None:
        """Ask at the start what has to be answered before anything is proposed."""
        if result.page:
            self.rooms.ask_well()
        elif result.morning is not None:
            self.rooms.ask_morning(result.morning)

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say that nothing could be read."""
        del name
        self.found = self.found or words.CircuitsPage()
        self.say(f"The circuits could not be read: {error}")

    @property
    def offer(self) -> words.ResumeOffer | None:
        """The interrupted session, unless it was left alone."""
        offer = self.found.offer if self.found else None
        if offer is None or offer.session_id in self._left_alone:
            return None
        return offer

    def _choose(self, option: int) -> None:
        """Choose; what the athlete chose is not chosen for them any more."""
        super()._choose(option)
        self._is_settled = True

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and count the circuits."""
        if self.found is None:
            return "Circuits", "", ""
        return "Circuits", counted(len(self.found.listed), "circuit"), ""

    def standing_text(self) -> str:
        """Name the first thing wrong with the settings, else keys with no room."""
        if self.found is not None and self.found.page:
            return f"{self.found.page}: Enter."
        if self.services.problems:
            return self.services.problems[0]
        more = dropped(self.key_entries(), self.size.width)
        return " · ".join(f"{entry.key} {entry.words}" for entry in more)

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """List the circuits; beside them the chosen one, where there is room."""
        self._row_ranges = []
        found = self.found
        if found is None:
            return PageLayout((row("  ", TextSpan("Reading circuits", "dim")),))
        wide = cells >= ASIDE_FROM
        own = min(_WIDEST, cells - _ASIDE_CELLS - 4 if wide else cells)
        today = self.services.clock.wall().date()
        rows: list[Row] = []
        head = words.offer_rows(self.offer, today, own) if self.offer else []
        for index, one in enumerate(found.listed):
            self._row_ranges.append((len(rows), len(rows) + 1))
            rows += words.circuit_rows(
                one, chosen=index == self.chosen, cells=own, today=today
            )
        if not found.listed:
            rows += words.empty_rows(str(self.services.places.circuits), own)
        else:
            rows += words.legend_rows(found, own)
        if found.broken:
            rows += [BLANK, *words.broken_rows(found.broken, own)]
        if not self._row_ranges:
            return PageLayout(rows, head=head)
        first, last = self._row_ranges[self.chosen]
        if not wide:
            return PageLayout(rows, (first, last), head=head, block=words.BLOCK_LINES)
        aside = words.aside_rows(found.listed[self.chosen], _ASIDE_CELLS, lines)
        beside = cells - own - 3
        return PageLayout(rows, (first, last), aside, beside, head, words.BLOCK_LINES)

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each circuit stands on the page."""
        return self._row_ranges

    def _has_one(self) -> bool:
        return self.found is not None and bool(self.found.listed)

    def _has_last(self) -> bool:
        """Whether the last session may be offered again."""
        found = self.found
        return found is not None and found.last is not None and not found.page

    def _has_offer(self) -> bool:
        return self.offer is not None

    @property
    def _one(self) -> words.CircuitRow:
        assert self.found is not None
        return self.found.listed[self.chosen]

    def _circuit_id(self) -> str | None:
        return self._one.circuit.id if self._has_one() else None

    def _again_text(self) -> str:
        assert self.found is not None
        assert self.found.last is not None
        return words.again_text(self.found.last, self.services.clock.wall().date())

    @action("enter", "open", when=_has_one, held=ONCE)
    def open_sheet(self) -> None:
        """Open its sheet: what to lay out, and from there the start."""
        self.rooms.open_sheet(self._one.circuit)

    @action("a", _again_text, drop=2, when=_has_last, held=FRESH)
    def repeat_last(self) -> None:
        """Do the last session again, with what was changed that day."""
        self.rooms.again()

    @action("w", "what fits", drop=1, held=ONCE)
    def set_up_kit(self) -> None:
        """Say what you have, what is sore and how many minutes; see what fits."""
        self.rooms.open_setup()

    @action("b", "build", drop=2, held=ONCE)
    def build_circuit(self) -> None:
        """Have a new circuit built for you."""
        self.rooms.open_builder()

    @action("s", "next step", drop=2, held=ONCE)
    def open_next(self) -> None:
        """See the next step for each circuit in use."""
        self.rooms.open_next()

    @action("p", "weeks", drop=3, held=ONCE)
    def open_weeks(self) -> None:
        """Plan the weeks ahead."""
        self.rooms.open_weeks()

    @action("l", "log", drop=1, held=ONCE)
    def open_log(self) -> None:
        """Read the log: all that was done, newest first."""
        self.rooms.open_log()

    @action("e", "edit", drop=3, when=_has_one, held=ONCE)
    def edit_circuit(self) -> None:
        """Open it in the editor, to change it for good."""
        self.rooms.open_editor(self._one.circuit, self._one.path)

    @action("d", "copy", drop=4, when=_has_one, held=ONCE)
    def copy_circuit(self) -> None:
        """Open a copy of it in the editor, to save under another name."""
        self.rooms.open_editor(self._one.circuit, None)

    @action("n", "new", drop=4, held=ONCE)
    def add_circuit(self) -> None:
        """Make a new circuit in the editor, beginning with an empty one."""
        self.rooms.open_editor(None, None)

    @action("i", "stations", drop=3, held=ONCE)
    def open_library(self) -> None:
        """Look up stations and drills."""
        self.rooms.open_library()

    @action("o", "kit", drop=3, held=ONCE)
    def open_kit(self) -> None:
        """List the kit you own, and what to leave out for a while."""
        self.rooms.open_kit()

    @action("t", "sounds", drop=4, held=ONCE)
    def open_sounds(self) -> None:
        """Hear the tones and the voice."""
        self.rooms.open_sounds()

    @action("q", "quit", held=FRESH)
    def leave(self) -> None:
        """Leave the program."""
        self.rooms.leave()

    @action("r", when=_has_offer, held=ONCE)
    def resume_session(self) -> None:
        """Go on where the session was interrupted, paused."""
        assert self.offer is not None
        self.rooms.resume(self.offer.session_id)

    @action("k", when=_has_offer, held=ONCE)
    def leave_interrupted(self) -> None:
        """Leave the interrupted session in the log as it is."""
        assert self.offer is not None
        session_id = self.offer.session_id
        self._left_alone.add(session_id)
        try:
            self.rooms.services.sessions.settle(session_id)
        except StoreError as error:
            self.say(f"{error}")
            return
        self.say("It stays in the log, unfinished.")


def glance(services: Services) -> words.CircuitsPage | None:
    """What is known without reading much: the circuits of last time, no log."""
    listing = services.circuits.find_remembered()
    if listing is None:
        return None
    return words.CircuitsPage(listed=words.listed(listing, None))


def find(services: Services) -> words.CircuitsPage:
    """Read circuits and log. A log that cannot be read leaves the circuits usable."""
    listing = services.circuits.find_all()
    services.circuits.remember()
    sessions: list[SessionLine] = []
    done: list[SessionLine] | None = None
    problem, offer, new_files = "", None, 0
    try:
        sessions = services.log.sessions()
        offer = _offer(services, services.sessions.to_offer())
        done = services.logbook().done()
        new_files = _new_files(services)
    except StoreError as error:
        problem = str(error)
    page, morning = _to_answer(services) if sessions else ("", None)
    rows = words.listed(listing, sessions if done is None else done)
    return words.CircuitsPage(
        listed=rows,
        for_new="" if sessions or problem else _first_for_new(services, rows),
        broken=words.broken(listing),
        last=sessions[0] if sessions else None,
        offer=offer,
        problem=problem,
        page=page,
        morning=morning,
        new_files=new_files,
    )


def _new_files(services: Services) -> int:
    """How many files of the watched folder were not looked at yet."""
    if not services.settings.log.watched_folder:
        return 0
    # Imported here: hardly any home has such a folder.
    from whistlestop.driver.activities import new_files

    return len(new_files(services))


def _to_answer(services: Services) -> tuple[str, MorningQuestion | None]:
    """What has to be answered first, and what is asked about the last discomfort."""
    from whistlestop.driver.wellbeing import page_first

    try:
        return page_first(services.wellbeing), services.wellbeing.morning()
    except StoreError:
        return page_first(services.wellbeing), None


def _first_for_new(services: Services, rows: Sequence[words.CircuitRow]) -> str:
    """The first circuit that asks for no practice, for somebody without any."""
    # Imported here: with a log, nobody asks for it.
    from whistlestop.driver.practice import beyond

    try:
        hard = beyond(services)
    except StoreError:
        return ""
    if not hard:
        return ""
    return next(
        (
            one.circuit.id
            for one in rows
            if hard.isdisjoint(station.exercise for station in one.circuit.stations)
        ),
        "",
    )


def _offer(services: Services, line: SessionLine | None) -> words.ResumeOffer | None:
    """Where an interrupted session stood; without its journal, only that it did."""
    if line is None:
        return None
    # Imported here: rarely needed, and never for the first look at the room.
    from whistlestop.review.record import replay_lines
    from whistlestop.store.journal.file import read_journal

    try:
        journal = read_journal(line.path)
        beat = services.log.last_beat(line.id)
        replayed = replay_lines([one.fields for one in journal.lines], beat)
    except (StoreError, ValueError):
        return words.ResumeOffer(line.id, line.name, line.wall, None, None)
    here = replayed.engine.segment
    return words.ResumeOffer(
        line.id, line.name, replayed.last_wall, here.loop, here.station
    )
