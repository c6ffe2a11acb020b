"""The cautions in line mode: a line for each, before the first time it is needed.

What was printed is remembered, so that nothing is printed twice in a run, whichever
way it takes, and nothing is left out where a recovery was jumped over.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from whistlestop.domain.duration import clock
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.events import Event, VisitBegan
from whistlestop.engine.track import Track
from whistlestop.library.cautions import Caution
from whistlestop.library.take_care import drill_cautions, station_cautions

_BEFORE: Final = frozenset(
    {
        SegmentKind.GET_READY,
        SegmentKind.RECOVER,
        SegmentKind.HOLD,
        SegmentKind.LOOP_BREAK,
    }
)


@dataclass
class CautionLines:
    """The caution lines of one athlete in one run; `name` where several train."""

    name: str = ""
    _printed: set[str] = field(default_factory=set)

    def at(self, track: Track, event: Event) -> list[str]:
        """The lines that an event asks for: of the station, then of the drill."""
        if not isinstance(event, VisitBegan):
            return []
        segment = track.segment(event.segment)
        lines: list[str] = []
        coming = self._coming(track, event.segment)
        if coming is not None:
            card = track.card(coming)
            key = f"{card.number} {card.exercise}"
            lines += self._once(key, card.name, station_cautions(card))
        if segment.drill:
            title = segment.drill_name or segment.drill
            lines += self._once(segment.drill, title, drill_cautions(segment.drill))
        head = f"{self.name}, caution" if self.name else "caution"
        return [f"{clock(event.t_ms)} {head} for {line}" for line in lines]

    def _coming(self, track: Track, index: int) -> int | None:
        kind = track.segment(index).kind
        if kind is SegmentKind.WORK:
            return index
        return track.next_work(index) if kind in _BEFORE else None

    def _once(self, key: str, title: str, found: Iterable[Caution]) -> list[str]:
        if key in self._printed:
            return []
        self._printed.add(key)
        return [f"{title}: {one.live}" for one in found]
