"""`log import`, `verify`, `backup`, `restore`, `export log`, `export calendar`."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import vobject
from tests.support.processes import SHORT_CIRCUIT, journals, put_circuit

Call = Callable[..., Any]
TABLE = "Datum;Sportart;Dauer;RPE\n12.05.2026;Rad;90;6,5\n13.05.2026;Lauf;45;\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "other.csv"
    path.write_text(TABLE)
    return path


@pytest.fixture
def scripted(call: Call, home: Path) -> Path:
    """The journal of a scripted session."""
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("run", "short", "--plain", "--speed", 10_000, "--effort", "5,-,6.5")
    return journals(home)[-1]


def entered(call: Call) -> list[str]:
    return [i["name"] for i in json.loads(call("log", "--all", "--json").out)]


def test_an_import_is_shown_first_then_applied_then_undone_as_one(
    call: Call, table: Path, home: Path
) -> None:
    shown = call("log", "import", table, "--dates", "dmy")
    assert shown.status == 0
    assert "date from Datum" in shown.out
    assert "effort from RPE" in shown.out
    assert "would be entered: 2 sessions" in shown.out
    assert not (home / "log" / "diary.jsonl").exists()
    applied = call("log", "import", table, "--dates", "dmy", "--apply")
    assert "entered: 2 sessions" in applied.out
    assert entered(call) == ["Lauf", "Rad"]
    again = call("log", "import", table, "--dates", "dmy", "--apply")
    assert "already entered, left out: 2 sessions" in again.out
    assert entered(call) == ["Lauf", "Rad"]
    assert "2 entries" in call("log", "undo").out
    assert entered(call) == []


def test_columns_may_be_told(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("wann,lang\n2026-05-12,60\n")
    refused = call("log", "import", path)
    assert refused.status == 1
    assert "--map date=NAME" in refused.err
    told = call("log", "import", path, "--map", "date=wann", "minutes=lang", "--apply")
    assert told.status == 0
    assert entered(call) == ["training"]


def test_a_row_with_a_problem_keeps_all_out_unless_it_is_skipped(
    call: Call, table: Path
) -> None:
    table.write_text(f"{TABLE}never;Rad;90;5\n")
    words = ("log", "import", table, "--dates", "dmy", "--apply")
    refused = call(*words)
    assert refused.status == 1
    assert 'line 4: "never" is not a date' in refused.err
    assert entered(call) == []
    assert call(*words, "--skip-bad").status == 0
    assert entered(call) == ["Lauf", "Rad"]


@pytest.mark.parametrize(
    "data", [b"", b"\xff\xfe\x00", b'a,"b\n', b"\x00", b"no,columns\n1,2\n"]
)
def test_what_is_no_table_is_refused(call: Call, table: Path, data: bytes) -> None:
    table.write_bytes(data)
    answer = call("log", "import", table)
    assert answer.status == 1
    assert "Traceback" not in answer.err


def test_verify_is_quiet_about_a_whole_log(call: Call, scripted: Path) -> None:
    answer = call("log", "verify")
    assert answer.status == 0
    assert "1 files read; 0 to check" in answer.out


def test_verify_mentions_what_a_power_cut_left_and_nothing_is_wrong(
    call: Call, scripted: Path
) -> None:
    lines = scripted.read_bytes().splitlines(keepends=True)
    scripted.write_bytes(b"".join(lines[:4]) + lines[4][:30])
    answer = call("log", "verify")
    assert answer.status == 0
    assert "line 5: it was cut off, never acknowledged (30 bytes" in answer.out
    assert "a crash does that" in answer.out
    assert "1 files read, 1 interrupted; 0 to check" in answer.out
    (file,) = json.loads(call("log", "verify", "--json").out)["files"]
    assert (file["problems"], len(file["cut_off"])) == ([], 1)
    assert "problem: " not in call("log", "show", scripted.stem, "--scripted").out


def test_verify_mentions_what_a_power_cut_left_of_the_diary(
    call: Call, home: Path
) -> None:
    """Also once the diary went on behind it."""
    call("log", "add", "--sport", "x", "--minutes", 5)
    diary = home / "log" / "diary.jsonl"
    diary.write_bytes(diary.read_bytes() + b'{"s":2,"k":"remo')
    for _ in range(2):
        answer = call("log", "verify")
        assert answer.status == 0
        assert "never acknowledged" in answer.out
        assert "a crash does that" in answer.out
        call("log", "add", "--sport", "y", "--minutes", 5)


def test_verify_names_damage_copies_and_what_a_replay_finds(
    call: Call, scripted: Path, home: Path
) -> None:
    call("log", "add", "--sport", "x", "--minutes", 5)
    data = scripted.read_bytes()
    scripted.write_bytes(data.replace(b'"ms":6000', b'"ms":9000', 1))
    copy = scripted.with_name(f"{scripted.stem} (conflicted copy).jsonl")
    copy.write_bytes(data)
    diary = home / "log" / "diary.jsonl"
    diary.write_bytes(diary.read_bytes() + b'{"s":2,"k":"remo')
    answer = call("log", "verify")
    assert answer.status == 1
    assert "its checksum is wrong" in answer.out
    assert "made again from the inputs" in answer.out
    assert "diary.jsonl: its last 16 bytes were never acknowledged" in answer.out
    year = scripted.parent.name
    sentences = (
        f"{year}/{copy.name}: a copy, not counted; it has 1 line that "
        f"{year}/{scripted.name} has not: keep the better of the two"
    )
    assert sentences in answer.out
    found = json.loads(call("log", "verify", "--json").out)
    assert found["not_counted"] == [f"{scripted.parent.name}/{copy.name}"]
    assert [bool(file["problems"]) for file in found["files"]] == [True, False]


def test_lines_of_a_conflict_copy_are_read_then_written_and_never_twice(
    call: Call, home: Path
) -> None:
    """Two machines: what each entered stands once, before and after `log merge`."""
    call("log", "add", "--sport", "rowing", "--minutes", 5)
    diary = home / "log" / "diary.jsonl"
    common = diary.read_bytes()
    call("log", "add", "--sport", "cycling", "--minutes", 30)
    mine = diary.read_bytes()
    diary.write_bytes(common)
    call("log", "add", "--sport", "swimming", "--minutes", 40)
    copy = home / "log" / "diary (conflicted copy 2031-05-12).jsonl"
    copy.write_bytes(mine)

    def sports() -> list[str]:
        answer = call("log", "--all", "--json")
        return sorted(item["name"] for item in json.loads(answer.out))

    three = ["cycling", "rowing", "swimming"]
    assert sports() == three
    assert f"{copy.name}: 1 line more than the diary" in call("log").err
    answer = call("log", "verify")
    assert (answer.status, "`log merge` writes them into it" in answer.out) == (1, True)
    answer = call("log", "merge")
    assert "1 line written into the log; it can be removed now" in answer.out
    assert sports() == three
    assert "more than the diary" not in call("log").err
    assert "has all its lines, so it can be removed" in call("log", "verify").out
    assert copy.read_bytes() == mine
    copy.unlink()
    assert sports() == three
    assert call("log", "verify").status == 0


def test_undo_takes_back_what_only_a_conflict_copy_held(call: Call, home: Path) -> None:
    call("log", "add", "--sport", "rowing", "--minutes", 5)
    diary = home / "log" / "diary.jsonl"
    common = diary.read_bytes()
    call("log", "add", "--sport", "cycling", "--minutes", 30)
    (home / "log" / "diary.sync-conflict-1.jsonl").write_bytes(diary.read_bytes())
    diary.write_bytes(common)
    assert "undone: cycling" in call("log", "undo").out
    (item,) = json.loads(call("log", "--all", "--json").out)
    assert item["name"] == "rowing"


def test_a_backup_comes_back_whole(
    call: Call, scripted: Path, home: Path, tmp_path: Path
) -> None:
    call("log", "add", "--sport", "x", "--minutes", 5)
    archive = tmp_path / "b.tar.gz"
    answer = call("log", "backup", archive)
    assert answer.status == 0
    assert "read back and whole" in answer.out
    assert call("log", "backup", archive).status == 1
    before = scripted.read_bytes()
    scripted.unlink()
    tried = call("log", "restore", archive, "--try")
    assert (tried.status, "would be put back: 1" in tried.out) == (0, True)
    assert not scripted.exists()
    restored = call("log", "restore", archive)
    assert restored.status == 0
    assert "put back: 1" in restored.out
    assert scripted.read_bytes() == before
    call("log", "add", "--sport", "y", "--minutes", 5)
    later = call("log", "restore", archive)
    assert later.status == 1
    assert "left as it is, and differs: log/diary.jsonl" in later.out
    archive.write_bytes(archive.read_bytes()[:-30])
    assert call("log", "restore", archive).status == 1


def test_export_log_writes_and_prints_the_same(
    call: Call, scripted: Path, tmp_path: Path
) -> None:
    call("log", "add", "--sport", "=cmd()", "--minutes", 60, "--effort", 5)
    out = tmp_path / "log.csv"
    assert call("export", "log", "--scripted", "--out", out).status == 0
    text = out.read_bytes().decode()
    assert call("export", "log", "--scripted").out.encode() in {
        text.encode(),
        text.replace("\r\n", "\n").encode(),
    }
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert {row["name"] for row in rows} == {"'=cmd()", "Short"}
    assert call("export", "log", "--out", out).status == 2
    assert call("export", "log", "--out", out, "--force").status == 0
    (line,) = call("export", "log", "--format", "jsonl").out.splitlines()
    assert json.loads(line)["name"] == "=cmd()"


def test_export_calendar_holds_what_was_and_what_is_planned(
    call: Call, scripted: Path, tmp_path: Path
) -> None:
    call("log", "add", "--sport", "ride", "--minutes", 60, "--note", "secret")
    out = tmp_path / "log.ics"
    words = ["--planned", "short", "2031-05-12T17:30+02:00", "2031-05-14"]
    assert call("export", "calendar", *words, "--out", out).status == 0
    text = out.read_bytes().decode()
    assert "secret" not in text
    events = vobject.readOne(text).vevent_list
    assert [event.summary.value for event in events] == ["ride", "Short", "Short"]
    assert f"{events[1].dtstart.value:%H:%M}" == "15:30"
    for wrong in (["short"], ["short", "soon"], ["none", "2031-05-12"]):
        answer = call("export", "calendar", "--planned", *wrong)
        assert answer.status == 2
        assert "Traceback" not in answer.err
