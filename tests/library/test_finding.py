"""Everyday names find the right station first."""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from whistlestop.domain.field import is_id
from whistlestop.domain.search import folded
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.driver.building import with_ids
from whistlestop.errors import ProblemsFound, UsageError
from whistlestop.library import drills, exercises
from whistlestop.library.finding import find, find_drills, find_stations
from whistlestop.library.whole import library_means, shipped
from whistlestop.sound.spoken import WORDS_LIMIT
from whistlestop.store.circuits.file import parse_circuit
from whistlestop.store.wishes.circuits import parse_wishes
from whistlestop.tui.rooms.builder.wishes import pickable
from whistlestop.tui.rooms.frame.filtering import FilterEntry, narrowed
from whistlestop.tui.rooms.library.known import KnownLibrary
from whistlestop.tui.rooms.library.lines import station_entries

NAMES = tomllib.loads(
    (Path(__file__).parent / "everyday_names.toml").read_text(encoding="utf-8")
)


def test_there_are_sixty_of_them_and_more():
    assert len(NAMES["exact"]) >= 60


@pytest.mark.parametrize(("typed", "right"), NAMES["exact"].items())
def test_an_everyday_name_finds_its_station_first(typed, right):
    assert find(typed)[0] == right
    assert find(typed.upper())[0] == right


# --- Through every door ----------------------------------------------------------

KNOWN = KnownLibrary(
    shipped().stations, shipped().cards, shipped().drills, library_means()
)


def first_of(entries: Sequence[FilterEntry[Any]], typed: str) -> FilterEntry[Any]:
    return narrowed(entries, "", typed)[0]


def nearest_named(parse: Callable[..., object], text: str) -> str:
    """What 'did you mean' of a file says, at the place of the name."""
    with pytest.raises(ProblemsFound) as found:
        parse(text, name="f.toml")
    problem = found.value.problems[0]
    assert problem.line > 1
    return problem.nearest


def as_id(typed: str) -> str:
    return folded(typed).replace(" ", "-")


DOORS: dict[str, Callable[[str], str]] = {
    "library and editor": lambda typed: (
        first_of(station_entries(KNOWN), typed).value.id
    ),
    "builder room": lambda typed: (
        first_of(pickable(CircuitWishes(), "avoid"), typed).value
    ),
    "command line": lambda typed: with_ids(CircuitWishes(avoid=(typed,))).avoid[0],
    "check of a circuit": lambda typed: nearest_named(
        lambda text, name: parse_circuit(text, stem="x", name=name),
        f'format = 1\nname = "x"\n[[station]]\nexercise = "{as_id(typed)}"\n',
    ),
    "check of wishes": lambda typed: nearest_named(
        parse_wishes, f'format = 1\nkeep = ["{as_id(typed)}"]\n'
    ),
}


@pytest.mark.parametrize("door", DOORS)
def test_an_everyday_name_finds_its_station_through_every_door(door):
    """One search behind all of them: the same first answer."""
    wrong = {}
    for typed, right in NAMES["exact"].items():
        if right not in exercises():
            continue
        is_file = door.startswith("check")
        if is_file and (as_id(typed) in exercises() or not is_id(as_id(typed))):
            continue
        if (answer := DOORS[door](typed)) != right:
            wrong[typed] = answer
    assert wrong == {}


def test_the_command_line_takes_nothing_that_is_only_like_a_name():
    """It acts at once, so a slip is named with the nearest and never guessed."""
    for typed, right in NAMES["hurried"].items():
        with pytest.raises(UsageError, match="the library has no station") as refused:
            with_ids(CircuitWishes(keep=(typed,)))
        hint = str(refused.value.hint)
        assert hint.removeprefix("nearest: ").split(" (")[0] in right


def test_ids_that_are_typed_stay_as_they_are():
    ids = tuple(exercises())
    assert with_ids(CircuitWishes(like=ids[:60])).like == ids[:60]
    assert with_ids(CircuitWishes(like=("RDL", "romanian-deadlift"))).like == (
        "romanian-deadlift",
    )


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
