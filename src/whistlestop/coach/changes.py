"""What a proposal would change in a circuit, as data, and what that does to its totals.

Owns applying a change to a circuit. Refuses to know why a change is proposed, and to
touch the file a circuit came from: the answer is always a new circuit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import (
    MAX_LOOPS,
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
    Today,
)
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan.plan import AT_STATION, Plan, SegmentKind
from whistlestop.domain.plan.timeline import compile_plan, resolve
from whistlestop.domain.tempo import parse_tempo
from whistlestop.errors import ChangeError
from whistlestop.library import drills
from whistlestop.library.cards import cards

STEP_MS: Final = 5_000
# Below this an interval is spent getting into position. Common practice, no source.
LEAST_WORK_MS: Final = 15_000

Settings = tuple[tuple[object, ...], ...]


@dataclass(frozen=True, slots=True)
class CircuitChange:
    """What to change. Steps are added to every interval that is stated, in ms.

    `work_step_at` and `loads` go by station number from 1. `recover_as_work` makes
    no recovery shorter than the circuit's interval. `swap` is a station and the
    exercise to take instead, `drill` a station and a level of its drill, from 1,
    `new_drill` a station and another drill of the library, at its first level.
    `swaps` are stations with what is done there instead, `bare` stations done without
    their load; loads are those of what is done then.
    `revert` is the id of a decision to take back; it stands alone.
    """

    loops: int | None = None
    work_step_ms: int = 0
    recover_step_ms: int = 0
    recover_as_work: bool = False
    work_step_at: tuple[tuple[int, int], ...] = ()
    loads: tuple[tuple[int, str], ...] = ()
    swap: tuple[int, str] | None = None
    drill: tuple[int, int] | None = None
    new_drill: tuple[int, str] | None = None
    swaps: tuple[tuple[int, str], ...] = ()
    bare: tuple[int, ...] = ()
    revert: str = ""

    @property
    def is_nothing(self) -> bool:
        """Whether everything stays as it is."""
        return self == CircuitChange()


@dataclass(frozen=True, slots=True)
class CircuitTotals:
    """What a circuit comes to. `interval_ms` and `recover_ms` are the usual ones."""

    work_ms: int
    total_ms: int
    loops: int
    interval_ms: int
    recover_ms: int

    @property
    def density(self) -> Fraction:
        """Share of work in the usual interval with its recovery, 0 to 1."""
        both_ms = self.interval_ms + self.recover_ms
        return Fraction(self.interval_ms, both_ms) if both_ms else Fraction(0)


def totals_of(circuit: Circuit) -> CircuitTotals:
    """Add a circuit up.

    Raises:
        PlanError: It cannot be laid out.
    """
    return totals_of_plan(compile_plan(circuit))


def totals_of_plan(plan: Plan) -> CircuitTotals:
    """Add a plan up."""
    return CircuitTotals(
        plan.work_ms,
        plan.total_ms,
        plan.loops,
        usual_interval_ms(plan),
        usual_recover_ms(plan),
    )


def shape_of(totals: CircuitTotals) -> str:
    """Loops, interval and recovery in words: 2 x 40 s, 15 s recovery."""
    return (
        f"{totals.loops} x {totals.interval_ms / 1000:g} s, "
        f"{totals.recover_ms / 1000:g} s recovery"
    )


def loops_text(totals: CircuitTotals) -> str:
    """Loops and interval as people say them: 2 loops of 35 s, one loop of 40 s."""
    loops = "one loop" if totals.loops == 1 else f"{totals.loops} loops"
    return f"{loops} of {totals.interval_ms / 1000:g} s"


def intervals_ms(plan: Plan) -> dict[tuple[int, int], int]:
    """The whole interval of each loop and station, changeovers included, in ms."""
    found: dict[tuple[int, int], int] = {}
    for segment in plan.segments:
        if segment.kind in AT_STATION and segment.place:
            there = found.get(segment.place, 0)
            found[segment.place] = there + segment.duration_ms
    return found


def usual_interval_ms(plan: Plan) -> int:
    """The interval most stations have, the longer of two as frequent; 0 for none."""
    return _usual(list(intervals_ms(plan).values()))


def usual_recover_ms(plan: Plan) -> int:
    """The recovery most stations have, the longer of two as frequent; 0 for none."""
    rests = [s.duration_ms for s in plan.segments if s.kind is SegmentKind.RECOVER]
    return _usual(rests)


def _usual(lengths: list[int]) -> int:
    if not lengths:
        return 0
    return max(Counter(lengths).items(), key=lambda item: (item[1], item[0]))[0]


def settings_of(plan: Plan) -> Settings:
    """Everything that makes two sessions alike: order, lengths, loads, drills.

    Names, notes and the side that leads are left out.
    """
    rests = {s.place: s for s in plan.segments if s.kind is SegmentKind.RECOVER}
    works = {s.place: s for s in plan.segments if s.kind is SegmentKind.WORK}
    rows: list[tuple[object, ...]] = []
    for place, length_ms in sorted(intervals_ms(plan).items()):
        rest, work = rests.get(place), works[place]
        rows.append(
            (
                *place,
                work.exercise,
                work.load,
                length_ms,
                rest.duration_ms if rest else 0,
                rest.drill_name if rest else None,
            )
        )
    return tuple(rows)


def demand(circuit: Circuit, than: Circuit) -> Fraction:
    """Work of a circuit against that of another, loads weighed in; 1 is as much.

    Each station's seconds count times its load over the load it has in the other
    circuit; where one of the two is unknown, seconds alone. Common practice, no
    source: it orders steps by size and is nothing that was measured.
    """
    before, after = compile_plan(than), compile_plan(circuit)
    old_kg = {s.station: _kilograms(s.load) for s in before.segments if s.load}
    weighed = Fraction(0)
    for segment in after.segments:
        if segment.kind is SegmentKind.WORK:
            new, old = _kilograms(segment.load), old_kg.get(segment.station)
            factor = new / old if new and old else Fraction(1)
            weighed += segment.duration_ms * factor
    return weighed / before.work_ms


def _kilograms(typed: str | None) -> Fraction | None:
    try:
        total = parse_load(typed or "").total_kg
    except ValueError:
        return None
    return None if total is None else Fraction(total)


# --- Applying ------------------------------------------------------------------


def applied(
    circuit: Circuit, change: CircuitChange, library: Mapping[str, Exercise]
) -> Circuit:
    """Make the changed circuit.

    Raises:
        ChangeError: A station or exercise is not there, or the change takes back
            an earlier decision, which only the list of decisions can do.
    """
    if change.revert:
        raise ChangeError("an earlier decision is undone, not applied")
    made = _lengths(circuit, change)
    for number, step_ms in change.work_step_at:
        made = _station_step(made, number, step_ms)
    for number, exercise in (*((change.swap,) if change.swap else ()), *change.swaps):
        made = _swapped(made, number, exercise, library)
    for number in change.bare:
        made = _with_load(made, number, None)
    for number, typed in change.loads:
        made = _with_load(made, number, parse_load(typed))
    if change.drill:
        made = _drill_level(made, *change.drill)
    if change.new_drill:
        made = _new_drill(made, *change.new_drill)
    if change.loops is not None:
        if not 1 <= change.loops <= MAX_LOOPS:
            raise ChangeError(f"{change.loops} loops is not within 1 to {MAX_LOOPS}")
        made = replace(made, loops=change.loops)
    return made


def _lengths(circuit: Circuit, change: CircuitChange) -> Circuit:
    """Shift every stated interval and recovery."""
    step, rest_step = change.work_step_ms, change.recover_step_ms
    usual = circuit.work_ms + step if change.recover_as_work else 0

    def work(ms: int | None) -> int | None:
        return None if ms is None else max(min(ms, LEAST_WORK_MS), ms + step)

    def rest(ms: int | None) -> int | None:
        return None if ms is None else max(0, ms + rest_step, usual)

    changes = {
        number: replace(
            loop,
            work_ms=work(loop.work_ms),
            recover_ms=rest(loop.recover_ms),
            stations={
                n: replace(
                    own, work_ms=work(own.work_ms), recover_ms=rest(own.recover_ms)
                )
                for n, own in loop.stations.items()
            },
        )
        for number, loop in circuit.loop_changes.items()
    }  # fmt: skip
    return replace(
        circuit,
        work_ms=work(circuit.work_ms) or circuit.work_ms,
        recover_ms=max(0, circuit.recover_ms + rest_step, usual),
        stations=tuple(
            replace(s, work_ms=work(s.work_ms), recover_ms=rest(s.recover_ms))
            for s in circuit.stations
        ),
        loop_changes=changes,
    )


def _station(circuit: Circuit, number: int) -> Station:
    if not 1 <= number <= len(circuit.stations):
        raise ChangeError(f"the circuit has no station {number}")
    return circuit.stations[number - 1]


def _put(circuit: Circuit, number: int, station: Station) -> Circuit:
    stations = list(circuit.stations)
    stations[number - 1] = station
    return replace(circuit, stations=tuple(stations))


def _station_step(circuit: Circuit, number: int, step_ms: int) -> Circuit:
    """Shift the interval of one station in every loop, wherever it is stated."""
    station = _station(circuit, number)

    def work(ms: int) -> int:
        return max(min(ms, LEAST_WORK_MS), ms + step_ms)

    changes = {}
    for loop, change in circuit.loop_changes.items():
        own = change.stations.get(number, StationInLoop())
        text = own.work_ms if own.work_ms is not None else change.work_ms
        if text is not None:
            own = replace(own, work_ms=work(text))
        kept = own != StationInLoop() or number in change.stations
        added = {number: own} if kept else {}
        changes[loop] = replace(change, stations={**change.stations, **added})
    text = station.work_ms if station.work_ms is not None else circuit.work_ms
    own_ms = work(text)
    made = replace(station, work_ms=None if own_ms == circuit.work_ms else own_ms)
    return replace(_put(circuit, number, made), loop_changes=changes)


def uniform_load(circuit: Circuit, number: int) -> Load | None:
    """The load of a station if it is the same in every loop; else None."""
    station = _station(circuit, number)
    loads = {
        resolve(circuit, station, loop, number, Today()).load
        for loop in range(1, circuit.loops + 1)
    }
    return loads.pop() if len(loads) == 1 else None


def least_load(circuit: Circuit, number: int) -> Load | None:
    """The least load of a station in any loop; None without one."""
    station = _station(circuit, number)
    loads = [
        resolve(circuit, station, loop, number, Today()).load
        for loop in range(1, circuit.loops + 1)
    ]
    known = [load for load in loads if load is not None]
    return min(known, key=lambda load: load.each_kg or 0, default=None)


def _with_load(circuit: Circuit, number: int, load: Load | None) -> Circuit:
    """Give a station one load, or none, in every loop, whatever the loops say."""
    changes = {}
    for loop, change in circuit.loop_changes.items():
        own = change.stations.get(number)
        if change.load is not None:
            own = replace(own or StationInLoop(), load=load)
        elif own is not None:
            own = replace(own, load=None)
        added = {} if own is None else {number: own}
        changes[loop] = LoopChange(
            change.work_ms,
            change.recover_ms,
            change.load,
            {**change.stations, **added},
        )
    made = replace(_station(circuit, number), load=load)
    return replace(_put(circuit, number, made), loop_changes=changes)


def _swapped(
    circuit: Circuit, number: int, exercise: str, library: Mapping[str, Exercise]
) -> Circuit:
    """Put a library exercise in the place of a station; its times and drill stay."""
    old, facts = _station(circuit, number), library.get(exercise)
    if facts is None:
        raise ChangeError(f"the library has no exercise {exercise}")
    card = cards().get(exercise)
    loaded = card is not None and card.load_kind in {"optional", "required"}
    several = len(facts.parts) > 1
    made = replace(
        old,
        exercise=exercise,
        name=facts.name,
        call_name=facts.call_name,
        load=old.load if loaded else None,
        parts=facts.parts,
        changeover_ms=old.changeover_ms if several else None,
        tempo=parse_tempo(facts.tempo) if facts.tempo else None,
        kit=facts.kit,
        cautions=facts.cautions,
        note="",
    )
    return _put(circuit, number, made)


def _drill_level(circuit: Circuit, number: int, level: int) -> Circuit:
    old = _station(circuit, number)
    known = drills().get(old.drill.id) if old.drill else None
    if known is None or not 1 <= level <= len(known.ladder):
        raise ChangeError(f"station {number} has no drill with a level {level}")
    named = Drill(known.id, f"{known.name}: {known.ladder[level - 1]}")
    return _put(circuit, number, replace(old, drill=named))


def _new_drill(circuit: Circuit, number: int, key: str) -> Circuit:
    old, known = _station(circuit, number), drills().get(key)
    if known is None or old.drill is None:
        raise ChangeError(f"station {number} has no drill, or there is no {key}")
    return _put(circuit, number, replace(old, drill=Drill(known.id, known.name)))


# --- As fields -----------------------------------------------------------------


def change_fields(change: CircuitChange) -> dict[str, Any]:
    """A change as plain JSON values, what is unchanged left out."""
    plain = CircuitChange()
    return {
        name: [list(x) if isinstance(x, tuple) else x for x in value]
        if isinstance(value := getattr(change, name), tuple)
        else value
        for name in CircuitChange.__slots__
        if getattr(change, name) != getattr(plain, name)
    }


def change_from(fields: object) -> CircuitChange:
    """Read a change back; unknown fields of a later version are refused.

    Raises:
        ValueError: A field is unknown or not of the kind it should be.
    """
    if not isinstance(fields, dict) or not set(fields) <= set(CircuitChange.__slots__):
        raise ValueError("the change holds something this program does not know")
    loops, swap, drill = (fields.get(name) for name in ("loops", "swap", "drill"))
    new_drill = fields.get("new_drill")
    return CircuitChange(
        loops=None if loops is None else _whole(loops),
        work_step_ms=_whole(fields.get("work_step_ms", 0)),
        recover_step_ms=_whole(fields.get("recover_step_ms", 0)),
        recover_as_work=fields.get("recover_as_work", False) is True,
        work_step_at=tuple(
            (_whole(n), _whole(ms)) for n, ms in _pairs(fields.get("work_step_at", []))
        ),
        loads=tuple(
            (_whole(n), str(parse_load(str(load))))
            for n, load in _pairs(fields.get("loads", []))
        ),
        swap=None if swap is None else _number_and_text(swap),
        drill=None if drill is None else (_two(drill)),
        new_drill=None if new_drill is None else _number_and_text(new_drill),
        swaps=tuple((_whole(n), str(to)) for n, to in _pairs(fields.get("swaps", []))),
        bare=_wholes(fields.get("bare", [])),
        revert=str(fields.get("revert", "")),
    )


_MOST: Final = 4 * 3_600_000


def _whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) > _MOST:
        raise ValueError("expected a whole number")
    return value


def _wholes(value: object) -> tuple[int, ...]:
    if not isinstance(value, list) or len(value) > 100:
        raise ValueError("expected a list of whole numbers")
    return tuple(_whole(one) for one in value)


def _pairs(value: object) -> list[tuple[object, object]]:
    if not isinstance(value, list) or len(value) > 100:
        raise ValueError("expected a list of pairs")
    found = []
    for pair in value:
        if not isinstance(pair, list) or len(pair) != 2:
            raise ValueError("expected a list of pairs")
        found.append((pair[0], pair[1]))
    return found


def _number_and_text(value: object) -> tuple[int, str]:
    ((number, text),) = _pairs([value])
    return _whole(number), str(text)


def _two(value: object) -> tuple[int, int]:
    ((first, second),) = _pairs([value])
    return _whole(first), _whole(second)
