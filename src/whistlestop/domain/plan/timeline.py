"""From a circuit to a plan: settings resolved, parts shared, segments laid end to end.

Settings resolve in this order, later wins: circuit, station, loop, station in
loop, today's changes. Order of a session: warm-up, get ready, then each loop
with its stations, recoveries and break, then the cool-down. A segment of no
length is left out unless it is a gate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import (
    MAX_SESSION_MS,
    MIN_PART_MS,
    Circuit,
    LoopChange,
    Station,
    StationInLoop,
    Today,
)
from whistlestop.domain.load import Load
from whistlestop.domain.plan.cues import segment_cues, surroundings
from whistlestop.domain.plan.parts import order_in_loop, share_ms
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind, StationCard
from whistlestop.errors import PlanError


@dataclass(frozen=True, slots=True)
class StationSettings:
    """The settings of one station in one loop, after all rules."""

    work_ms: int
    recover_ms: int
    load: Load | None


def resolve(
    circuit: Circuit, station: Station, loop: int, number: int, today: Today
) -> StationSettings:
    """Settle work, recovery and load of one station in one loop."""
    change = circuit.loop_changes.get(loop, LoopChange())
    own = change.stations.get(number, StationInLoop())
    load = station.load
    if load is not None and change.load is not None:
        load = change.load
    if own.load is not None:
        load = own.load
    return StationSettings(
        work_ms=_last_given(
            circuit.work_ms,
            station.work_ms,
            change.work_ms,
            own.work_ms,
            today.work_ms,
        ),
        recover_ms=_last_given(
            circuit.recover_ms,
            station.recover_ms,
            change.recover_ms,
            own.recover_ms,
            today.recover_ms,
        ),
        load=load,
    )


def _last_given(first: int, *later: int | None) -> int:
    text = first
    for value in later:
        text = text if value is None else value
    return text


def compile_plan(circuit: Circuit, today: Today | None = None) -> Plan:
    """Lay a circuit out in time.

    Raises:
        PlanError: A part falls under 5 s, a loop has no station left, a
            changeover has one part only, or the session is longer than 4 h.
    """
    circuit, changes = as_today(circuit, today)
    loops = [_loop(circuit, loop, changes) for loop in range(1, circuit.loops + 1)]
    return assembled(circuit, changes, loops)


def as_today(circuit: Circuit, today: Today | None) -> tuple[Circuit, Today]:
    """Let today's loops and break stand in the circuit; the rest stays with today."""
    changes = today or Today()
    if changes.loops is not None:
        circuit = replace(circuit, loops=changes.loops)
    if changes.loop_break_ms is not None:
        circuit = replace(
            circuit, loop_break_ms=changes.loop_break_ms, break_until_key=False
        )
    return circuit, changes


def assembled(
    circuit: Circuit, today: Today, loops: Sequence[Sequence[Segment]]
) -> Plan:
    """Put warm-up, get ready and cool-down round the loops, and lay all end to end.

    Raises:
        PlanError: The session is longer than 4 h.
    """
    segments: list[Segment] = []
    for item in circuit.warm_up:
        segments.append(
            Segment(0, item.duration_ms, SegmentKind.WARM_UP, exercise_name=item.name)
        )
    segments.append(Segment(0, circuit.get_ready_ms, SegmentKind.GET_READY))
    for loop in loops:
        segments += loop
    for item in circuit.cool_down:
        segments.append(
            Segment(0, item.duration_ms, SegmentKind.COOL_DOWN, exercise_name=item.name)
        )
    plan = Plan(
        circuit=circuit.id,
        name=circuit.name,
        note=circuit.note,
        loops=circuit.loops,
        segments=_end_to_end(segments),
        stations=tuple(
            _card(number, station)
            for number, station in enumerate(circuit.stations, 1)
            if number not in today.without_stations
        ),
    )
    if plan.total_ms > MAX_SESSION_MS:
        raise PlanError("the session is longer than 4 hours")
    return plan


def _card(number: int, station: Station) -> StationCard:
    return StationCard(
        number=number,
        exercise=station.exercise,
        name=station.name,
        call_name=station.call_name,
        parts=station.parts,
        tempo=str(station.tempo) if station.tempo else None,
        load=station.load.typed if station.load else None,
        kit=station.kit,
        cautions=station.cautions,
        note=station.note,
        paced=station.paced,
    )


def stations_in_loop(circuit: Circuit, loop: int, today: Today) -> list[int]:
    """Numbers of the stations that are done in one loop, in order.

    Raises:
        PlanError: None is left.
    """
    change = circuit.loop_changes.get(loop, LoopChange())
    numbers = [
        number
        for number in range(1, len(circuit.stations) + 1)
        if number not in today.without_stations
        and not change.stations.get(number, StationInLoop()).skip
    ]
    if not numbers:
        raise PlanError(f"loop {loop} has no station left")
    return numbers


