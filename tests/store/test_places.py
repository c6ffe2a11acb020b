"""Where things lie, and how bytes get there to stay."""

import errno
import os
import stat
from pathlib import Path

import pytest

from whistlestop.errors import StoreError
from whistlestop.store import places as places_module
from whistlestop.store.places import (
    Places,
    in_text,
    read_regular,
    replace_file,
    write_new,
)


def everything(places):
    return [
        places.circuits,
        places.sounds,
        places.log,
        places.cache,
        places.state,
        places.config_file,
        places.run_lock,
        places.remembered_file,
    ]


def test_with_a_home_everything_lies_under_it(tmp_path):
    home = tmp_path / "home"
    places = Places(home, environ={})
    assert [p.relative_to(home).as_posix() for p in everything(places)] == [
        "circuits",
        "sounds",
        "log",
        "cache",
        "state",
        "config.toml",
        "run.lock",
        "state/remembered.toml",
    ]


def test_the_variable_stands_in_for_a_home_and_an_argument_beats_it(tmp_path):
    environ = {"WHISTLESTOP_HOME": str(tmp_path / "variable")}
    assert Places(environ=environ).log == tmp_path / "variable" / "log"
    assert Places(tmp_path / "given", environ=environ).log == tmp_path / "given" / "log"


def test_an_empty_variable_is_no_home():
    assert Places(environ={"WHISTLESTOP_HOME": ""}).home is None


def test_without_a_home_nothing_lies_outside_the_platforms_folders(
    tmp_path, monkeypatch
):
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "xdg_state_home"))
    places = Places(environ={})
    assert all(path.is_relative_to(tmp_path) for path in everything(places))
    assert all("whistlestop" in path.parts for path in everything(places))


def test_a_relative_home_does_not_follow_a_later_change_of_folder(
    tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    places = Places(Path("here"), environ={})
    assert places.log == tmp_path / "here" / "log"


def test_nothing_is_created_before_ensure(tmp_path):
    places = Places(tmp_path / "home", environ={})
    assert list(tmp_path.iterdir()) == []
    assert places.ensure(places.circuits) == places.circuits
    assert [p.name for p in (tmp_path / "home").iterdir()] == ["circuits"]
    assert stat.S_IMODE(places.circuits.stat().st_mode) & 0o077 == 0


def test_a_home_that_is_a_file_is_refused_in_text(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match=r"cannot use the home folder .*a file"):
        Places(tmp_path / "file", environ={})


@pytest.mark.parametrize("name", ["bad\0name", "x" * 5000])
def test_a_name_no_system_takes_is_refused_without_hostile_characters(tmp_path, name):
    with pytest.raises(StoreError) as caught:
        Places(tmp_path / name, environ={})
    assert "\0" not in str(caught.value)


def test_ensure_says_that_a_file_is_in_the_way(tmp_path):
    places = Places(tmp_path, environ={})
    (tmp_path / "circuits").write_text("")
    with pytest.raises(StoreError, match="there is a file where a folder should be"):
        places.ensure(places.circuits)
    (tmp_path / "cache").write_text("")
    with pytest.raises(StoreError, match="there is a file where a folder should be"):
        places.ensure(places.cache / "deeper")


def test_ensure_says_that_a_folder_is_not_writable(tmp_path, monkeypatch):
    """Permissions do not bind every user, so the system's answer is replaced."""
    monkeypatch.setattr(os, "access", lambda path, mode: mode == os.X_OK)
    with pytest.raises(StoreError, match="not writable"):
        Places(tmp_path, environ={}).ensure(tmp_path / "log")


def test_every_refusal_has_words_and_unknown_ones_use_the_systems():
    assert in_text(OSError(errno.ENOSPC, "x")) == "the disk is full"
    assert in_text(OSError(errno.EMFILE, "Too many\x1b open")) == "Too many\\x1b open"
    assert in_text(OSError("no number")) == "the system refused"


def test_reading_refuses_folders_pipes_and_what_is_too_large(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "large").write_bytes(b"x" * 2049)
    for name, words in (
        ("pipe", "not an ordinary file"),
        ("large", "larger than 2 KiB"),
        ("none", "it is not there"),
        ("bad\0", "not a file name"),
    ):
        with pytest.raises(StoreError, match=words):
            read_regular(tmp_path / name, 2048)
    with pytest.raises(StoreError):
        read_regular(tmp_path, 2048)
    (tmp_path / "large").write_bytes(b"x" * 2048)
    assert read_regular(tmp_path / "large", 2048) == b"x" * 2048


def test_a_new_file_is_private_and_never_overwrites(tmp_path):
    path = tmp_path / "deep" / "file"
    write_new(path, b"one")
    with pytest.raises(FileExistsError):
        write_new(path, b"two")
    assert path.read_bytes() == b"one"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_replacement_that_fails_leaves_the_old_contents_and_no_rest(
    tmp_path, monkeypatch
):
    path = tmp_path / "file"
    replace_file(path, b"one")

    def refuse(fd):
        raise OSError(errno.ENOSPC, "full")

    monkeypatch.setattr(places_module, "sync_file", refuse)
    with pytest.raises(OSError, match="full"):
        replace_file(path, b"two")
    assert path.read_bytes() == b"one"
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_a_replacement_is_durable_before_it_takes_the_name(tmp_path, monkeypatch):
    """Contents first, then the name, then the folder: a cut never shows half."""
    path = tmp_path / "file"
    path.write_bytes(b"old")
    steps = []
    file_step, folder_step = places_module.sync_file, places_module.sync_folder

    def sync_file(fd):
        steps.append(("file", path.read_bytes()))
        file_step(fd)

    def sync_folder(folder):
        steps.append(("folder", path.read_bytes()))
        folder_step(folder)

    monkeypatch.setattr(places_module, "sync_file", sync_file)
    monkeypatch.setattr(places_module, "sync_folder", sync_folder)
    with path.open("rb") as reader:
        replace_file(path, b"new")
        # Whoever has the old file open still reads all of it.
        assert reader.read() == b"old"
    assert steps[0] == ("file", b"old")
    assert steps[-1] == ("folder", b"new")
    assert [p.name for p in tmp_path.iterdir()] == ["file"]
