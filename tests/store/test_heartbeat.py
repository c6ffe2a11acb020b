"""The heartbeat: the latest whole beat is read, whatever happened to the other."""

from __future__ import annotations

import os
import stat
import time
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from whistlestop.engine.clock import ClockReading
from whistlestop.store.journal import heartbeat
from whistlestop.store.journal.heartbeat import (
    MOST_AHEAD_MS,
    SLOT_BYTES,
    Beat,
    Heartbeat,
    heartbeat_path,
    heartbeats,
    read_heartbeat,
    remove_heartbeat,
)

ID = "20310412T061502Z-3f9a"
OTHER = "20310413T061502Z-0001"
WALL = "2031-04-12T06:15:02.123+02:00"


def until(holds, seconds: float = 20.0) -> None:
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.01)


def beaten(folder: Path, *times: int, session_id: str = ID) -> Path:
    """A heartbeat that beat at these moments, each of them durable."""
    heart = Heartbeat(folder, session_id)
    for t_ms in times:
        heart.beat(t_ms, WALL)
        until(lambda: read_heartbeat(folder, session_id) == Beat(t_ms, WALL))  # noqa: B023
    heart.close(over=False)
    return heartbeat_path(folder, session_id)


def test_the_last_beat_is_read_back(tmp_path: Path) -> None:
    beaten(tmp_path, 100, 350, 610)
    assert read_heartbeat(tmp_path, ID) == Beat(610, WALL)


def test_the_last_beat_before_the_close_is_written_at_once(tmp_path: Path) -> None:
    heart = Heartbeat(tmp_path, ID)
    for t_ms in range(100, 2_000, 100):
        heart.beat(t_ms, WALL)
    heart.close(over=False)
    assert read_heartbeat(tmp_path, ID) == Beat(1_900, WALL)


def test_it_is_for_its_owner_only_and_never_grows(tmp_path: Path) -> None:
    path = beaten(tmp_path / "state", *range(100, 900, 100))
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert path.stat().st_size == 2 * SLOT_BYTES


def test_a_torn_write_leaves_the_beat_before(tmp_path: Path) -> None:
    """Cut off at any byte of a slot: the other is whole."""
    path = beaten(tmp_path, 200, 400, 600)
    before = path.read_bytes()
    place = 0 if b'"t":600' in before[:SLOT_BYTES] else SLOT_BYTES
    for cut in range(1, 110, 3):
        torn = bytearray(before)
        torn[place + cut : place + SLOT_BYTES] = bytes(SLOT_BYTES - cut)
        path.write_bytes(torn)
        assert read_heartbeat(tmp_path, ID) == Beat(400, WALL)
        flipped = bytearray(before)
        flipped[place + cut] ^= 1
        path.write_bytes(flipped)
        assert read_heartbeat(tmp_path, ID) == Beat(400, WALL)


@pytest.mark.parametrize("data", [b"", b"\0" * 8192, b"x" * 9000, b"\n" * 500, b"{}\n"])
def test_what_is_no_heartbeat_is_none_and_is_written_over(
    tmp_path: Path, data: bytes
) -> None:
    heartbeat_path(tmp_path, ID).write_bytes(data)
    assert read_heartbeat(tmp_path, ID) is None
    beaten(tmp_path, 100)
    assert read_heartbeat(tmp_path, ID) == Beat(100, WALL)


def test_one_that_goes_on_is_later_than_what_was_there(tmp_path: Path) -> None:
    """After a resume its numbers go on, so the new beats win."""
    beaten(tmp_path, 100, 200, 300)
    beaten(tmp_path, 350)
    assert read_heartbeat(tmp_path, ID) == Beat(350, WALL)


def test_each_session_has_its_own(tmp_path: Path) -> None:
    """One that begins takes nothing from one that was interrupted."""
    beaten(tmp_path, 100)
    beaten(tmp_path, 200, session_id=OTHER)
    assert read_heartbeat(tmp_path, ID) == Beat(100, WALL)
    assert heartbeats(tmp_path) == (ID, OTHER)
    path = heartbeat_path(tmp_path, OTHER)
    path.write_bytes(heartbeat_path(tmp_path, ID).read_bytes())
    assert read_heartbeat(tmp_path, OTHER) is None


def test_the_end_takes_it_away(tmp_path: Path) -> None:
    heart = Heartbeat(tmp_path, ID)
    heart.beat(100, WALL)
    heart.close(over=True)
    assert heartbeats(tmp_path) == ()
    remove_heartbeat(tmp_path, ID)
    assert read_heartbeat(tmp_path, ID) is None


