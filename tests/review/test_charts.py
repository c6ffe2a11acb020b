"""The charts: golden at three widths, plain ASCII, and a sentence for each point."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from functools import lru_cache
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.golden import same_as_golden
from tests.support.plans import FEW, MODERATE

from whistlestop.domain.columns import cells_of
from whistlestop.review.chart_text import (
    BLOCKS,
    PLAIN,
    Chart,
    ChartBar,
    ChartPaper,
    Glyphs,
    Panel,
    Role,
    fitted,
    flat_bar,
    safe,
)
from whistlestop.review.charts import (
    SessionEfforts,
    balance_chart,
    efforts_chart,
    station_chart,
    weeks_chart,
    year_chart,
)
from whistlestop.review.days import (
    DayBook,
    DayKind,
    DaySpan,
    FixedDays,
    Mark,
    Training,
    day_book,
)
from whistlestop.review.numbers import weeks
from whistlestop.review.stations import Bout, LoopEffort, Share

FIRST = date(2031, 1, 6)
LAST = date(2031, 6, 8)
HOSTILE = "\x1b[2J\u202e[/] Kniebeuge 深蹲 é\n"


@lru_cache(maxsize=1)
def book() -> DayBook:
    """22 weeks: circuits, rides, an illness, a trip, blanks from May on."""
    trainings = []
    for n in range((LAST - FIRST).days + 1):
        day = FIRST + timedelta(days=n)
        if n % 7 in {1, 4} and not 84 <= n < 91:
            trainings.append(
                Training(
                    day,
                    (30 + n % 11) * 60_000,
                    None if n == 116 else 5 + n % 3 / 2,
                    DayKind.CIRCUIT,
                    "Garage ten",
                    f"c{n}",
                    effort_is_derived=n % 28 == 4,
                )
            )
        if n % 7 in {2, 4, 6} and n != 90:
            effort = 3 + n % 5 / 2
            ride = Training(
                day, (60 + n % 31) * 60_000, effort, DayKind.OTHER, "ride", f"o{n}"
            )
            trainings.append(ride)
    ill = DaySpan(date(2031, 3, 3), date(2031, 3, 6))
    trip = DaySpan(date(2031, 4, 8), date(2031, 4, 9))
    logged = DaySpan(FIRST, date(2031, 4, 30))
    return day_book(trainings, [(Mark.ILLNESS, ill), (Mark.TRAVEL, trip)], [logged])


def efforts() -> list[SessionEfforts]:
    rows: list[list[float | None]] = [
        [5, 6, 7.5],
        [5, 5, 5],
        [6, None, 5.5],
        [0, 10, 10],
        [None, None, None],
        [4, 4.5, 5, 5.5, 6, 6, 6.5, 7, 7, 7.5, 8, 8.5],
    ]
    return [
        SessionEfforts(
            FIRST + timedelta(days=9 * n),
            "Garage ten",
            tuple(
                LoopEffort(i, e, partial=(n, i) == (2, 3)) for i, e in enumerate(r, 1)
            ),
        )
        for n, r in enumerate(rows)
    ]


def row(n: int, loop: int) -> Bout:
    """A row with each arm, two kilograms more every fourth session."""
    right_ms = 12_000 if n == 3 else 20_000
    band = n == 1
    kg = 8 + n // 4 * 2
    return Bout(
        FIRST + timedelta(days=4 * n),
        f"c{n}",
        loop,
        "row",
        "One-arm row",
        "arms",
        "pull",
        (
            Share("left", 20_000, 20_000, 20_000),
            Share("right", 20_000, right_ms, 12_000),
        ),
        "band: green" if band else f"{kg} kg",
        None if band else float(kg),
        12 if n == 2 else None,
    )


def squat(loop: int) -> Bout:
    shares = (Share("both", 40_000, 40_000, 40_000),)
    return Bout(FIRST, "c0", loop, "squat", "Squat", "legs", "squat", shares)


ROWS = [row(n, loop) for n in range(12) for loop in (1, 2)]
SPAN = DaySpan(FIRST, LAST)

Make = Callable[[int, Glyphs], Chart]
CHARTS: dict[str, Make] = {
    "weeks": lambda w, g: weeks_chart(weeks(book(), SPAN), w, g),
    "efforts": lambda w, g: efforts_chart(efforts(), w, g),
    "station": lambda w, g: station_chart(ROWS, w, g),
    "year": lambda w, g: year_chart(book(), 2031, LAST, w, g),
    "balance": lambda w, g: balance_chart([*ROWS, *map(squat, range(1, 9))], w, g),
}
EMPTY: dict[str, Make] = {
    "weeks": lambda w, g: weeks_chart([], w, g),
    "efforts": lambda w, g: efforts_chart([], w, g),
    "station": lambda w, g: station_chart([], w, g),
    "balance": lambda w, g: balance_chart([], w, g),
}


def written(chart: Chart) -> str:
    """The chart, and below it what its cursor says."""
    sentences = [f"{n}: {chart.at(n)}" for n in range(len(chart.sentences))]
    return "\n".join([*chart.lines, "", *sentences]) + "\n"


@pytest.mark.parametrize("width", [60, 100, 160])
@pytest.mark.parametrize("name", CHARTS)
def test_charts_look_as_they_were_looked_at(name: str, width: int) -> None:
    chart = CHARTS[name](width, BLOCKS)
    same_as_golden(f"charts/{name}-{width}.txt", written(chart))


@pytest.mark.parametrize("width", [60, 100, 160])
@pytest.mark.parametrize("name", CHARTS)
def test_the_plain_form_is_ascii_and_looks_as_it_was_looked_at(
    name: str, width: int
) -> None:
    text = written(CHARTS[name](width, PLAIN))
    assert text.isascii()
    same_as_golden(f"charts/{name}-{width}-plain.txt", text)


@FEW
@given(st.sampled_from(sorted(CHARTS)), st.integers(1, 200), st.booleans())
def test_no_row_is_ever_wider_than_asked_and_spots_lie_within(
    name: str, width: int, plain: bool
) -> None:
    chart = CHARTS[name](width, PLAIN if plain else BLOCKS)
    assert max(cells_of(line) for line in chart.lines) <= width
    assert len(chart.row_ranges) == len(chart.sentences) > 0
    assert all(0 <= spot.row < len(chart.rows) for spot in chart.row_ranges)
    if width >= 60:
        assert all(spot.column + spot.width <= width for spot in chart.row_ranges)


@pytest.mark.parametrize("name", CHARTS)
def test_roles_are_only_names_and_lose_nothing_when_left_out(name: str) -> None:
    """Without colour the rows are the same text; with it every run has one role."""
    chart = CHARTS[name](100, BLOCKS)
    assert all(isinstance(run.role, Role) for row in chart.rows for run in row)
    for cells_of_row, line in zip(chart.rows, chart.lines, strict=True):
        assert "".join(run.text for run in cells_of_row) == line
        assert all(one.role is not two.role for one, two in pairwise(cells_of_row))


@pytest.mark.parametrize("name", CHARTS)
def test_a_cursor_beyond_an_end_stays_at_the_end(name: str) -> None:
    chart = CHARTS[name](100, BLOCKS)
    assert chart.at(-5) == chart.sentences[0]
    assert chart.at(10_000) == chart.sentences[-1]


@pytest.mark.parametrize("name", EMPTY)
@pytest.mark.parametrize("glyphs", [BLOCKS, PLAIN])
def test_with_nothing_to_show_a_chart_says_so(name: str, glyphs: Glyphs) -> None:
    chart = EMPTY[name](60, glyphs)
    assert chart.row_ranges == ()
    assert chart.at(0) == "nothing to show yet"


@pytest.mark.parametrize("name", CHARTS)
def test_what_a_cursor_says_begins_with_what_it_stands_on(name: str) -> None:
    """Each spot lies on the label or mark of the very thing that is spoken of."""
    chart = CHARTS[name](100, BLOCKS)
    for spot, sentence in zip(chart.row_ranges, chart.sentences, strict=True):
        here = chart.lines[spot.row].ljust(100)[spot.column :][: spot.width].strip()
        if name == "weeks":
            assert here.rstrip("+d") in sentence
        elif name == "efforts":
            assert sentence.startswith(here.split("│")[0].strip())
        elif name == "balance":
            assert here in sentence
        elif name == "station":
            assert f"{here} s in" in sentence
        else:
            words = {"●": ": circuit", "○": ": other", "i": "illness", "t": "travel"}
            words |= {"-": "counts as rest", "·": "not known", "": "not yet"}
            assert here == "◆" or words[here] in sentence


def test_a_year_has_a_place_for_every_day_leap_years_too() -> None:
    for year, days in ((2031, 365), (2032, 366)):
        chart = year_chart(DayBook(), year, date(year, 12, 31), 60)
        assert len(chart.sentences) == len(set(chart.row_ranges)) == days
        assert chart.sentences[-1] == f"31 Dec {year}: blank, not known"


def test_a_year_names_every_shape_that_it_uses_and_no_other() -> None:
    text = "\n".join(CHARTS["year"](100, BLOCKS).lines)
    for word in ("● circuit", "○ other", "i illness", "t travel", "· blank"):
        assert word in text
    assert "x off" not in text


def test_a_narrow_year_says_that_some_marks_are_told_at_the_cursor() -> None:
    """At 60 cells a day has one cell, and both days of travel had a training."""
    chart = CHARTS["year"](60, BLOCKS)
    text = "\n".join(chart.lines)
    assert "t travel" not in text
    assert "move the cursor to see marks" in text
    assert "move the cursor to see marks" not in "\n".join(
        CHARTS["year"](100, BLOCKS).lines
    )
    assert "travel" in chart.at(date(2031, 4, 8).timetuple().tm_yday - 1)


def test_a_hostile_name_reaches_no_row_and_no_sentence() -> None:
    day = FIRST
    hostile = Training(day, 60_000, 5.0, DayKind.OTHER, HOSTILE, "x")
    bouts = [Bout(day, "s", 1, "x", HOSTILE, HOSTILE, "x", squat(1).shares, HOSTILE)]
    for glyphs in (BLOCKS, PLAIN):
        charts = [
            station_chart(bouts, 60, glyphs),
            balance_chart(bouts, 60, glyphs),
            efforts_chart([SessionEfforts(day, HOSTILE, ())], 60, glyphs),
            year_chart(day_book([hostile]), 2031, LAST, 60, glyphs),
        ]
        for chart in charts:
            text = "".join([*chart.lines, *chart.sentences])
            assert not any(c in text for c in "\x1b\u202e\n")
            assert max(map(cells_of, chart.lines)) <= 60
            assert text.isascii() or glyphs is BLOCKS


def test_wide_characters_take_two_cells() -> None:
    """Unicode Standard Annex 11: CJK ideographs are wide, combining marks are none."""
    assert cells_of("深蹲") == 4
    assert cells_of("e\u0301") == 1
    assert fitted("深蹲深蹲", 5) == "深蹲…"
    sheet = ChartPaper(5, BLOCKS)
    sheet.put(0, 0, "深蹲深蹲", Role.TEXT)
    assert [run.text for run in sheet.rows()[0]] == ["深蹲"]


def test_text_is_folded_to_ascii_for_the_plain_form() -> None:
    assert safe("Ausfallschritt é × 深", PLAIN) == "Ausfallschritt e x ?"
    assert safe("Ausfallschritt é × 深", BLOCKS) == "Ausfallschritt é × 深"


@MODERATE
@given(
    st.lists(st.just(0.0) | st.floats(0.01, 5_000), min_size=1, max_size=8),
    st.sampled_from([BLOCKS, PLAIN]),
    st.booleans(),
)
def test_a_bar_is_as_high_as_its_value_to_half_a_cell(
    values: list[float], glyphs: Glyphs, is_open: bool
) -> None:
    """Counted from the drawing: eighths in blocks, whole cells otherwise."""
    height, peak = 8, max(values)
    sheet = ChartPaper(70, glyphs)
    Panel(0, height, 1, 7, peak).draw(sheet, [ChartBar(v, is_open) for v in values])
    lines = ["".join(run.text for run in row).ljust(70) for row in sheet.rows()]
    for index, value in enumerate(values):
        column = [line[1 + 7 * index] for line in lines]
        eighths = sum(
            "▁▂▃▄▅▆▇█".index(c) + 1 if c in "▁▂▃▄▅▆▇█" else 8 * (c in "#:▒")
            for c in column
        )
        exact = value / peak * height * 8 if peak else 0
        assert (eighths > 0) is (value > 0)
        finest = glyphs is BLOCKS and not is_open
        # The lowest cell is drawn for any value, so that little is not nothing.
        lowest = 0 < exact < 4
        assert abs(eighths - exact) <= (1 if finest else 8 if lowest else 4.5)


def test_a_flat_bar_shows_anything_above_nothing() -> None:
    assert flat_bar(0, 40, BLOCKS) == ""
    assert flat_bar(0.001, 40, BLOCKS) == "█"
    assert flat_bar(0.5, 40, PLAIN) == "#" * 20


def test_charts_judge_nothing() -> None:
    """No ratio, no gate, no word of risk or guilt in any row or sentence."""
    for make in CHARTS.values():
        text = written(make(160, BLOCKS)).lower()
        for word in (
            "risk",
            "ratio",
            "danger",
            "optimal",
            "should",
            "too ",
            "!",
            "bad",
        ):
            assert word not in text


def test_races_and_key_sessions_stand_at_their_week_and_day() -> None:
    empty = day_book([], [], [])
    fixed = FixedDays(
        frozenset({date(2031, 5, 18)}),
        frozenset({date(2031, 5, 13), date(2031, 5, 18)}),
    )
    span = DaySpan(date(2031, 5, 5), date(2031, 5, 18))
    chart = weeks_chart(weeks(empty, span), 60, fixed=fixed)
    [row] = [line.split() for line in chart.lines if "dates" in line]
    assert row == ["dates", "RK"]
    assert "R race" in " ".join(chart.lines)
    assert chart.sentences[-1].endswith("; race on 18 May; key session on 13 May")
    assert "race" not in chart.sentences[0]
    year = year_chart(empty, 2031, date(2031, 5, 14), 60, fixed=fixed)
    at = {day: year.sentences[(day - date(2031, 1, 1)).days] for day in fixed.key_days}
    assert at[date(2031, 5, 13)] == "13 May 2031: key session; blank, not known"
    assert at[date(2031, 5, 18)] == "18 May 2031: race; not yet"
    [may] = [line for line in year.lines if line.startswith("May")]
    assert (may.count("K"), may.count("R")) == (1, 1)
