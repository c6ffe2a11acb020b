"""The list of sessions: the same with a good index, a bad one, and none."""

import errno
import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from whistlestop.errors import StoreError
from whistlestop.store.journal import index as log_index
from whistlestop.store.journal.file import journal_path, read_journal
from whistlestop.store.journal.index import (
    FILE_NAME,
    SCHEMA,
    LogIndex,
    SessionLine,
    summarise,
)
from whistlestop.store.journal.line import encode

ROOT = Path(__file__).parents[2]
PLAN = {
    "circuit": "wet-saturday",
    "name": "Wet Saturday",
    "loops": 2,
    "stations": [
        {"number": 1, "exercise": "row", "name": "Row", "call_name": "ROW"},
    ],
    "segments": [
        {"start_ms": 0, "duration_ms": 10_000, "kind": "get_ready"},
        {
            "start_ms": 10_000,
            "duration_ms": 40_000,
            "kind": "work",
            "loop": 1,
            "station": 1,
        },
        {"start_ms": 50_000, "duration_ms": 20_000, "kind": "recover", "loop": 1},
        {
            "start_ms": 70_000,
            "duration_ms": 40_000,
            "kind": "work",
            "loop": 2,
            "station": 1,
        },
    ],
}
SUM = {
    "k": "sum",
    "t": 118_000,
    "why": "complete",
    "active_ms": 108_000,
    "elapsed_ms": 118_000,
    "paused_ms": 10_000,
    "gated_ms": 0,
    "work_ms": 78_000,
    "plan_work_ms": 80_000,
    "efforts": [6, 7.5],
    "session_effort": 7,
    "loops_done": 2,
}
WALL = "2031-04-12T08:15:02.000+02:00"


def session_id(day):
    return f"203104{day:02d}T061502Z-3f9a"


def numbered(lines):
    return b"".join(encode({"s": s, **fields}) for s, fields in enumerate(lines))


ROW = {"station": 1, "x": "row"}
ROWS = [
    {"k": "done", "t": 20_000, "p": 0, "kind": "get_ready", "ms": 10_000},
    {"k": "done", "t": 60_000, "p": 1, "kind": "work", "loop": 1, "ms": 40_000, **ROW},
    {"k": "done", "t": 80_000, "p": 2, "kind": "recover", "loop": 1, "ms": 20_000},
    {"k": "done", "t": 118_000, "p": 3, "kind": "work", "loop": 2, "ms": 38_000, **ROW},
]


def whole(scripted=False, session_effort=7, **changed):
    start = {"k": "start", "t": 0, "wall": WALL, "plan": PLAN, "scripted": scripted}
    end = {"k": "end", "t": 118_000, "why": "complete"}
    sentences = [
        {"k": "effort", "t": 118_000, "loop": 1, "v": 6},
        {"k": "effort", "t": 118_000, "loop": 2, "v": 7.5},
        {"k": "session_effort", "t": 118_000, "v": session_effort},
    ]
    made = SUM | {"session_effort": session_effort} | changed
    return numbered([start, *ROWS, end, *sentences, made])


@pytest.fixture
def log(tmp_path):
    """Three sessions of three days."""
    for day in (12, 13, 14):
        write(tmp_path / "log", day, whole(session_effort=day - 10))
    return tmp_path / "log"


def write(log, day, data):
    path = journal_path(log, session_id(day))
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path


@pytest.fixture
def index(tmp_path, log):
    return LogIndex(tmp_path / "cache", log)


@pytest.fixture
def reads(monkeypatch):
    """Names of the journals that were really read."""
    names = []
    real = log_index.read_journal

    def read(path):
        names.append(path.stem)
        return real(path)

    monkeypatch.setattr(log_index, "read_journal", read)
    return names


def test_a_session_is_listed_with_what_its_last_sum_says(log):
    path = journal_path(log, session_id(12))
    assert summarise(read_journal(path)) == SessionLine(
        id=session_id(12),
        path=path,
        wall=WALL,
        circuit="wet-saturday",
        name="Wet Saturday",
        why="complete",
        active_ms=108_000,
        elapsed_ms=118_000,
        loops=2,
        efforts=(6, 7.5),
        session_effort=2,
        done_work_ms=78_000,
        plan_work_ms=80_000,
        scripted=False,
        problems=0,
        finished=True,
        paused_ms=10_000,
        loop_work_ms=(40_000, 38_000),
        exercises=("row",),
        is_exact=True,
    )


@pytest.mark.parametrize(
    "forged",
    [
        {"elapsed_ms": 32_400_000, "active_ms": 32_390_000},
        {"elapsed_ms": 32_400_000, "paused_ms": 32_292_000},
        {"active_ms": 118_000, "paused_ms": 0},
        {"work_ms": 79_000},
        {"best_work_ms": 80_000},
        {"plan_work_ms": 78_000},
        {"efforts": [1, 1]},
        {"session_effort": None},
    ],
)
def test_a_sum_that_its_rows_do_not_come_to_is_not_believed(index, log, forged):
    """540 minutes with a right checksum: the rows stand, and a replay is asked for."""
    data = whole()
    lines = [json.loads(line) for line in data.splitlines()]
    for line in lines:
        del line["c"]
    lines[-1] |= forged
    write(log, 12, b"".join(encode(line) for line in lines))
    line = index.sessions()[-1]
    assert (line.elapsed_ms, line.active_ms, line.done_work_ms, line.plan_work_ms) == (
        118_000,
        108_000,
        78_000,
        80_000,
    )
    assert (line.efforts, line.session_effort) == ((6, 7.5), 7)
    assert (line.why, line.is_exact) == ("complete", False)


