"""What the record says of one circuit: its runs in order, and every circuit session.

Owns how a session record becomes a run to judge by. Refuses to judge, to guess an
effort nobody entered, and to know where records come from.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from datetime import date, datetime, tzinfo
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from whistlestop.coach.changes import (
    Settings,
    settings_of,
    usual_interval_ms,
    usual_recover_ms,
)
from whistlestop.dataclass import dataclass
from whistlestop.domain.demands import asked, station_asks
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.limits import SIDE
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.reasons import CutReason
from whistlestop.domain.sites import BODY_SITES, site_of
from whistlestop.library import exercises
from whistlestop.review.amended import local_day
from whistlestop.review.days import DayKind, Training
from whistlestop.review.record import LoopResult, SessionRecord

ANY_REGION: frozenset[str] = frozenset({"whole"})


@dataclass(frozen=True, slots=True)
class StationRun:
    """One station over all loops of a session. `load` is what was used, as typed.

    `other_load`: in some loop another load than the planned one was used.
    `swapped_to` names what was done there instead, in some loop. `reason` is why some
    of it was left out.
    """

    number: int
    exercise: str
    name: str
    plan_ms: int
    best_ms: int
    load: str | None = None
    other_load: bool = False
    easier: bool = False
    swapped_to: str = ""
    reason: CutReason = ""

    @property
    def missed(self) -> Fraction:
        """Share of its planned work not done, 0 to 1: best visits counted."""
        return 1 - Fraction(self.best_ms, self.plan_ms) if self.plan_ms else Fraction(0)


@dataclass(frozen=True, slots=True)
class CircuitRun:
    """One session of the circuit.

    `efforts` has one entry for each planned loop: 0 to 10, or None where it was not
    entered. `worked` says which of those loops hold any work, `whole` which hold at
    least half of theirs; empty: as `worked`. `reason` is why loops were left out.
    """

    session_id: str
    began: datetime
    day: date
    plan: Plan = field(repr=False)
    stations: tuple[StationRun, ...]
    efforts: tuple[float | None, ...]
    worked: tuple[bool, ...]
    session_effort: float | None = None
    session_effort_is_derived: bool = False
    discomforts: tuple[tuple[str, int], ...] = ()
    ending: str = "complete"
    reason: CutReason = ""
    whole: tuple[bool, ...] = ()

    @property
    def settings(self) -> Settings:
        """What makes it comparable to another run."""
        return settings_of(self.plan)

    @property
    def plan_ms(self) -> int:
        """Work planned, in ms."""
        return self.plan.work_ms

    @property
    def best_ms(self) -> int:
        """Work done, best visits, in ms."""
        return sum(station.best_ms for station in self.stations)

    @property
    def completion(self) -> Fraction:
        """Share of the planned work done, 0 to 1."""
        return Fraction(self.best_ms, self.plan_ms) if self.plan_ms else Fraction(0)

    @property
    def interval_ms(self) -> int:
        """The usual work interval planned, in ms."""
        return usual_interval_ms(self.plan)

    @property
    def recover_ms(self) -> int:
        """The usual recovery planned, in ms."""
        return usual_recover_ms(self.plan)

    @property
    def loops_done(self) -> int:
        """How many of the planned loops hold at least half of their work."""
        return sum(self.whole or self.worked)

    @property
    def hardness(self) -> float | None:
        """How hard it was: the harder of its last loop and the session as a whole.

        Either is enough; None where neither was entered. An effort of the session that
        is only the mean of its loops says nothing of its own.
        """
        done = [
            e for e, worked in zip(self.efforts, self.worked, strict=True) if worked
        ]
        known = [done[-1] if done else None, self._own_session_effort]
        return max((effort for effort in known if effort is not None), default=None)

    @property
    def highest(self) -> float | None:
        """The highest effort entered, of a loop or of the session."""
        entered = [*self.efforts, self._own_session_effort]
        return max((effort for effort in entered if effort is not None), default=None)

    @property
    def rise(self) -> float | None:
        """From the first to the last effort entered, in points; None below two."""
        entered = [effort for effort in self.efforts if effort is not None]
        return entered[-1] - entered[0] if len(entered) > 1 else None

    @property
    def _own_session_effort(self) -> float | None:
        return None if self.session_effort_is_derived else self.session_effort

    def left_out(self, station: StationRun) -> Fraction:
        """Share of a station's work not done in the loops that were done, 0 to 1."""
        planned = sum(
            segment.duration_ms
            for segment in self.plan.segments
            if segment.kind is SegmentKind.WORK
            and segment.station == station.number
            and segment.loop is not None
            and (self.whole or self.worked)[segment.loop - 1]
        )
        return max(Fraction(0), 1 - Fraction(station.best_ms, planned or 1))


