"""The plots of a page: marks where the figures are, and every value in words."""

from __future__ import annotations

import re
from datetime import date, timedelta
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.pages.season import FIRST, SPAN, material_of, season
from tests.support.plans import MODERATE

from whistlestop.pages.marks import PAPER, SKY
from whistlestop.pages.material import DiscomfortOnDay, Material
from whistlestop.pages.plots import Frame, ticks, trend_plot, weeks_plot, year_plot
from whistlestop.pages.station_plots import (
    balance_plot,
    efforts_plot,
    felt_plot,
    station_plot,
)
from whistlestop.review.charts import SessionEfforts
from whistlestop.review.days import DayBook, DayKind, DaySpan, Mark, Training, day_book
from whistlestop.review.numbers import weeks
from whistlestop.review.stations import LoopEffort
from whistlestop.review.trends import TrendDay, trend_days


@pytest.fixture(scope="module")
def material(tmp_path_factory: pytest.TempPathFactory) -> Material:
    return material_of(season(tmp_path_factory.mktemp("season")))


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def bars(svg: str, fill: str) -> list[ET.Element]:
    """The bars that tell something; a legend's do not."""
    return [e for e in parsed(svg).iter("rect") if e.get("fill") == fill and len(e)]


def test_a_bar_is_as_high_as_its_week(material):
    svg = weeks_plot(material.weeks)
    known = [w for w in material.weeks if w.load.value is not None]
    least = [w for w in material.weeks if w.load.value is None]
    full, hatched = bars(svg, SKY), bars(svg, "url(#weeks-open)")
    assert (len(full), len(hatched)) == (len(known), len(least))
    shares = [
        float(e.get("height")) / w.load.value for e, w in zip(full, known, strict=True)
    ]
    assert max(shares) - min(shares) < 0.001
    assert f"{known[0].load.value:.0f} AU" in full[0][0].text


def test_circuits_are_the_lower_part_of_a_bar_as_high_as_their_share(material):
    svg = weeks_plot(material.weeks)
    mixed = [w for w in material.weeks if w.circuits.value]
    lower = bars(svg, PAPER)
    whole = {e.get("x"): e for f in (SKY, "url(#weeks-open)") for e in bars(svg, f)}
    assert len(lower) == len(mixed) > 1
    assert "circuits, of the load that is known" in svg
    for rect, week in zip(lower, mixed, strict=True):
        share = float(rect.get("height")) / float(whole[rect.get("x")].get("height"))
        assert share == pytest.approx(week.circuit_share, abs=0.01)


def test_the_range_is_of_the_weeks_before_and_needs_four_of_them(material):
    assert "own range 970 to 1127 AU" in weeks_plot(material.weeks)
    assert "own range" not in weeks_plot(material.weeks[:3])
    assert "own range" in weeks_plot(material.weeks[-2:], material.weeks[:-2])


def test_every_week_is_told_in_words_however_many(material):
    many = weeks(material.book, DaySpan(FIRST - timedelta(weeks=500), SPAN.last))
    svg = weeks_plot(many)
    assert parsed(svg).find("desc").text.startswith("Week of ")
    labels = re.findall(r">(\d+ [A-Z][a-z]{2})<", svg)
    assert 5 < len(labels) < 15  # as many as there is room for


def test_ticks_are_round_and_reach_up_to_the_peak():
    assert list(ticks(1532)) == [0, 500, 1000, 1500]
    assert list(ticks(10.8)) == [0, 2, 4, 6, 8, 10]
    assert list(ticks(12.9, 2)) == [0, 5, 10]


@MODERATE
@given(st.floats(1, 1e6), st.integers(2, 3))
def test_ticks_are_never_none_and_never_a_crowd(peak, least):
    found = list(ticks(peak, least))
    assert found[0] == 0
    assert least <= len(found) - 1 <= 3 * least
    assert found[-1] <= peak * 1.000001


def test_a_frame_puts_0_on_its_floor_and_the_peak_on_top():
    frame = Frame(10, 110, 50, 0, 100)
    assert (frame.y(0), frame.y(50), frame.y(25)) == (110, 10, 60)
    assert [frame.x(i, 4) for i in range(4)] == [12.5, 37.5, 62.5, 87.5]


def test_both_lines_break_where_a_day_is_not_known(material):
    line = material.trend
    curves = list(parsed(trend_plot(line)).iter("polyline"))[:-2]  # without legend
    known = [day.load_au is not None for day in line]
    starts = [i for i, k in enumerate(known) if k and not (i and known[i - 1])]
    stretches = [i for i in starts if i + 1 < len(known) and known[i + 1]]
    settled = sum(not d.warming_up for d in line)
    assert settled > 0
    # Each stretch is a thin curve, and one of them goes on as a settled one.
    assert len(curves) == 2 * (len(stretches) + 1)
    assert sum(c.get("stroke-width") == "2" for c in curves) == 2
    assert sum(c.get("stroke-dasharray") is not None for c in curves) == len(curves) / 2


