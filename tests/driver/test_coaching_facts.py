"""What the coach is fed with from a real log: other training, reasons, refusals."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests.support.services import (
    SHED,
    ServicesForTests,
    do_session,
    make_services,
    run_until,
    start_session,
)

from whistlestop.domain.effort import Effort
from whistlestop.driver.coaching import CircuitAdvice, Coaching
from whistlestop.driver.diary import Amendment, TrainingEntry, planned
from whistlestop.engine.commands import Do
from whistlestop.engine.states import Mode
from whistlestop.errors import UsageError

DAY_MS = 24 * 3_600_000


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    """Two easy sessions three days apart, asked three days later: a step is earned."""
    made = make_services(tmp_path, {"shed": SHED})
    for _ in range(2):
        do_session(made, made.circuits.read("shed"), efforts=(5, 5), session_effort=5)
        made.standing.now_ms += 3 * DAY_MS
    return made


def advice(services: ServicesForTests) -> CircuitAdvice:
    return Coaching(services).advise(services.circuits.read("shed"))


def test_a_ride_of_yesterday_is_seen_and_holds_a_step(
    services: ServicesForTests,
) -> None:
    assert advice(services).answer.rule.id == "more-work"
    yesterday = services.clock.wall().date() - timedelta(days=1)
    ride = TrainingEntry(yesterday, "cycling", 90 * 60_000, Effort.parse("8"))
    services.diary().add_training(ride)
    (found,) = advice(services).history.elsewhere
    assert (found.day, found.sport, found.minutes, found.effort) == (
        yesterday,
        "cycling",
        90,
        8,
    )
    answer = advice(services).answer
    assert answer.rule.id == "same-again"
    assert "90 min of cycling at 8 yesterday" in answer.proposal.why[0]


def test_why_something_was_left_out_reaches_the_coach(
    services: ServicesForTests,
) -> None:
    running = start_session(services, services.circuits.read("shed"))
    run_until(services, running, 200_000)
    running.session.do(Do.STOP)
    if running.session.engine.mode is not Mode.ENDED:
        running.session.do(Do.STOP)
    running.session.close()
    assert running.release()
    services.diary().amend(running.session_id, Amendment(left_out_for="no-time"))
    run = advice(services).history.runs[-1]
    assert run.reason == "no-time"
    assert {each.reason for each in run.stations if each.missed} == {"no-time"}
    assert {each.reason for each in run.stations if not each.missed} <= {""}


def test_two_steps_put_off_without_a_reason_are_asked_about_once(
    services: ServicesForTests,
) -> None:
    coaching = Coaching(services)
    with pytest.raises(UsageError, match="no step was put off"):
        coaching.explain(advice(services), "other")
    for _ in range(2):
        coaching.save(advice(services), "put_off")
    asked = advice(services)
    assert asked.answer.proposal.asks == "why-put-off"
    made = coaching.explain(asked, "no-time")
    assert {each.reason for each in made} == {"no-time"}
    answer = advice(services).answer
    assert answer.proposal.asks == ""
    assert answer.rule.id not in {"more-work", "another-loop"}
    assert coaching.decisions().problems == ()


def test_an_entered_session_counts_once_and_with_its_work(
    services: ServicesForTests,
) -> None:
    plan = planned(services.circuits.read("shed"), None)
    day = services.clock.wall().date() - timedelta(days=3)
    efforts = (Effort.parse("5"), Effort.parse("5"))
    done = TrainingEntry(
        day, plan.name, 900_000, circuit=plan.circuit, plan=plan, efforts=efforts
    )
    made = services.diary().enter_session(done)
    history = advice(services).history
    assert [facts.id for facts in history.sessions].count(made) == 1
    (facts,) = (each for each in history.sessions if each.id == made)
    assert (facts.plan_ms, facts.hardest) == (plan.work_ms, 5)
    (run,) = (each for each in history.runs if each.session_id == made)
    assert (run.hardness, run.loops_done) == (5, 2)