def break_after(circuit: Circuit, loop: int) -> list[Segment]:
    """The break after a loop, where there is one."""
    if not circuit.has_break or loop >= circuit.loops:
        return []
    length = 0 if circuit.break_until_key else circuit.loop_break_ms or 0
    until_key = circuit.break_until_key
    return [Segment(0, length, SegmentKind.LOOP_BREAK, until_key=until_key, loop=loop)]


def _loop(circuit: Circuit, loop: int, today: Today) -> list[Segment]:
    numbers = stations_in_loop(circuit, loop, today)
    segments: list[Segment] = []
    for number in numbers:
        last = number == numbers[-1]
        keep = not last or circuit.has_last_recover
        segments += _station(circuit, loop, number, today, with_recover=keep)
    return segments + break_after(circuit, loop)


def _station(
    circuit: Circuit, loop: int, number: int, today: Today, *, with_recover: bool
) -> list[Segment]:
    station = circuit.stations[number - 1]
    settings = resolve(circuit, station, loop, number, today)
    load = settings.load.typed if settings.load else None
    # Not `replace`: that reads every field again, for every segment of a session.
    here = partial(
        Segment,
        0,
        loop=loop,
        station=number,
        exercise=station.exercise,
        exercise_name=station.name,
        load=load,
    )
    segments: list[Segment] = []
    if station.hold:
        segments.append(here(0, SegmentKind.HOLD, until_key=True))
    names: tuple[str | None, ...] = order_in_loop(
        station.parts, loop, station.lead or circuit.lead
    ) or (None,)
    part_ms, changeovers = _shares(circuit, station, settings, number, loop)
    for place, name in enumerate(names):
        segments.append(here(part_ms, SegmentKind.WORK, part=name))
        if place < len(changeovers):
            segments.append(here(changeovers[place], SegmentKind.CHANGEOVER))
    if with_recover:
        drill = station.drill
        segments.append(
            here(
                settings.recover_ms,
                SegmentKind.RECOVER,
                load=None,
                drill=drill.id if drill else None,
                drill_name=drill.name if drill else None,
            )
        )
    return segments


def _shares(
    circuit: Circuit,
    station: Station,
    settings: StationSettings,
    number: int,
    loop: int,
) -> tuple[int, list[int]]:
    count = max(1, len(station.parts))
    if station.changeover_ms and count == 1:
        raise PlanError(
            "a changeover needs at least two parts", station=number, loop=loop
        )
    changeover = station.changeover_ms
    if changeover is None:
        changeover = circuit.changeover_ms if count > 1 else 0
    try:
        part_ms, changeovers = share_ms(settings.work_ms, count, changeover)
    except ValueError as error:
        raise PlanError(str(error), station=number, loop=loop) from None
    if part_ms < MIN_PART_MS:
        raise PlanError(
            f"a part lasts {part_ms / 1000:g} s; at least 5 s is needed",
            station=number,
            loop=loop,
        )
    return part_ms, changeovers


def _end_to_end(segments: list[Segment]) -> tuple[Segment, ...]:
    start = 0
    layout: list[Segment] = []
    for segment in segments:
        if segment.duration_ms == 0 and not segment.until_key:
            continue
        layout.append(replace(segment, start_ms=start))
        start += segment.duration_ms
    return tuple(layout)


def plan_document(plan: Plan) -> dict[str, object]:
    """The object of `plan --json`: every field is always there, if only as null."""
    segments = []
    for index, segment in enumerate(plan.segments):
        near = surroundings(plan.segments, index)
        segments.append(
            {
                "start_ms": segment.start_ms,
                "duration_ms": segment.duration_ms,
                "kind": segment.kind.value,
                "until_key": segment.until_key,
                "loop": segment.loop,
                "station": segment.station,
                "exercise": segment.exercise,
                "exercise_name": segment.exercise_name,
                "drill": segment.drill,
                "drill_name": segment.drill_name,
                "part": segment.part,
                "load": segment.load,
                "cues": [
                    {"at_ms": segment.start_ms + cue.at_ms, "cue": cue.cue.value}
                    for cue in segment_cues(segment, near)
                ],
            }
        )
    return {
        "circuit": plan.circuit,
        "name": plan.name,
        "total_ms": plan.total_ms,
        "work_ms": plan.work_ms,
        "open_gates": plan.open_gates,
        "segments": segments,
    }
