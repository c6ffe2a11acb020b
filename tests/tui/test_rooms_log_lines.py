"""One line of the log for each kind of item: as entered, and within its page."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from whistlestop.review.items import ItemKind, LogItem
from whistlestop.tui.rooms.log.lines import (
    date_text,
    efforts_text,
    header_row,
    item_row,
    none_rows,
    text_rows,
)
from whistlestop.tui.widgets.safe_text import plain, width_of

TODAY = date(2026, 3, 14)


def item(**changes: object) -> LogItem:
    first = LogItem(
        "20260312T163000Z-0000",
        ItemKind.SESSION,
        date(2026, 3, 12),
        date(2026, 3, 12),
        "Rainy shed",
        wall="2026-03-12T17:30:00+01:00",
        length_ms=1_800_000,
        best_work_ms=90_000,
        plan_work_ms=120_000,
        efforts=(5, None, 6.5),
        effort=6,
        load_effort=6.0,
        load_au=180.0,
        ending="complete",
    )
    return replace(first, **changes)  # type: ignore[arg-type]


def line(one: LogItem, cells: int = 78) -> str:
    return plain(item_row(one, chosen=False, cells=cells, today=TODAY))


def test_a_session_says_share_efforts_and_load():
    told = line(item())
    assert told.startswith("  12 Mar 17:30  Rainy shed ")
    assert " 75 %  5 – 6.5 " in told
    assert told.endswith("6   180 AU")


def test_what_is_not_entered_is_said_and_what_is_derived_is_marked():
    unrated = item(efforts=(None, None), effort=None, load_effort=None, load_au=None)
    assert line(unrated).count("not entered") == 2
    assert line(unrated).endswith("–")
    derived = item(effort=None, load_effort=5.75, is_derived=True, load_au=172.5)
    assert "5.8 d" in line(derived)


def test_how_it_ended_stands_beside_the_name_and_never_in_its_place():
    stopped = item(ending="stopped", name="A circuit with a long name")
    assert "stopped" in line(stopped)
    assert "A circui" in line(stopped)
    much = replace(stopped, name="Shed", is_amended=True, problems=2)
    assert "Shed stopped, amended, check" in line(much, 130)


def test_other_training_says_its_minutes_and_a_mark_its_last_day():
    ride = item(
        kind=ItemKind.TRAINING, name="cycling", efforts=(), plan_work_ms=0, wall=""
    )
    assert "12 Mar " in line(ride)
    assert "30 min" in line(ride)
    assert "%" not in line(ride)
    ill = LogItem("d-1", ItemKind.MARK, date(2026, 3, 12), date(2026, 3, 14), "illness")
    assert line(ill).split() == ["12", "Mar", "illness", "to", "14", "Mar"]


def test_dates_of_other_years_and_of_no_day_at_all():
    before = item(day=date(2024, 3, 12))
    assert date_text(before, TODAY) == "Tue 12 Mar 2024"
    assert date_text(item(day=None), TODAY) == "no date"
    assert date_text(item(), TODAY, with_day=False) == "12 Mar 17:30"
    assert efforts_text(item(efforts=(None, None))) == "not entered"


@pytest.mark.parametrize("cells", [8, 40, 78, 118, 198])
@pytest.mark.parametrize("name", ["Shed", "日本" * 40, "", "e\u0301" * 30])
def test_a_line_fits_its_page(cells, name):
    rows = [
        header_row(cells),
        item_row(
            item(name=name, ending="stopped", is_amended=True),
            chosen=True,
            cells=cells,
            today=TODAY,
        ),
    ]
    if cells >= 78:
        assert all(width_of(one) <= cells for one in rows)
        assert width_of(rows[0]) == width_of(rows[1])


def test_nothing_found_names_what_was_wanted():
    [one] = none_rows("shed from 2031-05-01", 78)
    assert plain(one) == "  No match in the log: shed from 2031-05-01"


def test_a_long_line_of_the_completion_log_breaks_between_columns():
    text = (
        "  2 One-arm row                left   19 s of 19 s  full  load 16 kg, count 9"
    )
    told = [plain(one) for one in text_rows(text, 68)]
    assert told[0] == "    2 One-arm row                left   19 s of 19 s  full"
    assert told[1] == "        load 16 kg, count 9"
    assert [plain(one) for one in text_rows("short", 60)] == ["  short"]
