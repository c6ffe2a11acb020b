"""A circuit beside kit and limits: what is in the way, what stands in, which loads."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import (
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
)
from whistlestop.domain.kit.kit import Bar, Kit, Weight, ladder
from whistlestop.domain.kit.owned_loads import rungs_at, with_owned_loads
from whistlestop.domain.kit.substitutions import (
    drill_instead,
    exchanged,
    exchanges,
    problems_found,
)
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.library import drills, exercises
from whistlestop.library.cards import cards
from whistlestop.library.whole import library_means
from whistlestop.store.circuits.file import read_circuit

ON = date(2026, 3, 12)
WRISTS = Limit("caution", "Wr", date(2026, 4, 1))
BELL = Kit(weights=(Weight("kettlebell", parse_load("12 kg")),), mats=1)
# A well-fitted garage, one bell and a mat, and nothing at all.
GARAGE = Kit(
    weights=tuple(
        Weight("kettlebell", parse_load(load), 2)
        for load in ("6 kg", "8 kg", "10 kg", "12 kg", "16 kg")
    ),
    bars=(Bar("bar", parse_load("20 kg")),),
    bands=("light", "medium", "strong"),
    mats=2,
    bench=True,
    box_heights_cm=(20, 40),
    ball_cm=65,
    things=frozenset({"pull-up bar", "low bar", "stick", "three small balls"}),
)
PROFILES = {"garage": GARAGE, "one bell and a mat": BELL, "nothing": Kit()}
SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))


def of_library(*ids: str, **changes: object) -> Circuit:
    known = exercises()
    stations = tuple(
        Station(
            key,
            known[key].name,
            known[key].call_name,
            parts=known[key].parts,
            kit=known[key].kit,
            cautions=known[key].cautions,
        )
        for key in ids
    )
    return Circuit("x", "X", stations, **changes)


def test_a_limit_and_missing_kit_are_both_named():
    circuit = of_library("push-up", "goblet-squat", "dead-bug")
    found = problems_found(circuit, library_means(Kit(mats=1), (WRISTS,), ON))
    assert [(one.station, one.missing) for one in found] == [(1, ()), (2, ("weight",))]
    assert [one.limit for one in found[0].collisions] == [WRISTS]


def test_nobody_lacks_a_wall_and_without_a_list_nothing_is_missing():
    circuit = of_library("wall-sit", "goblet-squat")
    assert problems_found(circuit, library_means(None, (), ON)) == ()
    assert [
        t.station for t in problems_found(circuit, library_means(Kit(), (), ON))
    ] == [2]


def test_a_limit_that_is_over_is_no_trouble():
    over = replace(WRISTS, until=date(2026, 3, 11))
    assert problems_found(of_library("push-up"), library_means(None, (over,), ON)) == ()


def test_the_best_exchange_has_the_pattern_and_owned_kit_and_no_limit_against_it():
    circuit = of_library("push-up", "body-weight-squat")
    light = Kit(weights=(Weight("kettlebell", parse_load("4 kg")),), mats=1)
    means = library_means(light, (WRISTS,), ON)
    best = exchanges(circuit, 1, means)[0]
    assert best.exercise == "one-arm-floor-press"
    assert best.reasons[0] == "same pattern, horizontal-push"
    made = exchanged(circuit, [best], means)
    assert (made.stations[0].name, str(made.stations[0].load)) == (
        "One-arm floor press", "4 kg",
    )  # fmt: skip
    assert made.stations[0].parts == ("left", "right")
    assert problems_found(made, means) == ()


def test_what_is_far_harder_is_the_last_thing_offered():
    """Somebody whose wrist is sore did bird dogs: no side plank on a bench's edge."""
    circuit = of_library("bird-dog", "dead-bug", "forearm-plank")
    wrist = Limit("site", "wrist-hand", date(2026, 4, 1))
    found = exchanges(circuit, 1, library_means(GARAGE, (wrist,), ON))
    assert found
    levels = {key: card.difficulty for key, card in cards().items()}
    far = [levels[one.exercise] > levels["bird-dog"] + 1 for one in found]
    assert not far[0]
    assert far == sorted(far)


