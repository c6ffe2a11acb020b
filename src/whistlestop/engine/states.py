"""Modes, places and the one table of what a command does where.

Theory of operation
===================

A session stands at one segment of the plan and in one mode.

  READY ──start──▶ RUNNING ◀──────────────┐
                     │  ▲                  │ count-in over
               pause │  │ (count-in 0)     │
                     ▼  │                  │
                   PAUSED ──resume──▶ COUNT_IN
                     ▲                     │
                     └──────pause──────────┘
  any of these ──stop, health, last segment over──▶ ENDED
  ENDED by health ──reopen──▶ PAUSED, the same segment again

A gate (a hold, or a break until a key) is RUNNING at a segment of open length:
its time is counted as gated. `next` releases it: COUNT_IN, still gated, then
the segment after it. Everywhere else COUNT_IN counts as paused.

Rules of this file: which command does what in which place is stated here and
nowhere else; how it is done stands in `engine.py`. Nothing here knows a time.

Navigation while PAUSED moves the place and leaves the mode alone. During a
COUNT_IN only pause, stop and health are taken: it is over in a moment.
"""

from __future__ import annotations

from enum import Enum, auto
from typing import Final

from whistlestop.domain.plan.plan import Segment, SegmentKind
from whistlestop.engine.commands import Do


class Mode(Enum):
    """How time is being counted."""

    READY = auto()
    RUNNING = auto()
    PAUSED = auto()
    COUNT_IN = auto()
    ENDED = auto()


MODE_WORDS: Final = {
    Mode.READY: "the session has not started",
    Mode.RUNNING: "the clock is running",
    Mode.PAUSED: "paused",
    Mode.COUNT_IN: "counting in",
    Mode.ENDED: "the session is over",
}


class SegmentPlace(Enum):
    """What kind of segment the session stands at, as far as commands care."""

    WORK = auto()
    CHANGEOVER = auto()
    REST = auto()
    HOLD = auto()
    BREAK_GATE = auto()


class Act(Enum):
    """What a command does."""

    LEAVE = auto()  # close this segment, enter the one after it
    TO_COUNT = auto()  # cut a rest short to its 3-2-1
    RELEASE = auto()  # open a gate
    LEAVE_STATION = auto()  # close, go to what follows this station's work
    DROP_COMING = auto()  # take the coming station out of its loop
    BACK_OR_RESTART = auto()  # early: the work before; later: this one again
    PART_BEFORE = auto()  # the part before this changeover, again
    LAST_WORK = auto()  # the last work segment, again
    RESTART = auto()  # this segment again
    RESTART_STATION = auto()  # this station from its first part
    RESIZE_STATION = auto()  # every part longer or shorter
    RESIZE = auto()  # this segment longer or shorter
    DROP_LOOP = auto()  # end this loop, go to its break
    DROP_THIS_OR_NEXT = (
        auto()
    )  # in a rest: this loop if work is left in it, or the next
    UNDO_DROP = auto()  # bring back the station dropped last
    PAUSE = auto()
    RESUME = auto()
    STOP = auto()
    HEALTH = auto()
    REOPEN = auto()


def place_of(segment: Segment) -> SegmentPlace:
    """Class a segment by what commands may do at it."""
    match segment.kind:
        case SegmentKind.WORK:
            return SegmentPlace.WORK
        case SegmentKind.CHANGEOVER:
            return SegmentPlace.CHANGEOVER
        case SegmentKind.HOLD:
            return SegmentPlace.HOLD
        case SegmentKind.LOOP_BREAK if segment.until_key:
            return SegmentPlace.BREAK_GATE
        case _:
            return SegmentPlace.REST


GATES: Final = frozenset({SegmentPlace.HOLD, SegmentPlace.BREAK_GATE})

_MOVABLE: Final = frozenset({Mode.RUNNING, Mode.PAUSED})
_ALIVE: Final = frozenset({Mode.RUNNING, Mode.PAUSED, Mode.COUNT_IN})

# In which modes a command is taken at all.
MODES: Final[dict[Do, frozenset[Mode]]] = {
    Do.NEXT: _MOVABLE,
    Do.SKIP: _MOVABLE,
    Do.BACK: _MOVABLE,
    Do.RESTART: _MOVABLE,
    Do.LONGER: _MOVABLE,
    Do.SHORTER: _MOVABLE,
    Do.DROP_LOOP: _MOVABLE,
    Do.UNDO: _MOVABLE,
    Do.PAUSE: frozenset({Mode.RUNNING, Mode.COUNT_IN}),
    Do.RESUME: frozenset({Mode.PAUSED}),
    Do.STOP: _ALIVE,
    Do.HEALTH: _ALIVE,
    Do.REOPEN: frozenset({Mode.ENDED}),
}

_EVERYWHERE: Final = tuple(SegmentPlace)


def _row(
    work: Act | None,
    changeover: Act | None,
    rest: Act | None,
    at_gate: Act | None,
    break_gate: Act | None,
) -> dict[SegmentPlace, Act]:
    acts = (work, changeover, rest, at_gate, break_gate)
    return {
        place: act
        for place, act in zip(_EVERYWHERE, acts, strict=True)
        if act is not None
    }


# The table: command by place. A place that is missing refuses the command.
ACTS: Final[dict[Do, dict[SegmentPlace, Act]]] = {
    Do.NEXT: _row(Act.LEAVE, Act.LEAVE, Act.TO_COUNT, Act.RELEASE, Act.RELEASE),
    Do.SKIP: _row(
        Act.LEAVE_STATION,
        Act.LEAVE_STATION,
        Act.DROP_COMING,
        Act.LEAVE_STATION,
        Act.DROP_COMING,
    ),
    Do.BACK: _row(
        Act.BACK_OR_RESTART,
        Act.PART_BEFORE,
        Act.LAST_WORK,
        Act.LAST_WORK,
        Act.LAST_WORK,
    ),
    Do.RESTART: _row(Act.RESTART, Act.RESTART_STATION, Act.RESTART, None, None),
    Do.LONGER: _row(Act.RESIZE_STATION, None, Act.RESIZE, None, None),
    Do.SHORTER: _row(Act.RESIZE_STATION, None, Act.RESIZE, None, None),
    Do.DROP_LOOP: _row(
        Act.DROP_LOOP,
        Act.DROP_LOOP,
        Act.DROP_THIS_OR_NEXT,
        Act.DROP_LOOP,
        Act.DROP_THIS_OR_NEXT,
    ),
    Do.UNDO: _row(*(Act.UNDO_DROP,) * 5),
    Do.PAUSE: _row(Act.PAUSE, Act.PAUSE, Act.PAUSE, None, None),
    Do.RESUME: _row(*(Act.RESUME,) * 5),
    Do.STOP: _row(*(Act.STOP,) * 5),
    Do.HEALTH: _row(*(Act.HEALTH,) * 5),
    Do.REOPEN: _row(*(Act.REOPEN,) * 5),
}
