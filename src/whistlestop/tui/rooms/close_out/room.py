"""The close-out: what was done, how hard it was, a note, and whether it is saved.

Owns the keys and the waiting for the disk; the words stand in `close_out_lines`.
It does not release the session: the application does, after the result.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from whistlestop.domain.effort import Effort
from whistlestop.domain.owner import OWNER
from whistlestop.domain.text import shown
from whistlestop.driver.effort_keys import EffortKeys
from whistlestop.driver.guard import CLOSE_OUT, DIARY, NAMES
from whistlestop.driver.starting import RunningSession
from whistlestop.engine.commands import (
    Command,
    Do,
    EnterDiscomfort,
    EnterEffort,
    EnterNote,
    EnterSessionEffort,
)
from whistlestop.engine.entries import NOTE_LIMIT
from whistlestop.engine.events import Ending
from whistlestop.errors import CommandRejected, StoreError
from whistlestop.review.record import SessionRecord, session_record
from whistlestop.tui.discomfort import DiscomfortQuestion, sites_of
from whistlestop.tui.rooms.close_out.lines import CloseOut, close_out
from whistlestop.tui.rooms.frame.actions import EFFORT_KEYS, FRESH, ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.choosing import CHOOSE_ROW
from whistlestop.tui.rooms.safety.discomfort import DiscomfortScreen
from whistlestop.tui.widgets.page import Page, PageLayout

if TYPE_CHECKING:
    from whistlestop.domain.reasons import CutReason

KEEP_WAIT_S: Final = 5.0
POLL_S: Final = 0.5
CUT_ANSWERS: Final = {
    "too-much": "It was too much: the coach will ease that, and not the rest.",
    "no-time": "There was no time: the coach will take nothing away for it.",
}
Closed = Literal["closed", "reopened"]


class CloseOutRoom(AskingRoom[Closed]):
    """A session that has ended, until it is saved and left."""

    part = CLOSE_OUT

    def __init__(
        self,
        running: RunningSession,
        *,
        poll_s: float | None = POLL_S,
        save_wait_s: float = KEEP_WAIT_S,
        copy_folder: Path | None = None,
    ) -> None:
        """Close a session out.

        Args:
            running: The session; it has ended.
            poll_s: How often the disk is asked, in s; None leaves it to `look`.
            keep_wait_s: How long leaving waits for the disk, in s.
            copy_folder: Where an emergency copy goes; the user's own folder if None.
        """
        super().__init__()
        self.running = running
        self._poll_s, self._save_wait_s = poll_s, save_wait_s
        self._copy_folder = copy_folder
        self._keys = EffortKeys()
        self._answering = OWNER
        self._layout = CloseOut((), ())
        self._is_saved = running.writer.state().saved
        self._is_waiting = False
        self._is_stuck = False
        self._is_closed = False
        self._left_once = False
        self._cut_reason: CutReason = ""

    def on_mount(self) -> None:
        """Begin to watch the disk."""
        super().on_mount()
        if self._poll_s is not None:
            self.set_interval(self._poll_s, self.look)

    def look(self) -> None:
        """Ask whether everything is saved; repaint only when the answer changed."""
        saved = self.running.writer.state().saved
        if saved != self._is_saved:
            self._is_saved = saved
            for title in self.query("#title").results(Page):
                title.lay_out()

    # Of two people, one answers at a time

    @property
    def is_pair(self) -> bool:
        """Whether two people trained."""
        return len(self.running.session.athletes) > 1

    @property
    def _other(self) -> str:
        athletes = self.running.session.athletes
        return athletes[(athletes.index(self._answering) + 1) % len(athletes)]

    def _called(self, athlete: str) -> str:
        from whistlestop.driver.athletes import called

        guard, services = self.running.guard, self.rooms.services
        plain = {athlete: athlete}
        names = guard.call(NAMES, lambda: called(services.places, [athlete]), plain)
        return names[athlete]

    @property
    def _who(self) -> str:
        return self._called(self._answering)

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the circuit, and say whether it is kept."""
        if self._is_waiting:
            state = "saving"
        else:
            state = "saved" if self._is_saved else "not saved yet"
        return "Close-out", self.running.session.engine.plan.name, state

    def idle_text(self) -> str:
        """What a digit would enter now."""
        if self._present_effort and not self._cut_reason and self._was_cut():
            return "Something was left out: too much (t), or no time (c)?"
        asked = "the session" if self.chosen == 0 else f"loop {self._loop}"
        whose = f"{self._who}: how" if self.is_pair else "How"
        return (
            f"{whose} hard was {asked}? 0 to 10; a comma adds a half, Backspace clears."
        )

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """Done versus planned."""
        del lines
        self._layout = close_out(self._record, self.chosen, cells)
        return PageLayout(self._layout.rows, self._layout.row_ranges[self.chosen])

    def press_failed(self, key: str) -> None:
        """Save, whatever else fails."""
        if key == "enter" and not self._is_waiting:
            self.save_session()

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """The session, then its loops with work in them."""
        return self._layout.row_ranges

    @property
    def _record(self) -> SessionRecord:
        """The record so far of the one who answers."""
        session = self.running.session.engine.for_athlete(self._answering)
        return session_record(session)

    @property
    def _loop(self) -> int:
        return self._record.rated[self.chosen - 1].loop

    def press(self, key: str) -> bool:
        """Take a key; while the disk is waited for, none means anything."""
        return self._is_waiting or super().press(key)

    def _save(self) -> bool:
        """Wait for the disk, then save why something was left out."""
        saved = self.running.writer.flush(self._save_wait_s)
        reason = self._cut_reason
        if saved and reason:
            # Imported here: most sessions are done whole.
            from whistlestop.driver.diary import Amendment

            services, session = self.rooms.services, self.running.session_id
            change = Amendment(left_out_for=reason)
            self.running.guard.call(
                DIARY, lambda: services.diary().amend(session, change), None
            )
            self._cut_reason = ""
        return saved

    def _is_going_well(self) -> bool:
        return not self._is_stuck

    @action("enter", "save and close", when=_is_going_well, held=FRESH)
    def save_session(self) -> None:
        """Save the session and leave."""
        # The summary line is written, and the disk waited for in a thread.
        if self._is_closed:
            self.running.session.reopen_record()
        self.running.session.close()
        self._is_closed = self._is_waiting = True
        self.run_worker(
            self._save,
            name="keep",
            thread=True,
            exit_on_error=False,
        )

    @action("enter", "try again", when=lambda self: self._is_stuck, held=FRESH)
    def retry_save(self) -> None:
        """Try again to save it."""
        self.save_session()

    @action(
        "e",
        "copy to another folder",
        when=lambda self: self._is_stuck,
        held=ONCE,
    )
    def copy_elsewhere(self) -> None:
        """Save a copy in another folder."""
        try:
            folder = self._copy_folder or Path.home()
            copy = self.running.writer.emergency_copy(folder)
        except (StoreError, RuntimeError) as error:
            self.say(f"Copy not saved: {error}.")
        else:
            self.say(f"Copy saved in {shown(str(copy))}. Esc closes.")
            self._left_once = True

    @action(
        "escape",
        "leave unsaved (asks first)",
        when=lambda self: self._is_stuck,
        held=ONCE,
    )
    def leave(self) -> None:
        """Leave without saving; it asks first, unless a copy is saved."""
        if self._left_once:
            self.dismiss("closed")
        self._left_once = True
        self.say("Leave without saving this session? Press Esc again.")

    choose_row = replace(
        CHOOSE_ROW,
        label=lambda self: "choose" * self._is_going_well(),
        drop=4,
        shown="↑ ↓",
        sentence="Choose the session or a loop.",
    )

    @action("n", lambda self: "note" * self._is_going_well(), drop=2, held=ONCE)
    def write_note(self) -> None:
        """Type a line on how it went, for the log."""
        self.ask(
            "A line on how it went, for the log.",
            self._take_note,
            value=self._record.note,
            limit=NOTE_LIMIT,
            accept="save note",
        )

    @action("x", lambda self: "discomfort" * self._is_going_well(), drop=3, held=ONCE)
    def note_discomfort(self) -> None:
        """Note a discomfort: where, which side, how strong."""
        stations = self.running.session.engine.plan.stations
        first = sites_of(card.exercise for card in stations)
        asked = DiscomfortQuestion(first)
        self.app.push_screen(DiscomfortScreen(asked), self._take_discomfort)

    def _was_cut(self) -> bool:
        """Whether something was left out, and nobody stopped for their health."""
        engine = self.running.session.engine
        if self._is_stuck or self._answering != OWNER or engine.ending is Ending.HEALTH:
            return False
        # Imported here: the coach is no part of a session that runs.
        from whistlestop.coach.evidence import is_cut
        from whistlestop.coach.history import run_of

        # A record that is not closed yet has no day of its own; any does here.
        today = self.services.clock.wall().isoformat()
        run = run_of(replace(self._record, wall=today), UTC)
        return run is not None and is_cut(run)

    @action("t", "too much", drop=1, when=_was_cut, held=ONCE)
    def was_too_much(self) -> None:
        """What was left out was too much."""
        self._answer_cut("too-much")

    @action("c", "no time", drop=1, when=_was_cut, held=ONCE)
    def had_no_time(self) -> None:
        """There was no time for what was left out."""
        self._answer_cut("no-time")

    def _answer_cut(self, reason: CutReason) -> None:
        self._cut_reason = reason
        self.say(CUT_ANSWERS[reason])

    def _other_text(self) -> str:
        return "" if self._is_stuck else f"enter for {self._called(self._other)}"

    @action("a", _other_text, drop=1, when=lambda self: self.is_pair, held=ONCE)
    def other_athlete(self) -> None:
        """Enter for the other of two people."""
        self._answering, self._keys = self._other, EffortKeys()
        self.paint()

    @action(
        "o",
        lambda self: "reopen" * self._is_going_well(),
        drop=1,
        when=lambda self: self.running.session.engine.ending is Ending.HEALTH,
        held=FRESH,
    )
    def go_on(self) -> None:
        """After a stop for health: go on with this session."""
        if self._do(Do.REOPEN):
            self.dismiss("reopened")

    @property
    def _present_effort(self) -> Effort | None:
        """The effort of the chosen line, as entered."""
        record = self._record
        if self.chosen == 0:
            return record.session_effort
        return record.rated[self.chosen - 1].effort

    @action(EFFORT_KEYS, shown="0-9 , Backspace")
    def enter_effort(self, key: str) -> None:
        """Type the effort of the chosen line; a comma adds a half."""
        if not self.again:
            self._keys = EffortKeys()
        record, present = self._record, self._present_effort
        loop = None if self.chosen == 0 else record.rated[self.chosen - 1]
        typed = self._keys.press(key, self.now_ms(), present)
        if typed is None or typed.effort == present:
            return
        if loop is None:
            self._do(EnterSessionEffort(typed.effort, self._answering))
        else:
            self._do(EnterEffort(loop.loop, typed.effort, self._answering))

    def _do(self, command: Command) -> bool:
        """Hand a command to the session; what it refuses is shown."""
        try:
            self.running.session.do(command)
        except CommandRejected as error:
            self.say(f"{str(error).capitalize()}.")
        self._is_stuck = False
        self.look()
        return True

    def _take_discomfort(self, entry: EnterDiscomfort | None) -> None:
        if entry is not None:
            self._do(replace(entry, athlete=self._answering))
        self.paint()

    def _take_note(self, typed: str) -> str:
        text = " ".join(typed.split())
        if text != self._record.note:
            self._do(EnterNote(text, self._answering))
        return ""

    # Keeping

    def take_result(self, name: str, result: object) -> None:
        """Leave once everything is on disk; else say so and stay."""
        if name != "keep":
            return
        self._is_waiting = False
        self.look()
        if result:
            self.dismiss("closed")
            return
        self._is_stuck = True
        why = self.running.writer.state().error or "the disk does not answer"
        self.say(f"Not saved yet: {why}. Stay here: it is only in memory.")

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Treat a failed wait like a disk that does not answer."""
        del error
        self.take_result(name, None)
