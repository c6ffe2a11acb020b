"""The words of the log: one item a line. Pure; it reads no journal."""

from __future__ import annotations

from datetime import date, datetime
from typing import Final

from whistlestop.review.items import NO_TRAINING, ItemKind, LogItem
from whistlestop.tui.rooms.frame.words import MONTHS, percent_text
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Row,
    TextSpan,
    Tone,
    cut,
    fit,
    row,
    width_of,
    wrapped,
)
from whistlestop.tui.widgets.title_line import rail

ENDINGS: Final = {"complete": "", "": "open"}
NOT_ENTERED: Final = "not entered"
_DAYS: Final = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
_WIDEST: Final = 132
_BAR_FROM: Final = 116
_BAR: Final = 16
_DAY_FROM: Final = 90
_LEAST_NAME: Final = 9
_SHARE, _EFFORTS, _SESSION, _LOAD = 6, 15, 12, 9


def date_text(item: LogItem, today: date, *, with_day: bool = True) -> str:
    """Say when: Thu 12 Mar 18:02, or Thu 12 Mar 2025 where the year is another."""
    if item.day is None:
        return "no date"
    text = f"{item.day.day:>2} {MONTHS[item.day.month - 1]} "
    if item.day.year != today.year:
        text += str(item.day.year)
    elif item.kind is ItemKind.SESSION:
        text += datetime.fromisoformat(item.wall).strftime("%H:%M")
    return f"{_DAYS[item.day.weekday()]} {text}" if with_day else text


def efforts_text(item: LogItem) -> str:
    """Efforts loop by loop, as entered; a dash stands for one that was not."""
    if item.kind is ItemKind.TRAINING or (item.length_ms and not item.efforts):
        return minutes_text(item.length_ms)
    if item.kind in NO_TRAINING:
        return ""
    if all(effort is None for effort in item.efforts):
        return NOT_ENTERED
    return " ".join("–" if effort is None else f"{effort:g}" for effort in item.efforts)


def minutes_text(ms: int) -> str:
    """A length in whole minutes."""
    return f"{(ms + 30_000) // 60_000} min"


def effort_text(item: LogItem) -> str:
    """The effort its load rests on; one from the loops is marked with a d."""
    if item.kind in NO_TRAINING:
        return ""
    if item.load_effort is None:
        return NOT_ENTERED if item.effort is None else f"{item.effort:g}"
    return f"{item.load_effort:.1f} d" if item.is_derived else f"{item.load_effort:g}"


def load_text(item: LogItem) -> str:
    """The session load, or a dash where there is none."""
    if item.kind in NO_TRAINING:
        return ""
    return "–" if item.load_au is None else f"{item.load_au:.0f} AU"


def state_text(item: LogItem) -> list[str]:
    """What stands beside the name: how it ended, and what was done to it since."""
    sentences = []
    if item.kind is ItemKind.SESSION:
        ending = ENDINGS.get(item.ending, item.ending)
        sentences.append("try-out" if item.is_try_out else ending)
    elif item.kind is ItemKind.ENTERED:
        sentences.append("entered")
    elif item.last_day and item.last_day != item.day:
        sentences.append(f"to {item.last_day.day} {MONTHS[item.last_day.month - 1]}")
    sentences.append("amended" if item.is_amended else "")
    sentences.append("check" if item.problems else "")
    return [word for word in sentences if word]


def _columns(cells: int) -> tuple[int, int, int]:
    """Cells of date, name, bar; the others are fixed."""
    own = min(cells, _WIDEST)
    day = 18 if own >= _DAY_FROM else 14
    bar = _BAR + 2 if own >= _BAR_FROM else 0
    rest = own - 2 - day - bar - _SHARE - 2 - _EFFORTS - _SESSION - _LOAD
    return day, max(0, rest), bar


