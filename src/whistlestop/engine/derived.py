"""The lines of a journal that follow from its inputs: rows, loops, the end, the sum.

Written for people and for speed; the inputs alone are the truth. One statement for
the session that writes them and for the reader that checks them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, Final

from whistlestop.domain.plan.pairing import Company
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import EnterSessionEffort
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Event, LoopEnded, Row, RowClosed, SessionEnded
from whistlestop.engine.for_athlete import for_athlete, own_row
from whistlestop.engine.loops import best_work_ms

# What of a companion's summary is not the clock's.
_OWN_FIGURES: Final = (
    "work_ms",
    "best_work_ms",
    "plan_work_ms",
    "efforts",
    "session_effort",
)


def derived_lines(event: Event, company: Company) -> Iterator[dict[str, Any]]:
    """Give the lines that an event leaves, without number and time of day."""
    match event:
        case RowClosed(_, row):
            yield row_fields(row)
            for athlete, plan in company.others:
                yield {"a": athlete, **row_fields(own_row(row, plan))}
        case LoopEnded(t_ms, loop, partial, worked):
            yield {
                "k": "loop",
                "t": t_ms,
                "loop": loop,
                "partial": partial,
                "worked": worked,
            }
        case SessionEnded(t_ms, why):
            yield {"k": "end", "t": t_ms, "why": why.value}


def row_fields(row: Row) -> dict[str, Any]:
    """A row as the fields of its journal line."""
    fields = asdict(row)
    fields["kind"] = row.kind.value
    fields["why"] = row.why.value
    named = {"t": fields.pop("t_ms"), "p": fields.pop("segment")}
    named |= {"x": fields.pop("exercise")}
    kept = {key: value for key, value in fields.items() if value is not None}
    return {"k": "done", **named, **kept}


def summary_line(engine: Engine, company: Company) -> dict[str, Any]:
    """The summary line of a session, with the own figures of each companion."""
    fields = summary(for_athlete(engine))
    if company.others:
        own = {
            athlete: summary(for_athlete(engine, athlete, plan))
            for athlete, plan in company.others
        }
        fields["with"] = {
            athlete: {key: one[key] for key in _OWN_FIGURES}
            for athlete, one in own.items()
        }
    return fields


def summary(engine: Engine) -> dict[str, Any]:
    """The summary line of one athlete: a fold over the session, for quick reading."""
    efforts = []
    for loop in range(1, engine.plan.loops + 1):
        text = engine.effort_of(loop)
        efforts.append(text.effort.number if text and text.effort else None)
    session = [
        taken.entry.effort
        for taken in engine.entries
        if isinstance(taken.entry, EnterSessionEffort)
    ]
    last = session[-1] if session else None
    return {
        "k": "sum",
        "t": engine.t_ms,
        "why": engine.ending.value if engine.ending else "open",
        "active_ms": engine.active_ms,
        "elapsed_ms": engine.t_ms,
        "paused_ms": engine.paused_ms,
        "gated_ms": engine.gated_ms,
        "work_ms": sum(r.ms for r in engine.rows if r.kind is SegmentKind.WORK),
        "best_work_ms": sum(best_work_ms(engine.rows).values()),
        "plan_work_ms": engine.plan.work_ms,
        "efforts": efforts,
        "session_effort": last.number if last else None,
        "loops_done": sum(
            not event.partial for event in engine.loops_ended if event.worked
        ),
    }
