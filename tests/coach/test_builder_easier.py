"""Where a site goes easy, the builder takes the easier form of what asks of it.

The answers, written beforehand: a bridge asks something of the neck, marching or not;
where the neck goes easy, the bridge on both feet stands there, for it asks no more and
is easier. Where the neck is well, or the march was asked for by name, it stays; so does
a station without an easier form, and one that asks nothing of the site.
"""

from __future__ import annotations

from datetime import date

import pytest

from whistlestop.builder.easier_forms import with_easier_forms
from whistlestop.builder.facts import pieces
from whistlestop.builder.request import Request
from whistlestop.builder.rules import violations
from whistlestop.domain.demands import asks
from whistlestop.domain.limits import Limit
from whistlestop.library import exercises

KEYS = ("romanian-deadlift", "bird-dog", "marching-bridge", "dead-bug")


def sore(site: str, strength="easy") -> Limit:
    return Limit("site", site, date.max, strength=strength)


def eased(keys, *limits: Limit, **changes):
    request = Request(limits=limits, **changes)
    known = {piece.id: piece for piece in pieces(Request())}
    order = [known[key] for key in keys]
    made, why = with_easier_forms(order, request)
    assert violations(made, request) <= violations(order, request)
    return [piece.id for piece in made], why


def test_the_easier_form_stands_where_a_site_goes_easy():
    keys, why = eased(KEYS, sore("neck"))
    assert keys == ["romanian-deadlift", "bird-dog", "glute-bridge", "dead-bug"]
    assert why[2] == "easier than Marching bridge, to spare the neck"
    assert not any(why[:2])


@pytest.mark.parametrize("limits", [(), (sore("wrist-hand", "out"),), (sore("shin"),)])
def test_without_a_site_that_goes_easy_and_is_asked_nothing_changes(limits):
    keys, why = eased(KEYS, *limits)
    assert keys == list(KEYS)
    assert not any(why)


def test_what_is_asked_for_by_name_stays():
    keys, _ = eased(KEYS, sore("neck"), keep=("marching-bridge",))
    assert keys == list(KEYS)


def test_what_is_in_the_circuit_already_does_not_come_twice():
    keys, _ = eased(("glute-bridge", "bird-dog", "marching-bridge"), sore("neck"))
    assert keys.count("glute-bridge") == 1


@pytest.mark.parametrize("site", ["neck", "knee"])
def test_an_easier_form_asks_no_more_of_the_site(site):
    for key in sorted(exercises())[::12]:
        keys, _ = eased((key, *(one for one in KEYS if one != key)), sore(site))
        before, then = (exercises()[one] for one in (key, keys[0]))
        assert asks(then, site) <= asks(before, site)
