"""One session as it is read back: the completion log.

Built by replaying the inputs; the rows that were written beside them are
checked against the replay, and any difference is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from whistlestop.domain.athlete import is_athlete_id
from whistlestop.domain.effort import Effort, derived_effort
from whistlestop.domain.plan.pairing import ALONE, Company, companion_plan
from whistlestop.domain.plan.plan import Plan, SegmentKind, StationCard
from whistlestop.engine.commands import (
    INPUT_KINDS,
    OWNER,
    Command,
    EnterCount,
    EnterDiscomfort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterSkipReason,
    EnterVariant,
    Gap,
    from_fields,
)
from whistlestop.engine.engine import COUNT_IN_MS, Engine
from whistlestop.engine.events import Row, Why
from whistlestop.engine.for_athlete import for_athlete
from whistlestop.engine.states import Mode
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
    """A whole session as it was done by one athlete; `company` trained along."""

    id: str
    wall: str
    plan: Plan
    scripted: bool
    ending: str
    finished: bool
    elapsed_ms: int
    active_ms: int
    paused_ms: int
    gated_ms: int
    gaps_ms: tuple[int, ...]
    loops: tuple[LoopResult, ...]
    session_effort: Effort | None
    derived_effort: float | None
    note: str
    discomforts: tuple[Discomfort, ...]
    problems: tuple[str, ...]
    athlete: str = OWNER
    company: Company = ALONE

    @property
    def session_ms(self) -> int:
        """The length that a session load rests on: elapsed without pauses."""
        return self.elapsed_ms - self.paused_ms


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
    company: Company = ALONE
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
    engine = Engine(
        Plan.from_json(start["plan"]),
        count_in_ms=_whole(start.get("count_in_ms"), COUNT_IN_MS),
    )
    events = engine.start()
    inputs: list[tuple[int, Command]] = []
    company, problems = _company(start, engine.plan)
    for line in kept:
        kind, t_ms = line.get("k"), _whole(line.get("t"), 0)
        if kind in INPUT_KINDS:
            try:
                command = from_fields(dict(line))
                events += engine.handle(command, t_ms)
            except (CommandRejected, ValueError) as error:
                problems.append(f"line {line.get('s', '?')}: {error}")
                continue
            inputs.append((t_ms, command))
        elif kind == "sum" and not sum_follows(line, engine, company):
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
        company=company,
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
    own_plan = replayed.company.plan_of(athlete)
    if own_plan is None and athlete != OWNER:
        raise ValueError(f"{athlete} did not train in it")
    engine = for_athlete(replayed.engine, athlete, own_plan)
    named = [*problems, *replayed.problems]
    named += row_differences(lines, engine.rows, athlete)
    for other, plan in replayed.company.others if own_plan is None else ():
        rows = for_athlete(replayed.engine, other, plan).rows
        named += [f"{other}: {one}" for one in row_differences(lines, rows, other)]
    loops = tuple(_loop(engine, loop) for loop in range(1, engine.plan.loops + 1))
    efforts = [loop.effort for loop in loops if loop.worked]
    return SessionRecord(
        id=session_id,
        wall=str(replayed.start.get("wall", "")),
        plan=engine.plan,
        scripted=bool(replayed.start.get("scripted", False)),
        ending=engine.ending.value if engine.ending else "open",
        finished=engine.mode is Mode.ENDED,
        elapsed_ms=engine.t_ms,
        active_ms=engine.active_ms,
        paused_ms=engine.paused_ms,
        gated_ms=engine.gated_ms,
        gaps_ms=tuple(c.gap_ms for _, c in replayed.inputs if isinstance(c, Gap)),
        loops=loops,
        session_effort=_last_session_effort(engine),
        derived_effort=derived_effort(
            efforts, [loop.length_ms for loop in loops if loop.worked]
        ),
        note=_last_note(engine),
        discomforts=tuple(
            Discomfort(taken.entry, taken.loop, taken.station)
            for taken in engine.entries
            if isinstance(taken.entry, EnterDiscomfort)
        ),
        problems=tuple(named),
        athlete=athlete,
        company=replayed.company,
    )


def _whole(value: object, default: int) -> int:
    return value if isinstance(value, int) and not isinstance(value, bool) else default


def _loop(engine: Engine, loop: int) -> LoopResult:
    places = dict.fromkeys(
        segment.station
        for segment in engine.plan.segments
        if segment.loop == loop and segment.kind is SegmentKind.WORK
    )
    text = engine.effort_of(loop)
    over = next((e for e in engine.loops_ended if e.loop == loop), None)
    stations = tuple(
        _station(engine, loop, station) for station in places if station is not None
    )
    return LoopResult(
        loop=loop,
        stations=stations,
        effort=text.effort if text else None,
        partial=over.partial if over else True,
        worked=any(station.done_ms > 0 for station in stations),
        length_ms=_loop_ms(engine, loop),
    )


def _loop_ms(engine: Engine, loop: int) -> int:
    """How long a loop took, its recoveries and break included, in ms."""
    return sum(row.ms for row in engine.rows if row.loop == loop)


def _station(engine: Engine, loop: int, station: int) -> StationResult:
    entries = [
        taken.entry
        for taken in engine.entries
        if taken.loop == loop and taken.station == station
    ]
    loads = [entry.load for entry in entries if isinstance(entry, EnterLoad)]
    reasons = [e.reason for e in entries if isinstance(e, EnterSkipReason)]
    counts = [entry.count for entry in entries if isinstance(entry, EnterCount)]
    parts = [
        (index, segment)
        for index, segment in enumerate(engine.plan.segments)
        if segment.place == (loop, station) and segment.kind is SegmentKind.WORK
    ]
    return StationResult(
        loop=loop,
        card=engine.plan.card(station),
        swapped_to=_swapped(engine, parts[-1][0]),
        skip_reason=reasons[-1] if reasons else "",
        load=parts[0][1].load,
        parts=tuple(_part(engine, index) for index, _ in parts),
        load_used=loads[-1] if loads else None,
        count=counts[-1] if counts else None,
        variants=tuple(e.variant for e in entries if isinstance(e, EnterVariant)),
    )


def _swapped(engine: Engine, index: int) -> StationCard | None:
    """What the station was done as, where it was swapped; else None."""
    card = engine.track.card(index)
    return None if card == engine.plan.card(card.number) else card


def _part(engine: Engine, index: int) -> PartResult:
    segment = engine.plan.segments[index]
    rows: list[Row] = [row for row in engine.rows if row.segment == index]
    best = max((min(row.ms, row.plan_ms) for row in rows), default=0)
    return PartResult(
        part=segment.part,
        plan_ms=segment.duration_ms,
        set_ms=engine.track.length_ms(index),
        done_ms=sum(row.ms for row in rows),
        best_ms=best,
        visits=len(rows),
        why=max(rows, key=lambda row: row.ms).why if rows else None,
    )


def _last_session_effort(engine: Engine) -> Effort | None:
    sentences = [
        taken.entry.effort
        for taken in engine.entries
        if isinstance(taken.entry, EnterSessionEffort)
    ]
    return sentences[-1] if sentences else None


def _last_note(engine: Engine) -> str:
    sentences = [t.entry.text for t in engine.entries if isinstance(t.entry, EnterNote)]
    return sentences[-1] if sentences else ""