def test_a_lone_known_day_is_no_line():
    day = date(2026, 3, 1)
    lone = [
        TrendDay(day + timedelta(days=n), value, value, value, warming_up=True)
        for n, value in enumerate([None, 300.0, None, 50.0, 60.0])
    ]
    svg = trend_plot(lone)
    assert len(list(parsed(svg).iter("polyline"))) == 4
    assert not list(parsed(svg).iter("circle"))


def test_a_year_has_a_shape_for_each_kind_of_day():
    day = date(2026, 3, 1)
    ride = Training(day, 60_000, 3.0, DayKind.OTHER, "ride", "r")
    shed = Training(day, 60_000, 3.0, DayKind.CIRCUIT, "shed", "s")
    march = DaySpan(day, date(2026, 3, 31))

    def shapes(book: DayBook) -> tuple[int, int, list[str]]:
        root = parsed(year_plot(book, 2026, march))
        texts = [e.text or "" for e in root.iter("text")]
        round_ones = sum(len(e) for e in root.iter("circle"))
        return round_ones, sum(len(e) for e in root.iter("polygon")), texts

    assert shapes(day_book([ride]))[:2] == (1, 0)
    assert shapes(day_book([shed]))[:2] == (1, 0)
    assert shapes(day_book([ride, shed]))[:2] == (0, 2)
    blank = shapes(day_book())[2].count("·")
    assert blank == 31  # nothing outside the period
    texts = shapes(day_book([ride], [(Mark.ILLNESS, DaySpan(day, day))]))[2]
    assert texts.count("i") == 1
    rest = shapes(day_book(fully_logged=[march]))[2]
    assert rest.count("–") == 31


def test_efforts_stand_at_their_height_and_the_newest_are_kept():
    sessions = [
        SessionEfforts(
            FIRST + timedelta(days=n),
            "Shed",
            (LoopEffort(1, 4.0), LoopEffort(2, 8.0), LoopEffort(3, None)),
        )
        for n in range(50)
    ]
    root = parsed(efforts_plot(sessions))
    frame = Frame(14, 178, 10)
    marks = [e for e in root.iter("text") if e.get("font-weight") == "bold"]
    assert len(marks) == 2 * 48
    heights = {e.text: float(e.get("y")) - 4 for e in marks}
    assert heights == pytest.approx({"1": frame.y(4), "2": frame.y(8)})
    assert "the last 48 of 50 sessions" in efforts_plot(sessions)


def test_a_station_shows_load_and_seconds_or_seconds_alone(material):
    plotted = {key: station_plot(b, 1) for key, b in material.stations.items()}
    assert len(bars(plotted["goblet-squat"], SKY)) == 2 * 26
    assert len(bars(plotted["side-plank"], SKY)) == 26
    assert ">kg<" in plotted["goblet-squat"]
    assert ">kg<" not in plotted["side-plank"]
    first, last = (
        bars(plotted["goblet-squat"], SKY)[0],
        bars(plotted["goblet-squat"], SKY)[25],
    )
    shown = float(first.get("height")) / float(last.get("height"))
    assert shown == pytest.approx(12 / 16, abs=0.005)


def test_regions_are_drawn_by_their_share(material):
    svg = balance_plot(material.bouts)
    legs, core, arms = (e for e in parsed(svg).iter("rect") if e.get("fill") == SKY)
    assert float(legs.get("width")) == pytest.approx(2 * float(core.get("width")))
    assert float(core.get("width")) == float(arms.get("width"))
    assert svg.count(">left<") == svg.count(">right<") == 3


def test_discomfort_has_a_row_for_each_site_and_the_level_in_its_mark():
    felt = [
        DiscomfortOnDay(FIRST, "knee", "left", 2),
        DiscomfortOnDay(FIRST, "knee", "left", 5),
        DiscomfortOnDay(FIRST + timedelta(days=9), "knee", "left", 3),
        DiscomfortOnDay(FIRST, "knee", "right", 1),
    ]
    svg = felt_plot(felt, SPAN)
    root = parsed(svg)
    levels = [e.text for e in root.iter("text") if e.get("font-weight") == "bold"]
    assert levels == ["5", "3", "1"]
    assert "knee, right" in svg
    many = [DiscomfortOnDay(FIRST, f"site {n}", "left", 1) for n in range(11)]
    assert "3 sites entered less often are left out" in felt_plot(many, SPAN)


@pytest.mark.parametrize("length", [1, 2, 40])
def test_a_period_of_any_length_can_be_drawn(length):
    span = DaySpan(FIRST, FIRST + timedelta(days=length - 1))
    book = day_book()
    parsed(weeks_plot(weeks(book, span)))
    parsed(trend_plot(trend_days(book.days(span))))
    parsed(felt_plot([], span))
    parsed(balance_plot([]))
    parsed(efforts_plot([]))
    parsed(station_plot([], 0))
