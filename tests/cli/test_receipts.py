"""In line mode an entry is taken once the disk has it; what waits is said to wait."""

from __future__ import annotations

import errno
import os
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.support.processes import journals, put_circuit, raw_lines

from whistlestop.cli.receipts import Receipts
from whistlestop.store.journal.writer import LATE_S, Status

FULL = "not saved yet: the disk is full"
WAITS = f"{FULL}; it is in memory and will be tried again"
SAVED = "saved: everything that waited is on the disk now"
NOTES = 60


@dataclass
class Disk:
    """A writer whose disk the test plays itself."""

    acknowledged: int = -1
    oldest_s: float = 0.0
    error: str | None = None
    flushed: int = 0

    def state(self) -> Status:
        return Status(self.oldest_s == 0.0, self.oldest_s, self.error)

    def flush(self, timeout_s: float) -> bool:
        self.flushed += 1
        self.acknowledged = 99
        return True


def test_an_entry_is_taken_when_its_own_line_is_durable_and_in_its_turn() -> None:
    disk = Disk()
    receipts = Receipts(disk)
    receipts.owe(3, "first")
    receipts.owe(5, "second")
    assert receipts.due() == []
    disk.acknowledged = 4
    assert receipts.due() == ["first"]
    disk.acknowledged = 5
    assert receipts.due() == ["second"]
    assert receipts.due() == []


def test_that_writes_wait_is_said_once_again_for_what_is_typed_and_when_over() -> None:
    disk = Disk(oldest_s=LATE_S, error=FULL)
    receipts = Receipts(disk)
    assert receipts.due() == []
    disk.oldest_s = LATE_S + 0.1
    assert [receipts.due(), receipts.due()] == [[WAITS], []]
    receipts.owe(7, "note saved")
    assert [receipts.due(), receipts.due()] == [[WAITS], []]
    disk.oldest_s, disk.error, disk.acknowledged = 0.0, None, 7
    assert [receipts.due(), receipts.due()] == [["note saved", SAVED], []]


def test_a_disk_that_only_keeps_silent_is_named_as_that() -> None:
    (line,) = Receipts(Disk(oldest_s=LATE_S + 1)).due()
    assert line.startswith("not saved yet: the disk does not answer")


def test_where_the_clock_is_simulated_the_disk_is_waited_for() -> None:
    disk = Disk()
    receipts = Receipts(disk, waits=True)
    assert (receipts.due(), disk.flushed) == ([], 0)
    receipts.owe(0, "effort for loop 1: 6")
    assert (receipts.due(), disk.flushed) == (["effort for loop 1: 6"], 1)


@pytest.mark.parametrize("recovers", [True, False])
def test_on_a_full_disk_no_note_is_taken_that_is_not_on_it(
    call: Callable[..., Any],
    home: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    *,
    recovers: bool,
) -> None:
    """Sixty typed where eight fit at most: taken are those on it; the wait is said."""
    circuit = """format = 1\nname = "Long"\nwork = "5 min"\nget_ready = "0 s"
[[station]]\nexercise = "push-up"\n"""
    put_circuit(home, "long", circuit)
    room = [8]
    is_full = threading.Event()
    real = os.write

    def write(fd: int, data: bytes) -> int:
        if b'"k":"note"' in data:
            if room[0] == 0:
                is_full.set()
                raise OSError(errno.ENOSPC, "full")
            room[0] -= 1
        return real(fd, data)

    monkeypatch.setattr(os, "write", write)
    monkeypatch.chdir(tmp_path)
    reading, writing = os.pipe()

    def type_lines() -> None:
        with os.fdopen(writing, "w", buffering=1) as keyboard:
            for number in range(NOTES):
                keyboard.write(f"note {number}\n")
            assert is_full.wait(30)
            time.sleep(LATE_S + 0.5)
            if recovers:
                room[0] = NOTES
                time.sleep(LATE_S + 0.5)
            keyboard.write("q\nq\n\n\n")

    typing = threading.Thread(target=type_lines)
    with os.fdopen(reading) as keyboard:
        monkeypatch.setattr("sys.stdin", keyboard)
        typing.start()
        answer = call("run", "long", "--plain")
        typing.join()
    written = sum(line["k"] == "note" for line in raw_lines(journals(home)[0]))
    assert written == NOTES if recovers else written <= 8
    assert answer.out.count("note saved") == written
    assert WAITS in answer.out
    assert (SAVED in answer.out) is recovers
    assert answer.status == (0 if recovers else 1)
    if not recovers:
        (copy,) = tmp_path.glob("*.jsonl")
        assert copy.name in answer.err
        assert sum(line["k"] == "note" for line in raw_lines(copy)) == NOTES
