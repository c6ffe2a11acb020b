"""limits.toml: what it says, what is wrong with it, and whose it is."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.domain.demands import Strength
from whistlestop.domain.limits import Limit
from whistlestop.domain.sites import BODY_SITES, SITES_OF_CAUTION
from whistlestop.domain.text import first_hostile
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.library import CAUTIONS
from whistlestop.store.kit.limits import (
    check_limits,
    limits_text,
    parse_limits,
    read_limits,
    write_limits,
)

ANSWERS = tomllib.loads(
    (Path(__file__).parents[1] / "domain" / "limit_answers.toml").read_text("utf-8")
)
GOOD = """\
format = 1
[[avoid]]
pattern = "squat"
since = 2026-05-01
until = 2026-05-31
review = "Stairs easy again?"
note = "left"
[[avoid]]
movement = "carry-of-my-own"
until = 2026-06-01
"""
LIMITS = (
    Limit("pattern", "squat", date(2026, 5, 31), date(2026, 5, 1),
          "Stairs easy again?", "left"),
    Limit("movement", "carry-of-my-own", date(2026, 6, 1)),
)  # fmt: skip


def messages(text: str) -> list[str]:
    with pytest.raises(ProblemsFound) as caught:
        parse_limits(text, name="limits.toml")
    return [str(problem) for problem in caught.value.problems]


def test_every_key_arrives():
    assert parse_limits(GOOD, name="a") == LIMITS
    assert parse_limits("format = 1", name="a") == ()


def test_every_fault_is_named_with_its_place():
    """Worked by hand from the format: line, column, what, and what was expected."""
    text = """\
format = 1
[[avoid]]
pattern = "squatt"
until = "2026-01-01"
[[avoid]]
until = 2026-01-01
since = 2026-02-01
[[avoid]]
region = "legs"
caution = "kn"
until = 2026-01-01T10:00:00
unti = 1
[[avoid]]
movement = "goblet-squad"
"""
    word = "expected a word of the library; nearest name:"
    one = "expected one of region, pattern, movement or caution"
    day = "expected a date as 2026-05-31, without quotes"
    assert messages(text) == [
        (
            f'limits.toml:3:11: avoid 1: pattern "squatt" is not in the library; '
            f'{word} "squat"'
        ),
        f'limits.toml:4:9: avoid 1: until is "2026-01-01"; {day}',
        f"limits.toml:5:3: avoid 2: it names nothing; {one}",
        "limits.toml:7:9: avoid 2: since is after until; expected the first day first",
        f"limits.toml:8:3: avoid 3: it names region and caution; {one}",
        f'limits.toml:10:11: avoid 3: caution "kn" is not in the library; {word} "Kn"',
        f"limits.toml:11:9: avoid 3: until is a date or time; {day}",
        'limits.toml:12:1: avoid 3: unknown key "unti"; nearest name: "until"',
        "limits.toml:13:3: avoid 4: until is missing",
        (
            'limits.toml:14:12: avoid 4: movement "goblet-squad" is not in the '
            f'library; {word} "goblet-squat"'
        ),
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("limit = 3", "limits.toml:1:1: format is missing; expected format = 2"),
        ("format = 3", ("limits.toml:1:10: format is 3: a later version of whistlestop "
         "wrote it; expected 1 or 2; nothing was changed")),
        ("format = true",
         "limits.toml:1:10: format is true; expected a whole number, 2"),
        ("format = 2\nlimit = [1]", ("limits.toml:2:10: limit, entry 1 is 1; expected "
         "a table")),
        ("format = 1\navoid = [1]", ("limits.toml:2:10: avoid, entry 1 is 1; expected "
         "a table")),
        ("format = 1\navoid = 3", ("limits.toml:2:9: avoid is 3; expected [[avoid]] "
         "headers, one for each")),
        ("format = ", ("limits.toml:1:10: a value is missing or cannot be read; "
         "expected text in quotes or a number")),
    ],
)  # fmt: skip
def test_wrong_shapes_are_said(text, expected):
    assert messages(text)[0] == expected


SITES = """\
format = 2
[[limit]]
site = "knee"
side = "left"
strength = "easy"
until = 2026-05-31
note = "stairs"
[[limit]]
site = "Wrist or hand"
until = 2026-05-31
[[limit]]
caution = "Bal"
until = 2026-05-31
"""
LAST = date(2026, 5, 31)


def test_a_site_comes_with_its_side_and_strength():
    assert parse_limits(SITES, name="a") == (
        Limit("site", "knee", LAST, note="stairs", strength="easy", side="left"),
        Limit("site", "wrist-hand", LAST),
        Limit("caution", "Bal", LAST),
    )


@pytest.mark.parametrize("case", ANSWERS["old"], ids=lambda case: case["code"])
def test_a_code_of_an_older_file_is_read_and_written_as_the_sites_it_meant(case):
    entry = 'format = 1\n[[avoid]]\ncaution = "{}"\nuntil = 2026-05-31\nnote = "n"\n'
    read = parse_limits(entry.format(case["code"]), name="a")
    assert read == tuple(Limit("site", x, LAST, note="n") for x in case["sites"])
    text = limits_text(read)
    assert "format = 2" in text
    assert "caution" not in text
    assert parse_limits(text, name="a") == read


@pytest.mark.parametrize("code", sorted(set(CAUTIONS) - set(SITES_OF_CAUTION)))
def test_a_code_about_a_hazard_keeps_acting_on_the_caution(code):
    entry = f'format = 1\n[[avoid]]\ncaution = "{code}"\nuntil = 2026-05-31\n'
    assert parse_limits(entry, name="a") == (Limit("caution", code, LAST),)


@pytest.mark.parametrize(
    ("word", "site"),
    [("wrist", "wrist-hand"), ("back", "lower-back"), ("heel cord", "achilles")],
)
def test_words_of_older_lists_name_their_site(word, site):
    text = f'format = 2\n[[limit]]\nsite = "{word}"\nuntil = 2026-05-31\n'
    assert parse_limits(text, name="a") == (Limit("site", site, LAST),)


def test_every_fault_of_a_site_is_named_with_its_place():
    text = """\
