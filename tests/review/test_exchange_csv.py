"""CSV and JSON Lines, read back by other readers: no value lost, nothing run."""

from __future__ import annotations

import csv
import io
import json
from datetime import date

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.text import shown
from whistlestop.review.exchange.csv import COLUMNS, csv_text, guarded, unguarded
from whistlestop.review.exchange.jsonl import jsonl_text
from whistlestop.review.items import ItemKind, LogItem, item_json

DAY = date(2031, 4, 12)
SHED = LogItem(
    "20310412T061502Z-3f9a",
    ItemKind.SESSION,
    DAY,
    DAY,
    'Shed, "wet"',
    wall="2031-04-12T08:15:02+02:00",
    circuit="shed",
    length_ms=1_800_000,
    elapsed_ms=1_860_000,
    efforts=(5, None, 6.5),
    effort=6,
    load_effort=6.0,
    load_au=180.0,
    note="steady; 3,5 kg - fine",
    discomforts=(("knee", "left", 3),),
    exercises=("push-up", "dead-bug"),
    best_work_ms=360_000,
    plan_work_ms=400_000,
)
RIDE = LogItem(
    "d-0001",
    ItemKind.TRAINING,
    DAY,
    DAY,
    "Radfahren Ü",
    length_ms=5_400_000,
    load_effort=4 + 2 / 3,
    is_derived=True,
    load_au=420.0,
)


def rows(*items: LogItem) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_text(items), newline=""), strict=True))


def test_every_line_ends_as_rfc_4180_says_and_has_every_column() -> None:
    text = csv_text([SHED, RIDE])
    assert text.count("\r\n") == 3
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    found = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert tuple(found[0]) == COLUMNS
    assert {len(row) for row in found} == {len(COLUMNS)}


def test_the_csv_module_reads_the_values_back() -> None:
    shed, ride = rows(SHED, RIDE)
    assert shed["name"] == 'Shed, "wet"'
    assert (shed["day"], shed["session_ms"]) == ("2031-04-12", "1800000")
    assert (shed["efforts"], shed["session_effort"]) == ("5|-|6.5", "6")
    assert (shed["discomforts"], shed["note"]) == ("knee, left, 3", SHED.note)
    assert shed["exercises"] == "push-up|dead-bug"
    assert (ride["effort_is_derived"], ride["load_effort"]) == ("yes", "4.6667")
    assert (ride["session_effort"], ride["efforts"]) == ("", "")


def test_pandas_reads_the_values_back() -> None:
    frame = pd.read_csv(io.StringIO(csv_text([SHED, RIDE])))
    assert list(frame["load_au"]) == [180, 420]
    assert list(frame["session_ms"] / 60_000) == [30, 90]
    assert list(frame["name"]) == ['Shed, "wet"', "Radfahren Ü"]
    assert pd.isna(frame["session_effort"][1])


def test_no_items_are_a_header() -> None:
    assert csv_text([]).rstrip("\r\n").split(",") == list(COLUMNS)


@pytest.mark.parametrize("name", ["=1+1", "+49", "-x", "@sum", "'=1", "'"])
def test_a_cell_that_a_table_would_run_is_guarded_and_comes_back(name: str) -> None:
    """Formula injection: common practice, no source."""
    (row,) = rows(LogItem("x", ItemKind.TRAINING, DAY, DAY, name))
    assert row["name"][0] == "'"
    assert unguarded(row["name"]) == name


@MODERATE
@given(st.text(max_size=60))
def test_any_text_comes_back_whole_but_for_what_is_hostile(text: str) -> None:
    assert unguarded(guarded(text)) == text
    (row,) = rows(LogItem("x", ItemKind.TRAINING, DAY, DAY, text, note=text))
    assert unguarded(row["note"]) == shown(text, 4_000)
    assert len(rows(SHED, LogItem("x", ItemKind.MARK, DAY, DAY, text), RIDE)) == 3


def test_json_lines_say_what_log_json_says() -> None:
    text = jsonl_text([SHED, RIDE])
    assert [json.loads(line) for line in text.splitlines()] == [
        item_json(SHED),
        item_json(RIDE),
    ]
    assert text.isascii()
    assert pd.read_json(io.StringIO(text), lines=True)["load_au"].sum() == 600
