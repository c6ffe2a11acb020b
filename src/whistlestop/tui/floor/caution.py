"""What the library adds to a moment on the Floor: cautions, and a drill's key point.

A caution is called where it can still be acted on: before the first time that a
station is done in a session, from get ready, the recovery or the gate before it;
while the station is done it stands as a sentence. Those of the drill in a recovery
follow.
"""

from __future__ import annotations

from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.plan import AT_STATION, SegmentKind
from whistlestop.engine.view import View
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


@dataclass(frozen=True, slots=True)
class Call:
    """What is called: a few letters, read from afar, and the sentence from near."""

    letters: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Advice:
    """What goes with a view: calls before a station, a sentence during it.

    `key_point` is that of the drill that fills the recovery. A session goes on
    without any of it.
    """

    calls: tuple[Call, ...] = ()
    caution: str = ""
    key_point: str = ""


def call_of(caution: Caution) -> Call:
    """What is called of a caution."""
    return Call(caution.call, caution.live)


def advice_of(view: View) -> Advice:
    """The cautions of a moment; it knows no key points."""
    return Advice(calls_for(view), caution_during(view))


def calls_for(view: View) -> tuple[Call, ...]:
    """The calls of the station that comes, the first time only, then of the drill."""
    coming = view.coming
    if view.kind not in _BEFORE:
        return ()
    found = station_cautions(coming.card) if coming and coming.is_new else ()
    if view.loop == 1:
        found += drill_cautions(view.drill)
    return tuple(map(call_of, found))


def caution_during(view: View) -> str:
    """The sentence that stands while a station is done, in the first loop."""
    if view.kind not in AT_STATION or view.card is None or view.loop not in (None, 1):
        return ""
    return next((one.live for one in station_cautions(view.card)), "")
