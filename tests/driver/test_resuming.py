"""Where an interrupted session goes on, and that its journal is whole afterwards."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import every_place, plan, station
from tests.support.services import ServicesForTests, make_services

from whistlestop.cli.main import main
from whistlestop.domain.effort import Effort
from whistlestop.driver.session import Options
from whistlestop.engine.commands import Do, EnterEffort, EnterNote
from whistlestop.errors import StoreError
from whistlestop.review.record import replay_lines
from whistlestop.store.journal.file import journal_path
from whistlestop.store.journal.heartbeat import (
    Beat,
    Heartbeat,
    heartbeat_path,
    heartbeats,
    read_heartbeat,
)
from whistlestop.store.journal.line import encode

LATER = datetime(2031, 4, 12, 8, 0, tzinfo=timezone(timedelta(hours=2), "EAST"))


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path / "home", begin=LATER)


def left_behind(
    services: ServicesForTests, lines: list[dict[str, Any]], beat: Beat | None
) -> Path:
    """What a process leaves that was killed: these lines, and this heartbeat."""
    path = journal_path(services.places.log, SESSION_ID)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"".join(encode(line) for line in lines))
    heartbeat_path(services.places.state, SESSION_ID).unlink(missing_ok=True)
    if beat is not None:
        heart = Heartbeat(services.places.state, SESSION_ID)
        heart.beat(beat.t_ms, beat.wall)
        heart.close(over=False)
    return path


def lived() -> Drive:
    """Rows, loops, entries, a pause, a station left out and an end."""
    drive = Drive(plan(station(1), station(2), station(3), loops=2)).begin()
    drive.go(4_000)
    drive.do(Do.SKIP)
    drive.go(61_000)
    drive.do(Do.PAUSE)
    drive.go(2_000)
    drive.do(Do.RESUME)
    drive.go(70_000)
    drive.do(EnterEffort(1, Effort(12)))
    drive.do(Do.NEXT)
    drive.go(30_000)
    drive.do(EnterNote("so so"))
    drive.do(Do.RESTART)
    drive.go(45_000)
    drive.do(Do.STOP)
    drive.do(EnterEffort(2, Effort(14)))
    drive.session.close()
    return drive


def judged(
    services: ServicesForTests, capsys: pytest.CaptureFixture[str]
) -> tuple[int, str]:
    """What `log verify` says of the whole log."""
    status = main(["log", "verify", "--home", str(services.places.home)])
    return status, capsys.readouterr().out


def test_wherever_a_session_is_killed_it_goes_on_and_the_log_stays_sound(
    services: ServicesForTests, capsys: pytest.CaptureFixture[str]
) -> None:
    """Any number of lines on disk; each heartbeat from the last of them on.

    Never before the last line, never after the heartbeat; no row twice, none lost.
    """
    drive = lived()
    lines = drive.journal.lines
    for count in range(1, len(lines)):
        on_disk = lines[:count]
        last_ms = on_disk[-1]["t"]
        next_ms = lines[count]["t"] if count < len(lines) else last_ms
        ended = any(line["k"] == "end" for line in on_disk)
        beats = [b for b in drive.heart.beats if last_ms <= b.t_ms <= next_ms]
        for beat in (None, *beats[:1], *beats[-1:]):
            left_behind(services, on_disk, beat)
            assert judged(services, capsys)[0] == 0, (count, beat)
            if ended:
                with pytest.raises(StoreError, match="over already"):
                    services.sessions.resume(SESSION_ID)
                continue
            running = services.sessions.resume(SESSION_ID)
            at_ms = running.session.engine.t_ms
            assert at_ms == max(last_ms, beat.t_ms if beat else 0)
            if not running.session.is_over:
                running.session.do(Do.STOP)
            running.session.close()
            assert running.release()
            status, text = judged(services, capsys)
            assert status == 0, (count, beat, text)
            record = services.log.record(SESSION_ID)
            assert (record.problems, record.finished) == ((), True)
            (line,) = services.log.sessions()
            assert line.is_exact
            assert line.done_work_ms == sum(
                one.done_ms for loop in record.loops for one in loop.stations
            )
            assert heartbeats(services.places.state) == ()


def test_a_row_is_not_gone_back_behind(services: ServicesForTests) -> None:
    """A durable row after the last heartbeat: on from the row, and it stands once."""
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(49_900)
    beat = drive.beat
    drive.go(200)
    assert drive.journal.lines[-1]["t"] == 50_000
    left_behind(services, drive.journal.lines, beat)
    running = services.sessions.resume(SESSION_ID)
    assert running.session.engine.t_ms == 50_000
    running.release()
    rows = replay_lines(_fields(services)).engine.rows
    assert len(rows) == 2
    assert sum(line["k"] == "done" for line in _fields(services)) == 2


def _fields(services: ServicesForTests) -> list[dict[str, Any]]:
    from whistlestop.store.journal.file import read_journal

    path = journal_path(services.places.log, SESSION_ID)
    return [dict(line.fields) for line in read_journal(path).lines]


def test_on_another_machine_it_goes_on_from_its_last_line(
    services: ServicesForTests,
) -> None:
    drive = Drive(every_place()).begin()
    drive.go(75_000)
    left_behind(services, drive.journal.lines, None)
    running = services.sessions.resume(SESSION_ID)
    assert running.session.engine.t_ms == drive.journal.lines[-1]["t"] == 60_000
    running.release()


def test_a_heartbeat_of_a_way_nobody_went_on_is_passed_by(
    services: ServicesForTests,
) -> None:
    """Killed here at 75 s; taken up elsewhere at 60 s, and its journal synced back."""
    here = Drive(every_place()).begin()
    here.go(75_000)
    elsewhere = Drive(every_place()).begin()
    elsewhere.go(60_000)
    elsewhere.clock.sleep(3_600_000)
    elsewhere.tick()
    elsewhere.go(5_000)
    elsewhere.do(EnterNote("elsewhere"))
    left_behind(services, elsewhere.journal.lines, here.beat)
    running = services.sessions.resume(SESSION_ID)
    assert running.session.engine.t_ms == 65_000
    running.release()


def test_the_log_tells_of_an_open_session_up_to_its_heartbeat(
    services: ServicesForTests,
) -> None:
    """In a long segment no line is written; and no index hides a later beat."""
    drive = Drive(plan(work_ms=600_000)).begin()
    drive.go(120_000)
    left_behind(services, drive.journal.lines, drive.beat)
    for _ in range(2):
        (line,) = services.logbook().sessions()
        assert (line.elapsed_ms, line.finished) == (120_000, False)
    drive.go(60_000)
    left_behind(services, drive.journal.lines, drive.beat)
    (line,) = services.logbook().sessions()
    assert line.elapsed_ms == services.log.record(SESSION_ID).elapsed_ms == 180_000
    heartbeat_path(services.places.state, SESSION_ID).unlink()
    (line,) = services.logbook().sessions()
    assert line.elapsed_ms == services.log.record(SESSION_ID).elapsed_ms == 10_000


def test_two_homes_have_heartbeats_of_their_own(tmp_path: Path) -> None:
    """With --home all lies under it; one home's session says nothing of another's."""
    drive = Drive(plan(work_ms=600_000)).begin()
    drive.go(120_000)
    one = make_services(tmp_path / "one", begin=LATER)
    other = make_services(tmp_path / "other", begin=LATER)
    left_behind(one, drive.journal.lines, drive.beat)
    left_behind(other, drive.journal.lines, None)
    assert one.places.state.is_relative_to(tmp_path / "one")
    assert read_heartbeat(other.places.state, SESSION_ID) is None
    for services, at_ms in ((one, 120_000), (other, 10_000)):
        running = services.sessions.resume(SESSION_ID)
        assert running.session.engine.t_ms == at_ms
        running.release()


def test_another_session_that_ends_leaves_the_heartbeat_of_an_interrupted_one(
    services: ServicesForTests,
) -> None:
    """And takes that of one that was killed just after its end."""
    drive = Drive(plan(work_ms=600_000)).begin()
    drive.go(120_000)
    left_behind(services, drive.journal.lines, drive.beat)
    running = services.sessions.start(plan(), options=Options(watch_gaps=False))
    running.session.begin()
    running.session.do(Do.STOP)
    running.session.close()
    running.release()
    assert heartbeats(services.places.state) == (SESSION_ID,)
    drive.do(Do.STOP)
    left_behind(services, drive.journal.lines, drive.beat)
    running = services.sessions.start(plan(), options=Options(watch_gaps=False))
    running.session.begin()
    running.session.do(Do.STOP)
    running.release()
    assert heartbeats(services.places.state) == ()


def test_killed_between_its_last_row_and_its_end_it_is_over(
    services: ServicesForTests, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is offered once more; then its end stands, and nothing is paused."""
    drive = Drive(plan()).begin()
    drive.go(drive.plan.total_ms)
    end = next(n for n, x in enumerate(drive.journal.lines) if x["k"] == "end")
    left_behind(services, drive.journal.lines[:end], drive.beat)
    assert services.sessions.interrupted() is not None
    services.sessions.settle(SESSION_ID)
    assert services.sessions.interrupted() is None
    assert services.log.record(SESSION_ID).ending == "complete"
    assert judged(services, capsys)[0] == 0


