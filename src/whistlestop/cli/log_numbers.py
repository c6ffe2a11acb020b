"""`log weeks`, `trends`, `changes`, `stations` and others: charts and figures as text.

Owns which days and sessions a figure is of, and says so. Refuses to compute one:
every number comes from `review`.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from datetime import date, timedelta
from typing import Any, Final

from whistlestop.cli.log_arguments import filter_of
from whistlestop.cli.output import remark, say, say_json
from whistlestop.domain.columns import padded, table, widest
from whistlestop.driver.logbook import Logbook
from whistlestop.driver.services import Services
from whistlestop.driver.week_targets import fixed_days
from whistlestop.errors import StoreError, UsageError
from whistlestop.review import charts
from whistlestop.review.amended import local_day
from whistlestop.review.chart_text import BLOCKS, PLAIN, Chart, Glyphs
from whistlestop.review.days import (
    DAYS_IN_WEEK,
    DayBook,
    DaySpan,
    Mark,
    day_text,
    week_of,
)
from whistlestop.review.numbers import (
    LOOK_BACK_DAYS,
    MONOTONY_NAME,
    RANGE_WEEKS,
    Figure,
    Week,
    by_sport,
    day_load,
    weeks,
)
from whistlestop.review.stations import (
    Bout,
    By,
    effort_drift,
    last_done,
    replaced_by,
    sides_by,
    work_by,
)
from whistlestop.review.trends import TrendDay, drifts, trend_days
from whistlestop.store.journal.index import SessionLine

WEEKS: Final = 12
STATION_DAYS: Final = 84
BALANCE_DAYS: Final = 28
TREND_DAYS: Final = 500
EFFORT_ROWS: Final = 12
STATION_SESSIONS: Final = 40
BALANCED_BY: Final[tuple[By, ...]] = ("region", "pattern")
NARROWEST, WIDEST = 60, 200


def weeks_of(services: Services, arguments: argparse.Namespace) -> int:
    """Load week by week, with what makes up monotony and strain."""
    _of_everything(arguments, "--weeks N says how many")
    logbook = services.logbook()
    count = arguments.weeks or WEEKS
    # The range of the last week and the look-back of the first need weeks before it.
    last = week_of(logbook.today).last
    first = last - timedelta(weeks=count + RANGE_WEEKS) + timedelta(days=1)
    book = logbook.book(since=first - timedelta(days=LOOK_BACK_DAYS))
    every = weeks(book, DaySpan(first, last))
    shown = every[-count:]
    if arguments.json:
        say_json([_week_json(week) for week in shown])
        return 0
    fixed = fixed_days(services.places)
    _draw(charts.weeks_chart(every, _width(), _glyphs(services), fixed))
    say("")
    rows = [["week of", "load AU", "a day", "circuits", "monotony", "strain AU"]]
    rows += [_week_row(week) for week in shown]
    # The reasons stand behind the table: a column would cut them short.
    beside = ["", *(_beside(week, logbook.today) for week in shown)]
    lines = table(rows, right=frozenset({1, 2, 3, 4, 5}))
    width = widest(lines)
    both = zip(lines, beside, strict=True)
    say(*(f"{padded(line, width)}  {why}".rstrip() for line, why in both))
    period = DaySpan(shown[0].span.first, min(shown[-1].span.last, logbook.today))
    say("", *_sports_table(book, period))
    say(
        "",
        f"monotony: {MONOTONY_NAME}; strain: load x monotony; a week is Monday to "
        "Sunday.",
        "circuits: their share of the load that is known.",
        "+: at least this much. A blank day counts as rest inside `log full` periods "
        "and from the day of `log blanks rest`.",
    )
    return 0


def _week_row(week: Week) -> list[str]:
    def shown_figure(figure: Figure, digits: int = 0, least: float = 0) -> str:
        if figure.value is None:
            return f"{least:.{digits}f}+" if least else "-"
        return f"{figure.value:.{digits}f}"

    least = week.entered.value or 0
    return [
        week.span.first.isoformat(),
        shown_figure(week.load, least=least),
        shown_figure(week.mean, 1, least / DAYS_IN_WEEK),
        "-" if week.circuit_share is None else f"{100 * week.circuit_share:.0f} %",
        shown_figure(week.monotony, 2),
        shown_figure(week.strain),
    ]


def _sports_table(book: DayBook, period: DaySpan) -> list[str]:
    """Minutes and load of each sport in these weeks."""
    rows = [["sport", "times", "minutes", "load AU", ""]]
    for one in by_sport(t for day in book.days(period) for t in day.trainings):
        missing = f"{one.without_effort} without effort" if one.without_effort else ""
        least = "+" if missing else ""
        length = f"{one.length_ms / 60_000:.0f}"
        load = f"{one.load_au:.0f}{least}"
        rows.append([one.sport, str(one.count), length, load, missing])
    return table(rows, right=frozenset({1, 2, 3})) if len(rows) > 1 else []


def _beside(week: Week, today: date) -> str:
    """Why a figure is missing, and what belongs beside those that are there."""
    reasons = [week.load.reason or week.monotony.reason, week.load.beside]
    if today in week.span:
        reasons.append("still running")
    if week.load.value is None and week.entered.beside:
        reasons.insert(0, week.entered.beside)
    return "; ".join(filter(None, reasons))


def _week_json(week: Week) -> dict[str, Any]:
    names = ("entered", "load", "mean", "monotony", "strain", "circuits")
    return {
        "first": week.span.first.isoformat(),
        "last": week.span.last.isoformat(),
        **{f"{name}": _figure_json(getattr(week, name)) for name in names},
    }


def _figure_json(figure: Figure) -> dict[str, Any]:
    return asdict(figure)


def trends(services: Services, arguments: argparse.Namespace) -> int:
    """The two weighted means, day by day in JSON, week by week in words."""
    _of_everything(arguments)
    logbook = services.logbook()
    # A day before that weighs less than a millionth in what is shown.
    begin = logbook.today - timedelta(days=TREND_DAYS)
    is_cut = not arguments.json and logbook.has_years_before(begin)
    book = logbook.book(since=begin if is_cut else None)
    first = begin if is_cut else book.first_day
    if first is None:
        remark("no days in the log yet")
        return 0
    # Today may hold a training yet: while it is blank, the lines end yesterday.
    last = logbook.today - timedelta(days=book.day(logbook.today).is_blank)
    span = DaySpan(min(first, last), last)
    line = trend_days(book.days(span))
    if arguments.json:
        say_json([_trend_json(day) for day in line])
        return 0
    moved = drifts(line)
    say(*(drift.words() for drift in moved))
    begun = moved[0].since
    if begun is not None and begun > span.first:
        say(f"Every day is known since {day_text(begun)}; the lines begin there.")
    elif book.day(last).is_open:
        say("`log blanks rest` counts days without an entry as rest days.")
    say("")
    rows = [["day", "load AU", "7-day mean", "28-day mean", ""]]
    rows += [_trend_row(day) for day in reversed(line[::-7][:WEEKS])]
    say(*table(rows, right=frozenset({1, 2, 3})))
    say(
        "",
        "Exponentially weighted means of daily load in AU a day, newest day weighing "
        "2 / (N + 1).",
        "They break where a day is not known, and begin again after it; the two are "
        "never divided.",
    )
    if is_cut:
        say(f"Made of the last {TREND_DAYS} days; --json has all.")
    return 0


def _trend_row(day: TrendDay) -> list[str]:
    values = (day.load_au, day.short_au, day.long_au)
    numbers = ["-" if value is None else f"{value:.0f}" for value in values]
    words = "not known" if day.load_au is None else ""
    if day.load_au is not None and day.warming_up:
        words = "warming up"
    return [day.day.isoformat(), *numbers, words]


def _trend_json(day: TrendDay) -> dict[str, Any]:
    return {**asdict(day), "day": day.day.isoformat()}


def stations(services: Services, arguments: argparse.Namespace) -> int:
    """Every station of a period, or one of them over time."""
    logbook = services.logbook()
    if arguments.name is not None:
        return _station(services, logbook, arguments)
    span = _period(logbook, arguments, STATION_DAYS)
    bouts = _bouts_in(logbook, span, arguments)
    ago = last_done(bouts, logbook.today)
    work, sides = work_by(bouts, "station"), sides_by(bouts, "station")
    names = {bout.exercise: bout.name for bout in bouts}
    if arguments.json:
        say_json(
            {
                key: {
                    "name": names[key],
                    "days_since": ago.get(key),
                    **asdict(each),
                    "sides": asdict(sides[key]) if key in sides else None,
                    "in_place_of": list(replaced_by(bouts).get(key, ())),
                }
                for key, each in work.items()
            }
        )
        return 0
    say(f"Stations, {_span_text(span)}")
    heads = ["station", "days since", "work s", "loops", "kg s", "reps", "sides"]
    heads += ["in place of"]
    rows = [heads]
    for key, each in work.items():
        side = sides[key].words() if key in sides else ""
        rows.append(
            [
                names[key],
                str(ago.get(key, "-")),
                f"{each.work_ms / 1000:.0f}",
                str(each.bouts),
                f"{each.volume_kg_s:.0f}" if each.volume_kg_s else "-",
                f"{each.reps} in {each.counted}" if each.counted else "-",
                side,
                ", ".join(replaced_by(bouts).get(key, ())),
            ]
        )
    if len(rows) == 1:
        remark("nothing was done in these days")
        return 0
    say(*table(rows, right=frozenset({1, 2, 3, 4, 5})))
    return 0


def _station(
    services: Services, logbook: Logbook, arguments: argparse.Namespace
) -> int:
    wanted = arguments.name.casefold().replace(" ", "-")
    every = logbook.done(filter_of(arguments))
    known = dict.fromkeys(name for line in every for name in line.exercises)
    found = [wanted] if wanted in known else [name for name in known if wanted in name]
    if len(found) != 1:
        hint = ", ".join(sorted(found or known)[:8])
        raise UsageError("no station has that name", hint)
    kept = [line for line in every if found[0] in line.exercises]
    bouts = [
        bout
        for bout in logbook.bouts(kept[:STATION_SESSIONS])
        if bout.exercise == found[0] and _until(bout.day, arguments)
    ]
    chart = charts.station_chart(bouts, _width(), _glyphs(services))
    if arguments.json:
        say_json([_bout_json(bout) for bout in bouts])
        return 0
    _draw(chart)
    say("", *chart.sentences)
    if len(kept) > STATION_SESSIONS:
        remark(f"the newest {STATION_SESSIONS} of {len(kept)} sessions with it")
    return 0


def _bout_json(bout: Bout) -> dict[str, Any]:
    return {**asdict(bout), "day": bout.day.isoformat(), "done_ms": bout.done_ms}


def balance(services: Services, arguments: argparse.Namespace) -> int:
    """Work and volume by region and pattern, left and right where there are sides."""
    logbook = services.logbook()
    span = _period(logbook, arguments, BALANCE_DAYS)
    bouts = _bouts_in(logbook, span, arguments)
    if arguments.json:
        say_json(
            {
                "first": span.first.isoformat(),
                "last": span.last.isoformat(),
                "regions": _work_json(bouts, "region"),
                "patterns": _work_json(bouts, "pattern"),
            }
        )
        return 0
    say(_span_text(span))
    _draw(charts.balance_chart(bouts, _width(), _glyphs(services)))
    for by in BALANCED_BY if bouts else ():
        say("", *_work_table(bouts, by))
    return 0


def _work_json(bouts: Sequence[Bout], by: By) -> dict[str, Any]:
    sides = sides_by(bouts, by)
    return {
        key: {**asdict(each), "sides": asdict(sides[key]) if key in sides else None}
        for key, each in work_by(bouts, by).items()
    }


def _work_table(bouts: Sequence[Bout], by: By) -> list[str]:
    """Work seconds, volume and reps; left and right beside each other."""
    sides = sides_by(bouts, by)
    rows = [[by, "work s", "kg s", "reps", "left s", "right s", "left kg s", "right"]]
    for key, each in work_by(bouts, by).items():
        side = sides.get(key)
        two = (side.left_ms / 1000, side.right_ms / 1000) if side else (0, 0)
        volume = (side.left_kg_s, side.right_kg_s) if side else (0, 0)
        numbers = (each.work_ms / 1000, each.volume_kg_s)
        rows.append(
            [
                key.replace("-", " "),
                *(f"{number:.0f}" if number else "-" for number in numbers),
                f"{each.reps} in {each.counted}" if each.counted else "-",
                *(f"{number:.0f}" if number else "-" for number in (*two, *volume)),
            ]
        )
    return table(rows, right=frozenset(range(1, 8)))


def efforts(services: Services, arguments: argparse.Namespace) -> int:
    """Effort of each loop, session by session, oldest first; or ask for them."""
    if getattr(arguments, "missing", False):
        from whistlestop.cli.log_activities import rate_missing

        return rate_missing(services, arguments)
    logbook = services.logbook()
    lines = logbook.done(filter_of(arguments))
    found = []
    for line in lines:
        try:
            record = logbook.record(line.id)
            day = local_day(record.wall)
        except (StoreError, UsageError, ValueError):
            continue
        each = charts.session_efforts(record, day)
        if _until(day, arguments) and each.loops:
            found.append(each)
        if len(found) == EFFORT_ROWS:
            break
    found.reverse()
    if arguments.json:
        say_json(
            [
                {
                    "day": each.day.isoformat(),
                    "name": each.name,
                    "circuit": each.circuit,
                    "loops": [asdict(loop) for loop in each.loops],
                    "drift": _figure_json(effort_drift(each.loops).change),
                }
                for each in found
            ]
        )
        return 0
    _draw(charts.efforts_chart(found, _width(), _glyphs(services)))
    return 0


def changes(services: Services, arguments: argparse.Namespace) -> int:
    """What changed over a period, in sentences."""
    # Imported here: no other figure asks the library and the weeks.
    from whistlestop.driver.changes import change_span, read_changes
    from whistlestop.review.change_text import change_sections, changes_json

    wanted = filter_of(arguments)
    span = change_span(services.clock.wall().date(), wanted)
    if wanted.since is not None and wanted.since > span.last:
        raise UsageError("--since is after --until")
    found = read_changes(services, wanted, span)
    if arguments.json:
        say_json(changes_json(found))
        return 0
    say(f"What changed, {_span_text(span)}")
    for title, sentences in change_sections(found):
        lines = [line for one in sentences for line in _hanging(one)]
        say("", *([title] if title else []), *lines)
    return 0


def _hanging(sentence: str) -> list[str]:
    return textwrap.wrap(
        sentence, _width(), initial_indent="  ", subsequent_indent="    "
    )


def year(services: Services, arguments: argparse.Namespace) -> int:
    """A year as twelve rows of day marks."""
    _of_everything(arguments, "year 2031 shows that year")
    logbook = services.logbook()
    wanted = arguments.year or logbook.today.year
    book = logbook.book(since=date(wanted, 1, 1))
    if arguments.json:
        last = min(date(wanted, 12, 31), logbook.today)
        span = DaySpan(date(wanted, 1, 1), max(last, date(wanted, 1, 1)))
        say_json([_day_json(book, day) for day in span])
        return 0
    look = (_width(), _glyphs(services), fixed_days(services.places))
    _draw(charts.year_chart(book, wanted, logbook.today, *look))
    return 0


def _day_json(book: DayBook, wanted: date) -> dict[str, Any]:
    day = book.day(wanted)
    return {
        "day": wanted.isoformat(),
        "marks": [mark.value for mark in Mark if mark in day.marks],
        "trainings": [
            {"id": t.source_id, "kind": t.kind.value, "sport": t.sport}
            for t in day.trainings
        ],
        "fully_logged": day.fully_logged,
        "load": _figure_json(day_load(day)),
    }


def _period(logbook: Logbook, arguments: argparse.Namespace, days: int) -> DaySpan:
    last = getattr(arguments, "until", None) or logbook.today
    first = getattr(arguments, "since", None) or last - timedelta(days=days - 1)
    if first > last:
        raise UsageError("--since is after --until")
    return DaySpan(first, last)


def _until(day: date, arguments: argparse.Namespace) -> bool:
    last = getattr(arguments, "until", None)
    return last is None or day <= last


def _of_everything(arguments: argparse.Namespace, hint: str = "") -> None:
    """Refuse a filter: the load of a day is of all that was done on it.

    Raises:
        UsageError: One is given.
    """
    if not filter_of(arguments).is_empty:
        raise UsageError(
            f"{arguments.what} takes no filter: it is of everything done",
            hint or "changes, efforts, stations and balance take one",
        )


def _bouts_in(
    logbook: Logbook, span: DaySpan, arguments: argparse.Namespace
) -> list[Bout]:
    wanted = replace(filter_of(arguments), since=span.first)
    lines: Sequence[SessionLine] = logbook.done(wanted)
    return [bout for bout in logbook.bouts(lines) if bout.day in span]


def _span_text(span: DaySpan) -> str:
    return f"{day_text(span.first)} to {day_text(span.last)}"


def _draw(chart: Chart) -> None:
    say(*chart.lines)
    if not chart.sentences:
        say(chart.empty)


def _width() -> int:
    columns = shutil.get_terminal_size((80, 24)).columns
    return max(NARROWEST, min(WIDEST, columns - 1))


def _glyphs(services: Services) -> Glyphs:
    encoding = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "")
    plain = services.settings.screen.ascii or not encoding.startswith("utf")
    return PLAIN if plain else BLOCKS


COMMANDS: Final[dict[str, Callable[[Services, argparse.Namespace], int]]] = {
    "weeks": weeks_of,
    "trends": trends,
    "stations": stations,
    "changes": changes,
    "balance": balance,
    "efforts": efforts,
    "year": year,
}
