"""When nothing fits: what counting proves, what would do, and what is not claimed."""

from __future__ import annotations

from datetime import date

import pytest

from whistlestop.builder.checker import check
from whistlestop.builder.explain import (
    NoFit,
    WishChange,
    answer,
    changes,
    counting,
    offers_among,
)
from whistlestop.builder.facts import pieces
from whistlestop.builder.making import built
from whistlestop.builder.request import Request
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.library import exercises

UNTIL = date(2031, 1, 1)
ARMS = tuple(key for key, known in exercises().items() if known.region == "arms")
CORE = tuple(key for key, known in exercises().items() if known.region == "core")


def avoiding_all_but(region: str, left: int) -> frozenset[str]:
    own = [key for key, known in exercises().items() if known.region == region]
    return frozenset(own[left:])


def slow(case: object) -> object:
    """Make a case that only the long run takes."""
    return pytest.param(case, marks=pytest.mark.slow)


IMPOSSIBLE = (
    Request(minutes=10, stations=12, loops=3),
    Request(kit=Kit(mats=1), noise="quiet", space="spot", ceiling="low"),
    Request(stations=6, keep=ARMS[:3]),
    Request(stations=9, limits=(Limit("region", "core", UNTIL),)),
    Request(keep=("pogo-hops",), noise="quiet"),
    Request(stations=6, keep=("pull-up",), kit=Kit(mats=1)),
    slow(Request(stations=9, avoid=avoiding_all_but("arms", 1))),
    Request(minutes=30, work_ms=300_000),
)


def refused(request: Request) -> NoFit:
    found = answer(request)
    assert isinstance(found, NoFit)
    return found


@pytest.mark.parametrize("request_", IMPOSSIBLE)
def test_what_counting_proves_is_said_with_numbers_and_every_offer_works(
    request_: Request,
) -> None:
    """Each circuit offered passes the checker for the request with the wish gone."""
    found = refused(request_)
    assert found.proved
    assert found.facts
    assert found.sentence == "No circuit meets all your wishes."
    assert found.offers
    for offer in found.offers:
        assert check(offer.built.circuit, offer.built.request) == ()


def test_the_numbers_of_a_shortage_are_those_of_the_library() -> None:
    request = Request(stations=9, limits=(Limit("region", "core", UNTIL),))
    (fact,) = counting(request)
    assert fact == (
        f"0 core stations remain, 2 are needed: left out are {len(CORE)} by limits"
    )


def test_counting_never_refuses_what_can_be_built() -> None:
    """A proof would be false if a circuit was there all the same."""
    for stations in range(3, 16):
        for request in (
            Request(stations=stations, minutes=45),
            Request(stations=stations, minutes=45, kit=Kit(mats=1)),
            Request(stations=stations, minutes=45, noise="quiet", space="mat"),
        ):
            if counting(request):
                assert built(request) is None


def test_kit_that_is_missing_is_named() -> None:
    found = refused(Request(stations=6, keep=("pull-up",), kit=Kit(mats=1)))
    words = [offer.words for offer in found.offers]
    assert ("add to the kit: pull-up bar",) in words
    assert ("do without pull-up",) in words


def test_what_limits_leave_out_comes_last_and_is_marked() -> None:
    limit = Limit("movement", "push-up", UNTIL)
    found = refused(Request(keep=("push-up",), limits=(limit,)))
    assert [offer.is_caution for offer in found.offers] == [False, True]
    assert found.offers[-1].words == (
        "lift the limit on movement push-up (only if nothing hurts)",
    )
    assert found.offers[-1].built.request.limits == ()
    for offer in found.offers[:-1]:
        assert offer.built.request.limits == (limit,)


