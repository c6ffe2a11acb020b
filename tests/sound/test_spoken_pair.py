"""What two hear: who is meant, in six words, over no tone, in the time there is."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.sound.listening import EveryPhrase
from tests.support.plans import FEW, LEFT_RIGHT, circuit, circuits, station
from tests.support.recording_sound import RecordingSound

from whistlestop.domain.circuit.circuit import Drill
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.pairing import paired_plans
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.tempo import parse_tempo
from whistlestop.driver.session_audio import AudioChoices, SessionAudio
from whistlestop.engine.track import Track
from whistlestop.errors import MisfitError
from whistlestop.sound.soundtrack import DrillSounds, Layer, Soundtrack
from whistlestop.sound.spoken_pair import Addressee, spoken_to

ROW = {"call_name": "ONE-ARM ROW", "parts": LEFT_RIGHT, "load": parse_load("16 kg")}


def two(*stations, names=("You", "Robin"), own=None, offset=1, **changes):
    """The owner's plan and how the two are spoken to."""
    made = circuit(*stations, **{"last_recover": "keep", **changes})
    first, second = paired_plans(made, offset, ({}, own or {}))
    return first, (Addressee(names[0]), Addressee(names[1], second))


def said(first, people, kind, nth=0):
    places = [i for i, s in enumerate(first.segments) if s.kind is kind]
    return [ways[0] for ways in spoken_to(people, Track(first), places[nth])]


def test_each_is_told_by_name_what_comes_then_the_sides_then_the_loads():
    first, people = two(
        station(1, call_name="GOBLET SQUAT"),
        station(2, **ROW, drill=Drill("stand", "One-leg stand")),
        own={"exercise-2": parse_load("8 kg")},
    )
    assert said(first, people, SegmentKind.GET_READY) == [
        "You: goblet squat.",
        "Robin: one arm row.",
        "Robin: left side first.",
        "Robin: eight kilos.",
    ]
    assert said(first, people, SegmentKind.RECOVER) == [
        "You: one arm row.",
        "Robin: goblet squat.",
        "You: left side first.",
        "You: sixteen kilos.",
        "Robin: One-leg stand.",
    ]


def test_a_switch_names_the_side_of_both_in_one_sentence():
    first, people = two(station(1, parts=LEFT_RIGHT, lead="fixed"), station(2, **ROW))
    # In both slots both change sides alike: one sentence for all.
    assert said(first, people, SegmentKind.WORK, 1) == ["Switch: right side."]
    apart, people = two(
        station(1, parts=("right", "left"), lead="fixed"), station(2, **ROW)
    )
    assert said(apart, people, SegmentKind.WORK, 1) == ["You left, Robin right."]
    one, people = two(station(1), station(2, **ROW))
    assert said(one, people, SegmentKind.WORK, 1) == ["Robin: right side."]
    assert said(one, people, SegmentKind.WORK, 0) == []


def test_in_a_changeover_it_is_said_there_and_not_again():
    first, people = two(station(1), station(2, **ROW, changeover_ms=6_000))
    assert said(first, people, SegmentKind.CHANGEOVER) == ["Robin: right side."]
    assert said(first, people, SegmentKind.WORK, 1) == []


def test_a_break_asks_both_at_once_and_says_that_the_last_loop_comes():
    first, people = two(station(1), station(2), loops=2, loop_break_ms=60_000)
    assert said(first, people, SegmentKind.LOOP_BREAK) == [
        "How hard was that loop?",
        "Last loop.",
        "You: exercise 1.",
        "Robin: exercise 2.",
    ]


def test_a_figure_is_never_cut_by_a_name():
    first, people = two(
        station(1),
        station(2, load=parse_load("2 x 122.5 lb")),
        names=("You", "Anna Maria"),
    )
    assert said(first, people, SegmentKind.GET_READY) == [
        "You: exercise 1.",
        "Anna Maria: exercise 2.",
    ]


NAMES = st.sampled_from(["You", "Robin", "Anna Maria", "Ö", "A2"])


@st.composite
def pairs(draw):
    drawn = draw(circuits(most_stations=4, most_loops=2))
    try:
        first, second = paired_plans(drawn, draw(st.integers(1, 3)), ({}, {}))
    except MisfitError:
        assume(False)
    return first, (Addressee(draw(NAMES)), Addressee(draw(NAMES), second))


@FEW
@given(pairs())
def test_six_words_over_no_tone_and_in_time(pair):
    """By the rules of sound that hold for one athlete, too."""
    first, people = pair
    heard = Soundtrack(phrases=EveryPhrase(), people=people).whole(first)
    words = [one for one in heard if one.layer is Layer.VOICE]
    tones = [one for one in heard if one.layer is not Layer.VOICE]
    for one in words:
        assert len(one.name.split()) <= 6
        for tone in tones:
            end, tone_end = one.at_ms + one.length_ms, tone.at_ms + tone.length_ms
            assert end <= tone.at_ms or one.at_ms >= tone_end, (one, tone)
            if tone.name == "count" and one.at_ms < tone.at_ms:
                assert end + 500 <= tone.at_ms
    for index, segment in enumerate(first.segments):
        if segment.duration_ms < 5_000 and not segment.until_key:
            begin, end = segment.start_ms, segment.start_ms + segment.duration_ms
            assert not [one for one in words if begin <= one.at_ms < end], index


@FEW
@given(pairs())
def test_only_sentences_that_were_rendered_ahead_are_said(pair):
    first, people = pair
    track = Soundtrack(phrases=EveryPhrase(), people=people)
    ahead = set(track.sentences(first))
    assert {one.name for one in track.whole(first) if one.layer is Layer.VOICE} <= ahead
    assert all(len(text.split()) <= 6 for text in ahead)


def test_a_long_enough_recovery_names_both():
    first, people = two(station(1), station(2), recover_ms=15_000)
    heard = Soundtrack(phrases=EveryPhrase(), people=people).whole(first)
    names = [one.name for one in heard if one.layer is Layer.VOICE]
    assert names.count("You: exercise 2.") == 1
    assert names.count("Robin: exercise 1.") == 1


def test_nothing_is_paced_for_two_since_it_would_be_ones_own_pace():
    stations = (station(1, tempo=parse_tempo("3-1-1-0")), station(2))
    first, people = two(*stations)
    alone = Soundtrack(paced=True).whole(first)
    together = Soundtrack(paced=True, people=people).whole(first)
    assert [one for one in alone if one.layer is Layer.PACING]
    assert [one for one in together if one.layer is Layer.PACING] == []
    # The tones are the same: they are the clock's.
    assert [one for one in alone if one.layer is Layer.CUE] == [*together]


class AskedFor:
    """A voice that keeps what it is asked to render."""

    def __init__(self):
        self.texts = []

    def start(self, texts):
        self.texts += texts

    def ready(self):
        return {}

    def close(self):
        pass


@pytest.mark.parametrize("is_pair", [True, False])
def test_a_session_of_two_asks_the_voice_for_names(is_pair):
    first, people = two(station(1), station(2))
    voice = AskedFor()
    session_audio = SessionAudio(
        RecordingSound(),
        choices=AudioChoices(),
        drills=DrillSounds(),
        voice=voice,
        people=people if is_pair else (),
    )
    session_audio.prepare(Track(first))
    assert ("Robin: exercise 2." in voice.texts) is is_pair
    assert ("Next: exercise 2." in voice.texts) is not is_pair
