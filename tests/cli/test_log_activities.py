"""`log import` of activity files and `log efforts --missing`, from file to log."""

from __future__ import annotations

import io
import json
import os
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import fitparse
import pytest
from tests.support.activity_files import (
    SPORTS,
    Recorded,
    fit_file,
    gpx_file,
    ride,
)
from tests.support.processes import SHORT_CIRCUIT, put_circuit

Call = Callable[..., Any]
DAY = datetime(2026, 5, 12, 7, 30, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two rides and a run, one of the rides from a second device as well."""
    made = tmp_path / "activities"
    made.mkdir()
    first = ride(DAY, 90)
    (made / "ride.fit").write_bytes(fit_file(first))
    (made / "ride-phone.gpx").write_bytes(gpx_file(first))
    second = ride(DAY + timedelta(days=1), 60, sport=SPORTS[0])
    (made / "run.fit").write_bytes(fit_file(second))
    (made / "later.fit").write_bytes(fit_file(ride(DAY + timedelta(days=2), 45)))
    (made / "notes.txt").write_text("no activity")
    return made


def entries(call: Call) -> list[dict[str, Any]]:
    return json.loads(call("log", "--all", "--json").out)


def diary(home: Path) -> bytes:
    path = home / "log" / "diary.jsonl"
    return path.read_bytes() if path.exists() else b""


def test_a_folder_is_shown_first_then_entered_then_undone_as_one(call, home, folder):
    shown = call("log", "import", folder)
    assert shown.status == 0
    assert "would be entered: 2 rides and 1 run" in shown.out
    assert "the same as cycling of 2026-05-12" in shown.out
    assert diary(home) == b""
    applied = call("log", "import", folder, "--apply")
    assert "entered: 2 rides and 1 run" in applied.out
    assert [(e["name"], e["session_ms"] // 60_000) for e in entries(call)] == [
        ("cycling", 45),
        ("running", 60),
        ("cycling", 90),
    ]
    assert [e["session_effort"] for e in entries(call)] == [None] * 3
    call("log", "undo")
    assert entries(call) == []


def test_importing_the_same_folder_twice_changes_nothing(call, home, folder):
    call("log", "import", folder, "--apply")
    before = diary(home)
    again = call("log", "import", folder, "--apply")
    assert "would be entered: nothing" in again.out
    assert "in the log already, left out: 4" in again.out
    assert diary(home) == before


def test_what_was_undone_can_be_imported_again_and_what_was_deleted_not(
    call, home, folder
):
    call("log", "import", folder / "ride.fit", "--apply")
    call("log", "undo")
    assert "would be entered: 1 ride" in call("log", "import", folder / "ride.fit").out
    call("log", "import", folder / "ride.fit", "--apply")
    call("log", "delete", entries(call)[0]["id"])
    assert "nothing" in call("log", "import", folder / "ride.fit").out


def test_heart_rate_makes_a_load_where_resting_and_maximum_are_known(
    call, home, folder
):
    shown = call("log", "import", folder / "ride.fit")
    assert "No heart-rate load" in shown.out
    words = ("--resting-maximum", "60/190", "--apply")
    call("log", "import", folder / "ride.fit", *words)
    (made,) = entries(call)
    assert made["heart_rate"] == 140
    # 90 min x 80/130 x 0.64 e^(1.92 x 80/130): Banister 1991, by hand 115.53.
    assert made["heart"]["load_men"] == 115.53
    assert (
        "heart-rate load 116 with weights for men"
        in call("log", "show", made["id"]).out
    )


def test_what_was_typed_before_is_asked_and_joined_or_entered(call, home, folder):
    words = ("log", "add", "--sport", "ride", "--date", "2026-05-12", "--effort", 6)
    call(*words, "--minutes", 92)
    shown = call("log", "import", folder / "ride.fit", "--apply")
    assert "perhaps ride of 2026-05-12, which was typed in" in shown.out
    assert "1 to decide" in shown.err
    assert len(entries(call)) == 1
    call("log", "import", folder / "ride.fit", "--apply", "--doubtful", "same")
    (joined,) = entries(call)
    assert (joined["name"], joined["session_effort"]) == ("ride", 6)
    assert (joined["session_ms"], joined["heart_rate"]) == (92 * 60_000, 140)
    assert "in the log already" in call("log", "import", folder / "ride.fit").out
    call("log", "undo")
    call("log", "import", folder / "ride.fit", "--apply", "--doubtful", "new")
    assert len(entries(call)) == 2


class Keyboard(io.StringIO):
    """What somebody types at a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("typed", "count"), [("s\n", 1), ("n\n", 2), ("\n", 1)])
