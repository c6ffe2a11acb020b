"""One list of what to fetch, counted; and every rest that is short for a change."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import pytest
from hypothesis import given
from tests.support.plans import MODERATE, circuit, plans, station

from whistlestop.domain.circuit.circuit import (
    Circuit,
    Drill,
    LoopChange,
    StationInLoop,
    Today,
)
from whistlestop.domain.kit.floor_list import FloorList, floor_list
from whistlestop.domain.kit.kit import Adjustable, Kit, Weight
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan.timeline import compile_plan

PLACES = frozenset({"wall", "clear lane"})


@dataclass(frozen=True)
class At:
    """The one fact that matters here."""

    position: str


POSITIONS = {
    "exercise-1": At("standing"),
    "exercise-2": At("plank"),
    "exercise-3": At("half-kneeling"),
}


def loaded(number: int, load: str, *kit: str, **changes: object):
    return station(number, load=parse_load(load), kit=kit, **changes)


def listed(of: Circuit, kit: Kit | None = None, drill_kit=None, positions=None):
    return floor_list(compile_plan(of), drill_kit or {}, PLACES, kit, positions)


def items(found: FloorList) -> list[tuple[str, list[int], list[int]]]:
    return [(item.words, item.stations, item.drills) for item in found.items]


# --- The list ----------------------------------------------------------------------


def test_one_list_in_floor_order_counted_across_stations():
    """The pair of 8 kg at station 2 also serves station 4; nothing is fetched twice."""
    of = circuit(
        station(1, kit=("mat",), drill=Drill("arc", "Arc")),
        loaded(2, "2 x 8 kg", "two weights"),
        loaded(3, "band: green", "band", "wall"),
        loaded(4, "8 kg", "weight", "mat"),
        loaded(5, "12 kg"),
    )
    found = listed(of, drill_kit={"arc": ("three small balls", "clear lane")})
    assert items(found) == [
        ("mat", [1, 4], []),
        ("3 x small ball", [], [1]),
        ("2 x weight, 8 kg each", [2, 4], []),
        ("band, green", [3], []),
        ("weight, 12 kg", [5], []),
    ]
    assert found.places == ("clear lane", "wall")
    assert found.missing == ()


def test_a_kettlebell_serves_where_a_weight_of_its_load_is_asked_for():
    """Whichever comes first, it is one bell, at the place where it is first needed."""
    for one, two in (("weight", "kettlebell"), ("kettlebell", "weight")):
        of = circuit(loaded(1, "12 kg", one), station(2), loaded(3, "12 kg", two))
        assert items(listed(of)) == [("kettlebell, 12 kg", [1, 3], [])]


def test_a_load_that_changes_by_loop_is_fetched_too():
    heavier = {2: LoopChange(stations={1: StationInLoop(load=parse_load("16 kg"))})}
    of = circuit(loaded(1, "12 kg", "weight"), loops=2, loop_changes=heavier)
    assert items(listed(of)) == [
        ("weight, 12 kg", [1], []),
        ("weight, 16 kg", [1], []),
    ]


def test_a_station_left_out_today_needs_nothing():
    of = circuit(station(1, kit=("mat",)), station(2, kit=("box",)))
    found = floor_list(compile_plan(of, Today(without_stations=frozenset({2}))), {})
    assert items(found) == [("mat", [1], [])]


def test_two_weights_without_a_load_are_two():
    found = listed(circuit(station(1, kit=("two weights",))))
    assert items(found) == [("2 x weight", [1], [])]


@MODERATE
@given(plans(most_stations=6, most_loops=3))
def test_everything_a_station_lifts_is_on_the_list_often_enough(plan):
    """Whatever a plan asks for, at every station, in every loop."""
    found = floor_list(plan, {}).items
    for segment in plan.segments:
        if segment.load is None:
            continue
        load = parse_load(segment.load)
        each = load.band or f"{load.mass.normalize():f} {load.unit}"
        (item,) = [i for i in found if i.load == each and segment.station in i.stations]
        assert item.count >= load.count
    names = [(item.name, item.load) for item in found]
    assert len(names) == len(set(names))


# --- What is owned -----------------------------------------------------------------

KIT = Kit(weights=(Weight("kettlebell", Load("8 kg", mass=Decimal(8)), 1),), mats=1)


def test_one_owned_where_two_are_needed_is_named():
    of = circuit(loaded(1, "2 x 8 kg", "two weights"), station(2, kit=("mat", "box")))
    found = listed(of, KIT)
    (clash,) = found.clashes
    assert (clash.kind, clash.is_short) == ("count", True)
    assert clash.sentence == "2 x weight, 8 kg each: your kit has one, but not 2."
    assert found.missing == ("box",)


def test_what_is_owned_makes_no_fuss():
    of = circuit(loaded(1, "8 kg", "weight"), station(2, kit=("mat",)))
    found = listed(of, KIT)
    assert (found.clashes, found.missing) == ((), ())


# --- Rests -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("recover_s", "judged"),
    [(19, "too short"), (20, "tight"), (39, "tight"), (40, None)],
)
def test_plates_need_20_to_40_s(recover_s, judged):
    """The bounds of common practice, each from both sides."""
    of = circuit(
        loaded(1, "40 kg", "bar", "plates"),
        loaded(2, "60 kg", "bar", "plates"),
        recover_ms=recover_s * 1000,
    )
    found = listed(of).clashes
    if judged is None:
        assert found == ()
        return
    (clash,) = found
    assert (clash.kind, clash.stations, clash.available_ms) == (
        "plates",
        (1, 2),
        recover_s * 1000,
    )
    assert clash.is_short == (judged == "too short")
    assert clash.sentence == (
        "Station 1 to 2: the bar goes from 40 kg to 60 kg, which takes 20 to 40 s; "
        f"the longest rest is {recover_s} s, {judged}."
    )


def test_plates_may_be_changed_in_any_rest_in_between():
    """Bar at 1 and 3: the 45 s after station 2 are enough, whatever comes before."""
    of = circuit(
        loaded(1, "40 kg", "bar", recover_ms=10_000),
        station(2, recover_ms=45_000),
        loaded(3, "60 kg", "bar"),
    )
    assert listed(of).clashes == ()


def test_a_key_or_a_break_gives_all_the_time():
    """Two loops: back to 40 kg in the 90 s break, up to 60 kg behind a hold."""
    of = circuit(
        loaded(1, "40 kg", "bar"),
        loaded(2, "60 kg", "bar", hold=True),
        loops=2,
        loop_break_ms=90_000,
    )
    assert listed(of).clashes == ()


def test_from_loop_to_loop_the_bar_goes_back():
    """Without a break the last recovery is all there is between 60 and 40 kg."""
    of = circuit(
        loaded(1, "40 kg", "bar"), loaded(2, "60 kg", "bar", hold=True), loops=3
    )
    (clash,) = listed(of).clashes
    assert (clash.stations, clash.loops) == ((2, 1), (2, 3))


def test_fixed_weights_need_no_change_but_an_adjustable_one_does():
    of = circuit(loaded(1, "8 kg", "weight"), loaded(2, "12 kg", "weight"))
    settings = (parse_load("8 kg"), parse_load("12 kg"))
    adjustable = Kit(adjustables=(Adjustable("dumbbell", settings),))
    fixed = Kit(weights=tuple(Weight("dumbbell", load) for load in settings))
    assert listed(of).clashes == listed(of, fixed).clashes == ()
    (clash,) = listed(of, adjustable).clashes
    assert (clash.kind, clash.stations) == ("setting", (1, 2))
    assert "the adjustable dumbbell goes from 8 kg to 12 kg" in clash.sentence


@pytest.mark.parametrize(
    ("recover_s", "judged"), [(2, "too short"), (3, "tight"), (5, "tight"), (6, None)]
)
def test_from_floor_to_standing_takes_3_to_6_s(recover_s, judged):
    of = circuit(station(1), station(2), loops=2, recover_ms=recover_s * 1000)
    found = listed(of, positions=POSITIONS).clashes
    if judged is None:
        assert found == ()
        return
    assert [(c.kind, c.stations, c.loops) for c in found] == [
        ("position", (1, 2), (1, 2)),
        ("position", (2, 1), (2,)),
    ]
    assert found[1].sentence == (
        f"Station 2 to 1: floor to standing takes 3 to 6 s; the longest rest is "
        f"{recover_s} s, {judged}."
    )


def test_kneeling_is_half_way_and_unknown_exercises_are_passed_over():
    of = circuit(station(1), station(3), station(2), station(4), recover_ms=0)
    assert listed(of, positions=POSITIONS).clashes == ()
