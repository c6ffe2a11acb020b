"""The graph of easier and harder stations: no circles, no gaps, one family each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter

import pytest

from whistlestop.library import drills, exercises
from whistlestop.library.cards import card, cards
from whistlestop.library.families import (
    SPORTS,
    drill_kinds,
    families,
    family_of_pattern,
)

# Their movement belongs elsewhere than their pattern does, so their card says so.
OF_ANOTHER_FAMILY = {
    "mountain-climber": "front-trunk",
    "dead-hang": "pull",
    "blade-pull": "pull",
    "blade-push-up": "push",
}


# Ways down that do not lead back up: the way up is too large a step, so what is
# harder there has to be chosen by name.
DOWN_ONLY = {
    ("goblet-squat", "bar-back-squat"),
    ("one-leg-box-squat", "assisted-pistol-squat"),
    ("wall-sit", "one-leg-wall-sit"),
    ("kettlebell-deadlift", "two-hand-swing"),
    ("one-hand-swing", "kettlebell-snatch"),
    ("kettlebell-deadlift", "bar-deadlift"),
    ("glute-bridge", "slider-leg-curl"),
    ("calf-raise", "one-leg-calf-raise"),
    ("squat-jump", "split-jump"),
    ("forearm-plank", "ball-circles"),
    ("bird-dog", "plank-reach"),
    ("side-plank", "inner-thigh-plank"),
    ("dead-bug", "leg-lower"),
    ("curl-up", "ball-crunch"),
    ("reverse-crunch", "hanging-knee-raise"),
    ("anti-rotation-press", "standing-band-rotation"),
    ("standing-band-rotation", "turning-wall-throw"),
    ("suitcase-march", "overhead-march"),
    ("push-up", "ball-push-up"),
    ("push-up", "shift-push-up"),
    ("push-up", "pike-push-up"),
    ("one-arm-row", "plank-row"),
    ("slow-lowering", "pull-up"),
    ("back-raise", "ball-back-raise"),
}


# A way up without a way back: with no weight in the hand, two weights on both feet
# would be no easier; the ease line of the card is.
UP_ONLY = {("staggered-deadlift", "one-leg-romanian-deadlift")}


def steps_up() -> set[tuple[str, str]]:
    return {(one.id, n.to) for one in cards().values() for n in one.harder}


def edges() -> set[tuple[str, str]]:
    return steps_up() | DOWN_ONLY


def members(family: str) -> set[str]:
    return {key for key, one in cards().items() if one.family == family}


def ladders(keys: set[str], links: set[tuple[str, str]]) -> list[set[str]]:
    """Split into what hangs together, whichever way a link points."""
    near: Mapping[str, set[str]] = defaultdict(set)
    for low, high in links:
        near[low].add(high)
        near[high].add(low)
    found: list[set[str]] = []
    left = set(keys)
    while left:
        waiting = [left.pop()]
        one = set(waiting)
        while waiting:
            new = near[waiting.pop()] - one
            one |= new
            waiting += new
        found.append(one)
        left -= one
    return found


def reached(start: str, links: set[tuple[str, str]]) -> set[str]:
    seen, waiting = {start}, [start]
    while waiting:
        here = waiting.pop()
        new = {high for low, high in links if low == here} - seen
        seen |= new
        waiting += new
    return seen


def check_order(links: set[tuple[str, str]]) -> tuple[str, ...]:
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for low, high in links:
        sorter.add(high, low)
    return tuple(sorter.static_order())


def test_neighbours_are_stations_of_the_library_and_other_ones():
    for one in cards().values():
        near = [n.to for n in (*one.easier, *one.harder)]
        assert set(near) <= set(exercises()), one.id
        assert one.id not in near
        assert len(set(near)) == len(near), one.id


def test_easier_is_the_inverse_of_harder_but_where_the_way_up_is_too_long():
    down = {(n.to, one.id) for one in cards().values() for n in one.easier}
    assert down == edges() - UP_ONLY
    assert not steps_up() & DOWN_ONLY
    assert (len(steps_up()), len(DOWN_ONLY)) == (60, 24)


def test_the_same_difference_is_named_from_both_ends_in_different_text():
    """From a swing it is `one hand`, and back it is `both hands`."""
    there = {n.to: n.by for n in card("two-hand-swing").harder}
    back = {n.to: n.by for n in card("one-hand-swing").easier}
    assert (there["one-hand-swing"], back["two-hand-swing"]) == (
        "one hand",
        "both hands",
    )
    for one in cards().values():
        for up in one.harder:
            for down in card(up.to).easier:
                assert down.to != one.id or down.by != up.by


def test_two_neighbours_never_differ_by_the_same_thing():
    for one in cards().values():
        for side in (one.easier, one.harder):
            assert len({n.by for n in side}) == len(side), one.id


# Where the one thing named changes two figures: who moves one leg or arm at a time
# alternates, and who tips back or leans on the floor is placed another way.
ONE_THING_TWO_FIGURES = {
    ("high-plank", "mountain-climber"): {"sides", "pattern"},
    ("bear-hold", "bear-crawl"): {"sides", "pattern"},
    ("two-hand-march", "suitcase-march"): {"sides", "pattern"},
    ("one-arm-row", "plank-row"): {"sides", "position"},
}


def test_neighbours_differ_in_one_thing():
    """Of sides, position and pattern one at most, but for what is named above.

    Other kit goes with the thing itself, and the same in all three differs in what
    `by` says.
    """
    found = {}
    for low, high in edges():
        one, two = exercises()[low], exercises()[high]
        differing = {
            word
            for word in ("sides", "position", "pattern")
            if getattr(one, word) != getattr(two, word)
        }
        if len(differing) > 1:
            found[low, high] = differing
    assert found == ONE_THING_TWO_FIGURES


def test_no_way_up_comes_round_to_where_it_began():
    assert set(check_order(edges())) <= set(exercises())
    with pytest.raises(CycleError):
        check_order({*edges(), ("pull-up", "dead-hang")})


def test_harder_has_the_higher_figure_in_the_same_family():
    for low, high in edges():
        assert card(low).difficulty < card(high).difficulty, (low, high)
        assert card(low).family == card(high).family, (low, high)


def test_harder_is_one_level_on_and_no_more():
    for low, high in steps_up():
        assert card(high).difficulty - card(low).difficulty == 1, (low, high)


def test_more_of_the_same_load_is_no_neighbour():
    for one in cards().values():
        for neighbour in (*one.easier, *one.harder):
            words = neighbour.by.split()
            assert not {"kg", "lighter", "heavier", "stronger"} & set(words), one.id


def test_every_end_of_a_ladder_is_reached_from_its_easiest_stations():
    """Every station is on a way from an easiest one to a hardest one."""
    links = edges()
    for ladder in ladders(set(cards()), links):
        within = {link for link in links if link[0] in ladder}
        easiest = ladder - {high for _, high in within}
        from_there = set().union(*(reached(key, within) for key in easiest))
        assert from_there == ladder
        hardest = ladder - {low for low, _ in within}
        for key in ladder:
            assert reached(key, within) & hardest


def test_a_family_is_one_ladder_or_says_why_not_and_who_stands_alone():
    for family in families().values():
        found = ladders(members(family.id), edges())
        alone = {key for one in found if len(one) == 1 for key in one}
        assert set(family.alone) == alone, family.id
        several = sum(len(one) > 1 for one in found)
        assert bool(family.apart) == (several > 1), family.id
    assert sum(len(family.alone) for family in families().values()) == 41


def test_two_in_three_stations_name_a_neighbour_on_their_card():
    near = [key for key, one in cards().items() if one.easier or one.harder]
    assert len(near) == 98


def test_every_station_belongs_to_the_family_of_its_pattern_or_is_named_here():
    known = family_of_pattern()
    assert set(known) == {exercise.pattern for exercise in exercises().values()}
    assert sum(len(family.patterns) for family in families().values()) == len(known)
    moved = {
        key: one.family
        for key, one in cards().items()
        if one.family != known[exercises()[key].pattern]
    }
    assert moved == OF_ANOTHER_FAMILY
    for family in families():
        assert len(members(family)) >= 2, family


def test_every_family_can_be_done_without_kit_or_says_why_not():
    for family in families().values():
        places = frozenset({"wall", "clear lane", "post"})
        bare = [key for key in members(family.id) if card(key).is_met_by(places)]
        assert bool(bare) != bool(family.no_kit), family.id
    assert [f.id for f in families().values() if f.no_kit] == ["grip", "elbow"]


def test_every_family_and_every_kind_of_drill_says_what_it_does_for_each_sport():
    """Sports and topics are common practice, no source."""
    assert SPORTS == ("cyclist", "runner", "skier", "climber", "paddler")
    assert set(drill_kinds()) == {drill.kind for drill in drills().values()}
    for entry in (*families().values(), *drill_kinds().values()):
        assert tuple(entry.sports) == SPORTS, entry.id
        assert 3 <= len(entry.title) <= 50
        for sentence in entry.sports.values():
            assert 10 <= len(sentence) <= 70, sentence
            assert sentence[0].isupper()
            assert sentence.endswith(".")


def test_what_is_read_cannot_be_changed():
    with pytest.raises(TypeError):
        families()["squat"].sports["cyclist"] = ""
    with pytest.raises(TypeError):
        cards()["push-up"] = None
    assert cards() is cards()
