"""Journals as files: names, listing, reading whatever is found there."""

import os
import random
import tracemalloc
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from whistlestop.domain.text import first_hostile
from whistlestop.errors import StoreError
from whistlestop.store.journal import file as journal_file
from whistlestop.store.journal.file import (
    ending_for,
    is_session_id,
    journal_path,
    list_journals,
    new_session_id,
    parse_chunks,
    parse_journal,
    read_journal,
)
from whistlestop.store.journal.line import encode
from whistlestop.store.journal.verify import missing_lines

ID = "20310412T061502Z-3f9a"
RAW = [
    encode({"s": 0, "k": "start", "t": 0, "id": ID, "note": "é"}),
    encode({"s": 1, "k": "cmd", "t": 5000, "do": "next"}),
    encode({"s": 2, "k": "effort", "t": 6000, "loop": 1, "v": 6.5}),
    encode({"s": 3, "k": "seen", "t": 7000}),
    encode({"s": 4, "k": "end", "t": 8000, "why": "complete"}),
    encode({"s": 5, "k": "sum", "t": 8000, "why": "complete"}),
]
DATA = b"".join(RAW)


def parsed(data):
    return parse_journal(Path(f"{ID}.jsonl"), data)


def sequences(journal):
    return [line.sequence for line in journal.lines]


def test_an_id_is_the_start_in_utc_and_chance():
    start = datetime(2031, 4, 12, 8, 15, 2, tzinfo=timezone(timedelta(hours=2)))
    ids = {new_session_id(start) for _ in range(50)}
    assert all(one.startswith("20310412T061502Z-") for one in ids)
    assert all(is_session_id(one) for one in ids)
    assert len(ids) > 40
    with pytest.raises(ValueError, match="zone"):
        new_session_id(datetime(2031, 4, 12))


def test_a_path_is_made_of_a_true_id_only(tmp_path):
    assert journal_path(tmp_path, ID) == tmp_path / "2031" / f"{ID}.jsonl"
    for bad in ("", "../../x", f"{ID}\n", f"{ID} (1)", ID.upper(), "\x1b[2J"):
        with pytest.raises(StoreError) as caught:
            journal_path(tmp_path, bad)
        assert first_hostile(str(caught.value)) is None


def test_a_whole_journal_has_all_its_parts():
    journal = parsed(DATA)
    assert sequences(journal) == [0, 1, 2, 3, 4, 5]
    assert (journal.torn_tail, journal.problems, journal.set_aside) == (None, (), ())
    assert journal.id == ID
    assert journal.start.fields["id"] == ID
    assert journal.sum.number == 6
    assert journal.is_finished
    assert journal.last_sequence == 5


def test_an_empty_file_is_an_empty_journal():
    journal = parsed(b"")
    assert (journal.lines, journal.problems, journal.last_sequence) == ((), (), -1)
    assert journal.start is journal.sum is journal.end is None


def test_cut_at_every_offset_exactly_the_whole_lines_count():
    looked_whole = 0
    for cut in range(len(DATA) + 1):
        journal = parsed(DATA[:cut])
        assert len(journal.lines) == DATA[:cut].count(b"\n")
        tail = DATA[:cut].rpartition(b"\n")[2]
        assert journal.torn_tail == (tail or None)
        assert (journal.problems, len(journal.cut_off)) == ((), bool(tail))
        looked_whole += "looks whole" in "".join(journal.cut_off)
    assert looked_whole == len(RAW)


def test_after_a_cut_at_any_offset_one_may_append_and_nothing_changes_before():
    """What was not counted before the repair is not counted after it either."""
    more = encode({"s": 9, "k": "gap", "t": 9000})
    for cut in range(len(DATA) + 1):
        before = parsed(DATA[:cut])
        after = parsed(DATA[:cut] + ending_for(before.torn_tail or b"") + more)
        assert after.torn_tail is None
        assert sequences(after) == [*sequences(before), 9]
        assert len(after.set_aside) == (before.torn_tail is not None)


