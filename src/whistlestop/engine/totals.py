"""What a session came to: the one fold over visits and entries.

The completion log, the `sum` line, the close-out and the list of sessions take their
figures from here. The list adds up the lines of a journal as they were written, so
that nothing is replayed for it; all others the rows of the engine.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from typing import Any

from whistlestop.dataclass import dataclass
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import (
    Command,
    EnterDiscomfort,
    EnterEffort,
    EnterNote,
    EnterSessionEffort,
)
from whistlestop.engine.events import EntryTaken, Row


@dataclass(slots=True)
class SessionTotals:
    """The visits and entries of one athlete, added up one by one. Times in ms.

    `best_ms` is the work of the best visit to each segment, at most as planned;
    `loop_work_ms` the work of each loop that has any. The effort and the note
    entered last stand.
    """

    active_ms: int = 0
    work_ms: int = 0
    best_ms: dict[int, int] = field(default_factory=dict)
    loop_work_ms: dict[int | None, int] = field(default_factory=dict)
    efforts: dict[int, Effort | None] = field(default_factory=dict)
    session_effort: Effort | None = None
    note: str = ""
    discomforts: list[EnterDiscomfort] = field(default_factory=list)

    def add_visit(
        self, segment: int, loop: int | None, ms: int, plan_ms: int, *, is_work: bool
    ) -> None:
        """Add one visit to a segment of a loop; None is outside all loops."""
        self.active_ms += ms
        if is_work:
            self.work_ms += ms
            best_ms = self.best_ms.get(segment, 0)
            self.best_ms[segment] = max(best_ms, min(ms, plan_ms))
            if ms:
                self.loop_work_ms[loop] = self.loop_work_ms.get(loop, 0) + ms

    def add_entry(self, entry: Command) -> None:
        """Add what was entered; other inputs and what is a station's pass by."""
        match entry:
            case EnterEffort(loop, effort):
                self.efforts[loop] = effort
            case EnterSessionEffort(effort):
                self.session_effort = effort
            case EnterNote(text):
                self.note = text
            case EnterDiscomfort():
                self.discomforts.append(entry)

    @property
    def has_entries(self) -> bool:
        """Whether an effort, a note or a discomfort stands."""
        efforts = (self.session_effort, *self.efforts.values())
        is_rated = any(effort is not None for effort in efforts)
        return is_rated or bool(self.note or self.discomforts)

    @property
    def best_work_ms(self) -> int:
        """Work done against the plan."""
        return sum(self.best_ms.values())

    def effort_numbers(self, loops: int) -> list[int | float | None]:
        """The effort of each loop of the plan; None where none stands."""
        efforts = (self.efforts.get(loop) for loop in range(1, loops + 1))
        return [effort.number if effort else None for effort in efforts]

    def work_by_loop(self, loops: int) -> tuple[int | None, ...]:
        """The work of each loop of the plan, in ms; None where there was none."""
        return tuple(self.loop_work_ms.get(loop) for loop in range(1, loops + 1))

    def own_figures(self, loops: int, plan_work_ms: int) -> dict[str, Any]:
        """What of a `sum` line is an athlete's own, and not the clock's."""
        last = self.session_effort
        return {
            "work_ms": self.work_ms,
            "best_work_ms": self.best_work_ms,
            "plan_work_ms": plan_work_ms,
            "efforts": self.effort_numbers(loops),
            "session_effort": last.number if last else None,
        }


def totals(
    rows: Iterable[Row] = (), entries: Iterable[EntryTaken] = ()
) -> SessionTotals:
    """Add up rows and entries of one athlete."""
    made = SessionTotals()
    for row in rows:
        is_work = row.kind is SegmentKind.WORK
        made.add_visit(row.segment, row.loop, row.ms, row.plan_ms, is_work=is_work)
    for taken in entries:
        made.add_entry(taken.entry)
    return made
