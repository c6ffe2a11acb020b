"""Sessions of one home: started, taken up again, settled."""

from __future__ import annotations

import os
from dataclasses import replace
from typing import TYPE_CHECKING

from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.driver.guard import SESSIONS
from whistlestop.driver.log import LogService
from whistlestop.driver.memory import MemoryService
from whistlestop.errors import StoreError
from whistlestop.store.settings.values import SessionSettings

if TYPE_CHECKING:
    from whistlestop.domain.plan.plan import Plan
    from whistlestop.driver.session import Options
    from whistlestop.driver.starting import RunningSession, SessionHome
    from whistlestop.engine.clock import Clock
    from whistlestop.sound.port import SoundPort
    from whistlestop.store.journal.index import SessionLine


class SessionService:
    """Starts sessions with lock, journal and sound, one at a time."""

    def __init__(
        self, home: SessionHome, settings: SessionSettings, log: LogService
    ) -> None:
        """Prepare; nothing is locked or written yet."""
        self._home = home
        self._settings = settings
        self._log = log
        self._offered = ""
        # By the id of a circuit that is not among the athlete's, the text of its file.
        self.texts_elsewhere: dict[str, str] = {}

    def options(self, *, scripted: bool = False) -> Options:
        """How a session is driven by the settings, with a seed of its own."""
        from whistlestop.driver.session import Options

        return Options(
            count_in_ms=self._settings.count_in_s * 1000,
            scripted=scripted,
            seed=int.from_bytes(os.urandom(3), "big"),
        )

    def start(
        self,
        plan: Plan,
        *,
        options: Options | None = None,
        sound: SoundPort | None = None,
        clock: Clock | None = None,
        company: Company = ALONE,
    ) -> RunningSession:
        """Make a session of a plan, with lock and journal, ready to `begin`.

        Raises:
            LockTakenError: Another program runs a session in this home.
        """
        from whistlestop.driver.starting import start

        text = self.texts_elsewhere.get(plan.circuit, "")
        chosen = replace(options or self.options(), circuit_text=text)
        return start(
            self._home, plan, options=chosen, sound=sound, clock=clock, company=company
        )

    def resume(
        self, session_id: str, *, sound: SoundPort | None = None
    ) -> RunningSession:
        """Take an interrupted session up again, paused, where it was last seen.

        Raises:
            LockTakenError: It is still running somewhere.
            StoreError: Its journal cannot be read, or it is over.
        """
        from whistlestop.driver.starting import resume

        return resume(self._home, session_id, sound=sound)

    def interrupted(self) -> SessionLine | None:
        """The newest session, if it never came to an end and nobody runs it."""
        guard = self._home.guard
        found = guard.call(SESSIONS, lambda: self._log.sessions(limit=1), None)
        newest = self._newest_by_name() if found is None else found
        if not newest or newest[0].finished or self._is_running():
            return None
        return newest[0]

    def to_offer(self) -> SessionLine | None:
        """The interrupted session, if it is to be offered for a resume by itself.

        One broken off before its first work is offered by one start of the program;
        asked for, it can be resumed all the same.
        """
        line = self.interrupted()
        if line is None or line.id == self._offered or self._has_work(line):
            return line
        memory = MemoryService(self._home.places, self._home.clock)
        if memory.read().offered == line.id:
            return None
        memory.remember_offer(line.id)
        self._offered = line.id
        return line

    def _has_work(self, line: SessionLine) -> bool:
        """Whether any work was done in it; one that cannot be read may have some."""
        if line.done_work_ms:
            return True
        try:
            record = self._log.record(line.id)
        except StoreError:
            return True
        return any(loop.worked for loop in record.loops)

    def _newest_by_name(self) -> list[SessionLine]:
        """The newest session without the index, which a resume can do without."""
        from whistlestop.store.journal.file import list_journals
        from whistlestop.store.journal.index import summarise_file

        journals = list_journals(self._home.places.log).journals
        lines = (summarise_file(path) for path in reversed(journals))
        return [line for line in lines if not line.scripted][:1]

    def settle(self, session_id: str) -> None:
        """Close an interrupted session where it was last seen, as stopped.

        Raises:
            StoreError: Its journal cannot be read or written, or it still runs.
        """
        from whistlestop.engine.commands import Do

        running = self.resume(session_id)
        if not running.session.is_over:
            running.session.do(Do.STOP)
        running.session.close()
        if not running.release():
            raise StoreError(
                "cannot write to the log now; the session stays interrupted"
            )

    def _is_running(self) -> bool:
        """Whether a session runs in this home now.

        After a crash the name in the lock may be that of another process by now,
        so where it seems alive the lock itself is asked.
        """
        from whistlestop.errors import LockTakenError
        from whistlestop.store.journal.run_lock import RunLock, holder

        if holder(self._home.places.run_lock) is None:
            return False
        try:
            with RunLock(self._home.places.run_lock):
                return False
        except LockTakenError:
            return True
