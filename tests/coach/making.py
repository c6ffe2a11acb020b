"""Histories made by hand: runs of a circuit on given days, as a record would be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

from whistlestop.coach.changes import intervals_ms
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import (
    CircuitHistory,
    CircuitRun,
    Elsewhere,
    Outing,
    SessionFacts,
    StationRun,
    facts_of_run,
    regions_of,
)
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.library import exercises

ZONE = timezone(timedelta(hours=1))
FIRST = date(2031, 3, 3)  # a Monday
REGIONS = {key: facts.region for key, facts in exercises().items()}


def library_station(key: str, load: str | None = None, **changes: Any) -> Station:
    """A station as a circuit file makes it from the library."""
    facts = exercises()[key]
    plain = Station(key, facts.name, facts.call_name, parts=facts.parts, kit=facts.kit)
    return replace(plain, load=parse_load(load) if load else None, **changes)


def shed(*, load: str = "16 kg", **changes: Any) -> Circuit:
    """Four stations: a loaded squat, push-ups, a bridge, a row; 40/20, two loops."""
    plain = Circuit(
        "shed",
        "Shed",
        (
            library_station("goblet-squat", load, drill=Drill("one-leg-stand", "One")),
            library_station("push-up"),
            library_station("glute-bridge"),
            library_station("bird-dog"),
        ),
        loops=2,
        loop_break_ms=60_000,
    )
    return replace(plain, **changes)


def bells(*kilograms: int) -> Kit:
    """A kit of single kettlebells."""
    return Kit(
        mats=1,
        weights=tuple(
            Weight("kettlebell", Load(f"{kg} kg", mass=Decimal(kg))) for kg in kilograms
        ),
    )


def moment(day: date, hour: int = 18) -> datetime:
    return datetime(day.year, day.month, day.day, hour, tzinfo=ZONE)


def run(
    plan: Plan | Circuit,
    day: date,
    efforts: Sequence[float | None] | float = 5.0,
    *,
    missed: Mapping[int, float] | None = None,
    **changes: Any,
) -> CircuitRun:
    """One run; `missed` is the share left out by station. One effort is for all."""
    made = compile_plan(plan) if isinstance(plan, Circuit) else plan
    given = [efforts] * made.loops if isinstance(efforts, (int, float)) else efforts
    values: dict[str, Any] = {
        "session_id": f"{day.isoformat()}",
        "began": moment(day),
        "day": day,
        "plan": made,
        "stations": station_runs(made, missed or {}),
        "efforts": tuple(given),
        "worked": (True,) * made.loops,
    }
    return CircuitRun(**{**values, **changes})


def station_runs(plan: Plan, missed: Mapping[int, float]) -> tuple[StationRun, ...]:
    made = []
    for card in plan.stations:
        ms = sum(
            s.duration_ms
            for s in plan.segments
            if s.station == card.number and s.kind is SegmentKind.WORK
        )
        best = round(ms * (1 - missed.get(card.number, 0.0)))
        made.append(
            StationRun(card.number, card.exercise, card.name, ms, best, card.load)
        )
    assert intervals_ms(plan)
    return tuple(made)


def history(
    *runs: CircuitRun,
    others: Sequence[Outing] = (),
    by_hand: frozenset[str] = frozenset(),
    facts: Sequence[SessionFacts] = (),
    elsewhere: Sequence[Elsewhere] = (),
) -> CircuitHistory:
    """Runs of the circuit, with `others` of other circuits and `facts` of those.

    Of the sessions with an id in `by_hand` only the day is known.
    """
    outings = [
        Outing(
            r.day,
            regions_of(r.plan, REGIONS),
            r.plan.name,
            None if r.session_id in by_hand else r.began,
        )
        for r in runs
    ]
    own = [facts_of_run(r) for r in runs]
    return CircuitHistory(
        "shed",
        tuple(runs),
        tuple(sorted((*outings, *others), key=lambda outing: outing.day)),
        tuple(sorted((*own, *facts), key=lambda x: x.day)) if facts else None,
        tuple(sorted(elsewhere, key=lambda x: x.day)),
    )


def context(circuit: Circuit, day: date, **changes: Any) -> CoachContext:
    values: dict[str, Any] = {"circuit": circuit, "now": moment(day)}
    return CoachContext(**{**values, **changes})


def after(days: int) -> date:
    """A day counted from the first Monday."""
    return FIRST + timedelta(days=days)
