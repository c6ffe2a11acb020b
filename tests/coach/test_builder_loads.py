"""A built station gets a load that is owned, that a coach would give, and says why."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.coach.builder_cases import UNTIL, cases, kilos
from tests.support.examples import examples

from whistlestop.builder.checker import check
from whistlestop.builder.loads import load_bound, with_loads
from whistlestop.builder.making import built
from whistlestop.builder.request import Request
from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.kit.floor_list import floor_list
from whistlestop.domain.kit.kit import Adjustable, Kit, ladder
from whistlestop.domain.limits import Limit, added_at
from whistlestop.domain.load import Load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.library import exercises
from whistlestop.library.cards import card
from whistlestop.library.first_loads import LEVELS, first_loads

CASES = tomllib.loads(
    (Path(__file__).parent / "loads_answers.toml").read_text(encoding="utf-8")
)["case"]


def circuit_of(*ids: str) -> Circuit:
    known = exercises()
    return Circuit(
        id="c",
        name="c",
        stations=tuple(
            Station(key, known[key].name, known[key].call_name, kit=card(key).needs[0])
            for key in ids
        ),
        loops=1,
        work_ms=40_000,
        recover_ms=20_000,
    )


@pytest.mark.parametrize(
    "case", CASES, ids=lambda one: f"{one['station']}: {one['why']}"
)
def test_a_station_gets_the_load_that_a_coach_gives(case):
    weights = [kilos(kg) for kg in case.get("bells", ())]
    weights += [kilos(kg, 2) for kg in case.get("pairs", ())]
    kit = Kit(weights=tuple(weights), bench=True, mats=1)
    limits = (
        (Limit("site", case["sore"], UNTIL, strength=case["strength"]),)
        if "sore" in case
        else ()
    )
    last = ((case["station"], case["last"]),) if "last" in case else ()
    request = Request(kit=kit, level=case["level"], limits=limits, last_kg=last)
    loaded, (why,) = with_loads(circuit_of(case["station"]), request)
    load = loaded.stations[0].load
    assert (str(load) if load else "") == case["load"]
    if load is not None:
        assert why.startswith(f"{load}: ")


def test_what_is_too_heavy_is_told():
    request = Request(kit=Kit(weights=(kilos(24),)), level="regular")
    _, (why,) = with_loads(circuit_of("goblet-squat"), request)
    assert why.startswith(
        "no load: the lightest you own for it, 24 kg, is more than 21"
    )


def test_an_adjustable_weight_stays_at_the_lower_load_where_the_rest_is_short():
    settings_kg = tuple(Load(f"{kg} kg", mass=Decimal(kg)) for kg in (4, 8, 12, 16, 20))
    kit = Kit(adjustables=(Adjustable("dumbbell", settings_kg),), bench=True)
    request = Request(kit=kit, level="regular")
    circuit = circuit_of("goblet-squat", "one-arm-row")
    loaded, reasons = with_loads(circuit, request)
    assert [str(station.load) for station in loaded.stations] == ["16 kg", "16 kg"]
    assert reasons[0] == "16 kg: one setting for the whole circuit"
    listed = floor_list(compile_plan(loaded), {}, kit=kit)
    assert [clash for clash in listed.clashes if clash.kind == "setting"] == []
    calm, _ = with_loads(replace(circuit, recover_ms=120_000), request)
    assert [str(station.load) for station in calm.stations] == ["20 kg", "16 kg"]


def test_two_people_get_no_loads():
    request = Request(kit=Kit(weights=(kilos(16),)), level="regular", athletes=2)
    assert with_loads(circuit_of("goblet-squat"), request)[1] == ("",)


KITS = st.builds(
    lambda bells, pairs: Kit(
        weights=(*map(kilos, bells), *(kilos(kg, 2) for kg in pairs)),
        mats=1,
        bench=True,
    ),
    st.sets(st.sampled_from((4, 6, 8, 10, 12, 16, 20, 24, 32)), max_size=4),
    st.sets(st.sampled_from((2, 5, 9, 14, 18)), max_size=2),
)
LOADED = sorted(first_loads())
REQUESTS = st.builds(
    lambda kit, level, last, sore: Request(
        kit=kit,
        level=level,
        last_kg=tuple(sorted(last.items())),
        limits=tuple(
            Limit("site", site, UNTIL, strength=how) for site, how in sore.items()
        ),
    ),
    KITS,
    st.sampled_from(LEVELS),
    st.dictionaries(st.sampled_from(LOADED), st.floats(1, 40), max_size=9),
    st.dictionaries(
        st.sampled_from(("knee", "wrist-hand", "lower-back", "shoulder", "elbow")),
        st.sampled_from(("easy", "out")),
        max_size=1,
    ),
)


@settings(max_examples=examples(60))
@given(REQUESTS)
def test_a_load_is_owned_within_the_bound_and_never_on_a_limited_site(request_):
    loaded, _ = with_loads(circuit_of(*LOADED), request_)
    last = dict(request_.last_kg)
    for station in loaded.stations:
        if station.load is None:
            continue
        key, each = station.exercise, float(station.load.each_kg or 0)
        rungs = ladder(request_.kit, station.load.count, station.kit or ("weight",))
        assert each in [float(rung.each_kg) for rung in rungs]
        if key in last:
            assert each <= last[key] * 4 / 3 + 1e-6
        elif request_.level == "new":
            assert each <= (first_loads()[key].new or 0)
        else:
            assert each <= first_loads()[key].at(request_.level) * 4 / 3 + 1e-6
        facts, extra = exercises()[key], added_at(station)
        assert not any(x.meets(key, facts, extra=extra) for x in request_.limits)
        assert load_bound(facts, request_) is not None


SMALL = [case for case in cases() if case.small][:3]


@pytest.mark.parametrize("case", SMALL, ids=lambda case: case.name)
def test_a_loaded_circuit_breaks_no_rule(case):
    one = built(case.request)
    assert one is not None
    assert check(one.circuit, one.request) == ()


@pytest.mark.slow
@pytest.mark.parametrize("case", cases(), ids=lambda case: case.name)
def test_no_stored_request_breaks_a_rule_once_loaded(case):
    for level in LEVELS[1:]:
        one = built(replace(case.request, level=level), any_will_do=True)
        if one is not None:
            assert check(one.circuit, one.request) == ()
            kit = one.request.kit
            listed = floor_list(compile_plan(one.circuit), {}, kit=kit)
            assert [c for c in listed.clashes if c.kind in {"setting", "count"}] == []


def test_what_somebody_begins_with_never_falls_with_practice():
    for key, first in first_loads().items():
        known = [
            kg for kg in (first.new, first.regular, first.strong) if kg is not None
        ]
        assert known == sorted(known), key
