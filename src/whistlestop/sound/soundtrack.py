"""Everything audible of a session, at its time: cues, pacing, voice.

One pure function of the engine's way serves the live session, the rendered
file and the tests. Where two would sound over each other the lesser is left
out: cue, pacing, voice. Each sentence ends half a second before the first count.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from typing import Final, Protocol

from whistlestop.domain.cues import LENGTH_MS, CueName
from whistlestop.domain.plan import Kind, Plan
from whistlestop.domain.tempo import parse_tempo
from whistlestop.engine.commands import Do
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Answered, CountedIn, Entered
from whistlestop.engine.states import Mode
from whistlestop.engine.track import Track
from whistlestop.sound.pacing import (
    Beat,
    called_steps,
    metronome_beats,
    tempo_beats,
)
from whistlestop.sound.spoken import Drills, said_in

BEAT_MS: Final = 90
STEP_MS: Final = 400
AIR_MS: Final = 150
BEFORE_COUNT_MS: Final = 500
SPEAK_FROM_MS: Final = 5_000
SWITCH_SAID_BY_MS: Final = 2_500
CALLED_STEP: Final = "called-step"


class Said(Protocol):
    """A rendered sentence: its name in the player and its length."""

    @property
    def id(self) -> str:
        """The name under which the player has it."""
        ...

    @property
    def length_ms(self) -> int:
        """How long it sounds."""
        ...


class Layer(IntEnum):
    """What wins where two collide: the smaller number."""

    CUE = 0
    PACING = 1
    VOICE = 2


@dataclass(frozen=True, slots=True, order=True)
class Heard:
    """One sound: `name` is a cue, a tone or, in the voice layer, a sentence."""

    at_ms: int
    layer: Layer
    name: str
    length_ms: int = 0
    sound: str = ""

    @property
    def player_name(self) -> str:
        """What the player knows it as: a phrase has a name of its own there."""
        return self.sound or self.name


@dataclass(frozen=True, slots=True)
class DrillSounds:
    """What drills need to be heard: key points, and beats a minute, by id."""

    key_points: Mapping[str, str] = field(default_factory=dict)
    beats_per_minute: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Soundtrack:
    """How a plan is heard.

    `phrases` holds each sentence that can be said; what is not in it is not
    said. `quiet_stations` are never paced.
    """

    phrases: Mapping[str, Said] = field(default_factory=dict)
    drills: DrillSounds = field(default_factory=DrillSounds)
    paced: bool = True
    quiet_stations: frozenset[int] = frozenset()
    seed: int = 0

    def segment(
        self, track: Track, index: int, visit: int, length_ms: int | None = None
    ) -> tuple[Heard, ...]:
        """List what is heard in one visit, in ms from its start."""
        length = track.length_ms(index) if length_ms is None else length_ms
        cues = [
            Heard(cue.at_ms, Layer.CUE, cue.cue.value, LENGTH_MS[cue.cue])
            for cue in track.cues(index, length)
        ]
        beats = _fitting(self._tempo(track, index, length), cues)
        said = self._said(track, index, length, [*cues, *beats])
        after = max((one.at_ms + one.length_ms for one in said), default=0)
        drill = _fitting(
            self._drill_beats(track, index, visit, after, length), [*cues, *said]
        )
        return tuple(sorted([*cues, *beats, *said, *drill]))

    def upcoming(self, engine: Engine, horizon_ms: int) -> tuple[Heard, ...]:
        """List what will be heard in the coming stretch, in elapsed ms."""
        if engine.mode not in (Mode.RUNNING, Mode.COUNT_IN):
            return ()
        now, end = engine.t_ms, engine.t_ms + horizon_ms
        ahead = engine.fork()
        events = ahead.advance(end)
        counted = (CountedIn, Answered)
        heard = [_count_or_answer(e) for e in events if isinstance(e, counted)]
        waiting = engine.count_left_ms if engine.mode is Mode.COUNT_IN else 0
        if not (engine.at_gate and engine.mode is Mode.COUNT_IN):
            base = now + waiting - engine.offset_ms
            heard += [
                _moved(one, base)
                for one in self.segment(
                    engine.track, engine.index, engine.visit, engine.cut_ms
                )
                if one.at_ms > engine.offset_ms or one.at_ms == engine.offset_ms > 0
            ]
        for event in events:
            if isinstance(event, Entered):
                part = self.segment(ahead.track, event.segment, event.visit)
                heard += [_moved(one, event.t_ms) for one in part]
        kept = {one for one in heard if one is not None and now < one.at_ms <= end}
        return tuple(sorted(kept))

    def whole(self, plan: Plan) -> tuple[Heard, ...]:
        """List all that is heard in a session nobody touches; gates open at once."""
        engine = Engine(plan, count_in_ms=0)
        events = engine.start()
        while engine.mode is not Mode.ENDED:
            due = engine.next_due()
            if due is None:
                events += engine.handle(Do.NEXT, engine.t_ms)
            else:
                events += engine.advance(due)
        return tuple(
            sorted(
                _moved(one, event.t_ms)
                for event in events
                if isinstance(event, Entered)
                for one in self.segment(engine.track, event.segment, event.visit)
            )
        )

    def sentences(self, plan: Plan) -> tuple[str, ...]:
        """List every sentence that may be said, so that all can be rendered ahead."""
        track = Track(plan)
        said: dict[str, None] = {}
        for index in range(len(plan.segments)):
            for text in self._texts(track, index):
                said[text] = None
            for text in _switches(plan):
                said[text] = None
        return tuple(said)

    # The parts

    def _tempo(self, track: Track, index: int, length_ms: int) -> Iterator[Heard]:
        segment = track.segment(index)
        if not self.paced or segment.kind is not Kind.WORK or segment.station is None:
            return
        if segment.station in self.quiet_stations:
            return
        card = track.plan.card(segment.station)
        if card.tempo is None:
            return
        for beat in tempo_beats(parse_tempo(card.tempo), length_ms):
            yield _beat(beat)

    def _drill_beats(
        self, track: Track, index: int, visit: int, after_ms: int, length_ms: int
    ) -> Iterator[Heard]:
        segment = track.segment(index)
        if not self.paced or segment.kind is not Kind.RECOVER or not segment.drill:
            return
        end = _speech_end(track, index, length_ms)
        begin = after_ms + AIR_MS if after_ms else 1_000
        if segment.drill == CALLED_STEP:
            for beat in called_steps(self.seed, visit, begin, end):
                yield _beat(beat, STEP_MS)
            return
        rate = self.drills.beats_per_minute.get(segment.drill)
        if rate:
            for beat in metronome_beats(rate, begin, end):
                yield _beat(beat)

    def _said(
        self, track: Track, index: int, length_ms: int, busy: Sequence[Heard]
    ) -> list[Heard]:
        """Place sentences one after the other; the first that does not fit ends it."""
        if length_ms < SPEAK_FROM_MS:
            return []
        end = _speech_end(track, index, length_ms)
        at_ms, said = AIR_MS, []
        at_work = track.segment(index).kind is Kind.WORK
        latest = SWITCH_SAID_BY_MS if at_work else length_ms
        for text in self._texts(track, index):
            phrase = self.phrases.get(text)
            if phrase is None:
                continue
            spoken = phrase.length_ms
            placed = _first_gap(at_ms, spoken, busy)
            if placed + spoken > end or placed > latest:
                break
            said.append(Heard(placed, Layer.VOICE, text, spoken, phrase.id))
            at_ms = placed + spoken + AIR_MS
        return said

    def _texts(self, track: Track, index: int) -> tuple[str, ...]:
        segment = track.segment(index)
        first = segment.drill is None or not any(
            track.segment(i).drill == segment.drill for i in track.before(index)
        )
        drills = Drills(self.drills.key_points)
        return said_in(track, index, drills, first_time=first)


def _speech_end(track: Track, index: int, length_ms: int) -> int:
    """Until when may be spoken: half a second before the first count, or the end."""
    counts = [
        cue.at_ms for cue in track.cues(index, length_ms) if cue.cue is CueName.COUNT
    ]
    return min([length_ms, *counts]) - BEFORE_COUNT_MS


def _first_gap(at_ms: int, length_ms: int, busy: Sequence[Heard]) -> int:
    """The first moment from which a sentence sounds over nothing."""
    for one in sorted(busy):
        clear = one.at_ms + one.length_ms + AIR_MS
        if at_ms + length_ms > one.at_ms and at_ms < clear:
            at_ms = clear
    return at_ms


def _fitting(wanted: Iterable[Heard], busy: Sequence[Heard]) -> list[Heard]:
    """Those that sound over nothing greater."""
    return [one for one in wanted if not any(_collide(one, other) for other in busy)]


def _collide(one: Heard, other: Heard) -> bool:
    return (
        one.at_ms < other.at_ms + other.length_ms
        and other.at_ms < one.at_ms + one.length_ms
    )


def _beat(beat: Beat, length_ms: int = BEAT_MS) -> Heard:
    return Heard(beat.at_ms, Layer.PACING, beat.tone, length_ms)


def _moved(one: Heard, by_ms: int) -> Heard:
    return replace(one, at_ms=one.at_ms + by_ms)


def _count_or_answer(event: CountedIn | Answered) -> Heard | None:
    if isinstance(event, Answered):
        return Heard(event.t_ms, Layer.CUE, event.cue.value, LENGTH_MS[event.cue])
    if event.seconds_left > 3:
        return None
    return Heard(event.t_ms, Layer.CUE, CueName.COUNT.value, LENGTH_MS[CueName.COUNT])


def _switches(plan: Plan) -> Iterator[str]:
    """Every side that may have to be named, whatever is skipped on the way."""
    track = Track(plan)
    for index, segment in enumerate(plan.segments):
        if segment.kind is Kind.WORK and segment.part:
            yield from said_in(track, index, Drills({}))
