"""The way through a plan as it is now: lengths changed, stations dropped.

An immutable value. It knows what comes before and after; it does not know
where the session stands or what time it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import field, replace

from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.cues import Cue, segment_cues, surroundings
from whistlestop.domain.plan.plan import (
    AT_STATION,
    Plan,
    Segment,
    SegmentKind,
    StationCard,
)
from whistlestop.engine.commands import SwapExercise


@dataclass(frozen=True, slots=True)
class SwapCut:
    """A visit that was swapped in its midst: until `offset_ms` it was this."""

    visit: int
    offset_ms: int
    exercise: str | None
    load: str | None


@dataclass(frozen=True, slots=True)
class Track:
    """A plan with today's live changes. Indices are those of the plan.

    `cuts` say of visits what they were before they were swapped in their midst.
    """

    plan: Plan
    lengths_ms: dict[int, int] = field(default_factory=dict)
    dropped: frozenset[int] = frozenset()
    swaps: tuple[tuple[int, SwapExercise], ...] = ()
    cuts: tuple[SwapCut, ...] = ()

    def segment(self, index: int) -> Segment:
        """The segment at an index of the plan, as it is done now."""
        segment = self.plan.segments[index]
        swap = self._swap_at(index)
        if swap is None:
            return segment
        load = None if segment.kind is SegmentKind.RECOVER else swap.load
        return replace(
            segment, exercise=swap.exercise, exercise_name=swap.name, load=load
        )

    def card(self, index: int) -> StationCard:
        """The card of the station that a segment belongs to, as it is done now."""
        station = self.plan.segments[index].station
        assert station is not None
        card = self.plan.card(station)
        swap = self._swap_at(index)
        return card if swap is None else swapped_card(card, swap)

    def swapped(self, index: int, swap: SwapExercise) -> Track:
        """The same way with a station done as something else from an index on."""
        return replace(self, swaps=(*self.swaps, (index, swap)))

    def cut(self, index: int, before: Track, visit: int, offset_ms: int) -> Track:
        """The same way after a swap, the work of a visit under way cut in two."""
        was, now = before.segment(index), self.segment(index)
        is_same = (was.exercise, was.load) == (now.exercise, now.load)
        if is_same or was.kind is not SegmentKind.WORK or not offset_ms:
            return self
        cut = SwapCut(visit, offset_ms, was.exercise, was.load)
        return replace(self, cuts=(*self.cuts, cut))

    def _swap_at(self, index: int) -> SwapExercise | None:
        if not self.swaps:
            return None
        station = self.plan.segments[index].station
        sentences = [s for at, s in self.swaps if at <= index and s.station == station]
        return sentences[-1] if sentences else None

    def length_ms(self, index: int) -> int:
        """How long a segment lasts now; 0 for a gate."""
        return self.lengths_ms.get(index, self.segment(index).duration_ms)

    def resized(self, lengths_ms: dict[int, int]) -> Track:
        """The same way with some lengths changed."""
        return replace(self, lengths_ms=self.lengths_ms | lengths_ms)

    def without(self, indices: Iterable[int]) -> Track:
        """The same way with some segments dropped."""
        return replace(self, dropped=self.dropped | frozenset(indices))

    def with_again(self, indices: Iterable[int]) -> Track:
        """The same way with some segments brought back."""
        return replace(self, dropped=self.dropped - frozenset(indices))

    def after(self, index: int) -> Iterator[int]:
        """Live indices after one, in order."""
        count = len(self.plan.segments)
        return (i for i in range(index + 1, count) if i not in self.dropped)

    def before(self, index: int) -> Iterator[int]:
        """Live indices before one, nearest first."""
        return (i for i in range(index - 1, -1, -1) if i not in self.dropped)

    def next_index(self, index: int) -> int | None:
        """The live segment after one, or None at the end."""
        return next(self.after(index), None)

    def next_work(self, index: int) -> int | None:
        """The first live work segment after one."""
        return next((i for i in self.after(index) if self._is_work(i)), None)

    def last_work(self, index: int) -> int | None:
        """The nearest live work segment before one."""
        return next((i for i in self.before(index) if self._is_work(i)), None)

    def is_new(self, index: int) -> bool:
        """Whether a station is done here for the first time.

        That is in loop 1, and again where it was exchanged for something else since.
        """
        here = self.segment(index)
        if here.loop == 1:
            return True
        return not any(
            earlier.kind is SegmentKind.WORK
            and (earlier.station, earlier.exercise) == (here.station, here.exercise)
            for earlier in map(self.segment, self.before(index))
        )

    def _is_work(self, index: int) -> bool:
        return self.segment(index).kind is SegmentKind.WORK

    def of_station(self, index: int) -> tuple[int, ...]:
        """All live segments of the station and loop that a segment belongs to."""
        place = self.segment(index).place
        return tuple(
            i
            for i, segment in enumerate(self.plan.segments)
            if segment.place == place and place is not None and i not in self.dropped
        )

    def work_of_station(self, index: int) -> tuple[int, ...]:
        """The live parts of the station and loop that a segment belongs to."""
        return tuple(i for i in self.of_station(index) if self._is_work(i))

    def past_station(self, index: int) -> int | None:
        """The first live segment after a station's hold, parts and changeovers."""
        inside = AT_STATION | {SegmentKind.HOLD}
        place = self.segment(index).place
        for i in self.after(index):
            segment = self.segment(i)
            if segment.place != place or segment.kind not in inside:
                return i
        return None

    def of_loop(self, loop: int) -> tuple[int, ...]:
        """All live segments of a loop, its break included."""
        return tuple(
            i
            for i, segment in enumerate(self.plan.segments)
            if segment.loop == loop and i not in self.dropped
        )

    def work_left_in_loop(self, loop: int, index: int) -> bool:
        """Whether live work of a loop stands at an index or after it."""
        return any(i >= index and self._is_work(i) for i in self.of_loop(loop))

    def cues(self, index: int, length_ms: int | None = None) -> tuple[Cue, ...]:
        """The cues of a segment as the way is now.

        Of a dropped one, as they would be were it alone brought back: the voice
        prepares for every way on, and a drop can be undone.
        """
        gone = self.dropped - {index}
        live = [i for i in range(len(self.plan.segments)) if i not in gone]
        around = tuple(self._as_now(i) for i in live)
        position = live.index(index)
        length = self.length_ms(index) if length_ms is None else length_ms
        return segment_cues(around[position], surroundings(around, position), length)

    def _as_now(self, index: int) -> Segment:
        segment = self.segment(index)
        length = self.length_ms(index)
        if length == segment.duration_ms:
            return segment
        return replace(segment, duration_ms=length)

    def left_after_ms(self, index: int) -> int:
        """Length of everything after a segment, gates as nothing."""
        return sum(self.length_ms(i) for i in self.after(index))

    def total_ms(self) -> int:
        """Length of the whole way as it is now."""
        return self.left_after_ms(-1)


def swapped_card(card: StationCard, swap: SwapExercise) -> StationCard:
    """The card of a station while it is done as something else."""
    return replace(
        card,
        exercise=swap.exercise,
        name=swap.name,
        call_name=swap.call_name,
        tempo=swap.tempo,
        load=swap.load,
        kit=swap.kit,
        cautions=swap.cautions,
        note="",
    )
