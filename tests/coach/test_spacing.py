"""The days of the weeks: spacing_answers.toml, and brute force beside it.

The brute force below looks at every set of days of one or two weeks and has the 48 h
written down once more.
"""

from __future__ import annotations

import tomllib
from datetime import date, timedelta
from itertools import combinations, pairwise, product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.coach.making import FIRST, after
from tests.support.plans import FEW

from whistlestop.coach.weeks import (
    PlannedCircuit,
    Weeks,
    WeekWishes,
    make_weeks,
    unmet,
)
from whistlestop.review.days import DaySpan

Case = dict[str, Any]
CASES: list[Case] = tomllib.loads(
    (Path(__file__).parent / "spacing_answers.toml").read_text(encoding="utf-8")
)["case"]
CIRCUITS = {
    "w": PlannedCircuit("whole", "W", frozenset({"legs", "core", "arms"}), True),
    "l": PlannedCircuit("legs", "L", frozenset({"legs"}), True),
    "r": PlannedCircuit("arms", "R", frozenset({"arms"})),
}
ALL_DAYS = frozenset(range(7))
# Words of the reasons that the answers call by one word.
REASONS = {
    "48 h": "48 h between sessions",
    "away": "you are away",
    "begins": "the plan begins on",
    "free": "free",
    "ill": "you are ill",
}


def wishes_of(case: Case) -> WeekWishes:
    def spans(name: str) -> tuple[DaySpan, ...]:
        return tuple(DaySpan(after(a), after(b)) for a, b in case.get(name, ()))

    # The day after an illness is one without symptoms.
    ill = tuple(DaySpan(s.first, s.last + timedelta(days=1)) for s in spans("ill"))
    return WeekWishes(
        case["asked"],
        frozenset(case.get("free", ALL_DAYS)),
        tuple(CIRCUITS[letter] for letter in case["circuits"]),
        key_weekdays=frozenset(case.get("key", ())),
        away=spans("away"),
        ill=ill,
        races={after(day): priority for day, priority in case.get("races", ())},
    )


def offsets(plan: Weeks) -> list[int]:
    return [(session.day - FIRST).days for session in plan.sessions]


def spread(days: list[int]) -> int:
    gaps = [b - a for a, b in pairwise(days)]
    return max(gaps) - min(gaps) if gaps else 0


