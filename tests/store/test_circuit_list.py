"""A folder of circuits: each id once, every bad file named, nothing from outside."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path

import pytest
from tests.store.circuits.small_catalogue import CATALOGUE

from whistlestop.errors import ProblemsFound, UsageError
from whistlestop.store.circuits import circuit_list as circuit_shelf
from whistlestop.store.circuits.circuit_list import find_circuits, resolve
from whistlestop.store.circuits.file import read_circuit

READ = partial(read_circuit, catalogue=CATALOGUE)


def put(folder: Path, name: str, extra: str = "") -> Path:
    """Write a small valid circuit, with more keys in front of its station."""
    folder.mkdir(exist_ok=True)
    path = folder / name
    body = f'format = 1\nname = "{path.stem}"\n{extra}\n[[station]]\n'
    path.write_text(body + 'exercise = "press-up"\n', encoding="utf-8")
    return path


def listing(*folders: Path):
    return find_circuits(folders, read=READ)


def whats(found, path: Path) -> list[str]:
    return [problem.what for problem in found.problems[path]]


def test_circuits_of_all_folders_are_found_by_id(tmp_path):
    """In the order of the ids; a folder that is not there is empty."""
    put(tmp_path / "one", "b.toml")
    put(tmp_path / "two", "file.toml", 'id = "a"')
    found = listing(tmp_path / "one", tmp_path / "none", tmp_path / "two")
    assert list(found.circuits) == ["a", "b"]
    assert found.circuits["a"].path == tmp_path / "two" / "file.toml"
    assert found.circuits["b"].circuit.name == "b"
    assert (found.problems, found.duplicates) == ({}, {})


def test_a_bad_file_is_named_and_hides_no_other(tmp_path):
    put(tmp_path, "good.toml")
    bad = put(tmp_path, "bad.toml", "work = 1")
    found = listing(tmp_path)
    assert list(found.circuits) == ["good"]
    assert whats(found, bad) == ["work is 1 s"]
    assert found.problems[bad][0].line == 3


def test_an_id_in_two_files_is_an_error_that_names_both(tmp_path):
    """Neither file wins, and each problem names the other file."""
    one = put(tmp_path / "one", "a.toml")
    two = put(tmp_path / "two", "other.toml", 'id = "a"')
    found = listing(one.parent, two.parent)
    assert found.circuits == {}
    assert found.duplicates == {"a": (one, two)}
    assert whats(found, one) == [f'the id "a" is also in {two}']
    with pytest.raises(ProblemsFound) as caught:
        resolve("a", [one.parent, two.parent], read=READ)
    assert str(one) in str(caught.value)
    assert str(two) in str(caught.value)


def test_a_folder_given_twice_is_read_once(tmp_path):
    put(tmp_path / "one", "a.toml")
    (tmp_path / "link").symlink_to(tmp_path / "one")
    found = listing(tmp_path / "one", tmp_path / "one", tmp_path / "link")
    assert list(found.circuits) == ["a"]
    assert found.duplicates == {}


def test_links_out_of_the_folder_are_refused_unread(tmp_path):
    """A link within the folder is only a second name, and so a second id."""
    outside = put(tmp_path / "outside", "secret.toml")
    inside = put(tmp_path / "in", "a.toml")
    out, gone, up, own = (
        inside.parent / f"{name}.toml" for name in ("out", "gone", "up", "own")
    )
    out.symlink_to(outside)
    gone.symlink_to(tmp_path / "nothing.toml")
    up.symlink_to(Path("..") / "outside" / "secret.toml")
    own.symlink_to("a.toml")
    read = []

    def noted(path: Path):
        read.append(path)
        return READ(path)

    found = find_circuits([inside.parent], read=noted)
    assert whats(found, out) == whats(found, up) == ["the link leads out of the folder"]
    assert whats(found, gone) == ["the link leads nowhere"]
    assert sorted(found.circuits) == ["a", "own"]
    assert read == [inside, own]


def test_only_plain_toml_files_of_the_folder_itself_count(tmp_path):
    put(tmp_path, "a.toml")
    put(tmp_path, ".hidden.toml")
    put(tmp_path, "note.txt")
    put(tmp_path / "below", "b.toml")
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    found = listing(tmp_path)
    assert list(found.circuits) == ["a"]
    assert list(found.problems) == [pipe]


def test_a_folder_of_too_many_files_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(circuit_shelf, "MAX_FILES", 2)
    for name in "abc":
        put(tmp_path, f"{name}.toml")
    found = listing(tmp_path)
    assert list(found.circuits) == ["a", "b"]
    assert whats(found, tmp_path) == ["the folder holds 3 circuits; 2 are read"]


def test_an_argument_is_a_path_or_an_id(tmp_path, monkeypatch):
    """What holds a separator or ends in .toml is a path, all else an id."""
    put(tmp_path / "shelf", "a.toml")
    put(tmp_path / "here", "b.toml")
    put(tmp_path / "here", "plain")
    monkeypatch.chdir(tmp_path / "here")
    folders = [tmp_path / "shelf"]

    def found(argument: str) -> str:
        return resolve(argument, folders, read=READ).id

    assert found("a") == "a"
    assert found("b.toml") == "b"
    assert found("./plain") == "plain"
    assert found(str(tmp_path / "shelf" / "a.toml")) == "a"
    with pytest.raises(UsageError):
        found("b")
    with pytest.raises(ProblemsFound, match="there is no such file"):
        found("a.toml")


def test_an_unknown_id_suggests_the_nearest(tmp_path):
    put(tmp_path, "wet-saturday.toml")
    bad = put(tmp_path, "dry-sunday.toml", "work = 1")
    with pytest.raises(UsageError) as caught:
        resolve("wet-saterday", [tmp_path], read=READ)
    assert str(caught.value) == (
        'there is no circuit with the id "wet-saterday" (nearest id: "wet-saturday"; '
        "1 file has problems and cannot be used)"
    )
    with pytest.raises(ProblemsFound, match="work is 1 s"):
        resolve(bad.stem, [tmp_path], read=READ)
    with pytest.raises(UsageError) as caught:
        resolve("\x1b[2J\n", [], read=READ)
    assert caught.value.message == ('there is no circuit with the id "\\x1b[2J\\x0a"')
