"""Several athletes in one circuit on one clock, some stations apart.

Each goes round the same stations from another one on, so in every loop everybody
does every station once. A slot is a place in a loop; its times hold for all who
stand in it. Owns offsets, slots and what a journal keeps of a companion; refuses
to know kit, names, files, and how far anybody has come.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, replace
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import MIN_PART_MS, Circuit, Station, Today
from whistlestop.domain.load import Load
from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.parts import order_in_loop, share_ms
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind
from whistlestop.domain.plan.timeline import (
    StationSettings,
    as_today,
    assembled,
    break_after,
    compile_plan,
    resolve,
    stations_in_loop,
)
from whistlestop.errors import MisfitError

OwnLoads = Mapping[str, Load]
"""An athlete's own loads by exercise id; what is not named is as in the circuit."""

# What is the clock's and so the same for all; the rest of a segment is personal.
COMMON: Final = ("start_ms", "duration_ms", "kind", "until_key", "loop")


@dataclass(frozen=True, slots=True)
class Company:
    """Who trains along on the owner's clock: id and plan of each; none for one alone.

    Every plan here has the segments of the owner's, with the same times, kinds and
    loops; only what is done in them differs.
    """

    others: tuple[tuple[str, Plan], ...] = ()
    offset: int = 0

    @property
    def offset_text(self) -> str:
        """How far apart: `3 stations`."""
        return f"{self.offset} {'station' if self.offset == 1 else 'stations'}"

    @property
    def athletes(self) -> tuple[str, ...]:
        """The ids of all who train, the owner first."""
        return (OWNER, *(athlete for athlete, _ in self.others))

    def plan_of(self, athlete: str) -> Plan | None:
        """The plan of one of them, by id."""
        return dict(self.others).get(athlete)


ALONE: Final = Company()


# --- Offsets -------------------------------------------------------------------


def offsets(
    circuit: Circuit, *, today: Today | None = None, athletes: int = 2
) -> tuple[int, ...]:
    """List the offsets there are, the preferred first.

    A fullest loop of n stations has the offsets 1 to n - 1. Floor(n / athletes) is
    preferred, since so far apart nobody waits for kit; then those nearest to it.
    """
    circuit, changes = as_today(circuit, today)
    loops = range(1, circuit.loops + 1)
    most = max(len(stations_in_loop(circuit, loop, changes)) for loop in loops)
    best = most // athletes
    return tuple(sorted(range(1, most), key=lambda d: (abs(d - best), d)))


# --- Plans ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Turn:
    """One athlete's station in one slot, with its settings there."""

    number: int
    station: Station
    settings: StationSettings

    @property
    def parts(self) -> int:
        return max(1, len(self.station.parts))


def paired_plans(
    circuit: Circuit,
    offset: int,
    loads: Sequence[OwnLoads],
    today: Today | None = None,
) -> tuple[Plan, ...]:
    """Lay a circuit out for several athletes: a plan for each, on one clock.

    A slot works as long as the shortest of its stations and recovers as long as
    the longest, so nobody works longer or rests less than the circuit asks. Its
    parts are those of the station that has any; an athlete without sides works in
    the same parts, and a changeover is a pause for all.

    Args:
        circuit: What is done.
        offset: How many stations each athlete is ahead of the one before.
        loads: The own loads of each athlete, the owner first.
        today: Changes for this session.

    Raises:
        MisfitError: Two athletes would stand at one station, or stations that meet
            have different numbers of parts, or a part falls under 5 s.
        PlanError: The circuit itself cannot be laid out.
    """
    compile_plan(circuit, today)
    circuit, changes = as_today(circuit, today)
    loops: list[list[list[Segment]]] = [[] for _ in loads]
    for loop in range(1, circuit.loops + 1):
        slots = list(_slots(circuit, loop, changes, offset=offset, loads=loads))
        rest = break_after(circuit, loop)
        for who, mine in enumerate(loops):
            mine.append([one for slot in slots for one in slot[who]] + rest)
    return tuple(
        _with_own_loads(assembled(circuit, changes, mine), own)
        for mine, own in zip(loops, loads, strict=True)
    )


def _with_own_loads(plan: Plan, own: OwnLoads) -> Plan:
    cards = (
        replace(card, load=own[card.exercise].typed) if card.exercise in own else card
        for card in plan.stations
    )
    return replace(plan, stations=tuple(cards))


def _slots(
    circuit: Circuit, loop: int, today: Today, *, offset: int, loads: Sequence[OwnLoads]
) -> Iterator[tuple[list[Segment], ...]]:
    """Each slot of a loop: for each athlete the segments of it."""
    numbers = stations_in_loop(circuit, loop, today)
    count = len(numbers)
    starts = [who * offset % count for who in range(len(loads))]
    if len(set(starts)) < len(starts):
        raise MisfitError(
            f"loop {loop} has {count} {'station' if count == 1 else 'stations'}: "
            f"with an offset of {offset} both would be at the same one"
        )
    for place in range(count):
        turns = []
        for start, own in zip(starts, loads, strict=True):
            number = numbers[(place + start) % count]
            station = circuit.stations[number - 1]
            settings = resolve(circuit, station, loop, number, today)
            load = own.get(station.exercise, settings.load)
            turns.append(_Turn(number, station, replace(settings, load=load)))
        keep = place < count - 1 or circuit.has_last_recover
        yield _slot(circuit, loop, turns, slot=place + 1, with_recover=keep)


