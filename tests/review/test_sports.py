"""Circuits beside the main sport: shares of a week, minutes and load by sport.

Worked out by hand. Week of 5 May 2031, all of it logged:

| day | what          | minutes | effort | AU  |
|-----|---------------|---------|--------|-----|
| Mon | Shed circuit  | 20      | 6      | 120 |
| Tue | cycling       | 100     | 5      | 500 |
| Thu | Shed circuit  | 20      | 3      | 60  |
| Sat | cycling       | 60      | -      | ?   |
| Sun | running       | 40      | 3      | 120 |

Circuits 180 of 800 AU that are known: 22.5 %. Without the ride's effort the week is at
least 800 AU, and so the share is of what is known.
"""

from __future__ import annotations

from datetime import date

import pytest

from whistlestop.review.chart_text import BLOCKS, PLAIN
from whistlestop.review.charts import weeks_chart
from whistlestop.review.days import DayKind, DaySpan, Training, day_book
from whistlestop.review.numbers import SportSum, by_sport, week

WEEK = DaySpan(date(2031, 5, 5), date(2031, 5, 11))
ROWS = [
    (5, "Shed", DayKind.CIRCUIT, 20, 6.0),
    (6, "cycling", DayKind.OTHER, 100, 5.0),
    (8, "Shed", DayKind.CIRCUIT, 20, 3.0),
    (10, "cycling", DayKind.OTHER, 60, None),
    (11, "running", DayKind.OTHER, 40, 3.0),
]
TRAININGS = [
    Training(date(2031, 5, d), minutes * 60_000, effort, kind, name, f"{d}")
    for d, name, kind, minutes, effort in ROWS
]


def test_the_share_of_circuits_is_of_what_is_known() -> None:
    found = week(day_book(TRAININGS, [], [WEEK]), WEEK)
    assert found.load.value is None
    assert (found.entered.value, found.circuits.value) == (800, 180)
    assert found.circuit_share == pytest.approx(0.225)


def test_without_any_load_there_is_no_share() -> None:
    assert week(day_book([], [], [WEEK]), WEEK).circuit_share is None


def test_minutes_and_load_by_sport_circuits_as_one() -> None:
    assert by_sport(TRAININGS) == (
        SportSum("cycling", 2, 160 * 60_000, 500.0, without_effort=1),
        SportSum("circuits", 2, 40 * 60_000, 180.0),
        SportSum("running", 1, 40 * 60_000, 120.0),
    )


@pytest.mark.parametrize(("glyphs", "lower"), [(BLOCKS, "▓"), (PLAIN, "C")])
def test_a_bar_has_its_circuits_below_and_says_their_share(glyphs, lower) -> None:
    """8 rows for 800 AU: 180 AU are 1.8 of them, so two rows hold circuits."""
    book = day_book([t for t in TRAININGS if t.effort is not None], [], [WEEK])
    chart = weeks_chart([week(book, WEEK)], 60, glyphs)
    assert sum(lower * 5 in line for line in chart.lines) == 2
    assert "circuits 180 AU, 22 %" in chart.sentences[0]
    assert any(line.split() == ["circuits", "22", "%"] for line in chart.lines)


def test_with_circuits_alone_nothing_is_said_of_shares() -> None:
    book = day_book([t for t in TRAININGS if t.kind is DayKind.CIRCUIT], [], [WEEK])
    chart = weeks_chart([week(book, WEEK)], 60, BLOCKS)
    assert "▓" not in "".join(chart.lines)
    assert "; circuits" not in chart.sentences[0]