def test_where_no_single_wish_is_enough_pairs_are_offered() -> None:
    """Two kept stations that different wishes forbid: one alone never does."""
    request = Request(stations=6, keep=("pogo-hops", "pull-up"), noise="quiet",
                      kit=Kit(mats=1))  # fmt: skip
    found = refused(request)
    assert found.offers
    assert {len(offer.words) for offer in found.offers} == {2}
    for offer in found.offers:
        assert check(offer.built.circuit, offer.built.request) == ()
    words = {frozenset(offer.words) for offer in found.offers}
    assert frozenset({"allow noise: loud", "do without pull-up"}) in words


@pytest.mark.slow
def test_what_was_only_searched_for_is_not_called_impossible() -> None:
    """Stations that all need the grip crowd each other; counting sees no reason."""
    grips = {p.id for p in pieces(Request()) if p.needs_grip}
    hard = [key for key in ARMS if key in grips]
    legs = [k for k, e in exercises().items() if e.pattern == "hinge-power"]
    allowed = {*hard, *legs, "forearm-plank", "bird-dog"}
    avoid = frozenset(exercises()) - allowed
    request = Request(stations=6, avoid=avoid)
    if counting(request):
        pytest.fail("the case is meant to pass the counting")
    found = refused(request)
    assert not found.proved
    assert "one may still exist" in found.sentence


def test_each_change_gives_up_one_wish_only() -> None:
    request = Request(
        stations=6,
        keep=("push-up",),
        avoid=frozenset({"pull-up"}),
        noise="some",
        limits=(Limit("caution", "Wr", UNTIL),),
    )
    every = list(changes(request))
    assert every[-1].kind == "limit"
    fields = list(Request.__dataclass_fields__)

    def differing(change: WishChange) -> list[str]:
        return [
            name
            for name in fields
            if getattr(change.request, name) != getattr(request, name)
        ]

    assert all(len(differing(change)) == 1 for change in every)


@pytest.mark.parametrize("region", [slow("legs"), slow("core"), slow("arms")])
def test_no_single_offer_is_missed_that_a_full_search_finds(region: str) -> None:
    """Probes are short; each wish is given up again with the whole search."""
    request = Request(stations=6, avoid=avoiding_all_but(region, 0), noise="quiet")
    offered = {offer.words for offer in refused(request).offers}
    works = {
        (change.words,)
        for change in changes(request)
        if change.kind != "avoid" and built(change.request) is not None
    }
    avoided = {(c.words,) for c in changes(request) if c.kind == "avoid"}
    assert works
    assert works == offered - avoided


def test_where_no_single_rule_is_enough_two_rules_are_offered() -> None:
    """Three for the legs, one trunk, one arms: neighbours and numbers give way both.

    By trying every order of the five, with each rule given up and each two of them.
    """
    five = {"side-step-up", "raised-push-up", "back-raise", "reverse-lunge",
            "marching-bridge"}  # fmt: skip
    others = frozenset(exercises()) - five
    request = Request(minutes=25, stations=5, avoid=others)
    rules = [one for one in changes(request) if one.kind == "rule"]
    found = offers_among(request, rules)
    assert found
    assert {frozenset(offer.built.request.waived) for offer in found} == {
        frozenset({"alternate", "regions"})
    }
    for offer in found:
        assert len(offer.words) == 2
        assert check(offer.built.circuit, offer.built.request) == ()


@pytest.mark.parametrize(
    ("asked", "fact"),
    [
        (
            Request(minutes=15, stations=12, loops=4),
            "15 min hold 5 stations at 4 loops, and 12 were asked for",
        ),
        (
            Request(minutes=60, stations=3, loops=1),
            (
                "3 stations and one loop fill less than half of 60 min, even with the "
                "longest work and recovery"
            ),
        ),
    ],
)
def test_the_minutes_are_counted_before_anything_is_searched(asked, fact) -> None:
    """By hand: 15 min less 10 s, 150 s, 60 s and three breaks of 30 s are 590 s; a
    loop of five is 5 x 20 s and 4 x 10 s, four of them 560 s, and of six 680 s.
    """
    assert counting(asked) == (fact,)