@pytest.mark.parametrize(
    "forged", [{"work_ms": 1}, {"paused_ms": 7}, {"loops_done": 9}, {"why": "health"}]
)
def test_a_sum_that_does_not_follow_from_its_rows_is_damage(
    services: ServicesForTests,
    capsys: pytest.CaptureFixture[str],
    forged: dict[str, Any],
) -> None:
    """With a right checksum too: `log verify` ends with 1 and says so."""
    lines = [dict(line) for line in lived().journal.lines]
    left_behind(services, lines, None)
    assert judged(services, capsys)[0] == 0
    lines[-1] |= forged
    left_behind(services, lines, None)
    status, sentences = judged(services, capsys)
    assert status == 1
    assert "a written sum does not follow from its rows" in sentences


def test_an_older_journal_that_went_back_before_a_row_is_no_damage(
    services: ServicesForTests, capsys: pytest.CaptureFixture[str]
) -> None:
    """Taken up at the last mark `seen`, so the row behind it stands twice.

    By hand: 400 ms of the work are left at 49.6 s; on at 50 s after a count of 5 s.
    """
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(50_000)
    start, ready, row = (dict(line) for line in drive.journal.lines)
    wall = row["wall"]
    again = [
        {"k": "seen", "t": 49_600, "wall": wall},
        row,
        {"k": "gap", "t": 49_600, "gap_ms": 9_000, "cause": "ended", "wall": wall},
        {"k": "cmd", "do": "resume", "t": 50_000, "wall": wall},
        {**row, "t": 55_400},
        {"k": "seen", "t": 56_000, "wall": wall},
    ]
    lines = [{**x, "s": s} for s, x in enumerate([start, ready, *again])]
    left_behind(services, lines, None)
    assert judged(services, capsys)[0] == 0
    record = services.log.record(SESSION_ID)
    assert (record.elapsed_ms, record.problems) == (56_000, ())
    assert record.loops[0].stations[0].done_ms == 40_000


def test_a_row_that_stands_twice_for_no_reason_is_damage(
    services: ServicesForTests, capsys: pytest.CaptureFixture[str]
) -> None:
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(50_000)
    row = drive.journal.lines[-1]
    left_behind(services, [*drive.journal.lines, {**row, "s": row["s"] + 1}], None)
    status, sentences = judged(services, capsys)
    assert status == 1
    assert "a written row differs from the inputs" in sentences
