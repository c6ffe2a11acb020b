"""What is heard of a plan, undisturbed and with keys pressed: rules over all plans."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.sound.listening import EveryPhrase, Listening, Spoken
from tests.support.plans import FEW, LEFT_RIGHT, MODERATE, circuits, plan, station

from whistlestop.domain.circuit.circuit import Drill
from whistlestop.domain.plan.cues import LENGTH_MS
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan, plan_document
from whistlestop.domain.tempo import parse_tempo
from whistlestop.engine.commands import Do
from whistlestop.engine.engine import Engine
from whistlestop.engine.states import Mode
from whistlestop.engine.track import Track
from whistlestop.errors import CommandRejected
from whistlestop.sound.cues import PACE
from whistlestop.sound.soundtrack import DrillSounds, Heard, Layer, Soundtrack
from whistlestop.sound.spoken_pair import Addressee

DRILLS = DrillSounds(
    key_points={"stand": "Eyes on one spot.", "rope": "Low and quiet."},
    beats_per_minute={"rope": 120},
)
CALLED = Drill("called-step", "Step to the call")
ROPE = Drill("rope", "Easy rope bounce")
FAR_MS = 14_400_000


FULL = Soundtrack(phrases=EveryPhrase(), drills=DRILLS, seed=11)
BARE = Soundtrack(paced=False)
TEMPOS = st.sampled_from([None, "3-1-1-0", "2-0-1-1", "1-0-1-0", "hold", "1-0-X-0"])


@st.composite
def heard_plans(draw):
    """Plans of whole seconds in which stations are paced and drills heard."""
    drawn = draw(circuits(most_stations=3, most_loops=3))
    made = []
    for one in drawn.stations:
        tempo = draw(TEMPOS)
        drill = draw(st.sampled_from([one.drill, CALLED, ROPE]))
        made.append(replace(one, tempo=tempo and parse_tempo(tempo), drill=drill))
    return compile_plan(replace(drawn, stations=tuple(made)))


def end_ms(one):
    return one.at_ms + one.length_ms


def overlap(one, other):
    return one.at_ms < end_ms(other) and other.at_ms < end_ms(one)


def of(heard, *layers):
    return [one for one in heard if one.layer in layers]


def names(heard, *layers):
    return [(one.at_ms, one.name) for one in of(heard, *(layers or Layer))]


def assert_nothing_greater_is_overlaid(heard):
    """Neither is anything spoken over, nor do two sentences meet."""
    lesser = of(heard, Layer.PACING, Layer.VOICE)
    for one in lesser:
        for other in heard:
            if other.layer < one.layer or (other.layer == one.layer and other != one):
                assert not overlap(one, other), (one, other)


class TestUndisturbed:
    @MODERATE
    @given(heard_plans())
    def test_cues_are_exactly_those_of_the_plan(self, made):
        """`plan --json` lists them by an account that knows no soundtrack."""
        expected = sorted(
            (cue["at_ms"], cue["cue"])
            for segment in plan_document(made)["segments"]
            for cue in segment["cues"]
        )
        assert sorted(names(FULL.whole(made), Layer.CUE)) == expected
        assert sorted(names(BARE.whole(made))) == expected

    @MODERATE
    @given(heard_plans())
    def test_nothing_sounds_over_what_is_greater(self, made):
        assert_nothing_greater_is_overlaid(FULL.whole(made))

    @MODERATE
    @given(heard_plans())
    def test_the_first_count_is_half_a_second_after_the_last_word(self, made):
        for index, segment in enumerate(made.segments):
            if segment.until_key:
                continue
            heard = FULL.segment(Track(made), index, 1)
            last = max((end_ms(one) for one in of(heard, Layer.VOICE)), default=0)
            counts = [one.at_ms for one in heard if one.name == "count"]
            if last:
                assert last + 500 <= min([*counts, segment.duration_ms])

    @MODERATE
    @given(heard_plans())
    def test_nothing_is_spoken_in_less_than_five_seconds(self, made):
        for index, segment in enumerate(made.segments):
            heard = FULL.segment(Track(made), index, 1)
            if segment.duration_ms < 5_000 and not segment.until_key:
                assert of(heard, Layer.VOICE) == []

    @MODERATE
    @given(heard_plans())
    def test_only_sentences_that_were_rendered_ahead_are_said(self, made):
        ahead = FULL.sentences(made)
        text = {one.name for one in of(FULL.whole(made), Layer.VOICE)}
        assert text <= set(ahead)

    @MODERATE
    @given(heard_plans())
    def test_lengths_are_those_of_the_sounds(self, made):
        lengths = {name.value: ms for name, ms in LENGTH_MS.items()}
        lengths |= {name: cue.length_ms for name, cue in PACE.items()}
        for one in FULL.whole(made):
            if one.layer is not Layer.VOICE:
                assert one.length_ms == lengths[one.name]

    @FEW
    @given(heard_plans())
    def test_the_same_seed_gives_the_same_session(self, made):
        assert FULL.whole(made) == replace(FULL).whole(made)

    def test_without_phrases_and_pacing_only_cues_are_left(self):
        made = plan(station(1, tempo=parse_tempo("3-1-1-0"), drill=CALLED), station(2))
        assert {one.layer for one in BARE.whole(made)} == {Layer.CUE}

    def test_a_sentence_that_is_not_rendered_is_passed_over(self):
        """The rest keeps its order and begins where the missing one would have."""
        made = plan(station(1), station(2, load=None), recover_ms=20_000)
        some = replace(FULL, phrases={"Next: exercise 2.": Spoken("a", 900)})
        recover = next(
            i for i, s in enumerate(made.segments) if s.kind is SegmentKind.RECOVER
        )
        sentences = of(some.segment(Track(made), recover, 1), Layer.VOICE)
        assert [(one.at_ms, one.player_name) for one in sentences] == [(780, "a")]


class TestPaced:
    def made(self, tempo="3-1-1-0", **changes):
        return plan(station(1, tempo=parse_tempo(tempo), **changes))

    def beats(self, made, soundtrack=FULL):
        return [one for one in soundtrack.whole(made) if one.layer is Layer.PACING]

    def test_eight_repetitions_of_3_1_1_0_in_40_s(self):
        """Eight lifts; `go` and `ten` stand in for the lowerings they fall on."""
        beats = [beat.name for beat in self.beats(self.made())]
        assert beats.count("pace_up") == beats.count("pace_hold") == 8
        assert beats.count("pace_down") == 8 - 2
        beats = self.beats(self.made())
        assert {(b.at_ms - 10_000) % 5_000 for b in beats} == {0, 3_000, 4_000}

    def test_pacing_begins_anew_on_the_other_side(self):
        """20 s a side: four repetitions and four (trade check 25)."""
        beats = self.beats(self.made(parts=LEFT_RIGHT))
        ups = [b.at_ms - 10_000 for b in beats if b.name == "pace_up"]
        assert ups == [4_000, 9_000, 14_000, 19_000, 24_000, 29_000, 34_000, 39_000]
        odd = self.beats(self.made(parts=LEFT_RIGHT, work_ms=44_000))
        ups = [b.at_ms - 10_000 for b in odd if b.name == "pace_up"]
        assert ups == [4_000, 9_000, 14_000, 19_000, 26_000, 31_000, 36_000, 41_000]

    def test_a_beat_that_would_sound_over_a_cue_is_left_out_alone(self):
        """`ten` at 30 s takes the lowering's place, as a greater one does."""
        beats = names(self.beats(self.made()))
        assert (40_000, "pace_down") not in beats
        assert (35_000, "pace_down") in beats
        assert (45_000, "pace_down") in beats

    def test_a_station_can_be_left_without_pacing(self):
        made = plan(
            station(1, tempo=parse_tempo("3-1-1-0"), paced=False),
            station(2, tempo=parse_tempo("2-0-1-1")),
        )
        beats = self.beats(made)
        second = next(s for s in made.segments if s.station == 2)
        assert beats
        assert min(b.at_ms for b in beats) >= second.start_ms

    def test_get_ready_leaves_the_voice_a_moment_to_be_ready(self):
        """The very first sentence is still being rendered as the session begins."""
        made = plan(station(1), get_ready_ms=10_000)
        text = of(FULL.whole(made), Layer.VOICE)
        assert (text[0].at_ms, text[0].name) == (1_500, "First: exercise 1.")
        short = plan(station(1), get_ready_ms=6_000)
        assert of(FULL.whole(short), Layer.VOICE)[0].at_ms == 150

    def test_all_pacing_can_be_switched_off(self):
        assert self.beats(self.made(), replace(FULL, paced=False)) == []

    def test_a_tempo_nobody_can_read_is_no_tempo(self):
        made = self.made()
        card = replace(made.stations[0], tempo="fast")
        assert self.beats(replace(made, stations=(card,))) == []

    def test_the_side_is_told_even_between_close_beats(self):
        """Beats each second leave room for the shortest way to say it only."""
        for tempo, way in (
            ("1-0-1-0", "Right."),
            ("2-0-1-1", "Right side."),
            ("3-1-1-0", "Switch: right side."),
        ):
            made = self.made(tempo, parts=LEFT_RIGHT)
            second = [i for i, s in enumerate(made.segments) if s.part][1]
            heard = FULL.segment(Track(made), second, 1)
            assert [one.name for one in of(heard, Layer.VOICE)] == [way]

    def test_a_rope_drill_has_its_beat_after_the_words_and_before_the_count(self):
        made = plan(station(1, drill=ROPE), station(2), recover_ms=20_000)
        recover = next(
            i for i, s in enumerate(made.segments) if s.kind is SegmentKind.RECOVER
        )
        heard = FULL.segment(Track(made), recover, 1)
        beats = [one.at_ms for one in heard if one.name == "beat"]
        words = max(end_ms(one) for one in of(heard, Layer.VOICE))
        assert words < beats[0] < words + 500
        assert {b - a for a, b in pairwise(beats)} == {500}
        assert 15_900 <= beats[-1] <= 16_500

    def test_steps_are_called_by_the_seed_and_the_visit(self):
        made = plan(station(1, drill=CALLED), station(2), recover_ms=30_000)
        recover = next(
            i for i, s in enumerate(made.segments) if s.kind is SegmentKind.RECOVER
        )
        first = FULL.segment(Track(made), recover, 3)
        steps = [one.name for one in of(first, Layer.PACING)]
        assert len(steps) >= 5
        assert all(name.startswith("step_") for name in steps)
        assert FULL.segment(Track(made), recover, 3) == first
        assert FULL.segment(Track(made), recover, 4) != first
        assert replace(FULL, seed=12).segment(Track(made), recover, 3) != first


