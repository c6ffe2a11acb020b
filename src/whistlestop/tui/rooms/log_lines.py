"""The words of the log: one session a line. Pure; it reads no journal."""

from __future__ import annotations

from datetime import date, datetime
from typing import Final

from whistlestop.store.log_index import SessionLine
from whistlestop.tui.rooms.words import MONTHS, percent_words
from whistlestop.tui.widgets.safe_text import Row, Span, fit, row
from whistlestop.tui.widgets.title_line import rail

ENDINGS: Final = {
    "complete": "",
    "stopped": "stopped",
    "health": "health",
    "": "open",
}
_DAYS: Final = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
_WIDEST: Final = 120
_BAR_FROM: Final = 104
_BAR: Final = 16
_DAY_FROM: Final = 90
_ENDING: Final = 7
NOT_ENTERED: Final = "not entered"


def date_words(wall: str, today: date, *, with_day: bool = True) -> str:
    """Say a start: Thu 12 Mar 18:02, or Thu 12 Mar 2025 where the year is another."""
    try:
        when = datetime.fromisoformat(wall)
    except ValueError:
        return "no date"
    said = f"{when.day:>2} {MONTHS[when.month - 1]} "
    said += when.strftime("%H:%M") if when.year == today.year else str(when.year)
    return f"{_DAYS[when.weekday()]} {said}" if with_day else said


def efforts_words(line: SessionLine) -> str:
    """Efforts loop by loop, as entered; a dash stands for one that was not."""
    if all(effort is None for effort in line.efforts):
        return NOT_ENTERED
    return " ".join("–" if effort is None else f"{effort:g}" for effort in line.efforts)


def _columns(cells: int) -> tuple[int, int, int, int, int, int]:
    """Cells of date, name, share, bar, efforts, session effort."""
    own = min(cells, _WIDEST)
    day = 18 if own >= _DAY_FROM else 14
    bar = _BAR + 2 if own >= _BAR_FROM else 0
    share, efforts, session = 7, 16, 12
    rest = own - 2 - day - share - bar - efforts - session - _ENDING - 2
    return day, rest, share, bar, efforts, session


def header_row(cells: int) -> Row:
    """Name the columns."""
    day, name, share, bar, efforts, session = _columns(cells)
    said = (
        fit("begun", day)
        + fit("circuit", name)
        + fit("work", share, right=True)
        + " " * bar
        + "  "
        + fit("effort by loop", efforts - 2)
        + fit("session", session, right=True)
    )
    return row("  ", Span(said, "dim"))


def session_row(line: SessionLine, *, chosen: bool, cells: int, today: date) -> Row:
    """Say one session on one line."""
    day, name, share, bar, efforts, session = _columns(cells)
    begun = date_words(line.wall, today, with_day=cells >= _DAY_FROM)
    done = min(line.done_work_ms, line.plan_work_ms)
    permille = 1000 * done // line.plan_work_ms if line.plan_work_ms else 0
    effort = NOT_ENTERED if line.session_effort is None else f"{line.session_effort:g}"
    unknown = line.session_effort is None
    return row(
        Span("▌ " if chosen else "  ", "bold"),
        Span(fit(begun, day), "bold" if chosen else "text"),
        Span(fit(line.name, name - 1) + " ", "bold" if chosen else "text"),
        Span(fit(percent_words(done, line.plan_work_ms), share, right=True)),
        "  " if bar else "",
        *(rail(bar - 2, permille) if bar else ()),
        "  ",
        Span(fit(efforts_words(line), efforts - 2), "text"),
        Span(fit(effort, session, right=True), "dim" if unknown else "bold"),
        "  ",
        Span(fit(ENDINGS.get(line.why, line.why), _ENDING), "dim"),
    )


def empty_rows() -> list[Row]:
    """Say what will stand here."""
    return [
        row("  ", Span("The log holds no session yet.", "bold")),
        row("  ", Span("Each session you do is kept here, as it was.", "dim")),
    ]
