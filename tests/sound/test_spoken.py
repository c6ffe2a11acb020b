"""What is said: words, order, and what becomes of names from anybody's files."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import LEFT_RIGHT, MODERATE, THREE_PARTS, plan, plans, station

from whistlestop.domain.circuit.circuit import Drill, LoopChange, TimedItem
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.text import first_hostile, fold_call_name
from whistlestop.engine.commands import Do
from whistlestop.engine.engine import Engine
from whistlestop.engine.track import Track
from whistlestop.errors import CommandRejected
from whistlestop.library import CAUTIONS, drills, exercises
from whistlestop.library.cards import cards
from whistlestop.sound.soundtrack import DrillSounds, Soundtrack
from whistlestop.sound.spoken import (
    Drills,
    load_text,
    number_text,
    sentence,
    spoken_in,
)

STAND = Drill("stand", "Stand on one leg")
POINTS = Drills({"stand": "Eyes on one spot."})


def said(made, kind, number=0, *, track=None, first_time=True):
    """What is said in the n-th segment of a kind; the fullest way of each."""
    found = [i for i, s in enumerate(made.segments) if s.kind is kind]
    sayings = spoken_in(
        track or Track(made), found[number], POINTS, first_time=first_time
    )
    return [ways[0] for ways in sayings]


# An account of its own of how English says a number, as a table of words to values.
VALUES = {
    "zero": 0,
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "nine": 9,
    "ten": 10,
    "eleven": 11,
    "twelve": 12,
    "thirteen": 13,
    "fourteen": 14,
    "fifteen": 15,
    "sixteen": 16,
    "seventeen": 17,
    "eighteen": 18,
    "nineteen": 19,
    "twenty": 20,
    "thirty": 30,
    "forty": 40,
    "fifty": 50,
    "sixty": 60,
    "seventy": 70,
    "eighty": 80,
    "ninety": 90,
}


def heard_as_number(words):
    """The number a listener writes down."""
    whole, _, decimals = words.partition(" point ")
    value = 0
    for word in whole.replace("-", " ").split():
        value = value * 100 if word == "hundred" else value + VALUES[word]
    digits = "".join(str(VALUES[word]) for word in decimals.split())
    return f"{value}.{digits}" if digits else f"{value}"


class TestNumbers:
    def test_every_number_to_999_is_understood_as_itself(self):
        for value in range(1000):
            assert heard_as_number(number_text(str(value))) == str(value)

    @MODERATE
    @given(st.integers(0, 999), st.integers(1, 999))
    def test_decimals_are_said_digit_by_digit(self, whole, thousandths):
        text = f"{whole}.{thousandths:03}".rstrip("0")
        assert heard_as_number(number_text(text)) == text

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("0", "zero"),
            ("8", "eight"),
            ("12.5", "twelve point five"),
            ("12.05", "twelve point zero five"),
            ("12.50", "twelve point five"),
            ("8.0", "eight"),
            ("21", "twenty-one"),
            ("40", "forty"),
            ("100", "one hundred"),
            ("305", "three hundred five"),
            ("999", "nine hundred ninety-nine"),
        ],
    )
    def test_figures(self, text, words):
        assert number_text(text) == words


class TestLoads:
    @pytest.mark.parametrize(
        ("load", "words"),
        [
            ("8 kg", "eight kilos"),
            ("1 kg", "one kilo"),
            ("1.0 kg", "one kilo"),
            ("1.5 kg", "one point five kilos"),
            ("2 x 8 kg", "two times eight kilos"),
            ("25 x 2 kg", "twenty-five times two kilos"),
            ("1 lb", "one pound"),
            ("18 lb", "eighteen pounds"),
            ("band: green", "green band"),
            ("122.5 lb", "one hundred twenty-two point five pounds"),
            # Eight words: how many goes, the figure and its unit stay.
            ("2 x 122.5 lb", "one hundred twenty-two point five pounds"),
            ("2 x 12.25 kg", "two times twelve point two five"),
            # Seven words even without a unit: rather nothing than half a figure.
            ("122.375 lb", ""),
        ],
    )
    def test_loads(self, load, words):
        assert load_text(parse_load(load)) == words

    @pytest.mark.parametrize(
        ("load", "words"),
        [
            ("8 kg", "now eight kilos"),
            ("2 x 8 kg", "now two times eight kilos"),
            ("band: red", "now red band"),
            ("2 x 12.5 kg", "two times twelve point five kilos"),
        ],
    )
    def test_a_change_is_said_where_it_fits(self, load, words):
        assert load_text(parse_load(load), changed=True) == words

    @MODERATE
    @given(st.integers(1, 99), st.integers(1, 200_000), st.sampled_from(["kg", "lb"]))
    def test_a_figure_is_never_cut(self, count, thousandths, unit):
        """Whatever is left out, the figure a listener writes down is the load's."""
        figure = f"{thousandths // 1000}.{thousandths % 1000:03}"
        try:
            load = parse_load(f"{count} x {figure} {unit}")
        except ValueError:
            return
        words = load_text(load, changed=True)
        assert sentence(words).rstrip(".").lower() == words
        if words:
            bare = words.removeprefix("now ").rpartition(" times ")[2]
            for name in ("kilos", "kilo", "pounds", "pound"):
                bare = bare.removesuffix(f" {name}")
            assert float(heard_as_number(bare)) == float(figure)


