"""One archive: whole when it is called written, and back again without a loss."""

from __future__ import annotations

import io
import os
import tarfile
from pathlib import Path

import pytest

from whistlestop.errors import StoreError
from whistlestop.store import backup
from whistlestop.store.backup import (
    read_backup,
    restore_backup,
    try_restore,
    write_backup,
)
from whistlestop.store.places import Places

FILES = {
    "log/2031/20310412T061502Z-3f9a.jsonl": b'{"k":"start"}\n',
    "log/2031/20310412T061502Z-3f9a (copy).jsonl": b"a copy is kept as well\n",
    "log/diary.jsonl": b'{"k":"diary"}\n',
    "circuits/wet-saturday.toml": b"format = 1\n",
    "sounds/go.wav": b"RIFF",
    "config.toml": b"",
    "kit.toml": b"format = 1\n",
}
LEFT_OUT = {
    "cache/log-index.sqlite": b"can be made again",
    "state/run.lock": b"1234 2031",
    "notes.txt": b"not ours",
}


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return filled(tmp_path / "home", {**FILES, **LEFT_OUT})


def filled(home: Path, files: dict[str, bytes]) -> Path:
    for name, data in files.items():
        path = home / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return home


def tree(home: Path) -> dict[str, bytes]:
    return {
        path.relative_to(home).as_posix(): path.read_bytes()
        for path in home.rglob("*")
        if path.is_file()
    }


def test_what_is_restored_is_what_was_there(home: Path, tmp_path: Path) -> None:
    archive = tmp_path / "b.tar.gz"
    made = write_backup(Places(home), archive)
    assert len(made.files) == len(FILES)
    assert archive.stat().st_mode & 0o777 == 0o600
    empty = tmp_path / "new-home"
    done = restore_backup(Places(empty), archive)
    assert len(done.put) == len(FILES)
    assert tree(empty) == FILES
    again = restore_backup(Places(empty), archive)
    assert (again.put, len(again.same), again.different) == ((), len(FILES), ())


def test_nothing_there_is_overwritten(home: Path, tmp_path: Path) -> None:
    archive = tmp_path / "b.tar.gz"
    write_backup(Places(home), archive)
    other = filled(tmp_path / "other", {"log/diary.jsonl": b"mine\n"})
    done = restore_backup(Places(other), archive)
    assert done.different == ("log/diary.jsonl",)
    assert (other / "log/diary.jsonl").read_bytes() == b"mine\n"
    before = archive.read_bytes()
    with pytest.raises(StoreError, match="there already"):
        write_backup(Places(home), archive)
    assert archive.read_bytes() == before


def test_nothing_of_the_machine_is_inside(home: Path, tmp_path: Path) -> None:
    first, second = tmp_path / "1.tar.gz", tmp_path / "2.tar.gz"
    write_backup(Places(home), first)
    write_backup(Places(home), second)
    assert first.read_bytes() == second.read_bytes()
    with tarfile.open(first) as tar:
        for member in tar:
            assert (member.uid, member.gid) == (0, 0)
            assert (member.uname, member.gname) == ("", "")
            assert not member.name.startswith("/")
    import gzip

    bare = gzip.decompress(first.read_bytes())
    assert str(home).encode() not in bare
    assert os.uname().nodename.encode() not in bare


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.99])
def test_a_damaged_archive_is_noticed_and_nothing_is_put(
    home: Path, tmp_path: Path, share: float
) -> None:
    archive = tmp_path / "b.tar.gz"
    write_backup(Places(home), archive)
    data = bytearray(archive.read_bytes())
    data[int(len(data) * share)] ^= 0x10
    archive.write_bytes(data)
    with pytest.raises(StoreError):
        restore_backup(Places(tmp_path / "new"), archive)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.9, 0.98, 0.999])
def test_an_archive_cut_short_is_noticed_and_nothing_is_put(
    home: Path, tmp_path: Path, share: float
) -> None:
    archive = tmp_path / "b.tar.gz"
    write_backup(Places(home), archive)
    data = archive.read_bytes()
    archive.write_bytes(data[: int(len(data) * share)])
    for act in (try_restore, restore_backup):
        with pytest.raises(StoreError):
            act(Places(tmp_path / "new"), archive)
    assert not (tmp_path / "new").exists()


def test_a_whole_archive_with_a_strange_file_at_its_end_puts_nothing(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every name is judged before the first file is put."""
    archive = tmp_path / "b.tar.gz"
    (home / "zz.toml").write_bytes(b"x")
    real = backup.sources
    strange = ("zz/later.toml", home / "zz.toml")
    monkeypatch.setattr(backup, "sources", lambda places: [*real(places), strange])
    write_backup(Places(home), archive)
    with pytest.raises(StoreError, match=r'"zz/later\.toml", which this program'):
        restore_backup(Places(tmp_path / "new"), archive)
    assert not (tmp_path / "new").exists()


def test_trying_says_what_restoring_does_and_puts_nothing(
    home: Path, tmp_path: Path
) -> None:
    archive = tmp_path / "b.tar.gz"
    write_backup(Places(home), archive)
    other = filled(
        tmp_path / "other", {"log/diary.jsonl": b"mine\n", "config.toml": b""}
    )
    before = tree(other)
    tried = try_restore(Places(other), archive)
    assert tree(other) == before
    assert (tried.same, tried.different) == (("config.toml",), ("log/diary.jsonl",))
    assert restore_backup(Places(other), archive) == tried


def test_a_backup_that_does_not_read_back_is_not_called_written(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = backup._add

    def lossy(tar: tarfile.TarFile, name: str, data: bytes, mtime_s: int) -> None:
        real(tar, name, b"other" if name.endswith("diary.jsonl") else data, mtime_s)

    monkeypatch.setattr(backup, "_add", lossy)
    with pytest.raises(StoreError):
        write_backup(Places(home), tmp_path / "b.tar.gz")
    assert [p.name for p in tmp_path.iterdir()] == ["home"]


def member(name: str, data: bytes = b"x", **changed: object) -> tarfile.TarInfo:
    made = tarfile.TarInfo(name)
    made.size = len(data)
    for key, value in changed.items():
        setattr(made, key, value)
    return made


@pytest.mark.parametrize(
    "hostile",
    [
        member("whistlestop-backup/../../out"),
        member("/etc/out"),
        member("whistlestop-backup/log/a", type=tarfile.SYMTYPE, linkname="/etc"),
        member("whistlestop-backup/log/a", type=tarfile.LNKTYPE, linkname="/etc/x"),
        member("elsewhere/log/a"),
        member("whistlestop-backup/log\\..\\a"),
    ],
    ids=lambda info: f"{info.name}-{info.type!r}",
)
def test_a_hostile_archive_puts_nothing_anywhere(
    tmp_path: Path, hostile: tarfile.TarInfo
) -> None:
    archive = tmp_path / "b.tar.gz"
    with tarfile.open(archive, "w:gz") as tar:
        tar.addfile(hostile, io.BytesIO(b"x"))
    with pytest.raises(StoreError):
        restore_backup(Places(tmp_path / "new"), archive)
    assert [p.name for p in tmp_path.iterdir()] == ["b.tar.gz"]


def test_something_else_is_no_archive(tmp_path: Path) -> None:
    archive = tmp_path / "b.tar.gz"
    archive.write_bytes(b"no gzip at all")
    with pytest.raises(StoreError, match="not a complete archive"):
        read_backup(archive)
    with pytest.raises(StoreError, match="not there"):
        read_backup(tmp_path / "none")
