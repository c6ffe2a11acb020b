"""What may be typed after `export`; what is heavy is loaded once it is asked for."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, NoReturn

from whistlestop.domain.text import shown

Fill = Callable[[argparse.ArgumentParser], None]


class _Lazy(argparse.ArgumentParser):
    """A parser that is given its arguments only when it has to read some."""

    fill: Fill | None = None

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Take the arguments in, then read as any parser does."""
        fill, self.fill = self.fill, None
        if fill is not None:
            fill(self)
        return super().parse_known_args(args, namespace)

    def error(self, message: str) -> NoReturn:
        """Say what is wrong without repeating control characters to a terminal."""
        super().error(shown(message))


def _log(parser: argparse.ArgumentParser) -> None:
    from whistlestop.cli.export_log import add_log_arguments

    add_log_arguments(parser)


def _calendar(parser: argparse.ArgumentParser) -> None:
    from whistlestop.cli.export_log import add_calendar_arguments

    add_calendar_arguments(parser)


def _page(parser: argparse.ArgumentParser) -> None:
    from whistlestop.cli.page import add_page_arguments

    add_page_arguments(parser)


def _report(parser: argparse.ArgumentParser) -> None:
    from whistlestop.cli.page import add_report_arguments

    add_report_arguments(parser)


def _fit(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("id", metavar="ID", help="a session of `log`, or last")
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="default: the session's id with .fit"
    )
    parser.add_argument(
        "--force", action="store_true", help="replace a file of that name"
    )


def _circuit(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("circuit", metavar="CIRCUIT", help="an id or a file")
    parser.add_argument("--out", type=Path, metavar="FILE", help="default: print it")
    parser.add_argument(
        "--format", choices=["html", "markdown"], default="html", help="default: html"
    )
    parser.add_argument(
        "--force", action="store_true", help="replace a file of that name"
    )


_WHAT: Final[Mapping[str, tuple[str, Fill]]] = {
    "sheet": ("a circuit as one page to print", _circuit),
    "cards": ("one large card a station, for the wall", _circuit),
    "log": ("the log as CSV or JSON Lines", _log),
    "fit": ("a session as FIT, for a diary elsewhere", _fit),
    "calendar": ("the log and planned sessions as iCalendar", _calendar),
    "page": ("plots and tables as one HTML page", _page),
    "report": ("two pages for a professional", _report),
}


def add_export(
    parser: argparse.ArgumentParser, common: argparse.ArgumentParser
) -> None:
    """Give the parser of `export` its commands."""
    # argparse types parents as of the class that is made of them.
    parents: list[Any] = [common]
    commands = parser.add_subparsers(
        dest="what", metavar="WHAT", required=True, parser_class=_Lazy
    )
    for name, (words, fill) in _WHAT.items():
        own: _Lazy = commands.add_parser(name, parents=parents, help=words)
        own.fill = fill