class TestSentences:
    @pytest.mark.parametrize(
        ("text", "heard"),
        [
            ("hips level", "Hips level."),
            ("How hard was that loop?", "How hard was that loop?"),
            ("Eyes on one spot, foot soft.", "Eyes on one spot, foot soft."),
            ("Hips level, long line from head to heel.", "Hips level."),
            ("Jump a little higher, turn the wrists", "Jump a little higher."),
            ("one two three four five of the last", "One two three four five."),
            ("  wide   gaps ", "Wide gaps."),
            ("", ""),
            (" , ; ", ""),
            ("…", ""),
            ("\x1b]0;title\x07", "]0;title."),
            ("row\nthen\tbench", "Row then bench."),
            ("\u202eevil", "Evil."),
            ("x" * 200, ""),
        ],
    )
    def test_sentences(self, text, heard):
        assert sentence(text) == heard

    @MODERATE
    @given(st.text(max_size=300))
    def test_any_text_becomes_at_most_six_harmless_text(self, text):
        heard = sentence(text)
        assert len(heard.split()) <= 6
        assert len(heard) <= 101
        assert first_hostile(heard) is None
        assert heard == "" or heard.endswith((".", "?", "!"))

    def test_every_key_point_and_every_caution_of_the_library_is_said_whole(self):
        texts = [drill.key_point for drill in drills().values()]
        texts += [one.key_point for one in cards().values()]
        texts += [
            words.live
            for caution in CAUTIONS.values()
            for words in (caution, *caution.others)
        ]
        for text in texts:
            assert sentence(text) == text

    def test_what_a_call_name_leaves_out_is_said(self):
        """The screen has fourteen letters, the ear needs the whole name."""
        for key, words in (
            ("assisted-pistol-squat", "Next: assisted pistol squat."),
            ("raised-split-squat", "Next: Bulgarian split squat."),
            ("one-leg-calf-raise", "Next: one leg calf raise."),
        ):
            call = exercises()[key].call_name
            made = plan(station(1), station(2, exercise=key, call_name=call))
            assert said(made, SegmentKind.RECOVER)[0] == words

    def test_a_call_name_of_ones_own_is_said_as_it_stands(self):
        made = plan(
            station(1),
            station(2, exercise="assisted-pistol-squat", call_name="DOOR SQUAT"),
        )
        assert said(made, SegmentKind.RECOVER)[0] == "Next: door squat."

    def test_every_name_of_the_library_is_said_whole(self):
        for one in exercises().values():
            text = f"Next: {one.spoken or one.call_name.lower().replace('-', ' ')}."
            assert sentence(text) == text, one.id


