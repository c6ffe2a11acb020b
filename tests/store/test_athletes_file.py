"""athletes.toml: the one place of names; what it says and what is wrong with it."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.athlete import (
    Athlete,
    find_named,
    free_id,
    is_athlete_id,
    name_problem,
)
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import parse_load
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.store.settings.athletes import (
    athletes_text,
    parse_athletes,
    read_athletes,
    write_athletes,
)

GOOD = """\
format = 1
[[athlete]]
id = "a1"
name = "Kim"
[[athlete]]
id = "a2"
name = "Robin"
[athlete.loads]
goblet-squat = "8 kg"
[[athlete]]
id = "a3"
"""
ATHLETES = (
    Athlete("a1", "Kim"),
    Athlete("a2", "Robin", {"goblet-squat": parse_load("8 kg")}),
    Athlete("a3"),
)


SORE = """\
format = 1
[[athlete]]
id = "a2"
name = "Robin"
[[athlete.limit]]
site = "knee"
side = "left"
strength = "easy"
until = 2026-05-31
"""


def messages(text: str) -> list[str]:
    with pytest.raises(ProblemsFound) as caught:
        parse_athletes(text, name="athletes.toml")
    return [str(problem) for problem in caught.value.problems]


def test_every_key_arrives_and_what_is_written_is_read_back():
    assert parse_athletes(GOOD, name="a") == ATHLETES
    assert parse_athletes(athletes_text(ATHLETES), name="a") == ATHLETES
    assert parse_athletes("format = 1", name="a") == ()


def test_a_companion_has_sore_sites_of_their_own():
    (robin,) = parse_athletes(SORE, name="a")
    until = date(2026, 5, 31)
    assert robin.limits == (
        Limit("site", "knee", until, strength="easy", side="left", who="Robin"),
    )
    assert parse_athletes(athletes_text([robin]), name="a") == (robin,)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"knee"', '"kne"', """athletes.toml:6:8: athlete 1, limit 1: site is "kne"; \
expected one of neck, shoulder"""),
        ('"a2"', '"a1"', """athletes.toml:5:11: athlete 1: a1 has limits; expected \
yours are in limits.toml"""),
        ('"easy"', '"soft"', """athletes.toml:8:12: athlete 1, limit 1: strength is \
"soft"; expected "easy" or "out\""""),
    ],
)  # fmt: skip
def test_a_faulty_sore_site_is_named_with_its_place(old, new, said):
    (problem,) = messages(SORE.replace(old, new))
    assert problem.startswith(said)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ('id = "b2"', 'athletes.toml:3:6: athlete 1: id is "b2"; expected "a1"'),
        ('id = "a0"', 'id is "a0"'),
        ("name = 'Robin'", "athlete 1: id is missing"),
        ('id = "a2"\nname = "Robin the Very Long"', "at most 14 letters"),
        ('id = "a2"\nname = "A B C"', "2 words"),
        ('id = "a2"\nname = "\\u001b[2J"', "may not be shown"),
        ('id = "a2"\nname = "12"', "cannot draw it"),
        ('id = "a2"\n[athlete.loads]\nrow = "heavy"', 'row is "heavy"'),
        ('id = "a1"\n[athlete.loads]\nrow = "8 kg"', "yours are in the circuits"),
        ('id = "a2"\n[[athlete]]\nid = "a2"', "each id once"),
        (
            'id = "a2"\nname = "Robin"\n[[athlete]]\nid = "a3"\nname = "ROBIN"',
            "each name once",
        ),
        ('id = "a2"\nage = 30', 'unknown key "age"'),
    ],
)
def test_every_fault_is_named(table, said):
    assert said in "\n".join(messages(f"format = 1\n[[athlete]]\n{table}\n"))


def test_a_file_written_by_hand_stays_as_it_is(tmp_path):
    path = tmp_path / "athletes.toml"
    write_athletes(path, ATHLETES[:2])
    write_athletes(path, ATHLETES)
    assert read_athletes(path) == ATHLETES
    path.write_text(GOOD, encoding="utf-8")
    with pytest.raises(StoreError, match="by hand"):
        write_athletes(path, ATHLETES[:1])
    assert path.read_text(encoding="utf-8") == GOOD


def test_who_is_meant():
    assert find_named(ATHLETES, " rOBIN ") == ATHLETES[1]
    assert find_named(ATHLETES, "a2") == ATHLETES[1]
    assert find_named(ATHLETES, "Sam") is None
    assert find_named((Athlete("a3"),), "") is None
    assert free_id(ATHLETES) == "a4"
    assert free_id(()) == "a2"
    assert free_id([Athlete("a3")]) == "a2"
    assert [one.called for one in (Athlete("a1"), *ATHLETES)] == [
        *("You", "Kim", "Robin", "A3")
    ]


def test_ids():
    assert [text for text in ("a1", "a99", "a0", "a100", "A1", "a", "a1\n", "å1")
            if is_athlete_id(text)] == ["a1", "a99"]  # fmt: skip


@MODERATE
@given(st.text(max_size=20))
def test_no_name_that_is_taken_breaks_the_screen_or_the_voice(name):
    if not name_problem(name):
        assert 0 < len(name) <= 14
        assert len(name.split()) <= 2
        (read,) = parse_athletes(athletes_text([Athlete("a2", name)]), name="a")
        assert read.name == name