format = 2
[[limit]]
site = "kne"
strength = "medium"
until = 2026-01-01
[[limit]]
site = "chest"
side = "middle"
until = 2026-01-01
[[limit]]
region = "legs"
side = "left"
until = 2026-01-01
"""
    known = ", ".join(BODY_SITES)
    assert messages(text) == [
        (
            'limits.toml:3:8: limit 1: site "kne" is not known; expected one of '
            f'{known}; nearest name: "knee"'
        ),
        'limits.toml:4:12: limit 1: strength is "medium"; expected "easy" or "out"',
        (
            'limits.toml:7:8: limit 2: site "chest" is no site to exchange for; '
            "expected a site from neck to foot; for this one ask a doctor"
        ),
        'limits.toml:8:8: limit 2: side is "middle"; expected "left" or "right"',
        ('limits.toml:12:8: limit 3: side without a site; expected a site, as "knee"'),
    ]


def test_a_file_of_a_later_version_is_refused_and_stays(tmp_path):
    path = tmp_path / "limits.toml"
    path.write_text("format = 3\n[[limit]]\nwhatever = 1\n", encoding="utf-8")
    (problem,) = check_limits(path)
    assert "later version" in problem.what
    with pytest.raises(StoreError):
        write_limits(path, ())
    assert "whatever" in path.read_text(encoding="utf-8")


def test_more_entries_than_anybody_needs_are_refused():
    entry = '[[avoid]]\nregion = "legs"\nuntil = 2026-01-01\n'
    assert messages("format = 1\n" + entry * 31) == [
        "limits.toml:2:3: avoid has 31 entries; expected 30 at most"
    ]


def test_written_limits_are_read_back_and_private_notes_can_stay_out(tmp_path):
    path = tmp_path / "limits.toml"
    write_limits(path, LIMITS)
    assert read_limits(path) == LIMITS
    write_limits(path, LIMITS[1:])
    assert read_limits(path) == LIMITS[1:]
    assert "left" not in limits_text(LIMITS, private=False)


def test_a_file_written_by_hand_is_never_rewritten(tmp_path):
    path = tmp_path / "limits.toml"
    path.write_text(GOOD, encoding="utf-8")
    with pytest.raises(StoreError, match="by hand"):
        write_limits(path, ())
    assert path.read_text(encoding="utf-8") == GOOD


STRENGTHS: list[Strength] = ["easy", "out"]
SIDES = ["", "left", "right"]
_TEXTS = st.text(st.characters(codec="utf-8"), max_size=12).filter(
    lambda text: first_hostile(text) is None and text == text.strip()
)
_DAYS = st.dates(date(2000, 1, 1), date(2099, 12, 31))


@st.composite
def limits(draw: st.DrawFn) -> Limit:
    kind, value = draw(
        st.sampled_from(
            [
                ("site", "knee"),
                ("site", "achilles"),
                ("region", "arms"),
                ("pattern", "hinge"),
                ("movement", "push-up"),
                ("caution", "Bal"),
            ]
        )
    )
    until = draw(_DAYS)
    since = draw(st.none() | _DAYS.filter(lambda day: day <= until))
    limit = Limit(kind, value, until, since, draw(_TEXTS), draw(_TEXTS))
    if kind != "site":
        return limit
    strength, side = draw(st.sampled_from(STRENGTHS)), draw(st.sampled_from(SIDES))
    return replace(limit, strength=strength, side=side)


@settings(max_examples=examples(100), deadline=None, derandomize=True, database=None)
@given(st.lists(limits(), max_size=6))
def test_any_limits_come_back_from_their_text(many):
    assert parse_limits(limits_text(many), name="a") == tuple(many)


@settings(max_examples=examples(300), deadline=None, derandomize=True, database=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 300), st.integers(0, 30), st.text(max_size=4)),
        min_size=1,
        max_size=4,
    )
)
def test_a_damaged_file_is_limits_or_harmless_problems(damages):
    text = GOOD
    for start, length, piece in damages:
        at = start % (len(text) + 1)
        text = text[:at] + piece + text[at + length :]
    try:
        read = parse_limits(text, name="a")
    except ProblemsFound as found:
        problems = found.problems
    else:
        assert parse_limits(limits_text(read), name="a") == read
        return
    assert problems
    assert all(first_hostile(str(problem)) is None for problem in problems)


def test_a_file_that_cannot_be_read_is_a_problem(tmp_path):
    (problem,) = check_limits(tmp_path / "limits.toml")
    assert problem.what == "there is no such file"
