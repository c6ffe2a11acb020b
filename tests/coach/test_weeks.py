"""Weeks ahead: the rules a plan keeps, and that planning again changes the least."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.coach.making import FIRST, after
from tests.support.golden import same_as_golden
from tests.support.plans import FEW, MODERATE

from whistlestop.coach.replanning import replan
from whistlestop.coach.weeks import (
    Block,
    PlannedCircuit,
    PlannedSession,
    Weeks,
    WeekWishes,
    emphasis_in,
    fits,
    grid_rows,
    judged,
    make_weeks,
)
from whistlestop.domain.columns import table
from whistlestop.review.days import DaySpan, week_of

WHOLE = PlannedCircuit("shed", "S", frozenset({"legs", "core", "arms"}), True)
LEGS = PlannedCircuit("hill", "H", frozenset({"legs"}), True)
ARMS = PlannedCircuit("yard", "Y", frozenset({"arms"}))


def wishes(
    sessions: int = 3, *circuits: PlannedCircuit, **changes: object
) -> WeekWishes:
    plain = WeekWishes(sessions, frozenset(range(7)), circuits or (WHOLE,))
    return replace(plain, **changes)  # type: ignore[arg-type]


DAYS = st.integers(0, 20).map(after)


@st.composite
def drawn_wishes(draw: st.DrawFn) -> WeekWishes:
    count = draw(st.integers(1, 2))
    away = draw(st.lists(st.tuples(DAYS, st.integers(0, 5)), max_size=2))
    return WeekWishes(
        draw(st.integers(1, 4)),
        draw(st.frozensets(st.integers(0, 6), min_size=1)),
        (WHOLE, ARMS)[:count] if draw(st.booleans()) else (LEGS, ARMS)[:count],
        key_weekdays=draw(st.frozensets(st.integers(0, 6), max_size=2)),
        key_days=draw(st.frozensets(DAYS, max_size=2)),
        away=tuple(DaySpan(day, day + timedelta(days=more)) for day, more in away),
        races=draw(st.dictionaries(DAYS, st.sampled_from("ABC"), max_size=1)),
    )


def own_verdict(sessions: list[tuple[date, str]], wanted: WeekWishes) -> bool:
    """The rules once more, written down apart from the product."""
    circuits = {circuit.id: circuit for circuit in wanted.circuits}
    for place, (day, key) in enumerate(sessions):
        circuit = circuits[key]
        away = any(span.first <= day <= span.last for span in wanted.away)
        if day.weekday() not in wanted.weekdays or away:
            return False
        tomorrow = day + timedelta(days=1)
        hard = tomorrow.weekday() in wanted.key_weekdays or tomorrow in wanted.key_days
        for race, priority in wanted.races.items():
            until = (race - day).days
            hard |= until == 2 and priority != "C"
            if until in {-1, 0, 1}:
                return False
        if hard and circuit.legs_heavy:
            return False
        for other_day, other in sessions[place + 1 :]:
            apart = abs((other_day - day).days)
            same = circuit.regions & circuits[other].regions
            if apart == 0 or (apart == 1 and same):
                return False
    return True


@MODERATE
@given(drawn_wishes())
def test_a_plan_keeps_every_rule(wanted: WeekWishes) -> None:
    plan = make_weeks(wanted, FIRST, 3)
    days = [(session.day, session.circuit) for session in plan.sessions]
    assert own_verdict(days, wanted)
    assert judged(plan.sessions, wanted) == ()
    for week in range(3):
        inside = week_of(after(7 * week))
        assert sum(day in inside for day, _ in days) <= wanted.sessions_a_week
    assert make_weeks(wanted, after(2), 3) == plan


@FEW
@given(drawn_wishes())
def test_no_other_week_holds_more_sessions(wanted: WeekWishes) -> None:
    """The first week against every choice of circuits for its seven days.

    As many as a week has in which no date is barred, at most: Sunday's is a day before
    the Monday of the next.
    """
    plan = make_weeks(wanted, FIRST, 1)
    open_dates = replace(wanted, away=(), races={}, key_days=frozenset())
    regular = len(make_weeks(open_dates, FIRST, 1).sessions)
    keys = [None, *(circuit.id for circuit in wanted.circuits)]
    most = 0
    for choice in product(keys, repeat=7):
        chosen = [(after(n), key) for n, key in enumerate(choice) if key]
        if most < len(chosen) <= regular:
            most = len(chosen) if own_verdict(chosen, wanted) else most
    assert len(plan.sessions) == most


def test_three_sessions_of_the_same_regions_lie_evenly() -> None:
    plan = make_weeks(wishes(3), FIRST, 2)
    weekdays = [session.day.weekday() for session in plan.sessions]
    assert weekdays == [0, 2, 4, 0, 2, 4]


def test_legs_keep_clear_of_the_day_before_a_key_session_and_a_race() -> None:
    wanted = wishes(
        2,
        LEGS,
        weekdays=frozenset({0, 1, 2, 3}),
        key_weekdays=frozenset({2}),
        races={after(3): "B"},
    )
    plan = make_weeks(wanted, FIRST, 1)
    # Tuesday is before the key day, Wednesday before the race, Thursday the race.
    assert [session.day for session in plan.sessions] == [after(0)]
    arms = replace(wanted, circuits=(ARMS,))
    fixed = [session.day for session in make_weeks(arms, FIRST, 1).sessions]
    assert after(2) not in fixed
    assert after(3) not in fixed


def test_a_block_has_its_emphasis_and_its_last_week_is_the_lighter_one() -> None:
    blocks = (Block("base", 4), Block("strength", 5))
    plan = make_weeks(wishes(1, blocks=blocks), FIRST, 10)
    assert [s.emphasis for s in plan.sessions] == ["base"] * 4 + ["strength"] * 6
    lighter = [week for week in range(10) if emphasis_in(blocks, week)[1]]
    assert lighter == [3, 8]


@pytest.mark.parametrize("weeks", [3, 7])
def test_a_block_is_4_to_6_weeks_long(weeks: int) -> None:
    with pytest.raises(ValueError, match="4 to 6"):
        Block("base", weeks)


def test_the_grid_in_the_terminal() -> None:
    """Looked at and kept: blocks, travel, key days, a race, done and missed."""
    wanted = wishes(
        3,
        LEGS,
        ARMS,
        key_weekdays=frozenset({1, 5}),
        away=(DaySpan(after(15), after(17)),),
        races={after(34): "B"},
        blocks=(Block("base", 4), Block("strength", 5)),
    )
    plan = make_weeks(wanted, FIRST, 6)
    first, second, *rest = plan.sessions
    marked = (replace(first, state="done"), replace(second, state="missed"), *rest)
    rows = grid_rows(replace(plan, sessions=marked), wanted)
    assert all(len(row) == len(rows[0]) for row in rows)
    lines = [line.rstrip() for line in table(rows)]
    assert all(len(line) <= 80 for line in lines)
    same_as_golden("coach/weeks.txt", "\n".join(lines) + "\n")


# --- Planning again ------------------------------------------------------------


def test_a_missed_session_moves_and_another_makes_room_for_it() -> None:
    """Mon, Wed, Sat planned, Monday missed, asked on Tuesday.

    By hand: Tuesday is a day before Wednesday, so Wednesday's goes to Thursday, which
    is two days before Saturday. Nothing is dropped. On Wednesday only two fit beside
    each other and Saturday stays: Monday's is dropped.
    """
    wanted = wishes(3)
    days = (0, 2, 5)
    plan = Weeks(
        FIRST, 1, tuple(PlannedSession(f"s{n}", after(n), "shed") for n in days)
    )
    again = replan(plan, wanted, after(1))
    assert again.dropped == ()
    assert again.moved == (("s0", after(0), after(1)), ("s2", after(2), after(3)))
    done = replace(plan.sessions[1], state="done")
    later = replace(plan, sessions=(plan.sessions[0], done, plan.sessions[2]))
    again = replan(later, wanted, after(3))
    assert again.moved == (("s0", after(0), after(4)), ("s5", after(5), after(6)))
    later = replace(later, sessions=(*later.sessions[:2], done_on(6)))
    again = replan(later, wanted, after(5))
    assert again.dropped == ("s0",)
    assert "nothing has to be made up" in again.sentences[0]


def done_on(offset: int) -> PlannedSession:
    return PlannedSession(f"s{offset}", after(offset), "shed", state="done")


def test_a_plan_that_still_holds_is_left_alone() -> None:
    wanted = wishes(3)
    plan = make_weeks(wanted, FIRST, 3)
    assert replan(plan, wanted, FIRST).weeks == plan
    assert replan(plan, wanted, FIRST).sentences == ()


def test_a_session_missed_in_a_week_that_is_over_is_never_made_up() -> None:
    wanted = wishes(2)
    plan = make_weeks(wanted, FIRST, 2)
    again = replan(plan, wanted, after(7))
    this_week = [s for s in again.weeks.sessions if s.day >= after(7)]
    assert len(this_week) == 2
    assert again.moved == again.dropped == ()


def test_new_travel_moves_only_what_lies_in_it() -> None:
    wanted = wishes(2)
    plan = Weeks(
        FIRST,
        1,
        (PlannedSession("a", after(0), "shed"), PlannedSession("b", after(3), "shed")),
    )
    travels = replace(wanted, away=(DaySpan(after(2), after(4)),))
    again = replan(plan, travels, FIRST)
    assert again.moved == (("b", after(3), after(5)),)


def test_a_session_moves_rather_than_is_dropped_though_next_week_s_moves_too() -> None:
    """Thursday is taken by travel; only Sunday is left, next to Monday's session.

    By hand: on Sunday it pushes Monday's to Thursday: two moves and none dropped. Where
    next week has Monday alone, one has to go, and the one that stands stays.
    """
    wanted = wishes(1, weekdays=frozenset({0, 3, 6}))
    plan = Weeks(
        FIRST,
        2,
        (PlannedSession("a", after(3), "shed"), PlannedSession("b", after(7), "shed")),
    )
    travels = replace(wanted, away=(DaySpan(after(3), after(3)),))
    again = replan(plan, travels, after(1))
    assert {key for key, _, _ in again.moved} == {"a", "b"}
    assert again.dropped == ()
    longer = replace(travels, away=(*travels.away, DaySpan(after(8), after(13))))
    again = replan(plan, longer, after(1))
    assert (again.moved, again.dropped) == ((), ("a",))


def test_what_was_done_keeps_its_48_h() -> None:
    """Tuesday done, Thursday to Sunday away from now on, asked on Wednesday.

    By hand: Wednesday is the only day left, a day after Tuesday: dropped.
    """
    wanted = wishes(2, away=(DaySpan(after(3), after(6)),))
    done = PlannedSession("a", after(1), "shed", state="done")
    plan = Weeks(FIRST, 1, (done, PlannedSession("b", after(3), "shed")))
    again = replan(plan, wanted, after(2))
    assert (again.moved, again.dropped) == ((), ("b",))
    arms = replace(wanted, circuits=(WHOLE, LEGS, ARMS))
    done_legs = replace(done, circuit="hill")
    other = replace(plan, sessions=(done_legs, PlannedSession("b", after(3), "yard")))
    again = replan(other, arms, after(2))
    assert again.moved == (("b", after(3), after(2)),)


@st.composite
def disturbed(draw: st.DrawFn) -> tuple[Weeks, WeekWishes, date]:
    """Two weeks planned, some of it done, then new wishes and a later day."""
    wanted = replace(draw(drawn_wishes()), sessions_a_week=2)
    plan = make_weeks(wanted, FIRST, 2)
    today = after(draw(st.integers(0, 8)))
    done = tuple(
        replace(s, state="done") if s.day < today and draw(st.booleans()) else s
        for s in plan.sessions
    )
    away = draw(st.lists(st.tuples(DAYS, st.integers(0, 3)), max_size=2))
    changed = replace(
        wanted,
        away=(
            *wanted.away,
            *(DaySpan(day, day + timedelta(days=more)) for day, more in away),
        ),
        key_days=wanted.key_days | draw(st.frozensets(DAYS, max_size=2)),
    )
    return replace(plan, sessions=done), changed, today


def least_change(plan: Weeks, wanted: WeekWishes, today: date) -> tuple[int, int]:
    """Dropped and changed, of every way to place what has to be placed in its week."""
    done = [(s.day, s.circuit) for s in plan.sessions if s.state == "done"]
    coming = [
        s
        for s in plan.sessions
        if s.state == "planned" and week_of(s.day).last >= today
    ]
    choices = [[None, *(day for day in week_of(s.day) if day >= today)] for s in coming]
    least = (len(coming), len(coming))
    for days in product(*choices):
        dropped = days.count(None)
        changed = sum(d != s.day for d, s in zip(days, coming, strict=True))
        if (dropped, changed) >= least:
            continue
        placed = [(d, s.circuit) for d, s in zip(days, coming, strict=True) if d]
        if holds(placed, done, wanted):
            least = dropped, changed
    return least


def holds(
    placed: list[tuple[date, str]], done: list[tuple[date, str]], wanted: WeekWishes
) -> bool:
    """Placed sessions among each other, and each against what was done already."""
    regions = {circuit.id: circuit.regions for circuit in wanted.circuits}
    near = any(
        abs((d - e).days) < (2 if regions[c] & regions[o] else 1)
        for d, c in placed
        for e, o in done
    )
    return not near and own_verdict(placed, wanted)


@MODERATE
@given(disturbed())
def test_planning_again_drops_as_few_and_then_moves_as_few_as_can_be(
    case: tuple[Weeks, WeekWishes, date],
) -> None:
    """Against every possibility."""
    plan, wanted, today = case
    again = replan(plan, wanted, today)
    changed = len(again.moved) + len(again.dropped)
    assert (len(again.dropped), changed) == least_change(plan, wanted, today)


@MODERATE
@given(disturbed())
def test_planning_again_keeps_the_rules_and_never_doubles(
    case: tuple[Weeks, WeekWishes, date],
) -> None:
    plan, wanted, today = case
    again = replan(plan, wanted, today)
    assert {s.id for s in again.weeks.sessions} == {s.id for s in plan.sessions}
    was = {s.id: s for s in plan.sessions}
    fixed = [s for s in again.weeks.sessions if s.state == "planned"]
    done = [(s.day, s.circuit) for s in again.weeks.sessions if s.state == "done"]
    assert holds([(s.day, s.circuit) for s in fixed], done, wanted)
    for session in again.weeks.sessions:
        assert week_of(session.day) == week_of(was[session.id].day)
        if session.state == "planned":
            assert session.day >= today
        if was[session.id].state == "done":
            assert session == was[session.id]
    days = [s.day for s in fixed] + [day for day, _ in done]
    assert len(days) == len(set(days))


@MODERATE
@given(disturbed())
def test_a_missed_session_that_could_move_is_not_dropped(
    case: tuple[Weeks, WeekWishes, date],
) -> None:
    plan, wanted, today = case
    again = replan(plan, wanted, today)
    held = [(s.day, s.circuit) for s in again.weeks.sessions if s.state != "missed"]
    for session in again.weeks.sessions:
        late = session.day < today and session.id in again.dropped
        if not late:
            continue
        circuit = wanted.circuit(session.circuit)
        rest = [day for day in week_of(session.day) if day >= today]
        assert not any(fits(day, circuit, held, wanted) for day in rest)
