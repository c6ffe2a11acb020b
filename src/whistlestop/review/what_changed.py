"""What changed over a period: stations, work, sides, drills, effort.

Owns the comparisons and the days they are of; `change_text` says them in sentences.
Refuses to judge: a target effort is handed in, and so is what exercises ask of a site.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Final, Generic, NamedTuple, TypeVar

from whistlestop.domain.demands import MUCH
from whistlestop.domain.load import parse_load
from whistlestop.review.days import DaySpan
from whistlestop.review.stations import (
    Bout,
    LoopEffort,
    SideWork,
    bouts_of,
    loop_efforts,
    sides_of,
    work_by,
)

if TYPE_CHECKING:
    from whistlestop.domain.exercise import DrillInfo
    from whistlestop.review.record import DrillResult, SessionRecord

T = TypeVar("T")
K = TypeVar("K")
LAST_SESSIONS: Final = 6


@dataclass(frozen=True, slots=True)
class DrillDone:
    """One drill in one recovery. `ms` is what was spent there, `level` from 1."""

    drill: str
    name: str
    ms: int
    level: int = 1
    levels: int = 1
    count: int | None = None


@dataclass(frozen=True, slots=True)
class SessionDone:
    """One session of a circuit as done.

    `settings` is equal where times, exercises and loads were; `effort` is the
    session's own, else that of its loops, 0 to 10.
    """

    day: date
    id: str
    circuit: str
    name: str
    settings: object
    efforts: tuple[LoopEffort, ...]
    effort: float | None
    bouts: tuple[Bout, ...]
    drills: tuple[DrillDone, ...] = ()

    @property
    def work_ms(self) -> int:
        """Work of all visits, in ms."""
        return sum(bout.done_ms for bout in self.bouts)


class Best(NamedTuple):
    """The best or the last of a station: its load, and its longest loop at it."""

    kg: float
    ms: int
    day: date
    load_text: str = ""


class ValueStep(NamedTuple, Generic[T]):
    """What a value was at first, what it is now, since when, and what was between."""

    first: T
    last: T
    since: date
    between: tuple[T, ...] = ()

    @property
    def is_change(self) -> bool:
        """Whether it ever was another."""
        return self.first != self.last or bool(self.between)


@dataclass(frozen=True, slots=True)
class AtTarget:
    """Of the last sessions: how many were rated, and how many at the target."""

    rated: int
    at_target: int
    unrated: int


@dataclass(frozen=True, slots=True)
class StationChange:
    """One exercise over the sessions in which it was worked at.

    `load` has loads in text, "" for none, `work_ms` the planned work in a loop;
    `counts` are the most counted and the last count with their days.
    """

    exercise: str
    name: str
    sessions: int
    load: ValueStep[str]
    work_ms: ValueStep[int]
    effort: AtTarget
    best: Best
    last: Best
    counts: tuple[tuple[int, date], tuple[int, date]] | None = None
    replaced: tuple[str, ...] = ()

    @property
    def is_change(self) -> bool:
        """Whether its load or its time is another than at first."""
        return self.load.is_change or self.work_ms.first != self.work_ms.last


@dataclass(frozen=True, slots=True)
class WorkChange:
    """Work in ms now and in as many days before; None where nothing is known of them.

    Of a site, `now_ms` is the work that asks anything of it, `much_ms` that which
    asks much.
    """

    key: str
    now_ms: int
    before_ms: int | None
    much_ms: int = 0
    much_before_ms: int | None = None


@dataclass(frozen=True, slots=True)
class SidesChange:
    """Left beside right of one exercise, month by month; a month is its first day."""

    name: str
    months: tuple[tuple[date, SideWork], ...]

    @property
    def left_ms(self) -> int:
        """Work of the left side in all months, in ms."""
        return sum(side.left_ms for _, side in self.months)

    @property
    def right_ms(self) -> int:
        """Work of the right side in all months, in ms."""
        return sum(side.right_ms for _, side in self.months)


@dataclass(frozen=True, slots=True)
class DrillChange:
    """One drill over the recoveries in which it was done."""

    name: str
    level: ValueStep[int]
    levels: int
    recoveries: int
    ms: int
    counts: tuple[tuple[int, date], tuple[int, date]] | None = None


@dataclass(frozen=True, slots=True)
class EffortChange:
    """Effort of a circuit's sessions at equal settings, from the first to the last.

    Points for a minute of work are the effort of a session by its minutes of work:
    a figure of our own, no source.
    """

    name: str
    rated: int
    unrated: int
    first: tuple[float, date]
    last: tuple[float, date]
    first_a_minute: float
    last_a_minute: float


@dataclass(frozen=True, slots=True)
class PeriodChanges:
    """All that changed in `span`; the days `before` are as many.

    `has_before` is whether these are known as a whole, and hold any session.
    """

    span: DaySpan
    before: DaySpan
    sessions: int
    target: float
    has_before: bool = False
    stations: tuple[StationChange, ...] = ()
    patterns: tuple[WorkChange, ...] = ()
    sites: tuple[WorkChange, ...] = ()
    sides: tuple[SidesChange, ...] = ()
    drills: tuple[DrillChange, ...] = ()
    efforts: tuple[EffortChange, ...] = ()


def days_before(span: DaySpan) -> DaySpan:
    """As many days, up to the day before a period."""
    last = span.first - timedelta(days=1)
    return DaySpan(last - (span.last - span.first), last)


def what_changed(
    sessions: Iterable[SessionDone],
    span: DaySpan,
    target: float,
    asked: Mapping[str, Mapping[str, int]],
    log_first: date | None = None,
) -> PeriodChanges:
    """Compare the sessions of a period with each other, and with the days before.

    Args:
        sessions: Those of the period and of as many days before, in any order.
        span: The period.
        target: The effort up to which a session is at target, 0 to 10.
        asked: What each exercise asks of each site, 1 or 2, by their ids.
        log_first: The first day of the log: where it lies in the days before, these
            are not known as a whole, and nothing is compared with them.
    """
    every = sorted(sessions, key=lambda one: (one.day, one.id))
    before = days_before(span)
    now = [one for one in every if one.day in span]
    earlier = [one for one in every if one.day in before]
    two = ([b for s in now for b in s.bouts], [b for s in earlier for b in s.bouts])
    is_known = bool(earlier) and (log_first is None or log_first <= before.first)
    return PeriodChanges(
        span,
        before,
        len(now),
        target,
        is_known,
        _stations(now, target),
        _patterns(*two, has_before=is_known),
        _sites(*two, asked, has_before=is_known),
        _sides(two[0]),
        _drills(now),
        _efforts(now),
    )


def session_done(
    record: SessionRecord,
    day: date,
    places: Mapping[str, tuple[str, str]],
    known_drills: Mapping[str, DrillInfo],
) -> SessionDone:
    """A session's record as what is compared here.

    Args:
        record: As it stands.
        day: Its calendar day.
        places: Region and pattern of each exercise id.
        known_drills: Shipped drills and the athlete's own, by id.
    """
    bouts = bouts_of(record, day, places)
    own = record.session_effort
    return SessionDone(
        day,
        record.id,
        record.plan.circuit,
        record.plan.name,
        _settings(record, bouts),
        loop_efforts(record),
        record.derived_effort if own is None else own.halves / 2,
        bouts,
        tuple(drill_done(done, known_drills.get(done.drill)) for done in record.drills),
    )


def drill_done(done: DrillResult, known: DrillInfo | None) -> DrillDone:
    """A recovery's drill; one that nobody knows any more has a single level."""
    if known is None:
        return DrillDone(done.drill, done.name, done.ms, count=done.count)
    level = known.level_named(done.name) or 1
    levels = max(1, len(known.ladder))
    return DrillDone(done.drill, known.name, done.ms, level, levels, done.count)


