"""weeks.toml and plan.toml: what they hold comes back, and what is wrong is named."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.targets import EMPHASES, Targets
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.store.wishes.weeks import (
    SavedPlan,
    SavedSession,
    parse_targets,
    read_plan,
    read_targets,
    targets_text,
    write_plan,
    write_targets,
)

DAYS = st.dates(date(2026, 1, 1), date(2031, 12, 31))
WEEKDAYS = st.frozensets(st.integers(0, 6))
TARGETS = st.builds(
    Targets,
    began=DAYS,
    circuits=st.lists(
        st.from_regex(r"[a-z]{1,9}", fullmatch=True),
        min_size=1,
        max_size=3,
        unique=True,
    ).map(tuple),
    sessions_a_week=st.integers(1, 7),
    days=st.frozensets(st.integers(0, 6), min_size=1),
    key_weekdays=WEEKDAYS,
    key_days=st.frozensets(DAYS, max_size=3),
    races=st.frozensets(DAYS, max_size=2),
    races_b=st.frozensets(DAYS, max_size=2),
    races_c=st.frozensets(DAYS, max_size=2),
    away=st.lists(
        st.tuples(DAYS, DAYS).map(lambda two: (min(two), max(two))), max_size=2
    ).map(tuple),
    blocks=st.lists(
        st.tuples(st.sampled_from(EMPHASES), st.integers(4, 6)), max_size=3
    ).map(tuple),
    weeks=st.integers(1, 53),
)


@MODERATE
@given(TARGETS)
def test_what_is_wanted_comes_back_from_its_text(targets: Targets) -> None:
    assert parse_targets(targets_text(targets), name="weeks.toml") == targets


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ('circuits = ["shed"]', "format is missing"),
        ("format = 1\nbegan = 2026-03-02", "circuits is missing"),
        ('began = "soon"', "began is"),
        ("sessions_a_week = 9", "sessions_a_week is 9"),
        ('days = ["mon", "moon"]', "days, entry 2"),
        ("days = []", "days has 0 entries"),
        ('circuits = ["a", "a"]', "named twice"),
        ('[[block]]\nemphasis = "base"\nweeks = 9', "block 1: weeks is 9"),
        ("[[away]]\nfirst = 2026-03-09\nlast = 2026-03-02", "last is before first"),
        ("sessions = 3", 'unknown key "sessions"'),
    ],
)
def test_what_is_wrong_is_named_with_its_place(text: str, what: str) -> None:
    plain = {"format": "1", "began": "2026-03-02", "circuits": '["shed"]'}
    head = "\n".join(
        f"{key} = {value}"
        for key, value in plain.items()
        if not any(line.startswith(f"{key} =") for line in text.splitlines())
        and f"{key} is missing" not in what
    )
    with pytest.raises(ProblemsFound) as found:
        parse_targets(f"{head}\n{text}\n", name="weeks.toml")
    assert what in str(found.value.problems[0])


def test_a_file_written_by_hand_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "weeks.toml"
    path.write_text('format = 1\nbegan = 2026-03-02\ncircuits = ["shed"]\n')
    targets = read_targets(path)
    with pytest.raises(StoreError, match="by hand"):
        write_targets(path, targets)
    path.unlink()
    write_targets(path, targets)
    write_targets(path, targets)
    assert read_targets(path) == targets


def test_a_plan_comes_back_and_an_id_may_stand_once(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    one = SavedSession("s1", date(2026, 3, 3), "shed", "base", 60, "done")
    two = SavedSession("s2", date(2026, 3, 5), "yard", "build", 100, "planned")
    plan = SavedPlan(date(2026, 3, 2), 4, (one, two))
    write_plan(path, plan)
    assert read_plan(path) == plan
    empty = SavedPlan(date(2026, 3, 2), 1, ())
    write_plan(path, empty)
    assert read_plan(path) == empty
    path.write_text(path.read_text() + "\n[[session]]\nid = 5\n")
    with pytest.raises(ProblemsFound):
        read_plan(path)
    write_plan(tmp_path / "twice.toml", SavedPlan(plan.first, 4, (one, one)))
    with pytest.raises(ProblemsFound, match="twice"):
        read_plan(tmp_path / "twice.toml")


@pytest.mark.parametrize("key", ["emphasis", "percent", "state"])
def test_a_session_that_lost_a_key_is_refused_and_not_filled_in(
    tmp_path: Path, key: str
) -> None:
    """The program writes all keys; a lost `state` must not make a done day planned."""
    path = tmp_path / "plan.toml"
    one = SavedSession("s1", date(2026, 3, 3), "shed", "base", 60, "done")
    write_plan(path, SavedPlan(date(2026, 3, 2), 4, (one,)))
    lines = path.read_text().splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not line.startswith(f"{key} =")))
    with pytest.raises(ProblemsFound, match=f"session 1: {key} is missing"):
        read_plan(path)
