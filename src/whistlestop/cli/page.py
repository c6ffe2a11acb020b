"""`export page` and `export report`: a period of the log as one HTML file to print."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from whistlestop.cli.output import remark
from whistlestop.domain.day import parse_day
from whistlestop.domain.text import shown
from whistlestop.driver.services import Services
from whistlestop.errors import StoreError, UsageError
from whistlestop.pages.material import Material, gather
from whistlestop.review.amended import local_day
from whistlestop.review.days import DaySpan
from whistlestop.review.what_changed import days_before
from whistlestop.store.journal.index import SessionLine
from whistlestop.store.places import in_text, replace_file, write_new

PAGE_WEEKS: Final = 26
REPORT_WEEKS: Final = 12


def add_page_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `export page` takes."""
    _add(parser, PAGE_WEEKS)


def add_report_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `export report` takes."""
    _add(parser, REPORT_WEEKS)


def _add(parser: argparse.ArgumentParser, weeks: int) -> None:
    parser.add_argument(
        "--from",
        dest="first",
        type=_day,
        metavar="DAY",
        help=f"the first day, such as 2031-05-12; {weeks} weeks back if not given",
    )
    parser.add_argument(
        "--to", dest="last", type=_day, metavar="DAY", help="the last day; or today"
    )
    parser.add_argument(
        "--out", required=True, type=Path, metavar="FILE", help="the file to write"
    )
    parser.add_argument(
        "--notes", action="store_true", help="with private notes (default: without)"
    )
    parser.add_argument(
        "--force", action="store_true", help="replace a file of that name"
    )


def export_page(arguments: argparse.Namespace) -> int:
    """Write all plots and tables of a period."""
    from whistlestop.pages.log_page import log_page

    return _export(arguments, log_page, PAGE_WEEKS)


def export_report(arguments: argparse.Namespace) -> int:
    """Write the two pages for a professional."""
    from whistlestop.pages.report import report

    return _export(arguments, report, REPORT_WEEKS)


def _export(arguments: argparse.Namespace, make: Callable[..., str], weeks: int) -> int:
    services = Services(getattr(arguments, "home", None))
    span = period(arguments.first, arguments.last, services.clock.wall().date(), weeks)
    material, left_out = gathered(services, span)
    write(arguments.out, make(material, notes=arguments.notes), force=arguments.force)
    for line in left_out:
        remark(f"left out: session {line.id}, which cannot be read")
    remark(
        f"{len(material.trainings)} sessions, {span.first} to {span.last}, "
        f"written to {arguments.out}"
    )
    return 1 if left_out else 0


def period(first: date | None, last: date | None, today: date, weeks: int) -> DaySpan:
    """The period asked for; without a beginning, some weeks up to its end.

    Raises:
        UsageError: It ends before it begins, or is longer than ten years.
    """
    end = last or today
    begin = first or end - timedelta(weeks=weeks) + timedelta(days=1)
    if end < begin:
        raise UsageError(f"the period ends on {end}, before it begins on {begin}")
    if len(DaySpan(begin, end)) > 3_660:
        raise UsageError("a page holds up to ten years", "choose --from and --to")
    return DaySpan(begin, end)


def gathered(services: Services, span: DaySpan) -> tuple[Material, list[SessionLine]]:
    """The material of a period, and the sessions in it that cannot be read.

    Raises:
        StoreError: The log or the diary cannot be read.
    """
    # Imported here: only a page asks what changed.
    from whistlestop.driver.changes import changes_of
    from whistlestop.driver.week_targets import fixed_days

    logbook = services.logbook()
    records, left_out = [], []
    for line in logbook.done(since=days_before(span).first):
        try:
            if local_day(line.wall) <= span.last:
                records.append(logbook.record(line.id))
        except (StoreError, UsageError, ValueError):
            if _is_inside(line, span):
                left_out.append(line)
    places = services.library.station_places()
    trainings = logbook.trainings()
    material = gather(span, records, logbook.diary, trainings, places, logbook.today)
    changes, fixed = changes_of(services, records, span), fixed_days(services.places)
    return replace(material, changes=changes, fixed=fixed), left_out


def _is_inside(line: SessionLine, span: DaySpan) -> bool:
    try:
        return local_day(line.wall) in span
    except ValueError:
        return True  # to be named, wherever it belongs


def write(path: Path, text: str | bytes, *, force: bool) -> None:
    """Write a file; a file that is there already stays unless `force` is given.

    Raises:
        UsageError: There is a file of that name.
        StoreError: The disk does not take it.
    """
    name = shown(str(path))
    data = text.encode("utf-8", "replace") if isinstance(text, str) else text
    if not path.parent.is_dir():
        raise StoreError(f"cannot write {name}: there is no such folder")
    try:
        if force:
            replace_file(path, data)
        else:
            write_new(path, data)
    except FileExistsError:
        raise UsageError(f"{name} is there already", "--force replaces it") from None
    except (OSError, ValueError) as error:
        why = in_text(error) if isinstance(error, OSError) else "not a file name"
        raise StoreError(f"cannot write {name}: {why}") from None


def _day(text: str) -> date:
    try:
        return parse_day(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