class TestSegments:
    def test_what_comes_its_side_its_load_then_the_drill(self):
        made = plan(
            station(1, drill=STAND),
            station(
                2,
                call_name="ONE-ARM ROW",
                parts=LEFT_RIGHT,
                load=parse_load("8 kg"),
            ),
        )
        assert said(made, SegmentKind.RECOVER) == [
            "Next: one arm row.",
            "Left side first.",
            "Eight kilos.",
            "Stand on one leg.",
            "Eyes on one spot.",
        ]

    def test_the_key_point_is_told_the_first_time_only(self):
        made = plan(station(1, drill=STAND), station(2))
        assert "Eyes on one spot." not in said(
            made, SegmentKind.RECOVER, first_time=False
        )

    def test_the_first_station_is_called_first(self):
        assert said(plan(station(1)), SegmentKind.GET_READY) == ["First: exercise 1."]

    def test_one_side_alone_is_no_first_side(self):
        made = plan(station(1), station(2, parts=("both",)))
        assert said(made, SegmentKind.RECOVER) == ["Next: exercise 2."]

    def test_the_other_side_leads_in_an_even_loop(self):
        made = plan(station(1, parts=LEFT_RIGHT), loops=2, loop_break_ms=60_000)
        assert "Left side first." in said(made, SegmentKind.GET_READY)
        assert "Right side first." in said(made, SegmentKind.LOOP_BREAK)

    def test_a_break_asks_and_tells_the_last_loop(self):
        made = plan(station(1), station(2), loops=3, loop_break_ms=60_000)
        asked = "How hard was that loop?"
        assert said(made, SegmentKind.LOOP_BREAK, 0) == [asked, "Next: exercise 1."]
        assert said(made, SegmentKind.LOOP_BREAK, 1) == [
            asked,
            "Last loop.",
            "Next: exercise 1.",
        ]

    def test_without_a_break_the_last_recovery_says_it(self):
        """The effort is asked there as well; see `segment_cues`."""
        made = plan(station(1), station(2), loops=2)
        assert said(made, SegmentKind.RECOVER, 0) == ["Next: exercise 2."]
        assert said(made, SegmentKind.RECOVER, 1) == [
            "Next: exercise 1.",
            "Last loop.",
            "How hard was that loop?",
        ]
        assert said(made, SegmentKind.RECOVER, 3) == ["How hard was that loop?"]

    def test_the_last_loop_is_the_last_that_is_left(self):
        """With the third loop dropped, the second is the last."""
        made = plan(station(1), loops=3, loop_break_ms=60_000)
        third = [i for i, s in enumerate(made.segments) if s.loop == 3]
        assert "Last loop." not in said(made, SegmentKind.LOOP_BREAK)
        shorter = Track(made).without(third)
        assert "Last loop." in said(made, SegmentKind.LOOP_BREAK, track=shorter)

    def test_a_load_that_changes_is_said_to(self):
        made = plan(
            station(1, load=parse_load("8 kg")),
            loops=2,
            loop_break_ms=60_000,
            loop_changes={2: LoopChange(load=parse_load("10 kg"))},
        )
        assert said(made, SegmentKind.LOOP_BREAK)[-1] == "Now ten kilos."

    def test_the_side_is_named_in_a_changeover_that_is_long_enough(self):
        """At 5 s it is said there and not again as the part begins."""
        made = plan(station(1, parts=LEFT_RIGHT, changeover_ms=5_000, work_ms=45_000))
        assert said(made, SegmentKind.CHANGEOVER) == ["Switch: right side."]
        assert said(made, SegmentKind.WORK, 1) == []

    @pytest.mark.parametrize("changeover_ms", [0, 3_000])
    def test_else_it_is_named_as_the_part_begins(self, changeover_ms):
        made = plan(
            station(1, parts=LEFT_RIGHT, changeover_ms=changeover_ms, work_ms=45_000)
        )
        assert said(made, SegmentKind.WORK, 0) == []
        assert said(made, SegmentKind.WORK, 1) == ["Switch: right side."]

    def test_a_third_part_is_named_too(self):
        made = plan(station(1, parts=THREE_PARTS, work_ms=60_000))
        assert said(made, SegmentKind.WORK, 2) == ["Switch: together."]

    def test_where_there_is_little_room_the_side_alone_is_said(self):
        made = plan(station(1, parts=LEFT_RIGHT))
        second = [i for i, s in enumerate(made.segments) if s.part][1]
        assert spoken_in(Track(made), second, POINTS) == (
            ("Switch: right side.", "Right side.", "Right."),
        )

    def test_items_of_the_warm_up_are_named(self):
        made = plan(
            station(1), warm_up=(TimedItem("Easy jog\x07 on the spot", 60_000),)
        )
        assert said(made, SegmentKind.WARM_UP) == ["Easy jog on the spot."]

    def test_a_break_until_a_key_tells_what_it_waits_for(self):
        made = plan(station(1), loops=2, break_until_key=True)
        assert said(made, SegmentKind.LOOP_BREAK) == [
            "How hard was that loop?",
            "Last loop.",
            "Next: exercise 1.",
            "Waiting for a key.",
        ]

    def test_a_hold_names_the_station_unless_the_rest_before_did(self):
        made = plan(station(1), station(2, hold=True))
        assert said(made, SegmentKind.HOLD) == ["Waiting for a key."]
        flowing = plan(station(1, recover_ms=0), station(2, hold=True))
        assert said(flowing, SegmentKind.HOLD) == [
            "Next: exercise 2.",
            "Waiting for a key.",
        ]

    def test_the_last_recovery_of_all_names_nothing(self):
        made = plan(station(1), recover_ms=5_000, last_recover="keep")
        assert said(made, SegmentKind.RECOVER) == []

    def test_a_load_nobody_can_read_is_passed_over(self):
        """A journal edited by hand may hold one; a session resumes all the same."""
        made = plan(station(1), station(2, load=parse_load("8 kg")))
        broken = replace(
            made,
            segments=tuple(
                replace(s, load="heavy") if s.load else s for s in made.segments
            ),
        )
        assert said(broken, SegmentKind.RECOVER) == ["Next: exercise 2."]


