"""What is left out until a day, what collides with it, and what to take instead."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE, station

from whistlestop import library
from whistlestop.domain.demands import WEIGHT_ADDS
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.limits import (
    DEFAULT_REVIEW,
    LIMIT_KINDS,
    Limit,
    collisions,
    in_force,
    reviews,
    site_text,
    swaps,
)
from whistlestop.domain.load import parse_load

HERE = Path(__file__).parent
ANSWERS = tomllib.loads((HERE / "limit_answers.toml").read_text(encoding="utf-8"))
LAST = date(2026, 5, 31)
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Fact:
    """What a test says of an exercise."""

    name: str
    region: str = "legs"
    pattern: str = "squat"
    position: str = "standing"
    sides: str = "both"
    kit: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    features: tuple[str, ...] = ()
    exceptions: tuple[tuple[str, int], ...] = ()


FACTS = {
    "exercise-1": Fact("Squat", cautions=("Kn",), features=("squat",)),
    "exercise-2": Fact("Press", "arms", "vertical-push"),
}
SQUATS = Limit("pattern", "squat", LAST)


@pytest.mark.parametrize(
    ("kind", "value", "stations"),
    [
        ("region", "legs", [1]),
        ("pattern", "vertical-push", [2]),
        ("movement", "exercise-2", [2]),
        ("movement", "exercise-3", [3]),  # a movement nothing is known of
        ("caution", "Kn", [1]),
        ("caution", "Bal", [3]),  # the station's own
        ("region", "core", []),
    ],
)
def test_which_stations_collide(kind, value, stations):
    floor = [station(1), station(2), station(3, cautions=("Bal",))]
    found = collisions(floor, FACTS, [Limit(kind, value, LAST)], LAST)
    assert [collision.station for collision in found] == stations


def case_name(case) -> str:
    return f"{case['id']}-{case['site']}"


@pytest.mark.parametrize("case", ANSWERS["meets"], ids=case_name)
def test_a_limit_stands_against_what_a_physiotherapist_would_leave(case):
    key = case["id"]
    extra = WEIGHT_ADDS if case.get("weight") else ()
    for strength in ("out", "easy"):
        limit = Limit("site", case["site"], LAST, strength=strength)
        if key in library.drills():
            met = limit.meets_drill(key, library.drills()[key], case.get("level"))
        else:
            met = limit.meets(key, library.exercises()[key], extra=extra)
            asked = limit.is_asked(key, library.exercises()[key], extra=extra)
            assert asked == case["out"], case["why"]
        assert met == case[strength], case["why"]


@pytest.mark.parametrize("case", ANSWERS["words"], ids=lambda case: case["says"])
def test_a_limit_says_its_site_with_side_and_strength(case):
    side, strength = case.get("side", ""), case["strength"]
    limit = Limit("site", case["site"], LAST, strength=strength, side=side)
    assert site_text(limit) == case["says"]


def test_a_side_lets_nothing_in():
    row = library.exercises()["one-arm-row"]
    left = Limit("site", "elbow", LAST, side="left")
    assert left.meets("one-arm-row", row)


def test_what_nobody_has_described_spares_no_sore_site():
    own = Fact("Of my own", features=())
    knee = Limit("site", "knee", LAST, strength="easy")
    assert knee.meets("of-my-own", own)
    assert knee.is_asked("of-my-own", own)
    assert not knee.meets("of-my-own", replace(own, features=("row",)))


def test_the_whole_body_counts_as_every_region():
    thrust = library.exercises()["squat-thrust"]
    assert thrust.region == "whole"
    for region in library.REGIONS:
        assert Limit("region", region, LAST).meets("squat-thrust", thrust)
    legs = library.exercises()["wall-sit"]
    assert not Limit("region", "whole", LAST).meets("wall-sit", legs)


def test_a_load_in_the_hands_meets_a_sore_hand():
    lunge = station(1, exercise="split-squat", kit=())
    held = replace(lunge, load=parse_load("8 kg"))
    packed = replace(held, kit=("backpack",))
    wrist = Limit("site", "wrist-hand", LAST)
    found = collisions([lunge, held, packed], library.exercises(), [wrist], LAST)
    assert [one.station for one in found] == [2]


@pytest.mark.parametrize(
    ("strength", "on", "text"),
    [
        ("out", LAST, "you leave out the knee until 2026-05-31."),
        ("easy", LAST, "you go easy on the knee until 2026-05-31."),
        ("out", LAST + DAY, "you left out the knee until 2026-05-31."),
        ("easy", LAST + DAY, "you went easy on the knee until 2026-05-31."),
    ],
)
def test_a_collision_says_the_site_and_how_much(strength, on, text):
    squat = station(1, exercise="goblet-squat")
    knee = Limit("site", "knee", LAST, strength=strength)
    (found,) = collisions([squat], library.exercises(), [knee], on)
    assert text in found.sentence


@pytest.mark.parametrize(
    ("on", "holds", "is_over"),
    [(LAST - DAY, True, False), (LAST, True, False), (LAST + DAY, False, True)],
)
def test_the_last_day_still_counts(on, holds, is_over):
    assert (SQUATS.holds(on), SQUATS.is_over(on)) == (holds, is_over)
    assert in_force([SQUATS], on) == ((SQUATS,) if holds else ())
    assert len(reviews([SQUATS], on)) == is_over


def test_a_limit_to_come_neither_collides_nor_asks():
    later = replace(SQUATS, since=LAST)
    before = LAST - DAY
    assert collisions([station(1)], FACTS, [later], before) == ()
    assert in_force([later], before) == reviews([later], before) == ()
    assert len(collisions([station(1)], FACTS, [later], LAST)) == 1


def test_the_sentence_of_a_limit_in_force_and_of_one_that_is_over():
    (held,) = collisions([station(1)], FACTS, [SQUATS], LAST)
    assert (held.is_over, held.sentence) == (
        False,
        "Station 1, Exercise 1: you leave out pattern squat until 2026-05-31.",
    )
    (over,) = collisions([station(1)], FACTS, [SQUATS], LAST + DAY)
    assert over.is_over
    assert over.sentence == (
        f"Station 1, Exercise 1: you left out pattern squat until 2026-05-31. "
        f"{DEFAULT_REVIEW}"
    )


def test_reviews_ask_in_ones_own_words_the_longest_over_first():
    own = Limit("caution", "Kn", LAST - DAY, review="Stairs easy again?", note="secret")
    found = reviews([SQUATS, own], LAST + DAY)
    assert [review.limit for review in found] == [own, SQUATS]
    assert found[0].sentence == (
        "You left out stations with the caution Kn until 2026-05-30. Stairs easy again?"
    )
    assert "secret" not in found[0].sentence


# Words that would be a finding, a promise or a blame; none has a place here.
NEVER = ("injur", "pain", "safe", "heal", "diagnos", "risk", "must", "should")


@pytest.mark.parametrize("kind", LIMIT_KINDS)
def test_no_sentence_says_anything_about_health(kind):
    value = {"region": "legs", "pattern": "squat", "caution": "Kn", "site": "knee"}.get(
        kind, "exercise-1"
    )
    limit = Limit(kind, value, LAST)
    sentences = [
        *(r.sentence for r in reviews([limit], LAST + DAY)),
        *(
            c.sentence
            for on in (LAST, LAST + DAY)
            for c in collisions([station(1)], FACTS, [limit], on)
        ),
    ]
    assert len(sentences) == 3
    assert not [word for text in sentences for word in NEVER if word in text.lower()]


# --- Swaps -------------------------------------------------------------------------

CANDIDATES = {
    "exercise-1": Fact("Own", pattern="hinge-power", kit=("weight",)),
    "a": Fact("Same pattern, other kit", pattern="hinge-power", kit=("box",)),
    "b": Fact("Same pattern", pattern="hinge-power", sides="alternating"),
    "c": Fact("Family and region", pattern="hinge"),
    "d": Fact("Family, other region", "core", "hinge"),
    "e": Fact("Region, two differences", position="plank", sides="alternating"),
    "f": Fact("Region, one difference", position="plank"),
    "g": Fact("Nothing alike", "arms", "dip"),
}
OWN = station(1, kit=("weight",))


def named(kit: Kit | None = None, *limits: Limit, of=CANDIDATES) -> list[str]:
    return [swap.exercise for swap in swaps(OWN, of, kit, limits)]


def test_pattern_then_family_then_region_then_kit_then_differences():
    assert named() == ["b", "a", "c", "d", "f", "e"]


def test_what_needs_kit_that_is_not_owned_is_left_out():
    owned = Kit(weights=(Weight("dumbbell", parse_load("8 kg")),))
    assert "a" not in named(owned)
    assert "a" in named(replace(owned, box_heights_cm=(50,)))


def test_what_a_limit_is_about_is_never_proposed():
    assert named(None, Limit("region", "legs", LAST)) == ["d"]
    assert "b" not in named(None, Limit("movement", "b", LAST))


def test_the_reasons_are_said_in_their_order():
    found = {swap.exercise: swap for swap in swaps(OWN, CANDIDATES, None, ())}
    assert found["b"].reasons == (
        "same pattern, hinge-power",
        "same region, legs",
        "no kit",
        "other sides",
    )
    assert found["a"].reasons[-1] == "kit to get: box"
    assert found["c"].reasons[0] == "same family, hinge"
    assert (found["b"].differences, found["e"].differences) == (1, 3)


def test_an_unknown_exercise_is_compared_with_nothing():
    assert swaps(station(9), CANDIDATES, None, ()) == ()


def test_pushes_of_all_directions_are_a_family_and_holding_still_is_no_turning():
    of = {
        "exercise-1": Fact("Own", "arms", "horizontal-push"),
        "up": Fact("Up", "arms", "vertical-push"),
        "pull": Fact("Pull", "arms", "horizontal-pull"),
    }
    assert [s.reasons[0] for s in swaps(OWN, of, None, ())] == [
        "same family, push",
        "same region, arms",
    ]
    still = {
        "exercise-1": Fact("Own", "core", "rotation"),
        "hold": Fact("Hold", "arms", "anti-rotation"),
    }
    assert swaps(OWN, still, None, ()) == ()


LIBRARY = library.exercises()
KITS = st.builds(
    Kit,
    mats=st.integers(0, 1),
    bench=st.booleans(),
    bands=st.sampled_from([(), ("green",)]),
    weights=st.sampled_from([(), (Weight("kettlebell", parse_load("8 kg"), 2),)]),
)
LIMITS = st.lists(
    st.sampled_from(
        [
            Limit("region", "legs", LAST),
            Limit("caution", "Kn", LAST),
            Limit("pattern", "horizontal-push", LAST),
            Limit("movement", "plank-row", LAST),
        ]
    ),
    max_size=3,
)


@MODERATE
@given(st.sampled_from(sorted(LIBRARY)), KITS, LIMITS)
def test_every_swap_of_the_library_can_be_done_and_none_worse_comes_first(
    exercise, kit, limits
):
    own = LIBRARY[exercise]
    here = replace(station(1), exercise=exercise, kit=own.kit)
    found = swaps(here, LIBRARY, kit, limits)
    ranks = []
    for swap in found:
        facts = LIBRARY[swap.exercise]
        assert swap.exercise != exercise
        assert kit.missing(facts.kit) == ()
        assert not any(limit.meets(swap.exercise, facts) for limit in limits)
        ranks.append(facts.pattern != own.pattern)
    assert ranks == sorted(ranks)
    allowed = {
        key
        for key, facts in LIBRARY.items()
        if facts.pattern == own.pattern
        and key != exercise
        and not kit.missing(facts.kit)
        and not any(limit.meets(key, facts) for limit in limits)
    }
    assert {swap.exercise for swap in found[: len(allowed)]} == allowed
