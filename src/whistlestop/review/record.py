"""One session as it is read back: the completion log.

Built by replaying the inputs; the rows that were written beside them are
checked against the replay, and any difference is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from whistlestop.domain.athlete import OWNER, is_athlete_id
from whistlestop.domain.effort import Effort, derived_effort
from whistlestop.domain.plan.pairing import ALONE, Company, companion_plan
from whistlestop.domain.plan.plan import Plan, SegmentKind, StationCard
from whistlestop.engine.commands import (
    INPUT_KINDS,
    Command,
    EnterCount,
    EnterDiscomfort,
    EnterLoad,
    EnterSkipReason,
    EnterVariant,
    Gap,
    from_fields,
)
from whistlestop.engine.engine import COUNT_IN_MS, Engine
from whistlestop.engine.events import Why
from whistlestop.engine.so_far import SessionSoFar
from whistlestop.engine.states import Mode
from whistlestop.engine.totals import SessionTotals, totals
from whistlestop.errors import CommandRejected
from whistlestop.review.agreement import (
    SUM_DIFFERS,
    Fields,
    is_later,
    last_moment,
    row_differences,
    sum_follows,
    unwritten,
)
from whistlestop.store.journal.heartbeat import Beat


@dataclass(frozen=True, slots=True)
class PartResult:
    """One part of a station in one loop: its visits, and the best of them."""

    part: str | None
    plan_ms: int
    set_ms: int
    done_ms: int
    best_ms: int
    visits: int
    why: Why | None


@dataclass(frozen=True, slots=True)
class StationResult:
    """One station in one loop. `why` is None where it was never entered."""

    loop: int
    card: StationCard
    load: str | None
    parts: tuple[PartResult, ...]
    load_used: str | None
    count: int | None
    variants: tuple[str, ...]
    swapped_to: StationCard | None = None
    skip_reason: str = ""

    @property
    def plan_ms(self) -> int:
        """Work planned, in ms."""
        return sum(part.plan_ms for part in self.parts)

    @property
    def done_ms(self) -> int:
        """Work done in all visits, in ms."""
        return sum(part.done_ms for part in self.parts)

    @property
    def best_ms(self) -> int:
        """Work of the best visit of each part, at most as planned, in ms."""
        return sum(part.best_ms for part in self.parts)

    @property
    def is_changed(self) -> bool:
        """Whether it was made longer or shorter on the way."""
        return any(part.set_ms != part.plan_ms for part in self.parts)


@dataclass(frozen=True, slots=True)
class LoopResult:
    """One loop: its stations, the effort as entered, and how long it took, in ms."""

    loop: int
    stations: tuple[StationResult, ...]
    effort: Effort | None
    partial: bool
    worked: bool
    length_ms: int = 0

    @property
    def plan_ms(self) -> int:
        """Work planned, in ms."""
        return sum(station.plan_ms for station in self.stations)

    @property
    def best_ms(self) -> int:
        """Work done against the plan, in ms."""
        return sum(station.best_ms for station in self.stations)


@dataclass(frozen=True, slots=True)
class Discomfort:
    """A discomfort as entered, and the station it was entered at, if any."""

    entry: EnterDiscomfort
    loop: int | None
    station: int | None


@dataclass(frozen=True, slots=True)
class SessionRecord:
    """A whole session as it was done by one athlete; `company` trained along.

    What the journal alone knows is empty in the record of a session that is still
    in hand: its id and time of day, whether it was scripted, gaps and problems.
    """

    plan: Plan
    ending: str
    finished: bool
    elapsed_ms: int
    active_ms: int
    paused_ms: int
    gated_ms: int
    loops: tuple[LoopResult, ...]
    session_effort: Effort | None
    derived_effort: float | None
    note: str
    discomforts: tuple[Discomfort, ...]
    athlete: str
    id: str = ""
    wall: str = ""
    scripted: bool = False
    gaps_ms: tuple[int, ...] = ()
    problems: tuple[str, ...] = ()
    company: Company = ALONE

    @property
    def session_ms(self) -> int:
        """The length that a session load rests on: elapsed without pauses."""
        return self.elapsed_ms - self.paused_ms

    @property
    def best_work_ms(self) -> int:
        """Work done against the plan."""
        return sum(loop.best_ms for loop in self.loops)

    @property
    def rated(self) -> tuple[LoopResult, ...]:
        """The loops whose effort can be entered: those with work in them."""
        return tuple(loop for loop in self.loops if loop.worked)


@dataclass(frozen=True, slots=True)
class ReplayResult:
    """A journal's inputs run again: the engine, and what did not fit.

    `last_ms` and `last_wall` are the last moment known of it. `unwritten` are the
    lines which an interruption lost and which follow from the rest.
    """

    start: Fields
    engine: Engine
    inputs: tuple[tuple[int, Command], ...]
    last_ms: int
    last_wall: str
    seed: int
    problems: tuple[str, ...]
    unwritten: tuple[dict[str, Any], ...] = ()


def replay_lines(lines: Iterable[Fields], beat: Beat | None = None) -> ReplayResult:
    """Run the inputs of a journal again, up to the last moment known of it.

    That is the greatest of the last line, derived ones included, and the heartbeat.

    Args:
        lines: The fields of the lines that are whole, in order.
        beat: The heartbeat of the session, where this machine has one.

    Raises:
        ValueError: There is no first line with a readable plan.
    """
    kept = list(lines)
    start = next((line for line in kept if line.get("k") == "start"), None)
    if start is None or not isinstance(start.get("plan"), dict):
        raise ValueError("the first line with the plan is missing")
    plan = Plan.from_json(start["plan"])
    company, problems = _company(start, plan)
    count_in_ms = _whole(start.get("count_in_ms"), COUNT_IN_MS)
    engine = Engine(plan, count_in_ms=count_in_ms, company=company)
    events = engine.start()
    inputs: list[tuple[int, Command]] = []
    for line in kept:
        kind, t_ms = line.get("k"), _whole(line.get("t"), 0)
        if kind in INPUT_KINDS:
            try:
                command = from_fields(line)
                events += engine.handle(command, t_ms)
            except (CommandRejected, ValueError) as error:
                problems.append(f"line {line.get('s', '?')}: {error}")
                continue
            inputs.append((t_ms, command))
        elif kind == "sum" and not sum_follows(line, engine):
            problems.append(SUM_DIFFERS)
    last_ms, last_wall = last_moment(kept)
    on_disk_ms = last_ms
    if beat is not None and is_later(beat, last_ms, last_wall):
        last_ms, last_wall = beat.t_ms, beat.wall
    events += engine.advance(last_ms)
    return ReplayResult(
        start=start,
        engine=engine,
        inputs=tuple(inputs),
        last_ms=last_ms,
        last_wall=last_wall,
        seed=_whole(start.get("seed"), 0),
        problems=tuple(problems),
        unwritten=unwritten(kept, events, company, on_disk_ms),
    )


def _company(start: Fields, plan: Plan) -> tuple[Company, list[str]]:
    """Who trained along, and what of that cannot be read."""
    given = start.get("with")
    if given is None:
        return ALONE, []
    try:
        if not isinstance(given, dict):
            raise ValueError("it is not an object")  # noqa: TRY004 - content
        if not all(is_athlete_id(who) for who in given):
            raise ValueError("an id is none")
        others = [(who, companion_plan(plan, own)) for who, own in given.items()]
    except ValueError as error:
        return ALONE, [f"who trained along cannot be read: {error}"]
    return Company(tuple(others), _whole(start.get("offset"), 0)), []


def read_record(
    lines: Sequence[Fields],
    *,
    session_id: str,
    problems: Iterable[str] = (),
    athlete: str = OWNER,
    beat: Beat | None = None,
) -> SessionRecord:
    """Read a session back from the fields of its journal lines, as one athlete's.

    Args:
        lines: The fields of the lines that count, in order.
        session_id: The session's id.
        problems: What is wrong with the file already.
        athlete: Whose record it is.
        beat: The heartbeat, where the session has one on this machine.

    Raises:
        ValueError: There is no first line with a readable plan, or the athlete
            did not train in it.
    """
    replayed = replay_lines(lines, beat)
    engine = replayed.engine
    if athlete not in engine.company.athletes:
        raise ValueError(f"{athlete} did not train in it")
    session = engine.for_athlete(athlete)
    named = [*problems, *replayed.problems]
    named += row_differences(lines, session)
    for other in engine.company.athletes[1:] if athlete == OWNER else ():
        found = row_differences(lines, engine.for_athlete(other))
        named += [f"{other}: {one}" for one in found]
    return replace(
        session_record(session),
        id=session_id,
        wall=str(replayed.start.get("wall", "")),
        scripted=bool(replayed.start.get("scripted", False)),
        gaps_ms=tuple(c.gap_ms for _, c in replayed.inputs if isinstance(c, Gap)),
        problems=tuple(named),
        company=engine.company,
    )


def session_record(session: SessionSoFar) -> SessionRecord:
    """The record of a session as it stands, of the athlete that it is for."""
    own = totals(session.rows, session.entries)
    loops = tuple(
        _loop(session, own, loop) for loop in range(1, session.plan.loops + 1)
    )
    return SessionRecord(
        plan=session.plan,
        ending=session.ending.value if session.ending else "open",
        finished=session.mode is Mode.ENDED,
        elapsed_ms=session.t_ms,
        active_ms=session.active_ms,
        paused_ms=session.paused_ms,
        gated_ms=session.gated_ms,
        loops=loops,
        session_effort=own.session_effort,
        derived_effort=effort_from(loops),
        note=own.note,
        discomforts=tuple(
            Discomfort(taken.entry, taken.loop, taken.station)
            for taken in session.entries
            if isinstance(taken.entry, EnterDiscomfort)
        ),
        athlete=session.athlete,
    )


def effort_from(loops: Iterable[LoopResult]) -> float | None:
    """The effort of a session as its loops with work give it; see `domain.effort`."""
    worked = [(loop.effort, loop.length_ms) for loop in loops if loop.worked]
    return derived_effort([effort for effort, _ in worked], [ms for _, ms in worked])


def _whole(value: object, default: int) -> int:
    return value if isinstance(value, int) and not isinstance(value, bool) else default


def _loop(session: SessionSoFar, own: SessionTotals, loop: int) -> LoopResult:
    places: dict[int, list[int]] = {}
    for index, segment in enumerate(session.plan.segments):
        if segment.loop == loop and segment.kind is SegmentKind.WORK:
            assert segment.station is not None  # `Plan.from_json` lets none pass
            places.setdefault(segment.station, []).append(index)
    over = next((e for e in session.loops_ended if e.loop == loop), None)
    return LoopResult(
        loop=loop,
        stations=tuple(
            _station(session, own, loop, station, parts)
            for station, parts in places.items()
        ),
        effort=own.efforts.get(loop),
        partial=over.partial if over else True,
        worked=loop in own.worked,
        length_ms=own.loop_ms.get(loop, 0),
    )


def _station(
    session: SessionSoFar,
    own: SessionTotals,
    loop: int,
    station: int,
    parts: Sequence[int],
) -> StationResult:
    """One station in one loop; `parts` are the segments of its work."""
    load_used, count, skip_reason = None, None, ""
    variants = []
    for taken in session.entries:
        if (taken.loop, taken.station) != (loop, station):
            continue
        match taken.entry:
            case EnterLoad(load):
                load_used = load
            case EnterCount(number):
                count = number
            case EnterSkipReason(reason):
                skip_reason = reason
            case EnterVariant(variant):
                variants.append(variant)
    card, done_as = session.plan.card(station), session.track.card(parts[-1])
    return StationResult(
        loop=loop,
        card=card,
        load=session.plan.segments[parts[0]].load,
        parts=tuple(_part(session, own, index) for index in parts),
        load_used=load_used,
        count=count,
        variants=tuple(variants),
        swapped_to=None if done_as == card else done_as,
        skip_reason=skip_reason,
    )


def _part(session: SessionSoFar, own: SessionTotals, index: int) -> PartResult:
    segment = session.plan.segments[index]
    rows = [row for row in session.rows if row.segment == index]
    return PartResult(
        part=segment.part,
        plan_ms=segment.duration_ms,
        set_ms=session.track.length_ms(index),
        done_ms=sum(row.ms for row in rows),
        best_ms=own.best_ms.get(index, 0),
        visits=len(rows),
        why=max(rows, key=lambda row: row.ms).why if rows else None,
    )