def test_the_newest_comes_first_and_a_limit_is_kept(index):
    assert [line.id for line in index.sessions()] == [
        session_id(14),
        session_id(13),
        session_id(12),
    ]
    assert [line.id for line in index.sessions(limit=1)] == [session_id(14)]
    assert index.sessions(limit=0) == []


def test_scripted_sessions_are_hidden_unless_asked_for(index, log):
    write(log, 15, whole(scripted=True))
    assert session_id(15) not in [line.id for line in index.sessions()]
    assert index.sessions(scripted=True)[0].scripted
    assert index.sessions(limit=1)[0].id == session_id(14)


def test_only_changed_journals_are_read_again(index, log, reads):
    first = index.sessions()
    assert len(reads) == 3
    assert index.was_used
    reads.clear()
    assert index.sessions() == first
    assert reads == []
    path = journal_path(log, session_id(13))
    more = [
        {"s": 10, "k": "session_effort", "t": 118_000, "v": 9},
        {"s": 11, **SUM, "session_effort": 9},
    ]
    with path.open("ab") as file:
        file.writelines(encode(line) for line in more)
    lines = index.sessions()
    assert reads == [session_id(13)]
    assert lines[1].session_effort == 9


def test_a_journal_that_is_gone_is_gone_from_the_list(index, log, reads):
    index.sessions()
    journal_path(log, session_id(13)).unlink()
    assert [line.id for line in index.sessions()] == [session_id(14), session_id(12)]
    write(log, 13, whole())
    reads.clear()
    assert len(index.sessions()) == 3
    assert reads == [session_id(13)]


def test_a_change_of_the_same_size_is_noticed_by_its_time(index, log):
    index.sessions()
    path = journal_path(log, session_id(12))
    path.write_bytes(whole(session_effort=9))
    os.utime(path, ns=(1, 1))
    assert index.sessions()[-1].session_effort == 9


def damage_deleted(file):
    file.unlink()


def damage_rubbish(file):
    file.write_bytes(b"not a database, not at all" * 200)


def damage_empty(file):
    file.write_bytes(b"")


def damage_cut(file):
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])


def damage_schema(file):
    with sqlite3.connect(file) as index:
        index.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    index.close()


def damage_table(file):
    with sqlite3.connect(file) as index:
        index.execute("DROP TABLE session")
    index.close()


def damage_columns(file):
    with sqlite3.connect(file) as index:
        index.execute("ALTER TABLE session RENAME COLUMN body TO something")
    index.close()


@pytest.mark.parametrize(
    "damage",
    [
        damage_deleted,
        damage_rubbish,
        damage_empty,
        damage_cut,
        damage_schema,
        damage_table,
        damage_columns,
    ],
)
def test_a_damaged_index_is_made_anew_and_says_the_same(index, tmp_path, reads, damage):
    before = index.sessions()
    damage(tmp_path / "cache" / FILE_NAME)
    reads.clear()
    assert index.sessions() == before
    assert index.was_used
    assert len(reads) == 3
    reads.clear()
    assert index.sessions() == before
    assert reads == []


def test_no_flipped_bit_in_the_index_changes_what_is_listed(index, tmp_path):
    """SQLite itself finds few of them: it has no checksums of pages by default."""
    before = index.sessions()
    file = tmp_path / "cache" / FILE_NAME
    good = file.read_bytes()
    used = good.find(b"wet-saturday") // 4096 * 4096
    assert used >= 0
    for place in (*range(0, 200, 7), *range(used, len(good), 61)):
        bad = bytearray(good)
        bad[place] ^= 1 << place % 8
        file.write_bytes(bad)
        assert index.sessions() == before


def test_without_a_place_for_an_index_the_journals_are_read(tmp_path, log, index):
    (tmp_path / "file").write_text("")
    blind = LogIndex(tmp_path / "file" / "cache", log)
    assert blind.sessions() == index.sessions()
    assert not blind.was_used


@pytest.mark.parametrize(
    "code",
    [sqlite3.SQLITE_READONLY, sqlite3.SQLITE_FULL, sqlite3.SQLITE_BUSY],
)
def test_a_disk_or_process_that_refuses_does_not_cost_the_index(
    index, tmp_path, monkeypatch, code
):
    before = index.sessions()
    good = (tmp_path / "cache" / FILE_NAME).read_bytes()

    def refuse(*arguments):
        error = sqlite3.OperationalError("refused")
        error.sqlite_errorcode = code
        raise error

    monkeypatch.setattr(LogIndex, "_refreshed", refuse)
    assert index.sessions() == before
    assert not index.was_used
    assert (tmp_path / "cache" / FILE_NAME).read_bytes() == good


