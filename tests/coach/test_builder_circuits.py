"""The builder's points agree with a strength coach: circuits, intervals, loads.

The answers stand in builder_circuits.toml. Common practice, no source.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from tests.coach.builder_cases import KITS, UNTIL, kilos

from whistlestop.builder import objective, rules
from whistlestop.builder.facts import Piece, pieces
from whistlestop.builder.making import BuiltCircuit, built
from whistlestop.builder.request import Request
from whistlestop.builder.search import well_begun
from whistlestop.builder.timing import best_timing, floors_ms, timings, total_ms
from whistlestop.builder.worth import worth_of
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.library import exercises

ANSWERS = tomllib.loads(
    (Path(__file__).parent / "builder_circuits.toml").read_text(encoding="utf-8")
)


def kit_of(case: dict[str, Any]) -> Kit:
    things = set(case.get("things", ()))
    weights = [kilos(kg) for kg in case.get("bells", ())]
    weights += [kilos(kg, 2) for kg in case.get("pairs", ())]
    return Kit(
        weights=tuple(weights),
        bench="bench" in things,
        mats="mat" in things,
        things=frozenset(things - {"bench", "mat"}),
    )


def without_taste(order: list[Piece], request: Request) -> int:
    liked = sum(objective.taste(piece.id, request.seed) for piece in order)
    return objective.points(order, request) - liked


@pytest.mark.parametrize("case", ANSWERS["pair"], ids=lambda case: case["why"])
def test_the_circuit_that_a_coach_prefers_has_more_points(case):
    limits = tuple(
        Limit("site", case[how], UNTIL, strength=how)
        for how in ("easy",)
        if how in case
    )
    request = Request(
        stations=len(case["better"]),
        kit=kit_of(case),
        level=case["level"],
        limits=limits,
        recent=frozenset(case.get("recent", ())),
        yardstick=case.get("yardstick", ""),
    )
    known = {piece.id: piece for piece in pieces(request)}
    better = [known[key] for key in case["better"]]
    worse = [known[key] for key in case["worse"]]
    assert rules.violations(better, request) == 0
    if rules.violations(worse, request) == 0:
        assert without_taste(better, request) > without_taste(worse, request)


@pytest.mark.parametrize("case", ANSWERS["time"], ids=lambda case: case["why"])
def test_intervals_are_those_that_a_coach_gives(case):
    request = Request(
        minutes=case["minutes"],
        stations=case["stations"],
        loops=case["loops"],
        level=case["level"],
    )
    timing = best_timing(request)
    assert timing is not None
    assert timing.work_ms == case["work"] * 1000
    assert timing.recover_ms == case["recover"] * 1000


@pytest.mark.parametrize("minutes", [12, 20, 30, 45, 60])
@pytest.mark.parametrize("level", ["new", "regular", "strong"])
def test_half_of_the_minutes_are_stations_and_nobody_starts_cold(minutes, level):
    """The warm-up and the cool-down never fall below their floor for it."""
    request = Request(minutes=minutes, stations=6, loops=2, level=level)
    for timing in timings(request):
        intervals = 12 * timing.work_ms + 10 * timing.recover_ms
        assert 2 * intervals >= minutes * 60_000
        assert timing.warm_up_ms >= floors_ms(minutes)[0]
        assert timing.cool_down_ms >= floors_ms(minutes)[1]
        assert total_ms(timing, 6, 2) == minutes * 60_000


@pytest.fixture(scope="module")
def bell() -> list[BuiltCircuit]:
    """One bell, a bench, somebody regular: two seeds."""
    request = [
        Request(minutes=25, kit=KITS["bell 16"], level="regular", seed=seed)
        for seed in range(2)
    ]
    return [one for one in map(built, request) if one is not None]


@pytest.mark.slow
@pytest.mark.parametrize("case", ANSWERS["built"], ids=lambda case: case["why"])
def test_what_is_owned_is_used(case):
    request = Request(
        minutes=case["minutes"],
        stations=case["stations"],
        kit=kit_of(case),
        level=case["level"],
        seed=11,
    )
    made = built(request)
    assert made is not None
    loaded = [one for one in made.circuit.stations if one.load is not None]
    assert len(loaded) >= case["least"]


def test_one_bell_is_used_at_half_of_the_stations_and_something_is_pulled(bell):
    assert len(bell) == 2
    for made in bell:
        stations = made.circuit.stations
        assert 2 * sum(one.load is not None for one in stations) >= len(stations)
        patterns = {exercises()[one.exercise].pattern for one in stations}
        assert patterns & {"horizontal-pull", "vertical-pull"}


def test_another_seed_gives_another_circuit(bell):
    one, two = ({one.exercise for one in made.circuit.stations} for made in bell)
    assert len(one & two) <= 5


def test_a_turn_changes_no_points_and_puts_the_trunk_later():
    request = Request(stations=6, kit=KITS["bell 16"], level="regular")
    known = {piece.id: piece for piece in pieces(request)}
    order = [known[key] for key in ANSWERS["pair"][0]["better"]]
    for start in range(6):
        turn = order[start:] + order[:start]
        assert objective.points(turn, request) == objective.points(order, request)
        if rules.violations(turn, request) == 0:
            assert well_begun(turn, request)[0].exercise.region != "core"


def test_difficulty_stands_on_one_scale_over_families():
    """The answer of a coach in order, for somebody regular with the loads named."""
    request = Request(kit=KITS["dumb-bells"], level="regular")
    known = {piece.id: piece.difficulty for piece in pieces(request)}
    rising = ["wall-push-up", "body-weight-squat", "split-squat", "hollow-hold",
              "deep-side-squat"]  # fmt: skip
    figures = [known[key] for key in rising]
    assert figures == sorted(figures)
    assert figures[0] < figures[-1]


def test_every_judged_worth_is_of_a_station_there_is():
    assert {worth_of(key) for key in exercises()} == {0, 1, 2, 3}
