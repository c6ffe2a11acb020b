"""The entry: reads the command line, sends each command its way, sets the status.

Exit status: 0 done; 1 the input has problems; 2 wrong usage or an unusable
terminal; 130 interrupted; 128 + n ended by signal n.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from whistlestop.cli.short_words import understood
from whistlestop.errors import ProblemsFound, StoreError, UsageError, WhistlestopError

DONE, PROBLEMS, USAGE, INTERRUPTED = 0, 1, 2, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; no traceback reaches a user."""
    words = sys.argv[1:] if argv is None else argv
    arguments = understood(words)
    if arguments is None:
        arguments = _parsed(words)
    else:
        # These lead to the screens: what a start makes is there to stay, and looking
        # through it for garbage costs more than it finds, until something is seen.
        gc.disable()
    try:
        return _dispatch(arguments)
    except ProblemsFound as found:
        from whistlestop.cli.output import remark

        remark(*(str(problem) for problem in found.problems))
        return PROBLEMS
    except UsageError as error:
        _complain(f"{error}")
        return USAGE
    except (StoreError, WhistlestopError) as error:
        _complain(f"{error}")
        return PROBLEMS
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone; the interpreter must not flush again.
        _let_go_of_output()
        return DONE
    except OSError as error:
        return _refused(error)
    except Exception as error:  # noqa: BLE001 - the last net: no traceback is shown
        return _fault(error, getattr(arguments, "home", None))
    finally:
        gc.enable()


def _parsed(words: Sequence[str]) -> Any:
    from whistlestop.cli.arguments import build_parser

    return build_parser(words).parse_args(_joined(words))


def _joined(words: Sequence[str]) -> list[str]:
    """A list such as `-,5,6` behind an option is its value, and no option itself."""
    found: list[str] = []
    for word in words:
        if word.startswith("-,") and found and found[-1].startswith("--"):
            found[-1] += f"={word}"
        else:
            found.append(word)
    return found


def _complain(sentence: str) -> None:
    from whistlestop.cli.output import remark

    with suppress(OSError):
        remark(*f"whistlestop: {sentence}".splitlines())


def _refused(error: OSError) -> int:
    """What the system refused, as a sentence: a file, or where our output goes."""
    from whistlestop.store.places import in_text

    what = "standard output" if error.filename is None else f"{error.filename}"
    _complain(f"{what}: {in_text(error)}")
    if error.filename is None:
        _let_go_of_output()
    return PROBLEMS


def _let_go_of_output() -> None:
    if sys.stdout is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _fault(error: Exception, home: Path | None) -> int:
    from whistlestop.driver.fault import fault_text
    from whistlestop.store.places import Places

    try:
        places = Places(home)
    except StoreError:
        places = None
    _complain(fault_text(error, places).removeprefix("whistlestop: "))
    return PROBLEMS


def _dispatch(arguments: Any) -> int:
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
        case "next":
            from whistlestop.cli.next import next_step

            return next_step(arguments)
        case "build":
            from whistlestop.cli.build import build

            return build(arguments)
        case "sounds":
            from whistlestop.cli.sounds import sounds

            return sounds(arguments)
        case "kit":
            from whistlestop.cli.kit import kit

            return kit(arguments)
        case "export":
            from whistlestop.cli.export import export

            return export(arguments)
        case "run":
            from whistlestop.cli.run import run

            return run(arguments)
        case _:
            from whistlestop.cli.screens import rooms

            return rooms(arguments)
