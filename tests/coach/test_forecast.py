"""A plan is the coach's forecast: what it says of a day is what `next` says then."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.coach.making import FIRST, after, bells, context, history, moment, run, shed
from tests.support.plans import FEW

from whistlestop.coach.context import CoachContext
from whistlestop.coach.decisions import Decisions, decide, progress
from whistlestop.coach.forecast import DayWishes, Start, forecast
from whistlestop.coach.history import CircuitHistory
from whistlestop.coach.next_step import next_step
from whistlestop.coach.verdicts import Direction
from whistlestop.coach.weeks import (
    Block,
    PlannedCircuit,
    PlannedSession,
    WeekWishes,
    emphasis_in,
    make_weeks,
)
from whistlestop.domain.targets import Priority
from whistlestop.library import exercises
from whistlestop.review.days import DaySpan

SHED = PlannedCircuit("shed", "S", frozenset({"legs", "core", "arms"}), True)


def on_day(
    blocks: Sequence[Block] = (), key: frozenset[int] = frozenset()
) -> Callable[[date], DayWishes]:
    def found(day: date) -> DayWishes:
        near = (day + timedelta(days=n) for n in range(-1, 8))
        keys = frozenset(d for d in near if d.weekday() in key)
        if not blocks:
            return DayWishes(key_days=keys)
        emphasis, is_lighter = emphasis_in(blocks, (day - FIRST).days // 7)
        return DayWishes(emphasis, blocks[0].weeks, is_lighter, keys)

    return found


def foreseen(
    sessions: Sequence[PlannedSession],
    told: CircuitHistory,
    now: CoachContext,
    blocks: Sequence[Block] = (),
) -> list[PlannedSession]:
    starts = {"shed": Start(now.circuit, told, now)}
    made = forecast(sessions, starts, Decisions(), on_day(blocks))
    return list(made)


def planned(
    weeks: int, asked: int = 2, since: int = 0, **changes: object
) -> tuple[PlannedSession, ...]:
    wanted = replace(
        WeekWishes(asked, frozenset(range(7)), (SHED,)),
        **changes,  # type: ignore[arg-type]
    )
    return make_weeks(wanted, FIRST, weeks, since=after(since)).sessions


def shares(sessions: Sequence[PlannedSession]) -> list[float]:
    return [round(float(s.share), 2) for s in sessions]


# --- Answers written first ------------------------------------------------------------


def test_steps_of_the_coach_stand_in_the_plan_on_their_days() -> None:
    """3 x 40 s at effort 5, twice a week: 45 s at once, and again six days later."""
    circuit = shed(loops=3)
    told = history(run(circuit, after(-7), 5), run(circuit, after(-4), 5))
    made = foreseen(planned(3), told, context(circuit, after(0)))
    more = [(s.day - FIRST).days for s in made if s.is_more]
    assert more[0] == 0
    assert all(b - a >= 6 for a, b in pairwise(more))
    assert "45 s" in made[0].says
    assert made[1].says == ""


def test_a_plan_of_eight_weeks_has_a_lighter_week_without_being_asked() -> None:
    """Twice a week: five weeks of training are followed by one of about 60 %."""
    circuit = shed(loops=3)
    told = history(run(circuit, after(-4), 6))
    made = foreseen(planned(8), told, context(circuit, after(0)))
    lighter = [s for s in made if s.share < 1]
    assert 2 <= len(lighter) <= 3
    assert all(0.5 <= float(s.share) <= 0.7 for s in lighter)
    weeks = {(s.day - FIRST).days // 7 for s in lighter}
    assert weeks <= {4, 5, 6}


def test_a_lighter_week_of_a_block_is_lighter_in_the_plan() -> None:
    blocks = (Block("base", 4),)
    circuit = shed(loops=3)
    told = history(run(circuit, after(-4), 4))
    made = foreseen(planned(4), told, context(circuit, after(0)), blocks)
    assert all(share == 1 for share in shares(made)[:6])
    assert all(0.5 <= share <= 0.7 for share in shares(made)[6:])


@pytest.mark.parametrize(
    ("priority", "most"),
    [("A", {2: 0.59, 3: 0.42, 4: 0.7}), ("B", {3: 0.59}), ("C", {})],
)
def test_a_race_is_tapered_by_its_priority(
    priority: Priority, most: dict[int, float]
) -> None:
    """The race is on the Sunday of the fourth week, day 27."""
    races: dict[date, Priority] = {after(27): priority}
    circuit = shed(loops=3)
    told = history(run(circuit, after(-7), 6), run(circuit, after(-4), 6))
    sessions = planned(6, races=races)
    made = foreseen(sessions, told, context(circuit, after(0), races=races))
    for week, share in most.items():
        inside = [s for s in made if (s.day - FIRST).days // 7 == week]
        assert inside
        assert all(float(s.share) <= share for s in inside), week
    near = {s.day for s in made if -1 <= (after(27) - s.day).days <= 1}
    assert not near
    if priority == "C":
        assert all(s.share == 1 for s in made if s.day < after(27))


def test_after_14_days_away_the_plan_returns_as_the_coach_does() -> None:
    """Two weeks away at a rhythm of three or four days: half, then 70 %, then whole."""
    circuit = shed(loops=3)
    told = history(*(run(circuit, after(d), 6) for d in (-11, -8, -4)))
    away = (DaySpan(after(1), after(14)),)
    sessions = planned(6, away=away)
    made = foreseen(sessions, told, context(circuit, after(0)))
    back = [s for s in made if s.day > after(14)]
    assert float(back[0].share) <= 0.5
    first = back[0].day
    second = [s for s in back if 7 <= (s.day - first).days < 14]
    assert all(0.5 < float(s.share) <= 0.7 for s in second)
    assert back[-1].share == 1


def test_a_plan_made_while_ill_starts_after_it_with_half() -> None:
    """Ill from Sunday to Tuesday, planned on Monday: from Thursday on, and half."""
    circuit = shed(loops=3)
    told = history(run(circuit, after(-7), 6), run(circuit, after(-4), 6))
    marked = DaySpan(after(-1), after(1))
    rest = DaySpan(after(-1), after(2))
    sessions = planned(3, ill=(rest,))
    made = foreseen(sessions, told, context(circuit, after(0), ill=(marked,)))
    assert made[0].day >= after(3)
    assert float(made[0].share) <= 0.5
    assert shares(made)[:3] == sorted(shares(made)[:3])
    assert made[3].share == 1


def test_nothing_is_foreseen_of_what_is_past_or_far_ahead() -> None:
    circuit = shed(loops=3)
    told = history(run(circuit, after(-4), 6))
    past = PlannedSession("p", after(-2), "shed")
    far = PlannedSession("f", after(100), "shed")
    done = PlannedSession("d", after(0), "shed", state="done")
    given_ = [past, done, far]
    assert foreseen(given_, told, context(circuit, after(0))) == given_


# --- Plan and next never contradict ---------------------------------------------------


Calm = tuple[CircuitHistory, CoachContext, WeekWishes]


def calm_log(seed: int) -> Calm:
    """A log with efforts mostly below the aim, and wishes for the weeks."""
    dice = Random(seed)
    circuit = shed(loops=dice.randint(1, 3), work_ms=dice.choice([30, 40, 50]) * 1000)
    day, runs = -dice.choice([2, 3, 4, 5, 7, 15]), []
    for _ in range(dice.randint(1, 6)):
        effort = dice.choice([3, 4, 4, 5, 5, 6, 7])
        runs.append(run(circuit, after(day), effort))
        day -= dice.randint(2, 6)
    races: dict[date, Priority] = {}
    if dice.random() < 0.2:
        races[after(dice.randint(1, 25))] = dice.choice(["A", "B", "C"])
    wanted = WeekWishes(
        dice.randint(1, 3),
        frozenset(dice.sample(range(7), dice.randint(3, 7))),
        (SHED,),
        key_weekdays=frozenset(dice.sample(range(7), dice.choice([0, 0, 1]))),
        races=races,
    )
    now = context(circuit, after(0), races=races, kit=bells(16, 20))
    return history(*reversed(runs)), now, wanted


def lived_through(calm: Calm, days: int) -> tuple[int, int]:
    """Live through a plan as it says, asking `next` on each of its days.

    What was foreseen on the first day, and what the plan says on the day itself, must
    both be what `next` says. Returns how many days were compared, and how many of the
    answers were steps up.
    """
    told, now, wanted = calm
    sessions = make_weeks(wanted, FIRST, 4).sessions[:days]
    key_on = on_day(key=wanted.key_weekdays)
    begun = {"shed": Start(now.circuit, told, now)}
    at_first = forecast(sessions, begun, Decisions(), key_on)
    hardness = told.runs[-1].hardness
    felt = now.target if hardness is None else min(hardness, now.target)
    decisions, rises = Decisions(), 0
    for session, foreseen_then in zip(sessions, at_first, strict=True):
        steps = progress(now.circuit, decisions, exercises())
        today = replace(
            now,
            now=moment(session.day),
            circuit=steps.circuit,
            catching_up=steps.catching_up,
            drill_levels=steps.drill_levels,
            last_step=steps.last_step,
            deload_began=steps.deload_began,
            key_days=key_on(session.day).key_days,
        )
        answer = next_step(told, today)
        proposal = answer.proposal
        assert proposal.direction is not Direction.REST
        title = "" if answer.rule.id == "same-again" else proposal.title
        share = Fraction(1)
        if proposal.direction is Direction.DOWN and not proposal.lasting:
            share = Fraction(proposal.after.work_ms, proposal.before.work_ms)
        again = {"shed": Start(now.circuit, told, today)}
        for said in (foreseen_then, *forecast([session], again, decisions, key_on)):
            assert said.is_more == (proposal.direction is Direction.UP)
            assert (said.says, said.share) == (title, min(1, share))
        nothing = [None] * proposal.after.loops
        done = run(proposal.circuit, session.day, nothing, session_effort=felt)
        told = history(*told.runs, done)
        if not proposal.change.is_nothing:
            number = len(decisions.items)
            taken = decide(proposal, now.circuit, session.day, "accept", number=number)
            decisions = replace(decisions, items=(*decisions.items, taken))
        rises += foreseen_then.is_more
    return len(sessions), rises


@FEW
@given(st.integers(0, 10_000).map(calm_log))
def test_what_the_plan_says_of_a_day_is_what_next_says_on_it(calm: Calm) -> None:
    compared, _ = lived_through(calm, 3)
    assert compared > 0


@pytest.mark.slow
def test_of_calm_logs_at_least_a_third_of_the_answers_are_steps_up() -> None:
    """Else the property above would say little; with more days of more plans."""
    found = [lived_through(calm_log(seed), 8) for seed in range(40)]
    assert 3 * sum(rises for _, rises in found) >= sum(days for days, _ in found)
