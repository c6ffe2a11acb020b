"""The coach against the answers of judgement_answers.toml, one test a history.

Looked at are the direction, the family of the rule and what changes: never words.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from tests.coach.judgement_cases import (
    CASES,
    Case,
    changed_stations,
    context_of_case,
    history_of_case,
)

from whistlestop.coach.changes import intervals_ms
from whistlestop.coach.next_step import next_step
from whistlestop.coach.rules import RAISING
from whistlestop.coach.verdicts import Direction, Proposal
from whistlestop.domain.plan.timeline import compile_plan

DIRECTIONS = {
    "up": Direction.UP,
    "same": Direction.SAME,
    "down": Direction.DOWN,
    "rest": Direction.REST,
    "page": Direction.REST,
}
# What each family of the answers is called among the rules.
FAMILIES = {
    "after-race": {"after-race"},
    "hold": {"same-again"},
    "ill": {"ill"},
    "less": {"step-down"},
    "lighter": {"deload"},
    "loops": {"loops"},
    "page": {"page"},
    "rest": {"rest"},
    "return": {"return"},
    "sore": {"sore"},
    "station": {"one-station"},
    "taper": {"taper"},
    "time-off": {"restart"},
}
RAISES = {key for order in RAISING.values() for key in order}


def test_each_history_has_a_name_of_its_own_and_an_answer() -> None:
    assert len(CASES) >= 80
    assert Counter(case["id"] for case in CASES).most_common(1)[0][1] == 1
    assert all(case["want"]["answer"] in DIRECTIONS for case in CASES)
    assert all(len(case["why"].split()) >= 4 for case in CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_the_coach_says_what_a_good_one_would(case: Case) -> None:
    told = history_of_case(case)
    known = context_of_case(case, told)
    made = next_step(told, known).proposal
    want = case["want"]
    assert made.direction is DIRECTIONS[want["answer"]], (made.title, made.why)
    if "rule" in want:
        assert made.rule in FAMILIES[want["rule"]]
    elif want["answer"] == "up":
        assert made.rule in RAISES
    assert differences(want, made, changed_stations(known.circuit, made.circuit)) == {}


def differences(want: Case, made: Proposal, changed: set[int]) -> dict[str, Any]:
    """What is another thing than was wanted, with what it is."""
    after = made.after
    share = 100 * after.work_ms / made.before.work_ms
    found: dict[str, Any] = {
        "work": [after.loops, after.interval_ms // 1000],
        "recover": after.recover_ms // 1000,
        "only": sorted(changed),
        "asks": made.asks,
    }
    wrong = {key: found[key] for key in found.keys() & want if found[key] != want[key]}
    if "share" in want and not want["share"][0] <= share <= want["share"][1]:
        wrong["share"] = share
    if not set(want.get("changed", ())) <= changed:
        wrong["changed"] = changed
    if "load" in want:
        number, load = want["load"]
        now = made.circuit.stations[number - 1].load
        wrong |= {} if str(now or "") == load else {"load": str(now)}
    if "seconds" in want:
        number, seconds = want["seconds"]
        now_ms = intervals_ms(compile_plan(made.circuit))[1, number]
        wrong |= {} if now_ms == seconds * 1000 else {"seconds": now_ms}
    return wrong
