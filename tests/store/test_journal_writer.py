"""The writer: durable lines, a disk that refuses, other programs."""

import errno
import os
import stat
import threading
import time

import pytest

from whistlestop.errors import StoreError
from whistlestop.store.journal import writer as journal_writer
from whistlestop.store.journal.file import read_journal
from whistlestop.store.journal.line import encode
from whistlestop.store.journal.writer import JournalWriter

NAME = "20310412T061502Z-3f9a.jsonl"
START = {"k": "start", "t": 0}
PATIENCE_S = 30


class FakeClock:
    def __init__(self):
        self.now_s = 100.0

    def __call__(self):
        return self.now_s


class Reluctant:
    """Stands in for one function, and fails as long as it is told to."""

    def __init__(self, monkeypatch, name, code, module=os):
        self.code = code
        self.refusals = 0
        self.refused = threading.Event()
        self._real = getattr(module, name)
        self.fails = lambda *arguments: True
        monkeypatch.setattr(module, name, self)

    def __call__(self, *arguments, **named):
        if self.code is not None and self.fails(*arguments):
            self.refusals += 1
            self.refused.set()
            raise OSError(self.code, "refused")
        return self._real(*arguments, **named)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log" / "2031" / NAME


@pytest.fixture
def opened():
    """Make writers, and see to it that none outlives its test."""
    writers = []

    def make(path, **options):
        options.setdefault("clock", FakeClock())
        if not options.get("append"):
            options.setdefault("first", START)
        writers.append(JournalWriter(path, **options))
        return writers[-1]

    yield make
    assert all(writer.close(PATIENCE_S) for writer in writers)


def sequences(path):
    journal = read_journal(path)
    assert journal.set_aside == ()
    return [line.sequence for line in journal.lines]


def test_lines_are_numbered_at_once_and_on_disk_when_flushed(path, opened):
    writer = opened(path)
    assert [writer.put({"k": "seen", "t": t}) for t in (1, 2, 3)] == [1, 2, 3]
    assert writer.flush(PATIENCE_S)
    assert writer.acknowledged == 3
    journal = read_journal(path)
    assert [line.fields["t"] for line in journal.lines] == [0, 1, 2, 3]
    assert all(line.state == "ok" for line in journal.lines)
    assert journal.problems == writer.notes == ()


def test_the_file_and_its_folders_are_for_the_owner_only(path, opened):
    assert opened(path).flush(PATIENCE_S)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) & 0o077 == 0


def test_each_line_is_one_write_and_is_synced_before_it_is_acknowledged(
    path, opened, monkeypatch
):
    """The order is write, sync, acknowledge; folders are synced once."""
    steps = []
    real_write, real_sync = os.write, journal_writer.sync_file

    def write(fd, raw):
        steps.append(("write", bytes(raw).count(b"\n"), bytes(raw)[-1:]))
        return real_write(fd, raw)

    def sync_file(fd):
        steps.append(("sync",))
        real_sync(fd)

    monkeypatch.setattr(os, "write", write)
    monkeypatch.setattr(journal_writer, "sync_file", sync_file)
    monkeypatch.setattr(
        journal_writer, "sync_folder", lambda folder: steps.append(("folder",))
    )
    writer = opened(path, on_saved=lambda sequence: steps.append(("kept", sequence)))
    assert writer.flush(PATIENCE_S)
    writer.put({"k": "seen", "t": 1})
    assert writer.close(PATIENCE_S)
    whole = ("write", 1, b"\n")
    assert steps == [
        *(whole, ("sync",), ("folder",), ("folder",), ("folder",), ("kept", 0)),
        *(whole, ("sync",), ("kept", 1)),
    ]


def test_a_journal_that_is_gone_on_with_is_synced_by_its_folders(
    path, opened, monkeypatch
):
    """Whoever began it may have been killed before: then a power cut would take all."""
    assert opened(path).close(PATIENCE_S)
    synced = []
    monkeypatch.setattr(journal_writer, "sync_folder", synced.append)
    writer = opened(path, append=True)
    writer.put({"k": "note", "t": 1})
    assert writer.flush(PATIENCE_S)
    assert synced == list(path.parents[:3])


def test_a_session_never_overwrites_a_file_that_is_there(path, opened, tmp_path):
    path.parent.mkdir(parents=True)
    path.write_bytes(b"precious\n")
    writer = opened(path)
    assert not writer.flush(0.2)
    assert writer.state().error == (
        "not saved yet: something of that name is there already"
    )
    assert path.read_bytes() == b"precious\n"
    assert sequences(writer.emergency_copy(tmp_path / "copy")) == [0]
    path.unlink()
    assert writer.flush(PATIENCE_S)
    assert sequences(path) == [0]


