"""`export log` and `export calendar`: the log as CSV, JSON Lines or iCalendar."""

from __future__ import annotations

import argparse
import sys
from datetime import datetime, time
from pathlib import Path

from whistlestop.cli.log import wanted_items
from whistlestop.cli.log_arguments import add_filters
from whistlestop.cli.output import remark
from whistlestop.cli.page import write
from whistlestop.domain.day import parse_day
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.services import Services
from whistlestop.errors import UsageError
from whistlestop.review.exchange.ical import CalendarSession
from whistlestop.review.items import LogItem

USUAL_TIME = time(18)


def add_log_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `export log` takes."""
    add_filters(parser)
    parser.add_argument(
        "--format", choices=["csv", "jsonl"], default="csv", help="default: csv"
    )
    parser.add_argument(
        "--deleted", action="store_true", help="include deleted entries"
    )
    parser.add_argument(
        "--scripted", action="store_true", help="include scripted sessions"
    )
    _add_out(parser)


def add_calendar_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `export calendar` takes."""
    add_filters(parser)
    parser.add_argument(
        "--planned",
        nargs="+",
        action="append",
        default=[],
        metavar="CIRCUIT WHEN",
        help="a circuit and one or more times such as 2031-05-12T17:30; once or more",
    )
    parser.add_argument(
        "--plan", action="store_true", help="sessions still ahead in the saved plan"
    )
    parser.add_argument(
        "--notes", action="store_true", help="with private notes (default: without)"
    )
    _add_out(parser)


def _add_out(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="the file to write (default: print it)"
    )
    parser.add_argument(
        "--force", action="store_true", help="replace a file of that name"
    )


def export_log(arguments: argparse.Namespace) -> int:
    """Write the items that the filters let through, oldest first."""
    services = Services(getattr(arguments, "home", None))
    items = _oldest_first(services, arguments)
    if arguments.format == "csv":
        from whistlestop.review.exchange.csv import csv_text

        text = csv_text(items)
    else:
        from whistlestop.review.exchange.jsonl import jsonl_text

        text = jsonl_text(items)
    return _give(arguments, text, f"{len(items)} rows")


def export_fit(arguments: argparse.Namespace) -> int:
    """Write one recorded session as FIT."""
    services = Services(getattr(arguments, "home", None))
    session_id, data = services.log.as_fit(arguments.id)
    target = arguments.out or Path(f"{session_id}.fit")
    write(target, data, force=arguments.force)
    remark(f"{session_id}: written to {target}")
    return 0


def export_calendar(arguments: argparse.Namespace) -> int:
    """Write past items, and the sessions that are planned."""
    from whistlestop.review.exchange.ical import calendar_text

    services = Services(getattr(arguments, "home", None))
    items = _oldest_first(services, arguments)
    planned = [
        each
        for circuit, *times in arguments.planned
        for each in _planned(services, circuit, times)
    ]
    if arguments.plan:
        from whistlestop.driver.planning import Planning

        planning = Planning(services)
        planned += planning.events(planning.outlook())
    text = calendar_text(items, planned, notes=arguments.notes)
    return _give(arguments, text, f"{text.count('BEGIN:VEVENT')} events")


def _oldest_first(services: Services, arguments: argparse.Namespace) -> list[LogItem]:
    logbook = services.logbook()
    items = wanted_items(logbook, arguments)[::-1]
    remark(*(f"problem: {problem}" for problem in logbook.problems))
    return items


def _planned(
    services: Services, circuit: str, times: list[str]
) -> list[CalendarSession]:
    if not times:
        raise UsageError("--planned needs a circuit and a time", "2031-05-12T17:30")
    plan = compile_plan(services.circuits.read(circuit))
    return [
        CalendarSession(plan.circuit, plan.name, _moment(text), plan.total_ms)
        for text in times
    ]


def _moment(text: str) -> datetime:
    """A day, or a day and a time, on the clock of this machine where no zone is given.

    Raises:
        UsageError: It is neither.
    """
    day, sign, at = text.partition("T")
    try:
        clock = time.fromisoformat(at) if sign else USUAL_TIME
        when = datetime.combine(parse_day(day), clock)
        return when if when.tzinfo else when.astimezone()
    except (ValueError, OverflowError):
        raise UsageError(
            "a planned session needs a day and a time", "such as 2031-05-12T17:30"
        ) from None


def _give(arguments: argparse.Namespace, text: str, what: str) -> int:
    if arguments.out is not None:
        write(arguments.out, text, force=arguments.force)
        remark(f"{what}, written to {arguments.out}")
        return 0
    # Bytes, so that no terminal's setting changes the ends of lines or the letters.
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8"))
    sys.stdout.buffer.flush()
    return 0
