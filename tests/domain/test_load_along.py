"""What load goes along to another station: against a coach's answers, and always."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.kit.load_along import load_along, too_heavy
from whistlestop.domain.kit.owned_loads import with_owned_loads
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import StationCard
from whistlestop.driver.swapping import SwapStation, choices
from whistlestop.library import exercises
from whistlestop.library.cards import cards
from whistlestop.library.first_loads import first_loads
from whistlestop.library.whole import library_means, shipped

HERE = Path(__file__).parent
ANSWERS = tomllib.loads((HERE / "limit_answers.toml").read_text(encoding="utf-8"))
ON = date(2026, 3, 12)
A_THIRD = 4 / 3


def bells(loads) -> Kit:
    """Two of each, so that a pair is a choice as well."""
    return Kit(
        weights=tuple(
            Weight("kettlebell", parse_load(f"{kg:g} kg"), 2) for kg in loads
        ),
        mats=1,
    )


def station_of(key: str, kg: float | None) -> Station:
    facts = exercises()[key]
    count = "2 x " if "two weights" in facts.kit else ""
    load = parse_load(f"{count}{kg:g} kg") if kg else None
    return Station(
        key, facts.name, facts.call_name, load, parts=facts.parts, kit=facts.kit
    )


@pytest.mark.parametrize(
    "case", ANSWERS["load"], ids=lambda case: f"{case['here']}-{case['there']}"
)
def test_a_load_goes_along_as_a_coach_would_let_it(case):
    here, there = station_of(case["here"], case["kg"]), case["there"]
    last = {there: case["last"]} if "last" in case else {}
    means = library_means(bells(case["owned"]), (), ON, None, last)
    if case["here"] != there:
        found = load_along(here, there, exercises()[there].kit, means)
        kg = None if found is None else float(found.each_kg or 0)
        assert kg in (case["loads"] or [None]), case["why"]
        return
    made, (line,) = with_owned_loads(Circuit("x", "X", (here,)), means.kit, {}, last)
    used = made.stations[0].load
    if case["loads"]:
        near = used if not line.asks else line.resolved.nearest
        assert float(near.each_kg) in case["loads"], case["why"]
        assert too_heavy(here, means) is None
    else:
        assert used == here.load, case["why"]
        assert line.asks
        assert "% more" in line.words
        assert too_heavy(here, means) is not None


HARDER = [(key, one) for key, card in cards().items() for one in card.harder]
EDGES = [
    (key, one) for key, card in cards().items() for one in (*card.harder, *card.easier)
]
OWNED = st.lists(
    st.sampled_from([1.5, 2, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32]),
    max_size=5,
    unique=True,
)
KG = st.sampled_from([None, 4, 6, 8, 10, 12, 16, 20, 24, 32])


@settings(max_examples=examples(2_000), deadline=None, derandomize=True, database=None)
@given(st.sampled_from(EDGES), KG, OWNED, st.none() | st.integers(2, 40))
def test_along_a_way_no_more_load_goes_than_its_share(edge, kg, owned, last):
    here, way = edge
    if cards()[here].load_kind not in {"required", "optional"}:
        kg = None
    kit = bells(owned)
    last_kg = {way.to: float(last)} if last else {}
    means = library_means(kit, (), ON, None, last_kg)
    things = means.met(way.to)
    if things is None:
        return
    found = load_along(station_of(here, kg), way.to, things, means)
    if found is None or found.each_kg is None:
        return
    each = float(found.each_kg)
    if way.factor is not None and kg:
        assert each <= kg * way.factor + 1e-6
    else:
        assert each == min(owned)
        assert each <= (last or first_loads()[way.to].new) + 1e-6
    if last:
        assert each <= last * A_THIRD + 1e-6
    assert each in owned


@settings(max_examples=examples(400), deadline=None, derandomize=True, database=None)
@given(st.sampled_from(HARDER), KG, OWNED)
def test_what_the_floor_offers_as_harder_keeps_to_the_same_shares(edge, kg, owned):
    here, _ = edge
    if cards()[here].load_kind not in {"required", "optional"}:
        kg = None
    one = station_of(here, kg)
    card = StationCard(1, here, one.name, one.call_name, one.parts, None, None, one.kit)
    load = str(one.load) if one.load else None
    means = library_means(bells(owned), (), ON)
    at = SwapStation(card, load)
    for option in choices(at, "harder", library=shipped(), means=means):
        way = next(w for w in cards()[here].harder if w.to == option.swap.exercise)
        if option.swap.load is None or "band" in option.swap.load:
            continue
        each = float(parse_load(option.swap.load).each_kg or 0)
        if way.factor is not None and kg:
            assert each <= kg * way.factor + 1e-6
        else:
            assert each <= first_loads()[way.to].new + 1e-6


@settings(max_examples=examples(300), deadline=None, derandomize=True, database=None)
@given(st.integers(1, 40), OWNED, st.none() | st.integers(2, 40))
def test_no_owned_load_is_taken_unasked_a_third_beyond_the_last(wanted, owned, last):
    station = station_of("goblet-squat", wanted)
    last_kg = {"goblet-squat": float(last)} if last else {}
    kit = bells(owned)
    made, _ = with_owned_loads(Circuit("x", "X", (station,)), kit, {}, last_kg)
    used = float(made.stations[0].load.each_kg)
    if used != wanted:
        most = min(wanted, last) if last else wanted
        assert used <= most * A_THIRD + 1e-6
