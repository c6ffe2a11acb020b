"""`verify`: gaps, damage and copies are named, and nothing is changed by looking."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from whistlestop.store.diary.file import append_step, diary_path
from whistlestop.store.journal.file import ending_for, journal_path
from whistlestop.store.journal.line import encode
from whistlestop.store.journal.verify import verify_log

ID = "20310412T061502Z-3f9a"
LINES: list[dict[str, Any]] = [
    {"s": 0, "k": "start", "t": 0, "id": ID, "plan": {}},
    {"s": 1, "k": "done", "t": 40_000, "ms": 40_000},
    {"s": 2, "k": "seen", "t": 41_000},
    {"s": 3, "k": "seen", "t": 42_000},
    {"s": 4, "k": "end", "t": 43_000, "why": "complete"},
    {"s": 5, "k": "sum", "t": 43_000, "why": "complete"},
]


@pytest.fixture
def log(tmp_path: Path) -> Path:
    write(tmp_path, LINES)
    return tmp_path


def write(log: Path, lines: list[dict[str, Any]]) -> Path:
    path = journal_path(log, ID)
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(b"".join(encode(line) for line in lines))
    return path


def problems(log: Path) -> tuple[str, ...]:
    (file,) = verify_log(log).files
    return file.problems


def test_a_whole_log_is_sound(log: Path) -> None:
    append_step(diary_path(log), [{"k": "x"}], wall="2031-05-12T20:00:00+02:00")
    state = verify_log(log)
    assert state.is_sound
    assert [file.lines for file in state.files] == [6, 2]


def test_no_folder_is_a_sound_log(tmp_path: Path) -> None:
    assert verify_log(tmp_path / "none").is_sound


def test_missing_lines_are_named_by_their_numbers(log: Path) -> None:
    write(log, [LINES[0], LINES[3], LINES[5]])
    assert problems(log) == (
        "the lines with s = 1 to 2 are missing",
        "the line with s = 4 is missing",
    )
    assert verify_log(log).files[0].is_open


def test_half_a_journal_is_named(log: Path) -> None:
    path = write(log, LINES)
    data = path.read_bytes()
    path.write_bytes(data[len(data) // 2 :])
    sentences = " ".join(problems(log))
    assert "the first line with the plan is missing" in sentences
    assert "missing" in sentences


RESUMED: list[dict[str, Any]] = [
    {"s": 2, "k": "done", "t": 41_000, "ms": 1_000},
    {"s": 3, "k": "gap", "t": 42_000, "gap_ms": 9_000, "cause": "ended"},
    {"s": 4, "k": "end", "t": 43_000, "why": "complete"},
]


def test_what_a_crash_left_of_the_last_line_is_no_damage(log: Path) -> None:
    """Cut at each byte: of a session that was never taken up again, and of one."""
    begun = b"".join(encode(line) for line in LINES[:2])
    last, later = encode(LINES[2])[:-1], b"".join(encode(line) for line in RESUMED)
    path = write(log, LINES)
    for cut in range(1, len(last) + 1):
        tail = last[:cut]
        for data in (begun + tail, begun + tail + ending_for(tail) + later):
            path.write_bytes(data)
            (file,) = verify_log(log).files
            assert file.problems == ()
            (sentence,) = file.cut_off
            assert sentence.startswith("line 3: it ")
            assert f"({cut} bytes without a newline)" in sentence


@pytest.mark.parametrize("bit", range(8))
def test_a_newline_that_was_flipped_is_no_crash(log: Path, bit: int) -> None:
    path = write(log, LINES[:3])
    data = bytearray(path.read_bytes())
    data[-1] ^= 1 << bit
    path.write_bytes(bytes(data))
    assert len(problems(log)) == 1


def test_a_line_damaged_before_a_resume_is_told_from_one_that_was_cut_off(
    log: Path,
) -> None:
    """Its number was not given again: what it was is missing."""
    path = write(log, [*LINES[:3], {"s": 3, "k": "gap", "t": 1, "cause": "ended"}])
    path.write_bytes(path.read_bytes().replace(b'"k":"seen"', b'"k"_"seen"'))
    assert problems(log) == (
        "line 3: it is not JSON; it is set aside",
        "the line with s = 2 is missing",
    )


def test_a_flipped_bit_and_a_hand_edit_are_told_apart(log: Path) -> None:
    path = write(log, LINES)
    flipped = path.read_bytes().replace(b'"ms":40000', b'"ms":40001')
    path.write_bytes(flipped)
    assert "line 2: its checksum is wrong; it is set aside" in problems(log)
    path.write_bytes(b'{"s":6,"k":"note","t":44000,"text":"by hand"}\n')
    assert "somebody changed it by hand" in " ".join(problems(log))


def test_a_missing_sum_is_no_damage_and_another_sessions_start_is(log: Path) -> None:
    other = {**LINES[0], "id": "20310413T061502Z-3f9a"}
    write(log, [other, *LINES[1:5]])
    assert problems(log) == ("its first line is that of another session",)


def test_a_copy_of_a_journal_is_compared_with_it_and_not_counted(log: Path) -> None:
    path = journal_path(log, ID)
    copy = path.with_name(f"{ID} (conflicted copy).jsonl")
    copy.write_bytes(b"".join(encode(line) for line in LINES[:3]))
    state = verify_log(log)
    assert len(state.files) == 1
    assert not state.is_sound
    (found,) = state.copies
    assert (found.path, found.is_read, found.missing) == (copy, False, 0)
    assert "has all its lines, so it can be removed" in found.what
    copy.write_bytes(path.read_bytes() + encode({"s": 6, "k": "note", "text": "x"}))
    (found,) = verify_log(log).copies
    assert found.missing == 1
    assert "keep the better of the two" in found.what
    path.unlink()
    (found,) = verify_log(log).copies
    assert f"named 2031/{ID}.jsonl, it would be a session" in found.what


def test_copies_of_the_diary_say_whether_they_are_read(log: Path) -> None:
    append_step(diary_path(log), [{"k": "x"}], wall="2031-05-12T20:00:00+02:00")
    copy = log / "diary.sync-conflict-1.jsonl"
    copy.write_bytes(diary_path(log).read_bytes())
    other = log / "diary.jsonl.bak"
    other.write_bytes(b"anything")
    state = verify_log(log)
    assert [(c.path, c.is_read, c.missing) for c in state.copies] == [
        (other, False, None),
        (copy, True, 0),
    ]
    append_step(copy, [{"k": "y"}], wall="2031-05-12T20:01:00+02:00")
    assert verify_log(log).copies[1].missing == 1


def test_decisions_are_read_as_well(log: Path) -> None:
    (log / "decisions.jsonl").write_bytes(b"no line\n")
    assert any("line 1" in p for f in verify_log(log).files for p in f.problems)


def test_looking_changes_nothing(log: Path) -> None:
    path = write(log, LINES[:3])
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    verify_log(log)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_a_folder_in_the_place_of_a_file_is_named(log: Path) -> None:
    diary_path(log).mkdir()
    assert any("folder" in p for f in verify_log(log).files for p in f.problems)
