"""A scripted run: a simulated clock, gates that close at once, efforts from a list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from whistlestop.domain.effort import Effort
from whistlestop.domain.owner import OWNER
from whistlestop.engine.clock import ClockReading
from whistlestop.engine.commands import Command, Do, EnterEffort
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Event, LoopEnded
from whistlestop.engine.states import Mode
from whistlestop.errors import UsageError


class SimulatedClock:
    """A clock that stands where it is put."""

    def __init__(self, begin: datetime) -> None:
        """Begin at elapsed 0, at a time of day with an offset."""
        self._begin = begin
        self.now_ms = 0

    def read(self) -> ClockReading:
        """The simulated moment; nobody sleeps in a simulation."""
        return ClockReading(self.now_ms, 0)

    def wall(self) -> datetime:
        """The time of day it would be."""
        return self._begin + timedelta(milliseconds=self.now_ms)


@dataclass
class EffortScript:
    """Efforts to enter, one for each loop that ends with work in it.

    `others` holds, beside each of them, those of companions by their id.
    """

    efforts: list[Effort | None]
    others: list[dict[str, Effort]] = field(default_factory=list)
    used: int = 0
    given: set[int] = field(default_factory=set)

    @classmethod
    def parse(cls, text: str, athletes: Sequence[str] = (OWNER,)) -> EffortScript:
        """Read `5,-,6.5`; a hyphen leaves one out. For two: `5/6,-/7`.

        Raises:
            UsageError: One of them is no effort, or there are more than athletes.
        """
        script = cls([])
        for loop in text.split(",") if text.strip() else []:
            words = loop.split("/")
            if len(words) > len(athletes):
                raise UsageError(
                    f'--effort: "{loop.strip()}": more efforts than athletes'
                )
            sentences = [_effort(word) for word in words]
            script.efforts.append(sentences[0])
            others = zip(athletes[1:], sentences[1:], strict=False)
            script.others.append({who: one for who, one in others if one is not None})
        return script

    @property
    def surplus(self) -> int:
        """How many were never asked for."""
        return max(0, len(self.efforts) - self.used)

    def answer(self, events: Sequence[Event]) -> list[EnterEffort]:
        """What is to be entered after these events."""
        entries = []
        for event in events:
            if not isinstance(event, LoopEnded) or not event.worked:
                continue
            if event.loop in self.given:
                continue
            self.given.add(event.loop)
            if self.used < len(self.efforts):
                effort = self.efforts[self.used]
                others = self.others[self.used] if self.others else {}
                self.used += 1
                if effort is not None:
                    entries.append(EnterEffort(event.loop, effort))
                for athlete, text in others.items():
                    entries.append(EnterEffort(event.loop, text, athlete))
        return entries


def _effort(word: str) -> Effort | None:
    if word.strip() == "-":
        return None
    try:
        return Effort.parse(word)
    except ValueError as error:
        raise UsageError(f'--effort: "{word.strip()}": {error}') from None


def gate_answer(engine: Engine) -> Command | None:
    """Open a gate at once, for want of anybody to do it."""
    if engine.mode is Mode.RUNNING and engine.at_gate:
        return Do.NEXT
    return None
