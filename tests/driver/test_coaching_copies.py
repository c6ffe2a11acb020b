"""Decisions in a conflict copy: read once with the others, written with the next."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from tests.support.services import SHED, ServicesForTests, do_session, make_services

from whistlestop.driver.coaching import Coaching
from whistlestop.driver.next_steps import with_next_steps

CIRCUIT = "rainy-shed"


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path / "home", {CIRCUIT: SHED})
    for _ in range(3):
        do_session(made, made.circuits.read(CIRCUIT), efforts=[5, 6], session_effort=6)
        made.standing.now_ms += 3 * 86_400_000
    return made


def put_off(services: ServicesForTests) -> str:
    """Keep one decision, a minute after the one before; give its id."""
    services.standing.now_ms += 60_000
    coaching = Coaching(services)
    return coaching.save(coaching.advise(services.circuits.read(CIRCUIT)), "put_off").id


def ids(services: ServicesForTests) -> list[str]:
    return [item.id for item in Coaching(services).decisions().items]


def test_what_two_machines_decided_stands_once_and_in_order(services) -> None:
    """Both number their first decision alike; neither passes for the other."""
    path = services.places.log / "decisions.jsonl"
    there = put_off(services)
    copy = path.with_name("decisions (conflicted copy).jsonl")
    path.rename(copy)
    assert ids(services) == [there]
    here = put_off(services)
    assert here != there
    assert ids(services) == [there, here]
    last = put_off(services)
    copy.unlink()
    assert ids(services) == [there, here, last]
    assert Coaching(services).decisions().problems == ()


def test_a_circuit_is_stepped_by_a_decision_that_only_a_copy_holds(services) -> None:
    path = services.places.log / "decisions.jsonl"
    coaching = Coaching(services)
    coaching.save(coaching.advise(services.circuits.read(CIRCUIT)), "accept")
    with_steps = with_next_steps(services, services.circuits.read(CIRCUIT))
    path.rename(path.with_name("decisions.sync-conflict-1.jsonl"))
    assert with_next_steps(services, services.circuits.read(CIRCUIT)) == with_steps
    assert date(2026, 3, 12) < Coaching(services).decisions().items[0].day
