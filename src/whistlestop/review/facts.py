"""Records as plain JSON values: the fields of `log --json`, only ever added to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from whistlestop.review.record import LoopResult, SessionRecord


def session_json(record: SessionRecord) -> dict[str, Any]:
    """One session as the fields of `log show --json`."""
    return {
        "id": record.id,
        "wall": record.wall,
        "circuit": record.plan.circuit,
        "name": record.plan.name,
        "scripted": record.scripted,
        "ending": record.ending,
        "elapsed_ms": record.elapsed_ms,
        "active_ms": record.active_ms,
        "paused_ms": record.paused_ms,
        "gated_ms": record.gated_ms,
        "gaps_ms": list(record.gaps_ms),
        "plan_work_ms": record.plan.work_ms,
        "best_work_ms": record.best_work_ms,
        "session_effort": record.session_effort.number
        if record.session_effort
        else None,
        "derived_effort": record.derived_effort,
        "note": record.note,
        "loops": [_loop_json(loop) for loop in record.loops],
        "discomforts": [
            {
                "site": taken.entry.site,
                "side": taken.entry.side,
                "level": taken.entry.level,
                "loop": taken.loop,
                "station": taken.station,
            }
            for taken in record.discomforts
        ],
        "problems": list(record.problems),
        "athlete": record.athlete,
        "entered": record.entered,
        "try_out": record.is_try_out,
        "drills": [asdict(done) for done in record.drills],
    }


def _loop_json(loop: LoopResult) -> dict[str, Any]:
    return {
        "loop": loop.loop,
        "effort": loop.effort.number if loop.effort else None,
        "partial": loop.partial,
        "plan_ms": loop.plan_ms,
        "best_ms": loop.best_ms,
        "stations": [
            {
                "station": station.card.number,
                "exercise": station.card.exercise,
                "name": station.card.name,
                "load": station.load,
                "load_used": station.load_used,
                "count": station.count,
                "variants": list(station.variants),
                "swapped_to": station.swapped_to.exercise
                if station.swapped_to
                else None,
                "done": [
                    {
                        "exercise": done.card.exercise,
                        "name": done.card.name,
                        "load": done.load,
                        "count": done.count,
                        "variants": list(done.variants),
                        "done_ms": done.done_ms,
                    }
                    for done in station.done
                    if done.done_ms
                ],
                "skip_reason": station.skip_reason,
                "parts": [
                    {
                        "part": part.part,
                        "plan_ms": part.plan_ms,
                        "set_ms": part.set_ms,
                        "done_ms": part.done_ms,
                        "best_ms": part.best_ms,
                        "visits": part.visits,
                        "why": part.why.value if part.why else None,
                    }
                    for part in station.parts
                ],
            }
            for station in loop.stations
        ],
    }


def efforts_in_text(efforts: Sequence[float | None]) -> str:
    """Efforts of a session as they were entered, loop by loop."""
    return ", ".join("not entered" if e is None else f"{e:g}" for e in efforts)
