"""A circuit beside what is owned and left out: what cannot be done, what to do instead.

Exchanges of stations and drills, each with its reason; nothing is changed here unasked.
What exercises there are comes in from outside.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from whistlestop.domain.circuit.circuit import (
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
)
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.load_along import (
    WEIGHED,
    lacks_load,
    load_along,
    too_heavy,
)
from whistlestop.domain.kit.means import Means
from whistlestop.domain.limits import Collision, Limit, collisions, swaps
from whistlestop.domain.load import Load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.tempo import parse_tempo
from whistlestop.errors import PlanError

BEST: Final = 4
# Less than this is no match for pressing or pulling one's own weight. Common
# practice, no source.
_SLIGHT_KG: Final = Decimal(3)
# What stands in for another drill begins at its first level.
_FIRST: Final = 1


@dataclass(frozen=True, slots=True)
class StationProblem:
    """A station that today's kit or limits stand against.

    `too_heavy` is the lightest owned load where even that is too much there.
    """

    station: int
    missing: tuple[str, ...]
    collisions: tuple[Collision, ...]
    too_heavy: Load | None = None


@dataclass(frozen=True, slots=True)
class DrillProblem:
    """A drill after a station that limits stand against."""

    station: int
    drill: Drill
    limits: tuple[Limit, ...]


@dataclass(frozen=True, slots=True)
class Exchange:
    """What to do at a station instead, with the reasons in order of their weight."""

    station: int
    exercise: str
    name: str
    kit: tuple[str, ...]
    reasons: tuple[str, ...]


# --- What cannot be done --------------------------------------------------------


def problems_found(circuit: Circuit, means: Means) -> tuple[StationProblem, ...]:
    """List the stations that kit or limits stand against, in floor order."""
    met: dict[int, list[Collision]] = {}
    for one in collisions(circuit.stations, means.exercises, means.in_force, means.on):
        met.setdefault(one.station, []).append(one)
    found = []
    for number, station in enumerate(circuit.stations, 1):
        missing = means.missing(station.kit)
        heavy = None if missing else too_heavy(station, means)
        if missing or number in met or heavy:
            collided = tuple(met.get(number, ()))
            found.append(StationProblem(number, missing, collided, heavy))
    return tuple(found)


def drills_found(circuit: Circuit, means: Means) -> tuple[DrillProblem, ...]:
    """List the drills that limits stand against, in floor order."""
    found = []
    for number, station in enumerate(circuit.stations, 1):
        if station.drill is None:
            continue
        if against := _against(station.drill, means):
            found.append(DrillProblem(number, station.drill, against))
    return tuple(found)


def exchanges(circuit: Circuit, number: int, means: Means) -> tuple[Exchange, ...]:
    """Rank what could be done at a station instead, best first, at most four.

    The same exercise with other kit or at body weight comes first, where no limit is
    about it; then the easier form, where a limit is; then `limits.swaps`. What stands
    in the circuit already, what waits for practice, what its work interval is too
    short for, what no owned load is light enough for, and a step up where a limit
    stands are left out. What is harder by more than a point comes last, and so do
    weights under 3 kg in the place of what is done with the body's own weight; a push
    never stands in for a pull.
    """
    station = circuit.stations[number - 1]
    reached = dict(_reached(station, means))
    if station.exercise not in reached and station.exercise in means.exercises:
        reached[station.exercise] = means.exercises[station.exercise]
    others = {s.exercise for s in circuit.stations} - {station.exercise}
    open_to = {
        key: one
        for key, one in reached.items()
        if key not in others
        and key not in means.waiting
        and not _is_opposed(means.exercises.get(station.exercise), one)
        and not means.goes_up(station.exercise, key, one.kit)
    }
    found = [*_same_otherwise(station, number, means)]
    for swap in swaps(station, open_to, None, means.in_force):
        kit = open_to[swap.exercise].kit
        found.append(Exchange(number, swap.exercise, swap.name, kit, swap.reasons))
    sore = means.barred(station.exercise, station.kit)
    easier = means.neighbours.easier.get(station.exercise, {}) if sore else {}
    found.sort(
        key=lambda one: (
            one.exercise not in {station.exercise, *easier},
            means.is_far_harder(station.exercise, one.exercise),
            _is_slight(station, one, means),
        )
    )
    fitting = (
        _with_load_named(circuit, one, means)
        for one in found
        if _can_be_done(circuit, one, means)
    )
    return tuple(one for one, _ in zip(fitting, range(BEST), strict=False))


def _with_load_named(circuit: Circuit, one: Exchange, means: Means) -> Exchange:
    """Give another load as a reason as well, so that nobody meets it unawares."""
    at = one.station - 1
    before = circuit.stations[at].load
    after = exchanged(circuit, [one], means).stations[at].load
    if before is None or after is None or str(before) == str(after):
        return one
    return replace(one, reasons=(*one.reasons, f"{after} for {before}"))


def _reached(station: Station, means: Means) -> Iterator[tuple[str, Exercise]]:
    """The other exercises, each with the alternative of its kit that is owned."""
    for exercise, own in means.exercises.items():
        kit = means.met(exercise)
        if exercise != station.exercise and kit is not None:
            yield exercise, replace(own, kit=kit)


def _same_otherwise(station: Station, number: int, means: Means) -> Iterator[Exchange]:
    """The exercise itself with kit that is owned, or with nothing that is too heavy."""
    kit = means.met(station.exercise)
    if kit is None or means.barred(station.exercise, kit):
        return
    if means.missing(station.kit):
        text = f"the same with {' and '.join(kit)}" if kit else "the same without kit"
        yield Exchange(number, station.exercise, station.name, kit, (text,))
    elif station.load is not None and (
        too_heavy(station, means) or means.barred(station.exercise, WEIGHED)
    ):
        bare = tuple(thing for thing in kit if thing not in WEIGHED)
        ways = means.needs.get(station.exercise, (kit,))
        if bare in {tuple(way) for way in ways}:
            text = "the same at body weight"
            yield Exchange(number, station.exercise, station.name, bare, (text,))


def _is_opposed(own: Exercise | None, other: Exercise) -> bool:
    """A push and a pull: of one region, and the balance of a circuit hangs on both."""
    if own is None:
        return False
    ends = {own.pattern.split("-")[-1], other.pattern.split("-")[-1]}
    return ends == {"push", "pull"}


def _is_slight(station: Station, exchange: Exchange, means: Means) -> bool:
    if station.load is not None:
        return False
    load = load_along(station, exchange.exercise, exchange.kit, means)
    return load is not None and load.each_kg is not None and load.each_kg < _SLIGHT_KG


def _can_be_done(circuit: Circuit, exchange: Exchange, means: Means) -> bool:
    made, at = exchanged(circuit, [exchange], means), exchange.station - 1
    after = made.stations[at]
    if lacks_load(circuit.stations[at], after, means) or too_heavy(after, means):
        return False
    try:
        compile_plan(made)
    except PlanError:
        return False
    return True


# --- Exchanging -----------------------------------------------------------------


def exchanged(circuit: Circuit, chosen: Iterable[Exchange], means: Means) -> Circuit:
    """Put what was chosen in the place of stations; times, drill and hold stay."""
    stations = list(circuit.stations)
    changes = dict(circuit.loop_changes)
    for one in chosen:
        before = stations[one.station - 1]
        after = _stand_in(before, one, means)
        stations[one.station - 1] = after
        if after.load is None or after.exercise != before.exercise:
            changes = {
                n: _with_load(change, one.station, after.load)
                for n, change in changes.items()
            }
    return replace(circuit, stations=tuple(stations), loop_changes=changes)


def _stand_in(before: Station, exchange: Exchange, means: Means) -> Station:
    load = load_along(before, exchange.exercise, exchange.kit, means)
    if exchange.exercise == before.exercise:
        return replace(before, kit=exchange.kit, load=load)
    facts = means.exercises[exchange.exercise]
    has_parts = len(facts.parts) > 1
    return replace(
        before,
        exercise=exchange.exercise,
        name=facts.name,
        call_name=facts.call_name,
        load=load,
        parts=facts.parts,
        changeover_ms=before.changeover_ms if has_parts else None,
        tempo=parse_tempo(facts.tempo) if facts.tempo else None,
        kit=exchange.kit,
        cautions=facts.cautions,
        note="",
    )


def _with_load(change: LoopChange, number: int, load: Load | None) -> LoopChange:
    """A loop's own load was for another exercise, or for a weight that is not held."""
    own = change.stations.get(number)
    has_own = own is not None and own.load is not None
    if not has_own and (change.load is None or load is None):
        return change
    station = replace(own or StationInLoop(), load=load)
    return replace(change, stations={**change.stations, number: station})


