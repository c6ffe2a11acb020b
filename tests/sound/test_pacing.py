"""Pacing by ear: tempo, metronome and called steps, as beats in time."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.plan.parts import share_ms
from whistlestop.domain.tempo import parse_tempo
from whistlestop.library import drills
from whistlestop.sound.cues import PACE
from whistlestop.sound.pacing import (
    TempoBeat,
    called_steps,
    metronome_beats,
    tempo_beats,
)
from whistlestop.sound.soundtrack import CALLED_STEP

tempos = (
    st.tuples(*(st.integers(0, 9),) * 4)
    .filter(any)
    .map(lambda four: parse_tempo("-".join(map(str, four))))
)


def repetitions(tempo, part_ms):
    return Counter(beat.tone for beat in tempo_beats(parse_tempo(tempo), part_ms))


class TestTempo:
    def test_3_1_1_0_over_40_s_is_eight_repetitions(self):
        """3 + 1 + 1 + 0 = 5 s, and 40 / 5 = 8 (arithmetic; trade check 25)."""
        assert repetitions("3-1-1-0", 40_000) == {
            "pace_down": 8,
            "pace_hold": 8,
            "pace_up": 8,
        }

    def test_two_sides_of_20_s_are_four_and_four(self):
        """40 s in two parts without a changeover (arithmetic; trade check 25)."""
        part_ms, changeovers = share_ms(40_000, 2, 0)
        assert (part_ms, changeovers) == (20_000, [0])
        assert repetitions("3-1-1-0", part_ms)["pace_down"] == 4

    def test_each_phase_begins_when_the_one_before_is_over(self):
        beats = tempo_beats(parse_tempo("3-1-1-0"), 12_000)
        assert [(beat.at_ms, beat.tone) for beat in beats] == [
            (0, "pace_down"),
            (3_000, "pace_hold"),
            (4_000, "pace_up"),
            (5_000, "pace_down"),
            (8_000, "pace_hold"),
            (9_000, "pace_up"),
        ]

    def test_the_pause_at_the_top_is_a_hold_as_well(self):
        beats = tempo_beats(parse_tempo("2-0-1-1"), 4_000)
        assert [(beat.at_ms, beat.tone) for beat in beats] == [
            (0, "pace_down"),
            (2_000, "pace_up"),
            (3_000, "pace_hold"),
        ]

    @pytest.mark.parametrize("tempo", ["hold", "flow", "X", "2-0-X-0"])
    def test_what_fixes_no_repetition_has_no_beats(self, tempo):
        assert tempo_beats(parse_tempo(tempo), 40_000) == ()

    def test_a_repetition_that_does_not_fit_whole_is_not_begun(self):
        assert tempo_beats(parse_tempo("3-1-1-0"), 4_999) == ()
        assert len(tempo_beats(parse_tempo("3-1-1-0"), 9_999)) == 3

    @MODERATE
    @given(tempos, st.integers(0, 120_000))
    def test_every_tempo_is_followed_exactly(self, tempo, part_ms):
        """Lowerings a repetition apart, holds and lifts where the figures say."""
        repetition = 1000 * sum(tempo.phases_s)
        down, bottom, up, top = (1000 * s for s in tempo.phases_s)
        expected = set()
        for number in range(part_ms // repetition):
            at_ms = number * repetition
            expected |= {(at_ms, "pace_down")} if down else set()
            expected |= {(at_ms + down, "pace_hold")} if bottom else set()
            expected |= {(at_ms + down + bottom, "pace_up")} if up else set()
            at_top = at_ms + down + bottom + up
            expected |= {(at_top, "pace_hold")} if top else set()
        beats = tempo_beats(tempo, part_ms)
        assert {(beat.at_ms, beat.tone) for beat in beats} == expected
        assert len(beats) == len(expected)
        assert list(beats) == sorted(beats)


class TestMetronome:
    def test_120_a_minute_is_every_half_second(self):
        beats = metronome_beats(120, 1_000, 3_000)
        assert [beat.at_ms for beat in beats] == [1_000, 1_500, 2_000, 2_500]

    def test_rounding_never_adds_up(self):
        """130 a minute is 461.538... ms; after a minute it is 130 all the same."""
        beats = metronome_beats(130, 0, 600_001)
        assert beats[130].at_ms == 60_000
        assert beats[1300].at_ms == 600_000
        assert {b.at_ms - a.at_ms for a, b in pairwise(beats)} == {461, 462}

    @MODERATE
    @given(st.integers(20, 240), st.integers(0, 9_999), st.integers(0, 60_000))
    def test_all_beats_lie_in_the_stretch(self, rate, begin_ms, length_ms):
        end_ms = begin_ms + length_ms
        beats = metronome_beats(rate, begin_ms, end_ms)
        assert all(begin_ms <= beat.at_ms < end_ms for beat in beats)
        assert len(beats) == -(-length_ms * rate // 60_000)

    @pytest.mark.parametrize("rate", [19, 241, 0, -1])
    def test_other_rates_are_refused(self, rate):
        with pytest.raises(ValueError, match="20 to 240"):
            metronome_beats(rate, 0, 1_000)

    def test_every_drill_that_ships_beats_at_a_rate_that_is_taken(self):
        rates = [d.metronome_per_minute for d in drills().values()]
        assert sum(rate is not None for rate in rates) >= 8
        for rate in filter(None, rates):
            assert metronome_beats(rate, 0, 10_000)


class TestCalledSteps:
    def test_the_drill_that_is_called_is_in_the_library(self):
        assert CALLED_STEP in drills()

    def test_a_seed_calls_the_same_for_ever(self):
        """Known answer, written down when it was made: a journal replays by it."""
        assert called_steps(20_310, 3, 5_000, 20_000) == (
            TempoBeat(7_493, "step_front"),
            TempoBeat(9_476, "step_left"),
            TempoBeat(12_538, "step_right"),
            TempoBeat(14_477, "step_back"),
            TempoBeat(16_947, "step_front"),
            TempoBeat(19_180, "step_back"),
        )

    def test_another_seed_or_visit_calls_otherwise(self):
        made = {called_steps(s, v, 0, 30_000) for s in range(3) for v in range(3)}
        assert len(made) == 9

    @MODERATE
    @given(st.integers(0, 10**6), st.integers(1, 500), st.integers(0, 90_000))
    def test_never_twice_running_and_never_too_soon(self, seed, visit, length_ms):
        beats = called_steps(seed, visit, 2_000, 2_000 + length_ms)
        times = [2_000, *(beat.at_ms for beat in beats)]
        assert all(1_800 <= b - a <= 3_200 for a, b in pairwise(times))
        assert all(a.tone != b.tone for a, b in pairwise(beats))
        assert all(beat.tone in PACE for beat in beats)
        assert all(beat.at_ms < 2_000 + length_ms for beat in beats)
        assert length_ms - (times[-1] - 2_000) <= 3_200

    def test_all_four_are_called_about_equally_often(self):
        """Over 4,000 calls each is within a tenth of a quarter (fixed seeds)."""
        called = Counter(
            beat.tone
            for visit in range(1, 201)
            for beat in called_steps(7, visit, 0, 52_000)
        )
        assert sum(called.values()) > 4_000
        assert set(called) == {"step_left", "step_right", "step_front", "step_back"}
        quarter = sum(called.values()) / 4
        assert all(abs(count - quarter) < 0.1 * quarter for count in called.values())