def _settings(record: SessionRecord, bouts: Sequence[Bout]) -> object:
    """What was planned but the warm-up, and the exercises and loads as done."""
    times = tuple(
        (one.kind, one.loop, one.station, one.part, one.duration_ms)
        for one in record.plan.segments
        if one.loop is not None
    )
    return times, tuple((b.loop, b.exercise, b.load_text) for b in bouts)


# --- Stations ------------------------------------------------------------------


class _StationTurn(NamedTuple):
    """One exercise in one session."""

    session: SessionDone
    bouts: tuple[Bout, ...]

    @property
    def day(self) -> date:
        return self.session.day

    @property
    def heaviest(self) -> Bout:
        return max(self.bouts, key=lambda bout: (bout.load_kg or 0.0, bout.done_ms))

    @property
    def planned_ms(self) -> int:
        return max(sum(share.plan_ms for share in bout.shares) for bout in self.bouts)

    @property
    def effort(self) -> float | None:
        """The highest of the loops it was worked in, else the session's."""
        loops = {bout.loop for bout in self.bouts}
        own = [x.effort for x in self.session.efforts if x.loop in loops]
        entered = [effort for effort in own if effort is not None]
        return max(entered, default=self.session.effort)

    @property
    def best(self) -> Best:
        bout = self.heaviest
        load = load_text(bout.load_text)
        return Best(bout.load_kg or 0.0, bout.done_ms, self.day, load)


