"""The order of answers: exact, alias, beginnings, slips."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.domain.search import Sought, first, folded, found, slips

PLANK = Sought("forearm-plank", "Forearm plank", ("PLANK",), ("front plank",))
ROW = Sought("plank-row", "Plank row", (), ("renegade row",))
SQUAT = Sought("squat", "Body-weight squat", (), ("air squat",), ("legs",))
ALL = [ROW, SQUAT, PLANK]


def ids(typed: str) -> list[str]:
    return [one.id for one in found(ALL, typed)]


def test_a_whole_name_comes_before_names_that_begin_with_it():
    assert ids("plank") == ["forearm-plank", "plank-row"]


def test_an_alias_comes_before_beginnings():
    assert ids("renegade row")[0] == "plank-row"
    assert ids("front plank") == ["forearm-plank"]


def test_every_typed_word_has_to_begin_a_word():
    assert ids("pla ro") == ["plank-row"]
    assert ids("pla zo") == []


def test_words_of_a_group_are_looked_through():
    assert ids("legs") == ["squat"]


@pytest.mark.parametrize("typed", ["sqaut", "squt", "squatt", "sqat", "Squät"])
def test_slips_of_the_finger_are_forgiven(typed):
    assert ids(typed) == ["squat"]


def test_slips_are_not_guessed_where_something_begins_so():
    both = [Sought("row", "Row"), Sought("roll", "Roll")]
    assert [one.id for one in found(both, "rol")] == ["roll"]


def test_nothing_typed_is_everything_in_its_order_and_no_first_answer():
    assert ids(" ") == [one.id for one in ALL]
    assert first(ALL, "") is None
    assert first(ALL, "zzzz") is None


@given(st.text(max_size=40))
def test_any_text_is_answered_without_a_repeat(typed):
    answers = ids(typed)
    assert len(set(answers)) == len(answers)
    assert set(answers) <= {one.id for one in ALL}


@given(st.sampled_from(ALL), st.sampled_from(["{}", " {} ", "{}."]))
def test_every_entry_is_first_by_its_own_name(entry, form):
    for name in (entry.name, entry.name.upper(), *entry.aliases):
        assert found(ALL, form.format(name))[0] is entry


WORDS = st.text("abcde", min_size=1, max_size=6)


@given(WORDS, WORDS)
def test_slips_are_a_distance(one, two):
    assert slips(one, one, 9) == 0
    assert slips(one, two, 9) == slips(two, one, 9)
    assert slips(one, two, 9) <= max(len(one), len(two))
    assert (slips(one, two, 9) == 0) == (one == two)


def test_slips_by_hand():
    """Restricted Damerau-Levenshtein: 'ca' to 'abc' is three, from memory."""
    assert slips("ca", "abc", 9) == 3
    assert slips("kitten", "sitting", 9) == 3
    assert slips("kitten", "sitting", 1) == 2


def test_folding_leaves_words_alone():
    assert folded("Farmer's  Walk") == "farmers walk"
    assert folded("Élévation") == "elevation"
