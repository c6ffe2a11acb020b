"""What may be typed after `kit`; nothing is read here."""

from __future__ import annotations

import argparse


def add_kit(parser: argparse.ArgumentParser, common: argparse.ArgumentParser) -> None:
    """Give the parser of `kit` its commands; without one, the kit is listed."""
    parser.add_argument("--json", action="store_true", help="as JSON")
    commands = parser.add_subparsers(dest="what", metavar="WHAT")
    parser.set_defaults(what="list")
    listed = commands.add_parser("list", parents=[common], help="your kit")
    check = commands.add_parser(
        "check", parents=[common], help="say everything wrong with kit files"
    )
    check.add_argument("files", nargs="+", metavar="FILE")
    loads = commands.add_parser(
        "loads", parents=[common], help="the nearest load that can be made up"
    )
    loads.add_argument("load", metavar="LOAD", help='such as "2 x 10 kg"')
    loads.add_argument(
        "--with",
        dest="carrier",
        action="append",
        metavar="THING",
        help="what carries it, as kettlebell or bar; else any weight",
    )
    for one in (listed, check, loads):
        one.add_argument(
            "--json", action="store_true", default=argparse.SUPPRESS, help="as JSON"
        )
