"""Starting a session, and taking one up again: lock, journal, engine and sound.

What they make is released by whoever asked for it. Knows no screen.
"""

from __future__ import annotations

import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from whistlestop.domain.athlete import OWNER
from whistlestop.domain.pairing import ALONE, Company
from whistlestop.domain.plan import Plan
from whistlestop.driver.session import Options, Session, first_line
from whistlestop.engine.clock import Clock
from whistlestop.engine.engine import Engine
from whistlestop.errors import StoreError
from whistlestop.sound.port import SoundPort
from whistlestop.sound.silent import SilentSound
from whistlestop.sound.spoken_pair import Named
from whistlestop.store.heartbeat import (
    Heartbeat,
    heartbeats,
    read_heartbeat,
    remove_heartbeat,
)
from whistlestop.store.journal_file import journal_path, new_session_id, read_journal
from whistlestop.store.journal_writer import JournalWriter
from whistlestop.store.places import Places
from whistlestop.store.run_lock import RunLock

if TYPE_CHECKING:
    from whistlestop.driver.house import House
    from whistlestop.review.record import Replayed

CLOSE_WAIT_S: Final = 5.0


@dataclass
class Running:
    """A session with what holds it: its lock, its journal, its sound."""

    session: Session
    session_id: str
    writer: JournalWriter
    lock: RunLock
    heart: Heartbeat
    places: Places
    warnings: tuple[str, ...] = ()
    sound: SoundPort | None = None
    released: bool = field(default=False)

    def open_sound(self, house: House, given: SoundPort | None = None) -> None:
        """Sound as the house does, or through a given port, unless it does already."""
        if self.sound is not None or self.released:
            return
        self.sound = given or house.sound()
        session = self.session
        audible = house.sounding.audible(
            self.sound,
            seed=session.options.seed,
            people=_people(house, session.company),
        )
        session.sound_through(self.sound, audible)

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
            _forget_finished(self.places)
        self.lock.__exit__(None, None, None)
        return kept


def start(
    house: House,
    plan: Plan,
    *,
    options: Options,
    sound: SoundPort | None = None,
    clock: Clock | None = None,
    company: Company = ALONE,
) -> Running:
    """Make a session of a plan, with lock and journal, ready to `begin`.

    Raises:
        LockTakenError: Another program runs a session in this home.
    """
    own_clock = clock or house.clock
    lock = _lock(house)
    session_id = new_session_id(own_clock.wall())
    heart = Heartbeat(house.places.state, session_id)
    writer = JournalWriter(
        journal_path(house.places.log, session_id),
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
        Engine(plan, count_in_ms=options.count_in_ms),
        clock=own_clock,
        journal=writer,
        sound=SilentSound(),
        options=options,
        company=company,
    )
    session.heart = heart
    running = Running(
        session, session_id, writer, lock, heart, house.places, _warnings(lock)
    )
    if sound is not None:
        running.open_sound(house, sound)
    return running


def resume(house: House, session_id: str, *, sound: SoundPort | None = None) -> Running:
    """Take an interrupted session up again, paused, where it was last seen.

    Raises:
        LockTakenError: It is still running somewhere.
        StoreError: Its journal cannot be read, or it is over.
    """
    lock = _lock(house)
    try:
        path = journal_path(house.places.log, session_id)
        replayed = _replayed(house, path, session_id)
        writer = JournalWriter(path, clock=time.monotonic, append=True)
    except ValueError as error:
        lock.__exit__(None, None, None)
        raise StoreError(f"session {session_id} cannot be resumed: {error}") from None
    except StoreError:
        lock.__exit__(None, None, None)
        raise
    options = Options(count_in_ms=replayed.engine.count_in_ms, seed=replayed.seed)
    heart = Heartbeat(house.places.state, session_id)
    session = Session(
        replayed.engine,
        clock=house.clock,
        journal=writer,
        sound=SilentSound(),
        options=options,
        company=replayed.company,
    )
    session.heart = heart
    running = Running(
        session, session_id, writer, lock, heart, house.places, _warnings(lock)
    )
    if sound is not None:
        running.open_sound(house, sound)
    gap_ms = _gap_ms(replayed.last_wall, house.clock.wall())
    session.carry_on(gap_ms, replayed.unwritten)
    return running


def _replayed(house: House, path: Path, session_id: str) -> Replayed:
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
    beat = read_heartbeat(house.places.state, session_id)
    return replay_lines([line.fields for line in journal.lines], beat)


def _forget_finished(places: Places) -> None:
    """Remove the heartbeats of sessions that were killed after their end."""
    for session_id in heartbeats(places.state):
        with suppress(StoreError):
            if read_journal(journal_path(places.log, session_id)).is_finished:
                remove_heartbeat(places.state, session_id)


def _people(house: House, company: Company) -> tuple[Named, ...]:
    """Who is to be named by the voice; nobody where one trains alone."""
    if not company.others:
        return ()
    # Imported here: one alone needs no names.
    from whistlestop.driver.pairs import called

    ids = [OWNER, *(athlete for athlete, _ in company.others)]
    plans = [None, *(plan for _, plan in company.others)]
    names = called(house, ids).values()
    return tuple(Named(name, plan) for name, plan in zip(names, plans, strict=True))


def _lock(house: House) -> RunLock:
    started = house.clock.wall().isoformat(timespec="seconds")
    return RunLock(house.places.run_lock, started=started).__enter__()


def _warnings(lock: RunLock) -> tuple[str, ...]:
    return (lock.warning,) if lock.warning else ()


def _gap_ms(last_wall: str, now: datetime) -> int:
    """Real time since a journal was last written; 0 if the clock went back."""
    try:
        last = datetime.fromisoformat(last_wall)
        gap = (now - last).total_seconds()
    except (ValueError, TypeError):
        return 0
    return max(0, round(gap * 1000))
