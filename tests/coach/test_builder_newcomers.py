"""Somebody new gets a beginner's circuit; jumps and taught lifts wait for practice."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.coach.builder_cases import FEW_KITS, KITS
from tests.support.examples import examples

from whistlestop.builder.checker import check
from whistlestop.builder.drill_rules import drills_for
from whistlestop.builder.explain import changes, counting
from whistlestop.builder.facts import catalogue, hidden_by, pieces
from whistlestop.builder.making import built
from whistlestop.builder.request import Request
from whistlestop.builder.sentences import notes
from whistlestop.library import drills, exercises
from whistlestop.library.first_loads import LEVELS, first_loads
from whistlestop.library.levels import (
    MOST_BASE,
    drill_levels,
    station_levels,
    too_hard,
    waiting,
)

ANSWERS = tomllib.loads(
    (Path(__file__).parent / "newcomer_answers.toml").read_text(encoding="utf-8")
)
STATIONS, DRILLS = ANSWERS["stations"], ANSWERS["drills"]
NEW = Request(level="new", waiting=waiting(()))


def test_a_newcomer_may_be_given_what_a_coach_gives_on_the_first_days():
    given_ = {piece.id for piece in pieces(NEW)}
    assert set(STATIONS["first"]) - given_ == set()
    assert {drill.id for drill in drills_for(NEW)} >= set(DRILLS["first"])


def test_a_newcomer_is_given_nothing_that_a_coach_keeps_for_later():
    given_ = {piece.id for piece in pieces(NEW)}
    assert set(STATIONS["wait"]) & given_ == set()
    assert {drill.id for drill in drills_for(NEW)} & set(DRILLS["wait"]) == set()


@pytest.mark.parametrize(("station", "before"), STATIONS["after_two"].items())
@pytest.mark.parametrize("level", LEVELS)
def test_what_waits_comes_once_what_is_before_it_was_practised(level, station, before):
    assert station in waiting(())
    assert station not in waiting({before})
    names = {p.id for p in pieces(Request(level=level, waiting=waiting(())))}
    assert station not in names
    after = {p.id for p in pieces(Request(level=level, waiting=waiting({before})))}
    assert (station in after) == (station not in too_hard(level))


@pytest.mark.parametrize(("drill", "before"), DRILLS["after_two"].items())
def test_a_drill_waits_likewise(drill, before):
    def ids(done):
        return {d.id for d in drills_for(Request(waiting=waiting(done)))}

    assert drill not in ids(())
    assert drill in ids({before})


@pytest.mark.parametrize("station", ["squat-jump", "get-up", "pull-up"])
def test_what_is_asked_for_by_name_comes_at_any_level(station):
    for wish in (
        Request(level="new", waiting=waiting(()), keep=(station,)),
        Request(level="new", waiting=waiting(()), favourites=frozenset({station})),
    ):
        assert station in {piece.id for piece in pieces(wish)}


def test_every_station_and_drill_has_a_level_and_waits_for_what_there_is():
    assert list(station_levels()) == list(exercises())
    assert list(drill_levels()) == list(drills())
    known = {*exercises(), *drills()}
    for one in (*station_levels().values(), *drill_levels().values()):
        assert set(one.waits or ()) <= known
        assert one.id not in (one.waits or ())
    assert all(1 <= one.base <= 10 for one in station_levels().values())


def test_where_no_first_load_is_stated_for_somebody_new_it_is_too_hard():
    for key, load in first_loads().items():
        if load.new is None:
            assert station_levels()[key].base > MOST_BASE["new"], key


def test_all_that_leaves_the_ground_waits():
    """By the features: a landing is never given unasked."""
    lands = {"jump", "hop", "sprint"}
    for key, one in exercises().items():
        if lands & set(one.features):
            assert key in waiting(()), key
    for key, drill in drills().items():
        if lands & {*drill.features, *drill.added_at(1)}:
            assert key in waiting(()), key


def test_no_drill_begins_with_closed_eyes():
    """So what is named at its first level is never given with the eyes closed."""
    assert not [key for key, drill in drills().items() if "clos" in drill.ladder[0]]


@settings(max_examples=examples(100), deadline=None)
@given(
    st.sampled_from(FEW_KITS),
    st.integers(3, 8),
    st.integers(1, 3),
    st.integers(0, 2**32 - 1),
)
def test_whatever_is_owned_a_newcomer_gets_a_beginners_circuit(
    kit: str, stations: int, loops: int, seed: int
) -> None:
    request = Request(
        minutes=5 * stations,
        stations=stations,
        loops=loops,
        kit=KITS[kit],
        seed=seed,
        level="new",
        waiting=waiting(()),
    )
    made = built(request, any_will_do=True)
    if made is None:
        return
    assert check(made.circuit, request) == ()
    ids = [station.exercise for station in made.circuit.stations]
    assert not set(ids) & set(STATIONS["wait"])
    for station in made.circuit.stations:
        if station.drill is not None:
            drill = drills()[station.drill.id]
            assert station.drill.name == f"{drill.name}: {drill.ladder[0]}"


@pytest.mark.parametrize("kit", FEW_KITS)
def test_the_first_circuit_is_found_with_any_kit_and_rests_longer(kit):
    made = built(
        Request(
            minutes=20,
            stations=6,
            kit=KITS[kit],
            level="new",
            waiting=waiting(()),
        )
    )
    assert made is not None
    circuit = made.circuit
    assert 4 * circuit.recover_ms >= 3 * circuit.work_ms


def test_the_checker_names_a_station_that_is_too_hard_or_waits():
    hard = next(
        made
        for seed in range(30)
        if (made := built(Request(stations=6, seed=seed), any_will_do=True))
        and {s.exercise for s in made.circuit.stations} & set(STATIONS["wait"])
    )
    found = " ".join(check(hard.circuit, Request(stations=6, level="new")))
    assert "is too hard for this level" in found
    assert "is none for somebody new" in found


def test_where_nothing_fits_the_next_level_is_offered_by_name():
    words = [one.words for one in changes(Request(level="new"))]
    assert words[-1] == "choose as for somebody who trains already"
    assert "level" not in {one.kind for one in changes(Request(level="strong"))}


def test_the_next_level_gives_a_circuit_where_nothing_new_is_left():
    """No arms of the first weeks are left: the strongest reason to ask for more."""
    easy = {piece.id for piece in pieces(NEW) if piece.exercise.region == "arms"}
    request = Request(level="new", stations=6, avoid=frozenset(easy))
    assert counting(request)
    (change,) = [one for one in changes(request) if one.kind == "level"]
    made = built(change.request, any_will_do=True)
    assert made is not None
    assert check(made.circuit, change.request) == ()


def test_somebody_new_with_one_heavy_bell_is_told_why_few_stations_are_loaded():
    request = Request(
        minutes=20,
        stations=6,
        kit=KITS["bell 16"],
        level="new",
        waiting=waiting(()),
    )
    made = built(request, any_will_do=True)
    assert made is not None
    loaded = [one for one in made.circuit.stations if one.load is not None]
    assert 2 * len(loaded) < 6
    heavy = [
        exercise.id
        for exercise, card in catalogue()
        if hidden_by(request, exercise, card) == ("load",)
    ]
    assert "goblet-squat" in heavy
    (text,) = notes(made)
    assert text.startswith(f"{len(loaded)} of 6 stations carry a load. {len(heavy)} ")