def test_what_makes_no_line_is_refused_and_takes_no_number(path, opened):
    writer = opened(path)
    for fields in ({"t": 1}, {"k": "x", "c": "0"}, {"k": "x", "s": 4}):
        with pytest.raises(ValueError):
            writer.put(fields)
    with pytest.raises(ValueError):
        writer.put({"k": "x", "v": float("nan")})
    assert writer.put({"k": "x"}) == 1
    assert writer.close(PATIENCE_S)
    with pytest.raises(StoreError, match="closed"):
        writer.put({"k": "x"})
    assert sequences(path) == [0, 1]


def test_a_new_journal_needs_its_first_line(path):
    with pytest.raises(ValueError, match="first line"):
        JournalWriter(path, clock=FakeClock())


def test_the_mark_kept_waits_for_inputs_and_not_for_derived_lines(
    path, opened, monkeypatch
):
    clock = FakeClock()
    writer = opened(path, clock=clock)
    assert writer.flush(PATIENCE_S)
    disk = Reluctant(monkeypatch, "write", errno.ENOSPC)
    writer.put({"k": "done", "t": 1}, derived=True)
    assert disk.refused.wait(PATIENCE_S)
    assert writer.state().saved
    clock.now_s += 1
    writer.put({"k": "effort", "v": 6})
    clock.now_s += 2.5
    status = writer.state()
    # The derived line has waited longer, and is as much a reason to say so.
    assert (status.saved, status.oldest_pending_s) == (False, 3.5)
    disk.code = None
    assert writer.flush(PATIENCE_S)
    status = writer.state()
    assert (status.saved, status.oldest_pending_s, status.error) == (True, 0.0, None)
    assert sequences(path) == [0, 1, 2]


@pytest.mark.parametrize(
    ("function", "code", "words"),
    [
        ("open", errno.EROFS, "not saved yet: the disk is read-only"),
        ("open", errno.EACCES, "not saved yet: access is refused"),
        ("write", errno.ENOSPC, "not saved yet: the disk is full"),
        ("write", errno.EIO, "not saved yet: the disk reports a fault"),
        ("sync_file", errno.EIO, "not saved yet: the disk reports a fault"),
        ("sync_file", errno.EDQUOT, "not saved yet: the disk quota is used up"),
    ],
)
def test_a_disk_that_refuses_delays_lines_and_loses_none(
    path, opened, monkeypatch, function, code, words
):
    module = journal_writer if function == "sync_file" else os
    disk = Reluctant(monkeypatch, function, code, module)
    if function == "open":
        disk.fails = lambda name, *rest: str(name) == str(path)
    writer = opened(path)
    for t in range(1, 6):
        writer.put({"k": "seen", "t": t})
    assert not writer.flush(0.3)
    assert (writer.state().error, writer.state().saved) == (words, False)
    assert writer.acknowledged == -1
    disk.code = None
    assert writer.flush(PATIENCE_S)
    assert writer.state().error is None
    assert sequences(path) == [0, 1, 2, 3, 4, 5]
    assert read_journal(path).problems == ()


def test_a_failed_sync_takes_its_lines_back_and_writes_them_anew(
    path, opened, monkeypatch
):
    """After a failed sync the system may call pages clean that are not on disk."""
    writer = opened(path)
    assert writer.flush(PATIENCE_S)
    durable = path.read_bytes()
    sizes = []
    disk = Reluctant(monkeypatch, "sync_file", errno.EIO, journal_writer)
    real_truncate = os.ftruncate

    def ftruncate(fd, size):
        sizes.append((os.fstat(fd).st_size, size))
        real_truncate(fd, size)

    monkeypatch.setattr(os, "ftruncate", ftruncate)
    line = writer.put({"k": "seen", "t": 1})
    assert disk.refused.wait(PATIENCE_S)
    disk.code = None
    assert writer.flush(PATIENCE_S)
    assert sizes[0] == (
        len(durable) + len(encode({"s": line, "k": "seen", "t": 1})),
        len(durable),
    )
    assert sequences(path) == [0, 1]


