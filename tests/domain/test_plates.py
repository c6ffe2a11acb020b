"""The plate solver against every way of loading a bar, tried one by one."""

from __future__ import annotations

from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.kit.plates import (
    MAX_WAYS,
    PlatePair,
    around,
    loadings,
    one_end_text,
    ways,
)
from whistlestop.domain.load import Load, parse_load

# Plates as sold for home bars, kg and lb (trade knowledge: common practice).
_PLATES = st.sampled_from(
    [
        "0.5 kg",
        "1 kg",
        "1.25 kg",
        "2.5 kg",
        "5 kg",
        "10 kg",
        "20 kg",
        "2.5 lb",
        "5 lb",
        "10 lb",
        "45 lb",
    ]
)
_PAIRS = st.lists(
    st.tuples(_PLATES, st.integers(1, 3)), max_size=4, unique_by=lambda pair: pair[0]
).map(lambda many: [PlatePair(parse_load(plate), pairs) for plate, pairs in many])
_BARS = st.decimals("1", "25", places=2)


def brute_force(bare_kg: Decimal, pairs: list[PlatePair]) -> dict[Decimal, int]:
    """Every total in kg with the fewest plates for it, by trying all counts."""
    found: dict[Decimal, int] = {}
    for counts in product(*(range(pair.pairs + 1) for pair in pairs)):
        total = bare_kg
        for count, pair in zip(counts, pairs, strict=True):
            total += 2 * count * pair.plate.each_kg
        plates = 2 * sum(counts)
        found[total] = min(found.get(total, plates), plates)
    return found


@MODERATE
@given(_BARS, _PAIRS)
def test_every_reachable_load_is_found_once_with_the_fewest_plates(bare_kg, pairs):
    made = loadings(bare_kg, pairs)
    assert [one.total_kg for one in made] == sorted(brute_force(bare_kg, pairs))
    assert {one.total_kg: one.plates for one in made} == brute_force(bare_kg, pairs)


@MODERATE
@given(_BARS, _PAIRS)
def test_what_lies_on_one_end_adds_up_and_is_owned(bare_kg, pairs):
    owned = {pair.plate: pair.pairs for pair in pairs}
    for one in loadings(bare_kg, pairs):
        end_kg = sum((plate.each_kg for plate in one.one_end), Decimal(0))
        assert bare_kg + 2 * end_kg == one.total_kg
        masses = [plate.each_kg for plate in one.one_end]
        assert masses == sorted(masses, reverse=True)
        for plate in one.one_end:
            assert one.one_end.count(plate) <= owned[plate]


@MODERATE
@given(_BARS, _PAIRS, st.decimals("0", "200", places=2))
def test_nearest_below_and_above_are_those_of_a_plain_search(bare_kg, pairs, target):
    masses = brute_force(bare_kg, pairs)
    below, above = around(loadings(bare_kg, pairs), target)
    assert (below and below.total_kg) == max(
        (kg for kg in masses if kg <= target), default=None
    )
    assert (above and above.total_kg) == min(
        (kg for kg in masses if kg >= target), default=None
    )


def test_a_home_bar_by_hand():
    """10 kg bar, one pair of 5 kg, two pairs of 1.25 kg: six loads, worked by hand."""
    pairs = [PlatePair(parse_load("1.25 kg"), 2), PlatePair(parse_load("5 kg"), 1)]
    made = loadings(Decimal(10), pairs)
    expected = ["10", "12.5", "15", "20", "22.5", "25"]
    assert [one.total_kg for one in made] == [Decimal(kg) for kg in expected]
    assert one_end_text(made[0]) == "nothing"
    assert one_end_text(made[-1]) == "5 kg + 2 x 1.25 kg"
    below, above = around(made, Decimal(18))
    assert (below.total_kg, above.total_kg) == (15, 20)
    assert around(made, Decimal(20)) == (made[3], made[3])


def test_of_as_many_plates_the_heavier_ones_are_taken():
    """15 kg an end: 10 + 5 and 7.5 + 7.5 take two plates each."""
    kinds = [("5 kg", 1), ("7.5 kg", 2), ("10 kg", 1)]
    pairs = [PlatePair(parse_load(plate), count) for plate, count in kinds]
    below, _ = around(loadings(Decimal(10), pairs), Decimal(40))
    assert one_end_text(below) == "10 kg + 5 kg"


def test_a_bar_of_pounds_is_exact():
    """45 lb with two plates of 45 lb is 135 lb: 61.23496995 kg, agreement of 1959."""
    made = loadings(parse_load("45 lb").each_kg, [PlatePair(parse_load("45 lb"), 1)])
    assert made[-1].total_kg == Decimal("61.23496995")


def test_more_ways_than_can_be_reckoned_are_refused():
    pairs = [PlatePair(Load("", mass=Decimal(n), unit="kg"), 1) for n in range(1, 18)]
    assert ways(pairs) == 2**17 > MAX_WAYS
    with pytest.raises(ValueError, match="100,000"):
        loadings(Decimal(10), pairs)


def test_a_band_is_no_plate():
    with pytest.raises(ValueError, match="band"):
        loadings(Decimal(10), [PlatePair(parse_load("band: green"), 1)])
