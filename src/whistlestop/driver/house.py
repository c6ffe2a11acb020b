"""What every room needs: places, settings, circuits, the log, and starting a session.

One object, made once by the command line; screens and the line mode ask it and
nothing else. It knows no screen and prints nothing. What only some of them need is
imported where it is asked for, so that the first screen does not wait for it.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from whistlestop.data import samples_folder
from whistlestop.domain.athlete import OWNER
from whistlestop.domain.pairing import ALONE, Company
from whistlestop.driver.keymap import Keymap, build_keymap
from whistlestop.engine.clock import Clock, SystemClock
from whistlestop.errors import StoreError, UsageError
from whistlestop.store.modes import close_old_ones
from whistlestop.store.places import Places
from whistlestop.store.settings import (
    Remembered,
    Settings,
    load_settings,
    read_remembered,
    write_remembered,
)

if TYPE_CHECKING:
    from whistlestop.domain.circuit import Circuit
    from whistlestop.domain.kit import Kit
    from whistlestop.domain.limits import Limit
    from whistlestop.domain.plan import Plan
    from whistlestop.driver.diary import DiaryKeeper
    from whistlestop.driver.kept_diary import KeptDiary
    from whistlestop.driver.logbook import Logbook
    from whistlestop.driver.session import Options
    from whistlestop.driver.sounding import Sounding
    from whistlestop.driver.starting import Running
    from whistlestop.library import DrillInfo
    from whistlestop.library.stock import Library
    from whistlestop.review.record import SessionRecord
    from whistlestop.sound.port import SoundPort
    from whistlestop.sound.voice import Voice
    from whistlestop.store.circuit_file import Catalogue
    from whistlestop.store.circuit_memory import CircuitMemory
    from whistlestop.store.circuit_reader import CircuitReader
    from whistlestop.store.circuit_shelf import Shelf
    from whistlestop.store.heartbeat import Beat
    from whistlestop.store.log_index import LogIndex, SessionLine


class House:
    """Everything but the screen."""

    def __init__(self, home: Path | None = None, *, clock: Clock | None = None) -> None:
        """Find places and settings, close what was left open; nothing is made yet.

        Raises:
            StoreError: The home is no folder.
        """
        self.places = Places(home)
        close_old_ones(self.places)
        self.clock: Clock = clock or SystemClock()
        loaded = load_settings(self.places.config_file)
        self.settings: Settings = loaded.settings
        self._memory: CircuitMemory | None = None
        self.keymap: Keymap = build_keymap(self.settings.keys)
        self.problems: tuple[str, ...] = (
            *(str(problem) for problem in loaded.problems),
            *self.keymap.problems,
        )

    @cached_property
    def sounding(self) -> Sounding:
        """How this house sounds."""
        from whistlestop.driver.sounding import Sounding

        return Sounding(self.places, self.settings.sound, self.drills)

    # Circuits

    def circuit_folders(self) -> tuple[Path, ...]:
        """Where circuits are looked for: the user's own, then the samples."""
        return (self.places.circuits, samples_folder())

    def shelf(self) -> Shelf:
        """All circuits that can be found, and what is wrong with the others."""
        from whistlestop.store.circuit_shelf import find_circuits

        return find_circuits(self.circuit_folders(), read=self._reader().read)

    def circuit(self, argument: str) -> Circuit:
        """One circuit, by path or id.

        Raises:
            ProblemsFound: The file has problems.
            UsageError, StoreError: There is no such circuit, or two.
        """
        from whistlestop.store.circuit_shelf import resolve

        return resolve(argument, self.circuit_folders(), read=self._reader().read)

    def remembered_shelf(self) -> Shelf | None:
        """The circuits that are known from last time; None where none are.

        Files that changed since, or have problems, are not among them.
        """
        from whistlestop.store.circuit_shelf import find_circuits

        reader = self._reader()
        if self._memory is None or self._memory.is_empty:
            return None
        return find_circuits(self.circuit_folders(), read=reader.remembered)

    def _reader(self) -> CircuitReader:
        """What reads circuits; a new one for each look, since files change."""
        from whistlestop.store.circuit_memory import CircuitMemory, stamp
        from whistlestop.store.circuit_reader import CircuitReader

        path = self.places.cache / "circuits.json"
        self._memory = CircuitMemory(path, stamp=stamp(self._own_library()))
        return CircuitReader(self._memory, self.catalogue)

    def remember_circuits(self) -> None:
        """Keep what the last look at the circuits found, for the next start."""
        if self._memory is not None:
            self._memory.save()

    def as_stepped(self, circuit: Circuit) -> Circuit:
        """A circuit as it is to be done now: with the steps that were accepted.

        Raises:
            StoreError: Decisions were kept, and they or the log cannot be read.
        """
        if not any(self.places.log.glob("decisions*.jsonl")):
            return circuit
        from whistlestop.driver.coaching import Coaching

        return Coaching(self).advise(circuit).session

    def catalogue(self) -> Catalogue | None:
        """The library with the user's own stations; None where there are none."""
        if not self._has_own_library():
            return None
        from whistlestop.store.own_library import catalogue_with, load_own

        return catalogue_with(load_own(self.places.library))

    def library(self) -> Library:
        """Stations, cards and drills to choose from: what ships, and the own ones.

        A file of the athlete's with a problem adds nothing; `library_problems` says
        what is wrong with it.
        """
        from whistlestop.library.stock import shipped

        if not self._has_own_library():
            return shipped()
        from whistlestop.store.own_library import library_with, load_own

        return library_with(load_own(self.places.library))

    def drills(self) -> Mapping[str, DrillInfo]:
        """The drills of `library`, without reading its cards where none are own."""
        from whistlestop.library import drills

        return self.library().drills if self._has_own_library() else drills()

    def _has_own_library(self) -> bool:
        return any(path.exists() for path in self._own_library())

    def _own_library(self) -> tuple[Path, ...]:
        names = ("stations.toml", "drills.toml")
        return tuple(self.places.library / name for name in names)

    def station_places(self) -> dict[str, tuple[str, str]]:
        """Region and pattern of each station of the library, the user's own too."""
        known = self.library().stations
        return {key: (one.region, one.pattern) for key, one in known.items()}

    def library_problems(self) -> tuple[str, ...]:
        """What is wrong with the user's own stations and drills, in sentences."""
        if not self._has_own_library():
            return ()
        from whistlestop.store.own_library import load_own

        return tuple(str(one) for one in load_own(self.places.library).problems)

    # Kit and limits

    def kit(self) -> Kit | None:
        """What is owned; None where no kit file is there.

        Raises:
            ProblemsFound: The file has problems.
        """
        # Imported here, and below: a session alone needs neither.
        from whistlestop.store.kit_file import read_kit

        path = self.places.kit_file
        return read_kit(path) if os.path.lexists(path) else None

    def limits(self) -> tuple[Limit, ...]:
        """What is left out for a while; nothing where no file is there.

        Raises:
            ProblemsFound: The file has problems.
        """
        from whistlestop.store.limits_file import read_limits

        path = self.places.limits_file
        return read_limits(path) if os.path.lexists(path) else ()

    def limits_in_force(self) -> tuple[Limit, ...]:
        """What is to be left alone today.

        Raises:
            ProblemsFound: The file has problems.
        """
        from whistlestop.domain.limits import in_force

        return in_force(self.limits(), self.clock.wall().date())

    # The log

    def sessions(
        self,
        *,
        scripted: bool = False,
        limit: int | None = None,
        since: date | None = None,
    ) -> list[SessionLine]:
        """Sessions in the log as recorded, newest first; see `LogIndex.sessions`."""
        return self._index.sessions(scripted=scripted, limit=limit, since=since)

    def keep_lines(self, lines: Sequence[SessionLine]) -> None:
        """Keep what replays gave, so that they need not be made again."""
        self._index.keep(lines)

    @cached_property
    def _index(self) -> LogIndex:
        from whistlestop.store.log_index import LogIndex

        return LogIndex(self.places.cache, self.places.log, self.places.state)

    @cached_property
    def kept_diary(self) -> KeptDiary:
        """The diary as last read; a logbook looks whether that still stands."""
        from whistlestop.driver.kept_diary import KeptDiary
        from whistlestop.store.diary_file import diary_path

        return KeptDiary(diary_path(self.places.log))

    def logbook(self) -> Logbook:
        """The log as it stands now, with the diary laid over it."""
        from whistlestop.driver.logbook import Logbook

        return Logbook(self)

    def read_ahead(self) -> None:
        """Read the diary before it is asked for; whoever asks is told what is wrong."""
        with suppress(StoreError):
            _ = self.logbook().diary

    def diary(self) -> DiaryKeeper:
        """What writes to the diary."""
        from whistlestop.driver.diary import DiaryKeeper

        return DiaryKeeper(self)

    def record(
        self, session_id: str, *, scripted: bool = False, athlete: str = OWNER
    ) -> SessionRecord:
        """Read one session back, as one athlete's; `last` is the newest.

        Raises:
            UsageError: There is no such session.
            StoreError: Its journal cannot be read.
        """
        from whistlestop.review.record import read_record
        from whistlestop.store.journal_file import (
            is_session_id,
            journal_path,
            read_journal,
        )

        if session_id == "last":
            newest = self.sessions(scripted=scripted, limit=1)
            if not newest:
                raise UsageError("no sessions yet")
            path, session_id = newest[0].path, newest[0].id
        else:
            if not is_session_id(session_id):
                raise UsageError(
                    "not a session id", "`log` lists them; `last` is the newest"
                )
            path = journal_path(self.places.log, session_id)
        journal = read_journal(path)
        beat = None if journal.is_finished else self.last_beat(session_id)
        try:
            return read_record(
                [line.fields for line in journal.lines],
                session_id=session_id,
                problems=journal.problems,
                athlete=athlete,
                beat=beat,
            )
        except ValueError as error:
            raise StoreError(f"session {session_id} cannot be read: {error}") from None

    def last_beat(self, session_id: str) -> Beat | None:
        """Until when a session was seen on this machine; None where none is known.

        Only of one that runs or was interrupted: the end takes its heartbeat away.
        """
        from whistlestop.store.heartbeat import read_heartbeat

        return read_heartbeat(self.places.state, session_id)

    def last_plan(self) -> tuple[Plan, Company]:
        """The plan of the last session that was no script, and who trained along.

        Raises:
            UsageError: There is none.
        """
        last = self.record("last")
        return last.plan, last.company

    def interrupted(self) -> SessionLine | None:
        """The newest session, if it never came to an end and nobody runs it."""
        newest = self.sessions(limit=1)
        if not newest or newest[0].finished or self._is_running():
            return None
        return newest[0]

    def _is_running(self) -> bool:
        """Whether a session runs in this home now.

        After a crash the name in the lock may be that of another process by now,
        so where it seems alive the lock itself is asked.
        """
        from whistlestop.store.run_lock import LockTakenError, RunLock, holder

        if holder(self.places.run_lock) is None:
            return False
        try:
            with RunLock(self.places.run_lock):
                return False
        except LockTakenError:
            return True

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

    # What is remembered

    def remembered(self) -> Remembered:
        """What the program keeps for itself: the notice, the last circuit."""
        return read_remembered(self.places.remembered_file)

    def acknowledge_notice(self) -> None:
        """Keep that the safety notice was read; a full disk asks again."""
        now = self.clock.wall().isoformat(timespec="seconds")
        with suppress(StoreError):
            write_remembered(
                self.places.remembered_file,
                replace(self.remembered(), notice_acknowledged=now),
            )

    # Sessions

    def sound(self) -> SoundPort:
        """Start sound as the settings say; its status says what is wrong."""
        return self.sounding.port()

    def voice(self) -> Voice:
        """Find a voice; its status says what is wrong. Close it afterwards."""
        return self.sounding.voice()

    def options(self, *, scripted: bool = False) -> Options:
        """How a session is driven by the settings, with a seed of its own."""
        from whistlestop.driver.session import Options

        return Options(
            count_in_ms=self.settings.session.count_in_s * 1000,
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
    ) -> Running:
        """Make a session of a plan, with lock and journal, ready to `begin`.

        Raises:
            LockTakenError: Another program runs a session in this home.
        """
        from whistlestop.driver.starting import start

        chosen = options or self.options()
        return start(
            self, plan, options=chosen, sound=sound, clock=clock, company=company
        )

    def resume(self, session_id: str, *, sound: SoundPort | None = None) -> Running:
        """Take an interrupted session up again, paused, where it was last seen.

        Raises:
            LockTakenError: It is still running somewhere.
            StoreError: Its journal cannot be read, or it is over.
        """
        from whistlestop.driver.starting import resume

        return resume(self, session_id, sound=sound)