def test_a_short_write_is_taken_back_at_once(path, opened, monkeypatch):
    """A full disk takes a part of a line first (141 of 243 bytes, measured)."""
    writer = opened(path)
    assert writer.flush(PATIENCE_S)
    durable = path.read_bytes()
    real, full, seen = os.write, threading.Event(), threading.Event()
    full.set()

    def write(fd, raw):
        if not full.is_set():
            return real(fd, raw)
        seen.set()
        return real(fd, raw[: len(raw) // 2])

    monkeypatch.setattr(os, "write", write)
    writer.put({"k": "effort", "v": 6})
    assert not writer.flush(0.3)
    assert seen.is_set()
    status = writer.state()
    assert (status.saved, status.error) == (False, "not saved yet: the disk is full")
    assert path.read_bytes() == durable
    full.clear()
    assert writer.flush(PATIENCE_S)
    assert sequences(path) == [0, 1]


def test_of_a_batch_as_many_lines_are_saved_as_fit(path, opened, monkeypatch):
    """60 notes on a disk with room for eight: the first eight are durable."""
    line_bytes = len(encode({"s": 10, "k": "note", "t": 100, "text": "x" * 40}))
    writer = opened(path)
    assert writer.flush(PATIENCE_S)
    room = path.stat().st_size + 8 * line_bytes + line_bytes // 2
    real = os.write

    def write(fd, raw):
        left = room - os.fstat(fd).st_size
        if left <= 0:
            raise OSError(errno.ENOSPC, "full")
        return real(fd, raw[:left])

    monkeypatch.setattr(os, "write", write)
    with writer._turn:  # so that they come as one batch
        for number in range(60):
            writer.put({"k": "note", "t": 100 + number, "text": "x" * 40})
    end_s = time.monotonic() + PATIENCE_S
    while writer.acknowledged < 8:
        assert time.monotonic() < end_s, "what fits was not saved"
        time.sleep(0.01)
    assert not writer.flush(0.1)
    assert (writer.acknowledged, writer.state().saved) == (8, False)
    assert sequences(path) == list(range(9))
    monkeypatch.setattr(os, "write", real)
    assert writer.flush(PATIENCE_S)
    assert sequences(path) == list(range(61))


def test_a_short_write_that_cannot_be_taken_back_costs_nothing(
    path, opened, monkeypatch
):
    writer = opened(path)
    assert writer.flush(PATIENCE_S)
    real, halves = os.write, [True]
    Reluctant(monkeypatch, "ftruncate", errno.EROFS)

    def write(fd, raw):
        return real(fd, raw[:-1] if halves and halves.pop() else raw)

    monkeypatch.setattr(os, "write", write)
    writer.put({"k": "effort", "v": 6})
    assert writer.flush(PATIENCE_S)
    journal = read_journal(path)
    assert [line.sequence for line in journal.lines] == [0, 1]
    assert len(journal.set_aside) == 1
    assert writer.notes == ("a line that was cut off in it is set aside",)


def test_a_file_in_the_place_of_the_folder_is_waited_out(tmp_path, opened):
    """A refusal that binds every user, unlike a folder's permissions."""
    (tmp_path / "log").write_text("in the way")
    path = tmp_path / "log" / "2031" / NAME
    writer = opened(path)
    assert not writer.flush(0.2)
    assert writer.state().error == (
        "not saved yet: there is a file where a folder should be"
    )
    (tmp_path / "log").unlink()
    assert writer.flush(PATIENCE_S)
    assert sequences(path) == [0]


def test_close_that_cannot_keep_everything_says_so_and_goes_on_trying(
    path, opened, monkeypatch
):
    disk = Reluctant(monkeypatch, "write", errno.ENOSPC)
    writer = opened(path)
    assert not writer.close(0.2)
    assert writer.put({"k": "note", "text": "late"}) == 1
    disk.code = None
    assert writer.close(PATIENCE_S)
    assert writer.close(PATIENCE_S)
    assert sequences(path) == [0, 1]


def test_an_emergency_copy_holds_every_line_and_overwrites_nothing(
    path, opened, monkeypatch, tmp_path
):
    disk = Reluctant(monkeypatch, "sync_file", errno.EIO, journal_writer)
    writer = opened(path)
    writer.put({"k": "effort", "v": 6})
    assert disk.refused.wait(PATIENCE_S)
    first = writer.emergency_copy(tmp_path / "stick")
    second = writer.emergency_copy(tmp_path / "stick")
    assert [first.name, second.name] == [NAME, NAME.replace(".", "-copy-2.")]
    assert sequences(first) == sequences(second) == [0, 1]
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="there is a file where"):
        writer.emergency_copy(tmp_path / "file" / "in")
    disk.code = None


def test_a_resumed_journal_goes_on_with_its_numbers(path, opened, tmp_path):
    first = opened(path)
    first.put({"k": "seen", "t": 1000})
    assert first.close(PATIENCE_S)
    before = path.read_bytes()
    second = opened(path, append=True, first={"k": "gap", "t": 1000, "gap_ms": 5})
    assert second.put({"k": "cmd", "do": "resume"}) == 3
    assert second.flush(PATIENCE_S)
    assert path.read_bytes().startswith(before)
    assert sequences(path) == [0, 1, 2, 3]
    assert second.acknowledged == 3
    copy = second.emergency_copy(tmp_path / "stick")
    assert copy.read_bytes() == path.read_bytes()


def test_resuming_what_is_not_there_is_an_error_in_text(path):
    with pytest.raises(StoreError, match="it is not there"):
        JournalWriter(path, clock=FakeClock(), append=True)


def test_a_torn_tail_is_repaired_before_anything_is_appended(path, opened, tmp_path):
    """Cut at many places, a full line without its newline among them."""
    whole = [encode({"s": s, "k": "seen", "t": s}) for s in range(3)]
    data = b"".join(whole)
    path.parent.mkdir(parents=True)
    for cut in (*range(len(whole[0]) + 1, len(data), 7), len(data) - 1):
        path.write_bytes(data[:cut])
        before = read_journal(path)
        writer = opened(path, append=True)
        new = writer.put({"k": "gap", "gap_ms": 1})
        assert writer.flush(PATIENCE_S)
        assert new == before.last_sequence + 1
        after = read_journal(path)
        assert after.lines[:-1] == before.lines
        assert after.lines[-1].kind == "gap"
        assert path.read_bytes().startswith(data[:cut])
        assert bool(writer.notes) == (before.torn_tail is not None)
        copy = writer.emergency_copy(tmp_path / f"copy-{cut}")
        assert copy.read_bytes() == path.read_bytes()


@pytest.mark.parametrize("harm", ["removed", "replaced", "emptied", "cut"])
def test_lines_that_another_program_loses_are_written_again(path, opened, harm):
    writer = opened(path)
    writer.put({"k": "effort", "v": 6})
    assert writer.flush(PATIENCE_S)
    if harm == "removed":
        path.unlink()
    elif harm == "replaced":
        older = path.with_name("older")
        older.write_bytes(path.read_bytes().partition(b"\n")[0] + b"\n")
        older.replace(path)
    else:
        os.truncate(path, 0 if harm == "emptied" else 70)
    writer.put({"k": "seen", "t": 3})
    assert writer.flush(PATIENCE_S)
    assert [line.sequence for line in read_journal(path).lines] == [0, 1, 2]
    assert writer.notes[0] == "another program changed the journal meanwhile"
    assert "written again" in writer.notes[-1]


def test_a_line_edited_while_the_session_runs_stays_edited(path, opened):
    writer = opened(path)
    writer.put({"k": "effort", "loop": 1, "v": 6})
    assert writer.flush(PATIENCE_S)
    lines = path.read_bytes().splitlines(keepends=True)
    lines[1] = b'{"s":1,"k":"effort","loop":1,"v":7.5}\n'
    path.write_bytes(b"".join(lines))
    writer.put({"k": "seen", "t": 3})
    assert writer.flush(PATIENCE_S)
    journal = read_journal(path)
    assert [line.sequence for line in journal.lines] == [0, 1, 2]
    assert journal.lines[1].fields["v"] == 7.5


def test_a_listener_that_fails_does_not_stop_the_writing(path, opened):
    def fail(sequence):
        raise RuntimeError("listener")

    writer = opened(path, on_saved=fail)
    assert writer.flush(PATIENCE_S)
    writer.put({"k": "seen", "t": 1})
    assert writer.close(PATIENCE_S)
    assert sequences(path) == [0, 1]
    assert "on_saved failed: RuntimeError" in writer.notes


def test_an_unexpected_fault_does_not_stop_the_writing(path, opened, monkeypatch):
    faults = [MemoryError()]
    real = journal_writer.sync_file

    def sync_file(fd):
        if faults:
            raise faults.pop()
        real(fd)

    monkeypatch.setattr(journal_writer, "sync_file", sync_file)
    writer = opened(path)
    assert writer.flush(PATIENCE_S)
    assert sequences(path) == [0]


def test_puts_from_many_threads_are_all_there_once(path, opened):
    writer = opened(path)

    def put_some():
        for t in range(50):
            writer.put({"k": "seen", "t": t})

    threads = [threading.Thread(target=put_some) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert writer.flush(PATIENCE_S)
    assert sequences(path) == list(range(201))