def test_at_a_terminal_each_doubt_is_asked(
    call, home, folder, monkeypatch, typed, count
):
    words = ("log", "add", "--sport", "ride", "--date", "2026-05-12")
    call(*words, "--minutes", 92)
    monkeypatch.setattr("sys.stdin", Keyboard(typed))
    asked = call("log", "import", folder / "ride.fit", "--apply")
    assert "perhaps ride of 2026-05-12, which was typed in." in asked.out
    assert len(entries(call)) == count
    assert ("1 to decide" in asked.err) is (typed == "\n")


def test_a_pipe_is_no_activity_file_and_is_not_waited_for(call, home, tmp_path):
    os.mkfifo(tmp_path / "pipe.fit")
    answer = call("log", "import", tmp_path / "pipe.fit")
    assert answer.status != 0
    assert "not an ordinary file" in answer.err


def test_a_second_outing_of_the_day_is_not_the_typed_one_once_that_is_joined(
    call, home, tmp_path
):
    call("log", "add", "--sport", "ride", "--date", "2026-05-12", "--minutes", 60)
    for name, hours in (("a.fit", 0), ("b.fit", 5)):
        data = fit_file(ride(DAY + timedelta(hours=hours), 60, offset_s=0))
        (tmp_path / name).write_bytes(data)
    call("log", "import", tmp_path / "a.fit", "--apply", "--doubtful", "same")
    shown = call("log", "import", tmp_path / "b.fit")
    assert "as long as ride of 2026-05-12, and whole quarter hours apart" in shown.out


def test_a_watch_file_beside_a_scripted_session_is_new(call, home, tmp_path):
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("run", "short", "--plain", "--speed", 10_000, "--effort", "5,-,6.5")
    (before,) = json.loads(call("log", "--all", "--scripted", "--json").out)
    # A scripted session is none of the athlete's, so a watch's file beside it is new.
    begin = (
        datetime.fromisoformat(before["wall"]).astimezone(UTC).replace(microsecond=0)
    )
    seconds = before["elapsed_ms"] // 1000
    watch = Recorded(begin, [(0, seconds)], [(s, 133) for s in range(0, seconds, 10)])
    path = tmp_path / "watch.fit"
    path.write_bytes(fit_file(watch))
    assert "would be entered: 1 ride" in call("log", "import", path).out


def test_a_damaged_file_costs_a_sentence_and_the_rest_is_entered(call, home, folder):
    (folder / "bad.fit").write_bytes((folder / "run.fit").read_bytes()[:-50])
    answer = call("log", "import", folder, "--apply")
    assert answer.status == 1
    assert "bad.fit: it breaks off before its end" in answer.err
    assert len(entries(call)) == 3


def test_efforts_that_are_missing_are_counted_and_asked_in_one_pass(
    call, home, folder, monkeypatch
):
    call("log", "import", folder, "--apply")
    listed = call("log", "--all")
    assert "2 rides and 1 run without an effort; `log efforts --missing`" in listed.err
    monkeypatch.setattr("sys.stdin", io.StringIO("6\nlots\n\n4.5\n"))
    words = ("log", "efforts", "--missing", "--since", "2026-05-01")
    asked = call(*words, "--until", "2026-05-31")
    assert "2026-05-12 cycling, 90 min:" in asked.out
    assert "entered: 2 of 3" in asked.out
    assert [e["session_effort"] for e in entries(call)] == [4.5, None, 6]
    assert "1 run without an effort" in call("log", "--all").err


def test_q_ends_the_pass_and_what_was_entered_stays(call, home, folder, monkeypatch):
    call("log", "import", folder, "--apply")
    monkeypatch.setattr("sys.stdin", io.StringIO("6\nq\n"))
    asked = call("log", "efforts", "--missing", "--since", "2026-05-01")
    assert "entered: 1 of 3" in asked.out


def test_without_a_path_the_watched_folder_is_taken(call, home, folder):
    assert "watched_folder" in call("log", "import").err
    (home / "config.toml").write_text(f'[log]\nwatched_folder = "{folder}"\n')
    assert "2 rides and 1 run" in call("log", "import", "--apply").out
    # Only what is new is read; all of it where nothing is, as after an undo.
    (folder / "new.fit").write_bytes(fit_file(ride(DAY + timedelta(days=3), 30)))
    again = call("log", "import", "--apply")
    assert "would be entered: 1 ride" in again.out
    assert "left out" not in again.out
    call("log", "undo")
    assert "would be entered: 1 ride" in call("log", "import").out