def load_text(typed: str) -> str:
    """A load in one way of writing, however it was typed; "" for none."""
    try:
        return str(parse_load(typed))
    except ValueError:
        return typed


def _stations(
    sessions: Sequence[SessionDone], target: float
) -> tuple[StationChange, ...]:
    turns: dict[str, list[_StationTurn]] = {}
    for session in sessions:
        by_exercise: dict[str, list[Bout]] = {}
        for bout in session.bouts:
            if bout.done_ms:
                by_exercise.setdefault(bout.exercise, []).append(bout)
        for exercise, bouts in by_exercise.items():
            turns.setdefault(exercise, []).append(_StationTurn(session, tuple(bouts)))
    found = [_station(exercise, every, target) for exercise, every in turns.items()]
    work = {k: sum(b.done_ms for t in v for b in t.bouts) for k, v in turns.items()}
    return tuple(
        sorted(found, key=lambda x: (not x.is_change, -work[x.exercise], x.exercise))
    )


def _station(
    exercise: str, turns: Sequence[_StationTurn], target: float
) -> StationChange:
    load = step_of([(turn.day, turn.best.load_text) for turn in turns])
    # What was swapped in midway stands in for no plan: then its longest loop counts.
    planned = [(turn.day, turn.planned_ms) for turn in turns if turn.planned_ms]
    work = step_of(planned or [(turn.day, turn.best.ms) for turn in turns])
    since = load.since if load.is_change else turns[0].day
    if not load.is_change and work is not None and work.first != work.last:
        since = work.since
    bouts = [bout for turn in turns for bout in turn.bouts]
    best = max(
        (turn.best for turn in turns), key=lambda b: (b.kg, b.ms, -b.day.toordinal())
    )
    return StationChange(
        exercise,
        bouts[-1].name,
        len(turns),
        load,
        work,
        _at_target([turn for turn in turns if turn.day >= since], target),
        best,
        turns[-1].best,
        _counts([(b.count, b.day) for b in bouts]),
        tuple(dict.fromkeys(bout.replaced for bout in bouts if bout.replaced)),
    )


def _at_target(turns: Sequence[_StationTurn], target: float) -> AtTarget:
    efforts = [turn.effort for turn in turns[-LAST_SESSIONS:]]
    rated = [effort for effort in efforts if effort is not None]
    at_target = sum(effort <= target for effort in rated)
    return AtTarget(len(rated), at_target, len(efforts) - len(rated))


def step_of(values: Sequence[tuple[date, T]]) -> ValueStep[T]:
    """What a value was at first and is now; the days are in order, and there are some.

    `since` is the first day of the stretch in which it is what it is now.
    """
    stretches = [
        (value, next(days)[0])
        for value, days in groupby(values, key=lambda one: one[1])
    ]
    first, (last, since) = stretches[0][0], stretches[-1]
    others = dict.fromkeys(value for value, _ in stretches)
    between = tuple(value for value in others if value not in {first, last})
    return ValueStep(first, last, since, between)


def _counts(
    values: Iterable[tuple[int | None, date]],
) -> tuple[tuple[int, date], tuple[int, date]] | None:
    known = [(count, day) for count, day in values if count is not None]
    if not known:
        return None
    return max(known, key=lambda one: (one[0], -one[1].toordinal())), known[-1]


# --- Work by pattern and site, and sides ---------------------------------------------


