"""What the Floor shows, as text: a pure function of a view and its surroundings.

The board is the station that counts: the present one in work, else the one that
comes, so that nothing of it moves when work starts. Two equal models need no
painting; everything here changes once a second at most.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.duration import countdown
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import AT_STATION, SegmentKind
from whistlestop.domain.text import fold_call_name
from whistlestop.engine.events import Ending
from whistlestop.engine.states import Mode
from whistlestop.engine.view import View
from whistlestop.tui.floor.band import Band, band_of
from whistlestop.tui.floor.caution import Advice, advice_of
from whistlestop.tui.frames import FrameKind

# Ready lasts for one picture, which shows what begins.
_AS_RUNNING: Final = (Mode.READY, Mode.RUNNING)
_ITEMS: Final = frozenset({SegmentKind.WARM_UP, SegmentKind.COOL_DOWN})
_SIGNS: Final = {
    SegmentKind.GET_READY: "READY",
    SegmentKind.WARM_UP: "WARM UP",
    SegmentKind.WORK: "WORK",
    SegmentKind.CHANGEOVER: "SWITCH",
    SegmentKind.RECOVER: "RECOVER",
    SegmentKind.LOOP_BREAK: "BREAK",
    SegmentKind.HOLD: "WAIT",
    SegmentKind.COOL_DOWN: "COOL DOWN",
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
_BODY: Final = {"LEFT": 0, "RIGHT": 2}
"""Where a part's pane stands; every other part is between."""


@dataclass(frozen=True, slots=True)
class Around:
    """What the Floor shows that is not in the view.

    `question` waits for a key; a `notice` passes by itself; `advise` gives what the
    library says of a view.
    """

    wall: datetime
    sound: str = ""
    saved: str = ""
    notice: str = ""
    question: str = ""
    keys: tuple[tuple[str, str], ...] = ()
    advise: Callable[[View], Advice] = advice_of

    def key(self, label: str) -> str:
        """The key with a label on the key line, as a person calls it."""
        return next((key for key, does in self.keys if does == label), "")


@dataclass(frozen=True, slots=True)
class Board:
    """A station on the board: folded for letters, but for `label`.

    `is_live` says that the side is the one being worked.
    """

    label: str
    name: str
    side: str = ""
    load: str = ""
    is_live: bool = False


@dataclass(frozen=True, slots=True)
class FloorModel:
    """Everything on the Floor, as text, figures and roles.

    `panes` are the parts of the station now, in the order they stand on the body,
    `live` the number of the one that is worked. `permille` fills the track of the
    segment, `total_permille` that of the session. `place` and `finish` come in a long
    and in a short form.
    """

    sign: str
    hue: str
    frame: FrameKind
    clock: str
    counts_up: bool
    board: Board
    panes: tuple[str, ...]
    live: int | None
    band: Band
    next_name: str
    place: tuple[str, str]
    finish: tuple[str, str]
    status: str
    notice: str
    question: str
    permille: int | None
    total_permille: int
    stations: tuple[int, ...]
    present: int | None
    coming: int | None
    done: frozenset[int]
    keys: tuple[tuple[str, str], ...]


def floor_model(view: View, around: Around) -> FloorModel:
    """Put into text what is to be seen."""
    panes, live = _panes(view)
    return FloorModel(
        sign=_sign(view),
        hue=_hue(view),
        frame=_frame(view),
        clock=_clock(view),
        counts_up=view.at_gate and view.mode is not Mode.COUNT_IN,
        board=board_of(view),
        panes=panes,
        live=live,
        band=band_of(
            view,
            around.advise(view),
            next_key=around.key("next"),
            pause_key=around.key("pause"),
        ),
        next_name=view.coming.card.call_name if view.coming else "",
        place=_place(view),
        finish=_finish(view, around.wall),
        status=" · ".join(filter(None, [around.sound, around.saved])),
        notice=around.notice,
        question=around.question,
        permille=_permille(view),
        total_permille=view.plan_done_permille // 5 * 5,
        stations=view.stations,
        present=view.station if view.kind in AT_STATION else None,
        coming=view.coming.card.number if view.coming else None,
        done=view.done,
        keys=_keys(view, around.keys),
    )


