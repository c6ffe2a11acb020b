"""Words that a key, a pause or a late voice cut short: said anew, and none twice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sound.listening import EveryPhrase, Spoken
from tests.support.plans import FEW, LEFT_RIGHT, plan, plans, station

from whistlestop.domain.circuit.circuit import Drill
from whistlestop.domain.load import parse_load
from whistlestop.engine.commands import Do
from whistlestop.engine.engine import Engine
from whistlestop.engine.states import Mode
from whistlestop.errors import CommandRejected
from whistlestop.sound.cue_filter import AFTER_TONE_MS, MARGIN_MS, CueFilter
from whistlestop.sound.soundtrack import Layer, Soundtrack

FULL = Soundtrack(phrases=EveryPhrase(), seed=5)
# "Next: exercise 2." 0.780 to 2.280, "Left side first." 2.430 to 3.930,
# "Eight kilos." 4.080 to 5.180 of a recovery from 50 s on.
REST = (station(1), station(2, parts=LEFT_RIGHT, load=parse_load("8 kg")))


class LiveFacts:
    def __init__(self, *stations, soundtrack=FULL, **changes):
        self.engine = Engine(plan(*stations, **changes))
        self.telling = CueFilter()
        self.soundtrack = soundtrack
        self.engine.start()
        self.look()

    def look(self, *, clear_ms=None):
        heard = self.telling.upcoming(
            self.soundtrack, self.engine, 12_000, clear_ms=clear_ms
        )
        return [(h.at_ms, h.name) for h in heard if h.layer is Layer.VOICE]

    def go(self, until_ms):
        while self.engine.t_ms < until_ms:
            self.engine.advance(min(until_ms, self.engine.t_ms + 100))
            text = self.look()
        return text

    def do(self, do):
        self.engine.handle(do, self.engine.t_ms)
        return self.look(clear_ms=AFTER_TONE_MS)


def test_what_was_cut_by_a_pause_is_said_after_it_and_the_rest_follows():
    live = LiveFacts(*REST)
    live.go(53_000)
    assert live.do(Do.PAUSE) == []
    live.engine.advance(60_000)
    # Three seconds of count-in, 600 ms of tone, a breath.
    assert live.do(Do.RESUME) == [
        (63_750, "Left side first."),
        (65_400, "Eight kilos."),
    ]
    assert live.go(63_800) == [(65_400, "Eight kilos.")]
    assert live.go(66_000) == []


def test_a_second_pause_keeps_what_was_said_before_the_first():
    live = LiveFacts(*REST)
    live.go(53_000)
    live.do(Do.PAUSE)
    live.engine.advance(60_000)
    live.do(Do.RESUME)
    live.go(65_500)
    live.do(Do.PAUSE)
    live.engine.advance(70_000)
    assert [name for _, name in live.do(Do.RESUME)] == ["Eight kilos."]


def test_a_key_that_only_changes_the_length_cuts_no_words_for_good():
    live = LiveFacts(*REST)
    live.go(51_000)
    assert [name for _, name in live.do(Do.LONGER)] == [
        "Next: exercise 2.",
        "Left side first.",
        "Eight kilos.",
    ]


def test_a_skipped_station_makes_other_words_true():
    live = LiveFacts(station(1), station(2), station(3))
    live.go(52_500)
    assert live.do(Do.SKIP) == [(53_250, "Next: exercise 3.")]
    live.go(54_000)
    assert live.do(Do.UNDO) == [(54_750, "Next: exercise 2.")]


def test_in_a_new_visit_all_is_said_from_its_beginning():
    live = LiveFacts(*REST)
    live.go(53_000)
    live.do(Do.PAUSE)
    live.do(Do.RESTART)
    live.engine.advance(60_000)
    assert next(name for _, name in live.do(Do.RESUME)) == "Next: exercise 2."


def test_sentences_that_become_ready_late_are_said_from_then_on():
    """The first session of a home: its words are rendered as it begins."""
    nothing = replace(FULL, phrases={})
    live = LiveFacts(*REST, soundtrack=nothing)
    live.go(52_000)
    live.soundtrack = FULL
    assert live.look(clear_ms=MARGIN_MS) == [
        (52_250, "Next: exercise 2."),
        (53_900, "Left side first."),
        (55_550, "Eight kilos."),
    ]


def test_sentences_ready_before_the_first_of_them_is_due_are_said_when_they_are_due():
    """A home whose words are cached: ready a moment after the session began."""
    live = LiveFacts(*REST, soundtrack=replace(FULL, phrases={}), get_ready_ms=10_000)
    live.go(300)
    live.soundtrack = FULL
    first = FULL.whole(live.engine.plan)[0]
    assert live.look(clear_ms=MARGIN_MS)[0] == (first.at_ms, first.name)


def test_a_sentence_heard_whole_is_not_said_again_when_others_become_ready():
    one = replace(FULL, phrases={"Next: exercise 2.": Spoken("a", 1_500)})
    live = LiveFacts(*REST, soundtrack=one)
    live.go(52_500)
    live.soundtrack = FULL
    names = [name for _, name in live.look(clear_ms=MARGIN_MS)]
    assert names == ["Left side first.", "Eight kilos."]


def test_called_steps_go_on_after_the_words_of_before():
    """A pause must not make the steps begin while words are still due."""
    drill = Drill("called-step", "Step to the call")
    live = LiveFacts(replace(REST[0], drill=drill), REST[1], recover_ms=30_000)
    live.go(60_000)
    live.do(Do.PAUSE)
    live.engine.advance(61_000)
    live.do(Do.RESUME)
    heard = live.telling.upcoming(FULL, live.engine, 12_000)
    steps = [h for h in heard if h.layer is Layer.PACING]
    assert steps
    assert not [h for h in heard if h.layer is Layer.VOICE]


@pytest.mark.parametrize(
    ("at_ms", "sounding"), [(52_000, True), (45_000, False), (50_500, True)]
)
def test_it_tells_whether_something_sounds(at_ms, sounding):
    live = LiveFacts(*REST)
    live.go(at_ms)
    assert live.telling.plays_at(at_ms) is sounding


@FEW
@given(
    plans(most_stations=3, most_loops=2),
    st.lists(
        st.tuples(
            st.sampled_from([Do.PAUSE, Do.RESUME, Do.LONGER, Do.NEXT, Do.BACK]),
            st.integers(0, 9_000),
        ),
        max_size=12,
    ),
)
def test_no_sentence_is_heard_whole_twice_in_a_visit(made, moves):
    """Whatever is pressed when; and the rules of the first count hold as well."""
    engine, telling = Engine(made), CueFilter()
    engine.start()
    whole: dict[int, list[str]] = {}
    pending: set = set()

    def look(*, clear_ms=None):
        nonlocal pending
        if clear_ms is not None:
            pending = set()
        pending |= set(telling.upcoming(FULL, engine, 12_000, clear_ms=clear_ms))
        over = {h for h in pending if h.at_ms + h.length_ms <= engine.t_ms}
        for heard in over:
            if heard.layer is Layer.VOICE and not made.segments[engine.index].until_key:
                whole.setdefault(engine.visit, []).append(heard.name)
        pending -= over

    look()
    for do, wait_ms in [*moves, (Do.RESUME, 30_000)]:
        for _ in range(wait_ms // 250):
            if engine.mode is Mode.ENDED:
                break
            engine.advance(engine.t_ms + 250)
            look()
        try:
            engine.handle(do, engine.t_ms)
        except CommandRejected:
            continue
        look(clear_ms=AFTER_TONE_MS)
    for text in whole.values():
        assert len(text) == len(set(text))
