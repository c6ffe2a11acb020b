"""One session as it is read back: the completion log.

Built by replaying the inputs; the rows that were written beside them are
checked against the replay, and any difference is named.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from typing import Any

from whistlestop.dataclass import dataclass
from whistlestop.domain.athlete import is_athlete_id
from whistlestop.domain.effort import Effort, derived_effort
from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.pairing import ALONE, Company, companion_plan
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind, StationCard
from whistlestop.domain.try_out import is_try_out
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
from whistlestop.engine.events import Row, Why
from whistlestop.engine.so_far import SessionSoFar
from whistlestop.engine.states import Mode
from whistlestop.engine.totals import SessionTotals, totals
from whistlestop.engine.track import Track, swapped_card
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
class DonePart:
    """Work at one part of a station as one exercise. Times in ms.

    Of a part that was done as several exercises, the best visit has its `plan_ms`
    and `best_ms`, so that what was planned counts once.
    """

    part: str | None
    plan_ms: int
    done_ms: int
    best_ms: int


@dataclass(frozen=True, slots=True)
class DoneAs:
    """What was really done at a station in a loop: one exercise with one load.

    `load` is the one used; `count` and `variants` are those entered of it.
    """

    card: StationCard
    load: str | None
    parts: tuple[DonePart, ...]
    count: int | None = None
    variants: tuple[str, ...] = ()

    @property
    def done_ms(self) -> int:
        """Work of all its visits, in ms."""
        return sum(part.done_ms for part in self.parts)


@dataclass(frozen=True, slots=True)
class StationResult:
    """One station in one loop. `why` is None where it was never entered.

    `card` and `load` are as planned; `done` says as what it was really done, in order
    of time, and is what every figure rests on. Where nothing was done it has the
    station as planned, without any work.
    """

    loop: int
    card: StationCard
    load: str | None
    parts: tuple[PartResult, ...]
    load_used: str | None
    count: int | None
    variants: tuple[str, ...]
    done: tuple[DoneAs, ...]
    skip_reason: str = ""

    @property
    def swapped_to(self) -> StationCard | None:
        """What other exercise was done, the last of several; None for none."""
        own = self.card.exercise
        others = [d.card for d in self.done if d.done_ms and d.card.exercise != own]
        return others[-1] if others else None

    @property
    def load_done(self) -> str | None:
        """The load that was used last."""
        return self.done[-1].load

    @property
    def has_other_load(self) -> bool:
        """Whether it was done with another load than planned, or with none."""
        return any(done.load != self.load for done in self.done)

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
    """One loop: its stations, and the effort as entered."""

    loop: int
    stations: tuple[StationResult, ...]
    effort: Effort | None
    partial: bool
    worked: bool

    @property
    def plan_ms(self) -> int:
        """Work planned, in ms."""
        return sum(station.plan_ms for station in self.stations)

    @property
    def done_ms(self) -> int:
        """Work of all visits, in ms."""
        return sum(station.done_ms for station in self.stations)

    @property
    def best_ms(self) -> int:
        """Work done against the plan, in ms."""
        return sum(station.best_ms for station in self.stations)

    @property
    def done_cards(self) -> tuple[StationCard, ...]:
        """The cards of what was worked at, in the order of the stations."""
        every = (done for station in self.stations for done in station.done)
        return tuple(done.card for done in every if done.done_ms)


@dataclass(frozen=True, slots=True)
class DrillResult:
    """The drill of one recovery that was gone into: `ms` in it, `count` as entered."""

    loop: int | None
    station: int | None
    drill: str
    name: str
    ms: int
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Discomfort:
    """A discomfort as entered, and the station it was entered at, if any."""

    entry: EnterDiscomfort
    loop: int | None
    station: int | None


@dataclass(frozen=True, slots=True)
class SessionRecord:
    """A whole session as it was done by one athlete; `company` trained along.

    `entered`: without the laptop, and entered afterwards; `wall` is then its day alone.
    `others_entered`: an effort, a note or a discomfort of who trained along stands.

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
    entered: bool = False
    drills: tuple[DrillResult, ...] = ()
    others_entered: bool = False

    @property
    def session_ms(self) -> int:
        """The length that a session load rests on: elapsed without pauses."""
        return self.elapsed_ms - self.paused_ms

    @property
    def best_work_ms(self) -> int:
        """Work done against the plan."""
        return sum(loop.best_ms for loop in self.loops)

    @property
    def exercises_done(self) -> frozenset[str]:
        """The ids of what was worked at: as swapped, without what was left out."""
        return frozenset(c.exercise for loop in self.loops for c in loop.done_cards)

    @property
    def is_try_out(self) -> bool:
        """Whether it counts nowhere; see `domain.try_out`."""
        efforts = (self.session_effort, *(loop.effort for loop in self.loops))
        is_rated = any(effort is not None for effort in efforts)
        return is_try_out(
            self.ending,
            self.best_work_ms,
            self.plan.work_ms,
            has_entries=is_rated
            or bool(self.note or self.discomforts or self.others_entered),
        )

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
        others_entered=any(
            totals((), engine.for_athlete(other).entries).has_entries
            for other in engine.company.athletes
            if other != athlete
        ),
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
        drills=_drills(session),
    )


def _drills(session: SessionSoFar) -> tuple[DrillResult, ...]:
    """Each recovery with a drill in which any time was spent, in order."""
    counts = {
        (taken.loop, taken.station): taken.entry.count
        for taken in session.entries
        if isinstance(taken.entry, EnterCount) and taken.entry.drill
    }
    spent: dict[int, int] = {}
    for row in session.rows:
        if row.ms and session.plan.segments[row.segment].drill:
            spent[row.segment] = spent.get(row.segment, 0) + row.ms
    return tuple(
        drill_result(session.plan.segments[index], ms, counts)
        for index, ms in sorted(spent.items())
    )


