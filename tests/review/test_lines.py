"""The completion log in plain words."""

from __future__ import annotations

from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import plan, station

from whistlestop.domain.columns import table
from whistlestop.domain.effort import Effort
from whistlestop.driver.session import Options
from whistlestop.engine.commands import (
    Do,
    EnterDiscomfort,
    EnterEffort,
    EnterNote,
    EnterSessionEffort,
)
from whistlestop.review.lines import effort_text, record_lines
from whistlestop.review.record import read_record

BREAKS = {"loops": 2, "loop_break_ms": 30_000}


def lines_of(drive: Drive) -> list[str]:
    return record_lines(read_record(drive.journal.lines, session_id=SESSION_ID))


def test_an_effort_nobody_entered_reads_not_entered() -> None:
    drive = Drive(plan(**BREAKS)).begin()
    drive.go(55_000)
    drive.do(EnterEffort(1, Effort(13)))
    drive.go(80_000)
    lines = lines_of(drive)
    assert "loop 1 of 2: effort 6.5" in lines
    assert "loop 2 of 2: effort not entered" in lines
    assert "session effort not entered" in lines


def test_an_effort_taken_back_reads_not_entered() -> None:
    drive = Drive(plan(**BREAKS)).begin()
    drive.go(55_000)
    drive.do(EnterEffort(1, Effort(13)))
    drive.do(EnterEffort(1, None))
    assert any(line.endswith("effort not entered") for line in lines_of(drive))


def test_a_stand_in_for_the_session_effort_is_called_derived() -> None:
    drive = Drive(plan()).begin()
    drive.go(55_000)
    drive.do(EnterEffort(1, Effort(12)))
    drive.go(30_000)
    expected = "session effort not entered; mean of the loops by their work 6.0 "
    expected += "(averaged)"
    assert expected in lines_of(drive)


def test_session_load_is_effort_times_minutes_without_pauses() -> None:
    """Foster et al. 2001: 7 x 1 min = 7 AU; 20 s of pause change nothing."""
    drive = Drive(plan(get_ready_ms=0)).begin()
    drive.go(20_000)
    drive.do(Do.PAUSE)
    drive.go(17_000)
    drive.do(Do.RESUME)
    drive.go(43_000)
    assert drive.session.is_over
    drive.do(EnterSessionEffort(Effort(14)))
    assert "session effort 7: session load 7 AU" in lines_of(drive)


def test_a_gap_is_said_to_be_lost_and_not_counted() -> None:
    drive = Drive(plan()).begin()
    drive.go(15_000)
    drive.clock.sleep(90_000)
    drive.tick()
    drive.do(Do.STOP)
    lines = lines_of(drive)
    assert "not counted: 1:30 (computer asleep or program closed)" in lines
    assert "length 0:15: active 0:15, paused 0:00, waiting 0:00" in lines


def test_work_is_told_against_the_plan_and_each_part_with_its_reason() -> None:
    drive = Drive(plan(station(1), station(2, parts=("left", "right")))).begin()
    drive.go(10_000 + 40_000 + 20_000 + 5_000)
    drive.do(Do.NEXT)
    drive.do(Do.STOP)
    lines = lines_of(drive)
    assert "work 0:45 of 1:20 planned (56 %)" in lines
    assert "loop 1 of 1, partial: effort not entered" in lines
    rows = [line.split() for line in lines if line.startswith("  ")]
    assert rows[0][-6:] == ["40", "s", "of", "40", "s", "full"]
    assert rows[1][-7:] == ["left", "5", "s", "of", "20", "s", "left"]
    assert rows[2][-7:] == ["right", "0", "s", "of", "20", "s", "stopped"]


def test_a_station_never_entered_reads_not_done() -> None:
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(15_000)
    drive.do(Do.STOP)
    assert any(line.endswith("0 s of 40 s  not done") for line in lines_of(drive))


def test_a_changed_length_and_several_visits_are_named() -> None:
    drive = Drive(plan()).begin()
    drive.go(12_000)
    drive.do(Do.LONGER)
    drive.do(Do.RESTART)
    drive.do(Do.STOP)
    assert any("set to 50 s, 2 visits" in line for line in lines_of(drive))


def test_how_it_ended_and_whether_it_was_a_script() -> None:
    endings = {
        Do.STOP: "stopped early, a scripted run",
        Do.HEALTH: "ended by health stop, a scripted run",
        None: "interrupted: resume it with run --resume, a scripted run",
    }
    for do, words in endings.items():
        drive = Drive(plan(), Options(scripted=True)).begin()
        drive.go(15_000)
        if do is not None:
            drive.do(do)
        assert words in lines_of(drive)


def test_discomfort_and_note_are_told() -> None:
    drive = Drive(plan()).begin()
    drive.go(15_000)
    drive.do(EnterDiscomfort("knee", "left", 3))
    drive.do(EnterNote("cold [bold]garage[/]"))
    lines = lines_of(drive)
    assert "discomfort: knee, left, 3 of 10 at station 1, loop 1" in lines
    assert "note: cold [bold]garage[/]" in lines


def test_what_does_not_fit_is_named_at_the_end() -> None:
    drive = Drive(plan()).begin()
    drive.go(55_000)
    lines = [line for line in drive.journal.lines if line["k"] != "done"]
    told = record_lines(read_record(lines, session_id=SESSION_ID))
    assert told[-1].startswith("problem: rows that are missing: 2")


def test_a_table_is_laid_out_in_columns_and_shows_no_control_character() -> None:
    rows = [["a", "bb\x1b[31m"], ["ccc", "d"]]
    assert table(rows) == ["a    bb\\x1b[31m", "ccc  d"]
    assert table(rows, right=frozenset({0}))[0].startswith("  a  ")
    assert table([]) == []


def test_numbers_read_as_they_were_entered() -> None:
    assert [effort_text(n) for n in (None, 7, 6.5, 0)] == [
        *("not entered", "7", "6.5", "0")
    ]
