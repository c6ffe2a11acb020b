"""Work, volume, sides, drift of effort, completion and last time of stations."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import LEFT_RIGHT, MODERATE, plan, station

from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.engine.commands import Do, EnterCount, EnterEffort, EnterLoad
from whistlestop.review.record import SessionRecord, read_record
from whistlestop.review.stations import (
    NO_PLACE,
    Bout,
    LoopEffort,
    Share,
    SideWork,
    bouts_of,
    completion,
    effort_drift,
    last_done,
    loop_efforts,
    sides_by,
    sides_of,
    work_by,
    work_of,
)

DAY = date(2031, 4, 12)
PLACES = {"exercise-1": ("legs", "squat"), "exercise-2": ("arms", "pull")}


def bout(exercise: str = "row", done_ms: int = 40_000, **changes: Any) -> Bout:
    values: dict[str, Any] = {
        "day": DAY,
        "session_id": "s1",
        "loop": 1,
        "exercise": exercise,
        "name": exercise.title(),
        "region": "arms",
        "pattern": "pull",
        "shares": (Share("both", 40_000, done_ms, min(done_ms, 40_000)),),
    }
    return Bout(**{**values, **changes})


def two_stations() -> Drive:
    """Squats with 2 x 8 kg, rows left and right (20 s each), two loops of 40/20."""
    return Drive(
        plan(
            station(1, load=parse_load("2 x 8 kg")),
            station(2, parts=LEFT_RIGHT, changeover_ms=0),
            loops=2,
            get_ready_ms=5_000,
            last_recover="keep",
        )
    ).begin()


def record_of(drive: Drive) -> SessionRecord:
    return read_record(drive.journal.lines, session_id=SESSION_ID)


def test_a_recorded_session_gives_seconds_volume_and_sides() -> None:
    """2 loops x 40 s x 16 kg = 1280 kg s; rows 20 s a side and loop."""
    drive = two_stations()
    drive.go(245_000)
    bouts = bouts_of(record_of(drive), DAY, PLACES)
    by = work_by(bouts, "region")
    assert by["legs"].work_ms == by["arms"].work_ms == 80_000
    assert by["legs"].volume_kg_s == pytest.approx(1280)
    assert by["arms"].unweighed_ms == 80_000
    assert sides_of(bouts) == SideWork(40_000, 40_000, 80_000)
    assert list(sides_by(bouts, "pattern")) == ["pull"]
    assert completion(bouts).value == 1


def test_what_was_typed_in_on_the_way_is_in_the_sums() -> None:
    """The load really used replaces the planned one; 12 reps of 20 kg."""
    drive = two_stations()
    drive.go(50_000)
    drive.do(EnterLoad("20 kg"))
    drive.do(EnterCount(12))
    drive.go(200_000)
    found = work_by(bouts_of(record_of(drive), DAY, PLACES), "station")
    squat = found["exercise-1"]
    assert squat.volume_kg_s == pytest.approx(20 * 40 + 16 * 40)
    assert (squat.counted, squat.reps, squat.volume_kg_reps) == (1, 12, 240)


def test_a_station_that_was_skipped_lowers_completion_and_is_not_last_done() -> None:
    drive = two_stations()
    drive.go(15_000)
    drive.do(Do.SKIP)
    drive.go(400_000)
    bouts = bouts_of(record_of(drive), DAY, {})
    done_ms = sum(b.done_ms for b in bouts)
    assert 80_000 < done_ms < 160_000
    assert completion(bouts).value == pytest.approx(done_ms / 160_000)
    assert {b.region for b in bouts} == {NO_PLACE}


def test_stations_never_reached_count_as_planned_and_not_done() -> None:
    drive = two_stations()
    drive.go(45_000)
    drive.do(Do.STOP)
    bouts = bouts_of(record_of(drive), DAY, PLACES)
    assert len(bouts) == 4
    assert completion(bouts).value == pytest.approx(40 / 160)
    assert last_done(bouts, DAY) == {"exercise-1": 0}


def test_loop_efforts_are_those_of_loops_with_work() -> None:
    drive = two_stations()
    drive.go(125_000)
    drive.do(EnterEffort(1, Effort(13)))
    drive.go(20_000)
    drive.do(Do.STOP)
    first, second = loop_efforts(record_of(drive))
    assert first == LoopEffort(1, 6.5, partial=False)
    assert second == LoopEffort(2, None, partial=True)


@pytest.mark.parametrize("typed", ["band: green", "two bricks", ""])
def test_a_load_without_a_mass_is_kept_as_text_and_out_of_the_volume(
    typed: str,
) -> None:
    drive = two_stations()
    drive.go(50_000)
    if typed:
        drive.do(EnterLoad(typed))
    drive.go(200_000)
    squats = [
        b
        for b in bouts_of(record_of(drive), DAY, PLACES)
        if b.exercise == "exercise-1" and b.loop == 1
    ]
    work = work_of(squats)
    if typed:
        assert (work.volume_kg_s, work.unweighed_ms) == (0, 40_000)
        assert squats[0].load_text == typed
    else:
        assert work.volume_kg_s == pytest.approx(640)


def test_unequal_sides_are_said_beside_each_other_and_not_judged() -> None:
    shares = (
        Share("left", 20_000, 20_000, 20_000),
        Share("right", 20_000, 8_000, 8_000),
    )
    found = sides_of([bout(shares=shares, load_kg=10.0)])
    assert found.words() == "left 20 s, right 8 s"
    assert (found.left_kg_s, found.right_kg_s) == (200, 80)


def test_more_than_planned_is_work_and_not_more_than_complete() -> None:
    shares = (Share("both", 40_000, 90_000, 40_000),)
    longer = bout(shares=shares)
    assert work_of([longer]).work_ms == 90_000
    assert completion([longer, bout(done_ms=0)]).value == 0.5
    assert completion([]).reason == "nothing was planned"


@pytest.mark.parametrize(
    ("efforts", "change", "missing"),
    [
        ([5.0, 6.0, 7.5], 2.5, 0),
        ([6.0, None, 5.0], -1.0, 1),
        ([5.0, None], None, 1),
        ([None], None, 1),
        ([], None, 0),
    ],
)
def test_effort_drift_runs_from_first_to_last_entered(
    efforts: list[float | None], change: float | None, missing: int
) -> None:
    loops = [LoopEffort(n, effort) for n, effort in enumerate(efforts, 1)]
    found = effort_drift(loops)
    assert found.change.value == change
    assert found.missing == missing
    assert found.entered + found.missing == len(efforts)


def test_last_done_counts_calendar_days_and_looks_at_nothing_later() -> None:
    bouts = [
        bout("row", day=DAY - timedelta(days=9)),
        bout("row", day=DAY - timedelta(days=3)),
        bout("squat", day=DAY - timedelta(days=12)),
        bout("squat", day=DAY - timedelta(days=1), done_ms=0),
        bout("plank", day=DAY + timedelta(days=1)),
    ]
    assert last_done(bouts, DAY) == {"squat": 12, "row": 3}


BOUTS = st.lists(
    st.builds(
        lambda exercise, region, side, ms, kg: bout(
            exercise,
            region=region,
            load_kg=kg,
            shares=(Share(side, 40_000, ms, min(ms, 40_000)),),
        ),
        st.sampled_from(["row", "squat", "plank"]),
        st.sampled_from(["legs", "core", "arms"]),
        st.sampled_from(["left", "right", "both", "together"]),
        st.integers(0, 90_000),
        st.none() | st.floats(0.5, 60),
    ),
    max_size=20,
)


@MODERATE
@given(BOUTS)
def test_groups_and_sides_add_up_to_the_whole(bouts: list[Bout]) -> None:
    whole, sides = work_of(bouts), sides_of(bouts)
    assert sides.left_ms + sides.right_ms + sides.other_ms == whole.work_ms
    for by in ("station", "region", "pattern"):
        parts = work_by(bouts, by).values()  # type: ignore[arg-type]
        assert sum(part.work_ms for part in parts) == whole.work_ms
        assert sum(part.volume_kg_s for part in parts) == pytest.approx(
            whole.volume_kg_s
        )
        assert sum(part.bouts for part in parts) == whole.bouts
    share = completion(bouts).value
    assert share is None or 0 <= share <= 1
