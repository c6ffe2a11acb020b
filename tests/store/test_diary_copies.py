"""Conflict copies of a diary: each line once, in a defined order, damage named."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.review.diary import fold
from whistlestop.store.diary.copies import (
    conflict_copies,
    likenesses,
    read_with_copies,
    stamp_of,
    take_over,
)
from whistlestop.store.diary.file import append_step, diary_path, read_diary
from whistlestop.store.journal.line import encode

COPY = "diary (conflicted copy 2031-05-12).jsonl"


def wall(minute: int) -> str:
    return f"2031-05-12T20:{minute:02}:00.000+02:00"


def put(path: Path, minute: int, **fields: Any) -> int:
    line = {"k": "x", **fields}
    return append_step(path, [line], wall=wall(minute))[0]


def ride(number: int) -> dict[str, Any]:
    made = {"k": "training", "id": f"d-{number}", "day": "2031-05-12"}
    return {**made, "sport": "x", "length_ms": 60_000}


def texts(path: Path) -> list[object]:
    lines = read_with_copies(path).lines
    return [line.fields["text"] for line in lines if "text" in line.fields]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return diary_path(tmp_path / "log")


@pytest.fixture
def copy(path: Path) -> Path:
    """A common beginning; then minute 2 here and minutes 1 and 3 on the other."""
    put(path, 0, text="common")
    copy = path.with_name(COPY)
    copy.write_bytes(path.read_bytes())
    put(path, 2, text="here 2")
    put(copy, 1, text="there 1")
    put(copy, 3, text="there 3")
    return copy


@pytest.mark.parametrize(
    "name",
    [
        COPY,
        "diary.sync-conflict-20310512-200000-AAAAAAA.jsonl",
        "diary (Konflikt).jsonl",
        "diary (1).jsonl",
        "diary 2.jsonl",
        "Diary-CONFLICT.JSONL",
    ],
)
def test_names_that_sync_tools_give_are_recognised(path: Path, name: str) -> None:
    """Forms of names from memory: no list of them is published."""
    put(path, 0)
    path.with_name(name).touch()
    assert [each.name for each in conflict_copies(path)] == [name]


@pytest.mark.parametrize("name", ["diary.jsonl.bak", "diary.jsonl~", "diary-old.jsonl"])
def test_what_an_editor_keeps_is_named_and_not_read(path: Path, name: str) -> None:
    """What was taken out by hand must not come back."""
    put(path, 0)
    path.with_name(name).write_bytes(path.read_bytes())
    assert conflict_copies(path) == ()
    assert [each.name for each in likenesses(path)] == [name]


def test_lines_stand_once_in_the_order_of_their_times(path: Path, copy: Path) -> None:
    assert texts(path) == ["common", "there 1", "here 2", "there 3"]
    (read,) = read_with_copies(path).copies
    assert (read.path, read.lines, read.missing) == (copy, 4, 2)


def test_taking_over_reads_the_same_afterwards(path: Path, copy: Path) -> None:
    before = read_with_copies(path)
    took = take_over(path)
    assert took.missing == 2
    after = read_with_copies(path)
    assert after.missing == 0
    copy.unlink()
    alone = read_with_copies(path)
    sentences = [
        [(x.sequence, x.fields.get("text")) for x in m.lines] for m in (after, alone)
    ]
    assert sentences == [[(x.sequence, x.fields.get("text")) for x in before.lines]] * 2
    assert take_over(path).missing == 0
    numbers = sorted(x.sequence or 0 for x in alone.lines)
    assert numbers == list(range(5))


def test_nothing_that_stood_in_the_diary_is_written_anew(
    path: Path, copy: Path
) -> None:
    before = path.read_bytes()
    take_over(path)
    assert path.read_bytes().startswith(before)


def test_two_copies_with_the_same_line_give_it_once(path: Path, copy: Path) -> None:
    path.with_name("diary (2).jsonl").write_bytes(copy.read_bytes())
    assert texts(path) == ["common", "there 1", "here 2", "there 3"]


def test_a_diary_that_is_gone_is_read_from_its_copy(path: Path, copy: Path) -> None:
    path.unlink()
    assert texts(path) == ["common", "there 1", "there 3"]
    assert fold(read_with_copies(path).lines).problems == ()
    take_over(path)
    copy.unlink()
    assert texts(path) == ["common", "there 1", "there 3"]


def test_the_later_of_two_amendments_stands(path: Path) -> None:
    """By their times, whichever file lost."""
    of = "20310412T061502Z-3f9a"
    put(path, 0)
    copy = path.with_name(COPY)
    copy.write_bytes(path.read_bytes())
    put(path, 5, k="amend", of=of, set={"note": "later"})
    put(copy, 4, k="amend", of=of, set={"note": "earlier"})
    for _ in range(2):
        assert fold(read_with_copies(path).lines).amended(of)["note"] == "later"
        take_over(path)


def test_an_undo_of_the_copy_takes_back_its_own_line(path: Path) -> None:
    """Both files have a line 2, and the undo of one says nothing of the other."""
    put(path, 0, **ride(0))
    copy = path.with_name(COPY)
    copy.write_bytes(path.read_bytes())
    put(path, 1, **ride(1))
    number = put(copy, 2, **ride(2))
    put(copy, 3, k="undo", of=number)
    put(copy, 4, k="undo", of=1)
    for _ in range(2):
        diary = fold(read_with_copies(path).lines)
        assert diary.problems == ()
        assert [entry.id for entry in diary.present] == ["d-1"]
        take_over(path)
    copy.unlink()
    diary = fold(read_diary(path).lines)
    assert [entry.id for entry in diary.present] == ["d-1"]


def test_damaged_lines_of_a_copy_are_named_and_the_rest_counts(
    path: Path, copy: Path
) -> None:
    copy.write_bytes(copy.read_bytes().replace(b"there 1", b"there X") + b'{"k":"x')
    merged = read_with_copies(path)
    assert texts(path) == ["common", "here 2", "there 3"]
    text = merged.copies[0].problems
    assert text[0].startswith(f"{COPY}, line 3: its checksum is wrong")
    assert text[1].startswith(f"{COPY}: its last 7 bytes were never acknowledged")


def test_a_line_damaged_in_the_diary_comes_from_the_copy(path: Path) -> None:
    put(path, 0, text="one")
    path.with_name(COPY).write_bytes(path.read_bytes())
    path.write_bytes(path.read_bytes().replace(b"one", b"two"))
    counted = [line for line in read_with_copies(path).lines if line.counts]
    assert [line.fields.get("text") for line in counted] == [None, "one"]


def test_a_line_corrected_by_hand_is_not_brought_back(path: Path) -> None:
    put(path, 0, text="wrong")
    copy = path.with_name(COPY)
    copy.write_bytes(path.read_bytes())
    head = path.read_bytes().splitlines(keepends=True)[0]
    line = f'{{"s":1,"k":"x","wall":"{wall(0)}","a":"a1","text":"right"}}\n'
    path.write_bytes(head + line.encode())
    assert texts(path) == ["right"]
    (problem,) = read_with_copies(path).copies[0].problems
    assert problem == f"{COPY}, line 2: changed by hand; the diary's stands"


def test_a_copy_of_a_later_format_is_named_and_not_read(path: Path) -> None:
    put(path, 0, text="one")
    head = encode({"s": 0, "k": "diary", "format": 2})
    path.with_name(COPY).write_bytes(head + encode({"s": 1, "k": "x", "text": "new"}))
    assert texts(path) == ["one"]
    (problem,) = read_with_copies(path).copies[0].problems
    assert "it is of a later format, and not read" in problem


def test_a_folder_of_that_name_is_named(path: Path) -> None:
    put(path, 0, text="one")
    path.with_name(COPY).mkdir()
    assert texts(path) == ["one"]
    assert "there is a folder" in read_with_copies(path).copies[0].problems[0]


def test_the_stamp_changes_with_the_diary_and_with_each_copy(path: Path) -> None:
    stamps = [stamp_of(path)]
    put(path, 0)
    stamps.append(stamp_of(path))
    copy = path.with_name(COPY)
    copy.write_bytes(path.read_bytes())
    stamps.append(stamp_of(path))
    put(copy, 1)
    stamps.append(stamp_of(path))
    assert len(set(stamps)) == 4


@settings(max_examples=examples(60), deadline=None)
@given(
    common=st.integers(0, 3),
    here=st.lists(st.integers(0, 59), max_size=5),
    there=st.lists(st.integers(0, 59), max_size=5),
)
def test_a_union_holds_every_line_once_whatever_the_times(
    tmp_path_factory: pytest.TempPathFactory,
    common: int,
    here: list[int],
    there: list[int],
) -> None:
    """Each file keeps its own order, and taking over changes nothing."""
    path = diary_path(tmp_path_factory.mktemp("log"))
    for n in range(common):
        put(path, 0, text=f"c{n}")
    copy = path.with_name(COPY)
    if common:
        copy.write_bytes(path.read_bytes())
    for n, minute in enumerate(here):
        put(path, minute, text=f"h{n}")
    for n, minute in enumerate(there):
        put(copy, minute, text=f"t{n}")
    found = texts(path)
    for mark, count in (("c", common), ("h", len(here)), ("t", len(there))):
        assert [x for x in found if str(x)[0] == mark] == [
            f"{mark}{n}" for n in range(count)
        ]
    assert len(found) == common + len(here) + len(there)
    take_over(path)
    assert texts(path) == found
    copy.unlink(missing_ok=True)
    assert texts(path) == found
