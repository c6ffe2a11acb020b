"""Decisions in a conflict copy: read once with the others, written with the next."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from tests.support.house import SHED, HouseForTests, do_session, make_house

from whistlestop.driver.coaching import Coaching

CIRCUIT = "rainy-shed"


@pytest.fixture
def house(tmp_path: Path) -> HouseForTests:
    made = make_house(tmp_path / "home", {CIRCUIT: SHED})
    for _ in range(3):
        do_session(made, made.circuit(CIRCUIT), efforts=[5, 6], session_effort=6)
        made.standing.now_ms += 3 * 86_400_000
    return made


def put_off(house: HouseForTests) -> str:
    """Keep one decision, a minute after the one before; give its id."""
    house.standing.now_ms += 60_000
    coaching = Coaching(house)
    return coaching.keep(coaching.advise(house.circuit(CIRCUIT)), "put_off").id


def ids(house: HouseForTests) -> list[str]:
    return [item.id for item in Coaching(house).decisions().items]


def test_what_two_machines_decided_stands_once_and_in_order(house) -> None:
    """Both number their first decision alike; neither passes for the other."""
    path = house.places.log / "decisions.jsonl"
    there = put_off(house)
    copy = path.with_name("decisions (conflicted copy).jsonl")
    path.rename(copy)
    assert ids(house) == [there]
    here = put_off(house)
    assert here != there
    assert ids(house) == [there, here]
    last = put_off(house)
    copy.unlink()
    assert ids(house) == [there, here, last]
    assert Coaching(house).decisions().problems == ()


def test_a_circuit_is_stepped_by_a_decision_that_only_a_copy_holds(house) -> None:
    path = house.places.log / "decisions.jsonl"
    coaching = Coaching(house)
    coaching.keep(coaching.advise(house.circuit(CIRCUIT)), "accept")
    stepped = house.as_stepped(house.circuit(CIRCUIT))
    path.rename(path.with_name("decisions.sync-conflict-1.jsonl"))
    assert house.as_stepped(house.circuit(CIRCUIT)) == stepped
    assert date(2026, 3, 12) < Coaching(house).decisions().items[0].day
