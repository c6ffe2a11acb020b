"""The lines of a journal that follow from its inputs: rows, loops, the end, the sum.

Written for people and for speed; the inputs alone are the truth. One statement for
the session that writes them and for the reader that checks them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from whistlestop.domain.plan.pairing import Company
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Event, LoopEnded, Row, RowClosed, SessionEnded
from whistlestop.engine.so_far import SessionSoFar, own_row
from whistlestop.engine.totals import totals


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


def summary_line(engine: Engine) -> dict[str, Any]:
    """The summary line of a session, with the own figures of each companion."""
    fields = summary(engine.for_athlete())
    others = {
        athlete: _own_figures(engine.for_athlete(athlete))
        for athlete, _ in engine.company.others
    }
    return {**fields, "with": others} if others else fields


def summary(session: SessionSoFar) -> dict[str, Any]:
    """The summary line of one athlete, for quick reading."""
    return {
        "k": "sum",
        "t": session.t_ms,
        "why": session.ending.value if session.ending else "open",
        "active_ms": session.active_ms,
        "elapsed_ms": session.t_ms,
        "paused_ms": session.paused_ms,
        "gated_ms": session.gated_ms,
        **_own_figures(session),
        "loops_done": sum(
            not event.partial for event in session.loops_ended if event.worked
        ),
    }


def _own_figures(session: SessionSoFar) -> dict[str, Any]:
    own = totals(session.rows, session.entries)
    return own.own_figures(session.plan.loops, session.plan.work_ms)
