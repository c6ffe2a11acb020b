"""What the Floor shows, in words: a pure function of a view and its surroundings.

Two equal models need no painting. Everything here changes once a second at most.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from whistlestop.domain.duration import countdown
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.text import fold_call_name
from whistlestop.engine.states import Mode
from whistlestop.engine.view import View
from whistlestop.tui.frames import FrameKind

NEXT_LOUD_MS: Final = 10_000

# Ready lasts for one picture, which shows what begins.
_AS_RUNNING: Final = (Mode.READY, Mode.RUNNING)
_WORDS: Final = {
    SegmentKind.GET_READY: "GET READY",
    SegmentKind.WARM_UP: "WARM-UP",
    SegmentKind.WORK: "WORK",
    SegmentKind.CHANGEOVER: "SWITCH",
    SegmentKind.RECOVER: "RECOVER",
    SegmentKind.LOOP_BREAK: "BREAK",
    SegmentKind.HOLD: "WAIT",
    SegmentKind.COOL_DOWN: "COOL-DOWN",
}
_HUES: Final = {
    SegmentKind.WORK: "work",
    SegmentKind.CHANGEOVER: "work",
    SegmentKind.RECOVER: "recover",
    SegmentKind.LOOP_BREAK: "break",
    SegmentKind.HOLD: "break",
}
_FRAMES: Final[dict[SegmentKind, FrameKind]] = {
    SegmentKind.WORK: "work",
    SegmentKind.CHANGEOVER: "switch",
    SegmentKind.RECOVER: "recover",
    SegmentKind.LOOP_BREAK: "break",
    SegmentKind.HOLD: "break",
}


@dataclass(frozen=True, slots=True)
class EffortCard:
    """The question of the break: which loop, and the answer so far."""

    loop: int
    effort: Effort | None
    partial: bool


@dataclass(frozen=True, slots=True)
class Around:
    """What the Floor shows that is not in the view."""

    wall: datetime
    sound: str = ""
    saved: str = ""
    notice: str = ""
    keys: tuple[tuple[str, str], ...] = ()
    caution: str = ""


@dataclass(frozen=True, slots=True)
class FloorModel:
    """Everything on the Floor, as words, figures and roles.

    `now`, `drill` and `next_name` are folded for block letters. `permille` fills
    the track of the segment, `total_permille` that of the session.
    """

    word: str
    hue: str
    frame: FrameKind
    now: str
    clock: str
    sides: tuple[str, ...]
    live: int | None
    facts: str
    drill: str
    next_name: str
    next_facts: str
    next_is_loud: bool
    place: str
    loop: int | None
    loops: int
    finish: str
    sound: str
    saved: str
    notice: str
    caution: str
    effort: EffortCard | None
    permille: int | None
    total_permille: int
    stations: tuple[int, ...]
    present: int | None
    coming: int | None
    done: frozenset[int]
    keys: tuple[tuple[str, str], ...]


def floor_model(view: View, around: Around) -> FloorModel:
    """Say in words what is to be seen."""
    state = _state(view)
    return FloorModel(
        word=state,
        hue=_hue(view),
        frame=_frame(view),
        now=_now(view, state),
        clock=_clock(view),
        sides=tuple(fold_call_name(part) for part in view.parts),
        live=_live(view),
        facts=_facts(view),
        drill=fold_call_name(view.drill_name or ""),
        next_name=view.coming.card.call_name if view.coming else "",
        next_facts=next_facts(view),
        next_is_loud=view.kind is not SegmentKind.WORK or view.left_ms <= NEXT_LOUD_MS,
        place=_place(view),
        loop=view.loop,
        loops=view.loops,
        finish=_finish(view, around.wall),
        sound=around.sound,
        saved=around.saved,
        notice=around.notice or _standing_notice(view),
        caution=around.caution,
        effort=_effort(view),
        permille=_permille(view),
        total_permille=view.plan_done_permille // 5 * 5,
        stations=view.stations,
        present=view.station
        if view.kind in (SegmentKind.WORK, SegmentKind.CHANGEOVER)
        else None,
        coming=view.coming.card.number if view.coming else None,
        done=view.done,
        keys=around.keys,
    )


def _state(view: View) -> str:
    if view.mode is Mode.PAUSED:
        return "PAUSED"
    if view.mode is Mode.ENDED:
        return "ENDED"
    if view.mode is Mode.COUNT_IN:
        return "READY"
    return _WORDS[view.kind]


def _hue(view: View) -> str:
    if view.mode not in _AS_RUNNING:
        return "neutral"
    return _HUES.get(view.kind, "neutral")


def _frame(view: View) -> FrameKind:
    if view.mode is Mode.PAUSED:
        return "paused"
    if view.mode not in _AS_RUNNING:
        return "get_ready"
    return _FRAMES.get(view.kind, "get_ready")


def _now(view: View, state: str) -> str:
    """The line in the largest letters: the station at work, else the state."""
    if (
        view.card is not None
        and view.kind is SegmentKind.WORK
        and state in {"WORK", "READY"}
    ):
        return view.card.call_name
    if view.at_gate and state == "READY" and view.coming is not None:
        return view.coming.card.call_name
    return state


def _clock(view: View) -> str:
    if view.mode is Mode.COUNT_IN:
        return f"{-(-view.count_left_ms // 1000)}"
    if view.at_gate or view.mode is Mode.ENDED:
        return ""
    return countdown(view.left_ms)


def _live(view: View) -> int | None:
    if view.part is None or view.part not in view.parts:
        return None
    return view.parts.index(view.part)


def _facts(view: View) -> str:
    """The near view's line: load and tempo at work, the item in a warm-up."""
    if view.kind in (SegmentKind.WARM_UP, SegmentKind.COOL_DOWN):
        return view.item_name or ""
    if view.card is None or view.kind not in (
        SegmentKind.WORK,
        SegmentKind.CHANGEOVER,
        SegmentKind.HOLD,
    ):
        return view.drill_name or ""
    tempo = f"tempo {view.card.tempo}" if view.card.tempo else ""
    facts = [view.card.name, view.load or "", tempo, view.card.note]
    return " · ".join(filter(None, facts))


