"""Blank days counted as rest from a day on: what a week and the trends then say.

Worked out by hand. 5 May 2031 is a Monday. Monday has a ride of 60 min at 5 = 300 AU,
Wednesday one of 40 min at 5 = 200 AU; nothing else is entered.

| blank days count as rest from | until      | load of the week | blank as rest |
|-------------------------------|------------|------------------|---------------|
| never                         | -          | at least 500     | 0             |
| 5 May                         | 11 May     | 500              | 5             |
| 5 May                         | 10 May     | at least 500     | 4             |
| 8 May                         | 11 May     | at least 500     | 4             |
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from whistlestop.review.days import DayKind, DaySpan, Training, blank_spans, day_book
from whistlestop.review.diary import book_of, fold
from whistlestop.review.numbers import week
from whistlestop.review.trends import drifts, trend_days
from whistlestop.store.journal.line import decode, encode

MONDAY = date(2031, 5, 5)
WEEK = DaySpan(MONDAY, date(2031, 5, 11))


def day(of_may: int) -> date:
    return date(2031, 5, of_may)


RIDES = [
    Training(day(5), 3_600_000, 5.0, DayKind.OTHER, "ride", "a"),
    Training(day(7), 2_400_000, 5.0, DayKind.OTHER, "ride", "b"),
]


@pytest.mark.parametrize(
    ("first", "until", "load", "blanks"),
    [
        (None, 11, None, 0),
        (5, 11, 500.0, 5),
        (5, 10, None, 4),
        (8, 11, None, 4),
    ],
)
def test_a_week_is_whole_where_its_blank_days_count_as_rest(
    first: int | None, until: int, load: float | None, blanks: int
) -> None:
    stated = [] if first is None else [(day(first), True)]
    book = day_book(RIDES, [], blank_spans(stated, day(until)))
    found = week(book, WEEK)
    assert found.load.value == load
    assert found.entered.value == 500
    assert found.entered.blanks == blanks


@pytest.mark.parametrize(
    ("stated", "spans"),
    [
        ([], []),
        ([(1, True)], [(1, 20)]),
        ([(1, True), (10, False)], [(1, 9)]),
        ([(10, True), (1, True)], [(1, 20)]),
        ([(1, True), (10, False), (15, True)], [(1, 9), (15, 20)]),
        ([(1, True), (1, False)], []),
        ([(10, False), (1, True)], [(1, 20)]),
        ([(21, True)], []),
    ],
)
def test_what_was_stated_last_stands_from_its_day_on(
    stated: list[tuple[int, bool]], spans: list[tuple[int, int]]
) -> None:
    found = blank_spans([(day(d), rest) for d, rest in stated], day(20))
    assert found == [DaySpan(day(a), day(b)) for a, b in spans]


def test_the_diary_remembers_it_and_an_undo_takes_it_back() -> None:
    made = [
        {"s": 0, "k": "diary", "format": 1},
        {"s": 1, "k": "blanks", "id": "b1", "first": "2031-05-05", "count": "rest"},
    ]
    undone = [*made, {"s": 2, "k": "undo", "of": 1}]
    for lines, is_rest in ((made, True), (undone, False)):
        diary = fold([decode(encode(each)) for each in lines])
        assert diary.problems == ()
        book = book_of(diary, today=day(12))
        assert book.day(day(6)).is_blank_as_rest == is_rest
        # Today is not over: it may still be trained on.
        assert book.day(day(12)).is_open


def test_a_wrong_line_is_named_and_counts_for_nothing() -> None:
    lines = [
        {"s": 0, "k": "diary", "format": 1},
        {"s": 1, "k": "blanks", "id": "b1", "first": "2031-05-05", "count": "perhaps"},
    ]
    diary = fold([decode(encode(each)) for each in lines])
    assert len(diary.problems) == 1
    assert "rest or open" in diary.problems[0]


def test_lines_say_from_when_every_day_is_known() -> None:
    """Known to 10 May, blank on 11 May, then known from 12 May to 23 May.

    12 known days in a row: enough for 7 days back, not for 28.
    """
    known = [*range(1, 11), *range(12, 24)]
    rides = [
        Training(day(d), 3_600_000, 5.0, DayKind.OTHER, "ride", str(d)) for d in known
    ]
    line = trend_days(day_book(rides).days(DaySpan(day(1), day(23))))
    short, long = drifts(line)
    assert short.change.value == pytest.approx(0)
    assert long.now.value == pytest.approx(300)
    assert long.change.value is None
    assert long.words().endswith(
        "300 now; every day is known since 12 May 2031, and its change shows from "
        "9 Jun 2031 on"
    )
    assert day(12) + timedelta(days=28) == date(2031, 6, 9)


def test_on_a_day_that_is_not_known_there_is_no_line() -> None:
    line = trend_days(day_book(RIDES).days(DaySpan(day(5), day(8))))
    assert drifts(line)[0].words().endswith("no line: 8 May 2031 is not known")
