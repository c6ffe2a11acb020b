"""Facts as lines of text. The only module that prints."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from typing import Any

from whistlestop.domain.duration import clock, exact
from whistlestop.domain.effort import session_load_au
from whistlestop.domain.plan import Kind, Plan, Segment
from whistlestop.domain.text import shown
from whistlestop.review.record import LoopResult, SessionRecord, StationResult

KIND_WORDS = {
    Kind.GET_READY: "get ready",
    Kind.WARM_UP: "warm-up",
    Kind.WORK: "work",
    Kind.CHANGEOVER: "change over",
    Kind.RECOVER: "recover",
    Kind.LOOP_BREAK: "loop break",
    Kind.HOLD: "hold",
    Kind.COOL_DOWN: "cool-down",
}


def say(*lines: str) -> None:
    """Print facts on standard output."""
    for line in lines:
        print(shown(line, 2000))
    sys.stdout.flush()


def remark(*lines: str) -> None:
    """Print talk on standard error."""
    for line in lines:
        print(shown(line, 2000), file=sys.stderr)


def say_json(value: Any) -> None:
    """Print one JSON value."""
    print(json.dumps(value, ensure_ascii=True, allow_nan=False, indent=1))
    sys.stdout.flush()


def table(rows: Sequence[Sequence[str]], right: frozenset[int] = frozenset()) -> list[str]:
    """Lay rows out in columns, two spaces apart; `right` aligns to the right."""
    if not rows:
        return []
    columns = range(len(rows[0]))
    safe = [[shown(cell, 60) for cell in row] for row in rows]
    widths = [max(len(row[c]) for row in safe) for c in columns]
    return [
        "  ".join(
            row[c].rjust(widths[c]) if c in right else row[c].ljust(widths[c])
            for c in columns
        ).rstrip()
        for row in safe
    ]


def minutes(ms: int) -> str:
    """A length in whole minutes, rounded, for plain sentences."""
    return f"{(ms + 30_000) // 60_000} min"


def plan_lines(plan: Plan) -> list[str]:
    """A plan as a readable table with its totals."""
    rows = [["at", "for", "loop", "what", "station", "part", "load"]]
    for segment in plan.segments:
        if segment.kind is Kind.CHANGEOVER and segment.duration_ms < 1000:
            continue  # a rounding of a few ms: silent and not shown
        rows.append(_plan_row(plan, segment))
    gates = plan.open_gates
    open_words = f", {gates} open until a key" if gates else ""
    return [
        f"{plan.name} ({plan.circuit})",
        *table(rows, right=frozenset({0, 1})),
        f"total {clock(plan.total_ms)}, work {clock(plan.work_ms)}{open_words}",
    ]


def _plan_row(plan: Plan, segment: Segment) -> list[str]:
    length = "key" if segment.until_key else exact(segment.duration_ms)
    name = segment.exercise_name or ""
    if segment.kind is Kind.RECOVER:
        name = segment.drill_name or ""
    number = f"{segment.station} " if segment.kind is Kind.WORK else ""
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


def effort_words(number: float | None) -> str:
    """An effort as entered, or that it was not."""
    return "not entered" if number is None else f"{number:g}"


def record_lines(record: SessionRecord) -> list[str]:
    """The completion log of one session."""
    head = [
        f"{record.plan.name} ({record.plan.circuit})",
        f"session {record.id}, begun {record.wall}",
        _ending_line(record),
        f"length {clock(record.elapsed_ms)}: active {clock(record.active_ms)}, "
        f"paused {clock(record.paused_ms)}, at gates {clock(record.gated_ms)}",
    ]
    for gap in record.gaps_ms:
        head.append(f"lost and not counted: {clock(gap)} (asleep or not running)")
    done = sum(loop.best_ms for loop in record.loops)
    planned = record.plan.work_ms
    share = 100 * done / planned if planned else 0
    head.append(f"work {clock(done)} of {clock(planned)} planned ({share:.0f} %)")
    lines = [*head, ""]
    for loop in record.loops:
        lines += [*_loop_lines(loop, len(record.loops)), ""]
    lines += _session_lines(record)
    return lines


def _ending_line(record: SessionRecord) -> str:
    words = {
        "complete": "done to the end",
        "stopped": "stopped early",
        "health": "stopped for health",
        "open": "interrupted: it can be resumed with run --resume",
    }
    scripted = ", a scripted run" if record.scripted else ""
    return words[record.ending] + scripted


def _loop_lines(loop: LoopResult, loops: int) -> list[str]:
    effort = loop.effort.number if loop.effort else None
    mark = ", partial" if loop.partial else ""
    lines = [f"loop {loop.loop} of {loops}{mark}: effort {effort_words(effort)}"]
    rows = []
    for station in loop.stations:
        rows += _station_rows(station)
    return lines + [f"  {line}" for line in table(rows)]


def _station_rows(station: StationResult) -> list[list[str]]:
    rows = []
    for index, part in enumerate(station.parts):
        first = index == 0
        name = f"{station.card.number} {station.card.name}" if first else ""
        visits = f"{part.visits} visits" if part.visits > 1 else ""
        why = part.why.value if part.why else "not done"
        changed = f"set to {exact(part.set_ms)}" if part.set_ms != part.plan_ms else ""
        rows.append(
            [
                name,
                part.part or "",
                f"{exact(part.done_ms)} of {exact(part.plan_ms)}",
                why,
                ", ".join(filter(None, [changed, visits, *_extras(station, first)])),
            ]
        )
    return rows


def _extras(station: StationResult, first: bool) -> Iterable[str]:
    if not first:
        return
    if station.load_used:
        yield f"load {station.load_used} (planned {station.load or 'none'})"
    elif station.load:
        yield f"load {station.load}"
    if station.count is not None:
        yield f"count {station.count}"
    for variant in station.variants:
        yield f"done {variant}"


def _session_lines(record: SessionRecord) -> list[str]:
    lines = []
    effort = record.session_effort
    if effort is not None:
        load = session_load_au(effort, record.session_ms)
        lines.append(f"session effort {effort}: session load {load:.0f} AU")
    elif record.derived_effort is not None:
        lines.append(
            "session effort not entered; the mean of the loops is "
            f"{record.derived_effort:.1f} (derived)"
        )
    else:
        lines.append("session effort not entered")
    for taken in record.discomforts:
        entry = taken.entry
        at = f" at station {taken.station}, loop {taken.loop}" if taken.station else ""
        lines.append(
            f"discomfort: {entry.site}, {entry.side}, {entry.level} of 10{at}"  # type: ignore[union-attr]
        )
    if record.note:
        lines.append(f"note: {record.note}")
    lines += [f"look at this: {problem}" for problem in record.problems]
    return lines
