"""The entry: reads the command line, sends each command its way, sets the status.

Exit status: 0 done; 1 the input has problems; 2 wrong usage or an unusable
terminal; 130 interrupted; 128 + n ended by signal n.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from whistlestop.cli.arguments import build_parser
from whistlestop.errors import ProblemsFound, StoreError, UsageError, WhistlestopError

DONE, PROBLEMS, USAGE, INTERRUPTED = 0, 1, 2, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; no traceback reaches a user."""
    arguments = build_parser().parse_args(argv)
    try:
        return _dispatch(arguments)
    except ProblemsFound as found:
        from whistlestop.cli.output import remark

        remark(*(str(problem) for problem in found.problems))
        return PROBLEMS
    except UsageError as error:
        print(f"whistlestop: {error}", file=sys.stderr)
        return USAGE
    except (StoreError, WhistlestopError) as error:
        print(f"whistlestop: {error}", file=sys.stderr)
        return PROBLEMS
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read our output has gone; the interpreter must not flush again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def _dispatch(arguments: argparse.Namespace) -> int:
    match arguments.command:
        case "check":
            from whistlestop.cli.circuits import check

            return check(arguments)
        case "plan":
            from whistlestop.cli.circuits import plan

            return plan(arguments)
        case "log":
            from whistlestop.cli.log import log

            return log(arguments)
        case "sounds":
            from whistlestop.cli.sounds import sounds

            return sounds(arguments)
        case "run":
            from whistlestop.cli.run import run

            return run(arguments)
        case _:
            from whistlestop.cli.run import rooms

            return rooms(arguments)
