"""What the log holds raises what is given: stations, drills and the levels of drills.

The answers, written beforehand: a level that two sessions carried through held is where
a new circuit begins that drill; one session is chance; a session broken off before half
of its work counts for nothing; who held a harder level has held the easier ones. What
waits (ball kneeling, jumps) is given unasked by nothing, neither where it comes to
suit nor as an exchange, until what comes before it was held in two sessions.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from tests.support.services import break_off, do_session, make_services

from whistlestop.builder.drill_rules import level_for
from whistlestop.builder.request import Request
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.kit.substitutions import drill_instead, exchanges
from whistlestop.domain.limits import Limit
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.driver.building import asked
from whistlestop.driver.practice import held_levels, not_practised
from whistlestop.library import drills, exercises
from whistlestop.library.levels import waiting
from whistlestop.library.whole import library_means
from whistlestop.tui.rooms.sheet.fit_circuits import suited

ON = date(2026, 3, 12)
HEAD = 'format = 1\nloops = 1\nwork = "40 s"\nrecover = "20 s"\n'
SIT = "ball-sit"


def text_with(drill: str, step: str = "") -> str:
    title = f"{drills()[drill].name}: {step}" if step else drills()[drill].name
    return f"""\
{HEAD}name = "With {drill}"
[[station]]
exercise = "goblet-squat"
drill = {{ id = "{drill}", name = "{title}" }}
[[station]]
exercise = "dead-bug"
"""


def services_with(tmp_path, *texts):
    return make_services(tmp_path, {f"c{n}": text for n, text in enumerate(texts)})


def levels(services):
    logbook = services.logbook()
    records = [logbook.record(line.id) for line in logbook.done()]
    return held_levels(services.log.sessions(), records, drills())


def test_a_level_held_in_two_sessions_is_held_and_those_below_it(tmp_path):
    services = services_with(
        tmp_path,
        text_with("one-leg-stand", "hands free"),
        text_with("one-leg-stand", "slow head turns"),
    )
    do_session(services, services.circuits.read("c0"))
    assert levels(services) == {}
    do_session(services, services.circuits.read("c1"))
    # Level 3 once, and level 2 in both.
    assert levels(services) == {"one-leg-stand": 2}


def test_a_drill_without_a_level_counts_as_its_first(tmp_path):
    services = services_with(tmp_path, text_with("line-walk"))
    for _ in range(2):
        do_session(services, services.circuits.read("c0"))
    assert levels(services) == {"line-walk": 1}


def test_what_was_broken_off_early_holds_nothing(tmp_path):
    services = services_with(tmp_path, text_with("one-leg-stand", "hands free"))
    for _ in range(2):
        break_off(services, services.circuits.read("c0"), 20_000)
        services.standing.now_ms += 3_600_000
    assert levels(services) == {}


def test_ball_kneeling_waits_for_two_sessions_of_sitting_on_the_ball(tmp_path):
    services = services_with(tmp_path, text_with(SIT))
    assert {"ball-kneel", "squat-jump", "box-jump"} <= not_practised(services)
    for _ in range(2):
        assert "ball-kneel" in not_practised(services)
        do_session(services, services.circuits.read("c0"))
    assert "ball-kneel" not in not_practised(services)
    # By hand: the goblet squat comes before the squat jump, that before the box jump.
    assert "squat-jump" not in not_practised(services)
    assert "box-jump" in not_practised(services)


def of(*keys: str, drill: str = "") -> Circuit:
    made = []
    for key in keys:
        own = exercises()[key]
        held = Drill(drill, drills()[drill].name) if drill else None
        made.append(Station(key, own.name, own.call_name, parts=own.parts, drill=held))
    return Circuit("x", "X", tuple(made))


@pytest.mark.parametrize("waits", [frozenset(), frozenset({"squat-jump"})])
def test_no_exchange_gives_what_waits(waits):
    kit = Kit(things=frozenset({"box"}))
    means = library_means(kit, (), ON, waiting=waits)
    circuit = of("box-jump", "dead-bug")
    found = {one.exercise for one in exchanges(circuit, 1, means)}
    assert ("squat-jump" in found) == (not waits)


def test_no_drill_that_waits_stands_in_and_what_does_has_its_first_level():
    """By hand: with all other balance drills left out, kneeling on the ball is next."""
    kit = Kit(ball_cm=65, mats=1, things=frozenset({"post"}))
    others = frozenset(
        key for key, one in drills().items() if one.kind == "balance" and key != SIT
    ) - {"ball-kneel"}
    circuit = of("dead-bug", drill="rocker-board-stand")
    limits = tuple(Limit("movement", key, date.max) for key in (*others, SIT))
    free = drill_instead(circuit, 1, library_means(kit, limits, ON))
    assert free is not None
    assert free.id == "ball-kneel"
    assert free.name == f"{drills()['ball-kneel'].name}: both hands on the post"
    means = library_means(kit, limits, ON, waiting=frozenset({"ball-kneel"}))
    instead = drill_instead(circuit, 1, means)
    assert instead is not None
    assert drills()[instead.id].kind == "coordination"


def test_the_builder_begins_a_drill_where_it_was_held(tmp_path):
    """And where a limit stands against that level, at the hardest one below."""
    drill = drills()["one-leg-stand"]
    held = (("one-leg-stand", 3),)
    neck = Limit("site", "neck", date.max, strength="out")
    for request, level in (
        (Request(), 1),
        (Request(held=held), 3),
        (Request(held=held, level="new"), 1),
        # Head turns, at level 3, ask something of the neck.
        (Request(held=held, limits=(neck,)), 2),
        (Request(held=held, limits=(replace(neck, value="ankle"),)), 0),
    ):
        assert level_for(drill, request) == level


def test_the_log_of_a_home_says_where_a_new_circuit_begins(tmp_path):
    services = services_with(tmp_path, text_with("one-leg-stand", "hands free"))
    for _ in range(2):
        do_session(services, services.circuits.read("c0"))
    request = asked(services, CircuitWishes()).request
    assert request.held == (("one-leg-stand", 2),)


def test_what_fits_gives_somebody_new_no_drill_that_waits():
    """By hand: rope waits for heel raises, all of it: coordination stands in."""
    circuit = of("dead-bug", "glute-bridge", drill="rope-bounce")
    kit = Kit(mats=1, things=frozenset({"skipping rope"}))
    for beyond, kinds in (
        (frozenset(), {"rope"}),
        (waiting(()), {"coordination"}),
    ):
        found = suited(circuit, library_means(kit, (), ON), None, beyond)
        assert found is not None
        held = [one.drill for one in found.draft.as_performed.stations]
        assert {drills()[one.id].kind for one in held} == kinds
