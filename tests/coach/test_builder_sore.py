"""What is built beside a sore site: nothing asks more of it than it may, and what is
missing for its sake is said in words."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.coach.builder_cases import KITS, drawn
from tests.support.examples import examples

from whistlestop.builder import objective, rules
from whistlestop.builder.checker import check
from whistlestop.builder.dice import Dice
from whistlestop.builder.drill_rules import drills_for
from whistlestop.builder.exact import exact
from whistlestop.builder.explain import NoFit, answer, changes
from whistlestop.builder.facts import pieces
from whistlestop.builder.making import built
from whistlestop.builder.request import Request
from whistlestop.builder.sentences import notes
from whistlestop.builder.tables import BROKEN, Tables
from whistlestop.builder.yielding import yielded
from whistlestop.domain.demands import HAND_WEIGHTS, WEIGHT_ADDS, asks
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import Load
from whistlestop.domain.sites import BODY_SITES
from whistlestop.library import drills, exercises
from whistlestop.library.levels import waiting

HERE = Path(__file__).parent
CASES = tomllib.loads((HERE / "sore_answers.toml").read_text(encoding="utf-8"))["case"]
# By hand and by site: what asks much, something and nothing of it.
BY_HAND = tomllib.loads(
    (HERE.parent / "library" / "body_answers.toml").read_text(encoding="utf-8")
)
UNTIL = date(2031, 1, 1)
BELL = Weight("kettlebell", Load("16 kg", mass=Decimal(16)), 1)


def sore(site: str, strength: str = "out", side: str = "") -> Limit:
    return Limit("site", site, UNTIL, strength=strength, side=side)


def request_of(case: dict, seed: int = 0) -> Request:
    return Request(
        minutes=case["minutes"],
        stations=case["stations"],
        loops=case["loops"],
        kit=Kit(weights=(BELL,) if case["kettlebell"] else (), mats=1),
        limits=(sore(case["site"], case["strength"]),),
        waiting=waiting(()),
        level="regular",
        seed=seed,
    )


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_circuit_beside_a_sore_site_has_nothing_a_coach_would_leave_out(case):
    for seed in range(4):
        made = built(request_of(case, seed), any_will_do=seed > 0)
        assert made is not None, seed
        assert check(made.circuit, made.request) == ()
        ids = {station.exercise for station in made.circuit.stations}
        assert not ids & set(case["never"])
        assert {exercises()[key].region for key in ids} <= set(case["only"])
        given_ = {one.drill.id for one in made.circuit.stations if one.drill}
        assert not given_ & set(case.get("never_drills", ()))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_what_yields_is_said_in_words_with_the_site(case):
    made = built(request_of(case), any_will_do=True)
    assert made is not None
    text = " ".join(notes(made))
    said = {"push": "pushes", "pull": "pulls", "squat": "squat", "hinge": "bends at",
            "core": "the core"}  # fmt: skip
    for word, phrase in said.items():
        assert (phrase in text) == (word in case["words"]), word
    if case["words"]:
        deeds = {"out": "To leave out the ", "easy": "To go easy on the "}
        assert text.startswith(deeds[case["strength"]])


@pytest.mark.parametrize("site", BODY_SITES)
def test_by_hand_what_asks_something_stays_out_and_what_asks_nothing_stays(site):
    hand = BY_HAND[site]
    for strength, barred in (("out", ("much", "some")), ("easy", ("much",))):
        request = Request(limits=(sore(site, strength),))
        left = {piece.id for piece in pieces(request)}
        left |= {drill.id for drill in drills_for(request)}
        for grade in barred:
            known = {key for key in hand[grade] if key in exercises()}
            assert not left & known, (site, strength, grade)
        before = {piece.id for piece in pieces(Request())}
        assert left >= before & set(hand["stay"])


def test_a_side_lets_nothing_in():
    both, left = (
        {p.id for p in pieces(Request(limits=(sore("knee", "out", side),)))}
        for side in ("", "left")
    )
    assert both == left


def test_where_a_station_may_be_done_without_a_weight_a_sore_hand_gets_it_so():
    request = Request(limits=(sore("wrist-hand", "out"),))
    for piece in pieces(request):
        assert not HAND_WEIGHTS & {*piece.kit}, piece.id


def test_a_limit_on_a_region_leaves_out_what_works_the_whole_body():
    left = pieces(Request(limits=(Limit("region", "legs", UNTIL),)))
    assert not {"legs", "whole"} & {piece.exercise.region for piece in left}


def test_nothing_yields_without_a_sore_site_or_to_other_limits():
    assert not yielded(Request()).waived
    assert not yielded(Request(limits=(Limit("region", "arms", UNTIL),))).waived
    assert not yielded(Request(limits=(sore("shin"),))).waived


def test_other_wishes_are_tried_before_a_sore_site_is_loaded_again():
    """A station that is asked for by name, and loads the knee: do without it."""
    request = Request(
        stations=6, keep=("goblet-squat",), limits=(sore("knee", "out", "left"),)
    )
    found = answer(request)
    assert isinstance(found, NoFit)
    assert ("do without goblet-squat",) in [offer.words for offer in found.offers]
    assert not [offer for offer in found.offers if offer.is_caution]
    assert [change.kind for change in changes(request)][-1] == "site"


def test_where_nothing_else_gives_a_circuit_it_is_offered_last_with_its_caution():
    everything = tuple(sore(site) for site in BODY_SITES if site != "knee")
    request = Request(stations=3, kit=Kit(mats=1), limits=everything)
    last = [change for change in changes(request) if change.kind == "site"]
    assert len(last) == len(everything)
    assert last[-1].words == (
        "load the foot again (only if nothing hurts there; a physiotherapist's word "
        "goes first)"
    )
    assert [change.kind for change in changes(request)][-len(last) :] == ["site"] * len(
        last
    )


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_search_counts_what_yields_as_the_rules_do(case):
    """Sums over tables and the written statement agree where something yields."""
    request = request_of(case)
    known, dice = pieces(request), Dice(len(case["name"]))
    for _ in range(30):
        order = drawn(dice, known, request.stations)
        tables = Tables(order, request)
        broken = rules.violations(order, request)
        points = objective.points(order, request)
        found = tables.worth(tables.total(range(len(order))))
        assert found == (points - BROKEN * broken, broken)


def test_the_solver_finds_the_same_best_where_something_yields():
    """Eight stations beside a sore wrist, every order of four judged by the rules."""
    pytest.importorskip("highspy")
    request = replace(request_of(CASES[0]), stations=4, minutes=15)
    known, found = pieces(request), []
    for seed in range(6):
        few = drawn(Dice(seed), known, 8)
        best = max(
            (
                objective.points(order, request)
                for order in permutations(few, 4)
                if rules.violations(order, request) == 0
            ),
            default=None,
        )
        assert exact(few, request, seconds=600.0).points == best
        found.append(best)
    assert [best for best in found if best is not None]


LIMITS = st.lists(
    st.builds(
        sore,
        st.sampled_from(BODY_SITES),
        st.sampled_from(["easy", "out"]),
        st.sampled_from(["", "left", "right"]),
    ),
    min_size=1,
    max_size=3,
    unique_by=lambda limit: limit.value,
).map(tuple)
MAY = {"easy": 1, "out": 0}
REQUESTS = st.builds(
    lambda kit, stations, seed, level, limits, liked, held: Request(
        minutes=5 * stations,
        stations=stations,
        kit=KITS[kit],
        seed=seed,
        level=level,
        waiting=waiting(()),
        limits=limits,
        favourites=frozenset(liked),
        held=tuple(sorted(held.items())),
    ),
    st.sampled_from(sorted(KITS)),
    st.integers(3, 8),
    st.integers(0, 2**32 - 1),
    st.sampled_from(["new", "regular", "strong"]),
    LIMITS,
    st.sets(st.sampled_from(sorted(exercises())), max_size=4),
    st.dictionaries(st.sampled_from(sorted(drills())), st.integers(1, 4), max_size=20),
)


@settings(max_examples=examples(2000, part=40), deadline=None)
@given(REQUESTS)
def test_nothing_built_asks_more_of_a_sore_site_than_it_may(request_: Request) -> None:
    """Stations with what they are done with, drills at the level that is named."""
    made = built(request_, any_will_do=True)
    assume(made is not None)
    assert made is not None
    for station in made.circuit.stations:
        held = WEIGHT_ADDS if HAND_WEIGHTS & {*station.kit} else ()
        known = exercises()[station.exercise]
        for limit in request_.limits:
            most = MAY[limit.strength]
            assert asks(known, limit.value, extra=held) <= most
            if station.drill is not None:
                drill = drills()[station.drill.id]
                _, _, level = station.drill.name.partition(": ")
                added = drill.added_at(drill.ladder.index(level) + 1)
                assert asks(drill, limit.value, extra=added) <= most
    assert check(made.circuit, request_) == ()
