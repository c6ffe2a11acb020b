"""Writers that meet the world: kills, a second writer, no room left."""

import json
import os
import random
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from whistlestop.store.journal.file import read_journal
from whistlestop.store.journal.writer import JournalWriter

ROOT = Path(__file__).parents[2]
CHILD = Path(__file__).with_name("crash_writer.py")
PATIENCE_S = 30
KILLS = 20


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log" / "2031" / "20310412T061502Z-3f9a.jsonl"


def child(*arguments):
    environ = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    return subprocess.Popen(
        [sys.executable, str(CHILD), *map(str, arguments)],
        stdout=subprocess.PIPE,
        env=environ,
    )


def acknowledged_until_killed(process, count):
    """Read acknowledgements, kill at the given one, and read what is left."""
    with process, process.stdout as pipe:
        lines = [pipe.readline() for _ in range(count)]
        process.send_signal(signal.SIGKILL)
        lines += pipe.readlines()
        process.wait(PATIENCE_S)
    return max(int(line) for line in lines if line.endswith(b"\n"))


def test_no_acknowledged_line_is_lost_when_the_process_is_killed(path):
    """Killed and resumed again and again, the same journal all the time."""
    chance = random.Random(1804)
    acknowledged = -1
    for number in range(KILLS):
        process = child("write", path, *(["append"] if number else []))
        acknowledged = acknowledged_until_killed(process, chance.randrange(1, 120))
        journal = read_journal(path)
        found = {line.sequence for line in journal.lines}
        assert found >= set(range(acknowledged + 1))
        assert all(line.state == "ok" for line in journal.lines)
        # What had been cut off by an earlier kill is all that is set aside.
        assert len(journal.set_aside) <= number
    assert acknowledged > KILLS
    last = read_journal(path).last_sequence
    writer = JournalWriter(path, clock=lambda: 0.0, append=True)
    assert writer.put({"k": "end"}) == last + 1
    assert writer.close(PATIENCE_S)


def test_a_full_disk_lets_the_session_go_on_and_everything_is_written_later(path):
    """A file size limit stands in for the full disk: it too takes part of a line."""
    process = child("full", path)
    output, _ = process.communicate(timeout=120)
    assert process.returncode == 0
    seen = json.loads(output)
    assert seen["kept_when_full"] is False
    assert seen["error_when_full"].startswith("not saved yet: the ")
    assert seen["whole_when_full"]
    assert seen["lines_when_full"] == seen["first_refused"]
    assert seen["closed"]
    assert seen["error_after"] is None
    assert seen["acknowledged"] == seen["last"]
    journal = read_journal(path)
    assert journal.problems == ()
    assert [line.sequence for line in journal.lines] == list(range(seen["last"] + 1))


def test_two_writers_on_one_file_tear_no_line_and_lose_none(path):
    """The lock should prevent it; where there is none, the file stays whole."""
    first = JournalWriter(path, clock=lambda: 0.0, first={"k": "start"})
    assert first.flush(PATIENCE_S)
    second = JournalWriter(path, clock=lambda: 0.0, append=True)
    texts = []
    for number in range(60):
        for name, writer in (("first", first), ("second", second)):
            texts.append(f"{name} {number} " + "x" * (number * 7 % 90))
            writer.put({"k": "note", "text": texts[-1]})
    assert first.close(PATIENCE_S)
    assert second.close(PATIENCE_S)
    journal = read_journal(path)
    assert journal.set_aside == ()
    found = [line.fields["text"] for line in journal.lines if line.kind == "note"]
    assert set(found) == set(texts)
