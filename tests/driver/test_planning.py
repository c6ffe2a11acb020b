"""Weeks of a home: saved, laid over with the log, planned again, and fed to the coach.

The clock stands at Thursday 12 March 2026, 17:30.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import FEW
from tests.support.services import (
    SHED,
    ServicesForTests,
    break_off,
    do_session,
    make_services,
)

from whistlestop.coach.weeks import PlannedSession, Weeks
from whistlestop.domain.targets import Targets
from whistlestop.driver.coaching import Coaching
from whistlestop.driver.planning import Planning, as_done
from whistlestop.driver.week_targets import block_now, key_days_near
from whistlestop.errors import StoreError, UsageError
from whistlestop.review.days import DaySpan, Mark
from whistlestop.store.wishes.weeks import write_targets

DAY_MS = 86_400_000
MONDAY = date(2026, 3, 9)


def on(day: int) -> date:
    return MONDAY + timedelta(days=day)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path, {"shed": SHED, "yard": SHED})


def wanted(**changes: object) -> Targets:
    plain = Targets(began=MONDAY, circuits=("shed",), sessions_a_week=3, weeks=3)
    return replace(plain, **changes)  # type: ignore[arg-type]


def kept(services: ServicesForTests, targets: Targets) -> Planning:
    planning = Planning(services)
    outlook = planning.outlook(targets)
    planning.save(planning.made(outlook), targets)
    return planning


def test_a_first_plan_begins_today_and_comes_back(services: ServicesForTests) -> None:
    """Thursday: two of three sessions still fit into the week, 48 h apart."""
    planning = kept(services, wanted())
    plan = planning.outlook().plan
    assert plan is not None
    days = [s.day for s in plan.sessions]
    assert min(days) >= on(3)
    assert sum(day < on(7) for day in days) == 2
    assert all((b - a).days >= 2 for a, b in pairwise(days))
    assert planning.targets() == wanted()


def test_a_session_done_an_hour_ago_keeps_its_48_h_in_a_first_plan(
    services: ServicesForTests,
) -> None:
    do_session(services, services.circuits.read("shed"))
    plan = kept(services, wanted()).outlook().plan
    assert plan is not None
    assert [(s.day, s.state) for s in plan.sessions[:2]] == [
        (on(3), "done"),
        (on(5), "planned"),
    ]


def test_a_session_left_before_its_first_work_was_not_done(
    services: ServicesForTests,
) -> None:
    break_off(services, services.circuits.read("shed"), 2_000)
    plan = kept(services, wanted()).outlook().plan
    assert plan is not None
    assert "done" not in [s.state for s in plan.sessions]


def test_a_missed_day_moves_is_shown_first_and_is_kept_once_taken(
    services: ServicesForTests,
) -> None:
    """Planned Thursday, Saturday, Monday; on Friday Thursday was missed.

    By hand: on Friday it is a day before Saturday's, which goes to Sunday, and that a
    day before Monday's, which goes to Tuesday: nothing is dropped. With Thursday alone
    it moves to Friday.
    """
    planning = kept(services, wanted())
    services.standing.now_ms += DAY_MS
    again = planning.replanned(planning.outlook())
    assert [(old, new) for _, old, new in again.moved] == [
        (on(3), on(4)),
        (on(5), on(6)),
        (on(7), on(8)),
    ]
    assert again.dropped == ()

    lone = wanted(sessions_a_week=1, days=frozenset({3, 4}))
    services.places.plan_file.unlink()
    services.standing.now_ms -= DAY_MS
    planning = kept(services, lone)
    services.standing.now_ms += DAY_MS
    again = planning.replanned(planning.outlook())
    assert [(old, new) for _, old, new in again.moved] == [(on(3), on(4))]
    before = planning.outlook().plan
    assert before is not None
    assert before.sessions[0].day == on(3)
    planning.save(again.weeks, lone)
    after = planning.outlook().plan
    assert after is not None
    assert after.sessions[0].day == on(4)
    assert planning.replanned(planning.outlook()).sentences == ()


def test_a_session_dropped_once_is_not_told_again(services: ServicesForTests) -> None:
    few = wanted(days=frozenset({3, 5}))
    planning = kept(services, few)
    services.standing.now_ms += DAY_MS
    again = planning.replanned(planning.outlook())
    assert again.dropped
    assert "nothing has to be made up" in again.sentences[0]
    planning.save(again.weeks, few)
    assert planning.replanned(planning.outlook()).sentences == ()


def test_a_plan_made_anew_leaves_what_is_past(services: ServicesForTests) -> None:
    planning = kept(services, wanted())
    do_session(services, services.circuits.read("shed"))
    services.standing.now_ms += 6 * DAY_MS
    outlook = planning.outlook(wanted(sessions_a_week=1))
    made = planning.made(outlook)
    states = [(s.day, s.state) for s in made.sessions if s.day < outlook.today]
    assert (on(3), "done") in states
    assert all(state != "planned" for _, state in states)


def test_without_a_plan_there_is_nothing_to_plan_again(
    services: ServicesForTests,
) -> None:
    planning = Planning(services)
    with pytest.raises(UsageError, match="no circuit is in use"):
        planning.outlook()
    with pytest.raises(UsageError, match="no plan saved"):
        planning.replanned(planning.outlook(wanted()))


def test_wishes_written_by_hand_stay_and_the_plan_is_kept_from_them(
    services: ServicesForTests,
) -> None:
    path = services.places.weeks_file
    path.write_text('format = 1\nbegan = 2026-03-09\ncircuits = ["shed"]\n')
    planning = Planning(services)
    outlook = planning.outlook()
    planning.save(planning.made(outlook), outlook.targets)
    assert planning.outlook().plan is not None
    with pytest.raises(StoreError, match="by hand"):
        planning.save(planning.made(outlook), wanted())


SESSIONS = st.lists(
    st.tuples(st.integers(0, 13), st.sampled_from(["shed", "yard"])), max_size=6
)


@FEW
@given(SESSIONS, SESSIONS)
def test_every_session_done_is_in_the_plan_once_and_none_is_lost(
    planned: list[tuple[int, str]], done: list[tuple[int, str]]
) -> None:
    sessions = tuple(
        PlannedSession(f"s{n}", on(day), key) for n, (day, key) in enumerate(planned)
    )
    plan = Weeks(MONDAY, 2, sessions)
    marked = as_done(plan, [(on(day), key) for day, key in sorted(done)])
    held = sorted((s.day, s.circuit) for s in marked.sessions if s.state == "done")
    assert held == sorted((on(day), key) for day, key in done)
    assert {s.id for s in sessions} <= {s.id for s in marked.sessions}


def test_a_session_done_on_another_day_of_its_week_is_that_session() -> None:
    plan = Weeks(
        MONDAY,
        1,
        (PlannedSession("s1", on(2), "shed"), PlannedSession("s2", on(4), "shed")),
    )
    marked = as_done(plan, [(on(3), "shed"), (on(6), "yard")])
    assert [(s.id, s.day, s.state) for s in marked.sessions] == [
        ("s1", on(3), "done"),
        ("s2", on(4), "planned"),
        ("x1", on(6), "done"),
    ]


def test_emphasis_and_key_days_of_a_day() -> None:
    targets = wanted(
        blocks=(("base", 4), ("strength", 5)),
        key_weekdays=frozenset({6}),
        races=frozenset({on(5)}),
    )
    assert block_now(targets, on(0)) == ("base", 4, False)
    assert block_now(targets, on(21)) == ("base", 4, True)
    assert block_now(targets, on(28)) == ("strength", 5, False)
    assert block_now(targets, on(-1)) is None
    assert key_days_near(targets, on(3), 3) == {on(6)}
    assert key_days_near(targets, on(7), 3) == {on(6)}
    mixed = wanted(races_b=frozenset({on(5), on(9)}), races=frozenset({on(9)}))
    assert mixed.priorities == {on(5): "B", on(9): "A"}


def test_the_coach_knows_key_sessions_and_emphasis_of_the_weeks(
    services: ServicesForTests,
) -> None:
    """Two whole sessions; a key session tomorrow: legs rest. Maintain: no step."""
    for _ in range(2):
        do_session(
            services, services.circuits.read("shed"), efforts=(5, 6), session_effort=6
        )
        services.standing.now_ms += 3 * DAY_MS
    coaching = Coaching(services)
    circuit = services.circuits.read("shed")
    assert coaching.advise(circuit).answer.rule.id == "more-work"
    tomorrow = (services.clock.wall().date() + timedelta(days=1)).weekday()
    write_targets(
        services.places.weeks_file, wanted(key_weekdays=frozenset({tomorrow}))
    )
    assert coaching.advise(circuit).answer.rule.id == "rest"
    write_targets(services.places.weeks_file, wanted(blocks=(("maintain", 4),)))
    assert coaching.advise(circuit).answer.rule.id == "same-again"
    lighter = wanted(began=MONDAY - timedelta(weeks=2), blocks=(("base", 4),))
    write_targets(services.places.weeks_file, lighter)
    answer = coaching.advise(circuit).answer
    assert answer.rule.id == "deload"
    assert answer.proposal.why[0] == "This week is the lighter one of its block of 4."


def test_what_is_still_to_come_goes_out_as_events(services: ServicesForTests) -> None:
    planning = kept(services, wanted(blocks=(("base", 4),), weeks=4))
    outlook = planning.outlook()
    events = planning.events(outlook)
    assert outlook.plan is not None
    coming = [s for s in outlook.plan.sessions if s.state == "planned"]
    assert [event.begin.date() for event in events] == [s.day for s in coming]
    assert events[0].length_ms == 390_000  # 2 x (3 x 40 + 2 x 20) + 60 + 10 s
    assert events[-1].name.endswith(", 60 %")


def test_the_weeks_name_what_limits_stand_against_in_the_circuits_they_plan(
    services: ServicesForTests,
) -> None:
    """They choose days and change no circuit: its sheet offers what to do instead."""
    planning = Planning(services)
    assert planning.outlook(wanted()).against == ()
    services.places.limits_file.write_text(
        'format = 2\n[[limit]]\nsite = "knee"\nstrength = "easy"\nuntil = 2026-04-01\n'
    )
    (line,) = planning.outlook(wanted()).against
    assert line == (
        "Rainy shed, stations 1 and 3: you go easy on the knee until 2026-04-01."
    )


def test_what_the_plan_says_of_today_is_what_next_says(
    services: ServicesForTests,
) -> None:
    """Two sessions at 5 in the log; asked on a planned day, and on the day after it."""
    circuit = services.circuits.read("shed")
    for _ in range(2):
        do_session(services, circuit, efforts=(4, 5), session_effort=5)
        services.standing.now_ms += 3 * DAY_MS
    today = services.clock.wall().date()
    planning = kept(services, wanted(began=today, sessions_a_week=2))
    plan = planning.outlook().plan
    assert plan is not None
    said = next(s for s in plan.sessions if s.day >= today and s.state == "planned")
    services.standing.now_ms += (said.day - today).days * DAY_MS
    proposal = Coaching(services).advise(circuit).answer.proposal
    assert (said.says, said.is_more) == (proposal.title, True)
    assert planning.next_days(["shed", "yard"]) == {"shed": said.day}
    services.standing.now_ms += DAY_MS
    later = planning.next_days(["shed"])["shed"]
    assert later > said.day + timedelta(days=1)


def test_a_plan_made_on_the_first_day_of_an_illness_keeps_out_of_it(
    services: ServicesForTests,
) -> None:
    """Ill today and tomorrow: planned from the third day after, and with half."""
    circuit = services.circuits.read("shed")
    for _ in range(2):
        do_session(services, circuit, efforts=(4, 5), session_effort=5)
        services.standing.now_ms += 3 * DAY_MS
    today = services.clock.wall().date()
    services.diary().mark(Mark.ILLNESS, DaySpan(today, today + timedelta(days=1)))
    plan = kept(services, wanted(began=today)).outlook().plan
    assert plan is not None
    coming = [s for s in plan.sessions if s.state == "planned"]
    assert coming[0].day >= today + timedelta(days=3)
    assert float(coming[0].share) <= 0.5
