"""One session, two people: one clock, own rows and entries, and nothing mixed."""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import FEW, LEFT_RIGHT, circuit, circuits, station
from tests.support.services import make_services, run_until

from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.driver.session import Options
from whistlestop.engine.commands import (
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterSkipReason,
    EnterVariant,
    SwapExercise,
    from_fields,
    to_fields,
)
from whistlestop.engine.derived import summary
from whistlestop.errors import CommandRejected, MisfitError
from whistlestop.review.record import read_record, replay_lines
from whistlestop.store.journal.file import read_journal
from whistlestop.store.journal.session_line import summarise

THREE = (
    station(1, load=parse_load("16 kg")),
    station(2, parts=LEFT_RIGHT),
    station(3, load=parse_load("12 kg")),
)


def pair(*stations, offset=1, own=None, **changes):
    made = circuit(*(stations or THREE), last_recover="keep", **changes)
    first, second = paired_plans(made, offset, ({}, own or {}))
    return first, Company((("a2", second),), offset)


def driven(*stations, **changes) -> Drive:
    first, company = pair(*stations, **changes)
    return Drive(first, Options(watch_gaps=False), company).begin()


def record(drive: Drive, athlete: str = "a1"):
    return read_record(drive.journal.lines, session_id=SESSION_ID, athlete=athlete)


def test_each_has_rows_of_the_own_stations_on_the_same_clock():
    drive = driven(own={"exercise-3": parse_load("8 kg")})
    drive.go(400_000, 500)
    rows = drive.journal.of("done")
    mine = [row for row in rows if row["a"] == "a1"]
    theirs = [row for row in rows if row["a"] == "a2"]
    common = ("t", "p", "visit", "kind", "ms", "plan_ms", "set_ms", "why")
    assert [[r[k] for k in common] for r in mine] == [
        [r[k] for k in common] for r in theirs
    ]
    worked = [
        [
            (r["station"], r.get("part"), r.get("load"))
            for r in of
            if r["kind"] == "work"
        ]
        for of in (mine, theirs)
    ]
    assert worked[0] == [
        (1, None, "16 kg"),
        (1, None, "16 kg"),
        (2, "left", None),
        (2, "right", None),
        (3, None, "12 kg"),
    ]
    assert worked[1] == [
        (2, "left", None),
        (2, "right", None),
        (3, None, "8 kg"),
        (3, None, "8 kg"),
        (1, None, "16 kg"),
    ]


def test_efforts_come_in_any_order_and_either_may_be_left_blank():
    drive = driven(loops=2, loop_break_ms=60_000)
    drive.go(200_000, 500)
    drive.do(EnterEffort(1, Effort(13), "a2"))
    drive.do(EnterEffort(1, Effort(10)))
    drive.go(400_000, 500)
    drive.do(EnterEffort(2, Effort(18), "a2"))
    drive.do(EnterSessionEffort(Effort(16), "a2"))
    summed = drive.session.close()
    assert summed["efforts"] == [5, None]
    assert summed["session_effort"] is None
    assert summed["with"]["a2"]["efforts"] == [6.5, 9]
    assert summed["with"]["a2"]["session_effort"] == 8
    own, others = record(drive), record(drive, "a2")
    assert [loop.effort and loop.effort.number for loop in own.loops] == [5, None]
    assert [loop.effort and loop.effort.number for loop in others.loops] == [6.5, 9]
    assert own.session_effort is None
    assert others.session_effort == Effort(16)


def test_what_one_enters_belongs_to_the_station_that_one_stands_at():
    drive = driven()
    drive.go(12_000, 500)
    drive.do(EnterLoad("10 kg", "a2"))
    drive.do(EnterDiscomfort("knee", "left", 3, "a2"))
    drive.do(EnterVariant("easier"))
    drive.go(55_000, 500)
    drive.do(EnterCount(14, "a2"))
    drive.do(EnterNote("hands were cold", "a2"))
    own, others = record(drive), record(drive, "a2")
    used = {s.card.number: s.load_used for s in others.loops[0].stations}
    assert used == {2: "10 kg", 3: None, 1: None}
    assert {s.card.number: s.count for s in others.loops[0].stations}[2] == 14
    assert others.discomforts[0].station == 2
    assert own.loops[0].stations[0].variants == ("easier",)
    assert all(s.load_used is None for s in own.loops[0].stations)
    assert (own.note, others.note) == ("", "hands were cold")
    assert own.discomforts == ()


