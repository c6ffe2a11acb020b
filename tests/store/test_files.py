"""How folders and files come to be: whose they are, and what a cut leaves of them."""

from __future__ import annotations

import errno
import os
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from whistlestop import files
from whistlestop.files import make_file, make_folder, private, sync_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="modes are of POSIX")


@pytest.fixture(params=[0o000, 0o022, 0o077], autouse=True)
def umask(request: pytest.FixtureRequest) -> Iterator[None]:
    before = os.umask(request.param)
    yield
    os.umask(before)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_every_folder_that_was_missing_is_private_and_synced_by_its_parent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[Path] = []
    monkeypatch.setattr(files, "sync_folder", synced.append)
    year = tmp_path / "home" / "log" / "2031"
    make_folder(year)
    made = [tmp_path / "home", tmp_path / "home" / "log", year]
    assert [mode(folder) for folder in made] == [0o700] * 3
    assert synced == [folder.parent for folder in made]


def test_a_folder_that_is_there_keeps_its_mode(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    make_folder(tmp_path)
    make_folder(tmp_path / "log")
    assert mode(tmp_path) == 0o755
    tmp_path.chmod(0o700)


def test_a_folder_whose_name_does_not_reach_the_disk_is_taken_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else the next try would take it for durable."""

    def refuse(folder: Path) -> None:
        raise OSError(errno.EIO, "refused")

    monkeypatch.setattr(files, "sync_folder", refuse)
    with pytest.raises(OSError, match="refused"):
        make_folder(tmp_path / "log")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("below", [False, True])
def test_a_file_in_the_place_of_a_folder_is_an_error(
    tmp_path: Path, *, below: bool
) -> None:
    path = tmp_path / "file"
    path.touch()
    with pytest.raises(OSError, match="file"):
        make_folder(path / "log" if below else path)


def test_a_file_is_made_private_and_an_open_one_is_closed(tmp_path: Path) -> None:
    for name in ("new", "old"):
        path = tmp_path / name
        if name == "old":
            path.touch()
            path.chmod(0o664)
        with open(path, "w", opener=private) as file:
            file.write("x")
        assert mode(path) == 0o600


def test_devices_stay_as_they_are() -> None:
    before = mode(Path(os.devnull))
    os.close(private(os.devnull, os.O_WRONLY))
    assert mode(Path(os.devnull)) == before


def test_a_file_made_for_a_library_is_not_opened_where_it_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Closing it would end this process's locks on it."""
    path = tmp_path / "index"
    make_file(path)
    path.chmod(0o644)
    monkeypatch.setattr(os, "close", lambda fd: pytest.fail("closed"))
    make_file(path)
    assert mode(path) == 0o600


def test_a_folder_that_may_only_be_entered_is_not_synced_and_no_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Such as the one that holds all homes: a session must not wait for it for ever."""

    def refuse(*given: object) -> int:
        raise PermissionError(errno.EACCES, "refused")

    monkeypatch.setattr(os, "open", refuse)
    sync_folder(tmp_path)