def _patterns(
    now: Sequence[Bout], before: Sequence[Bout], *, has_before: bool
) -> tuple[WorkChange, ...]:
    two = work_by(now, "pattern"), work_by(before, "pattern")
    sums = [{key: work.work_ms for key, work in one.items()} for one in two]
    return tuple(
        WorkChange(key, now_ms, before_ms if has_before else None)
        for key, now_ms, before_ms in _beside(*sums)
    )


def _sites(
    now: Sequence[Bout],
    before: Sequence[Bout],
    asked: Mapping[str, Mapping[str, int]],
    *,
    has_before: bool,
) -> tuple[WorkChange, ...]:
    def sums(bouts: Sequence[Bout], least: int) -> dict[str, int]:
        found: dict[str, int] = {}
        for bout in bouts:
            for site, value in asked.get(bout.exercise, {}).items():
                if value >= least:
                    found[site] = found.get(site, 0) + bout.done_ms
        return found

    much, much_before = sums(now, MUCH), sums(before, MUCH)
    return tuple(
        WorkChange(
            key,
            now_ms,
            before_ms if has_before else None,
            much.get(key, 0),
            much_before.get(key, 0) if has_before else None,
        )
        for key, now_ms, before_ms in _beside(sums(now, 1), sums(before, 1))
    )


def _beside(
    now: Mapping[str, int], before: Mapping[str, int]
) -> list[tuple[str, int, int]]:
    """Both sums of each key that has any, most work first."""
    every = [(k, now.get(k, 0), before.get(k, 0)) for k in {**now, **before}]
    kept = [one for one in every if one[1] or one[2]]
    return sorted(kept, key=lambda one: (-one[1], -one[2], one[0]))


def _sides(bouts: Sequence[Bout]) -> tuple[SidesChange, ...]:
    found = []
    for _, own in _grouped(bouts, lambda bout: bout.exercise):
        months = tuple(
            (month, sides)
            for month, inside in _grouped(own, lambda bout: bout.day.replace(day=1))
            if (sides := sides_of(inside)).left_ms or sides.right_ms
        )
        if months:
            found.append(SidesChange(own[-1].name, months))
    return tuple(sorted(found, key=lambda one: (-one.left_ms - one.right_ms, one.name)))


def _grouped(
    bouts: Iterable[Bout], key: Callable[[Bout], K]
) -> list[tuple[K, list[Bout]]]:
    groups: dict[K, list[Bout]] = {}
    for bout in bouts:
        groups.setdefault(key(bout), []).append(bout)
    return list(groups.items())


# --- Drills, and effort at equal settings ------------------------------------------


def _drills(sessions: Sequence[SessionDone]) -> tuple[DrillChange, ...]:
    groups: dict[str, list[tuple[date, DrillDone]]] = {}
    for session in sessions:
        for done in session.drills:
            groups.setdefault(done.drill, []).append((session.day, done))
    found = [
        DrillChange(
            every[-1][1].name,
            step_of([(day, done.level) for day, done in every]),
            every[-1][1].levels,
            len(every),
            sum(done.ms for _, done in every),
            _counts([(done.count, day) for day, done in every]),
        )
        for every in groups.values()
    ]
    return tuple(sorted(found, key=lambda one: (-one.ms, one.name)))


def _efforts(sessions: Sequence[SessionDone]) -> tuple[EffortChange, ...]:
    circuits: dict[str, list[SessionDone]] = {}
    for session in sessions:
        if session.work_ms:
            circuits.setdefault(session.circuit, []).append(session)
    made = [_effort_change(every) for every in circuits.values()]
    return tuple(one for one in made if one is not None)


def _effort_change(sessions: Sequence[SessionDone]) -> EffortChange | None:
    """Of the settings that were rated twice, those that were done last."""
    for latest in reversed(sessions):
        alike = [one for one in sessions if one.settings == latest.settings]
        rated = [(one, one.effort) for one in alike if one.effort is not None]
        if len(rated) < 2:
            continue
        (first, begin), (last, end) = rated[0], rated[-1]
        return EffortChange(
            last.name,
            len(rated),
            len(alike) - len(rated),
            (begin, first.day),
            (end, last.day),
            begin * 60_000 / first.work_ms,
            end * 60_000 / last.work_ms,
        )
    return None
