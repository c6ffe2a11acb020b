"""CSV read in: columns told, rows judged, nothing guessed."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.effort import Effort
from whistlestop.review.exchange.import_csv import (
    CsvReading,
    columns_of,
    keys_of,
    read_day,
    read_rows,
    read_table,
)
from whistlestop.review.exchange.import_options import Order, read_length_ms

LAST = date(2031, 5, 31)
PLAIN = "date,sport,minutes,effort,note\n2031-05-12,ride,90,5,windy\n"


def reading(text: str, order: Order | None = None, **asked: str) -> CsvReading:
    table = read_table(text)
    return read_rows(table, columns_of(table, asked), order=order, last=LAST)


def test_a_plain_table_is_read() -> None:
    found = reading(PLAIN)
    assert found.problems == ()
    (ride,) = found.found
    assert (ride.day, ride.sport, ride.note) == (date(2031, 5, 12), "ride", "windy")
    assert (ride.length_ms, ride.effort) == (5_400_000, Effort(10))
    assert ride.line == 2


@pytest.mark.parametrize(
    "text",
    [
        "Datum;Sportart;Dauer;RPE\n12.5.2031;Rad;1:30:00;6,5\n",
        "\ufeffDatum\tSportart\tDauer\tRPE\r\n12.5.2031\tRad\t90 min\t6.5\r\n",
        'Dauer,"RPE",Sportart,Datum\n"90.0","6,5",Rad,2031/05/12 18:00\n',
    ],
)
def test_other_separators_orders_and_habits(text: str) -> None:
    found = reading(text, order="dmy")
    assert found.problems == ()
    (one,) = found.found
    assert (one.day, one.sport) == (date(2031, 5, 12), "Rad")
    assert (one.length_ms, one.effort) == (5_400_000, Effort(13))


def test_columns_are_told_where_their_names_are_strange() -> None:
    table = read_table("wann,wie lang,was\n2031-05-12,60,lauf\n")
    with pytest.raises(ValueError, match="--map date=NAME"):
        columns_of(table, {})
    told = {"date": "Wann", "minutes": "wie lang", "sport": "was"}
    assert columns_of(table, told) == {"date": 0, "sport": 2, "minutes": 1}
    with pytest.raises(ValueError, match="no one column"):
        columns_of(table, {**told, "note": "nirgends"})
    with pytest.raises(ValueError, match="none of date"):
        columns_of(table, {"colour": "was"})


def test_a_told_column_is_not_taken_twice() -> None:
    table = read_table("date,start,minutes\n2031-05-12,2031-05-13,60\n")
    assert columns_of(table, {"date": "start"})["date"] == 1


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("05/06/2031,ride,90,5,", "two ways"),
        ("2031-02-30,ride,90,5,", "no day 2031-02-30"),
        ("2031-06-01,ride,90,5,", "still to come"),
        ("yesterday,ride,90,5,", "not a date"),
        ("2031-05-12,ride,0,5,", "above 0"),
        ("2031-05-12,ride,1501,5,", "24 hours"),
        ("2031-05-12,ride,long,5,", "45:00, or hours as 1:02:30"),
        ("2031-05-12,ride,1:30,5,", "two ways"),
        ("2031-05-12,ride,90,11,", "0 to 10"),
        ("2031-05-12,ride,90,6.3,", "half point"),
        ("2031-05-12,ri\x07de,90,5,", "control characters"),
        ("2031-05-12,ride,90,5," + "x" * 401, "400 characters"),
        ("2031-05-12", "not a length"),
    ],
)
def test_a_row_that_cannot_be_read_is_named_by_its_line(row: str, words: str) -> None:
    found = reading(f"{PLAIN}{row}\n2031-05-14,swim,30,,\n")
    assert [one.sport for one in found.found] == ["ride", "swim"]
    (problem,) = found.problems
    assert problem.startswith("line 3: ")
    assert words in problem


def test_a_cell_over_two_lines_keeps_the_numbers_of_lines_right() -> None:
    text = 'date,minutes,note\n2031-05-12,10,"a\nb"\nnever,10,\n'
    assert [p.split(":")[0] for p in reading(text).problems] == ["line 2", "line 4"]


def test_a_date_in_two_ways_is_read_as_it_is_told() -> None:
    assert read_day("05/06/2031", "dmy") == date(2031, 6, 5)
    assert read_day("05/06/2031", "mdy") == date(2031, 5, 6)
    assert read_day("25/06/2031", None) == date(2031, 6, 25)
    assert read_day("06/25/2031", None) == date(2031, 6, 25)
    assert read_day("06.06.2031", None) == date(2031, 6, 6)
    with pytest.raises(ValueError, match="no day"):
        read_day("06/25/2031", "dmy")


@pytest.mark.parametrize(
    ("text", "ms"),
    [
        ("90", 5_400_000),
        ("42.5", 2_550_000),
        ("42,25 min", 2_535_000),
        ("45:00", 2_700_000),
        ("10:00", 600_000),
        ("90:30", 5_430_000),
        ("1:02:30", 3_750_000),
        ("1:30:00", 5_400_000),
        ("0:08:15", 495_000),
        ("0:42:30", 2_550_000),
    ],
)
def test_lengths(text: str, ms: int) -> None:
    assert read_length_ms(text) == ms


@pytest.mark.parametrize(
    ("text", "words"),
    [("1:30", "1:30:00 or 0:01:30"), ("9:59", "9:59:00 or 0:09:59")],
)
def test_a_length_in_two_ways_is_refused_with_both_named(text: str, words: str) -> None:
    """As minutes too short for a training, as hours a usual one: not guessed."""
    with pytest.raises(ValueError, match=words):
        read_length_ms(text)


def test_what_is_entered_already_is_left_out_once_each() -> None:
    table = read_table(PLAIN + "2031-05-12,Ride,90,5,\n")
    known = keys_of([{"day": "2031-05-12", "sport": "RIDE", "length_ms": 5_400_000}])
    found = read_rows(table, columns_of(table, {}), last=LAST, known=known)
    assert [one.line for one in found.known] == [2]
    assert [one.line for one in found.found] == [3]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("\n\n", "empty"),
        ('date,minutes\n"open,5\n', "line 2"),
        ("date\0,minutes\n", "not text"),
        (",".join("x" * 201), "200 columns"),
        ("date,minutes\n" + "2031-05-12,5\n" * 20_002, "20000 rows"),
    ],
)
def test_what_is_no_table_is_refused(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_table(text)


@MODERATE
@given(st.text(max_size=300))
def test_any_text_is_read_or_refused_in_text(text: str) -> None:
    try:
        table = read_table(f"date,minutes\n{text}")
    except ValueError:
        return
    found = read_rows(table, columns_of(table, {}), last=LAST)
    assert len(found.found) + len(found.problems) == len(table.rows)
    assert all(p.startswith("line ") for p in found.problems)


@MODERATE
@given(st.lists(st.text(max_size=12), min_size=5, max_size=5))
def test_any_cells_are_read_or_named(cells: list[str]) -> None:
    quoted = ",".join('"{}"'.format(cell.replace('"', '""')) for cell in cells)
    try:
        found = reading(f"date,sport,minutes,effort,note\n{quoted}\n")
    except ValueError:
        return
    assert len(found.found) + len(found.problems) <= 1
