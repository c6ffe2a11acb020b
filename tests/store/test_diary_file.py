"""The diary on disk: whole steps or nothing, no line swallowed, copies named."""

from __future__ import annotations

import errno
import multiprocessing
import os
import stat
from pathlib import Path

import pytest

from whistlestop.errors import StoreError
from whistlestop.store.diary.file import (
    append_step,
    diary_path,
    read_diary,
    steps,
)
from whistlestop.store.journal.line import encode

WALL = "2031-05-12T20:00:00.000+02:00"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return diary_path(tmp_path / "log")


def put(path: Path, *texts: str) -> tuple[int, ...]:
    return append_step(path, [{"k": "x", "text": text} for text in texts], wall=WALL)


def test_a_diary_that_is_not_there_has_no_lines(path: Path) -> None:
    assert read_diary(path).lines == ()
    assert not path.parent.exists()


def test_the_first_step_names_the_format_and_numbers_go_on(path: Path) -> None:
    assert put(path, "one") == (1,)
    assert put(path, "two", "three") == (2, 3)
    lines = read_diary(path).lines
    assert [line.fields["s"] for line in lines] == [0, 1, 2, 3]
    assert (lines[0].kind, lines[0].fields["format"]) == ("diary", 1)
    assert {line.fields["wall"] for line in lines} == {WALL}
    assert {line.fields["a"] for line in lines} == {"a1"}
    assert {line.state for line in lines} == {"ok"}


def test_it_is_for_its_owner_only(path: Path) -> None:
    put(path, "one")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_torn_tail_is_named_and_swallows_nothing(path: Path) -> None:
    put(path, "one")
    with path.open("ab") as file:
        file.write(b'{"s":2,"k":"x","te')
    assert read_diary(path).problems == ()
    assert "never acknowledged" in read_diary(path).cut_off[0]
    assert put(path, "after") == (2,)
    found = read_diary(path)
    assert found.problems == ()
    assert found.cut_off == (
        "line 3: it was cut off, never acknowledged; it is set aside",
    )
    assert [line.fields.get("text") for line in found.lines if line.counts] == [
        None,
        "one",
        "after",
    ]


def test_a_line_damaged_after_it_counted_is_no_crash(path: Path) -> None:
    """Its number was not given again; and who lacks only its newline lost that."""
    put(path, "one", "two")
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b'"text":"one"', b'"text"_"one"'))
    assert read_diary(path).cut_off == ()
    assert len(read_diary(path).problems) == 1
    for last in (b"", b"\x0b"):
        path.write_bytes(whole[:-1] + last)
        assert read_diary(path).cut_off == ()
        assert len(read_diary(path).problems) == 1


def test_a_tail_that_only_lacks_its_newline_was_not_acknowledged(path: Path) -> None:
    put(path, "one")
    with path.open("ab") as file:
        file.write(encode({"s": 2, "k": "x", "text": "never said"}).rstrip(b"\n"))
    put(path, "after")
    texts = [x.fields.get("text") for x in read_diary(path).lines if x.counts]
    assert texts == [None, "one", "after"]


def test_a_disk_that_fills_up_takes_the_whole_step_back(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(path, "one")
    before = path.read_bytes()
    real, count = os.write, 0

    def short(fd: int, data: bytes) -> int:
        nonlocal count
        count += 1
        if count > 1:
            raise OSError(errno.ENOSPC, "full")
        return real(fd, data[: len(data) // 2])

    monkeypatch.setattr(os, "write", short)
    with pytest.raises(StoreError, match=r"disk is full.*nothing was changed"):
        put(path, "two", "three")
    assert path.read_bytes() == before


def test_a_link_in_its_place_is_refused(path: Path, tmp_path: Path) -> None:
    path.parent.mkdir()
    other = tmp_path / "other"
    other.write_text("mine\n")
    path.symlink_to(other)
    with pytest.raises(StoreError):
        put(path, "one")
    assert other.read_text() == "mine\n"


def _many(path: Path, word: str) -> None:
    for n in range(40):
        append_step(path, [{"k": "x", "text": f"{word}{n}"}], wall=WALL)


def test_two_programs_at_once_lose_nothing_and_share_no_number(path: Path) -> None:
    spawn = multiprocessing.get_context("spawn")
    both = [spawn.Process(target=_many, args=(path, word)) for word in "ab"]
    for process in both:
        process.start()
    for process in both:
        process.join()
    lines = read_diary(path).lines
    assert [line.sequence for line in lines] == list(range(81))
    texts = {line.fields["text"] for line in lines[1:]}
    assert texts == {f"{word}{n}" for word in "ab" for n in range(40)}


def test_lines_of_one_step_are_found_together(path: Path) -> None:
    put(path, "alone")
    append_step(
        path,
        [{"k": "x", "text": "a", "step": "s1"}, {"k": "x", "text": "b", "step": "s1"}],
        wall=WALL,
    )
    found = steps(read_diary(path).lines)
    texts = [[line.fields["text"] for line in step] for step in found]
    assert texts == [["alone"], ["a", "b"]]
