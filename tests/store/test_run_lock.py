"""One session at a time in one home."""

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from whistlestop.domain.text import first_hostile
from whistlestop.errors import LockTakenError, StoreError
from whistlestop.store.journal.run_lock import RunLock, holder, taken_by

ROOT = Path(__file__).parents[2]
STARTED = "2031-04-12T08:15:02+02:00"
HOLD = """
import sys
from pathlib import Path
from whistlestop.store.journal.run_lock import RunLock
with RunLock(Path(sys.argv[1]), started=sys.argv[2]):
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def other(tmp_path):
    """Another process that holds the lock until its input ends."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path / "run.lock"), STARTED],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(ROOT / "src")},
    )
    with process:
        assert process.stdout.readline() == b"held\n"
        yield process
        process.kill()


def test_the_second_process_is_told_who_has_it(tmp_path, other):
    path = tmp_path / "run.lock"
    with pytest.raises(LockTakenError) as caught, RunLock(path):
        pass
    assert caught.value.message == (
        f"another session is running (process {other.pid}, since {STARTED})"
    )
    assert isinstance(caught.value, StoreError)
    assert str(holder(path)) == f"process {other.pid}, since {STARTED}"


def test_it_is_free_after_a_clean_end_and_after_a_kill(tmp_path, other):
    path = tmp_path / "run.lock"
    other.kill()
    other.wait(30)
    assert path.read_text().startswith(str(other.pid))
    assert holder(path) is None
    with RunLock(path) as lock:
        assert lock.is_held
        assert lock.warning is None
    assert not lock.is_held
    with RunLock(path) as lock:
        assert lock.is_held


def test_one_process_cannot_take_it_twice_either(tmp_path):
    with RunLock(tmp_path / "run.lock") as lock:
        with pytest.raises(LockTakenError), RunLock(tmp_path / "run.lock"):
            pass
        assert lock.is_held
        assert holder(tmp_path / "run.lock").pid == os.getpid()
    assert holder(tmp_path / "run.lock") is None


def test_a_child_process_does_not_keep_it(tmp_path):
    """The sound helper may outlive a crash; the lock must not live on in it."""
    path = tmp_path / "run.lock"
    with RunLock(path):
        child = subprocess.Popen(
            [sys.executable, "-c", "input()"], stdin=subprocess.PIPE
        )
    with child:
        with RunLock(path) as lock:
            assert lock.is_held
        child.kill()


def test_readers_take_no_lock(tmp_path):
    path = tmp_path / "run.lock"
    assert holder(path) is None
    assert list(tmp_path.iterdir()) == []
    with RunLock(path, started=STARTED):
        assert holder(path).started == STARTED
        assert taken_by(path).startswith("another session is running (process ")


@pytest.mark.parametrize(
    "rubbish", [b"", b"\0" * 50, b"-1 x", b"0 x", b"99999999999999 x", b"\xff\xfe 1"]
)
def test_rubbish_in_the_file_is_harmless(tmp_path, rubbish):
    path = tmp_path / "run.lock"
    path.write_bytes(rubbish)
    assert holder(path) is None
    assert taken_by(path) == "another session is running"
    with RunLock(path) as lock:
        assert lock.is_held


def test_what_the_file_says_is_made_harmless(tmp_path):
    path = tmp_path / "run.lock"
    path.write_bytes(b"%d \x1b[2J\n" % os.getpid())
    assert first_hostile(taken_by(path)) is None
    assert first_hostile(str(holder(path))) is None


def test_a_disk_that_cannot_lock_gives_a_warning_and_no_end(tmp_path, monkeypatch):
    import fcntl

    def refuse(fd, how):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", refuse)
    with RunLock(tmp_path / "run.lock") as lock:
        assert not lock.is_held
        assert "cannot be locked: No locks available" in lock.warning


def test_a_folder_that_cannot_be_made_gives_a_warning_and_no_end(tmp_path):
    (tmp_path / "file").write_text("")
    with RunLock(tmp_path / "file" / "run.lock") as lock:
        assert not lock.is_held
        assert "a second session cannot be noticed" in lock.warning
