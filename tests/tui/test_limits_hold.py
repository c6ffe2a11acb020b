"""Whatever is given where a site is limited asks no more of it than it may."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Circuit, Drill
from whistlestop.domain.demands import MOST, added_by, asks
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.kit.substitutions import exchanges
from whistlestop.domain.limits import Limit, added_at
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import StationCard
from whistlestop.domain.sites import BODY_SITES
from whistlestop.driver.swapping import SwapStation, choices
from whistlestop.library import drills, exercises
from whistlestop.library.whole import library_means, shipped
from whistlestop.store.circuits.file import read_circuit
from whistlestop.tui.rooms.sheet.fit_circuits import suited

ON = date(2026, 3, 12)
SAMPLES = tuple(read_circuit(file) for file in sorted(samples_folder().glob("*.toml")))
THINGS = ("pull-up bar", "chair", "stick", "box", "three small balls", "skipping rope")

KITS = st.builds(
    lambda masses, pairs, bands, mats, bench, ball, things: Kit(
        weights=tuple(
            Weight("kettlebell", parse_load(f"{kg} kg"), pairs) for kg in masses
        ),
        bands=bands,
        mats=mats,
        bench=bench,
        ball_cm=ball,
        things=frozenset(things),
    ),
    st.lists(st.sampled_from([4, 8, 12, 16, 24]), max_size=3, unique=True),
    st.sampled_from([1, 2]),
    st.sampled_from([(), ("light",), ("light", "medium")]),
    st.sampled_from([0, 1]),
    st.booleans(),
    st.sampled_from([None, 65]),
    st.lists(st.sampled_from(THINGS), max_size=4, unique=True),
)
LIMITS = st.lists(
    st.builds(
        lambda site, strength, side: Limit(
            "site", site, ON + timedelta(7), strength=strength, side=side
        ),
        st.sampled_from(BODY_SITES),
        st.sampled_from(["easy", "out"]),
        st.sampled_from(["", "left", "right"]),
    ),
    min_size=1,
    max_size=3,
).map(tuple)
FULL = settings(
    max_examples=examples(2_000, part=40),
    deadline=None,
    derandomize=True,
    database=None,
)


def asks_too_much(key: str, limits, extra=()) -> list[Limit]:
    """Counted by the demands alone, apart from what limits say of themselves."""
    facts = exercises()[key]
    return [
        limit
        for limit in limits
        if asks(facts, limit.value, extra=extra) > MOST[limit.strength]
    ]


def drill_asks_too_much(drill: Drill, limits) -> list[Limit]:
    """At the level that its name says; without one at the hardest."""
    facts = drills()[drill.id]
    extra = facts.added_at(facts.level_named(drill.name))
    return [
        limit
        for limit in limits
        if asks(facts, limit.value, extra=extra) > MOST[limit.strength]
    ]


def sound(circuit: Circuit, numbers, limits) -> None:
    for number in numbers:
        station = circuit.stations[number - 1]
        wrong = asks_too_much(station.exercise, limits, added_at(station))
        assert not wrong, (station.exercise, station.load, wrong)
        if station.drill is not None:
            wrong = drill_asks_too_much(station.drill, limits)
            assert not wrong, (station.drill.id, wrong)


@FULL
@given(st.sampled_from(SAMPLES), KITS, LIMITS, st.sampled_from([None, 20, 35]))
def test_what_fits_asks_no_more_of_a_limited_site_than_it_may(
    circuit, kit, limits, minutes
):
    found = suited(circuit, library_means(kit, limits, ON), minutes)
    if found is not None:
        here = {card.number for card in found.draft.plan.stations}
        sound(found.draft.as_performed, here, limits)


@FULL
@given(st.sampled_from(SAMPLES), st.integers(0, 30), KITS, LIMITS)
def test_a_swap_of_the_sheet_asks_no_more_than_it_may(circuit, place, kit, limits):
    number = place % len(circuit.stations) + 1
    for one in exchanges(circuit, number, library_means(kit, limits, ON)):
        assert not asks_too_much(one.exercise, limits, added_by(one.kit))


@FULL
@given(
    st.sampled_from(sorted(exercises())),
    st.sampled_from(["easier", "harder", "other"]),
    st.none() | KITS,
    LIMITS,
)
def test_what_the_floor_offers_asks_no_more_than_it_may(key, kind, kit, limits):
    facts = exercises()[key]
    load = "12 kg" if {"weight", "kettlebell"} & set(facts.kit) else None
    card = StationCard(
        1, key, facts.name, facts.call_name, facts.parts, facts.tempo, load, facts.kit
    )
    means = library_means(kit, limits, ON)
    at = SwapStation(card, load)
    for one in choices(at, kind, library=shipped(), means=means):
        held = ("held",) if one.swap.load and "band" not in one.swap.load else ()
        extra = (*added_by(one.swap.kit), *held)
        assert not asks_too_much(one.swap.exercise, limits, extra)
        if kind == "harder":
            sites = [limit.value for limit in limits]
            there = exercises()[one.swap.exercise]
            assert not [s for s in sites if asks(facts, s) or asks(there, s)]


# What the issue was about, by hand: the wrist with one bell, the shoulder, the knee.
@pytest.mark.parametrize(
    ("site", "never"),
    [
        ("wrist-hand", {"wrist-curl", "one-hand-swing", "kettlebell-snatch"}),
        ("shoulder", {"squat-thrust", "plank-reach", "letter-raise", "raised-push-up"}),
        ("knee", {"squat-thrust", "half-kneeling-press", "get-up"}),
    ],
)
@pytest.mark.parametrize("strength", ["easy", "out"])
def test_what_fitted_a_sore_place_before_fits_no_more(site, never, strength):
    kit = Kit(weights=(Weight("kettlebell", parse_load("12 kg")),), mats=1)
    limit = Limit("site", site, ON + timedelta(7), strength=strength)
    means = library_means(kit, (limit,), ON)
    for circuit in SAMPLES:
        found = suited(circuit, means, None)
        assert found is not None
        used = {s.exercise for s in found.draft.as_performed.stations}
        here = {card.exercise for card in found.draft.plan.stations}
        assert not never & used & here
        for number in range(1, len(circuit.stations) + 1):
            offered = {one.exercise for one in exchanges(circuit, number, means)}
            assert not never & offered
