"""`export`: which command writes what. Each module adds itself with one line here."""

from __future__ import annotations

import argparse
from collections.abc import Callable


def add_export(
    export: argparse.ArgumentParser, common: argparse.ArgumentParser
) -> None:
    """Give the parser of `export` its commands."""
    from whistlestop.cli import export_log, page

    commands = export.add_subparsers(dest="what", metavar="WHAT", required=True)

    def add(
        name: str,
        words: str,
        fill: Callable[[argparse.ArgumentParser], None],
        run: Callable[[argparse.Namespace], int],
    ) -> None:
        parser = commands.add_parser(name, parents=[common], help=words)
        fill(parser)
        parser.set_defaults(export=run)

    add(
        "log",
        "the log as CSV or JSON Lines",
        export_log.add_log_arguments,
        export_log.export_log,
    )
    add(
        "calendar",
        "the log and planned sessions as iCalendar",
        export_log.add_calendar_arguments,
        export_log.export_calendar,
    )
    add(
        "page",
        "plots and tables as one HTML page",
        page.add_page_arguments,
        page.export_page,
    )
    add(
        "report",
        "two pages for a professional",
        page.add_report_arguments,
        page.export_report,
    )


def export(arguments: argparse.Namespace) -> int:
    """Run the command that was chosen."""
    status: int = arguments.export(arguments)
    return status
