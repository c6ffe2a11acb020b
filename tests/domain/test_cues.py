"""Which cue stands where, for the plan as it is printed."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from tests.support.plans import (
    LEFT_RIGHT,
    MODERATE,
    THREE_PARTS,
    circuits,
    every_place,
    plan,
    station,
    todays,
)

from whistlestop.domain.circuit.circuit import TimedItem
from whistlestop.domain.plan.cues import LENGTH_MS, CueName
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan, plan_document


def cues_of(of_plan):
    """Cues by segment, as `cue@ms after its start`."""
    return [
        [f"{cue['cue']}@{cue['at_ms'] - s['start_ms']}" for cue in s["cues"]]
        for s in plan_document(of_plan)["segments"]
    ]


def test_a_circuit_of_two_stations_from_first_count_to_last_tone():
    made = plan(station(1), station(2), get_ready_ms=10_000)
    assert cues_of(made) == [
        ["count@7000", "count@8000", "count@9000"],
        ["go@0", "ten@30000"],
        ["station_end@0", "count@17000", "count@18000", "count@19000"],
        ["go@0", "ten@30000"],
        ["loop_end@0", "effort@2000", "session_end@20000"],
    ]


def test_cue_times_in_the_document_are_those_of_the_plan():
    """10 s get ready, 40/20, 40/20: each time is the sum of what lies before."""
    document = plan_document(plan(station(1), station(2)))
    found = [(c["at_ms"], c["cue"]) for s in document["segments"] for c in s["cues"]]
    by_hand = [
        (7, "count"), (8, "count"), (9, "count"), (10, "go"), (40, "ten"),
        (50, "station_end"), (67, "count"), (68, "count"), (69, "count"),
        (70, "go"), (100, "ten"), (110, "loop_end"), (112, "effort"),
        (130, "session_end"),
    ]  # fmt: skip
    assert found == [(seconds * 1000, cue) for seconds, cue in by_hand]


@pytest.mark.parametrize(
    ("work_ms", "ten"), [(14_999, []), (15_000, ["ten@5000"]), (16_000, ["ten@6000"])]
)
def test_ten_sounds_only_where_work_lasts_fifteen_seconds(work_ms, ten):
    work = cues_of(plan(station(work_ms=work_ms)))[1]
    assert work == ["go@0", *ten]


def test_ten_is_judged_by_the_part_and_not_by_the_station():
    made = plan(station(parts=LEFT_RIGHT, work_ms=28_000))
    assert cues_of(made)[1:3] == [["go@0"], ["switch@0"]]
    made = plan(station(parts=LEFT_RIGHT, work_ms=30_000))
    assert cues_of(made)[1:3] == [["go@0", "ten@5000"], ["switch@0", "ten@5000"]]


def test_a_changeover_opens_with_switch_and_the_next_part_with_go():
    made = plan(station(parts=LEFT_RIGHT, changeover_ms=3_000, work_ms=45_000))
    assert cues_of(made)[1:4] == [
        ["go@0", "ten@11000"],
        ["switch@0"],
        ["go@0", "ten@11000"],
    ]


def test_a_changeover_that_is_only_a_remainder_is_silent():
    made = plan(station(parts=THREE_PARTS))
    assert [s.duration_ms for s in made.segments[1:5]] == [13_333, 1, 13_333, 13_333]
    assert cues_of(made)[1:5] == [["go@0"], [], ["switch@0"], ["switch@0"]]


def test_the_count_before_a_loop_stands_in_the_break():
    made = plan(station(1), loops=2, loop_break_ms=60_000)
    assert cues_of(made)[2] == [
        "loop_end@0",
        "effort@2000",
        "count@57000",
        "count@58000",
        "count@59000",
    ]


def test_effort_is_asked_once_in_the_first_rest_long_enough_after_a_loop():
    made = plan(station(1), loops=2, last_recover="keep", loop_break_ms=60_000)
    assert cues_of(made)[2:4] == [
        ["loop_end@0", "effort@2000"],
        ["count@57000", "count@58000", "count@59000"],
    ]
    short = plan(
        station(1), loops=2, last_recover="keep", recover_ms=5_000, loop_break_ms=60_000
    )
    assert cues_of(short)[2:4] == [
        ["loop_end@0"],
        ["effort@2000", "count@57000", "count@58000", "count@59000"],
    ]


def test_a_count_that_would_sound_over_the_end_of_a_station_is_left_out():
    made = plan(station(1), station(2), recover_ms=3_000)
    assert cues_of(made)[2] == ["station_end@0", "count@1000", "count@2000"]
    made = plan(station(1), station(2), recover_ms=1_000)
    assert cues_of(made)[2] == ["station_end@0"]


def test_work_that_runs_into_work_tells_its_beginning_only():
    made = plan(station(1), station(2), recover_ms=0)
    assert cues_of(made)[1:3] == [
        ["go@0", "ten@30000"],
        ["go@0", "ten@30000", "session_end@40000"],
    ]


def test_nothing_sounds_in_a_gate_and_the_end_is_told_before_it():
    made = plan(station(1), station(2, hold=True), recover_ms=0, loops=2,
                break_until_key=True)  # fmt: skip
    kinds = [s.kind for s in made.segments]
    assert kinds[1:5] == [
        SegmentKind.WORK,
        SegmentKind.HOLD,
        SegmentKind.WORK,
        SegmentKind.LOOP_BREAK,
    ]
    assert cues_of(made)[1:5] == [
        ["go@0", "ten@30000", "station_end@40000"],
        [],
        ["go@0", "ten@30000", "loop_end@40000"],
        [],
    ]


def test_no_count_stands_before_a_gate():
    made = plan(station(1), station(2, hold=True))
    assert cues_of(made)[2] == ["station_end@0"]


def test_warm_up_and_cool_down_items_open_with_a_tone():
    made = plan(
        station(1),
        warm_up=(TimedItem("Walk", 30_000), TimedItem("Roll down", 20_000)),
        cool_down=(TimedItem("Breathe", 60_000), TimedItem("Stretch", 60_000)),
    )
    found = cues_of(made)
    assert found[0] == []
    assert found[1] == ["switch@0"]
    assert found[2] == ["station_end@0", "count@7000", "count@8000", "count@9000"]
    assert found[-2:] == [["switch@0"], ["switch@0", "session_end@60000"]]


def test_cues_of_every_kind_of_place():
    assert [len(cues) for cues in cues_of(every_place())] == [
        0, 1, 4,              # warm-up, warm-up, get ready
        2, 4, 2, 1, 2, 1, 0, 2, 2, 0,  # loop 1
        2, 4, 2, 1, 2, 1, 0, 2, 2,     # loop 2
        2,                    # cool-down
    ]  # fmt: skip


@MODERATE
@given(circuits(), todays())
def test_a_cue_lies_in_its_segment_and_none_in_a_gate(drawn, today):
    for segment in plan_document(compile_plan(drawn, today))["segments"]:
        end = segment["start_ms"] + segment["duration_ms"]
        for cue in segment["cues"]:
            assert segment["start_ms"] <= cue["at_ms"] <= end
        assert not (segment["until_key"] and segment["cues"])


@MODERATE
@given(circuits(), todays())
def test_cues_are_in_order_and_none_sounds_over_another(drawn, today):
    """Whole seconds, as files give them; a gate opens a new stretch of time."""
    made = compile_plan(drawn, today)
    stretch = []
    for segment in plan_document(made)["segments"]:
        if segment["until_key"]:
            stretch = []
        stretch += [(cue["at_ms"], CueName(cue["cue"])) for cue in segment["cues"]]
        for (at_ms, cue), (later_ms, _) in itertools.pairwise(stretch):
            assert at_ms + LENGTH_MS[cue] <= later_ms


@MODERATE
@given(circuits(), todays())
def test_every_work_interval_is_opened_and_counted_down_to(drawn, today):
    """GO or SWITCH at 0; three counts where the rest before leaves room."""
    segments = plan_document(compile_plan(drawn, today))["segments"]
    rests = {"get_ready", "warm_up", "recover", "loop_break"}
    for before, work in itertools.pairwise([None, *segments]):
        if work["kind"] != "work":
            continue
        first = work["cues"][0]
        assert first["at_ms"] == work["start_ms"]
        assert first["cue"] in {"go", "switch"}
        if before and before["kind"] in rests and before["duration_ms"] >= 4_000:
            counts = [c["at_ms"] for c in before["cues"] if c["cue"] == "count"]
            start = work["start_ms"]
            assert counts == [start - 3_000, start - 2_000, start - 1_000]


@MODERATE
@given(circuits(), todays())
def test_ten_stands_in_exactly_the_work_intervals_that_are_long_enough(drawn, today):
    for segment in plan_document(compile_plan(drawn, today))["segments"]:
        tens = [c["at_ms"] for c in segment["cues"] if c["cue"] == "ten"]
        long_enough = segment["duration_ms"] >= 15_000
        if segment["kind"] == "work" and long_enough:
            end = segment["start_ms"] + segment["duration_ms"]
            assert tens == [end - 10_000]
        else:
            assert tens == []


@MODERATE
@given(circuits(), todays())
def test_the_session_ends_with_one_tone_and_each_loop_end_is_told_at_most_once(
    drawn, today
):
    made = compile_plan(drawn, today)
    cues = [c for s in plan_document(made)["segments"] for c in s["cues"]]
    ends = [c for c in cues if c["cue"] == "session_end"]
    assert [c["at_ms"] for c in ends] == [made.total_ms]
    assert cues[-1] == ends[0]
    assert sum(c["cue"] == "loop_end" for c in cues) <= made.loops
    assert sum(c["cue"] == "effort" for c in cues) <= made.loops
