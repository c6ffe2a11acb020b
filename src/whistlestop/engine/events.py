"""What happened, as frozen values. `t_ms` is the elapsed time at which it was due."""

from __future__ import annotations

from enum import StrEnum

from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.cues import CueName
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import AthleteEntry


class Why(StrEnum):
    """Why a visit ended."""

    FULL = "full"
    LEFT = "left"
    SKIPPED = "skipped"
    RESTARTED = "restarted"
    DROPPED = "dropped"
    STOPPED = "stopped"
    HEALTH = "health"


class Ending(StrEnum):
    """Why a session ended."""

    COMPLETE = "complete"
    STOPPED = "stopped"
    HEALTH = "health"


@dataclass(frozen=True, slots=True)
class Row:
    """One visit to one segment: what was planned, what was done.

    `segment` is its index in the plan, `ms` the time really spent in it without
    pauses, `plan_ms` its length in the plan, `set_ms` its length after longer
    and shorter. A gate has `ms` 0: waiting is counted as gated.
    """

    t_ms: int
    segment: int
    visit: int
    kind: SegmentKind
    loop: int | None
    station: int | None
    part: str | None
    exercise: str | None
    load: str | None
    ms: int
    plan_ms: int
    set_ms: int
    why: Why


@dataclass(frozen=True, slots=True)
class VisitBegan:
    """A visit began."""

    t_ms: int
    segment: int
    visit: int


@dataclass(frozen=True, slots=True)
class CueDue:
    """A planned cue is due: `visit` says in which visit, `at_ms` where in it."""

    t_ms: int
    cue: CueName
    visit: int
    at_ms: int


@dataclass(frozen=True, slots=True)
class CountedIn:
    """One second of a count-in after a pause or gate: 3, 2, 1."""

    t_ms: int
    seconds_left: int


@dataclass(frozen=True, slots=True)
class ClockAnswered:
    """The clock stands (pause) or runs again (resume): heard by its own tone."""

    t_ms: int
    cue: CueName


@dataclass(frozen=True, slots=True)
class RowClosed:
    """A visit ended and its row stands."""

    t_ms: int
    row: Row


@dataclass(frozen=True, slots=True)
class LoopEnded:
    """A loop ended. `partial`: some of its work was left out on the way."""

    t_ms: int
    loop: int
    partial: bool
    worked: bool


@dataclass(frozen=True, slots=True)
class PlanChanged:
    """Lengths or stations of what is to come are different now."""

    t_ms: int


@dataclass(frozen=True, slots=True)
class EntryTaken:
    """Something was typed in; `loop` and `station` say what it belongs to."""

    t_ms: int
    entry: AthleteEntry
    loop: int | None = None
    station: int | None = None


@dataclass(frozen=True, slots=True)
class SessionEnded:
    """The session is over."""

    t_ms: int
    why: Ending


@dataclass(frozen=True, slots=True)
class SessionReopened:
    """A session stopped on health grounds goes on, paused."""

    t_ms: int


Event = (
    VisitBegan
    | CueDue
    | CountedIn
    | ClockAnswered
    | RowClosed
    | LoopEnded
    | PlanChanged
    | EntryTaken
    | SessionEnded
    | SessionReopened
)
