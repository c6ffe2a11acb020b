"""One session up to a moment, as it is for one athlete.

Athletes share the clock, and so the engine; a companion's plan has the same segments
as the owner's, so an index means the same moment in both. The view, the judge of
an entry, the `sum` line and the record take this value, of either athlete alike.
"""

from __future__ import annotations

from dataclasses import replace

from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.plan import Plan, Segment
from whistlestop.engine.events import Ending, EntryTaken, LoopEnded, Row
from whistlestop.engine.states import Mode
from whistlestop.engine.track import Track


@dataclass(frozen=True, slots=True)
class SessionSoFar:
    """A session as it stands. Times in ms.

    `track`, `rows` and `entries` are the athlete's own; the rest is the clock's and
    so the same for all.
    """

    athlete: str
    track: Track
    rows: tuple[Row, ...]
    entries: tuple[EntryTaken, ...]
    mode: Mode
    ending: Ending | None
    t_ms: int
    paused_ms: int
    gated_ms: int
    index: int
    visit: int
    visit_length_ms: int
    offset_ms: int
    count_left_ms: int
    waited_ms: int
    after_gap: bool
    loops_ended: tuple[LoopEnded, ...]
    drops: tuple[tuple[int, tuple[int, ...]], ...]

    @property
    def plan(self) -> Plan:
        """What the athlete was to do."""
        return self.track.plan

    @property
    def segment(self) -> Segment:
        """The segment the athlete stands at; the last one when it has ended."""
        return self.track.segment(self.index)

    @property
    def active_ms(self) -> int:
        """Elapsed without pauses and gates."""
        return self.t_ms - self.paused_ms - self.gated_ms


def own_row(row: Row, plan: Plan) -> Row:
    """The row of a visit as it is for the athlete of a plan."""
    segment = plan.segments[row.segment]
    return replace(
        row,
        station=segment.station,
        part=segment.part,
        exercise=segment.exercise,
        load=segment.load,
    )