def next_facts(view: View) -> str:
    """What comes next in a line: station, loop, side, load, kit; or that none does."""
    coming = view.coming
    if coming is None:
        return "" if view.mode is Mode.ENDED else "no more stations"
    side = f"{coming.part} first" if coming.part else ""
    load = coming.load or ""
    if load and coming.load_changes:
        load = f"now {load}"
    loop = f"loop {coming.loop}" if coming.loop != view.loop else ""
    kit = ", ".join(coming.card.kit)
    words = [f"{coming.card.number} {coming.card.name}", loop, side, load, kit]
    return " · ".join(filter(None, words))


def _place(view: View) -> str:
    loop = f"loop {view.loop} of {view.loops}" if view.loop else ""
    if view.station is None or view.kind is SegmentKind.LOOP_BREAK:
        return loop
    index = (
        view.stations.index(view.station) + 1 if view.station in view.stations else 0
    )
    station = f"station {index} of {len(view.stations)}"
    return f"{loop} · {station}" if loop else station


def _finish(view: View, wall: datetime) -> str:
    if view.mode is Mode.ENDED:
        return ""
    at = wall + timedelta(milliseconds=view.plan_left_ms + view.count_left_ms)
    return f"done at {at:%H:%M}"


def _standing_notice(view: View) -> str:
    if view.mode is Mode.PAUSED and view.after_gap:
        return "Time away is not counted. Go on, or restart this one."
    if view.at_gate and view.mode is Mode.RUNNING:
        return "waiting for a key"
    return ""


def _effort(view: View) -> EffortCard | None:
    """The card stands in the rest that follows a loop, and in the cool-down."""
    if view.effort_loop is None or view.kind in (
        SegmentKind.WORK,
        SegmentKind.CHANGEOVER,
        SegmentKind.HOLD,
    ):
        return None
    if view.kind is not SegmentKind.COOL_DOWN and view.effort_loop != view.loop:
        return None
    return EffortCard(view.effort_loop, view.effort, view.effort_partial)


def _permille(view: View) -> int | None:
    """How full the track is, by whole seconds, so that it moves once a second."""
    if view.at_gate or view.length_ms <= 0 or view.mode is Mode.COUNT_IN:
        return None
    left = -(-view.left_ms // 1000) * 1000
    return max(0, 1000 * (view.length_ms - left) // view.length_ms)
