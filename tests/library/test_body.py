"""What the library asks of each site, against answers written by hand beforehand."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.domain.demands import (
    DEMANDS,
    MOST,
    SiteLimit,
    allowed,
    asks,
)
from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.sites import BODY_SITES
from whistlestop.library import drills, exercises
from whistlestop.library.cards import cards
from whistlestop.library.first_loads import (
    BANDS,
    EACH,
    LEVELS,
    first_bands,
    first_loads,
)
from whistlestop.library.rows import rows

HERE = Path(__file__).parent
ANSWERS = tomllib.loads((HERE / "body_answers.toml").read_text(encoding="utf-8"))
EDGES = tomllib.loads((HERE / "edge_answers.toml").read_text(encoding="utf-8"))
ENTRIES: dict[str, Exercise | DrillInfo] = {**exercises(), **drills()}


def at_hardest(key: str) -> tuple[str, ...]:
    one = ENTRIES[key]
    return one.added_at() if isinstance(one, DrillInfo) else ()


def value(key: str, site: str) -> int:
    return asks(ENTRIES[key], site, extra=at_hardest(key))


def test_the_answers_cover_every_site_with_twelve_each_way():
    assert list(ANSWERS) == list(BODY_SITES)
    for site, answer in ANSWERS.items():
        out = {*answer["much"], *answer["some"]}
        assert len(out) >= 12, site
        assert len(answer["stay"]) >= 12, site
        assert not out & set(answer["stay"])
        assert not set(answer["much"]) & set(answer["some"])


@pytest.mark.parametrize("site", BODY_SITES)
def test_what_is_out_and_what_stays_is_what_a_physiotherapist_would_say(site):
    answer = ANSWERS[site]
    for words, right in (("much", 2), ("some", 1), ("stay", 0)):
        wrong = {key: value(key, site) for key in answer[words]}
        assert wrong == dict.fromkeys(answer[words], right), words


@pytest.mark.parametrize("site", BODY_SITES)
def test_a_limit_of_either_strength_does_what_the_answers_say(site):
    out, easy = SiteLimit(site, "out"), SiteLimit(site, "easy")
    for words, stays in (("much", ()), ("some", (easy,)), ("stay", (easy, out))):
        for key in ANSWERS[site][words]:
            for limit in (easy, out):
                got = allowed(ENTRIES[key], [limit], extra=at_hardest(key))
                assert got == (limit in stays), (key, limit)


# What was given to athletes with a sore site before there were features.
@pytest.mark.parametrize(
    ("site", "key"),
    [
        ("wrist-hand", "wrist-curl"),
        ("wrist-hand", "one-hand-swing"),
        ("wrist-hand", "kettlebell-snatch"),
        ("shoulder", "squat-thrust"),
        ("shoulder", "plank-reach"),
        ("shoulder", "letter-raise"),
        ("shoulder", "raised-push-up"),
        ("knee", "squat-thrust"),
        ("knee", "ball-kneel"),
    ],
)
def test_what_hurt_somebody_before_is_out_at_both_strengths(site, key):
    assert value(key, site) == 2


def test_no_station_and_no_drill_is_forgotten():
    """What has no feature is named here: it asks nothing but what stands by hand."""
    bare = [key for key, one in ENTRIES.items() if not one.features]
    assert bare == [
        "tap-and-rub",
        "finger-runs",
        "called-step",
        "go-no-go-clap",
        "breathing-walk",
    ]
    for key, one in ENTRIES.items():
        assert set(one.features) <= set(DEMANDS), key
        assert len(set(one.features)) == len(one.features), key


def test_every_feature_is_used():
    used = {
        f for key, one in ENTRIES.items() for f in (*one.features, *at_hardest(key))
    }
    assert used == set(DEMANDS)


def test_an_exception_has_a_reason_and_changes_what_the_rules_say():
    found = rows("exceptions.toml", "exception")
    places = [(raw["id"], raw["site"]) for raw in found]
    assert len(set(places)) == len(places)
    for raw in found:
        assert raw["site"] in BODY_SITES
        assert raw["asks"] in {0, 1, 2}
        assert len(raw["reason"]) >= 12
        assert raw["reason"].endswith(".")
        plain = max(
            (DEMANDS[f].asks.get(raw["site"], 0) for f in ENTRIES[raw["id"]].features),
            default=0,
        )
        assert plain != raw["asks"], raw


def test_levels_of_a_drill_only_add_to_it():
    for one in drills().values():
        last: tuple[str, ...] = ()
        for level in range(1, 5):
            assert set(last) <= set(one.added_at(level))
            last = one.added_at(level)
        assert last == one.added_at()
        for first, _ in one.from_level:
            assert 2 <= first <= len(one.ladder), one.id


# Movements that follow from other columns of the library, whoever states them.
@pytest.mark.parametrize(
    ("applies", "features"),
    [
        (lambda e: e.pattern == "jump", {"jump"}),
        (lambda e: e.position in {"half-kneeling", "tall-kneeling"}, {"kneel"}),
        (lambda e: e.position == "hanging", {"hang", "grip"}),
        (lambda e: e.pattern == "hinge-power", {"hinge"}),
        (lambda e: e.pattern == "bridge", {"bridge"}),
        (lambda e: e.pattern == "carry", {"walk-loaded"}),
        (lambda e: e.pattern == "horizontal-pull", {"row"}),
        (lambda e: e.position == "face-down", {"face-down"}),
        (lambda e: e.pattern == "lunge", {"lunge", "side-lunge"}),
        (lambda e: e.pattern == "step", {"step"}),
        (lambda e: e.pattern == "extension", {"extend-back"}),
        (lambda e: cards()[e.id].grip and "weight" in e.kit, {"grip"}),
    ],
)
def test_features_agree_with_pattern_and_position(applies, features):
    concerned = [one for one in exercises().values() if applies(one)]
    assert concerned
    for one in concerned:
        assert features & set(one.features), one.id


def test_hands_on_the_floor_are_what_the_wrist_caution_is_about():
    on_hands = {"hands-on-floor", "hands-and-knees", "hands-on-wall"}
    for one in exercises().values():
        if on_hands & set(one.features) and one.position != "face-down":
            assert "Wr" in one.cautions, one.id


SITE_LIMITS = st.lists(
    st.builds(SiteLimit, st.sampled_from(BODY_SITES), st.sampled_from(["easy", "out"])),
    min_size=1,
    max_size=3,
)


@given(SITE_LIMITS)
def test_whatever_is_left_of_the_library_asks_no_more_than_it_may(limits):
    for key, one in ENTRIES.items():
        if allowed(one, limits, extra=at_hardest(key)):
            for limit in limits:
                assert value(key, limit.site) <= MOST[limit.strength]


@pytest.mark.parametrize("site", BODY_SITES)
def test_one_site_left_out_still_leaves_a_circuit_without_kit(site):
    """Six stations of two regions, and four drills, with nothing owned."""
    places = frozenset({"wall", "post", "clear lane"})
    left = [
        one
        for key, one in exercises().items()
        if cards()[key].is_met_by(places) and allowed(one, [SiteLimit(site)])
    ]
    assert len(left) >= 6, site
    assert len({one.region for one in left}) >= 2, site
    free = [
        key
        for key, one in drills().items()
        if not one.kit and allowed(one, [SiteLimit(site)], extra=at_hardest(key))
    ]
    assert len(free) >= 4, site


# --- Edges and first loads ------------------------------------------------------


def test_no_way_leads_up_where_a_coach_would_not_go():
    assert len(EDGES["no_neighbours"]) >= 28
    for case in EDGES["no_neighbours"]:
        low, high = case["pair"]
        assert high not in [n.to for n in cards()[low].harder], case
        if case["pair"] == ["one-leg-romanian-deadlift", "staggered-deadlift"]:
            assert high not in [n.to for n in cards()[low].easier], case
        if case.get("both"):
            assert low not in [n.to for n in cards()[high].easier], case
            assert low not in [n.to for n in cards()[high].harder], case


def test_no_more_load_goes_along_than_a_coach_would_let():
    found = 0
    for case in EDGES["at_most"]:
        here, there = case["edge"]
        for one in (*cards()[here].harder, *cards()[here].easier):
            if one.to == there:
                found += 1
                assert one.factor is not None, case
                assert one.factor <= case["factor"], case
    assert found >= 8


def test_a_factor_stands_wherever_a_load_could_go_along():
    """From a station with a load to one that can hold a load."""
    held = {"required", "optional"}
    for one in cards().values():
        for neighbour in (*one.easier, *one.harder):
            factor = neighbour.factor
            if factor is not None:
                assert 0 <= factor <= 1, (one.id, neighbour)
            there = cards()[neighbour.to].load_kind
            if one.load_kind == "required" and there in held:
                assert factor is not None, (one.id, neighbour.to)
            if one.load_kind in held and there == "none":
                assert not factor, (one.id, neighbour.to)


def test_every_station_that_can_be_loaded_has_its_first_load():
    for key, one in cards().items():
        loaded = one.load_kind in {"required", "optional"}
        assert (key in first_loads()) == loaded, key
        assert (key in first_bands()) == (one.load_kind == "band"), key


def test_first_loads_rise_with_the_level_and_are_never_skipped():
    for one in first_loads().values():
        assert one.each in EACH
        known = [kg for level in LEVELS if (kg := one.at(level)) is not None]
        assert known, one.id
        assert known == sorted(known), one.id
        assert [one.at(level) is None for level in LEVELS] == sorted(
            [one.at(level) is None for level in LEVELS], reverse=True
        ), one.id
    for band in first_bands().values():
        order = [BANDS.index(getattr(band, level)) for level in LEVELS]
        assert order == sorted(order), band.id


def test_a_newcomer_swings_presses_and_snatches_nothing_yet_that_has_to_be_learnt():
    for key in ("bar-back-squat", "bench-press", "clean", "kettlebell-snatch"):
        assert first_loads()[key].new is None
