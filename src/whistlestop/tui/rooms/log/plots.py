"""The plots: weeks, efforts by loop, one station, a year, balance; with a cursor.

Owns which chart is shown, the keys and where the cursor stands; the charts are
`review.charts`', the reading `plots_reading`'s.
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

from whistlestop.domain.text import sentence_case
from whistlestop.review.chart_text import BLOCKS, PLAIN, Chart, Glyphs
from whistlestop.review.charts import (
    balance_chart,
    efforts_chart,
    station_chart,
    weeks_chart,
    year_chart,
)
from whistlestop.review.items import Filter
from whistlestop.review.stations import Bout
from whistlestop.tui.rooms.frame.actions import action
from whistlestop.tui.rooms.frame.room import BACK, Room
from whistlestop.tui.rooms.log.forms import filter_text
from whistlestop.tui.rooms.log.plots_lines import Window, chart_rows, window
from whistlestop.tui.rooms.log.plots_reading import (
    Days,
    Sessions,
    read_days,
    read_sessions,
)
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import Row, TextSpan, row, wrapped

WEEKS, EFFORTS, STATION, YEAR, BALANCE = range(5)
NAMES: Final = ("weeks", "effort by loop", "station", "year", "balance")
_CHART_ROWS: Final = 6  # of the efforts chart besides its sessions
_LEAST_CELLS: Final = 20


class PlotsRoom(Room[None]):
    """Five charts of the log; the value under the cursor is shown in words."""

    def __init__(self, chart: int = WEEKS, wanted: Filter | None = None) -> None:
        super().__init__()
        self.wanted = wanted or Filter()
        self.days: Days | None = None
        self.sessions: Sessions | None = None
        self.shown = chart
        self.station = 0
        self.day: date | None = None
        # Cursor and last point shown, by chart; None stands at the newest point.
        self._cursor: dict[int, int | None] = {}
        self._end: dict[int, int] = {}
        self._window: Window | None = None

    def on_mount(self) -> None:
        """Read the days, then the sessions, in threads."""
        super().on_mount()
        services = self.services
        self.run_worker(
            lambda: read_days(services), name="days", thread=True, exit_on_error=False
        )
        self.run_worker(
            lambda: read_sessions(services, self.wanted),
            name="sessions",
            thread=True,
            exit_on_error=False,
        )

    def take_result(self, name: str, result: object) -> None:
        """Show what was read."""
        del name
        if isinstance(result, Days):
            self.days = result
            self.day = self.day or result.today
        elif isinstance(result, Sessions):
            self.sessions = result

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say that the log cannot be read."""
        del name
        self.say(f"The log could not be read: {error}")

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the chart."""
        which = f"{self.shown + 1} of {len(NAMES)}"
        if self.wanted.is_empty:
            return "Plots", NAMES[self.shown], which
        # A day's load is of everything done: no filter can take part of it away.
        text = f"filter: {filter_text(self.wanted)}"
        if self.shown in {WEEKS, YEAR}:
            text = "of everything: no filter"
        return "Plots", f"{NAMES[self.shown]}, {which}", text

    def standing_text(self) -> str:
        """The value under the cursor."""
        window_now = self._window
        return window_now.chart.at(window_now.at) if window_now else ""

    def paint(self) -> None:
        """Lay the chart out first: the words below are those of its cursor."""
        if self.is_mounted:
            self.page.lay_out(follow=self.follow)
        super().paint()

    # The charts

    @property
    def _glyphs(self) -> Glyphs:
        return PLAIN if self.services.settings.screen.ascii else BLOCKS

    @property
    def _bouts(self) -> Sequence[Bout]:
        stations = self.sessions.stations if self.sessions else ()
        return stations[self.station % len(stations)] if stations else ()

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The chart, as wide as the page; the cursor's row stays in view."""
        needs = self.days if self.shown in {WEEKS, YEAR} else self.sessions
        if needs is None:
            self._window = None
            return PageLayout((row("  ", TextSpan("Reading the log", "dim")),))
        found = self._made(max(_LEAST_CELLS, cells - 4), lines)
        self._window = found
        if not found.chart.sentences:
            text = found.chart.empty
            return PageLayout((row("  ", TextSpan(sentence_case(text) + ".", "bold")),))
        rows = chart_rows(found.chart, found.at) + self._beside(cells)
        at = found.chart.row_ranges[found.at].row
        return PageLayout(rows, (at, at))

    def _made(self, width: int, lines: int) -> Window:
        if self.shown == YEAR:
            chart, at = self._year(width)
            return Window(chart, 0, len(chart.sentences), at)
        count = self._count()
        cursor = self._cursor.get(self.shown)
        made = window(
            lambda end: self._chart(width, lines, end),
            count,
            count - 1 if cursor is None else cursor,
            self._end.get(self.shown, count),
        )
        self._end[self.shown] = made.end
        return made

    def _count(self) -> int:
        """How many points the chart has."""
        days, sessions = self.days, self.sessions
        match self.shown:
            case 0 if days:
                return len(days.weeks)
            case 1 if sessions:
                return len(sessions.efforts)
            case 2:
                return len({(bout.day, bout.session_id) for bout in self._bouts})
            case 4 if sessions:
                return len(balance_chart(sessions.bouts, 80).sentences)
        return 0

    def _chart(self, width: int, lines: int, end: int) -> Chart:
        """The chart of the points before an index."""
        glyphs, days, sessions = self._glyphs, self.days, self.sessions
        if self.shown == WEEKS and days:
            return weeks_chart(days.weeks[:end], width, glyphs, days.fixed)
        if self.shown == EFFORTS and sessions:
            room = max(1, lines - _CHART_ROWS)
            return efforts_chart(
                sessions.efforts[max(0, end - room) : end], width, glyphs
            )
        if self.shown == BALANCE and sessions:
            return balance_chart(sessions.bouts, width, glyphs)
        every = sorted({(bout.day, bout.session_id) for bout in self._bouts})
        kept = set(every[:end])
        bouts = [b for b in self._bouts if (b.day, b.session_id) in kept]
        return station_chart(bouts, width, glyphs)

    def _year(self, width: int) -> tuple[Chart, int]:
        assert self.days is not None
        day = self.day or self.days.today
        look = (width, self._glyphs, self.days.fixed)
        chart = year_chart(self.days.book, day.year, self.days.today, *look)
        return chart, (day - date(day.year, 1, 1)).days

    def _beside(self, cells: int) -> list[Row]:
        """What the chart does not hold, below it."""
        sessions = self.sessions
        if sessions is None or self.shown in {WEEKS, YEAR}:
            return []
        sentences = []
        if sessions.left_out:
            count = len(sessions.efforts)
            sentences.append(
                f"the newest {count} sessions; {sessions.left_out} are older"
            )
        if sessions.unread:
            sentences.append(f"{sessions.unread} that cannot be read are left out")
        lines = wrapped("; ".join(sentences), max(1, cells - 4))
        return [row("  ", TextSpan(line, "dim")) for line in lines]

    # Keys

    @action(
        {str(chart + 1): chart for chart in range(len(NAMES))}, "charts", shown="1-5"
    )
    def show_chart(self, chart: int) -> None:
        """Show weeks, efforts, one station, a year or the balance."""
        self.shown = chart
        self.page.move_by(-self.page.count)

    @action({"tab": 1, "shift+tab": -1})
    def next_pane(self, step: int) -> None:
        """Go to the next chart; with Shift to the one before."""
        self.show_chart((self.shown + step) % len(NAMES))

    def _is_across(self) -> bool:
        return self.shown in {WEEKS, STATION}

    def _is_down(self) -> bool:
        return self.shown in {EFFORTS, BALANCE}

    @action(
        {"left": -1, "right": 1},
        lambda self: "week by week" if self.shown == WEEKS else "session by session",
        drop=2,
        when=_is_across,
    )
    def move_across(self, steps: int) -> None:
        """Move the cursor along the points."""
        count = self._count()
        if count:
            now = self._cursor.get(self.shown)
            at = count - 1 if now is None else min(now, count - 1)
            self._cursor[self.shown] = max(0, min(count - 1, at + steps))

    @action(
        {"up": -1, "down": 1},
        lambda self: "line by line" if self.shown == BALANCE else "session by session",
        drop=2,
        when=_is_down,
    )
    def move_down(self, steps: int) -> None:
        """Move the cursor along the lines."""
        self.move_across(steps)

    @action(
        {"left": (0, -1), "right": (0, 1), "up": (-1, 0), "down": (1, 0)},
        "day and month",
        drop=2,
        when=lambda self: self.shown == YEAR,
    )
    def move_day(self, step: tuple[int, int]) -> None:
        """Move the cursor by a day or by a month."""
        months, days = step
        if self.day is not None:
            self._go_to(months_on(self.day, months) + timedelta(days=days))

    @action(
        {"up": -1, "down": 1},
        "another station",
        drop=3,
        when=lambda self: self.shown == STATION,
    )
    def next_station(self, step: int) -> None:
        """Plot another station."""
        stations = self.sessions.stations if self.sessions else ()
        if stations:
            self.station = (self.station + step) % len(stations)
            self._cursor.pop(STATION, None)
            self._end.pop(STATION, None)

    @action(
        {"pageup": -1, "pagedown": 1},
        "another year",
        drop=3,
        when=lambda self: self.shown == YEAR,
    )
    def next_year(self, step: int) -> None:
        """Show another year."""
        if self.day is not None:
            self._go_to(months_on(self.day, 12 * step))

    go_back = BACK

    @action({"pageup": -1, "pagedown": 1}, when=lambda self: self.shown != YEAR)
    def move_page(self, step: int) -> None:
        """Move the cursor by as many points as are shown."""
        shown = len(self._window.chart.sentences) if self._window else 1
        self.move_across(step * shown)

    @action({"home": -1, "end": 1})
    def move_to_end(self, way: int) -> None:
        """Move the cursor to the first or the last point; in a year to its ends."""
        if self.shown != YEAR:
            self.move_across(way * self._count())
        elif self.days is not None and self.day is not None:
            first = date(self.days.first.year, 1, 1)
            last = min(date(self.day.year, 12, 31), max(self.days.today, first))
            self._go_to(date(self.day.year, 1, 1) if way < 0 else last)

    def _go_to(self, day: date) -> None:
        """Put the cursor on a day, or the nearest in a year there is."""
        if self.days is not None:
            first = date(self.days.first.year, 1, 1)
            self.day = max(first, min(date(self.days.today.year, 12, 31), day))


def months_on(day: date, months: int) -> date:
    """The same day some months on, or the last one of a shorter month."""
    whole = day.year * 12 + day.month - 1 + months
    year, month = divmod(whole, 12)
    length = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, length))
