"""The diary: every prefix is a state, undo restores, nothing unknown is lost."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.errors import StoreError
from whistlestop.review.days import DayKind, DaySpan, Mark, Training
from whistlestop.review.diary import Diary, DiaryEntry, book_of, fold, trainings_of
from whistlestop.store.diary.file import DiaryLines
from whistlestop.store.journal.line import JournalLine, decode, encode

HEAD = {"k": "diary", "format": 1}
RIDE = {
    "k": "training",
    "id": "d1",
    "day": "2031-05-12",
    "sport": "ride",
    "length_ms": 5_400_000,
    "effort": 4,
}
ILL = {
    "k": "mark",
    "id": "d2",
    "first": "2031-05-13",
    "last": "2031-05-15",
    "mark": "illness",
}
LOGGED = {"k": "logged", "id": "d3", "first": "2031-05-12", "last": "2031-05-18"}
ALONE = {
    "k": "session",
    "id": "d4",
    "day": "2031-05-16",
    "name": "Garage ten",
    "length_ms": 1_800_000,
}


def written(*fields: dict[str, Any]) -> list[JournalLine]:
    """Lines as they would be found: encoded, numbered, decoded."""
    wall = "2031-05-20T20:00:00+02:00"
    return [
        decode(encode({"s": s, "wall": wall, "a": "a1", **one}), s + 1)
        for s, one in enumerate(fields)
    ]


def diary_of(*fields: dict[str, Any]) -> Diary:
    return fold(written(HEAD, *fields))


def undo(of: int) -> dict[str, Any]:
    return {"k": "undo", "of": of}


def recorded(effort: float | None = 6.0, *, derived: bool = False) -> Training:
    day = date(2031, 5, 14)
    return Training(day, 1_800_000, effort, DayKind.CIRCUIT, "Ten", "j1", derived)


def state_of(diary: Diary) -> tuple[Any, ...]:
    """What counts, without the versions that tell how it came about."""
    return (
        [(e.id, e.kind, dict(e.values)) for e in diary.present],
        {of: v for of in diary.amendments if (v := dict(diary.amended(of)))},
        diary.removed,
    )


def test_an_empty_diary_is_a_diary() -> None:
    assert fold([]) == Diary()
    assert diary_of() == Diary(next_sequence=1)


def test_entries_become_trainings_marks_and_fully_logged_days() -> None:
    book = book_of(diary_of(RIDE, ILL, LOGGED, {**ALONE, "effort": 6.5}))
    ride = book.day(date(2031, 5, 12)).trainings[0]
    assert (ride.kind, ride.sport, ride.effort) == (DayKind.OTHER, "ride", 4)
    assert ride.load_au == 360
    assert book.day(date(2031, 5, 14)).marks == (Mark.ILLNESS,)
    alone = book.day(date(2031, 5, 16)).trainings[0]
    assert (alone.kind, alone.effort, alone.source_id) == (DayKind.CIRCUIT, 6.5, "d4")
    assert book.fully_logged == (DaySpan(date(2031, 5, 12), date(2031, 5, 18)),)
    assert book.day(date(2031, 5, 17)).is_blank_as_rest


def test_a_session_without_the_laptop_rated_by_loops_is_derived() -> None:
    """4, 6, 8 make 6.0, marked derived (reasoned from Foster 2021, IJSPP 16:612)."""
    (whole,) = trainings_of(diary_of({**ALONE, "efforts": [4, 6, 8]}))
    assert (whole.effort, whole.effort_is_derived) == (6.0, True)
    (part,) = trainings_of(diary_of({**ALONE, "efforts": [4, None, 8]}))
    assert (part.effort, part.effort_is_derived) == (None, False)
    (text,) = trainings_of(diary_of({**ALONE, "efforts": [4, 6, 8], "effort": 7}))
    assert (text.effort, text.effort_is_derived) == (7, False)


def test_every_version_of_a_change_is_kept() -> None:
    change = {"k": "change", "of": "d1", "set": {"effort": 5.5}}
    again = {"k": "change", "of": "d1", "set": {"note": "headwind"}}
    entry = diary_of(RIDE, change, again).entries["d1"]
    assert [v.values.get("effort") for v in entry.versions] == [4, 5.5, 5.5]
    assert [v.sequence for v in entry.versions] == [1, 2, 3]
    assert entry.values["note"] == "headwind"
    assert entry.values["sport"] == "ride"


def test_a_change_that_was_undone_is_kept_and_does_not_stand() -> None:
    change = {"k": "change", "of": "d1", "set": {"effort": 5.5}}
    more = {"k": "change", "of": "d1", "set": {"note": "headwind"}}
    entry = diary_of(RIDE, change, more, undo(2)).entries["d1"]
    assert [v.stands for v in entry.versions] == [True, False, True]
    assert (entry.values["effort"], entry.values["note"]) == (4, "headwind")


def test_an_amended_effort_replaces_a_derived_one_and_all_are_kept() -> None:
    first = {"k": "amend", "of": "j1", "set": {"effort": 7}}
    second = {"k": "amend", "of": "j1", "set": {"effort": 7.5, "note": "late"}}
    diary = diary_of(first, second)
    assert len(diary.amendments["j1"]) == 2
    (found,) = trainings_of(diary, [recorded(derived=True)])
    assert (found.effort, found.effort_is_derived) == (7.5, False)
    (before,) = trainings_of(diary_of(first, second, undo(2)), [recorded()])
    assert before.effort == 7


def test_an_effort_can_be_amended_to_not_entered() -> None:
    taken_back = {"k": "amend", "of": "j1", "set": {"effort": None}}
    (found,) = trainings_of(diary_of(taken_back), [recorded()])
    assert found.effort is None


def test_a_discomfort_is_amended_by_its_list() -> None:
    taken = [{"site": "knee", "side": "left", "level": 3}]
    diary = diary_of({"k": "amend", "of": "j1", "set": {"discomforts": taken}})
    assert diary.amended("j1")["discomforts"] == taken
    assert trainings_of(diary, [recorded()]) == (recorded(),)


def test_a_tombstone_hides_and_its_undo_brings_back() -> None:
    gone = diary_of(RIDE, {"k": "remove", "of": "d1"})
    assert gone.present == ()
    assert gone.entries["d1"].removed
    back = diary_of(RIDE, {"k": "remove", "of": "d1"}, undo(2))
    assert [entry.id for entry in back.present] == ["d1"]
    again = diary_of(RIDE, {"k": "remove", "of": "d1"}, undo(2), undo(3))
    assert again.present == ()


def test_a_recorded_session_can_lie_under_a_tombstone() -> None:
    diary = diary_of({"k": "remove", "of": "j1"})
    assert diary.removed == {"j1"}
    assert trainings_of(diary, [recorded()]) == ()
    back = diary_of({"k": "remove", "of": "j1"}, undo(1))
    assert trainings_of(back, [recorded()]) == (recorded(),)


@pytest.mark.parametrize(
    ("fields", "what"),
    [
        ({**RIDE, "day": "12.5.2031"}, "line 2: day: expected a day"),
        ({**RIDE, "day": 20310512}, "line 2: day: expected a day"),
        ({**RIDE, "length_ms": 0}, "line 2: length_ms: expected whole milliseconds"),
        ({**RIDE, "length_ms": True}, "line 2: length_ms: expected whole"),
        ({**RIDE, "length_ms": 90.5}, "line 2: length_ms: expected whole"),
        ({**RIDE, "effort": 10.5}, "line 2: effort: expected 0 to 10"),
        ({**RIDE, "effort": 6.25}, "line 2: effort: expected 0 to 10"),
        ({**RIDE, "effort": 10**400}, "line 2: effort: expected 0 to 10"),
        ({**RIDE, "effort": "6"}, "line 2: effort: expected 0 to 10"),
        ({**RIDE, "note": "x" * 401}, "line 2: note: expected a text"),
        ({**RIDE, "id": ""}, "line 2: id: expected an id"),
        ({**RIDE, "id": ["d1"]}, "line 2: id: expected an id"),
        ({k: v for k, v in RIDE.items() if k != "sport"}, "line 2: sport is missing"),
        ({**ALONE, "efforts": 6}, "line 2: efforts: expected a list"),
        ({**ALONE, "efforts": [11]}, "line 2: efforts: expected 0 to 10"),
        ({**ILL, "mark": "lazy"}, "line 2: mark: expected one of rest, illness"),
        ({**ILL, "mark": ["rest"]}, "line 2: mark: expected one of"),
        ({**ILL, "last": "2031-05-01"}, "line 2: a period ends on its first day"),
        ({**ILL, "last": "2199-01-01"}, "line 2: expected a period of up to"),
        ({"k": "change", "of": "d9", "set": {"note": ""}}, 'no entry "d9" before'),
        ({"k": "change", "of": "d9"}, "line 2: there is no entry"),
        ({"k": "amend", "of": "j1"}, "line 2: set: expected at least one"),
        ({"k": "amend", "of": "j1", "set": {"id": "x"}}, "id cannot be changed"),
        ({"k": "amend", "of": "j1", "set": {"effort": 11}}, "effort: expected 0 to"),
        (
            {"k": "amend", "of": "j1", "set": {"discomforts": [{"site": "knee"}]}},
            "discomforts: expected a text",
        ),
        ({"k": "remove"}, "line 2: of: expected an id"),
        (undo(0), "undoes no single line before it"),
        (undo(1), "undoes no single line before it"),
        (undo(7), "undoes no single line before it"),
        ({"k": "undo", "of": True}, "undoes no single line before it"),
    ],
)
def test_what_cannot_be_read_is_named_and_counts_for_nothing(
    fields: dict[str, Any], what: str
) -> None:
    diary = diary_of(fields, {**RIDE, "id": "good"})
    assert len(diary.problems) == 1
    assert what in diary.problems[0]
    assert [entry.id for entry in diary.present] == ["good"]
    assert diary.amendments == {}


def test_an_id_is_used_once() -> None:
    diary = diary_of(RIDE, {**RIDE, "sport": "run"})
    assert diary.entries["d1"].values["sport"] == "ride"
    assert diary.problems == ('line 3: the id "d1" is taken; this one is aside',)


def test_an_undo_of_a_number_that_stands_twice_is_refused() -> None:
    """Two copies of a synced folder may number alike; guessing would hide a line."""
    twice = decode(encode({"s": 1, "k": "training", **RIDE, "id": "d9"}), 3)
    last = decode(encode({"s": 2, **undo(1)}), 4)
    diary = fold([*written(HEAD, RIDE), twice, last])
    assert [entry.id for entry in diary.present] == ["d1", "d9"]
    assert diary.problems == ("line 4: it undoes no single line before it",)


def test_a_damaged_line_is_named_and_the_rest_is_read() -> None:
    raw = encode({"s": 1, **RIDE}).replace(b"ride", b"rode")
    lines = (*written(HEAD), decode(raw, 2), *written(HEAD, ILL)[1:])
    diary = fold(lines)
    assert DiaryLines(lines).problems == ("line 2: its checksum is wrong",)
    assert diary.problems == ()
    assert [entry.id for entry in diary.present] == ["d2"]


def test_a_line_changed_by_hand_counts() -> None:
    raw = (
        b'{"k":"training","id":"d1","day":"2031-05-12","sport":"run","length_ms":60000}'
    )
    (found,) = trainings_of(fold([*written(HEAD), decode(raw, 2)]))
    assert (found.sport, found.effort) == ("run", None)


def test_a_later_format_is_not_guessed_at() -> None:
    with pytest.raises(StoreError, match="format 2; this program reads up to 1"):
        fold(written({**HEAD, "format": 2}, RIDE))


@pytest.mark.parametrize("head", [{"k": "diary"}, {"k": "diary", "format": "1"}, RIDE])
def test_a_missing_format_is_named_and_read_as_the_first(head: dict[str, Any]) -> None:
    diary = fold(written(head, ILL))
    assert "read as 1" in diary.problems[0]
    assert "d2" in diary.entries


def test_lines_of_another_athlete_are_passed_by() -> None:
    other = decode(encode({"s": 1, "a": "a2", **RIDE}), 2)
    lines = [*written(HEAD), other]
    assert fold(lines).entries == {}
    assert list(fold(lines, "a2").entries) == ["d1"]
    assert fold(lines).next_sequence == 2


def test_unknown_kinds_and_fields_are_kept() -> None:
    diary = diary_of({**RIDE, "bike": "blue"}, {"k": "weather", "sun": [1, 2]})
    assert diary.problems == ()
    assert diary.entries["d1"].values["bike"] == "blue"
    assert [fields["sun"] for fields in diary.unknown] == [[1, 2]]


IDS = st.sampled_from(["d1", "d2", "d3"])
EFFORTS = st.none() | st.integers(0, 20).map(lambda halves: halves / 2)
OPERATIONS = st.one_of(
    st.builds(lambda i, e: {**RIDE, "id": i, "effort": e}, IDS, EFFORTS),
    st.builds(lambda i: {**ILL, "id": i}, IDS),
    st.builds(
        lambda i, e: {"k": "change", "of": i, "set": {"effort": e}}, IDS, EFFORTS
    ),
    st.builds(
        lambda i, e: {"k": "amend", "of": i, "set": {"effort": e}},
        st.sampled_from(["j1", "j2"]),
        EFFORTS,
    ),
    st.builds(lambda i: {"k": "remove", "of": i}, st.sampled_from(["d1", "d2", "j1"])),
    st.builds(undo, st.integers(0, 12)),
    st.builds(lambda n: {"k": "weather", "sun": n}, st.integers()),
)
STEPS = st.lists(OPERATIONS, max_size=12)


@MODERATE
@given(STEPS)
def test_every_prefix_is_a_valid_earlier_state(steps: list[dict[str, Any]]) -> None:
    """A longer diary adds versions and takes none away, whatever stands."""
    lines = written(HEAD, *steps)
    before = fold([])
    for end in range(1, len(lines) + 1):
        now = fold(lines[:end])
        assert now.next_sequence == end
        assert list(now.unknown)[: len(before.unknown)] == list(before.unknown)
        for name, entry in before.entries.items():
            if any(f.get("k") == "undo" for f in steps[: end - 1]):
                assert now.entries[name].id == entry.id
            else:
                kept = now.entries[name].versions[: len(entry.versions)]
                assert kept == entry.versions
        before = now


@MODERATE
@given(STEPS, OPERATIONS)
def test_undo_restores_and_undoing_the_undo_brings_back(
    steps: list[dict[str, Any]], step: dict[str, Any]
) -> None:
    """Of any line whatever, an undo included."""
    at = len(steps) + 1
    before, after = diary_of(*steps), diary_of(*steps, step)
    undone = diary_of(*steps, step, undo(at))
    assert state_of(undone) == state_of(before)
    assert state_of(diary_of(*steps, step, undo(at), undo(at + 1))) == state_of(after)


@MODERATE
@given(STEPS, st.text(max_size=8), st.integers())
def test_unknown_kinds_change_nothing_and_are_kept(
    steps: list[dict[str, Any]], word: str, number: int
) -> None:
    strange = {"k": f"x-{word}", "number": number}
    with_it = diary_of(*steps, strange)
    assert state_of(with_it) == state_of(diary_of(*steps))
    assert with_it.unknown[-1]["number"] == number


@MODERATE
@given(
    st.lists(
        st.dictionaries(
            st.sampled_from(["id", "of", "set", "day", "first", "mark", "effort"]),
            st.recursive(
                st.none() | st.booleans() | st.integers() | st.text(max_size=5),
                lambda inner: (
                    st.lists(inner, max_size=2)
                    | st.dictionaries(st.text(max_size=3), inner, max_size=2)
                ),
                max_leaves=4,
            ),
        ),
        max_size=6,
    ),
    st.sampled_from(["training", "session", "mark", "change", "amend", "undo"]),
)
def test_nothing_in_a_line_makes_the_fold_fall_over(
    fields: list[dict[str, Any]], kind: str
) -> None:
    diary = diary_of(*({**one, "k": kind} for one in fields))
    assert all(isinstance(entry, DiaryEntry) for entry in diary.present)
    book_of(diary, [recorded()])
