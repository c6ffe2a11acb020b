"""The builder against the exact solver HiGHS: stored optima, and what it proves anew.

The solver reads the same rules and objective; on small cases it is held against brute
force, so that an error of its own would show.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from itertools import permutations

import pytest
from tests.coach.builder_cases import (
    KITS,
    cases,
    drawn,
    fingerprint,
    stored_hash,
)

from whistlestop.builder import exact as exact_module
from whistlestop.builder import objective, proof, rules
from whistlestop.builder.checker import check
from whistlestop.builder.dice import Dice
from whistlestop.builder.exact import bicliques, exact
from whistlestop.builder.explain import NoFit, answer, changes, counting
from whistlestop.builder.facts import pieces
from whistlestop.builder.making import BuiltCircuit, built
from whistlestop.builder.request import Request
from whistlestop.domain.kit.kit import ladder
from whistlestop.domain.limits import Limit
from whistlestop.domain.wishes import WAIVABLE

ALL = pieces(Request())
CASES = cases()
SMALL = [case for case in CASES if case.small]
UNTIL = date(2031, 1, 1)
# The solver's time in seconds: far above what is needed, so that it never decides.
LONG = 600.0
# What a plain run leaves to the long one: most of the solver's work.
QUICK = {"6-mat-6", "6-bands-7"}
HARD = {"grips", "bells", "jumps"}


def slow_if(is_slow, name):
    """Make a parameter that only the long run takes if so."""
    return pytest.param(name, marks=pytest.mark.slow if is_slow else (), id=name)


@cache
def own(name: str) -> BuiltCircuit:
    found = built(next(case.request for case in CASES if case.name == name))
    assert found is not None, name
    return found


@cache
def answered(name: str) -> BuiltCircuit | NoFit:
    """What is said where nothing fits: one search serves both tests of it."""
    return answer(INFEASIBLE[name])


def test_the_stored_optima_are_those_of_this_catalogue_and_objective():
    """After a change: `python -m tests.bench.builder --write` proves them anew."""
    assert stored_hash() == fingerprint()


def test_forty_requests_of_6_to_16_stations_are_stored():
    """Where nothing is proved, the walks say how long the best was looked for."""
    assert len(CASES) >= 40
    assert {case.request.stations for case in CASES} == set(range(6, 17))
    for case in CASES:
        assert case.bound >= case.points
        assert case.proved == (case.bound == case.points)
        assert case.proved or case.walks >= 12


@pytest.mark.parametrize("name", [slow_if(not c.small, c.name) for c in CASES])
def test_every_answer_passes_the_checker_and_none_is_above_the_bound(name):
    case = next(case for case in CASES if case.name == name)
    found = own(name)
    assert check(found.circuit, case.request) == ()
    assert found.points <= case.bound
    assert (case.points - found.points) * 50 <= case.points, "more than 2 %"


@pytest.mark.slow
def test_the_mean_gap_is_half_a_per_cent_at_most():
    """Against the optimum where that was proved, else the best of long runs."""
    gaps = [(case.points - own(case.name).points) / case.points for case in CASES]
    assert sum(gaps) / len(gaps) <= 0.005


@pytest.mark.slow
def test_what_is_owned_is_used_where_three_loads_or_more_are_there():
    """Of all stations of such stored requests at least three in five are loaded."""
    shares = []
    for case in CASES:
        kit = case.request.kit
        if kit is None or case.request.athletes > 1 or case.request.level == "new":
            continue
        if len(ladder(kit)) >= 3 and not case.request.limits:
            stations = own(case.name).circuit.stations
            shares.append(sum(one.load is not None for one in stations) / len(stations))
    assert len(shares) >= 5
    assert sum(shares) / len(shares) >= 0.6, shares


@pytest.mark.slow
def test_two_seeds_have_half_of_their_stations_in_common_at_most():
    """Over the stored requests: each with its own seed and with another."""
    shared = []
    for case in CASES[::3]:
        request = replace(case.request, seed=case.request.seed + 1)
        other = built(request)
        assert other is not None
        ids = {one.exercise for one in own(case.name).circuit.stations}
        both = ids & {one.exercise for one in other.circuit.stations}
        shared.append(len(both) / len(ids))
    assert sum(shared) / len(shared) <= 0.5, shared


def test_eight_small_ones_can_be_proved_anew():
    assert len(SMALL) == 8


@pytest.mark.parametrize(
    "name", [slow_if(case.name not in QUICK, case.name) for case in SMALL]
)
def test_a_small_one_is_proved_anew(name):
    (case,) = (case for case in SMALL if case.name == name)
    found = exact(pieces(case.request), case.request, seconds=LONG)
    assert found.proved
    assert (found.points, found.bound) == (case.points, case.points)
    assert found.order is not None
    assert rules.violations(found.order, case.request) == 0


@pytest.mark.parametrize("number", range(24))
def test_the_solver_equals_brute_force(number):
    """Few pieces, drawn; some rules off; one and two athletes; every small length."""
    dice = Dice(number)
    count = 3 + number % 3
    few = drawn(dice, ALL, 9 - count // 2)
    request = Request(
        stations=count,
        athletes=1 + number % 2,
        kit=KITS["two"] if number % 4 == 1 else None,
        difficulty=1 + number % 5,
        waived=frozenset(rule for rule in sorted(WAIVABLE) if dice.below(2)),
        favourites=frozenset({few[0].id}),
        keep=(few[1].id,) if number % 3 else (),
        recent=frozenset(piece.id for piece in few[2:5]),
    )
    best = max(
        (
            objective.points(order, request)
            for order in permutations(few, count)
            if rules.violations(order, request) == 0
        ),
        default=None,
    )
    found = exact(few, request, seconds=LONG)
    assert found.proved
    assert found.points == best
    any_found = exact(few, request, seconds=LONG, any_will_do=True)
    assert (any_found.order is None) == (best is None)
    assert any_found.proved


def test_blocks_cover_exactly_the_pairs_that_hold():
    few = ALL[::4]
    for holds in (
        objective.changes_kit,
        rules.changes_floor,
        lambda a, b: "alternate" in rules.next_to(a, b, frozenset()),
    ):
        covered = {
            (a, b) for ones, twos in bicliques(few, holds) for a in ones for b in twos
        }
        numbers = range(len(few))
        assert covered == {
            (a, b) for a in numbers for b in numbers if holds(few[a], few[b])
        }


# --- Where nothing fits ------------------------------------------------------------


def only(*ids: str) -> frozenset[str]:
    return frozenset(piece.id for piece in ALL) - frozenset(ids)


GRIPS = ("pull-up", "chin-up", "bent-over-row", "dead-hang", "two-hand-swing",
         "one-hand-swing", "forearm-plank", "bird-dog")  # fmt: skip
INFEASIBLE = {
    "grips": Request(stations=6, avoid=only(*GRIPS)),
    "quiet": Request(stations=6, keep=("pogo-hops",), noise="quiet"),
    "no bar": Request(stations=6, keep=("pull-up",), kit=KITS["mat"]),
    "core": Request(stations=9, limits=(Limit("region", "core", UNTIL),)),
    "three arms": Request(stations=6, keep=("push-up", "pull-up", "overhead-press")),
    "squats": Request(
        stations=6, keep=("goblet-squat", "body-weight-squat", "front-rack-squat")
    ),
    "bells": Request(
        stations=4,
        athletes=2,
        keep=("two-hand-swing", "overhead-press", "goblet-squat", "windmill"),
    ),
    "jumps": Request(
        stations=6, keep=("squat-jump", "box-jump", "split-jump"), ceiling="jump"
    ),
}


@pytest.mark.parametrize("name", [slow_if(n in HARD, n) for n in INFEASIBLE])
def test_what_is_refused_is_infeasible_and_called_impossible_only_if_counted(name):
    request = INFEASIBLE[name]
    found = answered(name)
    assert isinstance(found, NoFit)
    assert found.proved == bool(counting(request))
    assert (found.sentence == "No circuit meets all your wishes.") == found.proved
    if not set(request.keep) - {piece.id for piece in pieces(request)}:
        solved = exact(pieces(request), request, seconds=LONG, any_will_do=True)
        assert solved.proved
        assert solved.order is None


@pytest.mark.parametrize("name", [slow_if(n in HARD, n) for n in INFEASIBLE])
def test_offers_are_exactly_the_wishes_whose_giving_up_works(name):
    """By the exact solver: each single wish that works is offered, and no other."""
    request = INFEASIBLE[name]
    found = answered(name)
    assert isinstance(found, NoFit)
    singles = {offer.words[0] for offer in found.offers if len(offer.words) == 1}
    works = set()
    for change in changes(request):
        asked = change.request
        if change.kind == "avoid":
            continue
        if counting(asked):
            continue
        solved = exact(pieces(asked), asked, seconds=LONG, any_will_do=True)
        assert solved.proved
        if solved.order is not None:
            works.add(change.words)
    assert singles - {c.words for c in changes(request) if c.kind == "avoid"} == works
    for offer in found.offers:
        assert check(offer.built.circuit, offer.built.request) == ()
        assert (len(offer.words) == 1) == bool(singles)


# --- `--prove` ---------------------------------------------------------------------


def test_the_best_is_said_to_be_proved_and_a_worse_one_gives_way():
    case = SMALL[0]
    best = own(case.name)
    text = proof.prove(best, LONG)
    assert text.proved
    assert text.sentence == f"Proved best: {case.points} points."
    assert text.built == best
    worse = built(case.request, any_will_do=True)
    assert worse is not None
    assert worse.points < case.points
    better = proof.prove(worse, LONG)
    assert better.built.points == case.points
    assert better.sentence.startswith("A better circuit was found: ")
    assert check(better.built.circuit, case.request) == ()


def test_what_could_not_be_proved_in_time_is_not_called_proved():
    request = replace(CASES[-1].request, keep=())
    found = built(request)
    assert found is not None
    text = proof.prove(found, 0.01)
    assert not text.proved
    assert text.sentence.startswith("Not proved in 0.01 s")
    assert text.built == found


def test_without_the_extra_there_is_one_line_of_advice(monkeypatch):
    monkeypatch.setattr(exact_module, "is_there", lambda: False)
    sentences = proof.prove(own(SMALL[0].name), 1)
    assert sentences.sentence == proof.HINT
    assert "\n" not in sentences.sentence
    assert not sentences.proved