def test_stations_stay_as_they_are_and_only_those_who_train_may_answer():
    drive = driven()
    drive.go(12_000, 500)
    before = list(drive.journal.lines)
    with pytest.raises(CommandRejected, match="two people"):
        drive.do(SwapExercise(1, "other", "Other", "OTHER"))
    with pytest.raises(CommandRejected, match="nobody"):
        drive.do(EnterVariant("easier", "a3"))
    assert drive.journal.lines == before


def test_one_alone_writes_not_one_field_more():
    """Fields are only ever added; a session of one has none of these."""
    drive = Drive(pair()[0]).begin()
    drive.go(400_000, 500)
    drive.do(EnterNote("fine"))
    drive.session.close()
    first, *lines = drive.journal.lines
    assert first["athletes"] == ["a1"]
    assert not {"with", "offset"} & set(first)
    assert {line["a"] for line in lines} == {"a1"}
    assert "with" not in lines[-1]
    assert len(drive.journal.of("done")) == len(drive.plan.segments)


COMMANDS = st.sampled_from(
    [
        *(Do.NEXT, Do.SKIP, Do.BACK, Do.RESTART, Do.LONGER, Do.SHORTER),
        *(Do.PAUSE, Do.RESUME, Do.DROP_LOOP, Do.UNDO),
        *(EnterEffort(n, Effort(2 * n), who) for n in (1, 2) for who in ("a1", "a2")),
        *(EnterLoad("9 kg", who) for who in ("a1", "a2")),
        *(EnterCount(7, "a2"), EnterNote("so", "a2"), EnterSkipReason("no time", "a2")),
        EnterDiscomfort("hip", "left", 2, "a2"),
    ]
)


@FEW
@given(
    circuits(most_stations=4, most_loops=2),
    st.integers(1, 3),
    st.lists(st.tuples(st.integers(0, 60_000), COMMANDS), max_size=12),
)
def test_the_owners_record_is_as_if_alone_and_a_replay_gives_both_back(
    drawn, offset, steps
):
    """Whatever is done: strip the companion, and the owner's record is the same."""
    try:
        first, second = paired_plans(drawn, offset, ({}, {}))
    except MisfitError:
        assume(False)
    drive = Drive(first, Options(watch_gaps=False), Company((("a2", second),), offset))
    drive.begin()
    for ms, command in steps:
        drive.go(ms, 5_000)
        with suppress(CommandRejected):
            drive.do(command)
    with suppress(CommandRejected):
        drive.do(Do.STOP)
    drive.session.close()
    lines = json.loads(json.dumps(drive.journal.lines))
    stripped = [
        {k: v for k, v in line.items() if k not in ("with", "offset")}
        for line in lines
        if line.get("a", "a1") == "a1"
    ]
    own = read_record(lines, session_id=SESSION_ID)
    alone = read_record(stripped, session_id=SESSION_ID)
    assert own.problems == alone.problems == ()
    assert own.loops == alone.loops
    assert own.discomforts == alone.discomforts
    assert (own.note, own.session_effort) == (alone.note, alone.session_effort)
    other = read_record(lines, session_id=SESSION_ID, athlete="a2")
    assert other.problems == ()
    # The same time for both, loop by loop; and the replay is the live state.
    assert [loop.best_ms for loop in own.loops] == [
        loop.best_ms for loop in other.loops
    ]
    replayed = replay_lines(lines)
    assert replayed.engine.company == drive.engine.company
    for who in ("a1", "a2"):
        again = replayed.engine.for_athlete(who)
        assert summary(again) == summary(drive.engine.for_athlete(who))


def test_looking_at_it_as_a_companion_leaves_the_session_as_it_was():
    drive = driven()
    drive.go(12_000, 500)
    drive.do(EnterLoad("10 kg", "a2"))
    before = (drive.engine.rows, drive.engine.entries, drive.engine.track)
    ahead = drive.engine.at(500_000).for_athlete("a2")
    assert ahead.rows[1].station == 2
    assert (drive.engine.rows, drive.engine.entries, drive.engine.track) == before
    assert drive.session.view("a2").card.number == 2
    assert drive.session.view().card.number == 1


@pytest.mark.parametrize(
    "entry",
    [
        EnterEffort(1, Effort(9), "a2"),
        EnterSessionEffort(None, "a2"),
        EnterNote("n", "a2"),
        EnterDiscomfort("hip", "left", 2, "a2"),
        EnterCount(3, "a2"),
        EnterLoad("8 kg", "a2"),
        EnterVariant("harder", "a2"),
        EnterSkipReason("no time", "a2"),
    ],
)
def test_every_entry_keeps_whose_it_is_in_the_journal(entry):
    fields = to_fields(entry)
    assert fields["a"] == "a2"
    assert from_fields(json.loads(json.dumps(fields))) == entry
    old = {key: value for key, value in fields.items() if key != "a"}
    assert from_fields(old).athlete == "a1"