def test_a_disk_that_refuses_a_beat_is_asked_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    refused: list[int] = []

    def refuse(fd: int) -> None:
        refused.append(fd)
        if len(refused) < 3:
            raise OSError(5, "refused")
        os.fsync(fd)

    monkeypatch.setattr(heartbeat, "sync_file", refuse)
    heart = Heartbeat(tmp_path, ID)
    for t_ms in (200, 400, 600):
        heart.beat(t_ms, WALL)
        until(lambda: len(refused) >= t_ms // 200)  # noqa: B023
    heart.close(over=False)
    assert read_heartbeat(tmp_path, ID) == Beat(600, WALL)


def test_one_slot_is_durable_while_the_other_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever was not synced may be lost or torn: a beat of 0.3 s ago is whole."""
    durable: list[bytes] = []
    path, left = (heartbeat_path(tmp_path / at, ID) for at in ("state", "left"))
    left.parent.mkdir()

    def sync(fd: int) -> None:
        del fd
        durable.append(path.read_bytes())

    monkeypatch.setattr(heartbeat, "sync_file", sync)
    heart = Heartbeat(path.parent, ID)
    # Before the first of all is durable there is none to fall back on.
    heart.beat(0, WALL)
    until(lambda: durable and b'"t":0' in durable[-1])
    for t_ms in range(100, 3_000, 100):
        heart.beat(t_ms, WALL)
        until(lambda: read_heartbeat(path.parent, ID) == Beat(t_ms, WALL))  # noqa: B023
        now, synced = path.read_bytes(), durable[-1]
        for slot in (0, SLOT_BYTES):
            torn = bytearray(synced)
            if now[slot : slot + SLOT_BYTES] != synced[slot : slot + SLOT_BYTES]:
                torn[slot : slot + SLOT_BYTES] = b"x" * SLOT_BYTES
            # Elsewhere: the file itself may be on its way to the disk meanwhile.
            left.write_bytes(torn)
            found = read_heartbeat(left.parent, ID)
            assert found is not None
            assert t_ms - 300 <= found.t_ms <= t_ms
    heart.close(over=False)


def test_a_state_folder_that_cannot_be_made_ends_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    heart = Heartbeat(tmp_path / "file" / "state", ID)
    heart.beat(100, WALL)
    heart.close(over=True)
    assert read_heartbeat(tmp_path / "file" / "state", ID) is None
    assert heartbeats(tmp_path / "file" / "state") == ()


class SteppingClock:
    """Goes on by so many ms each time it is looked at."""

    def __init__(self, step_ms: int) -> None:
        self.now_ms, self._step_ms = 50_000, step_ms

    def read(self) -> ClockReading:
        self.now_ms += self._step_ms
        return ClockReading(self.now_ms, 0)

    def wall(self) -> datetime:
        return datetime.fromisoformat(WALL) + timedelta(milliseconds=self.now_ms)


def test_a_session_that_is_busy_is_seen_by_the_clock_for_a_while(
    tmp_path: Path,
) -> None:
    """Ahead of its last beat as far as the clock went, and then no further."""
    clock = SteppingClock(400)
    heart = Heartbeat(tmp_path, ID, clock)
    heart.beat(10_000, WALL)
    begun_ms = clock.now_ms
    until(lambda: clock.now_ms - begun_ms > 2 * MOST_AHEAD_MS)
    seen = read_heartbeat(tmp_path, ID)
    assert seen is not None
    assert 10_000 + 2_000 <= seen.t_ms <= 10_000 + MOST_AHEAD_MS
    assert datetime.fromisoformat(seen.wall) > datetime.fromisoformat(WALL)
    heart.beat(11_000, WALL)
    heart.close(over=False)
    assert read_heartbeat(tmp_path, ID) == Beat(11_000, WALL)


def test_a_process_that_was_stopped_was_not_running(tmp_path: Path) -> None:
    """The thread did not come to its turn either: the session finds the gap."""
    clock = SteppingClock(MOST_AHEAD_MS + 1)
    heart = Heartbeat(tmp_path, ID, clock)
    heart.beat(10_000, WALL)
    begun_ms = clock.now_ms
    until(lambda: clock.now_ms - begun_ms > 4 * MOST_AHEAD_MS)
    assert read_heartbeat(tmp_path, ID) == Beat(10_000, WALL)
    heart.close(over=False)
