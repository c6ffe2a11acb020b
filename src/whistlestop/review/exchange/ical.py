"""The log, and what is planned, as a calendar after RFC 5545.

Owns which item is which kind of event. The same log gives the same text: the stamp
of an event is its own beginning, not the moment of writing. Refuses to know files.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Final

from whistlestop.domain.text import shown
from whistlestop.review.items import ItemKind, LogItem, day_after

if TYPE_CHECKING:
    from icalendar import Event

PRODUCT: Final = "-//whistlestop//log//EN"
_UID_END: Final = "@whistlestop"
_TEXT_LIMIT: Final = 400


@dataclass(frozen=True, slots=True)
class CalendarSession:
    """A session to come: its circuit, when it begins (with a zone), its length."""

    circuit: str
    name: str
    begin: datetime
    length_ms: int

    def __post_init__(self) -> None:
        if self.begin.tzinfo is None:
            raise ValueError("a planned session begins in a time zone")


def calendar_text(
    items: Iterable[LogItem],
    planned: Iterable[CalendarSession] = (),
    *,
    notes: bool = False,
) -> str:
    """A calendar of past items and planned sessions; lines folded, CRLF at each end.

    Recorded sessions are events with a beginning and an end in UTC; what has only
    days are events of whole days. Marks do not block the time.

    Args:
        items: What stands in the log; items of an unknown day are left out, and
            periods that are fully logged.
        planned: What is to come, marked as tentative.
        notes: Whether private notes are in it.
    """
    # Imported here: only this text needs it.
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    for item in items:
        if _belongs(item):
            calendar.add_component(_event_of(item, notes=notes))
    for each in planned:
        calendar.add_component(_event_to_come(each))
    written: bytes = calendar.to_ical()
    return written.decode("utf-8")


def _belongs(item: LogItem) -> bool:
    """Whether an item is something that happened; that days are logged is not."""
    if item.day is None or item.is_removed:
        return False
    return item.kind not in {ItemKind.LOGGED, ItemKind.BLANKS}


def _event_of(item: LogItem, *, notes: bool) -> Event:
    from icalendar import Event

    assert item.day is not None
    event = Event()
    event.add("uid", f"{item.id}{_UID_END}")
    begin = _moment(item)
    if begin is None:
        event.add("dtstart", item.day)
        event.add("dtend", day_after(item) or item.day + timedelta(days=1))
        event.add("dtstamp", datetime.combine(item.day, time(), UTC))
    else:
        event.add("dtstart", begin)
        event.add("dtend", begin + timedelta(milliseconds=item.elapsed_ms))
        event.add("dtstamp", begin)
    event.add("summary", shown(item.name, _TEXT_LIMIT))
    if text := _description(item, notes=notes):
        event.add("description", text)
    event.add("categories", [item.kind.value])
    is_mark = item.kind is ItemKind.MARK
    event.add("transp", "TRANSPARENT" if is_mark else "OPAQUE")
    event.add("status", "CONFIRMED")
    return event


def _event_to_come(planned: CalendarSession) -> Event:
    from icalendar import Event

    begin = planned.begin.astimezone(UTC)
    event = Event()
    event.add("uid", f"planned-{begin:%Y%m%dT%H%M%SZ}-{planned.circuit}{_UID_END}")
    event.add("dtstart", begin)
    event.add("dtend", begin + timedelta(milliseconds=planned.length_ms))
    event.add("dtstamp", begin)
    event.add("summary", shown(planned.name, _TEXT_LIMIT))
    event.add("description", f"{_minutes(planned.length_ms)} as planned")
    event.add("categories", ["planned"])
    event.add("status", "TENTATIVE")
    return event


def _moment(item: LogItem) -> datetime | None:
    """When a recorded session began, in UTC; None where only the day is known."""
    if item.kind is not ItemKind.SESSION:
        return None
    try:
        begin = datetime.fromisoformat(item.wall)
    except ValueError:
        return None
    if begin.tzinfo is None:
        return None
    return begin.astimezone(UTC).replace(microsecond=0)


def _description(item: LogItem, *, notes: bool) -> str:
    sentences = []
    if item.length_ms:
        sentences.append(_minutes(item.length_ms))
    if item.plan_work_ms:
        share = min(100, 100 * item.best_work_ms // item.plan_work_ms)
        sentences.append(f"{share} % of the planned work done")
    if item.load_effort is not None:
        derived = " (averaged)" if item.is_derived else ""
        sentences.append(f"effort {item.load_effort:.3g}{derived}")
    if item.load_au is not None:
        sentences.append(f"session load {item.load_au:.0f} AU")
    if notes and item.note:
        sentences.append(shown(item.note, _TEXT_LIMIT))
    return "; ".join(sentences)


def _minutes(ms: int) -> str:
    return f"{(ms + 30_000) // 60_000} min"
