"""Facts as lines of text. The only module that prints."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import Any

from whistlestop.domain.columns import table
from whistlestop.domain.duration import clock, exact
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind
from whistlestop.domain.text import shown
from whistlestop.errors import Problem

KIND_WORDS = {
    SegmentKind.GET_READY: "get ready",
    SegmentKind.WARM_UP: "warm-up",
    SegmentKind.WORK: "work",
    SegmentKind.CHANGEOVER: "switch",
    SegmentKind.RECOVER: "recover",
    SegmentKind.LOOP_BREAK: "loop break",
    SegmentKind.HOLD: "wait",
    SegmentKind.COOL_DOWN: "cool-down",
}


def say(*lines: str) -> None:
    """Print facts on standard output."""
    for line in lines:
        print(shown(line, 2000))
    flush()


def flush() -> None:
    """Hand on what was printed; where standard output is closed there is nothing."""
    if sys.stdout is not None:
        sys.stdout.flush()


def remark(*lines: str) -> None:
    """Print talk on standard error, which may be closed."""
    if sys.stderr is None:
        return
    for line in lines:
        print(shown(line, 2000), file=sys.stderr)


def say_checked(problems: Sequence[Problem], files: int, *more: str) -> None:
    """Print the problems of some files, then more lines; remark where there is none."""
    say(*(str(problem) for problem in problems), *more)
    if not problems:
        remark(f"{files} {'file' if files == 1 else 'files'}: no problems")


def say_json(value: Any) -> None:
    """Print one JSON value."""
    print(json.dumps(value, ensure_ascii=True, allow_nan=False, indent=1))
    flush()


def minutes(ms: int) -> str:
    """A length in whole minutes, rounded, for plain sentences."""
    return f"{(ms + 30_000) // 60_000} min"


def plan_lines(plan: Plan) -> list[str]:
    """A plan as a readable table with its totals."""
    rows = [["at", "for", "loop", "what", "station", "part", "load"]]
    for segment in plan.segments:
        if segment.kind is SegmentKind.CHANGEOVER and segment.duration_ms < 1000:
            continue  # a rounding of a few ms: silent and not shown
        rows.append(_plan_row(plan, segment))
    gates = plan.open_gates
    open_text = f", waits for a key: {gates}" if gates else ""
    return [
        f"{plan.name} ({plan.circuit})",
        *table(rows, right=frozenset({0, 1})),
        f"total {clock(plan.total_ms)}, work {clock(plan.work_ms)}{open_text}",
    ]


def _plan_row(plan: Plan, segment: Segment) -> list[str]:
    length = "key" if segment.until_key else exact(segment.duration_ms)
    name = segment.exercise_name or ""
    if segment.kind is SegmentKind.RECOVER:
        name = segment.drill_name or ""
    number = f"{segment.station} " if segment.kind is SegmentKind.WORK else ""
    loop = f"{segment.loop}/{plan.loops}" if segment.loop else ""
    return [
        clock(segment.start_ms),
        length,
        loop,
        KIND_WORDS[segment.kind],
        number + name,
        segment.part or "",
        segment.load or "",
    ]