def drill_result(
    segment: Segment,
    ms: int,
    counts: Mapping[tuple[int | None, int | None], int],
) -> DrillResult:
    """The drill of a recovery in which `ms` were spent."""
    drill, place = segment.drill or "", (segment.loop, segment.station)
    named = segment.drill_name or drill
    return DrillResult(*place, drill, named, ms, counts.get(place))


def effort_from(loops: Iterable[LoopResult]) -> float | None:
    """The effort of a session as its loops with work give it; see `domain.effort`."""
    worked = [(loop.effort, loop.done_ms) for loop in loops if loop.worked]
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
        worked=loop in own.loop_work_ms,
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
            case EnterCount(number, drill=False):
                count = number
            case EnterSkipReason(reason):
                skip_reason = reason
            case EnterVariant(variant):
                variants.append(variant)
    results = tuple(_part(session, own, index) for index in parts)
    return StationResult(
        loop=loop,
        card=session.plan.card(station),
        load=session.plan.segments[parts[0]].load,
        parts=results,
        load_used=load_used,
        count=count,
        variants=tuple(variants),
        done=_done(session, (loop, station), dict(zip(parts, results, strict=True))),
        skip_reason=skip_reason,
    )


_DoneKey = tuple[str | None, str | None]
"""The exercise and the load that a visit had."""


def _done(
    session: SessionSoFar, place: tuple[int, int], parts: Mapping[int, PartResult]
) -> tuple[DoneAs, ...]:
    """As what the parts of a station were done, by the rows of their visits.

    A row has the exercise of its visit, whatever was swapped afterwards.
    """
    rows = [
        piece
        for row in session.rows
        if row.segment in parts
        for piece in _pieces(row, session.track)
        if piece.ms
    ]
    segment = session.plan.segments[min(parts)]
    keys = list(dict.fromkeys(map(_key, rows))) or [(segment.exercise, segment.load)]
    # What was planned counts once: for the best visit, and unvisited for the first.
    counted = dict.fromkeys(parts, keys[0])
    counted |= {row.segment: _key(row) for row in sorted(rows, key=lambda row: row.ms)}
    entered = _entered_of(session, place, rows)
    return tuple(
        DoneAs(
            card=_card_done(session, place[1], key),
            load=entered[key].load or key[1],
            parts=_done_parts(
                {n: part for n, part in parts.items() if counted[n] == key},
                [row for row in rows if _key(row) == key],
                parts,
            ),
            count=entered[key].count,
            variants=tuple(entered[key].variants),
        )
        for key in keys
    )


def _pieces(row: Row, track: Track) -> Iterable[Row]:
    """A row, cut where its visit was swapped in its midst."""
    begun_ms = 0
    for cut in track.cuts:
        if cut.visit == row.visit and begun_ms < cut.offset_ms <= row.ms:
            ms = cut.offset_ms - begun_ms
            yield replace(row, ms=ms, exercise=cut.exercise, load=cut.load)
            begun_ms = cut.offset_ms
    yield replace(row, ms=row.ms - begun_ms)


def _key(row: Row) -> _DoneKey:
    return row.exercise, row.load


def _done_parts(
    counted: Mapping[int, PartResult],
    rows: Sequence[Row],
    parts: Mapping[int, PartResult],
) -> tuple[DonePart, ...]:
    """The parts that count for an exercise, and those with other visits of it."""
    done_ms: dict[int, int] = dict.fromkeys(counted, 0)
    for row in rows:
        done_ms[row.segment] = done_ms.get(row.segment, 0) + row.ms
    return tuple(
        DonePart(
            part=part.part,
            plan_ms=part.plan_ms if index in counted else 0,
            done_ms=done_ms[index],
            best_ms=part.best_ms if index in counted else 0,
        )
        for index, part in parts.items()
        if index in done_ms
    )


@dataclass(slots=True)
class _EnteredOf:
    load: str | None = None
    count: int | None = None
    variants: list[str] = field(default_factory=list)


def _entered_of(
    session: SessionSoFar, place: tuple[int, int], worked: Sequence[Row]
) -> dict[_DoneKey, _EnteredOf]:
    """Load, count and versions entered at a station, by what they were entered of.

    A load and a version are of the visit they were entered in, or of the next one, in
    a rest of the last; a count is of the visit before it.
    """
    found: defaultdict[_DoneKey, _EnteredOf] = defaultdict(_EnteredOf)
    for taken in session.entries if worked else ():
        if (taken.loop, taken.station) != place:
            continue
        later = [row for row in worked if row.t_ms > taken.t_ms]
        earlier = [row for row in worked if row.t_ms <= taken.t_ms]
        here = (later or worked[-1:])[0]
        before = (earlier or worked)[-1 if earlier else 0]
        match taken.entry:
            case EnterLoad(load):
                found[_key(here)].load = load
            case EnterVariant(variant):
                found[_key(here)].variants.append(variant)
            case EnterCount(number, drill=False):
                found[_key(before)].count = number
    return found


def _card_done(session: SessionSoFar, station: int, key: _DoneKey) -> StationCard:
    """The card of what was done at a station: as planned, or as the swap had it."""
    card = session.plan.card(station)
    for _, swap in reversed(session.track.swaps):
        if (swap.station, swap.exercise, swap.load) == (station, *key):
            return swapped_card(card, swap)
    return card


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