class TestLive:
    @FEW
    @given(
        heard_plans(),
        st.lists(st.integers(1, 11_999), max_size=20),
        st.integers(2_000, 11_999),
    )
    def test_looks_ahead_stitched_together_are_the_whole(self, made, steps, rest):
        """At whatever moments it looks, 12 s ahead each time; gates open at once."""
        live = Listening(FULL, made, count_in_ms=0)
        while live.engine.mode is not Mode.ENDED:
            if live.engine.at_gate:
                live.do(Do.NEXT)
                continue
            step = steps.pop() if steps else rest
            # A gate opens at once: time must not run on in front of it.
            live.engine.advance(min(live.engine.t_ms + step, live.engine.next_due()))
            live.look()
        assert sorted(live.heard) == list(FULL.whole(made))

    @MODERATE
    @given(heard_plans(), st.integers(0, 300_000), st.integers(0, 60_000))
    def test_a_pause_moves_all_that_comes_and_loses_only_what_had_begun(
        self, made, at_ms, pause_ms
    ):
        """Nothing but what the tone of going on sounds over is missing."""
        at_ms %= made.total_ms
        engine = Engine(made)
        engine.start()
        engine.advance(at_ms)
        assume(engine.mode is Mode.RUNNING and not engine.at_gate)
        before = FULL.upcoming(engine, FAR_MS)
        engine.handle(Do.PAUSE, at_ms)
        assert FULL.upcoming(engine, FAR_MS) == ()
        engine.handle(Do.RESUME, at_ms + pause_ms)
        after = FULL.upcoming(engine, FAR_MS)
        shift = pause_ms + 3_000
        goes_on = at_ms + shift
        opening = [
            Heard(at_ms + pause_ms + 1_000, Layer.CUE, "count", 90),
            Heard(at_ms + pause_ms + 2_000, Layer.CUE, "count", 90),
        ]
        due = any(one.at_ms == at_ms for one in before)
        resume = Heard(goes_on, Layer.CUE, "resume", 600)
        opening += [] if due else [resume]
        moved = [replace(one, at_ms=one.at_ms + shift) for one in before]
        expected = [
            one for one in moved if one.layer is Layer.CUE or not overlap(one, resume)
        ]
        assert after == tuple(sorted([*opening, *expected]))

    @FEW
    @given(
        heard_plans(),
        st.lists(
            st.tuples(st.sampled_from(list(Do)), st.integers(0, 20_000)),
            min_size=1,
            max_size=15,
        ),
    )
    def test_whatever_keys_are_pressed_the_rules_hold(self, made, moves):
        """Cues are those the engine reports; nothing lesser sounds over them."""
        engine = Engine(made)
        engine.start()
        for do, wait_ms in moves:
            if engine.mode is Mode.ENDED:
                break
            try:
                engine.handle(do, engine.t_ms + wait_ms)
            except CommandRejected:
                continue
            heard = FULL.upcoming(engine, 30_000)
            assert_nothing_greater_is_overlaid(heard)
            assert all(engine.t_ms < one.at_ms <= engine.t_ms + 30_000 for one in heard)
            reported = [
                (event.t_ms, "count" if cue is None else cue.value)
                for event in engine.upcoming(30_000)
                if (cue := getattr(event, "cue", None)) is not None
                or event.seconds_left <= 3
            ]
            reported = [one for one in reported if one[0] > engine.t_ms]
            if engine.mode in (Mode.RUNNING, Mode.COUNT_IN):
                assert names(heard, Layer.CUE) == sorted(reported)
            else:
                assert heard == ()

    def started(self, *stations, at_ms, **changes):
        engine = Engine(plan(*stations, **changes))
        engine.start()
        engine.advance(at_ms)
        return engine

    def test_next_in_a_rest_leaves_the_count_and_no_text(self):
        engine = self.started(station(1), station(2), at_ms=52_000)
        assert of(FULL.upcoming(engine, 8_000), Layer.VOICE) == []
        engine.handle(Do.NEXT, 52_000)
        assert names(FULL.upcoming(engine, 4_000)) == [
            (53_000, "count"),
            (54_000, "count"),
            (55_000, "go"),
        ]

    def test_back_tells_again_what_was_told(self):
        engine = self.started(station(1), station(2, parts=LEFT_RIGHT), at_ms=71_000)
        engine.handle(Do.BACK, 71_000)
        heard = names(FULL.upcoming(engine, 50_000), Layer.VOICE)
        assert [name for _, name in heard] == ["Next: exercise 2.", "Left side first."]
        assert heard[0][0] > 71_000 + 40_000

    def test_a_sentence_cut_by_a_pause_is_not_said_in_half_or_late(self):
        engine = self.started(station(1), station(2, parts=LEFT_RIGHT), at_ms=52_300)
        told = names(FULL.upcoming(engine, 8_000), Layer.VOICE)
        assert told == [(52_430, "Left side first.")]
        engine.handle(Do.PAUSE, 52_300)
        engine.handle(Do.RESUME, 60_000)
        told = names(FULL.upcoming(engine, 8_000), Layer.VOICE)
        # 130 ms after going on lies within the tone that tells it.
        assert told == []

    def test_a_cue_that_sounded_at_the_moment_of_a_pause_is_not_told_twice(self):
        engine = self.started(station(1), at_ms=40_000)
        assert engine.fired[-1].cue.value == "ten"
        engine.handle(Do.PAUSE, 40_000)
        engine.handle(Do.RESUME, 50_000)
        names_now = [name for _, name in names(FULL.upcoming(engine, 5_000))]
        assert names_now == ["count", "count", "resume"]

    def test_at_a_gate_words_come_once_and_nothing_after_them(self):
        engine = self.started(
            station(1), station(2), loops=2, break_until_key=True, at_ms=109_000
        )
        heard = FULL.upcoming(engine, 30_000)
        assert [name for _, name in names(heard)] == [
            "loop_end",
            "How hard was that loop?",
            "Last loop.",
            "Next: exercise 1.",
            "Waiting for a key.",
        ]
        engine.advance(112_000)
        assert engine.at_gate
        assert FULL.upcoming(engine, 30_000) == ()

    @pytest.mark.parametrize("mode", [Mode.READY, Mode.PAUSED, Mode.ENDED])
    def test_while_no_time_runs_nothing_is_heard(self, mode):
        engine = Engine(plan(station(1)))
        if mode is not Mode.READY:
            engine.start()
            do = Do.PAUSE if mode is Mode.PAUSED else Do.STOP
            engine.handle(do, 1_000)
        assert engine.mode is mode
        assert FULL.upcoming(engine, 30_000) == ()


@FEW
@given(
    plan=heard_plans(),
    acts=st.lists(
        st.tuples(
            st.integers(0, 90_000),
            st.sampled_from([Do.SKIP, Do.SKIP, Do.NEXT, Do.DROP_LOOP, Do.PAUSE]),
        ),
        max_size=8,
    ),
)
def test_every_sentence_can_be_listed_whatever_was_dropped(plan, acts):
    """The voice prepares for the whole way, at a resume and after a swap.

    What was dropped is prepared for as well: the drop can be undone.
    """
    engine = Engine(plan)
    engine.start()
    for ms, act in acts:
        with suppress(CommandRejected):
            engine.handle(act, engine.t_ms + ms)
        whole = FULL.sentences(plan)
        assert set(FULL.sentences(plan, engine.track)) >= {
            text for text in whole if text.startswith("First: ")
        }
        two = replace(FULL, people=(Addressee("One"), Addressee("Two", plan)))
        assert two.sentences(plan, engine.track)
