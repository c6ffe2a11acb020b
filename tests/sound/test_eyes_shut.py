"""A session with the screen covered: all that is audible, and what it tells.

`tests/golden/audible/session.txt` is the script of it. The same is replayed to a
listener who knows the sounds only, and who is asked each second how it stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from tests.sound.listening import EveryPhrase, Listener, Listening
from tests.support.golden import same_as_golden

from whistlestop.domain.circuit.circuit import Circuit, Drill, LoopChange, Station
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.tempo import parse_tempo
from whistlestop.driver.session_audio import drill_sounds
from whistlestop.engine.commands import Do
from whistlestop.engine.engine import Engine
from whistlestop.engine.states import Mode
from whistlestop.engine.view import view
from whistlestop.library import drills
from whistlestop.sound.soundtrack import NOTHING_HEARD, Layer, Soundtrack

CIRCUIT = Circuit(
    id="night-train",
    name="Night train",
    stations=(
        Station(
            "goblet-squat",
            "Goblet squat",
            "GOBLET SQUAT",
            load=parse_load("12 kg"),
            tempo=parse_tempo("3-1-1-0"),
            cautions=("Kn", "Bk"),
            work_ms=20_000,
            drill=Drill("called-step", "Step to the call"),
        ),
        Station(
            "one-arm-row",
            "One-arm row",
            "ONE-ARM ROW",
            parts=("left", "right"),
            changeover_ms=3_000,
            load=parse_load("8 kg"),
            cautions=("Bk",),
            work_ms=33_000,
        ),
    ),
    loops=2,
    recover_ms=20_000,
    loop_break_ms=24_000,
    get_ready_ms=10_000,
    loop_changes={2: LoopChange(load=parse_load("10 kg"))},
)
PLAN = compile_plan(CIRCUIT)
HEARD_AS = Soundtrack(phrases=EveryPhrase(), drills=drill_sounds(drills()), seed=20_310)
MARKS = {Layer.CUE: "tone", Layer.PACING: "pace", Layer.VOICE: "says"}
# A sentence is understood when it is over, a tone when most of it was heard: the
# last one of all has rung its whole figure by then and only goes on sounding.
TONE_MS = 660
UNDERSTOOD_MS = 700


def script():
    lines = [
        "Everything audible of a session of three minutes, in seconds.",
        "Goblet squat 20 s, recover 20 s with called steps, one-arm row 15 s a side",
        "with 3 s between; two loops, a break of 24 s, heavier in the second.",
        "",
    ]
    for one in HEARD_AS.whole(PLAN):
        name = f'"{one.name}"' if one.layer is Layer.VOICE else one.name
        lines.append(f"{one.at_ms / 1000:8.3f}  {MARKS[one.layer]}  {name}")
    return "\n".join(lines) + "\n"


def test_it_is_three_minutes_with_all_there_is_to_hear():
    assert PLAN.total_ms == 180_000
    heard = {one.name for one in HEARD_AS.whole(PLAN)}
    assert {"go", "count", "switch", "ten", "station_end", "loop_end"} <= heard
    assert {"session_end", "effort", "pace_down", "pace_hold", "pace_up"} <= heard
    assert {"step_left", "step_right", "step_front", "step_back"} & heard
    assert {"Last loop.", "How hard was that loop?", "Left side first."} <= heard


def test_the_script_is_the_one_that_was_read():
    same_as_golden("audible/session.txt", script())


def expected_doing(engine):
    if engine.mode is Mode.ENDED:
        return "done"
    if engine.mode in (Mode.PAUSED, Mode.COUNT_IN):
        return "paused"
    if engine.segment.kind in (SegmentKind.WORK, SegmentKind.CHANGEOVER):
        return "working"
    return "break" if engine.segment.kind is SegmentKind.LOOP_BREAK else "recovering"


def spoken(card):
    return card.call_name.lower().replace("-", " ")


def understood_ms(one):
    length = one.length_ms
    return one.at_ms + (length if one.layer is Layer.VOICE else min(length, TONE_MS))


class Asked:
    """Somebody listens; each second both they and the engine are asked."""

    def __init__(self):
        self.live = Listening(HEARD_AS, PLAN)
        self.listener = Listener()
        self.understood = set()
        self.seconds = 0
        self.now_ms = 0

    def go(self, ms):
        """Let time pass second by second, asking in each."""
        for _ in range(ms // 1000):
            self.listen_until(self.now_ms + UNDERSTOOD_MS)
            self.compare()
            self.listen_until(self.now_ms + 1000 - UNDERSTOOD_MS)

    def listen_until(self, now_ms):
        self.now_ms = now_ms
        self.live.engine.advance(now_ms)
        self.live.look()
        over = {one for one in self.live.heard if understood_ms(one) <= now_ms}
        for one in sorted(over - self.understood, key=understood_ms):
            self.listener.hear(one)
        self.understood |= over

    def compare(self):
        engine, listener = self.live.engine, self.listener
        seen, where = view(engine.for_athlete()), f"at {self.now_ms} ms"
        assert listener.doing == expected_doing(engine), where
        if listener.doing == "working":
            assert listener.station == spoken(seen.card), where
            assert listener.side == seen.part, where
        if listener.doing in ("recovering", "break") and seen.coming is not None:
            self.compare_next(seen, where)
        self.seconds += 1

    def compare_next(self, seen, where):
        """What was told of the next station is true, and all is told in time."""
        coming, listener = seen.coming, self.listener
        split = len(coming.card.parts) > 1
        if seen.left_ms < 3_500:
            assert listener.coming is not None, where
        if listener.coming is None:
            return
        assert listener.coming == spoken(coming.card), where
        if seen.left_ms < 3_500 and split:
            assert listener.coming_side == coming.part, where
        if listener.coming_side is not None:
            assert listener.coming_side == coming.part, where

    def do(self, do):
        """Press a key; words that are cut by it are not understood."""
        self.live.do(do)
        if do is Do.SKIP:
            # Whoever skips a station knows that what was announced is not to come.
            self.listener.coming = self.listener.coming_side = None


def test_with_the_screen_covered_one_could_say_at_every_second_how_it_stands():
    asked = Asked()
    asked.go(PLAN.total_ms + 2_000)
    assert asked.seconds == 182
    assert asked.listener.doing == "done"
    assert asked.listener.last_loop
    assert asked.listener.asked


def test_the_load_that_changes_is_known_before_the_first_count():
    asked = Asked()
    # Into the break: get ready, loop 1, 20 of 24 s.
    asked.go(10_000 + 20_000 + 20_000 + 33_000 + 20_000)
    assert asked.listener.coming == "goblet squat"
    assert asked.listener.coming_load == "now ten kilos"


@pytest.mark.parametrize("at_s", [12, 33, 55, 67, 71, 86])
def test_after_a_pause_anywhere_one_knows_again(at_s):
    """In work, in rest, on either side, in the changeover, in the break."""
    asked = Asked()
    asked.go(at_s * 1000)
    asked.do(Do.PAUSE)
    asked.go(9_000)
    asked.do(Do.RESUME)
    asked.go(PLAN.total_ms - at_s * 1000 + 6_000)
    assert asked.listener.doing == "done"


@pytest.mark.parametrize(
    ("at_s", "do"),
    [
        (15, Do.NEXT),
        (15, Do.SKIP),
        (60, Do.RESTART),
        (75, Do.BACK),
        (75, Do.RESTART),
        (2, Do.SKIP),
        (90, Do.SKIP),
        (90, Do.LONGER),
    ],
)
def test_after_going_somewhere_else_one_knows_again(at_s, do):
    asked = Asked()
    asked.go(at_s * 1000)
    asked.do(do)
    asked.go(PLAN.total_ms + 40_000)
    assert asked.listener.doing == "done"


def test_the_listener_is_lost_without_the_sounds():
    """The proof is worth something: with one kind of sound missing it fails."""
    for missing in ("go", "station_end", "switch", "Next: one arm row."):
        asked = Asked()
        asked.live.soundtrack = Without(
            phrases=HEARD_AS.phrases, drills=HEARD_AS.drills, missing=missing
        )
        asked.live.heard = set()
        asked.live.look()
        with pytest.raises(AssertionError):
            asked.go(PLAN.total_ms)


@dataclass(frozen=True)
class Without(Soundtrack):
    """A soundtrack from which one sound is missing."""

    missing: str = ""

    def upcoming(self, engine, horizon_ms, heard=NOTHING_HEARD):
        heard = super().upcoming(engine, horizon_ms, heard)
        return tuple(one for one in heard if one.name != self.missing)


def test_the_engine_alone_agrees_with_the_script():
    """The session as it is driven is heard as the script says."""
    live = Listening(HEARD_AS, PLAN)
    while live.engine.mode is not Mode.ENDED:
        live.engine.advance(live.engine.t_ms + 1_000)
        live.look()
    assert sorted(live.heard) == list(HEARD_AS.whole(PLAN))
    assert isinstance(live.engine, Engine)
    assert replace(HEARD_AS, seed=1).whole(PLAN) != HEARD_AS.whole(PLAN)
