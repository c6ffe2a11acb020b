"""What may be typed after `log`, as sub-parsers; nothing is read or written here."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from whistlestop.cli.options import value_of
from whistlestop.domain.circuit.circuit import LOOPS
from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.domain.field import Whole
from whistlestop.domain.reasons import CUT_REASONS
from whistlestop.review.days import DaySpan, Mark
from whistlestop.review.entered import EXAMPLES, StationEntry, parse_station_entry
from whistlestop.review.exchange.import_options import (
    FIELDS,
    LENGTH_HINT,
    ORDERS,
    read_length_ms,
)
from whistlestop.review.heart import RATES
from whistlestop.review.items import Filter

if TYPE_CHECKING:
    from whistlestop.driver.diary import DiscomfortEntry

Commands = Any  # what add_subparsers gives; argparse has no public name for it


def add_log(log: argparse.ArgumentParser, common: argparse.ArgumentParser) -> None:
    """Give the parser of `log` its commands; without one, sessions are listed."""
    _add_listing(log, default=None)
    commands = log.add_subparsers(dest="what", metavar="WHAT", title="what")
    log.set_defaults(what="list")

    def add(name: str, words: str) -> argparse.ArgumentParser:
        parser: argparse.ArgumentParser = commands.add_parser(
            name, parents=[common], help=words
        )
        return parser

    _add_listing(add("list", "sessions, other training and marks"))
    show = add("show", "one of them, with every version")
    show.add_argument("id", metavar="ID", help="an id from the list, or last")
    for one in (show, add("last", "the newest session")):
        _add_flag(one, "--json", "as JSON")
        _add_flag(one, "--scripted", "include scripted sessions")
    _add_numbers(add)
    _add_writing(add)
    _add_keeping(add)


def _add_flag(parser: argparse.ArgumentParser, name: str, words: str) -> None:
    # Suppressed: a flag before the command must not be unset behind it.
    parser.add_argument(
        name, action="store_true", default=argparse.SUPPRESS, help=words
    )


def _add_listing(
    parser: argparse.ArgumentParser, default: object = argparse.SUPPRESS
) -> None:
    add_filters(parser, default)
    for name, words in (
        ("--all", "the whole log, not only the last month"),
        ("--deleted", "include deleted entries"),
        ("--scripted", "include scripted sessions"),
        ("--json", "as JSON"),
    ):
        parser.add_argument(
            name,
            action="store_true",
            default=default if default is argparse.SUPPRESS else False,
            help=words,
        )


def add_filters(
    parser: argparse.ArgumentParser, default: object = argparse.SUPPRESS
) -> None:
    """Give a parser --circuit, --station, --kit, --since and --until."""
    for name, words in (
        ("--circuit", "sessions of these circuits"),
        ("--station", "sessions with this exercise"),
        ("--kit", "sessions with this kit"),
    ):
        parser.add_argument(name, default=default, metavar="NAME", help=words)
    add_period(parser, default)


def filter_of(arguments: argparse.Namespace) -> Filter:
    """What was given of these, as one value."""

    def given(name: str) -> Any:
        return getattr(arguments, name, None)

    return Filter(
        circuit=given("circuit") or "",
        station=given("station") or "",
        kit=given("kit") or "",
        since=given("since"),
        until=given("until"),
    )


def add_period(
    parser: argparse.ArgumentParser, default: object = argparse.SUPPRESS
) -> None:
    """Give a parser --since and --until."""
    for name, words in (("--since", "from this day on"), ("--until", "up to this day")):
        parser.add_argument(name, type=day, default=default, metavar="DAY", help=words)


def _add_numbers(add: Callable[[str, str], argparse.ArgumentParser]) -> None:
    weeks = add("weeks", "weekly load, monotony and blank days")
    weeks.add_argument(
        "--weeks",
        type=value_of(Whole(1, 520)),
        metavar="N",
        help="how many (default: 12)",
    )
    trends = add("trends", "7-day and 28-day load averages and their change")
    changes = add("changes", "what changed, with figures and days")
    stations = add("stations", "work, volume and time since last done by station")
    stations.add_argument("name", nargs="?", metavar="NAME", help="one, over time")
    balance = add("balance", "work and volume by region and pattern, left and right")
    efforts = add("efforts", "effort by loop, session by session")
    _add_flag(efforts, "--missing", "ask for those of other training, one by one")
    year = add("year", "a year, day by day")
    year.add_argument(
        "year", nargs="?", type=value_of(Whole(1900, 2200)), metavar="YEAR"
    )
    for one in (weeks, trends, changes, stations, balance, efforts, year):
        _add_flag(one, "--json", "as JSON")
    for one in (changes, stations, balance, efforts):
        add_filters(one)


def _add_writing(add: Callable[[str, str], argparse.ArgumentParser]) -> None:
    amend = add("amend", "change an entry; earlier versions stay")
    amend.add_argument("id", metavar="ID", help="an id from the list, or last")
    amend.add_argument(
        "--effort",
        type=effort,
        default=False,
        metavar="N",
        help="0 to 10, or - for not entered",
    )
    amend.add_argument(
        "--loop", type=value_of(LOOPS), metavar="N", help="the effort is of this loop"
    )
    amend.add_argument("--note", metavar="TEXT")
    amend.add_argument(
        "--discomfort",
        type=felt,
        action="append",
        metavar='"SITE SIDE LEVEL"',
        help='to add one, such as "knee left 3"; none removes all',
    )
    amend.add_argument(
        "--left-out",
        choices=CUT_REASONS,
        help="why a loop or a station was left out; the coach reads it",
    )
    more = add("add", "enter other training")
    more.add_argument("--sport", required=True, metavar="NAME")
    more.add_argument(
        "--minutes", required=True, type=minutes_ms, metavar="N", help=LENGTH_HINT
    )
    more.add_argument(
        "--heart",
        metavar="RATES",
        help="average/resting/maximum, such as 150/60/190; later only the average",
    )
    enter = add("enter", "enter a session afterwards")
    enter.add_argument("circuit", metavar="CIRCUIT", help="an id or a file")
    enter.add_argument("--loops", type=value_of(LOOPS), metavar="N")
    enter.add_argument(
        "--minutes",
        type=minutes_ms,
        metavar="N",
        help=f"{LENGTH_HINT}; default: as planned",
    )
    enter.add_argument("--efforts", metavar="LIST", help='by loop, such as "5,-,6.5"')
    enter.add_argument(
        "--station",
        dest="at_stations",
        type=at_station,
        action="append",
        default=[],
        metavar='"N: WHAT [in loop N]"',
        help=f"what was not as planned, such as {EXAMPLES}",
    )
    enter.add_argument(
        "--discomfort",
        type=discomfort,
        action="append",
        default=[],
        metavar='"SITE SIDE LEVEL"',
        help='such as "knee left 3"',
    )
    for one in (more, enter):
        one.add_argument("--date", type=day, metavar="DAY", help="default: today")
        one.add_argument("--effort", type=effort, metavar="N", help="0 to 10")
        one.add_argument("--note", default="", metavar="TEXT")
    mark = add("mark", "mark days as rest, illness, travel or off")
    mark.add_argument("mark", choices=[mark.value for mark in Mark])
    mark.add_argument("days", type=span, metavar="DAY[..DAY]")
    mark.add_argument("--note", default="", metavar="TEXT")
    full = add("full", "mark a period as fully logged")
    full.add_argument("days", type=span, metavar="DAY..DAY")
    blanks = add("blanks", "how blank days count from a day on")
    blanks.add_argument("count", choices=["rest", "open"], help="open: not known")
    blanks.add_argument(
        "day",
        nargs="?",
        type=lambda text: None if text == "all" else day(text),
        default=False,
        metavar="DAY",
        help="default: today; all: from the first day of the log",
    )
    delete = add("delete", "delete; `log undo` restores it")
    delete.add_argument("id", metavar="ID", help="an id from the list, or last")
    add("undo", "undo the last change")
    add("redo", "redo what was undone")


def _add_keeping(add: Callable[[str, str], argparse.ArgumentParser]) -> None:
    bring = add("import", "training from FIT, GPX or CSV files; previewed first")
    bring.add_argument(
        "file",
        nargs="?",
        type=Path,
        metavar="FILE|FOLDER",
        help="FIT or GPX, also as gzip or zip; or CSV, lengths as "
        f"{LENGTH_HINT}; default: the watched_folder of config.toml",
    )
    bring.add_argument(
        "--doubtful",
        choices=["same", "new"],
        help="what activities are that may be in the log already",
    )
    bring.add_argument(
        "--resting-maximum",
        type=_rates,
        metavar="N/N",
        help="heart rates for a load, such as 60/190; default: those entered last",
    )
    bring.add_argument(
        "--map",
        nargs="+",
        type=_mapping,
        action="extend",
        default=[],
        metavar="FIELD=COLUMN",
        help=f"which column is which; fields are {', '.join(FIELDS)}",
    )
    bring.add_argument(
        "--dates", choices=list(ORDERS), help="how dates are written, where in doubt"
    )
    bring.add_argument("--apply", action="store_true", help="enter what is shown")
    bring.add_argument(
        "--skip-bad", action="store_true", help="leave rows with problems out"
    )
    circuit = add("save-circuit", "save a circuit done from a file elsewhere")
    circuit.add_argument("id", metavar="CIRCUIT", help="its id")
    verify = add("verify", "read every file of the log and name what is wrong")
    _add_flag(verify, "--json", "as JSON")
    add("merge", "merge conflict copies of the diary")
    backup = add("backup", "log, circuits and settings as one archive")
    backup.add_argument("file", nargs="?", type=Path, metavar="FILE")
    restore = add("restore", "put an archive's files back; nothing is overwritten")
    restore.add_argument("file", type=Path, metavar="FILE")
    restore.add_argument(
        "--try",
        dest="trial",
        action="store_true",
        help="only read it, and say what would be put back",
    )


def day(text: str) -> date:
    """A day such as 2031-05-12, for argparse."""
    try:
        return parse_day(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def span(text: str) -> DaySpan:
    """A day, or two with `..` between them, for argparse."""
    first, dots, last = text.partition("..")
    try:
        return DaySpan(parse_day(first), parse_day(last if dots else first))
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def effort(text: str) -> Effort | None:
    """An effort, or `-` for one that is not entered, for argparse."""
    try:
        return None if text == "-" else Effort.parse(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def felt(text: str) -> DiscomfortEntry | None:
    """A discomfort; None for the word none."""
    return None if text == "none" else discomfort(text)


def discomfort(text: str) -> DiscomfortEntry:
    """A discomfort such as `knee left 3`, for argparse."""
    # Imported here: a list of the log needs none of what the diary is written with.
    from whistlestop.driver.diary import parse_discomfort

    try:
        return parse_discomfort(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def at_station(text: str) -> StationEntry:
    """What was different at a station, such as `2: out in loop 3`, for argparse."""
    try:
        return parse_station_entry(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def minutes_ms(text: str) -> int:
    """Minutes such as 90 or 45:00, or hours as 1:02:30, in ms, for argparse."""
    try:
        return read_length_ms(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _rates(text: str) -> tuple[int, int]:
    parts = text.split("/")
    are_numbers = all(p.isascii() and p.isdigit() and len(p) < 4 for p in parts)
    if len(parts) == 2 and are_numbers:
        resting, maximum = int(parts[0]), int(parts[1])
        if resting in RATES and maximum in RATES and resting < maximum:
            return resting, maximum
    raise argparse.ArgumentTypeError("expected resting/maximum, such as 60/190")


def _mapping(text: str) -> tuple[str, str]:
    field, sign, column = text.partition("=")
    if not (field and sign and column):
        raise argparse.ArgumentTypeError("expected FIELD=COLUMN, such as date=Datum")
    return field, column