@dataclass(frozen=True, slots=True)
class Outing:
    """A session of any circuit. `began` is None where only its day is known."""

    day: date
    regions: frozenset[str]
    name: str = ""
    began: datetime | None = None


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """One training that was no circuit. `effort` is 0 to 10, None: not entered.

    `minutes` have rests and breaks in them. `began` is None where only the day is
    known.
    """

    day: date
    sport: str
    minutes: float
    effort: float | None = None
    began: datetime | None = None


@dataclass(frozen=True, slots=True)
class SessionFacts:
    """What one session of any circuit says of the body.

    `felt` has the highest level (0 to 10) noted of each site, by its id; `asked` what
    the session asked of each site, 1 or 2. `hardest` is the highest effort entered,
    `sides` the side of what was noted of a site, where it was one alone. `regions` are
    those that were worked, `plan_ms` the work that was planned, 0 where unknown.
    """

    id: str
    day: date
    circuit: str
    ending: str = "complete"
    felt: Mapping[str, int] = field(default_factory=dict)
    asked: Mapping[str, int] = field(default_factory=dict)
    hardest: float | None = None
    sides: Mapping[str, str] = field(default_factory=dict)
    regions: frozenset[str] = ANY_REGION
    plan_ms: int = 0


@dataclass(frozen=True, slots=True)
class CircuitHistory:
    """Runs of one circuit and sessions of all circuits, oldest first.

    `facts` are of the sessions of all circuits; None: of these runs alone.
    `elsewhere` is the athlete's other training.
    """

    circuit: str
    runs: tuple[CircuitRun, ...] = ()
    outings: tuple[Outing, ...] = ()
    facts: tuple[SessionFacts, ...] | None = None
    elsewhere: tuple[Elsewhere, ...] = ()

    @property
    def sessions(self) -> tuple[SessionFacts, ...]:
        """What all sessions say of the body."""
        if self.facts is not None:
            return self.facts
        return tuple(facts_of_run(run) for run in self.runs)


def facts_of_run(run: CircuitRun) -> SessionFacts:
    """What one run says of the body."""
    return SessionFacts(
        run.session_id,
        run.day,
        run.plan.circuit,
        run.ending,
        felt_by_site(run.discomforts),
        asked_of(station.exercise for station in run.stations),
        run.highest,
        regions=regions_of(run.plan, _shipped_regions()),
        plan_ms=run.plan_ms,
    )


@lru_cache(maxsize=1)
def _shipped_regions() -> Mapping[str, str]:
    return {key: facts.region for key, facts in exercises().items()}


def felt_by_site(noted: Iterable[tuple[str, int]]) -> dict[str, int]:
    """The highest level of each site, by its id; a word that is no site stays."""
    found: dict[str, int] = {}
    for word, level in noted:
        known = site_of(word)
        site = known.id if known else word
        found[site] = max(level, found.get(site, 0))
    return found


def sides_by_site(noted: Iterable[tuple[str, str]]) -> dict[str, str]:
    """The side of each site by its id: left, right; "" where it is both or none."""
    found: dict[str, str] = {}
    for word, side in noted:
        known = site_of(word)
        site = known.id if known else word
        own = side if side in SIDE.words else ""
        found[site] = own if found.get(site, own) == own else ""
    return found


def asked_of(
    done: Iterable[str], own: Mapping[str, Exercise] = MappingProxyType({})
) -> Mapping[str, int]:
    """What exercises ask of each site at most.

    Args:
        done: Their ids; one that is not known asks nothing.
        own: The athlete's own stations, which go before those that ship. One of
            which nobody has said what the body does there asks much of every site.
    """
    keys = frozenset(done)
    shipped = keys.difference(own)
    if len(shipped) == len(keys):
        return _asked_of(keys)
    found = dict(_asked_of(shipped))
    for key in keys & own.keys():
        for site in BODY_SITES:
            value = max(station_asks(own[key], site), found.get(site, 0))
            if value:
                found[site] = value
    return MappingProxyType(found)


@lru_cache(maxsize=1000)
def _asked_of(done: frozenset[str]) -> Mapping[str, int]:
    found: dict[str, int] = {}
    for key in done:
        facts = exercises().get(key)
        for site, value in asked(facts).items() if facts else ():
            found[site] = max(value, found.get(site, 0))
    return MappingProxyType(found)


