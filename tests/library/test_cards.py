"""The cards: there for every station, short, calm, and true to what the row says."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from whistlestop import library
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.text import first_hostile
from whistlestop.library import drills, exercises
from whistlestop.library.cards import (
    BY_LIMIT,
    CEILINGS,
    FLOORS,
    KEY_POINT_LIMIT,
    KEY_POINT_WORDS,
    LOAD_KINDS,
    MISTAKE_LIMIT,
    NOISES,
    SET_UP_LIMIT,
    SPACES,
    VARIANT_LIMIT,
    StationCardText,
    card,
    cards,
)
from whistlestop.library.families import drill_kinds, families
from whistlestop.library.kit_words import PLACES, SPECIAL, THINGS
from whistlestop.sound.spoken import WORDS_LIMIT

SOURCE = Path(library.__file__).parents[2]
UNWANTED = re.compile(
    r"prevent|guarantee|\bsafe(?:ly)?\b|optimal|\brisk|\bshould\b|\bmust\b|lazy|"
    r"\bfail|\bnever give|no excuse|burn|\bfat\b|injur|perfect|best|wrong|bad\b|"
    r"\bhero|push through it|\bheal|\bcure|pain|!|\?",
    re.IGNORECASE,
)
LISTS = {
    "space": SPACES,
    "noise": NOISES,
    "ceiling": CEILINGS,
    "floor": FLOORS,
    "load_kind": LOAD_KINDS,
}
CARRIERS = {
    "weight",
    "two weights",
    "kettlebell",
    "bar",
    "plates",
    "medicine ball",
    "dead ball",
    "backpack",
}


def pairs() -> list[tuple[Exercise, StationCardText]]:
    return [(exercise, card(key)) for key, exercise in exercises().items()]


def texts(of: StationCardText) -> tuple[str, ...]:
    return (of.set_up, of.key_point, of.mistake, of.ease, of.stretch)


def test_every_station_has_its_card_in_the_order_of_the_stations():
    assert list(cards()) == list(exercises())
    assert len(cards()) == 148
    with pytest.raises(KeyError):
        card("no-such-station")


def test_texts_keep_to_their_room_on_the_card_and_in_the_voice():
    """Limits of the station card; a key point is also spoken, so it counts words."""
    limits = (
        SET_UP_LIMIT,
        KEY_POINT_LIMIT,
        MISTAKE_LIMIT,
        VARIANT_LIMIT,
        VARIANT_LIMIT,
    )
    assert limits == (90, 60, 70, 50, 50)
    for one in cards().values():
        for text, limit in zip(texts(one), limits, strict=True):
            assert 8 <= len(text) <= limit, (one.id, text)
        assert 2 <= len(one.key_point.split()) <= WORDS_LIMIT == 6, one.id
    assert KEY_POINT_WORDS == 9  # of one's own stations, where the voice cuts


def test_texts_are_whole_sentences_without_anything_invisible():
    for one in cards().values():
        for text in texts(one):
            assert first_hostile(text) is None
            assert text.isascii(), text
            assert text[0].isupper(), text
            assert text.endswith("."), text
            assert "  " not in text
            assert not re.search(r"\b[A-Z]{3,}\b", text), text


def test_each_station_has_words_of_its_own():
    """Ease and stretch may be shared; what names the movement may not."""
    for field in ("set_up", "key_point", "mistake"):
        counted = Counter(getattr(one, field) for one in cards().values())
        twice = {text for text, count in counted.items() if count > 1}
        allowed = {"Kicking, or stopping half way down."}
        assert twice <= (allowed if field == "mistake" else set()), field


def test_no_text_shouts_blames_promises_or_speaks_of_injury():
    """Say what to do; no promise, no blame, no diagnosis (common practice)."""
    every = [text for one in cards().values() for text in texts(one)]
    every += [n.by for one in cards().values() for n in (*one.easier, *one.harder)]
    every += [t for family in families().values() for t in family.sports.values()]
    every += [t for kind in drill_kinds().values() for t in kind.sports.values()]
    every += [t for drill in drills().values() for t in (drill.key_point, drill.gate)]
    assert len(every) > 900
    for text in every:
        assert not UNWANTED.search(text), text


def test_the_word_list_finds_what_it_is_for():
    for text in ("Never give up!", "This prevents pain", "You should", "No excuses"):
        assert UNWANTED.search(text)
    assert not UNWANTED.search("Push the floor away, hips and chest together.")


def test_words_of_choice_are_known_and_each_is_used():
    for field, words in LISTS.items():
        assert {getattr(one, field) for one in cards().values()} == set(words), field
    assert {one.difficulty for one in cards().values()} == {1, 2, 3, 4, 5}


def test_the_usual_kit_stands_first_and_no_alternative_twice():
    for exercise, one in pairs():
        assert one.needs[0] == exercise.kit
        assert len(set(one.needs)) == len(one.needs), one.id
        for alternative in one.needs:
            assert set(alternative) <= {*THINGS, *PLACES}


def test_the_kind_of_load_is_what_the_kit_says():
    for exercise, one in pairs():
        kit = set(exercise.kit)
        if {"band", "loop band"} & kit:
            assert one.load_kind == "band", one.id
        elif CARRIERS & kit:
            assert one.load_kind == "required", one.id
        else:
            assert one.load_kind in {"none", "optional"}, one.id


def test_a_loaded_station_has_no_alternative_without_a_load():
    """Else a plan with kilograms would call for kit that holds none."""
    loads = CARRIERS | {"backpack", "band"}
    for _, one in pairs():
        if one.load_kind == "required":
            for alternative in one.needs:
                assert loads & set(alternative), one.id


def test_the_ceiling_matters_exactly_where_headroom_is_cautioned():
    """Hd: check ceiling, lamp and door track (common practice, no source)."""
    for exercise, one in pairs():
        assert (one.ceiling != "low") == ("Hd" in exercise.cautions), one.id
        if exercise.pattern == "jump" and one.ceiling != "low":
            assert one.ceiling == "jump"


def test_jumps_and_throws_are_heard_next_door_and_holds_are_not():
    for exercise, one in pairs():
        throws = exercise.pattern in {"flexion-power", "rotation-power", "push-power"}
        if throws:
            assert one.noise == "loud", one.id
        if exercise.pattern == "jump":
            assert one.noise != "quiet", one.id
        if exercise.tempo == "hold" and "plates" not in exercise.kit:
            assert one.noise == "quiet", one.id


def test_what_is_loud_is_named_here_one_by_one():
    """Both feet, a ball, a rope or plates that strike floor or wall."""
    assert {key for key, one in cards().items() if one.noise == "loud"} == {
        "bar-deadlift",
        "squat-jump",
        "box-jump",
        "split-jump",
        "jumping-jack",
        "ball-slam",
        "turning-wall-throw",
        "chest-pass",
        "rope-waves",
        "squat-thrust",
    }
    for exercise, one in pairs():
        if {"bar", "box", "plates", "clear lane"} & set(exercise.kit):
            quiet = {"one-leg-box-squat", "slow-lowering", "bear-crawl"}
            assert one.noise != "quiet" or one.id in quiet, one.id


def test_the_floor_fits_the_body_on_it():
    lying = {"on-back", "face-down", "side-lying", "half-kneeling", "tall-kneeling"}
    for exercise, one in pairs():
        if exercise.position in lying:
            assert one.space != "spot", one.id
        if "sliders" in exercise.kit:
            assert one.floor == "smooth", one.id
        if exercise.pattern == "jump":
            # Not on thick soft foam (common practice, no source).
            assert one.floor == "firm", one.id
        if "clear lane" in exercise.kit:
            assert one.space == "lane", one.id


def test_hands_tire_where_they_carry_the_weight():
    """Swings, rows, hangs, carries; a band is light (common practice, no source)."""
    patterns = {"hinge-power", "horizontal-pull", "vertical-pull", "grip"}
    for exercise, one in pairs():
        if exercise.position == "hanging" or (
            exercise.pattern in patterns and one.load_kind != "band"
        ):
            assert one.grip, one.id
        held = one.load_kind == "required" and exercise.position == "standing"
        if held and exercise.pattern == "hinge":
            assert one.grip, one.id
        if exercise.pattern in {"carry", "anti-lateral"}:
            # A carry with the weight in the hand, not on the shoulder.
            assert one.grip == ("Gr" in exercise.cautions), one.id
        if one.load_kind == "band" or exercise.tempo == "hold":
            assert not one.grip or exercise.pattern == "grip", one.id
        if exercise.position == "on-back":
            assert not one.grip, one.id


# Kit of three people. Places are there for all of them.
GARAGE = frozenset(THINGS) - SPECIAL | frozenset(PLACES)
KETTLEBELL_AND_MAT = frozenset({"kettlebell", "weight", "mat"}) | frozenset(PLACES)
NOTHING = frozenset(PLACES) - {"partner"}


def test_a_well_fitted_garage_does_all_but_three_stations():
    """What is left needs special kit, and says so by its words."""
    left = [key for key, one in cards().items() if not one.is_met_by(GARAGE)]
    assert left == ["bar-back-squat", "bench-press", "rope-waves"]
    for key in left:
        assert all(set(words) & SPECIAL for words in card(key).needs)


def test_one_kettlebell_and_a_mat_do_more_than_half_of_the_library():
    met = [key for key, one in cards().items() if one.is_met_by(KETTLEBELL_AND_MAT)]
    assert len(met) == 87
    assert {exercises()[key].region for key in met} == {"legs", "core", "arms", "whole"}
    assert {"two-hand-swing", "goblet-squat", "get-up", "one-arm-floor-press"} <= {*met}


def test_with_nothing_at_all_every_region_has_its_stations():
    met = [key for key, one in cards().items() if one.is_met_by(NOTHING)]
    counted = Counter(exercises()[key].region for key in met)
    assert counted == {"legs": 30, "core": 17, "arms": 10, "whole": 2}


def test_a_hotel_room_at_night_has_a_circuit_of_ten():
    """Nothing to bring, nothing to hear, no headroom asked."""
    quiet = [
        key
        for key, one in cards().items()
        if one.is_met_by(NOTHING)
        and (one.noise, one.ceiling) == ("quiet", "low")
        and one.space != "lane"
    ]
    regions = Counter(exercises()[key].region for key in quiet)
    assert min(regions["legs"], regions["core"]) >= 10
    assert regions["arms"] >= 5


def test_the_longest_step_between_neighbours_fits_beside_its_name():
    for one in cards().values():
        for neighbour in (*one.easier, *one.harder):
            assert 4 <= len(neighbour.by) <= BY_LIMIT == 40
            assert neighbour.by[0].islower()
            assert not neighbour.by.endswith(".")


def test_names_are_had_without_reading_the_cards():
    """A plan and a run need only names; the cards cost as much again."""
    code = (
        "import sys, whistlestop.library as l;"
        "l.exercises(), l.drills();"
        "print('whistlestop.library.cards' in sys.modules,"
        " 'whistlestop.library.families' in sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": str(SOURCE)},
    )
    assert run.stdout.split() == ["False", "False"]