def _slot(
    circuit: Circuit, loop: int, turns: list[_Turn], *, slot: int, with_recover: bool
) -> tuple[list[Segment], ...]:
    part_ms, changeovers = _common_shares(circuit, loop, turns, slot)
    recover_ms = max(turn.settings.recover_ms for turn in turns)
    held = any(turn.station.hold for turn in turns)
    made: list[list[Segment]] = []
    for turn in turns:
        here = _here(turn, loop)
        names = _part_names(circuit, turn, loop, count=len(changeovers) + 1)
        mine = [replace(here, kind=SegmentKind.HOLD, until_key=True)] if held else []
        for place, name in enumerate(names):
            mine.append(replace(here, duration_ms=part_ms, part=name))
            if place < len(changeovers):
                pause_ms = changeovers[place]
                mine.append(
                    replace(here, kind=SegmentKind.CHANGEOVER, duration_ms=pause_ms)
                )
        if with_recover:
            drill = turn.station.drill
            rest = replace(
                here, kind=SegmentKind.RECOVER, duration_ms=recover_ms, load=None
            )
            if drill is not None:
                rest = replace(rest, drill=drill.id, drill_name=drill.name)
            mine.append(rest)
        made.append(mine)
    return tuple(made)


def _here(turn: _Turn, loop: int) -> Segment:
    load = turn.settings.load
    return Segment(
        0,
        0,
        SegmentKind.WORK,
        loop=loop,
        station=turn.number,
        exercise=turn.station.exercise,
        exercise_name=turn.station.name,
        load=load.typed if load else None,
    )


def _part_names(
    circuit: Circuit, turn: _Turn, loop: int, *, count: int
) -> tuple[str | None, ...]:
    station = turn.station
    names = order_in_loop(station.parts, loop, station.lead or circuit.lead)
    return names if len(names) == count else ((*names, None)[0],) * count


def _common_shares(
    circuit: Circuit, loop: int, turns: list[_Turn], slot: int
) -> tuple[int, list[int]]:
    """Length of a part, and of each changeover, that all of a slot share, in ms."""
    split = [turn for turn in turns if turn.parts > 1]
    counts = {turn.parts for turn in split}
    if len(counts) > 1:
        details = " and ".join(f"{t.station.name} in {t.parts} parts" for t in split)
        raise MisfitError(
            f"loop {loop}, slot {slot}: {details} meet; one clock cannot switch both"
        )
    changeover = max(
        (
            circuit.changeover_ms
            if turn.station.changeover_ms is None
            else turn.station.changeover_ms
            for turn in split
        ),
        default=0,
    )
    work_ms = min(turn.settings.work_ms for turn in turns)
    try:
        part_ms, changeovers = share_ms(work_ms, max(counts, default=1), changeover)
    except ValueError as error:
        raise MisfitError(f"loop {loop}, slot {slot}: {error}") from None
    if part_ms < MIN_PART_MS:
        raise MisfitError(
            f"loop {loop}, slot {slot}: a part lasts {part_ms / 1000:g} s there; "
            "at least 5 s is needed"
        )
    return part_ms, changeovers


def differs_from(circuit: Circuit, plan: Plan, today: Today | None = None) -> str:
    """Say what the common clock changes of the circuit done alone; "" if nothing."""
    alone = compile_plan(circuit, today)
    work_s = (plan.work_ms - alone.work_ms) / 1000
    total_s = (plan.total_ms - alone.total_ms) / 1000
    if not work_s and not total_s:
        return ""
    return (
        "stations that meet share one clock: the shortest work, the longest recovery "
        f"and common switches; work {work_s:+g} s, total {total_s:+g} s"
    )


# --- In the journal ------------------------------------------------------------


def own_part(plan: Plan) -> dict[str, Any]:
    """What of a companion's plan is not the owner's, as plain JSON values.

    The times are left out, so that a journal cannot hold two clocks.
    """
    whole = plan.to_json()
    segments = [
        {key: value for key, value in segment.items() if key not in COMMON}
        for segment in whole["segments"]
    ]
    return {"stations": whole["stations"], "segments": segments}


def companion_plan(owners: Plan, own: object) -> Plan:
    """Put a companion's plan together again from the owner's and `own_part`.

    Raises:
        ValueError: It is not one, or does not have the owner's segments.
    """
    segments = own.get("segments") if isinstance(own, dict) else None
    if not isinstance(own, dict) or not isinstance(segments, list):
        raise ValueError("the plan of a companion is not readable")  # noqa: TRY004
    if len(segments) != len(owners.segments):
        raise ValueError("the plan of a companion has other segments")
    common = [
        {
            f.name: getattr(one, f.name)
            for f in fields(one)
            if f.name in COMMON and getattr(one, f.name) is not None
        }
        for one in owners.segments
    ]
    if not all(isinstance(mine, dict) for mine in segments):
        raise ValueError("the plan of a companion is not readable")
    whole = [{**mine, **times} for mine, times in zip(segments, common, strict=True)]
    plan = Plan.from_json(
        {**owners.to_json(), "stations": own.get("stations"), "segments": whole}
    )
    numbers = {card.number for card in plan.stations}
    if any(s.station is not None and s.station not in numbers for s in plan.segments):
        raise ValueError("the plan of a companion names a station it does not have")
    return plan