def test_another_load_is_said_with_the_exchange():
    circuit = of_library("goblet-squat")
    heavy = replace(circuit.stations[0], load=parse_load("16 kg"))
    knee = Limit("site", "knee", date(2026, 4, 1), strength="easy")
    means = library_means(GARAGE, (knee,), ON)
    best = exchanges(replace(circuit, stations=(heavy,)), 1, means)[0]
    way = next(one for one in cards()["goblet-squat"].easier if one.to == best.exercise)
    made = exchanged(replace(circuit, stations=(heavy,)), [best], means).stations[0]
    assert made.load is not None
    assert float(made.load.each_kg or 0) <= 16 * (way.factor or 0)
    said = f"{made.load} for 16 kg"
    assert (said in best.reasons) == (str(made.load) != "16 kg")


def test_a_bell_too_heavy_to_begin_with_is_not_offered_for_a_push_up():
    """12 kg is no first load of a press with one arm, until it was held there."""
    circuit = of_library("push-up", "body-weight-squat")
    new = library_means(BELL, (WRISTS,), ON)
    press = "one-arm-floor-press"
    assert press not in [one.exercise for one in exchanges(circuit, 1, new)]
    used = library_means(BELL, (WRISTS,), ON, None, {press: 12.0})
    assert exchanges(circuit, 1, used)[0].exercise == press


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("limits", [(), (WRISTS,)], ids=["", "wrists"])
@pytest.mark.parametrize("sample", SAMPLES)
def test_every_exchange_of_every_sample_can_be_done(sample, limits, profile):
    """Each offered exchange clears its trouble, fits its times and is no repeat."""
    circuit = read_circuit(samples_folder() / f"{sample}.toml")
    means = library_means(PROFILES[profile], limits, ON)
    usable = len(circuit.stations)
    for problem in problems_found(circuit, means):
        offered = exchanges(circuit, problem.station, means)
        usable -= not offered
        for one in offered:
            made = exchanged(circuit, [one], means)
            compile_plan(made)
            assert problem.station not in {
                t.station for t in problems_found(made, means)
            }
            ids = [station.exercise for station in made.stations]
            before = [station.exercise for station in circuit.stations]
            assert ids.count(one.exercise) <= max(1, before.count(one.exercise))
            own = exercises()[before[problem.station - 1]].pattern
            new = exercises()[one.exercise].pattern
            assert {own.split("-")[-1], new.split("-")[-1]} != {"push", "pull"}
    assert 2 * usable > len(circuit.stations)


def test_the_same_exercise_with_other_kit_comes_first():
    best = exchanges(of_library("chair-stand"), 1, library_means(GARAGE, (), ON))
    assert (
        problems_found(of_library("chair-stand"), library_means(GARAGE, (), ON)) == ()
    )
    assert best[0].exercise != "chair-stand"
    box = replace(GARAGE, bench=False)
    best = exchanges(of_library("chair-stand"), 1, library_means(box, (), ON))
    assert (best[0].exercise, best[0].kit) == ("chair-stand", ("box",))


def test_a_load_that_nothing_carries_any_more_goes_in_every_loop():
    circuit = replace(
        of_library("goblet-squat"),
        loops=2,
        loop_changes={
            2: LoopChange(stations={1: StationInLoop(load=parse_load("16 kg"))})
        },
    )
    means = library_means(Kit(), (), ON)
    best = next(x for x in exchanges(circuit, 1, means) if not x.kit)
    plan = compile_plan(exchanged(circuit, [best], means))
    assert {segment.load for segment in plan.segments} == {None}


# Loads


def test_a_wanted_load_becomes_the_nearest_owned_one_and_says_so():
    station = Station("a", "A", "A", load=parse_load("16 kg"), kit=("weight",))
    kit = Kit(
        weights=tuple(
            Weight("kettlebell", parse_load(x)) for x in ("12 kg", "14 kg", "20 kg")
        )
    )
    circuit = Circuit("x", "X", (station, replace(station, load=parse_load("12 kg"))))
    made, lines = with_owned_loads(circuit, kit, {})
    assert [str(one.load) for one in made.stations] == ["14 kg", "12 kg"]
    assert [line.words for line in lines] == [
        "16 kg planned; nearest you own is 14 kg",
        "12 kg planned, 12 kg today",
    ]


