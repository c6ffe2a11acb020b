"""Plots of days and weeks: load by week, two weighted means, a year of day marks.

Owns where things stand on paper. The words are those of `review.charts`; refuses to
sum, and to judge.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from whistlestop.pages.marks import INK, RULE, WIDTH, Drawing, MarkFill, Point
from whistlestop.review.charts import fixed_text, weeks_chart, year_chart
from whistlestop.review.days import (
    MONTHS,
    NOTHING_FIXED,
    DayBook,
    DayKind,
    DaySpan,
    FixedDays,
    Mark,
)
from whistlestop.review.numbers import Week, personal_range
from whistlestop.review.trends import LONG_DAYS, SHORT_DAYS, TrendDay, line_name

_LEFT: Final = 52.0
_RIGHT: Final = 12.0
_LABEL_EVERY: Final = 52.0
_VALUES_FROM: Final = 34.0
_MARK_WORDS: Final = {
    Mark.REST: "r",
    Mark.ILLNESS: "i",
    Mark.TRAVEL: "t",
    Mark.OFF: "x",
}


@dataclass(frozen=True, slots=True)
class Frame:
    """A place to plot in: from `top` down to `floor`, 0 to `peak`."""

    top: float
    floor: float
    peak: float
    left: float = _LEFT
    right: float = WIDTH - _RIGHT

    def y(self, value: float) -> float:
        """Where a value stands."""
        return self.floor - value / self.peak * (self.floor - self.top)

    def x(self, index: float, count: int) -> float:
        """The middle of one of `count` equal places."""
        return self.left + (index + 0.5) * self.pitch(count)

    def pitch(self, count: int) -> float:
        """How wide one of `count` equal places is."""
        return (self.right - self.left) / max(1, count)

    def rules(self, paper: Drawing, unit: str, *, least: int = 3) -> None:
        """Draw the lines across with their numbers, the unit above them."""
        paper.text((0, self.top - 6), unit, tone="dim")
        for value in ticks(self.peak, least):
            y = self.y(value)
            paper.line((self.left, y), (self.right, y), ink=RULE if value else INK)
            paper.text((self.left - 6, y + 4), f"{value:g}", anchor="end", tone="dim")


def ticks(peak: float, least: int = 3) -> Iterator[float]:
    """Round values from 0 up to a peak, `least` of them above 0 and a few more."""
    step = 10.0 ** len(str(int(peak)))
    while peak / step < least:
        for part in (2, 2.5, 2):
            step /= part
            if peak / step >= least:
                break
    count = int(peak / step + 1e-9)
    for index in range(count + 1):
        yield round(index * step, 6)


def roof(values: Sequence[float], least: float = 1) -> float:
    """The peak of a frame that holds all values with a little room above."""
    return max([*values, least]) * 1.08


def weeks_plot(
    weeks: Sequence[Week],
    earlier: Sequence[Week] = (),
    fixed: FixedDays = NOTHING_FIXED,
) -> str:
    """Load of each week, to stand in a page; see `weeks_drawing`."""
    return weeks_drawing(weeks, earlier, fixed).written()


def weeks_drawing(
    weeks: Sequence[Week],
    earlier: Sequence[Week] = (),
    fixed: FixedDays = NOTHING_FIXED,
) -> Drawing:
    """Load of each week as an upright bar, with the athlete's own range.

    The range is of the weeks before the last one, `earlier` ones included. Where there
    is other training beside them, circuits are the lower part of a bar, in white.
    Above a week stands R for each race, K for each key session that was fixed.
    """
    is_mixed = any(week.is_mixed for week in weeks)
    wide_enough = 10 + 7 * max(1, len(weeks))
    sentences = weeks_chart(weeks, wide_enough, fixed=fixed).sentences
    own = personal_range([*earlier, *weeks[:-1]])
    loads = [week.entered.value or 0.0 for week in weeks]
    marked = "".join(fixed_text(fixed, week.span) for week in weeks)
    room = 30.0 if marked else 18.0
    frame = Frame(room, 190, roof([*loads, own.high_au if own else 0.0]))
    tall = 262 if is_mixed or marked else 246
    paper = Drawing("weeks", tall, "Load by week", "; ".join(sentences))
    frame.rules(paper, "AU")
    pitch = frame.pitch(len(weeks))
    wide = min(44.0, pitch * 0.7)
    if own:
        for value in (own.low_au, own.high_au):
            y = frame.y(value)
            paper.line((frame.left, y), (frame.right, y), ink=INK, dashes="6 3")
    for index, (week, load) in enumerate(zip(weeks, loads, strict=True)):
        x = frame.x(index, len(weeks))
        look = MarkFill.OPEN if week.load.value is None else MarkFill.FULL
        if load:
            corner = (x - wide / 2, frame.y(load))
            size = (wide, frame.floor - frame.y(load))
            paper.bar(corner, size, look, title=sentences[index])
        if is_mixed and week.circuits.value:
            top = frame.y(week.circuits.value)
            size = (wide, frame.floor - top)
            title = sentences[index]
            paper.bar((x - wide / 2, top), size, MarkFill.BLANK, title=title)
        above = frame.y(load) - 4
        if pitch >= _VALUES_FROM:
            paper.text((x, above), _week_value(week), anchor="middle", rim=True)
            above -= 12
        if marks := fixed_text(fixed, week.span):
            paper.text((x, above), marks, anchor="middle", tone="bold", rim=True)
    days_below(paper, frame, [week.span.first for week in weeks])
    _weeks_legend(paper, weeks, earlier)
    if marked:
        words = {"R": "R race", "K": "K key session"}
        text = ", ".join(text for sign, text in words.items() if sign in marked)
        paper.text((_LEFT + 240 * is_mixed, 254), text, tone="dim")
    return paper


def _week_value(week: Week) -> str:
    if week.load.value is None:
        return f"{week.entered.value:.0f}+" if week.entered.value else "?"
    return f"{week.load.value:.0f}"


def days_below(
    paper: Drawing, frame: Frame, days: Sequence[date], apart: float = _LABEL_EVERY
) -> None:
    """Write days below a frame, as many as stand about `apart` units from another."""
    every = max(1, round(apart / frame.pitch(len(days)) + 0.49))
    year = 0
    for index in range(0, len(days), every):
        day, x = days[index], frame.x(index, len(days))
        month = f"{day.day} {MONTHS[day.month - 1]}"
        paper.text((x, frame.floor + 15), month, anchor="middle")
        if day.year != year:
            paper.text(
                (x, frame.floor + 28), str(day.year), anchor="middle", tone="dim"
            )
        year = day.year


def _weeks_legend(
    paper: Drawing, weeks: Sequence[Week], earlier: Sequence[Week]
) -> None:
    own = personal_range([*earlier, *weeks[:-1]])
    y, x = 238.0, _LEFT
    if any(week.is_mixed for week in weeks):
        paper.bar((x, y + 7), (14, 10), MarkFill.BLANK)
        paper.text((x + 19, y + 16), "circuits, of the load that is known", tone="dim")
    if any(week.load.value is not None for week in weeks):
        paper.bar((x, y - 9), (14, 10), MarkFill.FULL)
        paper.text((x + 19, y), "all seven days known", tone="dim")
        x += 152
    if any(week.load.value is None for week in weeks):
        paper.bar((x, y - 9), (14, 10), MarkFill.OPEN)
        paper.text((x + 19, y), "+ at least this, or ? unknown", tone="dim")
        x += 192
    if own:
        paper.line((x, y - 4), (x + 20, y - 4), ink=INK, dashes="6 3")
        words = (
            f"own range {own.low_au:.0f} to {own.high_au:.0f} AU "
            f"(middle half of {own.weeks} weeks)"
        )
        paper.text((x + 26, y), words, tone="dim")


def trend_plot(line: Sequence[TrendDay]) -> str:
    """The 7-day and the 28-day weighted mean of daily load, where there is one.

    A line breaks where a day is not known, and is thin while it warms up; a known
    day between two unknown ones has no line.
    """
    settled = _without_lone_days(line)
    known = [v for d in settled for v in (d.short_au, d.long_au) if v is not None]
    frame = Frame(24, 170, roof(known))
    names = f"{line_name(SHORT_DAYS)}; {line_name(LONG_DAYS)}"
    paper = Drawing("trend", 226, "Weighted means of daily load", names)
    frame.rules(paper, "AU a day")
    pitch = frame.pitch(len(line))
    short = [(frame.x(i, len(line)), d.short_au, d) for i, d in enumerate(settled)]
    long = [(frame.x(i, len(line)), d.long_au, d) for i, d in enumerate(settled)]
    for values, dashes in ((short, ""), (long, "7 4")):
        for warming, points in _stretches(frame, values):
            paper.curve(points, wide=0.8 if warming else 2, dashes=dashes)
    every = max(1, round(_LABEL_EVERY * 1.4 / pitch))
    for index in range(0, len(line), every):
        day, x = line[index].day, frame.x(index, len(line))
        words = f"{day.day} {MONTHS[day.month - 1]}"
        paper.text((x, frame.floor + 15), words, anchor="middle")
    for name, dashes, y in (
        (line_name(SHORT_DAYS), "", 204.0),
        (line_name(LONG_DAYS), "7 4", 219.0),
    ):
        paper.curve([(_LEFT, y - 4), (_LEFT + 26, y - 4)], dashes=dashes)
        paper.text((_LEFT + 32, y), name, tone="dim")
    paper.text((_LEFT + 420, 204), "thin while it warms up (28 days)", tone="dim")
    return paper.written()


def _without_lone_days(line: Sequence[TrendDay]) -> list[TrendDay]:
    """Leave out what is known of one day alone: its own load, and no mean yet."""
    found = []
    for index, day in enumerate(line):
        near = [*line[max(0, index - 1) : index], *line[index + 1 : index + 2]]
        is_alone = all(other.load_au is None for other in near)
        lone = replace(day, short_au=None, long_au=None)
        found.append(lone if is_alone else day)
    return found


def _stretches(
    frame: Frame, values: Sequence[tuple[float, float | None, TrendDay]]
) -> Iterator[tuple[bool, list[Point]]]:
    """Unbroken stretches; a settled one begins on the last point of the warm-up."""
    points: list[Point] = []
    warming = True
    for x, value, day in values:
        if value is None or (points and day.warming_up != warming):
            if points:
                yield warming, points
            points = points[-1:] if value is not None and not day.warming_up else []
        if value is None:
            continue
        warming = day.warming_up
        points.append((x, frame.y(value)))
    if points:
        yield warming, points


def year_plot(
    book: DayBook, year: int, span: DaySpan, fixed: FixedDays = NOTHING_FIXED
) -> str:
    """A year as twelve rows of day marks; days outside the period stay empty."""
    chart = year_chart(book, year, span.last, 160, fixed=fixed)
    paper = Drawing(f"year-{year}", 262, f"{year}, day by day", f"{year}, day by day")
    left, pitch, top = 40.0, 21.2, 30.0
    for number in range(1, 32):
        x = left + (number - 0.5) * pitch
        paper.text((x, top - 12), str(number), anchor="middle", size=9, tone="dim")
    for month in range(1, 13):
        y = top + (month - 1) * 17
        paper.text((0, y + 4), MONTHS[month - 1])
        paper.line((left, y + 8.5), (left + 31 * pitch, y + 8.5))
    days = book.days(DaySpan(date(year, 1, 1), date(year, 12, 31)))
    for day, text in zip(days, chart.sentences, strict=True):
        if day.day not in span:
            continue
        x = left + (day.day.day - 0.5) * pitch
        y = top + (day.day.month - 1) * 17
        marks = "".join(_MARK_WORDS[mark] for mark in Mark if mark in day.marks)
        marks += fixed_text(fixed, DaySpan(day.day, day.day))
        kinds = {training.kind for training in day.trainings}
        at = (x - 4, y) if kinds and marks else (x, y)
        if kinds == set(DayKind):
            paper.diamond(at, 5.5, title=text)
        elif kinds:
            paper.dot(at, 4.5, full=DayKind.CIRCUIT in kinds, title=text)
        elif not marks:
            blank = "–" if day.is_blank_as_rest else "·"
            paper.text((x, y + 4), blank, anchor="middle", tone="dim")
        if marks:
            beside = (x + 5, y + 4) if kinds else (x, y + 4)
            paper.text(beside, marks, anchor="middle", size=10, tone="bold")
    _year_legend(paper)
    return paper.written()


def _year_legend(paper: Drawing) -> None:
    y = 254.0
    paper.dot((46, y - 4), 4.5)
    paper.text((54, y), "circuit", tone="dim")
    paper.dot((106, y - 4), 4.5, full=False)
    paper.text((114, y), "other training", tone="dim")
    paper.diamond((206, y - 4), 5.5)
    paper.text((216, y), "both", tone="dim")
    words = (
        "r rest  i illness  t travel  x off  R race  K key  – blank, as rest  · blank"
    )
    paper.text((258, y), words, tone="dim")
