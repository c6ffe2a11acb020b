"""Heart-rate load: a worked example, what is refused, and that it enters no sum."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.review.heart import (
    Heart,
    heart_json,
    heart_load,
    heart_of,
    heart_text,
    parse_heart,
)

HEART = Heart(150, 60, 190)
LENGTH_MS = 45 * 60_000


def test_heart_rate_load_by_the_published_formula() -> None:
    """Banister 1991 and Morton 1990, second-hand; the values are computed apart."""
    assert HEART.reserve_share == pytest.approx(0.692308, abs=5e-7)
    for weights, k, load in (("men", 2.41801, 75.330), ("women", 2.73281, 85.138)):
        found = heart_load(HEART, LENGTH_MS, weights)
        assert found == pytest.approx(load, abs=5e-4)
        assert found / 45 / HEART.reserve_share == pytest.approx(k, abs=5e-6)


def test_at_rest_it_is_nothing_and_at_the_greatest_it_is_the_weight() -> None:
    """Algebra: x = 0 gives 0, x = 1 gives minutes x 0.64 e^1.92."""
    assert heart_load(Heart(60, 60, 190), LENGTH_MS, "men") == 0
    full = heart_load(Heart(190, 60, 190), 60_000, "men")
    assert full == pytest.approx(0.64 * math.exp(1.92))


@MODERATE
@given(st.integers(61, 189), st.sampled_from(["men", "women"]))
def test_a_higher_average_is_never_less(average: int, weights: str) -> None:
    low, high = (
        heart_load(Heart(rate, 60, 190), LENGTH_MS, weights)
        for rate in (average, average + 1)
    )
    assert low < high


@pytest.mark.parametrize(
    "rates", [(150, 190, 60), (200, 60, 190), (50, 60, 190), (150, 0, 190), (1, 2, 300)]
)
def test_rates_that_do_not_fit_together_are_refused(
    rates: tuple[int, int, int],
) -> None:
    with pytest.raises(ValueError, match=r"heart rate|average"):
        Heart(*rates)


def test_it_is_read_as_typed_and_the_average_alone_takes_the_last_rates() -> None:
    assert parse_heart("150/60/190") == HEART
    assert parse_heart("142", HEART) == Heart(142, 60, 190)
    assert parse_heart("142/", HEART) == Heart(142, 60, 190)
    for text in ("142", "1/2", "x/60/190", "150/60/190/1", ""):
        with pytest.raises(ValueError, match="such as 150/60/190"):
            parse_heart(text)


def test_what_the_diary_keeps_is_read_back_or_refused() -> None:
    assert heart_of(HEART.fields()) == HEART
    for value in (
        None,
        [150, 60, 190],
        {"average": 150},
        {**HEART.fields(), "max": "x"},
    ):
        with pytest.raises(ValueError, match="expected"):
            heart_of(value)


def test_its_words_say_the_scale_and_both_weights() -> None:
    sentences = heart_text(HEART, LENGTH_MS)
    assert "75 with weights for men, 85 with weights for women" in sentences
    assert sentences.endswith("separate scale, not added to session load")
    assert heart_json(HEART, LENGTH_MS) == {
        "average": 150,
        "rest": 60,
        "max": 190,
        "load_men": 75.33,
        "load_women": 85.14,
    }
    assert heart_json(None, LENGTH_MS) is None
