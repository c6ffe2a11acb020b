"""What limits stand against is said before a session that no sheet came before.

The answers, written beforehand: a bilateral squat asks much of the knee, a step-up too;
a side plank asks nothing of it. Who goes easy on the knee is told of both squat and
step-up, whoever of the two it is; who leaves out the ankle is also told of the stand on
one leg after the squat. What is over, or still to come, is not said.
"""

from __future__ import annotations

import pytest
from tests.support.services import SHED, make_services

from whistlestop.domain.plan.pairing import ALONE
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.before_start import against_limits
from whistlestop.driver.pairs import together

LIMITS = """\
format = 2
[[limit]]
site = "ankle"
strength = "out"
until = 2026-04-01
[[limit]]
site = "shoulder"
strength = "out"
until = 2026-03-01
"""
ATHLETES = """\
format = 1
[[athlete]]
id = "a2"
name = "Robin"
[[athlete.limit]]
site = "knee"
side = "left"
strength = "easy"
until = 2026-04-01
[[athlete]]
id = "a3"
name = "Sam"
[[athlete.limit]]
site = "shoulder"
strength = "out"
until = 2026-04-01
"""


@pytest.fixture
def services(tmp_path):
    made = make_services(
        tmp_path, {"shed": SHED.replace("one-ball-arc", "one-leg-stand")}
    )
    made.places.athletes_file.write_text(ATHLETES)
    return made


def alone(services):
    plan = compile_plan(services.circuits.read("shed"))
    return against_limits(services, plan, ALONE)


def in_two(services, name):
    circuit = services.circuits.read("shed")
    plan, company, _ = together(services, circuit, name, keep=False)
    return against_limits(services, plan, company)


def test_without_limits_nothing_is_said(services):
    assert alone(services) == ()


def test_stations_and_drills_are_named_by_number_and_what_is_over_is_not(services):
    services.places.limits_file.write_text(LIMITS)
    (line,) = alone(services)
    assert line == (
        "Stations 1 and 3, drill after 1: you leave out the ankle until 2026-04-01."
    )


def test_a_companions_limit_is_said_with_the_name_and_no_other_companions(services):
    (line,) = in_two(services, "Robin")
    assert line == (
        "Stations 1 and 3, for Robin: go easy on the left knee until 2026-04-01."
    )


def test_of_two_each_ones_own_are_said(services):
    services.places.limits_file.write_text(LIMITS)
    mine, theirs = in_two(services, "Robin")
    assert "you leave out the ankle" in mine
    assert "for Robin: go easy on the left knee" in theirs


def test_limits_that_cannot_be_read_are_said_and_the_circuit_runs(services):
    services.places.limits_file.write_text("format = 9\n")
    (line,) = alone(services)
    assert "nothing is exchanged until it is read" in line
