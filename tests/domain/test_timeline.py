"""From a circuit to a plan: worked examples, precedence, gates and refusals."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.support.plans import (
    LEFT_RIGHT,
    MODERATE,
    THREE_PARTS,
    circuit,
    circuits,
    every_place,
    plan,
    station,
    todays,
)

from whistlestop.domain.circuit.circuit import (
    LoopChange,
    StationInLoop,
    TimedItem,
    Today,
    quick_circuit,
)
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan, plan_document
from whistlestop.errors import PlanError


def lengths(of_plan):
    """What a plan consists of, in seconds, as `kind seconds`."""
    return [f"{s.kind.value} {s.duration_ms / 1000:g}" for s in of_plan.segments]


def without_get_ready(of_plan):
    return of_plan.total_ms - sum(
        s.duration_ms for s in of_plan.segments if s.kind is SegmentKind.GET_READY
    )


def ten_by_three(**changes):
    made = quick_circuit(
        stations=10, work_ms=40_000, recover_ms=20_000, loops=3, loop_break_ms=90_000
    )
    return compile_plan(
        circuit(*made.stations, loops=3, loop_break_ms=90_000, **changes)
    )


def test_ten_stations_three_loops_last_recovery_kept_are_1980_seconds():
    # Arithmetic: 3 x 10 x (40 + 20) + 2 x 90.
    kept = ten_by_three(last_recover="keep")
    assert without_get_ready(kept) == 1_980_000
    assert kept.work_ms == 1_200_000
    assert round(kept.work_ms / without_get_ready(kept), 4) == 0.6061


def test_the_same_with_the_last_recovery_dropped_are_1920_seconds():
    # Arithmetic: three recoveries of 20 s fewer. Drop is the default with a break.
    assert without_get_ready(ten_by_three(last_recover="drop")) == 1_920_000
    assert without_get_ready(ten_by_three()) == 1_920_000


def test_nine_stations_sixty_twenty_without_a_break_are_2160_seconds():
    # Arithmetic: 27 x 80 s. Keep is the default where there is no break.
    made = quick_circuit(stations=9, work_ms=60_000, recover_ms=20_000, loops=3)
    assert without_get_ready(compile_plan(made)) == 2_160_000 == 27 * 80_000


def test_45_seconds_one_sided_are_laid_out_as_21_3_21():
    made = plan(station(parts=LEFT_RIGHT, changeover_ms=3_000, work_ms=45_000))
    assert lengths(made)[1:4] == ["work 21", "changeover 3", "work 21"]
    assert [s.part for s in made.segments[1:4]] == ["left", None, "right"]
    assert made.work_ms == 42_000


def test_the_changeover_of_the_circuit_serves_stations_with_parts_only():
    made = plan(station(1), station(2, parts=LEFT_RIGHT), changeover_ms=4_000)
    assert lengths(made)[1:6] == [
        "work 40",
        "recover 20",
        "work 18",
        "changeover 4",
        "work 18",
    ]


def test_a_changeover_of_nothing_is_not_in_the_plan():
    made = plan(station(parts=LEFT_RIGHT), last_recover="drop")
    assert lengths(made) == ["get_ready 10", "work 20", "work 20"]


def test_a_remainder_of_a_millisecond_is_a_changeover():
    made = plan(station(parts=THREE_PARTS), last_recover="drop")
    assert [s.duration_ms for s in made.segments[1:]] == [13_333, 1, 13_333, 13_333]
    assert [s.kind for s in made.segments[1:3]] == [
        SegmentKind.WORK,
        SegmentKind.CHANGEOVER,
    ]


# Work of 40, 41, 42 ... at each level; the greatest level that speaks wins.
LEVELS = ("station", "loop", "station in loop", "today")


@pytest.mark.parametrize("setting", ["work_ms", "recover_ms"])
@pytest.mark.parametrize(
    "said",
    [c for n in range(5) for c in itertools.combinations(LEVELS, n)],
    ids=lambda said: " ".join(said) or "circuit alone",
)
def test_settings_resolve_circuit_station_loop_station_in_loop_today(setting, said):
    """The whole table: every subset of levels, the last of them wins."""
    value = {
        level: 41_000 + 1_000 * LEVELS.index(level) if level in said else None
        for level in LEVELS
    }
    made = compile_plan(
        circuit(
            station(1, **{setting: value["station"]}),
            last_recover="keep",
            loop_changes={
                1: LoopChange(
                    **{setting: value["loop"]},
                    stations={1: StationInLoop(**{setting: value["station in loop"]})},
                )
            },
            **{setting: 40_000},
        ),
        Today(**{setting: value["today"]}),
    )
    by_hand = {(): 40, "station": 41, "loop": 42, "station in loop": 43, "today": 44}
    expected = by_hand[said[-1] if said else ()]
    kind = SegmentKind.WORK if setting == "work_ms" else SegmentKind.RECOVER
    found = [s.duration_ms for s in made.segments if s.kind is kind]
    assert found == [expected * 1000]


def test_a_change_of_one_loop_or_station_leaves_the_others_alone():
    made = plan(
        station(1),
        station(2),
        loops=2,
        recover_ms=0,
        loop_changes={
            2: LoopChange(work_ms=30_000, stations={2: StationInLoop(work_ms=20_000)})
        },
    )
    assert lengths(made)[1:] == ["work 40", "work 40", "work 30", "work 20"]


def test_a_load_of_a_loop_holds_for_stations_that_have_a_load():
    heavy, light = parse_load("2 x 12 kg"), parse_load("8 kg")
    made = plan(
        station(1, load=light),
        station(2),
        station(3, load=light),
        loops=2,
        loop_changes={
            2: LoopChange(load=heavy, stations={3: StationInLoop(load=light)})
        },
    )
    works = [s for s in made.segments if s.kind is SegmentKind.WORK]
    assert [s.load for s in works] == ["8 kg", None, "8 kg", "2 x 12 kg", None, "8 kg"]
    assert {s.load for s in made.segments if s.kind is SegmentKind.RECOVER} == {None}


@pytest.mark.parametrize(
    ("parts", "lead", "firsts"),
    [
        (LEFT_RIGHT, "alternate", ["left", "right", "left", "right"]),
        (LEFT_RIGHT, "fixed", ["left", "left", "left", "left"]),
        (THREE_PARTS, "alternate", ["left", "right", "left", "right"]),
    ],
)
def test_the_lead_side_alternates_by_loop_number(parts, lead, firsts):
    made = plan(station(parts=parts), loops=4, lead=lead)
    works = [s for s in made.segments if s.kind is SegmentKind.WORK]
    led = [w.part for before, w in itertools.pairwise([None, *works])
           if before is None or before.loop != w.loop]  # fmt: skip
    assert led == firsts
    if len(parts) == 3:
        assert [w.part for w in works[2::3]] == ["together"] * 4


def test_a_station_may_fix_its_lead_where_the_circuit_alternates():
    made = plan(station(parts=LEFT_RIGHT, lead="fixed"), loops=2, recover_ms=0)
    parts = [s.part for s in made.segments if s.kind is SegmentKind.WORK]
    assert parts == ["left", "right", "left", "right"]


def test_gates_are_open_and_last_nothing():
    made = every_place()
    gates = [s for s in made.segments if s.until_key]
    assert [s.kind for s in gates] == [
        SegmentKind.HOLD,
        SegmentKind.LOOP_BREAK,
        SegmentKind.HOLD,
    ]
    assert {s.duration_ms for s in gates} == {0}
    assert made.open_gates == 3
    # 30 + 20 + 10, twice (40 + 20 + 45 + 20 + 40 + 20), 60.
    assert made.total_ms == (60 + 2 * 185 + 60) * 1000


def test_a_break_until_a_key_is_a_gate_whatever_its_length():
    made = plan(loops=2, break_until_key=True, loop_break_ms=90_000)
    gate = next(s for s in made.segments if s.kind is SegmentKind.LOOP_BREAK)
    assert gate.until_key
    assert gate.duration_ms == 0


def test_who_belongs_to_whom():
    """A recover carries its station, a break the loop it ends, a hold its station."""
    made = every_place()
    of = {
        kind: [(s.loop, s.station) for s in made.segments if s.kind is kind]
        for kind in SegmentKind
    }
    assert of[SegmentKind.RECOVER] == [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3)]
    assert of[SegmentKind.LOOP_BREAK] == [(1, None)]
    assert of[SegmentKind.HOLD] == [(1, 3), (2, 3)]
    assert of[SegmentKind.GET_READY] == [(None, None)]
    drills = [s.drill for s in made.segments if s.kind is SegmentKind.RECOVER]
    assert drills == [None, None, "stand"] * 2


def test_the_order_of_a_session_is_warm_up_get_ready_loops_cool_down():
    kinds = [s.kind for s in every_place().segments]
    assert kinds[:3] == [
        SegmentKind.WARM_UP,
        SegmentKind.WARM_UP,
        SegmentKind.GET_READY,
    ]
    assert kinds[-1] is SegmentKind.COOL_DOWN
    assert kinds.count(SegmentKind.LOOP_BREAK) == 1


def test_a_skipped_station_is_out_of_that_loop_only_and_keeps_the_numbers():
    made = plan(
        station(1),
        station(2),
        station(3),
        loops=2,
        loop_changes={2: LoopChange(stations={2: StationInLoop(skip=True)})},
    )
    works = [(s.loop, s.station) for s in made.segments if s.kind is SegmentKind.WORK]
    assert works == [(1, 1), (1, 2), (1, 3), (2, 1), (2, 3)]


def test_a_skipped_last_station_passes_on_the_dropped_recovery():
    made = plan(
        station(1),
        station(2),
        last_recover="drop",
        loop_changes={1: LoopChange(stations={2: StationInLoop(skip=True)})},
    )
    assert lengths(made) == ["get_ready 10", "work 40"]


def test_today_may_leave_stations_out_and_change_loops_and_break():
    made = compile_plan(
        circuit(station(1), station(2), loops=3, break_until_key=True),
        Today(loops=2, loop_break_ms=30_000, without_stations=frozenset({1})),
    )
    assert lengths(made) == ["get_ready 10", "work 40", "loop_break 30", "work 40"]
    assert [card.number for card in made.stations] == [2]
    assert made.loops == 2
    assert made.open_gates == 0


REFUSED = {
    "a part under 5 s": (
        circuit(station(parts=LEFT_RIGHT, work_ms=9_999)),
        "station 1, loop 1: a part lasts 4.999 s; at least 5 s is needed",
    ),
    "work under 5 s": (
        circuit(station(work_ms=4_000)),
        "station 1, loop 1: a part lasts 4 s",
    ),
    "changeovers longer than the work": (
        circuit(station(parts=THREE_PARTS, changeover_ms=10_000, work_ms=20_000)),
        "station 1, loop 1: the changeovers leave no time",
    ),
    "a part too short in a later loop": (
        circuit(
            station(1),
            station(2, parts=LEFT_RIGHT),
            loops=2,
            loop_changes={2: LoopChange(work_ms=8_000)},
        ),
        "station 2, loop 2: a part lasts 4 s",
    ),
    "a changeover with one part": (
        circuit(station(changeover_ms=3_000)),
        "station 1, loop 1: a changeover needs at least two parts",
    ),
    "an empty loop": (
        circuit(
            loops=2,
            loop_changes={2: LoopChange(stations={1: StationInLoop(skip=True)})},
        ),
        "loop 2 has no station left",
    ),
}


@pytest.mark.parametrize(("made", "message"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_laid_out_is_refused_with_its_place(made, message):
    with pytest.raises(PlanError) as caught:
        compile_plan(made)
    assert message in str(caught.value)
    if caught.value.station:
        assert not caught.value.bare.startswith("station")


def test_a_part_of_exactly_five_seconds_is_allowed():
    assert plan(station(parts=LEFT_RIGHT, work_ms=10_000)).work_ms == 10_000


def test_leaving_every_station_out_today_is_refused():
    with pytest.raises(PlanError, match="loop 1 has no station left"):
        compile_plan(circuit(), Today(without_stations=frozenset({1})))


def test_four_hours_are_allowed_and_a_second_more_is_not():
    hours = 4 * 3_600_000
    item = TimedItem("Walk", hours - 10_000 - 40_000 - 20_000)
    assert plan(warm_up=(item,)).total_ms == hours
    with pytest.raises(PlanError, match="longer than 4 hours"):
        plan(warm_up=(TimedItem("Walk", item.duration_ms + 1_000),))


@MODERATE
@given(circuits(), todays())
def test_segments_lie_end_to_end_and_add_up_to_the_total(drawn, today):
    made = compile_plan(drawn, today)
    at_ms = 0
    for segment in made.segments:
        assert segment.start_ms == at_ms
        assert segment.duration_ms > 0 or segment.until_key
        at_ms += segment.duration_ms
    assert at_ms == made.total_ms


@MODERATE
@given(circuits())
def test_parts_of_a_station_are_equal_and_fill_its_work(drawn):
    made = compile_plan(drawn)
    places = {s.place for s in made.segments if s.kind is SegmentKind.WORK}
    for place in places:
        inside = [s for s in made.segments if s.place == place]
        parts = [s.duration_ms for s in inside if s.kind is SegmentKind.WORK]
        between = [s.duration_ms for s in inside if s.kind is SegmentKind.CHANGEOVER]
        assert len(set(parts)) == 1
        written = drawn.stations[place[1] - 1]
        assert len(parts) == max(1, len(written.parts))
        own = drawn.loop_changes.get(place[0], LoopChange())
        sentences = [
            drawn.work_ms,
            written.work_ms,
            own.work_ms,
            own.stations.get(place[1], StationInLoop()).work_ms,
        ]
        assert sum(parts) + sum(between) == [ms for ms in sentences if ms][-1]


@MODERATE
@given(circuits(), st.data())
def test_nothing_changed_today_changes_nothing(drawn, data):
    assert compile_plan(drawn, Today()) == compile_plan(drawn)
    number = data.draw(st.integers(1, len(drawn.stations)))
    try:
        fewer = compile_plan(drawn, Today(without_stations=frozenset({number})))
    except PlanError:
        assume(False)
    assert number not in {s.station for s in fewer.segments}


def test_the_document_of_plan_json_has_every_field_of_the_contract():
    document = plan_document(every_place())
    assert set(document) == {
        "circuit", "name", "total_ms", "work_ms", "open_gates", "segments",
    }  # fmt: skip
    for segment in document["segments"]:
        assert set(segment) == {
            "start_ms", "duration_ms", "kind", "until_key", "loop", "station",
            "exercise", "exercise_name", "drill", "drill_name", "part", "load", "cues",
        }  # fmt: skip
        assert all(set(cue) == {"at_ms", "cue"} for cue in segment["cues"])
    assert document["work_ms"] == 2 * (40 + 42 + 40) * 1000
    assert document["open_gates"] == 3
