"""Loads: as typed, and exact in kilograms."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.load import KG_PER_LB, parse_load

# The international yard and pound agreement of 1959 fixes the pound exactly.
POUND_KG = Decimal("0.45359237")


def test_the_pound_is_exact():
    assert parse_load("1 lb").each_kg == POUND_KG
    assert KG_PER_LB == POUND_KG


def test_fifty_three_pounds_are_24_0404_kg():
    # 53 x 0.45359237 = 24.04039561, from the agreement of 1959.
    kg = parse_load("53 lb").each_kg
    assert kg == Decimal("24.04039561")
    assert round(kg, 4) == Decimal("24.0404")


def test_sixteen_kilograms_are_35_2740_pounds():
    assert round(parse_load("16 kg").each_kg / POUND_KG, 4) == Decimal("35.2740")


@pytest.mark.parametrize(
    ("typed", "count", "each", "total", "shown"),
    [
        ("8 kg", 1, "8", "8", "8 kg"),
        ("2 x 8 kg", 2, "8", "16", "2 x 8 kg"),
        ("2x8kg", 2, "8", "16", "2 x 8 kg"),
        ("2 × 12.5 kg", 2, "12.5", "25.0", "2 x 12.5 kg"),
        ("100 kg", 1, "100", "100", "100 kg"),
        ("18 lb", 1, "8.16466266", "8.16466266", "18 lb"),
        (" 8 kg ", 1, "8", "8", "8 kg"),
    ],
)
def test_a_mass_keeps_its_unit_and_counts_its_implements(
    typed, count, each, total, shown
):
    load = parse_load(typed)
    assert load.count == count
    assert load.each_kg == Decimal(each)
    assert load.total_kg == Decimal(total)
    assert str(load) == shown
    assert load.typed == typed.strip()


def test_a_band_has_a_name_and_no_mass():
    load = parse_load("band: green")
    assert load.band == "green"
    assert load.each_kg is None
    assert load.total_kg is None
    assert str(load) == "band: green"


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "8",
        "kg",
        "-8 kg",
        "8 stone",
        "8 KG",
        "0 kg",
        "0 x 8 kg",
        "1e3 kg",
        "501 kg",
        "3 x 200 kg",
        "8,5 kg",
        "band:",
        "band: \x1b[2J",
        "nan kg",
        "8 kg!",
    ],
)
def test_what_is_no_load_is_refused(typed):
    with pytest.raises(ValueError, match="expected"):
        parse_load(typed)


def test_the_limit_itself_is_allowed():
    assert parse_load("500 kg").total_kg == 500
    assert parse_load("2 x 250 kg").total_kg == 500


@MODERATE
@given(
    st.integers(1, 20),
    st.decimals("0.001", "20", places=3, allow_nan=False),
    st.sampled_from(["kg", "lb"]),
)
def test_a_shown_load_is_read_back_as_the_same_mass(count, mass, unit):
    load = parse_load(f"{count} x {mass} {unit}")
    again = parse_load(str(load))
    assert again.total_kg == load.total_kg
    assert again.unit == load.unit


@MODERATE
@given(st.text(max_size=16))
def test_no_text_does_more_than_be_read_or_refused(text):
    try:
        load = parse_load(text)
    except ValueError:
        return
    assert load.band or load.total_kg > 0
