"""A circuit as FIT, read by two other libraries: laps, names and times as recorded."""

from __future__ import annotations

import io
import random
from collections import Counter
from contextlib import suppress
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import fitdecode
import fitparse
import pytest
from tests.support.plans import circuit, station

from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.engine.commands import Do
from whistlestop.engine.engine import Engine
from whistlestop.engine.states import Mode
from whistlestop.errors import CommandRejected
from whistlestop.review.activities.activity import Activity, Deadline
from whistlestop.review.activities.reading import read_activities
from whistlestop.review.exchange.fit import cut_to_bytes, fit_bytes, session_laps
from whistlestop.store.circuits.file import read_circuit

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.toml"))
BEGIN = datetime(2031, 5, 12, 18, 0, tzinfo=timezone(timedelta(hours=2)))
ID = "20310512T160000Z-ab12"


def done(plan, seed=None):
    """A session to its end; with a seed, with pauses and steps in between."""
    engine, now = Engine(plan), 0
    engine.start()
    dice = random.Random(seed)
    while engine.mode is not Mode.ENDED:
        now += 5_000
        engine.advance(now)
        if engine.mode is Mode.ENDED:
            break
        if engine.at_gate:
            engine.handle(Do.NEXT, now)
        elif seed is not None and dice.random() < 0.02:
            for act in dice.choice([(Do.NEXT,), (Do.PAUSE, Do.RESUME), (Do.BACK,)]):
                now += 777
                # Not every one is legal at every moment.
                with suppress(CommandRejected):
                    engine.handle(act, now)
    return engine.for_athlete(OWNER)


def as_fitparse(data):
    """Laps as (name, step name, intensity, elapsed s, timer s), and the session."""
    file = fitparse.FitFile(data, check_crc=True)
    messages = list(file.get_messages())
    steps = {
        m.get_value("message_index"): m.get_value("wkt_step_name")
        for m in messages
        if m.name == "workout_step"
    }
    laps = [
        (
            m.get_value("station"),
            steps[m.get_value("wkt_step_index")],
            m.get_value("intensity"),
            m.get_value("total_elapsed_time"),
            m.get_value("total_timer_time"),
        )
        for m in messages
        if m.name == "lap"
    ]
    (session,) = [m for m in messages if m.name == "session"]
    return laps, session


def as_fitdecode(data):
    frames = list(fitdecode.FitReader(data, check_crc=fitdecode.CrcCheck.RAISE))
    messages = [f for f in frames if f.frame_type == fitdecode.FIT_FRAME_DATA]
    steps = {
        m.get_value("message_index"): m.get_value("wkt_step_name")
        for m in messages
        if m.name == "workout_step"
    }
    return [
        (
            m.get_value("station"),
            steps[m.get_value("wkt_step_index")],
            m.get_value("intensity"),
            m.get_value("total_elapsed_time"),
            m.get_value("total_timer_time"),
        )
        for m in messages
        if m.name == "lap"
    ]


@pytest.mark.parametrize("seed", [None, 1])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_two_readers_find_the_laps_names_and_times_of_the_record(path, seed):
    plan = compile_plan(read_circuit(path))
    session = done(plan, seed)
    data = fit_bytes(session, session_id=ID, begin=BEGIN)
    laps, summary = as_fitparse(data)
    assert as_fitdecode(data) == laps
    # From the rows alone: time at each station, and at rest, by the name as done.
    wanted: Counter[str] = Counter()
    for row in session.rows:
        at_station = row.kind in {SegmentKind.WORK, SegmentKind.CHANGEOVER}
        name = session.track.card(row.segment).name if at_station else ""
        wanted[name] += row.ms
    found: Counter[str] = Counter()
    for name, step, intensity, _, timer in laps:
        assert name == step
        found[name if intensity == "active" else ""] += round(timer * 1000)
    assert {**found} == {name: ms for name, ms in wanted.items() if ms or name in found}
    assert sum(round(lap[3] * 1000) for lap in laps) == session.t_ms
    assert sum(round(lap[4] * 1000) for lap in laps) == session.active_ms
    assert round(summary.get_value("total_elapsed_time") * 1000) == session.t_ms
    assert round(summary.get_value("total_timer_time") * 1000) == session.active_ms
    assert summary.get_value("start_time").replace(tzinfo=UTC) == BEGIN
    assert (summary.get_value("sport"), summary.get_value("sub_sport")) == (
        "training",
        "strength_training",
    )
    assert summary.get_value("whistlestop_session") == ID


def test_a_lap_a_station_and_a_lap_a_recovery():
    plan = compile_plan(circuit(station(1), station(2), loops=2))
    laps = session_laps(done(plan))
    assert sum(lap.intensity == 0 for lap in laps) == 4
    ends = [lap.begin_ms + lap.elapsed_ms for lap in laps]
    assert [lap.begin_ms for lap in laps] == [0, *ends[:-1]]


def test_our_own_reader_knows_whose_session_it_is():
    session = done(compile_plan(circuit(station(1), station(2))))
    data = fit_bytes(session, session_id=ID, begin=BEGIN)
    now = BEGIN + timedelta(days=1)
    (found,) = read_activities(io.BytesIO(data), Deadline(lambda: 0), now)
    assert isinstance(found, Activity)
    assert (found.session_id, found.sport, found.offset_s) == (ID, "strength", 7200)
    assert found.elapsed_ms == session.t_ms


@pytest.mark.parametrize(
    ("text", "most", "cut"),
    [
        ("squat", 60, "squat"),
        ("héé", 3, "hé"),
        ("水水", 5, "水"),
        ("a\x1bb", 9, "a\\x1bb"),
    ],
)
def test_a_name_is_cut_between_letters(text, most, cut):
    assert cut_to_bytes(text, most) == cut