def header_row(cells: int) -> Row:
    """Name the columns."""
    day, name, bar = _columns(cells)
    sentences = (
        fit("begun", day)
        + fit("circuit", name)
        + fit("work", _SHARE, right=True)
        + " " * bar
        + "  "
        + fit("effort by loop", _EFFORTS)
        + fit("session", _SESSION, right=True)
        + fit("load", _LOAD, right=True)
    )
    return row("  ", TextSpan(sentences, "dim"))


def item_row(item: LogItem, *, chosen: bool, cells: int, today: date) -> Row:
    """Say one item on one line."""
    day, name, bar = _columns(cells)
    begun = date_text(item, today, with_day=cells >= _DAY_FROM)
    done_ms = min(item.best_work_ms or item.work_ms, item.plan_work_ms)
    planned = item.plan_work_ms
    share = percent_text(done_ms, planned) if planned else ""
    permille = 1000 * done_ms // planned if planned else 0
    drawn = rail(bar - 2, permille) if bar and planned else (TextSpan(" " * (bar - 2)),)
    tone: Tone = "bold" if chosen else "text"
    unknown: Tone = "dim" if item.load_effort is None else "bold"
    return row(
        TextSpan("▌ " if chosen else "  ", "bold"),
        TextSpan(fit(begun, day), tone),
        *_name_spans(item, name, tone),
        TextSpan(fit(share, _SHARE, right=True)),
        *((TextSpan("  "), *drawn) if bar else ()),
        "  ",
        TextSpan(fit(efforts_text(item), _EFFORTS), "text"),
        TextSpan(fit(effort_text(item), _SESSION, right=True), unknown),
        TextSpan(fit(load_text(item), _LOAD, right=True), "text"),
    )


def _name_spans(item: LogItem, cells: int, tone: Tone) -> Row:
    """The name and, as far as there is room, the words beside it."""
    beside = ""
    least = min(width_of(row(cut(item.name, cells))), _LEAST_NAME)
    for word in state_text(item):
        longer = f"{beside}, {word}" if beside else word
        if cells - len(longer) - 2 >= least:
            beside = longer
    name = cut(item.name, max(0, cells - 1 - (len(beside) + 1 if beside else 0)))
    named = row(TextSpan(name, tone), " ", TextSpan(beside, "dim"))
    gap = cells - width_of(named)
    return (
        (*named, TextSpan(" " * gap))
        if gap >= 0
        else row(TextSpan(fit(name, cells), tone))
    )


def empty_rows() -> list[Row]:
    """Say what will stand here."""
    return [
        row("  ", TextSpan("No sessions yet.", "bold")),
        row("  ", TextSpan("Each session you do is saved here.", "dim")),
        BLANK,
        row("  ", TextSpan("e enters one you did without the laptop,", "dim")),
        row("  ", TextSpan("a adds other training, m marks days.", "dim")),
    ]


def none_rows(filter_text: str, cells: int) -> list[Row]:
    """Say that nothing passes the filter."""
    sentences = wrapped(f"No match in the log: {filter_text}", max(1, cells - 4))
    return [row("  ", TextSpan(line, "bold")) for line in sentences]


def text_rows(line: str, cells: int) -> list[Row]:
    """Set one line of text; where it is too long, its end goes below, set in."""
    if not line.strip():
        return [BLANK]
    room = cells - 4
    tone: Tone = "text" if line.startswith(" ") else "bold"
    if width_of(row(line)) <= room:
        return [row("  ", TextSpan(line, tone))]
    head = cut(line, room).removesuffix("…")
    start = len(line) - len(line.lstrip())
    # A gap between columns is the best place; a blank between words the next.
    gap, blank = head.rfind("  "), head.rfind(" ")
    at = max(gap if gap > room // 2 else blank, start)
    if at == start:
        at = len(head)
    indent = " " * min(start + 4, room // 2)
    rest = wrapped(line[at:], room - len(indent))
    below = [row("  ", TextSpan(indent + piece, tone)) for piece in rest]
    return [row("  ", TextSpan(line[:at].rstrip(), tone)), *below]