class TestNames:
    @pytest.mark.parametrize(
        ("name", "heard"),
        [
            ("Élan à côté", "Next: elan a cote."),
            ("one-arm row", "Next: one arm row."),
            ("\x1b[31mred\x1b[0m", "Next: 31mred 0m."),
            ("Straßenlauf", "Next: strassenlauf."),
        ],
    )
    def test_names_are_folded_before_they_are_said(self, name, heard):
        made = plan(station(1), station(2, call_name=fold_call_name(name)))
        assert said(made, SegmentKind.RECOVER)[0] == heard

    def test_a_name_of_many_words_keeps_the_first_five(self):
        made = plan(station(1), station(2, call_name="A B C D E F G"))
        assert said(made, SegmentKind.RECOVER) == ["Next: a b c d e."]


MOVES = st.lists(
    st.tuples(st.sampled_from(list(Do)), st.integers(0, 40_000)), max_size=12
)


class TestSentencesAhead:
    """What is rendered before the session must be all that is ever said in it."""

    @MODERATE
    @given(plans(most_stations=4, most_loops=3), MOVES)
    def test_they_contain_every_sentence_whatever_keys_are_pressed(self, made, moves):
        sounds = DrillSounds(key_points=POINTS.key_points)
        ahead = set(Soundtrack(drills=sounds).sentences(made))
        engine = Engine(made)
        engine.start()
        for do, wait_ms in moves:
            try:
                engine.handle(do, engine.t_ms + wait_ms)
            except CommandRejected:
                continue
            for first_time in (True, False):
                for ways in spoken_in(
                    engine.track, engine.index, POINTS, first_time=first_time
                ):
                    assert set(ways) <= ahead

    @MODERATE
    @given(plans())
    def test_none_is_longer_than_six_text(self, made):
        texts = Soundtrack().sentences(made)
        assert texts
        assert all(1 <= len(text.split()) <= 6 for text in texts)
        assert len(texts) == len(set(texts))