@pytest.mark.parametrize(
    "given_with",
    [5, [], {"a2": None}, {"a2": {}}, {"x\x1b": {}}, {"a2": {"stations": []}}],
)
def test_a_spoilt_companion_is_named_and_the_owners_record_stands(given_with):
    drive = driven()
    drive.go(400_000, 500)
    drive.session.close()
    whole = record(drive)
    first, *rest = drive.journal.lines
    spoilt = read_record([{**first, "with": given_with}, *rest], session_id=SESSION_ID)
    assert spoilt.loops == whole.loops
    assert [p for p in spoilt.problems if "trained along" in p]
    with pytest.raises(ValueError, match="did not train"):
        read_record(
            [{**first, "with": given_with}, *rest],
            session_id=SESSION_ID,
            athlete="a2",
        )


def test_a_row_of_either_that_was_changed_is_named_and_the_inputs_stand():
    drive = driven()
    drive.go(400_000, 500)
    lines = [dict(line) for line in drive.journal.lines]
    row = next(x for x in lines if x["k"] == "done" and x["a"] == "a2" and x["p"] == 1)
    row["ms"] += 1
    own = read_record(lines, session_id=SESSION_ID)
    assert own.problems == (
        "a2: a written row differs from the inputs; the inputs stand",
    )
    del lines[lines.index(row)]
    other = read_record(lines, session_id=SESSION_ID, athlete="a2")
    assert other.problems == ("rows that are missing: 1; made again from the inputs",)
    assert own.loops == record(drive).loops
    assert other.loops == record(drive, "a2").loops


def test_an_interrupted_session_of_two_is_taken_up_by_both(tmp_path: Path):
    services = make_services(tmp_path)
    first, company = pair(loops=2, loop_break_ms=60_000)
    options = Options(count_in_ms=3_000, watch_gaps=False)
    running = services.sessions.start(first, options=options, company=company)
    running.session.begin()
    run_until(services, running, 200_000)
    running.session.do(EnterEffort(1, Effort(13), "a2"))
    assert running.release()
    again = services.sessions.resume(running.session_id)
    assert again.session.engine.company == company
    again.session.do(Do.RESUME)
    while not again.session.is_over:
        services.standing.now_ms += 1_000
        again.session.tick()
    again.session.do(EnterEffort(2, Effort(8), "a2"))
    again.session.do(EnterEffort(2, Effort(4)))
    again.session.close()
    assert again.release()
    own = services.log.record(running.session_id)
    other = services.log.record(running.session_id, athlete="a2")
    assert own.problems == other.problems == ()
    assert [loop.effort and loop.effort.number for loop in own.loops] == [None, 2]
    assert [loop.effort and loop.effort.number for loop in other.loops] == [6.5, 4]
    assert services.log.last_plan() == (first, company)


def test_the_log_counts_the_owners_work_and_efforts_alone(tmp_path: Path):
    """With the sum, and without it, as after a dead battery."""
    services = make_services(tmp_path)
    first, company = pair(loops=2, loop_break_ms=60_000)
    options = Options(count_in_ms=0, watch_gaps=False)
    running = services.sessions.start(first, options=options, company=company)
    running.session.begin()
    run_until(services, running, 200_000, efforts=[5])
    running.session.do(EnterEffort(1, Effort(18), "a2"))
    running.session.do(EnterNote("theirs", "a2"))
    running.session.do(EnterDiscomfort("hip", "left", 2, "a2"))
    assert running.release()
    torn = summarise(read_journal(services.log.sessions()[0].path))
    work_ms = sum(
        s.duration_ms
        for s in first.segments
        if s.kind is SegmentKind.WORK and s.loop == 1
    )
    assert torn.done_work_ms == torn.best_work_ms == work_ms
    assert torn.efforts == (5, None)
    assert (torn.note, torn.discomforts) == ("", ())
    services.sessions.settle(running.session_id)
    line = summarise(read_journal(services.log.sessions()[0].path))
    assert line.is_exact
    assert line.efforts == (5, None)
    assert line.done_work_ms == work_ms
    # The break it was stopped in is no work of the loop.
    assert torn.loop_work_ms == line.loop_work_ms == (work_ms, None)
    assert (line.note, line.discomforts) == ("", ())