# --- Drills ---------------------------------------------------------------------


def _against(drill: Drill, means: Means) -> tuple[Limit, ...]:
    """The limits that stand against a drill of a circuit, at the level it says."""
    return means.against_drill(drill.id, means.level_of(drill.id, drill.name))


def drill_instead(
    circuit: Circuit,
    number: int,
    means: Means,
    beyond: frozenset[str] = frozenset(),
) -> Drill | None:
    """Find a drill for a station whose own lacks kit, or has a limit against it.

    One that is `beyond` somebody gives way as well, and stands in for none.

    The same kind comes first, then coordination, then a walk, which asks nothing;
    among those one that the circuit does not have yet. It begins at its first level.
    None where nothing has to change, or nothing suits.
    """
    skills = means.skills
    own = circuit.stations[number - 1].drill
    known = skills.get(own.id) if own is not None else None
    if own is None or known is None:
        return None
    is_there = own.id not in beyond and not means.missing(known.kit)
    if is_there and not _against(own, means):
        return None
    held = {s.drill.id for s in circuit.stations if s.drill is not None}
    fitting = [
        key
        for key, skill in skills.items()
        if key != own.id
        and key not in means.waiting | beyond
        and not means.missing(skill.kit)
        and not means.against_drill(key, _FIRST)
    ]
    wanted = (known.kind, "coordination", "down-shift")
    ranked = sorted(
        (wanted.index(skills[key].kind), key in held, place, key)
        for place, key in enumerate(fitting)
        if skills[key].kind in wanted
    )
    if not ranked:
        return None
    key = ranked[0][-1]
    return Drill(key, skills[key].at_level(_FIRST))