def run_of(record: SessionRecord, zone: tzinfo) -> CircuitRun | None:
    """A record as a run; None if it was scripted, a try-out, or holds no work.

    Its day is the one the athlete's own clock showed; `zone` serves where the wall
    time has no offset.

    Raises:
        ValueError: Its wall time cannot be read.
    """
    is_left_out = record.scripted or record.is_try_out
    if is_left_out or not any(loop.worked for loop in record.loops):
        return None
    day = local_day(record.wall)
    began = datetime.fromisoformat(record.wall)
    text = record.session_effort
    return CircuitRun(
        session_id=record.id,
        began=began if began.tzinfo else began.replace(tzinfo=zone),
        day=day,
        plan=record.plan,
        stations=_stations(record.loops),
        efforts=tuple(
            loop.effort.halves / 2 if loop.effort else None for loop in record.loops
        ),
        worked=tuple(loop.worked for loop in record.loops),
        whole=tuple(
            loop.worked and 2 * loop.best_ms >= loop.plan_ms for loop in record.loops
        ),
        session_effort=record.derived_effort if text is None else text.halves / 2,
        session_effort_is_derived=text is None,
        discomforts=tuple(
            (taken.entry.site, taken.entry.level) for taken in record.discomforts
        ),
        ending=record.ending,
    )


def _stations(loops: Sequence[LoopResult]) -> tuple[StationRun, ...]:
    by_number: dict[int, StationRun] = {}
    for loop in loops:
        for found in loop.stations:
            number = found.card.number
            before = by_number.get(number)
            easier = "easier" in found.variants
            instead = found.swapped_to.name if found.swapped_to else ""
            by_number[number] = StationRun(
                number=number,
                exercise=found.card.exercise,
                name=found.card.name,
                plan_ms=found.plan_ms + (before.plan_ms if before else 0),
                best_ms=found.best_ms + (before.best_ms if before else 0),
                # Of several loops the last load that was used.
                load=found.load_done,
                other_load=found.has_other_load or bool(before and before.other_load),
                easier=easier or bool(before and before.easier),
                swapped_to=instead or (before.swapped_to if before else ""),
            )
    return tuple(by_number[number] for number in sorted(by_number))


def regions_of(plan: Plan, regions: Mapping[str, str]) -> frozenset[str]:
    """The regions a plan works; an exercise nobody knows counts as the whole body."""
    worked = {s.exercise for s in plan.segments if s.exercise is not None}
    return frozenset(regions.get(exercise, "whole") for exercise in worked)


def share_a_region(one: frozenset[str], other: frozenset[str]) -> bool:
    """Whether two sessions work the same region; the whole body meets any."""
    return bool(one & other) or (
        bool(ANY_REGION & (one | other)) and bool(one and other)
    )


def history_of(
    circuit: str,
    records: Iterable[SessionRecord],
    trainings: Iterable[Training] | None,
    zone: tzinfo,
    regions: Mapping[str, str],
    facts: tuple[SessionFacts, ...] | None = None,
) -> CircuitHistory:
    """Sort what is known into a history of one circuit.

    Args:
        circuit: Its id.
        records: Recorded sessions of any circuits, in any order.
        trainings: All trainings as the diary leaves them: amended efforts, without
            those removed, with sessions done without the laptop. None: no diary.
        zone: The athlete's zone, for wall times without an offset.
        regions: The region of each exercise id.
        facts: What all sessions say of the body, oldest first.

    Raises:
        ValueError: A wall time cannot be read.
    """
    known = None if trainings is None else {t.source_id: t for t in trainings}
    runs: list[CircuitRun] = []
    outings: list[Outing] = []
    seen: set[str] = set()
    for record in records:
        seen.add(record.id)
        run = run_of(record, zone)
        if run is None or (known is not None and record.id not in known):
            continue
        worked = frozenset(regions.get(x, "whole") for x in record.exercises_done)
        # Of one entered afterwards only the day is known.
        began = None if record.entered else run.began
        outings.append(Outing(run.day, worked, record.plan.name, began))
        if record.plan.circuit == circuit:
            own = _amended(run, known[record.id]) if known else run
            runs.append(own)
    elsewhere = []
    for training in (known or {}).values():
        if training.kind is DayKind.CIRCUIT and training.source_id not in seen:
            outings.append(Outing(training.day, ANY_REGION, training.sport))
        if training.kind is DayKind.OTHER:
            elsewhere.append(_elsewhere(training))
    return CircuitHistory(
        circuit,
        tuple(sorted(runs, key=lambda run: (run.began, run.session_id))),
        tuple(
            sorted(outings, key=lambda o: (o.day, o.began is not None, str(o.began)))
        ),
        facts,
        tuple(sorted(elsewhere, key=lambda training: training.day)),
    )


def _elsewhere(training: Training) -> Elsewhere:
    minutes = training.length_ms / 60_000
    return Elsewhere(training.day, training.sport, minutes, training.effort)


def with_reason(run: CircuitRun, reason: CutReason) -> CircuitRun:
    """A run with why something was left out in it: of its loops and stations alike."""
    stations = tuple(
        replace(each, reason=reason) if each.missed else each for each in run.stations
    )
    return replace(run, reason=reason, stations=stations)


def _amended(run: CircuitRun, training: Training) -> CircuitRun:
    return replace(
        run,
        session_effort=training.effort,
        session_effort_is_derived=training.effort_is_derived,
    )
