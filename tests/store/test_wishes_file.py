"""Wishes under a name: read back as written, and refused with every problem at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.domain.wishes import WAIVABLE, CircuitWishes
from whistlestop.errors import ProblemsFound, StoreError, UsageError
from whistlestop.library import exercises
from whistlestop.store.kit.file import is_saved
from whistlestop.store.wishes.circuits import (
    parse_wishes,
    read_wishes,
    wishes_names,
    wishes_path,
    wishes_text,
    write_wishes,
)

IDS = sorted(exercises())


@st.composite
def any_wishes(draw):
    few = draw(st.lists(st.sampled_from(IDS), max_size=9, unique=True))
    stations = draw(st.integers(3, 20))
    return CircuitWishes(
        minutes=draw(st.integers(4, 120)),
        stations=stations,
        loops=draw(st.integers(1, 6)),
        work_ms=draw(st.none() | st.integers(20, 300).map(lambda s: s * 1000)),
        recover_ms=draw(st.none() | st.integers(5, 300).map(lambda s: s * 1000)),
        warm_up=draw(st.booleans()),
        difficulty=draw(st.integers(1, 5)),
        space=draw(st.sampled_from(("spot", "mat", "lane"))),
        noise=draw(st.sampled_from(("quiet", "some", "loud"))),
        ceiling=draw(st.sampled_from(("low", "reach", "jump"))),
        like=tuple(few[:3]),
        avoid=tuple(few[3:6]),
        keep=tuple(few[6:9]),
        waived=tuple(draw(st.lists(st.sampled_from(sorted(WAIVABLE)), unique=True))),
        athletes=draw(st.integers(1, 2)),
        seed=draw(st.integers(0, 2**32 - 1)),
    )


@given(any_wishes())
def test_what_is_written_reads_back(wishes):
    assert parse_wishes(wishes_text(wishes), name="w") == wishes


def test_a_file_says_no_more_than_differs():
    assert parse_wishes("format = 1\n", name="w") == CircuitWishes()
    body = wishes_text(CircuitWishes()).split("\n", 1)[1]
    assert body == "format = 1\nminutes = 30\nstations = 8\nloops = 2\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("minutes = 30\n", "format is missing"),
        ("format = 1\nminutes = 3\n", "minutes is 3; expected 4 to 120"),
        ("format = 1\nminuts = 30\n", 'unknown key "minuts"'),
        ('format = 1\nnoise = "very"\n', 'expected "quiet", "some" or "loud"'),
        ('format = 1\nkeep = ["pushup"]\n', "nearest"),
        ('format = 1\nkeep = "push-up"\n', "expected a list"),
        ('format = 1\nlike = ["push-up", "push-up"]\n', "names push-up twice"),
        (
            'format = 1\navoid = ["push-up"]\nkeep = ["push-up"]\n',
            "push-up is in both keep and avoid",
        ),
        (
            'format = 1\nstations = 3\nkeep = ["a", "b", "c", "d"]\n',
            "keep has 4 entries for 3 stations",
        ),
        ('format = 1\nwaive = ["kit"]\n', "waive"),
        ("format = 1\nminutes = 30 min\n", ":2:"),
        ("format = 2\n", "expected 1"),
    ],
)
def test_a_bad_file_is_told_with_its_place(text, said, tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ProblemsFound) as found:
        read_wishes(path)
    problems = "\n".join(str(problem) for problem in found.value.problems)
    assert said in problems
    assert str(path) in problems


def test_every_problem_is_named_at_once():
    text = 'format = 1\nminutes = 1\nloops = 9\nlike = ["x"]\nmore = 1\n'
    with pytest.raises(ProblemsFound) as found:
        parse_wishes(text, name="w")
    assert [problem.line for problem in found.value.problems] == [2, 3, 4, 5]


def test_a_file_changed_by_hand_stays_as_it_is(tmp_path: Path):
    path = wishes_path(tmp_path / "wishes", "short")
    write_wishes(path, CircuitWishes(minutes=12))
    assert is_saved(path.read_text(encoding="utf-8"))
    write_wishes(path, CircuitWishes(minutes=13))
    assert read_wishes(path).minutes == 13
    path.write_text(path.read_text(encoding="utf-8") + "seed = 1\n", encoding="utf-8")
    with pytest.raises(StoreError, match="by hand"):
        write_wishes(path, CircuitWishes())
    assert read_wishes(path).seed == 1


def test_names_are_ids_and_nothing_else_is_listed(tmp_path: Path):
    assert wishes_names(tmp_path / "none") == ()
    for name in ("b.toml", "a.toml", "Bad Name.toml", "c.txt"):
        (tmp_path / name).write_text("", encoding="utf-8")
    assert wishes_names(tmp_path) == ("a", "b")
    for name in ("../a", "A b", "", "con"):
        with pytest.raises(UsageError, match="is not a valid name for wishes"):
            wishes_path(tmp_path, name)