def test_an_index_that_another_process_writes_to_is_not_waited_for_long(
    index, tmp_path, monkeypatch
):
    before = index.sessions()
    monkeypatch.setattr(log_index, "_BUSY_TIMEOUT_S", 0.01)
    other = sqlite3.connect(tmp_path / "cache" / FILE_NAME, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    assert index.sessions() == before
    assert not index.was_used
    other.execute("COMMIT")
    other.close()
    assert index.sessions() == before
    assert index.was_used


def test_a_python_without_sqlite_lists_sessions_too(index, monkeypatch):
    before = index.sessions()
    monkeypatch.setitem(sys.modules, "sqlite3", None)
    assert index.sessions() == before
    assert not index.was_used


def test_sqlite_is_loaded_only_when_it_is_used():
    code = (
        "import sys, whistlestop.store.journal.index as m;"
        "assert 'sqlite3' not in sys.modules"
    )
    environ = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run([sys.executable, "-c", code], env=environ, check=False)
    assert done.returncode == 0


def test_no_log_is_an_empty_list(tmp_path):
    index = LogIndex(tmp_path / "cache", tmp_path / "none")
    assert index.sessions() == []


def test_a_journal_that_cannot_be_read_is_listed_with_a_problem_every_time(
    index, log, monkeypatch
):
    """And not remembered as such: it may be readable next time, unchanged."""
    real = log_index.read_journal

    def refuse(path):
        if path.stem == session_id(13):
            raise StoreError("cannot read it", os.strerror(errno.EACCES))
        return real(path)

    with monkeypatch.context() as patch:
        patch.setattr(log_index, "read_journal", refuse)
        assert index.sessions()[1] == SessionLine(
            session_id(13), journal_path(log, session_id(13)), problems=1
        )
    assert index.sessions()[1].name == "Wet Saturday"


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\0" * 300,
        whole()[:-20],
        numbered([{"k": "start", "plan": []}, {"k": "sum", "efforts": 5}]),
        numbered([{"k": "start", "plan": {"circuit": 5, "loops": -3, "name": []}}]),
        numbered([{"k": "start", "plan": {"loops": 10**9}}, {"k": "effort", "v": 1}]),
        numbered([SUM | {"elapsed_ms": -1, "efforts": ["x", None, 11, True, 4.5]}]),
        numbered([SUM | {"elapsed_ms": 10**30, "session_effort": {}}]),
    ],
)
def test_whatever_a_journal_holds_it_is_listed_the_same_twice(index, log, data):
    write(log, 20, data)
    first = index.sessions()
    assert first[0].id == session_id(20)
    assert first[0].elapsed_ms >= 0
    assert all(e is None or 0 <= e <= 10 for e in first[0].efforts)
    assert index.sessions() == first


def test_hostile_text_in_a_journal_is_harmless_in_the_list(index, log):
    plan = PLAN | {"name": "\x1b[2Jred", "circuit": "x" * 5000}
    write(log, 20, numbered([{"k": "start", "wall": WALL, "plan": plan}]))
    line = index.sessions()[0]
    assert line.name == "\\x1b[2Jred"
    assert len(line.circuit) == 200


def test_without_a_sum_the_rows_say_what_was_done(log):
    lines = [
        {"k": "start", "t": 0, "wall": WALL, "plan": PLAN},
        {"k": "done", "t": 10_000, "kind": "get_ready", "ms": 10_000},
        {"k": "done", "t": 50_000, "kind": "work", "loop": 1, "ms": 40_000},
        {"k": "loop", "t": 70_000, "loop": 1, "partial": False, "worked": True},
        {"k": "done", "t": 70_000, "kind": "recover", "loop": 1, "ms": 20_000},
        {"k": "effort", "t": 71_000, "loop": 1, "v": 5},
        {"k": "effort", "t": 72_000, "loop": 1, "v": 6.5},
        {"k": "done", "t": 85_000, "kind": "work", "loop": 2, "ms": 15_000},
        {"k": "seen", "t": 90_000},
    ]
    line = summarise(read_journal(write(log, 21, numbered(lines))))
    assert (line.elapsed_ms, line.active_ms, line.done_work_ms) == (
        90_000,
        85_000,
        55_000,
    )
    assert (line.plan_work_ms, line.loops, line.efforts) == (80_000, 1, (6.5, None))
    assert (line.why, line.finished, line.session_effort) == ("", False, None)


def test_the_index_holds_nothing_but_what_can_be_made_again(index, tmp_path):
    """Every row says what its journal says, and where it is, and no more."""
    index.sessions()
    with sqlite3.connect(tmp_path / "cache" / FILE_NAME) as raw:
        rows = raw.execute("SELECT * FROM session").fetchall()
    raw.close()
    assert [row[0] for row in rows] == [
        f"2031/{session_id(day)}.jsonl" for day in (12, 13, 14)
    ]
    assert json.loads(rows[0][3])["line"]["session_effort"] == 2
