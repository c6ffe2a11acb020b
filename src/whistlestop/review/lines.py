"""A record as lines of plain words: the completion log, wherever it is read."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from whistlestop.domain.columns import table
from whistlestop.domain.duration import clock, exact
from whistlestop.domain.effort import session_load_au
from whistlestop.domain.sites import site_name

if TYPE_CHECKING:
    from whistlestop.review.record import (
        DoneAs,
        LoopResult,
        SessionRecord,
        StationResult,
    )


def effort_text(number: float | None) -> str:
    """An effort as entered, or that it was not."""
    return "not entered" if number is None else f"{number:g}"


def record_lines(record: SessionRecord) -> list[str]:
    """The completion log of one session."""
    if record.entered:
        return [
            f"{record.plan.name} ({record.plan.circuit})",
            f"session {record.id}, {record.wall}",
            f"entered afterwards; length {clock(record.elapsed_ms)}",
            *done_lines(record),
        ]
    head = [
        f"{record.plan.name} ({record.plan.circuit})",
        f"session {record.id}, begun {record.wall}",
        _ending_line(record),
        (
            f"length {clock(record.elapsed_ms)}: active "
            f"{clock(record.active_ms)}, paused {clock(record.paused_ms)}, "
            f"waiting {clock(record.gated_ms)}"
        ),
    ]
    for gap in record.gaps_ms:
        head.append(f"not counted: {clock(gap)} (computer asleep or program closed)")
    return [*head, *done_lines(record)]


def done_lines(record: SessionRecord) -> list[str]:
    """What one athlete did and entered, loop by loop, without the session's lines."""
    done = sum(loop.best_ms for loop in record.loops)
    planned = record.plan.work_ms
    share = 100 * done / planned if planned else 0
    lines = [f"work {clock(done)} of {clock(planned)} planned ({share:.0f} %)", ""]
    for loop in record.loops:
        lines += _loop_lines(loop, len(record.loops))
        lines += [*_drill_lines(record, loop.loop), ""]
    lines += _session_lines(record)
    return lines


def _ending_line(record: SessionRecord) -> str:
    words = {
        "complete": "completed",
        "stopped": "stopped early",
        "health": "ended by health stop",
        "open": "interrupted: resume it with run --resume",
    }
    text = words[record.ending]
    if record.is_try_out:
        text += ": a try-out, which counts nowhere; a note or an effort makes it count"
    return f"{text}, a scripted run" if record.scripted else text


def _loop_lines(loop: LoopResult, loops: int) -> list[str]:
    effort = loop.effort.number if loop.effort else None
    text = f"effort {effort_text(effort)}" if loop.worked else "not done"
    mark = ", partial" if loop.partial and loop.worked else ""
    lines = [f"loop {loop.loop} of {loops}{mark}: {text}"]
    rows = []
    for station in loop.stations:
        rows += _station_rows(station)
    return lines + [f"  {line}" for line in table(rows)]


def _drill_lines(record: SessionRecord, loop: int) -> Iterable[str]:
    """The counts of drills; one that was not counted is part of its recovery."""
    for done in record.drills:
        if done.loop == loop and done.station and done.count is not None:
            card = record.plan.card(done.station)
            named = f"{card.number} {card.name}: {done.name}"
            yield f"  drill after {named}, count {done.count}"


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
                ", ".join(
                    filter(None, [changed, visits, *_extras(station, first=first)])
                ),
            ]
        )
    return rows


def _extras(station: StationResult, *, first: bool) -> Iterable[str]:
    """What was really done beside the plan, and what was entered of it."""
    if not first:
        return
    if station.skip_reason:
        yield f"skipped: {station.skip_reason}"
    worked = [done for done in station.done if done.done_ms]
    for done in worked or station.done:
        yield from _done_text(station, done, is_one=len(worked) < 2)


def _done_text(station: StationResult, done: DoneAs, *, is_one: bool) -> Iterable[str]:
    planned = f" (planned {station.load or 'none'})" * (done.load != station.load)
    if done.card.exercise != station.card.exercise:
        yield f"done as {done.card.name}"
        yield f"load {done.load}" if done.load else "no load"
    elif done.load or station.load:
        yield f"load {done.load or 'none'}{planned}"
    if not is_one:
        yield f"{exact(done.done_ms)} of it"
    if done.count is not None:
        yield f"count {done.count}"
    for variant in done.variants:
        yield f"{variant} version"


def _session_lines(record: SessionRecord) -> list[str]:
    lines = []
    effort = record.session_effort
    if effort is not None:
        load = session_load_au(effort, record.session_ms)
        lines.append(f"session effort {effort}: session load {load:.0f} AU")
    elif record.derived_effort is not None:
        lines.append(
            "session effort not entered; mean of the loops by their work "
            f"{record.derived_effort:.1f} (averaged)"
        )
    else:
        lines.append("session effort not entered")
    for taken in record.discomforts:
        entry, at = taken.entry, ""
        if taken.station:
            at = f" at station {taken.station}, loop {taken.loop}"
        named = (site_name(entry.site), entry.side, f"{entry.level} of 10{at}")
        lines.append(f"discomfort: {', '.join(filter(None, named))}")
    if record.note:
        lines.append(f"note: {record.note}")
    lines += [f"problem: {problem}" for problem in record.problems]
    return lines
