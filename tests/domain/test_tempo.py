"""Tempo: seconds for lowering, pause, lifting, pause."""

from __future__ import annotations

import pytest

from whistlestop.domain.tempo import parse_tempo


def test_three_one_one_nought_gives_eight_repetitions_in_forty_seconds():
    # Arithmetic: 3 + 1 + 1 + 0 = 5 s a repetition.
    tempo = parse_tempo("3-1-1-0")
    assert tempo.repetition_ms == 5_000
    assert tempo.repetitions_in(40_000) == 8
    assert tempo.repetitions_in(20_000) == 4


def test_a_repetition_that_is_not_finished_does_not_count():
    tempo = parse_tempo("3-1-1-0")
    assert tempo.repetitions_in(24_999) == 4
    assert tempo.repetitions_in(25_000) == 5
    assert tempo.repetitions_in(4_999) == 0


@pytest.mark.parametrize("typed", ["2-0-X-0", "x-0-1-0", "hold", "Flow", "X", "x"])
def test_a_tempo_without_fixed_seconds_counts_no_repetitions(typed):
    tempo = parse_tempo(typed)
    assert tempo.repetition_ms is None
    assert tempo.repetitions_in(40_000) is None


@pytest.mark.parametrize(
    ("typed", "shown"),
    [("3-1-1-0", "3-1-1-0"), (" HOLD ", "hold"), ("x", "X"), ("2-0-x-0", "2-0-X-0")],
)
def test_a_tempo_is_shown_in_one_spelling(typed, shown):
    assert str(parse_tempo(typed)) == shown
    assert str(parse_tempo(shown)) == shown


@pytest.mark.parametrize(
    "typed",
    ["", "3-1-1", "3-1-1-0-0", "3110", "a-b-c-d", "-1-1-1-1", "100-0-0-0", "3 1 1 0"],
)
def test_what_is_no_tempo_is_refused(typed):
    with pytest.raises(ValueError, match="expected"):
        parse_tempo(typed)


def test_a_tempo_of_no_length_is_refused():
    with pytest.raises(ValueError, match="at least one second"):
        parse_tempo("0-0-0-0")
