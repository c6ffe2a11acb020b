"""The close-out: what was done, how hard it was, a note, and whether it is saved.

Owns the keys and the waiting for the disk; the words stand in `close_out_lines`.
It does not release the session: the application does, after the result.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final, Literal

from textual.widgets import Input

from whistlestop.domain.athlete import OWNER
from whistlestop.domain.effort import Effort
from whistlestop.domain.text import shown
from whistlestop.driver.effort_keys import EffortKeys
from whistlestop.driver.guard import CLOSE_OUT, NAMES
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
from whistlestop.tui.rooms.close_out.lines import (
    CloseOut,
    close_out,
)
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.safety.discomfort import DiscomfortScreen
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import Page, PageLayout

KEEP_WAIT_S: Final = 5.0
POLL_S: Final = 0.5
Closed = Literal["closed", "reopened"]


class CloseOutRoom(ChoosingRoom[Closed]):
    """A session that has ended, until it is saved and left."""

    part = CLOSE_OUT

    DEFAULT_CSS = """
    CloseOutRoom > Input {
        background: $background; color: $foreground;
    }
    """

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
            self.query_one("#title", Page).lay_out()

    # Of two people, one answers at a time

    @property
    def _is_pair(self) -> bool:
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

    def standing_text(self) -> str:
        """What a digit would enter now."""
        if self._is_typing:
            return "A line on how it went, for the log."
        asked = "the session" if self.chosen == 0 else f"loop {self._loop}"
        whose = f"{self._who}: how" if self._is_pair else "How"
        return (
            f"{whose} hard was {asked}? 0 to 10; a comma adds a half, Backspace clears."
        )

    def key_entries(self) -> Sequence[KeyEntry]:
        """What can be done now."""
        if self._is_typing:
            return [KeyEntry("Enter", "save note"), KeyEntry("Esc", "cancel")]
        if self._is_stuck:
            return [
                KeyEntry("Enter", "try again"),
                KeyEntry("e", "copy to another folder"),
                KeyEntry("Esc", "leave unsaved (asks first)"),
            ]
        entries = [
            KeyEntry("Enter", "save and close"),
            KeyEntry("↑ ↓", "choose", 4),
            KeyEntry("n", "note", 2),
            KeyEntry("x", "discomfort", 3),
        ]
        if self._is_pair:
            entries.append(KeyEntry("a", f"enter for {self._called(self._other)}", 1))
        if self.running.session.engine.ending is Ending.HEALTH:
            entries.append(KeyEntry("o", "reopen", 1))
        return entries

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """Done versus planned."""
        del lines
        self._layout = close_out(self._record, self.chosen, cells)
        return PageLayout(self._layout.rows, self._layout.row_ranges[self.chosen])

    def press_failed(self, key: str) -> None:
        """Save, whatever else fails."""
        if key == "enter" and not self._is_waiting:
            self._save()

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

    @property
    def _is_typing(self) -> bool:
        return bool(self.query(Input))

    def press(self, key: str) -> bool:
        """Enter efforts and the rest; while a note is typed, nothing but that."""
        if self._is_waiting:
            return True
        if self._is_typing:
            if key == "escape":
                self._end_typing()
            return key == "escape"
        if self._is_stuck and self._press_stuck(key):
            return True
        if self.move(key):
            return True
        return self._enter_effort(key) or self._act(key)

    def _enter_effort(self, key: str) -> bool:
        record = self._record
        loop = None if self.chosen == 0 else record.rated[self.chosen - 1]
        present = record.session_effort if loop is None else loop.effort
        typed = self._keys.press(key, self.now_ms(), present)
        if typed is None:
            return False
        effort: Effort | None = typed.effort
        if effort == present:
            return True
        if loop is None:
            return self._do(EnterSessionEffort(effort, self._answering))
        return self._do(EnterEffort(loop.loop, effort, self._answering))

    def _act(self, key: str) -> bool:
        match key:
            case "enter":
                if self.debounced(key, on_arrival=False):
                    self._save()
            case "n":
                if self.debounced(key):
                    self._begin_typing()
            case "a" if self._is_pair:
                if self.debounced(key):
                    self._answering, self._keys = self._other, EffortKeys()
                    self.paint()
            case "x":
                if self.debounced(key):
                    self.app.push_screen(DiscomfortScreen(), self._take_discomfort)
            case "o" if self.running.session.engine.ending is Ending.HEALTH:
                if self.debounced(key, on_arrival=False) and self._do(Do.REOPEN):
                    self.dismiss("reopened")
            case _:
                return False
        return True

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

    # The note

    def _begin_typing(self) -> None:
        note = self._record.note
        field = Input(note, max_length=NOTE_LIMIT, select_on_focus=False, compact=True)
        field.cursor_blink = not self.services.settings.screen.reduced_motion
        field.styles.padding = (0, 2)
        self.has_help = False  # a question mark is a letter now
        self.mount(field, after="#page")
        field.focus()

    def _end_typing(self) -> None:
        self.has_help = True
        self.query(Input).remove()
        self.call_after_refresh(self.paint)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Save the note as it was typed."""
        event.stop()
        text = " ".join(event.value.split())
        if text != self._record.note:
            self._do(EnterNote(text, self._answering))
        self._end_typing()

    # Keeping

    def _save(self) -> None:
        """Write the summary line, and wait for the disk in a thread."""
        if self._is_closed:
            self.running.session.reopen_record()
        self.running.session.close()
        self._is_closed = self._is_waiting = True
        writer, wait_s = self.running.writer, self._save_wait_s
        self.run_worker(
            lambda: writer.flush(wait_s),
            name="keep",
            thread=True,
            exit_on_error=False,
        )

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

    def _press_stuck(self, key: str) -> bool:
        """Keys that act only while the disk does not take the record."""
        if key == "e" and self.debounced(key):
            try:
                folder = self._copy_folder or Path.home()
                copy = self.running.writer.emergency_copy(folder)
            except (StoreError, RuntimeError) as error:
                self.say(f"Copy not saved: {error}.")
            else:
                self.say(f"Copy saved in {shown(str(copy))}. Esc closes.")
                self._left_once = True
            return True
        if key == "escape" and self.debounced(key):
            if self._left_once:
                self.dismiss("closed")
            self._left_once = True
            self.say("Leave without saving this session? Press Esc again.")
            return True
        return False
