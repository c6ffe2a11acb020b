"""The sites: one list with fixed letters, and what older files called them."""

from __future__ import annotations

from string import ascii_lowercase

import pytest

from whistlestop.domain.sites import BODY_SITES, SITES, SITES_OF_CAUTION, site_of

# By hand: ids in their order, since journals hold them and hands know the letters.
IN_ORDER = (
    *("neck", "shoulder", "elbow", "wrist-hand", "upper-back", "ribs", "lower-back"),
    *("buttock", "hip", "groin", "front-thigh", "hamstring", "knee", "calf"),
    *("achilles", "shin", "ankle", "foot", "chest", "head", "belly", "elsewhere"),
)
# What the questions of older versions wrote into journals.
OLD = {
    "head": "head",
    "neck": "neck",
    "shoulder": "shoulder",
    "elbow": "elbow",
    "wrist or hand": "wrist-hand",
    "wrist": "wrist-hand",
    "upper back": "upper-back",
    "lower back": "lower-back",
    "back": "lower-back",
    "ribs": "ribs",
    "belly": "belly",
    "hip": "hip",
    "groin": "groin",
    "thigh, front": "front-thigh",
    "thigh, back": "hamstring",
    "knee": "knee",
    "shin": "shin",
    "calf": "calf",
    "heel cord": "achilles",
    "ankle": "ankle",
    "foot": "foot",
    "elsewhere": "elsewhere",
}


def test_the_sites_stand_in_their_order_under_the_letters_a_to_v():
    assert tuple(SITES) == IN_ORDER
    letters = "".join(site.letter for site in SITES.values())
    assert letters == ascii_lowercase[:22] == "abcdefghijklmnopqrstuv"
    assert all(site.id == key for key, site in SITES.items())


def test_eighteen_sites_lead_to_swaps_and_four_to_the_signs():
    assert IN_ORDER[:18] == BODY_SITES
    assert [key for key in SITES if not SITES[key].swaps] == list(IN_ORDER[18:])


@pytest.mark.parametrize(("word", "site"), OLD.items())
def test_every_word_of_older_journals_means_a_site(word, site):
    found = site_of(word)
    assert found is not None
    assert found.id == site


def test_every_site_is_found_by_its_id_and_its_name_in_any_case():
    for key, site in SITES.items():
        assert site_of(key) is site
        assert site_of(f"  {site.name.upper()} ") is site
    assert site_of("tail") is None
    assert site_of("") is None


def test_limits_by_caution_mean_sites_where_the_caution_is_about_one():
    assert SITES_OF_CAUTION["An"] == ("achilles", "calf", "shin")
    assert set(SITES_OF_CAUTION) == {"Wr", "Sh", "Kn", "Bk", "Nk", "An"}
    for sites in SITES_OF_CAUTION.values():
        assert set(sites) <= set(BODY_SITES)
