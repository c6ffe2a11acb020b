"""The plan as JSON: what a journal embeds comes back exactly."""

from __future__ import annotations

import copy
import json

import pytest
from hypothesis import given
from tests.support.plans import (
    MODERATE,
    circuit,
    circuits,
    every_place,
    plan,
    station,
    todays,
)

from whistlestop.domain.circuit.circuit import TimedItem
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.plan.timeline import compile_plan, plan_document
from whistlestop.domain.tempo import parse_tempo


@MODERATE
@given(circuits(), todays())
def test_a_plan_comes_back_from_json_as_it_was(drawn, today):
    made = compile_plan(drawn, today)
    assert Plan.from_json(made.to_json()) == made
    assert Plan.from_json(json.loads(json.dumps(made.to_json()))) == made


@MODERATE
@given(circuits(), todays())
def test_the_printed_plan_survives_json_and_agrees_with_itself(drawn, today):
    made = compile_plan(drawn, today)
    document = json.loads(json.dumps(plan_document(made)))
    assert document == plan_document(made)
    assert sum(s["duration_ms"] for s in document["segments"]) == document["total_ms"]
    work = sum(s["duration_ms"] for s in document["segments"] if s["kind"] == "work")
    assert work == document["work_ms"]
    gates = sum(s["until_key"] for s in document["segments"])
    assert gates == document["open_gates"]


def test_everything_a_card_can_say_comes_back():
    made = plan(
        station(
            1,
            tempo=parse_tempo("3-1-1-0"),
            kit=("kettlebell",),
            cautions=("Keep the back long.",),
            note="slow",
        ),
        note="a circuit",
    )
    assert Plan.from_json(made.to_json()) == made
    assert made.card(1).tempo == "3-1-1-0"


def test_empty_names_come_back_as_empty_names():
    """A call-name folds to nothing where block letters can draw none of it."""
    made = plan(
        station(1, call_name="", name=""),
        warm_up=(TimedItem("", 5_000),),
    )
    assert Plan.from_json(json.loads(json.dumps(made.to_json()))) == made


def test_fields_of_a_later_version_are_skipped():
    data = every_place().to_json()
    data["later"] = 1
    data["segments"][0]["later"] = [1, 2]
    data["stations"][0]["later"] = {"a": 1}
    assert Plan.from_json(data) == every_place()


def _broken(change):
    data = copy.deepcopy(every_place().to_json())
    change(data)
    return data


BROKEN = {
    "no segments": lambda d: d.pop("segments"),
    "segments are a number": lambda d: d.update(segments=3),
    "a segment is a text": lambda d: d["segments"].__setitem__(0, "work"),
    "a kind nobody knows": lambda d: d["segments"][0].update(kind="sprint"),
    "a start below 0": lambda d: d["segments"][0].update(start_ms=-1),
    "a length as text": lambda d: d["segments"][0].update(duration_ms="40"),
    "a length as a fraction": lambda d: d["segments"][0].update(duration_ms=40.5),
    "a length as a truth value": lambda d: d["segments"][0].update(duration_ms=True),
    "no length": lambda d: d["segments"][0].pop("duration_ms"),
    "loops as text": lambda d: d.update(loops="2"),
    "a card without a number": lambda d: d["stations"][0].pop("number"),
    "kit as one text": lambda d: d["stations"][0].update(kit="kettlebell"),
    "stations missing": lambda d: d.pop("stations"),
}


@pytest.mark.parametrize("change", BROKEN.values(), ids=BROKEN)
def test_a_damaged_plan_is_a_value_error(change):
    with pytest.raises(ValueError, match=r"not readable|is not a valid"):
        Plan.from_json(_broken(change))


def test_totals_of_a_plan():
    made = compile_plan(circuit(station(1), station(2, hold=True)))
    assert made.total_ms == 10_000 + 2 * 60_000
    assert made.work_ms == 80_000
    assert made.open_gates == 1
    assert [s.kind for s in made.segments].count(SegmentKind.HOLD) == 1