@pytest.mark.parametrize("case", [pytest.param(each, id=each["id"]) for each in CASES])
def test_the_days_are_those_a_good_coach_would_choose(case: Case) -> None:
    wanted, want = wishes_of(case), case["want"]
    since = after(case.get("since", 0))
    plan = make_weeks(wanted, FIRST, 4, since=since)
    days = offsets(plan)
    if "days" in want:
        assert days == want["days"]
    if "per_week" in want:
        assert [sum(d // 7 == n for d in days) for n in range(4)] == want["per_week"]
    if "spread" in want:
        assert spread(days) == want["spread"], days
    assert not set(want.get("not_on", ())) & set(days)
    if "says" in want:
        sentences = unmet(plan, wanted, since)
        assert bool(sentences) == bool(want["says"]), sentences
        for word in want["says"]:
            assert any(REASONS[word] in sentence for sentence in sentences), sentences


def test_an_unmet_wish_is_said_with_its_numbers_and_weeks() -> None:
    seven = WeekWishes(7, ALL_DAYS, (CIRCUITS["w"],))
    said = unmet(make_weeks(seven, FIRST, 4), seven, FIRST)
    assert said == (
        "7 asked a week, 4 and 3 planned: 48 h between sessions of the same muscles.",
    )
    away = WeekWishes(
        2, ALL_DAYS, (CIRCUITS["w"],), away=(DaySpan(after(7), after(13)),)
    )
    assert unmet(make_weeks(away, FIRST, 4), away, FIRST) == (
        "Week of 10 Mar: 2 asked a week, none planned: you are away for 7 days.",
    )


# --- Against brute force --------------------------------------------------------------


def holds_48_h(days: list[int], circuits: list[str]) -> bool:
    """Two days in a row never work a region in common, a second time written down."""
    regions = {letter: CIRCUITS[letter].regions for letter in CIRCUITS}
    return all(
        b - a > 1 or not regions[one] & regions[other]
        for (a, one), (b, other) in pairwise(zip(days, circuits, strict=True))
    )


def best_by_brute_force(
    free: frozenset[int], asked: int, letters: str
) -> tuple[int, int]:
    """Sessions in two weeks, and the least spread, over all that repeats."""
    found: dict[int, int] = {}
    for length in (7, 14):
        own = [day for day in range(length) if day % 7 in free]
        for count in range(1, len(own) + 1):
            for days in combinations(own, count):
                if any(
                    sum(d // 7 == week for d in days) > asked
                    for week in range(length // 7)
                ):
                    continue
                # Three rounds of it, the circuits in turn all along.
                rounds = [d + length * n for n in range(3) for d in days]
                turns = [letters[n % len(letters)] for n in range(len(rounds))]
                if not holds_48_h(rounds, turns):
                    continue
                total = count * 14 // length
                gaps = spread(rounds)
                found[total] = min(gaps, found.get(total, gaps))
    most = max(found)
    return most, found[most]


@FEW
@given(
    st.frozensets(st.integers(0, 6), min_size=1),
    st.integers(1, 3),
    st.sampled_from(["w", "l", "lr", "wr"]),
)
def test_on_few_free_days_the_spread_is_the_best_there_is(
    free: frozenset[int], asked: int, letters: str
) -> None:
    circuits = tuple(CIRCUITS[letter] for letter in letters)
    plan = make_weeks(WeekWishes(asked, free, circuits), FIRST, 6)
    days = offsets(plan)
    most, least = best_by_brute_force(free, asked, letters)
    assert sum(day < 14 for day in days) == most
    assert spread(days) == least


@pytest.mark.parametrize("asked", [1, 2, 3])
@pytest.mark.parametrize("begins", range(7))
def test_with_all_days_free_gaps_differ_by_a_day_at_most(
    asked: int, begins: int
) -> None:
    for letters in ("w", "lr"):
        circuits = tuple(CIRCUITS[letter] for letter in letters)
        wanted = WeekWishes(asked, ALL_DAYS, circuits)
        days = offsets(make_weeks(wanted, FIRST, 5, since=after(begins)))
        assert spread(days) <= 1, (begins, days)


def test_a_barred_day_moves_to_the_best_of_its_week() -> None:
    """Each of the fourteen days barred once; against all choices of that week."""
    for asked, barred in product((1, 2, 3), range(14)):
        regular = make_weeks(WeekWishes(asked, ALL_DAYS, (CIRCUITS["w"],)), FIRST, 3)
        away = (DaySpan(after(barred), after(barred)),)
        wanted = WeekWishes(asked, ALL_DAYS, (CIRCUITS["w"],), away=away)
        plan = make_weeks(wanted, FIRST, 3)
        was, now = offsets(regular), offsets(plan)
        assert len(now) == len(was)
        assert barred not in now
        assert all(b - a >= 2 for a, b in pairwise(now))
        other = set(now) - set(was)
        if barred >= 7:
            # What was planned before it stays, and in its week little else moves.
            assert [d for d in now if d < 7] == [d for d in was if d < 7]
            assert len(other) <= (2 if asked == 3 else 1) * (barred in was)


def test_illness_and_rest_days_are_never_planned_into() -> None:
    ill = (DaySpan(after(0), after(3)),)
    resting = frozenset({(after(4), "whole")})
    wanted = WeekWishes(3, ALL_DAYS, (CIRCUITS["w"],), ill=ill, resting=resting)
    days = offsets(make_weeks(wanted, FIRST, 2))
    assert min(days) == 5
    assert isinstance(after(0), date)
