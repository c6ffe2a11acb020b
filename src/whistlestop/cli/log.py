"""`log`: sessions in plain words, and one session as the completion log."""

from __future__ import annotations

import argparse
from datetime import datetime

from whistlestop.cli.output import minutes, remark, say, say_json
from whistlestop.driver.house import House
from whistlestop.errors import UsageError
from whistlestop.review.facts import efforts_in_words, line_json, session_json
from whistlestop.review.lines import record_lines, table
from whistlestop.store.log_index import SessionLine


def log(arguments: argparse.Namespace) -> int:
    """List sessions, or show one."""
    house = House(getattr(arguments, "home", None))
    if arguments.what == "list":
        if arguments.id is not None:
            raise UsageError("log list takes no id", "log show ID shows one session")
        return _list(house, arguments)
    if arguments.what == "show" and arguments.id is None:
        raise UsageError("log show needs an id or last")
    wanted = arguments.id or "last"
    record = house.record(wanted, scripted=arguments.scripted)
    if arguments.json:
        say_json(session_json(record))
    else:
        say(*record_lines(record))
    return 0


def _list(house: House, arguments: argparse.Namespace) -> int:
    sessions = house.sessions(scripted=arguments.scripted)
    if arguments.json:
        say_json([line_json(line) for line in sessions])
        return 0
    if not sessions:
        remark("the log holds no session yet")
        return 0
    rows = [
        [
            "begun",
            "circuit",
            "length",
            "work done",
            "effort by loop",
            "overall",
            "ended",
            "id",
        ]
    ]
    rows += [_row(line) for line in sessions]
    say(*table(rows))
    return 0


def _row(line: SessionLine) -> list[str]:
    share = 100 * line.done_work_ms // line.plan_work_ms if line.plan_work_ms else 0
    overall = line.session_effort
    mark = f", look at it: {line.problems} problems" if line.problems else ""
    return [
        _begun(line.wall),
        line.name or line.circuit or "?",
        minutes(line.elapsed_ms),
        f"{min(share, 100)} %",
        efforts_in_words(line.efforts) or "-",
        "not entered" if overall is None else f"{overall:g}",
        (line.why or "interrupted") + (", scripted" if line.scripted else "") + mark,
        line.id,
    ]


def _begun(wall: str) -> str:
    try:
        return f"{datetime.fromisoformat(wall):%a %d %b %Y %H:%M}"
    except ValueError:
        return "unknown"
