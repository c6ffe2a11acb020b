"""A clock set by hand, a journal kept in a list, and a session driven by both.

Nothing here waits: time passes when a test says so.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import Any

from tests.support.recording_sound import RecordingSound

from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.session import Options, Session, first_line
from whistlestop.engine.clock import ClockReading
from whistlestop.engine.commands import Command
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Event
from whistlestop.store.journal.heartbeat import Beat

SESSION_ID = "20310412T041502Z-3f9a"


class HandClock:
    """A `Clock` that stands where it is put. Its zone is two hours east."""

    def __init__(self, awake_ms: int = 5_000_000) -> None:
        self.awake_ms = awake_ms
        self.slept_ms = 40_000
        self._begin_ms = awake_ms + self.slept_ms
        zone = timezone(timedelta(hours=2), "EAST")
        self._begin = datetime(2031, 4, 12, 6, 15, 2, tzinfo=zone)

    def read(self) -> ClockReading:
        return ClockReading(self.awake_ms, self.slept_ms)

    def wall(self) -> datetime:
        real_ms = self.awake_ms + self.slept_ms - self._begin_ms
        return self._begin + timedelta(milliseconds=real_ms)

    def go(self, ms: int) -> None:
        """Let awake time pass."""
        self.awake_ms += ms

    def sleep(self, ms: int) -> None:
        """Let the laptop sleep: only the clock that counts sleep goes on."""
        self.slept_ms += ms


class ListJournal:
    """A journal that keeps the fields of its lines, numbered as a real one does."""

    def __init__(self) -> None:
        self.lines: list[dict[str, Any]] = []
        self.derived: dict[int, bool] = {}

    def put(self, fields: dict[str, Any], *, derived: bool = False) -> int:
        self.lines.append({"s": len(self.lines), **fields})
        self.derived[len(self.lines) - 1] = derived
        return len(self.lines) - 1

    def of(self, *kinds: str) -> list[dict[str, Any]]:
        """The lines of some kinds, in order."""
        return [line for line in self.lines if line["k"] in kinds]


class BeatList:
    """A heartbeat that keeps every beat."""

    def __init__(self) -> None:
        self.beats: list[Beat] = []

    def beat(self, t_ms: int, wall: str) -> None:
        self.beats.append(Beat(t_ms, wall))


class Drive:
    """A session with hands on its clock, and every event it returned."""

    def __init__(
        self, plan: Plan, options: Options | None = None, company: Company = ALONE
    ) -> None:
        self.plan = plan
        self.clock = HandClock()
        self.journal = ListJournal()
        self.heart = BeatList()
        self.sound = RecordingSound()
        self.options = options or Options()
        self.events: list[Event] = []
        self.journal.put(
            first_line(
                plan,
                session_id=SESSION_ID,
                clock=self.clock,
                options=self.options,
                company=company,
            )
        )
        self.session = Session(
            Engine(plan, count_in_ms=self.options.count_in_ms, company=company),
            clock=self.clock,
            journal=self.journal,
            sound=self.sound,
            options=self.options,
        )
        self.session.heart = self.heart

    @property
    def beat(self) -> Beat | None:
        """The last beat, as a reader of the heartbeat would find it."""
        return self.heart.beats[-1] if self.heart.beats else None

    @property
    def engine(self) -> Engine:
        return self.session.engine

    def begin(self) -> Drive:
        """Start the session; returns itself."""
        self.events += self.session.begin()
        return self

    def tick(self) -> list[Event]:
        """Tick once where the clock stands."""
        happened = self.session.tick()
        self.events += happened
        return happened

    def go(self, ms: int, step_ms: int = 100) -> list[Event]:
        """Let awake time pass in ticks, as a driver does; return what happened."""
        happened = []
        while ms > 0:
            step = min(step_ms, ms)
            self.clock.go(step)
            happened += self.tick()
            ms -= step
        return happened

    def do(self, command: Command) -> list[Event]:
        """Do a command where the clock stands."""
        happened = self.session.do(command)
        self.events += happened
        return happened
