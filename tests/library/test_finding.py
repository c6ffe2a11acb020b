"""Everyday names find the right station first."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from pathlib import Path

import pytest

from whistlestop.domain.search import folded
from whistlestop.library import drills, exercises
from whistlestop.library.finding import find, find_drills, find_stations
from whistlestop.sound.spoken import WORDS_LIMIT

NAMES = tomllib.loads(
    (Path(__file__).parent / "everyday_names.toml").read_text(encoding="utf-8")
)


def test_there_are_sixty_of_them_and_more():
    assert len(NAMES["exact"]) >= 60


@pytest.mark.parametrize(("typed", "right"), NAMES["exact"].items())
def test_an_everyday_name_finds_its_station_first(typed, right):
    assert find(typed)[0] == right
    assert find(typed.upper())[0] == right


@pytest.mark.parametrize(("typed", "right"), NAMES["hurried"].items())
def test_a_slip_of_the_finger_finds_one_of_them_first(typed, right):
    assert find(typed)[0] in right


def test_every_entry_is_first_by_its_id_its_name_and_its_call():
    for key, one in exercises().items():
        for typed in (key, one.name, one.call_name, one.spoken or one.name):
            assert find_stations(typed)[0] == key, typed
    for key, skill in drills().items():
        assert find_drills(skill.name)[0] == key


def test_no_alias_means_two_things():
    meant: dict[str, set[str]] = defaultdict(set)
    for key, one in exercises().items():
        for name in (key, one.name, one.call_name, one.spoken or key, *one.aliases):
            meant[folded(name).replace(" ", "")].add(key)
    for key, skill in drills().items():
        for name in (key, skill.name, *skill.aliases):
            meant[folded(name).replace(" ", "")].add(key)
    assert {name: keys for name, keys in meant.items() if len(keys) > 1} == {}


def test_an_alias_does_not_repeat_the_name_or_the_call():
    for one in (*exercises().values(), *drills().values()):
        own = {folded(one.name), folded(getattr(one, "call_name", ""))}
        others = [folded(alias) for alias in one.aliases]
        assert not own & set(others), one.id
        assert len(set(others)) == len(others), one.id


def test_what_is_said_is_whole_after_next_and_other_than_the_call():
    """'Next:' and the name are one sentence of the voice."""
    for one in exercises().values():
        sentences = (one.spoken or one.call_name).replace("-", " ").split()
        assert len(sentences) + 1 <= WORDS_LIMIT, one.id
        assert folded(one.spoken) != folded(one.call_name), one.id
        assert not any(word.isupper() and len(word) > 1 for word in one.spoken.split())
