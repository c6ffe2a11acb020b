"""One session read as one athlete's: own plan, own rows, own entries.

Athletes share the clock and so the engine; all that differs here is what
each did in a segment and entered. The engine knows one plan; a companion's has the
same segments, so an index means the same moment in both.
"""

from __future__ import annotations

from dataclasses import replace

from whistlestop.domain.plan.plan import Plan
from whistlestop.engine.commands import OWNER
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import EntryTaken, Row


def for_athlete(
    engine: Engine, athlete: str = OWNER, plan: Plan | None = None
) -> Engine:
    """An engine that stands where this one does, as it is for one athlete.

    Args:
        engine: The session; it is not changed.
        athlete: Whose entries are kept.
        plan: A companion's plan, with the segments of the engine's; None for the
            owner, whose own it is.
    """
    if plan is None and all(t.entry.athlete == athlete for t in engine.entries):
        return engine
    read = engine.fork()
    own = engine.plan if plan is None else plan
    read.entries = tuple(
        _placed(engine, own, taken)
        for taken in engine.entries
        if taken.entry.athlete == athlete
    )
    if plan is not None:
        read.plan = plan
        read.track = replace(engine.track, plan=plan, swaps=())
        read.rows = tuple(own_row(row, plan) for row in engine.rows)
    return read


def own_row(row: Row, plan: Plan) -> Row:
    """The row of a visit as it is for the athlete of a plan."""
    segment = plan.segments[row.segment]
    return replace(
        row,
        station=segment.station,
        part=segment.part,
        exercise=segment.exercise,
        load=segment.load,
    )


def _placed(engine: Engine, plan: Plan, taken: EntryTaken) -> EntryTaken:
    """An entry at the athlete's own station: the engine placed it at the owner's."""
    if taken.station is None or plan is engine.plan:
        return taken
    pairs = zip(engine.plan.segments, plan.segments, strict=True)
    place = (taken.loop, taken.station)
    own = next(mine.station for owners, mine in pairs if owners.place == place)
    return replace(taken, station=own)
