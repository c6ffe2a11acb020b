"""`log`: what was done in plain words, and one session as the completion log."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from whistlestop.cli.log_arguments import filter_of
from whistlestop.cli.output import minutes, remark, say, say_json
from whistlestop.domain.columns import table
from whistlestop.domain.sites import site_name
from whistlestop.driver.logbook import AmendedSession, Logbook
from whistlestop.driver.services import Services
from whistlestop.review.amended import version_lines
from whistlestop.review.diary import DiaryEntry
from whistlestop.review.facts import efforts_in_text, session_json
from whistlestop.review.heart import Heart, heart_of, heart_text
from whistlestop.review.items import (
    NO_TRAINING,
    ItemKind,
    LogItem,
    days_in_text,
    item_json,
    item_of_entry,
)
from whistlestop.review.lines import done_lines, record_lines

if TYPE_CHECKING:
    from whistlestop.review.record import SessionRecord

_HEADS: Final = (
    "when",
    "what",
    "length",
    "work done",
    "effort by loop",
    "overall",
    "load AU",
    "ended",
    "id",
)


def log(arguments: argparse.Namespace) -> int:
    """List what stands in the log, show one of it, its numbers, or write to it."""
    services = Services(getattr(arguments, "home", None))
    what = arguments.what
    if what == "list":
        return _list(services, arguments)
    if what in {"show", "last"}:
        return _show(services, getattr(arguments, "id", "last"), arguments)
    return _others()[what](services, arguments)


def _others() -> dict[str, Callable[[Services, argparse.Namespace], int]]:
    """The other commands; imported here, because a list needs none of them."""
    from whistlestop.cli.log_files import COMMANDS as KEEPING
    from whistlestop.cli.log_numbers import COMMANDS as NUMBERS
    from whistlestop.cli.log_write import COMMANDS as WRITING

    return {**NUMBERS, **WRITING, **KEEPING}


def wanted_items(logbook: Logbook, arguments: argparse.Namespace) -> list[LogItem]:
    """The items that the filters of a command line let through, newest first."""
    return logbook.items(
        filter_of(arguments),
        scripted=getattr(arguments, "scripted", False),
        removed=getattr(arguments, "deleted", False),
    )


def _list(services: Services, arguments: argparse.Namespace) -> int:
    logbook = services.logbook()
    if filter_of(arguments).is_empty and not arguments.all:
        items, has_earlier = logbook.recent(
            scripted=arguments.scripted, removed=arguments.deleted
        )
        if has_earlier:
            remark("earlier ones: log --all, or log --since DAY")
    else:
        items = wanted_items(logbook, arguments)
    remark(*(f"problem: {problem}" for problem in logbook.problems))
    if arguments.json:
        say_json([item_json(item) for item in items])
        return 0
    if not items:
        none = filter_of(arguments).is_empty
        remark("no sessions yet" if none else "no match in the log")
        return 0
    say(*table([_HEADS, *(_row(item) for item in items)], right=frozenset({2, 3, 6})))
    _remark_missing(items)
    return 0


def _remark_missing(items: Sequence[LogItem]) -> None:
    """Say which training of those listed has no effort, if any."""
    sports = [
        item.name
        for item in items
        if item.kind is ItemKind.TRAINING
        and item.effort is None
        and not item.is_removed
    ]
    if sports:
        from whistlestop.review.activities.sports import counted_sports

        missing = counted_sports(Counter(sports))
        remark(f"{missing} without an effort; `log efforts --missing` asks for them")


def _row(item: LogItem) -> Sequence[str]:
    share = ""
    if item.plan_work_ms:
        share = f"{min(100, 100 * item.best_work_ms // item.plan_work_ms)} %"
    has_effort = item.kind not in NO_TRAINING
    overall = "not entered" if item.effort is None else f"{item.effort:g}"
    load = "-" if item.load_au is None else f"{item.load_au:.0f}"
    return [
        _begun(item),
        item.name or "?",
        minutes(item.length_ms) if item.length_ms else "",
        share,
        (efforts_in_text(item.efforts) or "-") if has_effort else "",
        overall if has_effort else "",
        f"{load}{' averaged' if item.is_derived else ''}" if has_effort else "",
        _ended(item),
        item.id,
    ]


def _ended(item: LogItem) -> str:
    words = {
        ItemKind.ENTERED: "entered afterwards",
        ItemKind.TRAINING: "other training",
        ItemKind.MARK: "mark",
        ItemKind.LOGGED: "period",
        ItemKind.BLANKS: "from this day",
    }
    text = words.get(item.kind) or item.ending
    if text == "open":
        text = "interrupted"
    if item.is_try_out:
        text = "try-out"
    marks = [
        "scripted" if item.scripted else "",
        "amended" if item.is_amended else "",
        "deleted" if item.is_removed else "",
        f"check it: {item.problems} problems" if item.problems else "",
    ]
    return ", ".join(filter(None, [text, *marks]))


def _begun(item: LogItem) -> str:
    if item.kind is not ItemKind.SESSION:
        return days_in_text(item)
    try:
        return f"{datetime.fromisoformat(item.wall):%Y-%m-%d %H:%M %a}"
    except ValueError:
        return "unknown"


def _show(services: Services, wanted: str, arguments: argparse.Namespace) -> int:
    logbook = services.logbook()
    as_json = getattr(arguments, "json", False)
    entry = logbook.entry(wanted)
    if entry is not None:
        return _show_entry(logbook, entry, as_json=as_json)
    found = logbook.shown(wanted, scripted=getattr(arguments, "scripted", False))
    if as_json:
        others = _companions(services, found.record)
        with_others = {"with": [session_json(one) for one in others]} if others else {}
        say_json({**_shown_json(found, logbook), **with_others})
        return 0
    if found.is_removed:
        say("deleted: not counted; `log undo` undoes the last change")
    say(*record_lines(found.record))
    say(*found.versions)
    if found.versions:
        say(*_as_recorded(found))
    amended = logbook.diary.amended(found.record.id)
    heart = heart_of(amended["heart"]) if "heart" in amended else None
    _say_heart(heart, amended.get("rate"), found.record.session_ms)
    for one in _companions(services, found.record):
        from whistlestop.driver.athletes import called

        name = called(services.places, [one.athlete])[one.athlete]
        apart = f"{one.company.offset_text} further on"
        say("", f"{name} ({one.athlete}), {apart}", *done_lines(one))
    return 0


def _companions(services: Services, record: SessionRecord) -> list[SessionRecord]:
    """The same session as those did it who trained along."""
    ids = [athlete for athlete, _ in record.company.others]
    return [services.log.record(record.id, athlete=athlete) for athlete in ids]


def _as_recorded(found: AmendedSession) -> list[str]:
    record = found.recorded
    text = record.session_effort
    efforts = efforts_in_text(
        [loop.effort.number if loop.effort else None for loop in record.loops]
    )
    overall = "not entered" if text is None else f"{text}"
    felt = [d.entry for d in record.discomforts]
    details = ", ".join(f"{site_name(one.site)} {one.side} {one.level}" for one in felt)
    return [
        (
            f"as recorded: effort by loop {efforts}; session effort {overall}; "
            f'note "{record.note}"; discomfort {details or "none"}'
        )
    ]


def _shown_json(found: AmendedSession, logbook: Logbook) -> dict[str, Any]:
    versions = logbook.diary.amendments.get(found.record.id, ())
    text = found.recorded.session_effort
    return {
        **session_json(found.record),
        "deleted": found.is_removed,
        "as_recorded": {
            "session_effort": None if text is None else text.number,
            "efforts": [
                loop.effort.number if loop.effort else None
                for loop in found.recorded.loops
            ],
            "note": found.recorded.note,
        },
        "amendments": [
            {"s": v.sequence, "wall": v.wall, "stands": v.stands, "set": dict(v.values)}
            for v in versions
        ],
    }


def _say_heart(heart: Heart | None, rate: int | None, length_ms: int) -> None:
    if heart is not None:
        say(heart_text(heart, length_ms))
    elif rate is not None:
        say(f"heart rate {rate}; no load without resting and maximum rates")


def _show_entry(logbook: Logbook, entry: DiaryEntry, *, as_json: bool) -> int:
    item = item_of_entry(entry)
    has_record = isinstance(entry.values.get("plan"), dict)
    record = logbook.record(entry.id) if has_record else None
    if as_json:
        versions = [
            {"s": v.sequence, "wall": v.wall, "stands": v.stands, "set": dict(v.values)}
            for v in entry.versions
        ]
        done = {} if record is None else {"record": session_json(record)}
        say_json({**item_json(item), **done, "versions": versions})
        return 0
    if record is not None:
        if item.is_removed:
            say("deleted or undone: not counted")
        say(*record_lines(record), *version_lines(entry.versions, made=True))
        return 0
    say(f"{item.name}, {days_in_text(item)} ({entry.id})")
    if item.is_removed:
        say("deleted or undone: not counted")
    say(*version_lines(entry.versions, made=True))
    if item.load_au is not None:
        derived = " (averaged)" if item.is_derived else ""
        say(f"session load {item.load_au:.0f} AU{derived}")
    _say_heart(item.heart, item.rate, item.length_ms)
    return 0