@pytest.fixture
def berlin(monkeypatch):
    """A zone with summer time, by its rule, so that no table of zones is needed."""
    monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def test_gpx_belongs_to_the_day_of_this_machine_s_zone_at_that_moment(
    call, home, tmp_path, berlin
):
    """Both clock changes of 2025, a file each in the night before and after.

    Summer time began on 30 March at 01:00 and ended on 26 October at 01:00 UTC.
    """
    starts = {
        "2025-03-29T23:30:00+00:00": ("2025-03-30T00:30:00+01:00", "2025-03-30"),
        "2025-03-30T22:30:00+00:00": ("2025-03-31T00:30:00+02:00", "2025-03-31"),
        "2025-10-25T22:30:00+00:00": ("2025-10-26T00:30:00+02:00", "2025-10-26"),
        "2025-10-26T22:30:00+00:00": ("2025-10-26T23:30:00+01:00", "2025-10-26"),
    }
    for number, utc in enumerate(starts):
        data = gpx_file(ride(datetime.fromisoformat(utc), 20 + number))
        (tmp_path / f"{number}.gpx").write_bytes(data)
        call("log", "import", tmp_path / f"{number}.gpx", "--apply")
    lines = [json.loads(x) for x in diary(home).splitlines()]
    found = [(x["start"], x["day"]) for x in lines if x["k"] == "training"]
    assert found == list(starts.values())
    assert [x["length_ms"] // 60_000 for x in lines if "length_ms" in x] == [
        20,
        21,
        22,
        23,
    ]


def test_a_session_is_written_as_fit_and_known_again(call, home, tmp_path):
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("run", "short", "--plain", "--speed", 10_000, "--effort", "5,-,6.5")
    (session,) = json.loads(call("log", "--all", "--scripted", "--json").out)
    path = tmp_path / "short.fit"
    made = call("export", "fit", session["id"], "--out", path)
    assert f"{session['id']}: written to" in made.err
    assert "is there already" in call("export", "fit", session["id"], "--out", path).err
    laps = list(fitparse.FitFile(path.read_bytes()).get_messages("lap"))
    assert [lap.get_value("station") for lap in laps][:3] == [
        "Push-up",
        "Recover",
        "Dead bug",
    ]
    total = sum(lap.get_value("total_elapsed_time") for lap in laps)
    assert round(total * 1000) == session["elapsed_ms"]


def test_without_the_extra_the_package_that_writes_fit_is_named(
    call, home, monkeypatch
):
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("run", "short", "--plain", "--speed", 10_000)
    (session,) = json.loads(call("log", "--all", "--scripted", "--json").out)
    monkeypatch.setitem(sys.modules, "fit_tool.fit_file_builder", None)
    answer = call("export", "fit", session["id"])
    assert answer.status != 0
    assert "needs the package fit-tool" in answer.err


def table_of(call: Call) -> list[tuple[Any, ...]]:
    names = (
        "day",
        "name",
        "session_ms",
        "session_effort",
        "efforts",
        "note",
        "load_au",
    )
    return sorted(
        (tuple(str(e[name]) for name in names) for e in entries(call)), reverse=True
    )


def test_the_program_reads_its_own_csv_back(call, home, folder, tmp_path):
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("log", "import", folder, "--apply", "--resting-maximum", "60/190")
    words = ("--date", "2026-05-03", "--minutes", "21:30", "--note", "=1+1, warm")
    call("log", "enter", "short", "--efforts", "5,6.5,-", *words)
    call("log", "mark", "illness", "2026-05-20..2026-05-21")
    before = [row for row in table_of(call) if row[1] != "illness"]
    path = tmp_path / "log.csv"
    call("export", "log", "--out", path)
    same = call("log", "import", path)
    assert "already entered, left out: 4 sessions" in same.out
    assert "left out, no training: 1 rows" in same.out
    (home / "log" / "diary.jsonl").unlink()
    assert "entered: 4 sessions" in call("log", "import", path, "--apply").out
    assert table_of(call) == before
    kinds = {e["name"]: (e["kind"], e["circuit"]) for e in entries(call)}
    assert kinds["Short"] == ("entered", "short")
    assert "already entered, left out: 4" in call("log", "import", path, "--apply").out