def test_every_flipped_bit_costs_two_lines_at_most_and_invents_none():
    originals = {line.raw: line.fields for line in parsed(DATA).lines}
    known = list(originals.values())
    for bit in range(len(DATA) * 8):
        data = bytearray(DATA)
        data[bit // 8] ^= 1 << bit % 8
        journal = parsed(bytes(data))
        assert len(journal.lines) >= len(RAW) - 2
        assert all(line.fields in known for line in journal.lines)
        assert journal.problems


def test_a_wrong_checksum_sets_a_line_aside_and_names_it():
    journal = parsed(DATA.replace(b'"next"', b'"back"'))
    assert sequences(journal) == [0, 2, 3, 4, 5]
    assert journal.problems == ("line 2: its checksum is wrong; it is set aside",)
    assert [line.number for line in journal.set_aside] == [2]
    assert b'"back"' in journal.set_aside[0].raw


def test_a_line_edited_by_hand_counts_and_is_named():
    edited = b'{"s":2,"k":"effort","t":6000,"loop":1,"v":7}\r\n'
    journal = parsed(b"".join([*RAW[:2], edited, *RAW[3:]]))
    assert journal.lines[2].fields["v"] == 7
    assert journal.problems == (
        "line 3: it has no checksum; somebody changed it by hand",
    )


def test_a_line_added_by_hand_needs_no_number_and_stays_where_it_is():
    added = b'\n   \n{"k":"note","text":"windy"}\n'
    journal = parsed(b"".join([*RAW[:3], added, *RAW[3:]]))
    assert sequences(journal) == [0, 1, 2, None, 3, 4, 5]
    assert journal.lines[3].number == 6


def test_lines_out_of_order_are_put_in_order_and_named():
    journal = parsed(b"".join([RAW[0], RAW[2], RAW[1], *RAW[3:]]))
    assert sequences(journal) == [0, 1, 2, 3, 4, 5]
    assert journal.problems == ("line 3: it is out of order",)


def test_a_repeated_line_counts_once_and_a_second_claim_to_a_number_twice():
    other = encode({"s": 1, "k": "cmd", "t": 5001, "do": "skip"})
    journal = parsed(b"".join([RAW[0], RAW[1], RAW[1], other]))
    assert [line.fields.get("do") for line in journal.lines] == [None, "next", "skip"]
    assert journal.problems[0] == "line 3: it repeats line 2"
    assert "of line 2 and says something else" in journal.problems[1]


def test_the_last_sum_counts():
    late = encode({"s": 6, "k": "sum", "t": 8000, "why": "stopped"})
    assert parsed(DATA + late).sum.fields["why"] == "stopped"


def test_an_end_on_health_grounds_can_be_taken_back():
    end = encode({"s": 4, "k": "end", "t": 8000, "why": "health"})
    again = encode({"s": 5, "k": "cmd", "t": 8000, "do": "reopen"})
    assert parsed(RAW[0] + end).is_finished
    assert not parsed(RAW[0] + end + again).is_finished
    assert parsed(RAW[0] + end + again + encode({"s": 6, "k": "end"})).is_finished


def test_random_rubbish_never_raises_and_its_problems_may_be_shown():
    chance = random.Random(20310412)
    for _ in range(300):
        rubbish = chance.randbytes(chance.randrange(400))
        place = chance.randrange(len(DATA))
        journal = parsed(DATA[:place] + rubbish + DATA[place:])
        assert all(first_hostile(problem) is None for problem in journal.problems)


def test_a_missing_special_or_oversized_file_is_refused_in_text(tmp_path, monkeypatch):
    with pytest.raises(StoreError, match="it is not there"):
        read_journal(tmp_path / "none")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(StoreError, match="not an ordinary file"):
        read_journal(tmp_path / "pipe")
    (tmp_path / "large").write_bytes(DATA)
    monkeypatch.setattr(journal_file, "MAX_FILE_BYTES", 100)
    with pytest.raises(StoreError, match="larger than"):
        read_journal(tmp_path / "large")


def test_the_listing_counts_true_names_only_and_names_the_copies(tmp_path):
    other = "20310413T061502Z-0001"
    for name in (
        f"2031/{ID}.jsonl",
        f"2031/{other}.jsonl",
        f"2031/{ID} (conflicted copy 2031-04-13).jsonl",
        f"2031/{ID}.sync-conflict-20310413-101010-ABCDEFG.jsonl",
        f"2031/.{ID}.jsonl.tmp",
        "2031/notes.txt",
        f"2030/{ID}.jsonl",
        f"{ID}.jsonl",
        "readme",
    ):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(DATA)
    linked = tmp_path / "2031" / "20310414T061502Z-0002.jsonl"
    linked.symlink_to(tmp_path / "readme")
    listing = list_journals(tmp_path)
    assert [path.stem for path in listing.journals] == [ID, other]
    assert {path.relative_to(tmp_path).as_posix() for path in listing.strays} == {
        f"2031/{ID} (conflicted copy 2031-04-13).jsonl",
        f"2031/{ID}.sync-conflict-20310413-101010-ABCDEFG.jsonl",
        f"2031/.{ID}.jsonl.tmp",
        f"2030/{ID}.jsonl",
        f"{ID}.jsonl",
        "2031/20310414T061502Z-0002.jsonl",
    }


def test_no_log_folder_is_an_empty_log_and_a_file_in_its_place_an_error(tmp_path):
    assert list_journals(tmp_path / "none").journals == ()
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="cannot list"):
        list_journals(tmp_path / "file")


