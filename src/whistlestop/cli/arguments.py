"""What may be typed after `whistlestop`, as an argparse parser."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from whistlestop import __version__
from whistlestop.cli.export_arguments import add_export
from whistlestop.cli.kit_arguments import add_kit
from whistlestop.cli.options import add_options, value_of
from whistlestop.domain.circuit.circuit import (
    MAX_STATIONS,
    STATION_NUMBER,
    Circuit,
    Station,
)
from whistlestop.domain.field import Whole
from whistlestop.domain.text import shown


class _Parser(argparse.ArgumentParser):
    """Says what is wrong without repeating control characters to a terminal."""

    def error(self, message: str) -> NoReturn:
        super().error(shown(message))


def build_parser(words: Sequence[str] | None = None) -> argparse.ArgumentParser:
    """The parser of the whole command line.

    Args:
        words: What is to be parsed: commands whose arguments cost an import are
            filled in only where they are among them. None fills in all.
    """
    common = _Parser(add_help=False)
    common.add_argument(
        "--home",
        type=Path,
        default=argparse.SUPPRESS,
        metavar="DIR",
        help="save all files under DIR",
    )
    parser = _Parser(
        prog="whistlestop",
        parents=[common],
        description="Run timed exercise circuits live, and keep the record.",
        epilog="Without a command, choose a circuit on screen.",
    )
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    _add_run(commands.add_parser("run", parents=[common], help="train"))
    check = commands.add_parser(
        "check", parents=[common], help="list every problem in circuit files"
    )
    check.add_argument("files", nargs="+", metavar="FILE")
    check.add_argument("--json", action="store_true", help="as JSON")
    check.add_argument(
        "--advice", action="store_true", help="with notes on the order of stations"
    )
    _add_company(check)
    plan = commands.add_parser(
        "plan", parents=[common], help="show every segment of a circuit"
    )
    plan.add_argument("circuit", metavar="CIRCUIT", help="an id or a file")
    plan.add_argument("--json", action="store_true", help="as JSON")
    _add_company(plan)
    log = commands.add_parser("log", parents=[common], help="your training log")
    if words is None or "log" in words:
        from whistlestop.cli.log_arguments import add_log

        add_log(log, common)
    coach = commands.add_parser("next", parents=[common], help="the one next step")
    if words is None or "next" in words:
        from whistlestop.cli.next import add_next

        add_next(coach)
    builder = commands.add_parser("build", parents=[common], help="a new circuit")
    if words is None or "build" in words:
        from whistlestop.cli.build import add_build

        add_build(builder)
    _add_sounds(commands.add_parser("sounds", parents=[common], help="tones and voice"))
    add_kit(commands.add_parser("kit", parents=[common], help="your kit"), common)
    add_export(
        commands.add_parser("export", parents=[common], help="pages, cards and files"),
        common,
    )
    return parser


def _add_company(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--with", dest="companion", metavar="NAME", help="for two people, on one clock"
    )
    command.add_argument(
        "--offset",
        type=value_of(Whole(1, MAX_STATIONS - 1)),
        metavar="N",
        help="with --with: stations apart (default: so that no kit is needed twice)",
    )


def _add_sounds(sounds: argparse.ArgumentParser) -> None:
    sounds.add_argument(
        "what",
        nargs="?",
        default="list",
        choices=["list", "check", "render"],
        help="list the tones, play each, or write a whole session as a WAV file",
    )
    sounds.add_argument("circuit", nargs="?", metavar="CIRCUIT", help="to render")
    sounds.add_argument("out", nargs="?", metavar="FILE", help="the WAV file to write")
    sounds.add_argument(
        "--list", action="store_true", help="with render: list every sound and its time"
    )
    sounds.add_argument("--json", action="store_true", help="as JSON")


def _add_run(run: argparse.ArgumentParser) -> None:
    run.add_argument("circuit", nargs="?", metavar="CIRCUIT", help="an id or a file")
    run.add_argument("--again", action="store_true", help="the last session again")
    run.add_argument(
        "--resume", action="store_true", help="resume the interrupted session"
    )
    run.add_argument(
        "--plain", action="store_true", help="line by line, one line per event"
    )
    run.add_argument(
        "--speed",
        type=value_of(Whole(1, 10_000)),
        metavar="N",
        help="with --plain: a silent, scripted run N times as fast",
    )
    run.add_argument(
        "--effort", metavar="LIST", help='efforts to enter, such as "5,-,6.5"'
    )
    _add_company(run)
    quick = run.add_argument_group("without a file")
    quick.add_argument(
        "--stations", type=value_of(STATION_NUMBER), metavar="N", help="how many"
    )
    add_options(quick, Circuit)
    add_options(run.add_argument_group("at each station"), Station)
