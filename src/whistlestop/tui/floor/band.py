"""The band at the foot of the Floor: the one line that matters now, and why.

In this order of right: a call of a caution, an effort that is not entered, the drill,
what comes next. A question and a stop for health come before all of them. Where more
than one has a claim they take turns of four seconds; in a recovery that is too short
for that many calls, of two at least.
"""

from __future__ import annotations

from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import AT_STATION, SegmentKind
from whistlestop.domain.text import fold_call_name
from whistlestop.engine.events import Ending
from whistlestop.engine.states import Mode
from whistlestop.engine.view import View
from whistlestop.tui.floor.caution import Advice

TURN_MS: Final = 4_000
LEAST_TURN_MS: Final = 2_000
"""A call of one to three words is read in less."""


@dataclass(frozen=True, slots=True)
class Band:
    """Letters with their role, the sentence over them, and a note at its right end.

    `short` stands instead where the letters do not fit. `hue` as a role is that of
    the state. `shows_keys` says that the key line may stand in the sentence's place.
    """

    letters: str = ""
    role: str = "hue"
    sentence: str = ""
    aside: str = ""
    short: str = ""
    shows_keys: bool = False


def band_of(view: View, advice: Advice, *, next_key: str, pause_key: str) -> Band:
    """What the band says of one person's session."""
    standing = standing_band(view, pause_key=pause_key)
    if standing is not None:
        return standing
    if view.kind in AT_STATION:
        return _next_band(view, advice)
    if view.at_gate:
        claims = [press_band(next_key), *effort_bands(view), *call_bands(advice)]
        return claims[view.waited_ms // TURN_MS % len(claims)]
    if view.kind is SegmentKind.WARM_UP:
        return _next_band(view, advice)
    return _resting(view, advice)


def standing_band(view: View, *, pause_key: str) -> Band | None:
    """What a stopped clock says; None while it runs."""
    if view.mode is Mode.ENDED:
        if view.ending is Ending.HEALTH:
            return Band(sentence="Stopped for health: what to do comes next.")
        return Band(sentence="The session is over.")
    if view.mode is not Mode.PAUSED:
        return None
    key = fold_call_name(pause_key) or "A KEY"
    sentence = "The clock stands."
    if view.after_gap:
        sentence = "Time away is not counted. Go on, or restart this one."
    return Band(
        f"{key} GOES ON", "text", sentence, short=key, shows_keys=not view.after_gap
    )


def press_band(key: str) -> Band:
    """Which key opens the gate."""
    name = fold_call_name(key) or "A KEY"
    return Band(f"PRESS {name}", sentence="waiting for a key", short=name)


def call_bands(advice: Advice) -> list[Band]:
    """Each caution that is called."""
    return [
        Band(call.letters, sentence=f"Caution: {call.sentence}")
        for call in advice.calls
    ]


def call_turn_ms(view: View, calls: int) -> int:
    """How long each of so many calls stands, so that all have their turn."""
    return min(TURN_MS, max(LEAST_TURN_MS, view.length_ms // max(1, calls)))


def _resting(view: View, advice: Advice) -> Band:
    """Get ready, a recovery, a break or the cool-down, with the clock running."""
    passed = max(0, view.length_ms - view.left_ms)
    turn = passed // TURN_MS
    calls, efforts = call_bands(advice), effort_bands(view)
    called = passed // call_turn_ms(view, len(calls))
    if view.kind is SegmentKind.RECOVER and called < len(calls):
        return calls[called]
    if view.kind is not SegmentKind.RECOVER and calls + efforts:
        claims = [*efforts, *calls]
        return claims[turn % len(claims)]
    if efforts:
        return efforts[0]
    if view.drill_name:
        return drill_band(view.drill_name, advice.key_point)
    return Band(shows_keys=view.kind is SegmentKind.GET_READY)


def drill_band(name: str, key_point: str = "") -> Band:
    """The skill that fills the recovery, and over it what to mind in it."""
    return Band(fold_call_name(name), sentence=key_point or f"now: {name}")


def effort_bands(view: View) -> list[Band]:
    """The question how hard a loop was, or its answer; nothing where it is not due.

    It stands in the rest that follows a loop, and in the cool-down.
    """
    loop = view.effort_loop
    if loop is None or view.kind in (*AT_STATION, SegmentKind.HOLD):
        return []
    if view.kind is not SegmentKind.COOL_DOWN and loop != view.loop:
        return []
    partial = " (partial)" if view.effort_partial else ""
    asked = f"How hard was loop {loop}{partial}?  0 to 10 · "
    effort = view.effort
    if effort is None:
        return [
            Band(
                f"RATE LOOP {loop}",
                sentence=f"{asked}not entered",
                short=f"RATE {loop}",
            )
        ]
    return [
        Band(
            f"{effort_figures(effort)} {effort.word.upper()}",
            sentence=f"{asked}entered, backspace clears",
            short=effort_figures(effort),
        )
    ]


def effort_figures(effort: Effort) -> str:
    """An effort in figures: 6.5, since from afar readers took a half for per cent."""
    return f"{effort.halves / 2:g}"


def _next_band(view: View, advice: Advice) -> Band:
    aside = f"Caution: {advice.caution}" if advice.caution else ""
    if view.coming is None:
        return Band("LAST ONE", "dim", "no more stations", aside)
    return Band(view.coming.card.call_name, "dim", "next", aside)