def test_ids_sort_by_time():
    early = new_session_id(datetime(2031, 4, 12, 23, 59, 59, tzinfo=UTC))
    late = new_session_id(datetime(2031, 4, 13, tzinfo=UTC))
    assert sorted([late, early]) == [early, late]


WALL = "2031-04-12T06:15:02.123+02:00"


def marked(first, count, t_ms=800):
    """Marks `seen` as journals of earlier versions hold them."""
    return b"".join(
        encode({"s": s, "k": "seen", "t": s * t_ms, "wall": WALL, "a": "a1"})
        for s in range(first, first + count)
    )


OLD = RAW[0] + marked(1, 400) + encode({"s": 401, "k": "note", "t": 330_000})
OLD += marked(402, 300) + encode({"s": 702, "k": "end", "t": 600_000})


@pytest.mark.parametrize("size", [1, 37, 1_000, 10**6])
def test_marks_of_an_earlier_version_are_folded_and_nothing_else_is(size):
    """In pieces of any size: the same moments, numbers and count, and no problem."""
    pieces = [OLD[at : at + size] for at in range(0, len(OLD), size)]
    journal = parse_chunks(Path(f"{ID}.jsonl"), pieces)
    assert journal.problems == ()
    assert sum(line.count for line in journal.lines) == 703
    assert [line.number for line in journal.lines if line.kind != "seen"] == [
        *(1, 402, 703)
    ]
    marks = [line for line in journal.lines if line.kind == "seen"]
    assert (marks[-1].sequence, marks[-1].fields["t"]) == (701, 701 * 800)
    assert journal.last_sequence == 702
    assert missing_lines(journal.lines) == ()
    if size == 10**6:
        assert len(journal.lines) == 5


def test_a_lost_or_damaged_mark_is_found_among_thousands():
    lines = OLD.splitlines(keepends=True)
    lost = parsed(b"".join(lines[:100] + lines[101:]))
    assert missing_lines(lost.lines) == ("the line with s = 100 is missing",)
    lines[200] = lines[200].replace(b'"t":1600', b'"t":1601')
    damaged = parsed(b"".join(lines))
    assert damaged.problems == ("line 201: its checksum is wrong; it is set aside",)


def test_a_run_that_stands_twice_is_counted_once():
    """As merging two copies of a file brings about."""
    note = encode({"s": 51, "k": "note", "t": 41_000, "text": "so so"})
    journal = parsed(RAW[0] + marked(1, 50) + marked(1, 50) + note)
    assert sum(line.count for line in journal.lines) == 52
    assert journal.problems == ("line 101: it repeats line 51",)
    longer = parsed(RAW[0] + marked(1, 50) + marked(1, 52))
    assert longer.problems == ("line 103: it is out of order",)
    assert longer.last_sequence == 52


def test_megabytes_of_marks_take_little_memory(tmp_path):
    """A hostile or very long journal: what is made of it stays small."""
    path = tmp_path / f"{ID}.jsonl"
    with path.open("wb") as file:
        file.write(RAW[0])
        for first in range(1, 100_001, 1_000):
            file.write(marked(first, 1_000))
    assert path.stat().st_size > 9_000_000
    tracemalloc.start()
    try:
        journal = read_journal(path)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 6_000_000
    assert journal.last_sequence == 100_000
    assert len(journal.lines) < 100
