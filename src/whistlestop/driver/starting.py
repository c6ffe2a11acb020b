"""Starting a session, and taking one up again: lock, journal, engine and sound.

What they make is released by the caller. Knows no screen.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.guard import (
    LIMITS,
    NAMES,
    SOUND,
    UNREAD,
    VOICE,
    Guard,
    GuardedSound,
)
from whistlestop.driver.session import Options, Session, first_line
from whistlestop.engine.clock import Clock, SystemClock
from whistlestop.engine.engine import Engine
from whistlestop.errors import StoreError
from whistlestop.sound.port import SoundPort, SoundStatus
from whistlestop.sound.silent import SilentSound
from whistlestop.store.journal.file import journal_path, new_session_id, read_journal
from whistlestop.store.journal.heartbeat import (
    Heartbeat,
    heartbeats,
    read_heartbeat,
    remove_heartbeat,
)
from whistlestop.store.journal.run_lock import RunLock
from whistlestop.store.journal.writer import JournalWriter
from whistlestop.store.places import Places

if TYPE_CHECKING:
    from whistlestop.driver.audio_factory import AudioFactory
    from whistlestop.driver.kit import KitService
    from whistlestop.driver.session_audio import SessionAudio
    from whistlestop.review.record import ReplayResult
    from whistlestop.sound.spoken_pair import Addressee

CLOSE_WAIT_S: Final = 5.0


@dataclass(frozen=True, slots=True)
class SessionHome:
    """What a session needs of its home; sound is opened only once it is asked for."""

    places: Places
    clock: Clock
    audio: Callable[[], AudioFactory]
    kit: KitService
    guard: Guard


@dataclass
class RunningSession:
    """A session with what holds it: its lock, its journal, its sound."""

    home: SessionHome
    session: Session
    session_id: str
    writer: JournalWriter
    lock: RunLock
    heart: Heartbeat
    sound: SoundPort | None = None
    released: bool = field(default=False)

    def open_sound(self, given: SoundPort | None = None) -> None:
        """Sound as the settings say, or through a port given, unless it does so."""
        if self.sound is not None or self.released:
            return
        # Imported here: the first picture does not wait for what is heard after it.

        session, guard = self.session, self.guard
        # A list of limits that cannot be read has to be known before it is needed.
        guard.show(guard.call(LIMITS, self.home.kit.limits_problem, UNREAD))
        failed: SoundPort = SilentSound(SoundStatus("lost", detail="The sound failed."))
        self.sound = given or guard.call(
            SOUND, lambda: self.home.audio().port(), failed
        )
        nobody: tuple[Addressee, ...] = ()
        people = guard.call(
            NAMES, lambda: _people(self.home, session.engine.company), nobody
        )
        session_audio = guard.call(
            VOICE, lambda: self._session_audio(people), None
        ) or _tones_alone(self.sound)
        session.sound_through(self.sound, session_audio)

    def _session_audio(self, people: tuple[Addressee, ...]) -> SessionAudio:
        seed = self.session.options.seed
        port = GuardedSound(self.sound or SilentSound(), self.guard)
        return self.home.audio().session_audio(port, seed=seed, people=people)

    @property
    def guard(self) -> Guard:
        """What stands between the session and all it can do without."""
        return self.session.guard

    def release(self) -> bool:
        """End sound, journal and lock; False when not everything is on disk."""
        if self.released:
            return True
        self.released = True
        with suppress(Exception):
            self.session.fall_silent()
        with suppress(Exception):
            if self.sound is not None:
                self.sound.close()
        kept = self.writer.close(CLOSE_WAIT_S)
        # What the disk has to its end needs no heartbeat any more.
        over = kept and self.session.is_over
        self.heart.close(over=over)
        if over:
            _forget_finished(self.home.places)
        self.lock.__exit__(None, None, None)
        return kept


def _tones_alone(sound: SoundPort) -> SessionAudio:
    # Imported here, as all that sounds: the first picture does not wait for it.
    from whistlestop.driver.session_audio import AudioChoices, SessionAudio
    from whistlestop.sound.soundtrack import DrillSounds

    return SessionAudio(
        sound, choices=AudioChoices(voice=False, pacing=False), drills=DrillSounds()
    )


def start(
    home: SessionHome,
    plan: Plan,
    *,
    options: Options,
    sound: SoundPort | None = None,
    clock: Clock | None = None,
    company: Company = ALONE,
) -> RunningSession:
    """Make a session of a plan, with lock and journal, ready to `begin`.

    Raises:
        LockTakenError: Another program runs a session in this home.
    """
    own_clock = clock or home.clock
    lock = _lock(home)
    session_id = new_session_id(own_clock.wall())
    heart = _heartbeat(home, session_id, own_clock)
    writer = JournalWriter(
        journal_path(home.places.log, session_id),
        clock=time.monotonic,
        first=first_line(
            plan,
            session_id=session_id,
            clock=own_clock,
            options=options,
            company=company,
        ),
    )
    session = Session(
        Engine(plan, count_in_ms=options.count_in_ms, company=company),
        clock=own_clock,
        journal=writer,
        sound=SilentSound(),
        options=options,
        guard=home.guard,
    )
    session.heart = heart
    running = _running(home, session, session_id, writer, lock, heart)
    if sound is not None:
        running.open_sound(sound)
    return running


def resume(
    home: SessionHome, session_id: str, *, sound: SoundPort | None = None
) -> RunningSession:
    """Take an interrupted session up again, paused, where it was last seen.

    Raises:
        LockTakenError: It is still running somewhere.
        StoreError: Its journal cannot be read, or it is over.
    """
    lock = _lock(home)
    try:
        path = journal_path(home.places.log, session_id)
        replayed = _replayed(home, path, session_id)
        writer = JournalWriter(path, clock=time.monotonic, append=True)
    except ValueError as error:
        lock.__exit__(None, None, None)
        raise StoreError(f"session {session_id} cannot be resumed: {error}") from None
    except StoreError:
        lock.__exit__(None, None, None)
        raise
    options = Options(count_in_ms=replayed.engine.count_in_ms, seed=replayed.seed)
    heart = _heartbeat(home, session_id, home.clock)
    session = Session(
        replayed.engine,
        clock=home.clock,
        journal=writer,
        sound=SilentSound(),
        options=options,
        guard=home.guard,
    )
    session.heart = heart
    running = _running(home, session, session_id, writer, lock, heart)
    if sound is not None:
        running.open_sound(sound)
    gap_ms = _gap_ms(replayed.last_wall, home.clock.wall())
    session.carry_on(gap_ms, replayed.unwritten)
    return running


def _replayed(home: SessionHome, path: Path, session_id: str) -> ReplayResult:
    """Run an interrupted session again, up to the last moment known of it.

    Raises:
        StoreError: Its journal cannot be read, or it is over.
        ValueError: There is no first line with a readable plan.
    """
    # Imported here: a session that begins has nothing to replay.
    from whistlestop.review.record import replay_lines

    journal = read_journal(path)
    if journal.is_finished:
        raise StoreError("that session is over already")
    beat = read_heartbeat(home.places.state, session_id)
    return replay_lines([line.fields for line in journal.lines], beat)


def _forget_finished(places: Places) -> None:
    """Remove the heartbeats of sessions that were killed after their end."""
    for session_id in heartbeats(places.state):
        with suppress(StoreError):
            if read_journal(journal_path(places.log, session_id)).is_finished:
                remove_heartbeat(places.state, session_id)


def _people(home: SessionHome, company: Company) -> tuple[Addressee, ...]:
    """Who is to be named by the voice; nobody where one trains alone."""
    if not company.others:
        return ()
    # Imported here: one alone needs no names.
    from whistlestop.driver.athletes import called
    from whistlestop.sound.spoken_pair import Addressee

    plans = [None, *(plan for _, plan in company.others)]
    names = called(home.places, company.athletes).values()
    return tuple(Addressee(name, plan) for name, plan in zip(names, plans, strict=True))


def _heartbeat(home: SessionHome, session_id: str, clock: Clock) -> Heartbeat:
    # A clock that is simulated moves with the session, and never ahead of it.
    own = clock if isinstance(clock, SystemClock) else None
    return Heartbeat(home.places.state, session_id, own)


def _lock(home: SessionHome) -> RunLock:
    started = home.clock.wall().isoformat(timespec="seconds")
    return RunLock(home.places.run_lock, started=started).__enter__()


def _running(
    home: SessionHome,
    session: Session,
    session_id: str,
    writer: JournalWriter,
    lock: RunLock,
    heart: Heartbeat,
) -> RunningSession:
    session.guard.begin_session()
    if lock.warning:
        session.guard.show(lock.warning)
    return RunningSession(home, session, session_id, writer, lock, heart)


def _gap_ms(last_wall: str, now: datetime) -> int:
    """Real time since a journal was last written; 0 if the clock went back."""
    try:
        last = datetime.fromisoformat(last_wall)
        gap = (now - last).total_seconds()
    except (ValueError, TypeError):
        return 0
    return max(0, round(gap * 1000))
