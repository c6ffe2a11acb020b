"""One live session: the clock, the engine, the journal and the sound together.

A screen or the line mode calls `tick` ten times a second and `do` for each
command; neither waits for disk or device. It notices gaps (sleep, a stopped
process) and turns them into automatic pauses; the engine never does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final, Protocol

from whistlestop import __version__
from whistlestop.dataclass import dataclass
from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.pairing import ALONE, Company, own_part
from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.guard import CUES, VOICE, Guard, GuardedSound
from whistlestop.engine.clock import Clock, ClockReading
from whistlestop.engine.commands import (
    Command,
    Do,
    Gap,
    SwapExercise,
    to_fields,
)
from whistlestop.engine.derived import derived_lines, summary_line
from whistlestop.engine.engine import COUNT_IN_MS, Engine
from whistlestop.engine.events import (
    ClockAnswered,
    CountedIn,
    CueDue,
    Event,
)
from whistlestop.engine.states import Mode
from whistlestop.engine.view import View, view
from whistlestop.errors import CommandRejected
from whistlestop.sound.port import SoundPort
from whistlestop.sound.silent import SilentSound

if TYPE_CHECKING:
    from whistlestop.driver.cue_scheduler import CueScheduler
    from whistlestop.driver.session_audio import SessionAudio

JOURNAL_FORMAT: Final = 1
SLEEP_MS: Final = 500
LATE_TICK_MS: Final = 3_000
_LAST_EPOCH: Final = 1_000_000_000


class JournalSink(Protocol):
    """Where a session is written down; see `store.journal_writer`."""

    def put(self, fields: dict[str, Any], *, derived: bool = False) -> int:
        """Queue one line; return its number at once. Derived: can be made again."""
        ...


class HeartbeatPort(Protocol):
    """Where a running session is marked as seen; see `store.heartbeat`."""

    def beat(self, t_ms: int, wall: str) -> None:
        """Take a moment as seen, without waiting for the disk."""
        ...


@dataclass(frozen=True, slots=True)
class Options:
    """How a session is driven, whatever its plan.

    `circuit_text` is the circuit file it was begun from, where that is not among the
    athlete's circuits: the journal has it, so that it can be saved there later.
    """

    count_in_ms: int = COUNT_IN_MS
    scripted: bool = False
    watch_gaps: bool = True
    seed: int = 0
    circuit_text: str = ""


def first_line(
    plan: Plan,
    *,
    session_id: str,
    clock: Clock,
    options: Options,
    company: Company = ALONE,
) -> dict[str, Any]:
    """The first line of a journal: all that is needed to replay it."""
    wall = clock.wall()
    others = {athlete: own_part(other) for athlete, other in company.others}
    shared = {"offset": company.offset, "with": others} if others else {}
    text = options.circuit_text
    shared |= {"circuit_text": text} if text else {}
    return {
        "k": "start",
        "t": 0,
        "wall": wall.isoformat(timespec="milliseconds"),
        "format": JOURNAL_FORMAT,
        "id": session_id,
        "tz": wall.tzname() or "",
        "app": __version__,
        "scripted": options.scripted,
        "count_in_ms": options.count_in_ms,
        "seed": options.seed,
        "athletes": list(company.athletes),
        "plan": plan.to_json(),
        **shared,
    }


class Session:
    """A session that is being done now."""

    def __init__(
        self,
        engine: Engine,
        *,
        clock: Clock,
        journal: JournalSink,
        sound: SoundPort,
        options: Options,
        guard: Guard | None = None,
    ) -> None:
        """Bring a session together; `begin` or `carry_on` sets it going.

        Args:
            engine: A fresh engine, or one replayed from a journal.
            clock: Where time is read.
            journal: Where it is written; the first line is there already.
            sound: Where cues go.
            options: See `Options`.
            guard: What stands between it and all it can do without.
        """
        self.engine = engine
        self.options = options
        self.guard = guard or Guard()
        self.sound: SoundPort = sound
        self.session_audio: SessionAudio | None = None
        self.heart: HeartbeatPort | None = None
        self._cue_scheduler: CueScheduler | None = None
        self._listen_through(sound)
        self._clock = clock
        self._journal = journal
        reading = clock.read()
        self._origin_ms = reading.awake_ms - engine.t_ms
        self._last_awake_ms = reading.awake_ms
        self._last_slept_ms = reading.slept_ms
        self._closed = False
        self.last_gap_ms = 0
        self.last_input = -1
        """The number in the journal of what was asked last; -1 before that."""

    # Time

    @property
    def now_ms(self) -> int:
        """Elapsed session time, gaps left out."""
        return self._clock.read().awake_ms - self._origin_ms

    def view(self, athlete: str = OWNER) -> View:
        """What can be seen now, by the owner or by a companion."""
        return view(self.engine.at(self.now_ms).for_athlete(athlete))

    @property
    def athletes(self) -> tuple[str, ...]:
        """The ids of all who train, the owner first."""
        return self.engine.company.athletes

    @property
    def is_over(self) -> bool:
        """Whether the session has ended, for whatever reason."""
        return self.engine.mode is Mode.ENDED

    # Driving

    def begin(self) -> list[Event]:
        """Start the clock."""
        reading = self._clock.read()
        self._origin_ms = self._last_awake_ms = reading.awake_ms
        events = self.engine.start()
        self._take(events)
        self._hear(
            lambda scheduler: scheduler.begin(self.session_audio, self._origin_ms)
        )
        self._sound_now(events)
        return events

    def carry_on(
        self, gap_ms: int, unwritten: Iterable[dict[str, Any]] = ()
    ) -> list[Event]:
        """Go on after an interruption: paused, with the lost time as a gap.

        One that was interrupted while its end was written down is over.

        Args:
            gap_ms: How much time was lost.
            unwritten: Derived lines that the interruption kept from the disk.
        """
        for fields in unwritten:
            self._put(fields)
        if self.is_over:
            return []
        self.last_gap_ms = gap_ms
        return self._input(Gap(gap_ms, "ended"), self.engine.t_ms)

    def tick(self) -> list[Event]:
        """Let time pass; notice a gap; keep the record and the sound going."""
        reading = self._clock.read()
        events = self._watch_gap(reading)
        passed = self.engine.advance(reading.awake_ms - self._origin_ms)
        self._take(passed)
        if not self.is_over:
            self._mark_seen()
            self._hear(
                lambda scheduler: scheduler.go_on(self.session_audio, self._origin_ms)
            )
        if self.guard.has_lost(CUES):
            self._sound_now(passed)
        self._note_sound()
        return events + passed

    def do(self, command: Command) -> list[Event]:
        """Do what is asked now.

        Raises:
            CommandRejected: It is not legal at this moment; nothing changed.
        """
        self._judge_in_company(command)
        events = self.tick()
        # The time of that tick: so nothing else comes due with the command.
        return events + self._input(command, self._last_awake_ms - self._origin_ms)

    def _judge_in_company(self, command: Command) -> None:
        """Between two the offset was chosen so that no kit is wanted twice."""
        if isinstance(command, SwapExercise) and self.engine.company.others:
            raise CommandRejected("stations cannot change with two people")
        athlete = getattr(command, "athlete", OWNER)
        if athlete not in self.athletes:
            raise CommandRejected("nobody of that name is training now")

    def hear(self, session_audio: SessionAudio) -> None:
        """Be heard like this from now on: voice, pacing, drills."""
        self.session_audio = session_audio
        self._prepare()
        if self.engine.mode is not Mode.READY:
            self._hear(
                lambda scheduler: scheduler.change(session_audio, self._origin_ms)
            )

    def sound_through(self, sound: SoundPort, session_audio: SessionAudio) -> None:
        """Sound through this port from now on, before or after the beginning."""
        self._listen_through(sound)
        self.hear(session_audio)

    def fall_silent(self) -> None:
        """End what speaks; the player is closed by its opener."""
        if self.session_audio is not None:
            self.session_audio.close()

    def close(self) -> dict[str, Any]:
        """Write the summary line, once; return its fields."""
        fields = summary_line(self.engine)
        if not self._closed:
            self._closed = True
            self._put(fields)
        return fields

    def reopen_record(self) -> None:
        """Let `close` write another summary line, after something was amended."""
        self._closed = False

    # The parts

    def _watch_gap(self, reading: ClockReading) -> list[Event]:
        awake = reading.awake_ms - self._last_awake_ms
        slept = reading.slept_ms - self._last_slept_ms
        last_t_ms = self._last_awake_ms - self._origin_ms
        self._last_awake_ms = reading.awake_ms
        self._last_slept_ms = reading.slept_ms
        if not self.options.watch_gaps or self.is_over:
            return []
        if slept <= SLEEP_MS and awake <= LATE_TICK_MS:
            return []
        # The engine stays at the last instant seen; the lost stretch is no time.
        self._origin_ms += awake
        self.last_gap_ms = awake + slept
        cause = "sleep" if slept > SLEEP_MS else "stopped"
        return self._input(Gap(self.last_gap_ms, cause), last_t_ms)

    def _input(self, command: Command, t_ms: int) -> list[Event]:
        events = self.engine.handle(command, t_ms)
        fields = {**to_fields(command), "t": self.engine.t_ms}
        self.last_input = self._put(fields, derived=False)
        self._take(events)
        if isinstance(command, SwapExercise):
            self._prepare()
        moved = isinstance(command, (Do, Gap, SwapExercise))
        self._hear(
            lambda scheduler: scheduler.after_input(self._origin_ms, moved=moved)
        )
        self._sound_now(events)
        return events

    def _listen_through(self, sound: SoundPort) -> None:
        self.sound = GuardedSound(sound, self.guard)
        self._cue_scheduler = self.guard.call(CUES, lambda: self._planner(sound), None)

    def _planner(self, sound: SoundPort) -> CueScheduler | None:
        """What plans ahead for a player; nothing where nothing is played."""
        if isinstance(sound, SilentSound):
            return None
        # Imported here: what is seen first does not wait for what is heard.
        from whistlestop.driver.cue_scheduler import CueScheduler

        return CueScheduler(self.engine, self.sound, self.guard)

    def _prepare(self) -> None:
        if (session_audio := self.session_audio) is not None:
            track = self.engine.track
            self.guard.call(VOICE, lambda: session_audio.prepare(track), None)

    def _hear(self, change: Callable[[CueScheduler], None]) -> None:
        """Have cues planned; where that fails each sounds when it is due."""
        if (scheduler := self._cue_scheduler) is None:
            return
        self.guard.call(CUES, lambda: change(scheduler), None)
        if self.guard.has_lost(CUES):
            self._cue_scheduler = None
            # What the player holds already would sound twice.
            self.sound.clear(_LAST_EPOCH)

    def _sound_now(self, events: Sequence[Event]) -> None:
        """Sound what is due at this very moment: no plan can be early enough."""
        for event in events:
            if (name := heard_as(event)) is not None:
                self.sound.now(name)

    def _take(self, events: Sequence[Event]) -> None:
        """Write down what follows from the inputs."""
        for event in events:
            for fields in derived_lines(event, self.engine.company):
                self._put(fields)

    def _mark_seen(self) -> None:
        if self.heart is not None:
            self.heart.beat(self.engine.t_ms, self._wall())

    def _note_sound(self) -> None:
        """Write down what sound could not do: lost, back, and cues that fell out."""
        reports = [r for r in self.sound.reports() if r.kind != "played"]
        kinds = dict.fromkeys(report.kind for report in reports)
        for kind in kinds:
            same = [report for report in reports if report.kind == kind]
            self._put(
                {
                    "k": "sound",
                    "t": self.engine.t_ms,
                    "what": kind,
                    "count": len(same),
                    "ids": [report.id for report in same if report.id][:20],
                }
            )

    def _put(self, fields: dict[str, Any], *, derived: bool = True) -> int:
        line = {"a": OWNER, **fields, "wall": self._wall()}
        return self._journal.put(line, derived=derived)

    def _wall(self) -> str:
        return self._clock.wall().isoformat(timespec="milliseconds")


def heard_as(event: Event) -> str | None:
    """The name of the tone that an event is heard as, if it is heard."""
    match event:
        case CueDue(cue=cue) | ClockAnswered(cue=cue):
            return cue.value
        case CountedIn(seconds_left=left) if left <= 3:
            return "count"
        case _:
            return None
