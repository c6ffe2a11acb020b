"""Everything audible of a session, at its time: cues, pacing, voice.

One pure function of the engine's way serves the live session, the rendered
file and the tests. Where two would sound over each other the lesser is left
out: cue, pacing, voice. Each sentence ends half a second before the first count.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from itertools import takewhile
from typing import Final, Protocol

from whistlestop.domain.plan.cues import LENGTH_MS, CueName
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind
from whistlestop.domain.tempo import parse_tempo
from whistlestop.engine.commands import Do
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import (
    ClockAnswered,
    CountedIn,
    CueDue,
    Event,
    VisitBegan,
)
from whistlestop.engine.states import Mode
from whistlestop.engine.track import Track
from whistlestop.sound.cues import PACE
from whistlestop.sound.pacing import (
    TempoBeat,
    called_steps,
    metronome_beats,
    tempo_beats,
)
from whistlestop.sound.spoken import (
    SPEAK_FROM_MS,
    Drills,
    Saying,
    every_saying,
    spoken_in,
)
from whistlestop.sound.spoken_pair import Addressee, every_saying_to, spoken_to

AIR_MS: Final = 150
BEFORE_COUNT_MS: Final = 500
SWITCH_CALL_BY_MS: Final = 2_500
COUNTED: Final = 3
"""So many seconds of a count-in are heard."""
READY_FROM_MS: Final = 1_500
"""In a long get-ready: the first sentences are being rendered as it begins."""
LONG_READY_MS: Final = 10_000
AT_GATE_FROM_MS: Final = 1_000
"""What announced the end of the work before a gate has faded by then."""
AT_GATE_MS: Final = 60_000
"""Nobody knows how long a gate stays shut; what is spoken there fits into this."""
CALLED_STEP: Final = "called-step"


class RenderedSentence(Protocol):
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


@dataclass(frozen=True, slots=True)
class SentencesHeard:
    """What was spoken of a visit that was interrupted, and where it goes on.

    `until_ms` is when the last of it was over; both in ms from the visit's start.
    No word begins in the `clear_ms` from there on, where a tone may answer.
    """

    from_ms: int = 0
    clear_ms: int = 0
    sayings: frozenset[Saying] = frozenset()
    until_ms: int = 0


NOTHING_HEARD: Final = SentencesHeard()


@dataclass(frozen=True)
class Soundtrack:
    """How a plan is heard.

    `phrases` holds each sentence that can be spoken; what is not in it is not
    spoken. With `people` each sentence names who is meant, and nothing is paced: two
    would hear the beats of one.
    """

    phrases: Mapping[str, RenderedSentence] = field(default_factory=dict)
    drills: DrillSounds = field(default_factory=DrillSounds)
    paced: bool = True
    seed: int = 0
    people: tuple[Addressee, ...] = ()

    def segment(
        self,
        track: Track,
        index: int,
        visit: int,
        length_ms: int | None = None,
        heard: SentencesHeard = NOTHING_HEARD,
    ) -> tuple[Heard, ...]:
        """List what is heard in one visit, in ms from its start.

        At a gate that is what is spoken there, whether or not it stays shut so long.
        """
        if track.segment(index).until_key:
            return tuple(self._sentences(track, index, AT_GATE_MS, (), heard))
        length = track.length_ms(index) if length_ms is None else length_ms
        cues = [
            Heard(cue.at_ms, Layer.CUE, cue.cue.value, LENGTH_MS[cue.cue])
            for cue in track.cues(index, length)
        ]
        beats = _fitting(self._tempo(track, index, length), cues)
        sentences = self._sentences(track, index, length, [*cues, *beats], heard)
        ends = [_end_ms(one) for one in sentences]
        after = max([heard.until_ms, *ends])
        drill = _fitting(
            self._drill_beats(track, index, visit, after, length), [*cues, *sentences]
        )
        return tuple(sorted([*cues, *beats, *sentences, *drill]))

    def upcoming(
        self, engine: Engine, horizon_ms: int, heard: SentencesHeard = NOTHING_HEARD
    ) -> tuple[Heard, ...]:
        """List what will be heard in the coming stretch, in elapsed ms.

        Cues are those the engine will report; the rest gives way to them. `heard`
        is of the present visit; `telling` keeps it.
        """
        if engine.mode not in (Mode.RUNNING, Mode.COUNT_IN):
            return ()
        now, end = engine.t_ms, engine.t_ms + horizon_ms
        ahead = engine.fork()
        events = ahead.advance(end)
        cues = [cue for cue in map(_as_cue, events) if cue is not None]
        lesser: list[Heard] = []
        if not engine.at_gate:
            waiting = engine.count_left_ms if engine.mode is Mode.COUNT_IN else 0
            base, done = now + waiting - engine.offset_ms, engine.offset_ms
            visit, cut = engine.visit, engine.cut_ms
            here = self.segment(engine.track, engine.index, visit, cut, heard)
            # What began before this moment was spoken, or never will be.
            lesser += _lesser((one for one in here if one.at_ms > done), base)
        for event in events:
            if isinstance(event, VisitBegan):
                part = self.segment(ahead.track, event.segment, event.visit)
                lesser += _lesser(part, event.t_ms)
        planned = {*cues, *_fitting(lesser, cues)}
        return tuple(sorted(one for one in planned if now < one.at_ms <= end))

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
        cues = [cue for cue in map(_as_cue, events) if cue is not None]
        lesser: list[Heard] = []
        for event in events:
            if isinstance(event, VisitBegan):
                at_gate = plan.segments[event.segment].until_key
                part = self.segment(engine.track, event.segment, event.visit)
                lesser += () if at_gate else _lesser(part, event.t_ms)
        return tuple(sorted([*cues, *_fitting(lesser, cues)]))

    def sentences(self, plan: Plan, track: Track | None = None) -> tuple[str, ...]:
        """List every sentence that may be spoken, so that all can be rendered ahead.

        `track` is the way as it is now, where something was swapped in it.
        """
        way = track or Track(plan)
        if self.people:
            texts = every_saying_to(self.people, way)
        else:
            texts = every_saying(way, Drills(self.drills.key_points))
        return tuple(dict.fromkeys(filter(None, texts)))

    # The parts

    @property
    def _is_paced(self) -> bool:
        return self.paced and not self.people

    def _tempo(self, track: Track, index: int, length_ms: int) -> Iterator[Heard]:
        segment = track.segment(index)
        if (
            not self._is_paced
            or segment.kind is not SegmentKind.WORK
            or segment.station is None
        ):
            return
        card = track.card(index)
        if card.tempo is None or not card.paced:
            return
        try:
            tempo = parse_tempo(card.tempo)
        except ValueError:
            # Only a journal edited by hand holds such a tempo.
            return
        for beat in tempo_beats(tempo, length_ms):
            yield _beat(beat)

    def _drill_beats(
        self, track: Track, index: int, visit: int, after_ms: int, length_ms: int
    ) -> Iterator[Heard]:
        segment = track.segment(index)
        if (
            not self._is_paced
            or segment.kind is not SegmentKind.RECOVER
            or not segment.drill
        ):
            return
        end = _speech_end(track, index, length_ms)
        begin = after_ms + AIR_MS if after_ms else 1_000
        if segment.drill == CALLED_STEP:
            for beat in called_steps(self.seed, visit, begin, end):
                yield _beat(beat)
            return
        rate = self.drills.beats_per_minute.get(segment.drill)
        if rate:
            for beat in metronome_beats(rate, begin, end):
                yield _beat(beat)

    def _sentences(
        self,
        track: Track,
        index: int,
        length_ms: int,
        busy: Sequence[Heard],
        heard: SentencesHeard,
    ) -> list[Heard]:
        """Place sentences one after the other; the first that does not fit ends it.

        Those that have a shorter way leave room for the shortest of the ones like
        them that follow: of five cautions all are spoken, the gravest in full.
        """
        if length_ms < SPEAK_FROM_MS:
            return []
        segment = track.segment(index)
        end = _speech_end(track, index, length_ms)
        at_ms = _first_word_ms(segment, length_ms, heard)
        latest = SWITCH_CALL_BY_MS if segment.kind is SegmentKind.WORK else length_ms
        latest += heard.from_ms
        sentences: list[Heard] = []
        waiting = [
            ways for ways in self.sayings(track, index) if ways not in heard.sayings
        ]
        for number, ways in enumerate(waiting, 1):
            rendered = [text for text in ways if text in self.phrases]
            room = end - self._shortest_ms(waiting[number:])
            placed = [self._placed(text, at_ms, busy) for text in rendered]
            roomy = [one for one in placed if _end_ms(one) <= room]
            fitting = (
                one
                for one in (*roomy, *reversed(placed))
                if _end_ms(one) <= end and one.at_ms <= latest
            )
            one = next(fitting, None)
            if one is not None:
                sentences.append(one)
                at_ms = _end_ms(one) + AIR_MS
            elif rendered:
                break
        return sentences

    def _shortest_ms(self, waiting: Iterable[Saying]) -> int:
        """How long those take that can be shortened, up to the first that cannot."""
        lengths = 0
        for ways in takewhile(lambda ways: len(ways) > 1, waiting):
            known = [self.phrases[way].length_ms for way in ways if way in self.phrases]
            lengths += AIR_MS + min(known) if known else 0
        return lengths

    def _placed(self, text: str, at_ms: int, busy: Sequence[Heard]) -> Heard:
        phrase = self.phrases[text]
        begin = _first_gap(at_ms, phrase.length_ms, busy)
        return Heard(begin, Layer.VOICE, text, phrase.length_ms, phrase.id)

    def sayings(self, track: Track, index: int) -> tuple[Saying, ...]:
        """List what there is to say in a segment, the most needed first."""
        if self.people:
            return spoken_to(self.people, track, index)
        segment = track.segment(index)
        first = segment.drill is None or not any(
            track.segment(i).drill == segment.drill for i in track.before(index)
        )
        drills = Drills(self.drills.key_points)
        return spoken_in(track, index, drills, first_time=first)


def _first_word_ms(segment: Segment, length_ms: int, heard: SentencesHeard) -> int:
    if segment.until_key:
        natural = AT_GATE_FROM_MS
    elif segment.kind is SegmentKind.GET_READY and length_ms >= LONG_READY_MS:
        natural = READY_FROM_MS
    else:
        natural = AIR_MS
    return max(natural, heard.from_ms + heard.clear_ms)


def _speech_end(track: Track, index: int, length_ms: int) -> int:
    """Until when may be spoken: half a second before the first count, or the end."""
    counts = [
        cue.at_ms for cue in track.cues(index, length_ms) if cue.cue is CueName.COUNT
    ]
    return min([length_ms, *counts]) - BEFORE_COUNT_MS


def _end_ms(one: Heard) -> int:
    return one.at_ms + one.length_ms


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


def _beat(beat: TempoBeat) -> Heard:
    return Heard(beat.at_ms, Layer.PACING, beat.tone, PACE[beat.tone].length_ms)


def _lesser(heard: Iterable[Heard], by_ms: int) -> Iterator[Heard]:
    """All but the cues, moved: the engine itself tells the cues."""
    for one in heard:
        if one.layer is not Layer.CUE:
            yield replace(one, at_ms=one.at_ms + by_ms)


def _as_cue(event: Event) -> Heard | None:
    match event:
        case CueDue(t_ms, cue) | ClockAnswered(t_ms, cue):
            return Heard(t_ms, Layer.CUE, cue.value, LENGTH_MS[cue])
        case CountedIn(t_ms, seconds_left) if seconds_left <= COUNTED:
            count = CueName.COUNT
            return Heard(t_ms, Layer.CUE, count.value, LENGTH_MS[count])
        case _:
            return None