def _keys(view: View, keys: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    """The keys with what each does now: a stopped clock is not paused once more."""
    if view.mode is not Mode.PAUSED:
        return keys
    return tuple((key, "go on" if does == "pause" else does) for key, does in keys)


def _sign(view: View) -> str:
    if view.mode is Mode.PAUSED:
        return "PAUSED"
    if view.mode is Mode.ENDED:
        return "STOPPED" if view.ending is Ending.HEALTH else "DONE"
    if view.mode is Mode.COUNT_IN:
        return "READY"
    return "WAIT" if view.at_gate else _SIGNS[view.kind]


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


def _clock(view: View) -> str:
    if view.mode is Mode.COUNT_IN:
        return f"{-(-view.count_left_ms // 1000)}"
    if view.mode is Mode.ENDED:
        return ""
    if view.at_gate:
        return countdown(view.waited_ms // 1000 * 1000)
    return countdown(view.left_ms)


def board_of(view: View) -> Board:
    """The station that counts now."""
    if view.mode is Mode.ENDED:
        return Board("", "")
    if view.kind in _ITEMS:
        item = view.item_name or ""
        return Board(f"NOW  {item}", fold_call_name(item))
    if view.kind in AT_STATION and view.card is not None:
        card = view.card
        side = fold_call_name(view.part) if view.part in view.parts else ""
        tempo = f"tempo {card.tempo}" if card.tempo else ""
        facts = [f"NOW  {card.number}", card.name, tempo, card.note]
        return Board(
            " · ".join(filter(None, facts)),
            card.call_name,
            side,
            load_letters(view.load or ""),
            is_live=view.mode in _AS_RUNNING,
        )
    return _coming_board(view)


def _coming_board(view: View) -> Board:
    coming = view.coming
    if coming is None:
        return Board("no more stations", "ALL DONE")
    card = coming.card
    facts = [
        f"{'FIRST' if view.kind is SegmentKind.GET_READY else 'NEXT'}  {card.number}",
        card.name,
        f"loop {coming.loop}" if view.loop and coming.loop != view.loop else "",
        f"now {coming.load}" if coming.load and coming.load_changes else "",
        f"tempo {card.tempo}" if card.tempo else "",
        ", ".join(card.kit),
    ]
    return Board(
        " · ".join(filter(None, facts)),
        card.call_name,
        fold_call_name(coming.part or ""),
        load_letters(coming.load or ""),
    )


def load_letters(typed: str) -> str:
    """A load for letters: with a sign for times, and `band: red` as `RED BAND`."""
    if not typed:
        return ""
    try:
        load = parse_load(typed)
    except ValueError:
        return fold_call_name(typed)
    if load.band:
        name = fold_call_name(load.band)
        return name if "BAND" in name.split() else f"{name} BAND"
    mass = f"{load.mass.normalize():f} {load.unit.upper()}"
    return mass if load.count == 1 else f"{load.count}×{mass}"


def _panes(view: View) -> tuple[tuple[str, ...], int | None]:
    """The parts as they stand on the body, left before right; the live one."""
    sides = [fold_call_name(part) for part in view.parts]
    if len(sides) < 2 or view.kind not in AT_STATION or view.mode is Mode.ENDED:
        return (), None
    places = list(range(len(sides)))
    if {"LEFT", "RIGHT"} <= set(sides):
        places.sort(key=lambda i: _BODY.get(sides[i], 1))
    live = view.parts.index(view.part) if view.part in view.parts else None
    return tuple(sides[i] for i in places), (
        None if live is None else places.index(live)
    )


def _place(view: View) -> tuple[str, str]:
    if not view.loop:
        return "", ""
    loop, short = f"loop {view.loop} of {view.loops}", f"{view.loop}/{view.loops}"
    if view.station not in view.stations or view.kind is SegmentKind.LOOP_BREAK:
        return loop, short
    at, of = view.stations.index(view.station) + 1, len(view.stations)
    return f"{loop} · station {at} of {of}", f"{short} · {at}/{of}"


def _finish(view: View, wall: datetime) -> tuple[str, str]:
    if view.mode is Mode.ENDED:
        return "", ""
    at = wall + timedelta(milliseconds=view.plan_left_ms + view.count_left_ms)
    return f"done at {at:%H:%M}", f"done {at:%H:%M}"


def _permille(view: View) -> int | None:
    """How full the track is, by whole seconds, so that it moves once a second."""
    if view.at_gate or view.length_ms <= 0 or view.mode is Mode.COUNT_IN:
        return None
    left = -(-view.left_ms // 1000) * 1000
    return max(0, 1000 * (view.length_ms - left) // view.length_ms)