def test_more_than_one_step_waits_until_somebody_chooses():
    station = Station("a", "A", "A", load=parse_load("40 kg"), kit=("weight",))
    circuit = Circuit("x", "X", (station,))
    kit = Kit(
        weights=tuple(
            Weight("kettlebell", parse_load(x)) for x in ("8 kg", "10 kg", "12 kg")
        )
    )
    made, (line,) = with_owned_loads(circuit, kit, {})
    assert str(made.stations[0].load) == "40 kg"
    assert line.asks
    assert line.words.endswith("14 steps away: choose a load")
    chosen, (line,) = with_owned_loads(circuit, kit, {1: parse_load("12 kg")})
    assert str(chosen.stations[0].load) == "12 kg"
    assert not line.asks


@given(
    st.lists(st.integers(1, 40), min_size=1, max_size=8, unique=True),
    st.lists(st.integers(1, 40), min_size=1, max_size=6),
)
def test_what_is_used_unasked_is_owned_and_one_step_away_at_most(owned, wanted):
    """Against the ladder itself: no owned rung lies between, and none is nearer."""
    kit = Kit(weights=tuple(Weight("kettlebell", parse_load(f"{n} kg")) for n in owned))
    stations = tuple(
        Station("a", "A", "A", load=parse_load(f"{n} kg"), kit=("weight",))
        for n in wanted
    )
    made, lines = with_owned_loads(Circuit("x", "X", stations), kit, {})
    masses = {rung.each_kg for rung in ladder(kit)}
    for station, before in zip(made.stations, wanted, strict=True):
        assert station.load is not None
        used = station.load.each_kg
        line = next(x for x in lines if x.resolved.wanted.mass == before)
        if line.asks:
            assert used == before
            continue
        assert used in masses
        assert used is not None
        assert all(abs(used - before) <= abs(mass - before) for mass in masses)


def test_loads_of_one_loop_resolve_by_the_kit_of_each_station():
    heavy = Station("a", "A", "A", load=parse_load("12 kg"), kit=("weight",))
    pair = Station("b", "B", "B", load=parse_load("2 x 8 kg"), kit=("two weights",))
    circuit = Circuit(
        "x",
        "X",
        (heavy, pair, Station("c", "C", "C")),
        loops=2,
        loop_changes={2: LoopChange(load=parse_load("10 kg"))},
    )
    kit = Kit(
        weights=(
            Weight("kettlebell", parse_load("11 kg")),
            Weight("dumbbell", parse_load("9 kg"), 2),
        )
    )
    plan = compile_plan(with_owned_loads(circuit, kit, {})[0])
    second = [
        s.load for s in plan.segments if s.loop == 2 and s.kind is SegmentKind.WORK
    ]
    # 10 kg lies as near to 9 as to 11: the lighter one; the pair is 9 kg as well.
    assert second == ["9 kg", "2 x 9 kg", None]


def test_the_ladder_of_a_station_is_what_it_can_be_done_with():
    pair = Station("b", "B", "B", load=parse_load("2 x 8 kg"), kit=("two weights",))
    assert [str(load) for load in rungs_at(pair, GARAGE)][:2] == [
        "2 x 6 kg",
        "2 x 8 kg",
    ]
    assert rungs_at(Station("c", "C", "C", kit=("mat",)), GARAGE) == ()
    band = Station("d", "D", "D", load=parse_load("band: medium"), kit=("band",))
    assert [load.band for load in rungs_at(band, GARAGE)] == list(GARAGE.bands)
    assert rungs_at(pair, BELL) == ()
    assert rungs_at(pair, GARAGE)[0].each_kg == Decimal(6)


# Drills


def test_a_drill_without_its_ball_gives_way_to_one_that_needs_nothing():
    circuit = of_library("goblet-squat", "dead-bug")
    ball = Drill("one-ball-arc", "One-ball arc")
    circuit = replace(
        circuit, stations=tuple(replace(s, drill=ball) for s in circuit.stations)
    )
    means = library_means(BELL, (), ON)
    instead = drill_instead(circuit, 1, means)
    assert instead is not None
    assert drills()[instead.id].kit == ()
    with_ball = library_means(replace(BELL, things=frozenset({"small ball"})), (), ON)
    assert drill_instead(circuit, 1, with_ball) is None
    assert drill_instead(of_library("dead-bug"), 1, means) is None
