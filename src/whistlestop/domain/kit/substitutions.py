"""A circuit beside what is owned and left out: what cannot be done, what to do instead.

Exchanges of stations and drills, each with its reason; nothing is changed here unasked.
What exercises there are comes in from outside.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Final, Protocol

from whistlestop.domain.circuit.circuit import Circuit, Drill, LoopChange, Station
from whistlestop.domain.demands import Asks, added_by
from whistlestop.domain.kit.kit import Kit, Rung, ladder
from whistlestop.domain.limits import (
    Candidate,
    Collision,
    Limit,
    Skill,
    collisions,
    swaps,
)
from whistlestop.domain.load import Load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.tempo import parse_tempo
from whistlestop.errors import PlanError

BEST: Final = 4
# Kit that has a mass of its own, and so a load.
WEIGHED: Final = frozenset(
    {"weight", "two weights", "kettlebell", "bar", "medicine ball", "dead ball",
     "backpack", "plates"}
)  # fmt: skip
_BANDS: Final = frozenset({"band", "loop band"})
# Less than this is no match for pressing or pulling one's own weight. Common
# practice, no source.
_SLIGHT_KG: Final = Decimal(3)


class ExerciseFacts(Candidate, Protocol):
    """What a station takes over from its exercise."""

    @property
    def call_name(self) -> str:
        """What block letters show."""
        ...

    @property
    def parts(self) -> tuple[str, ...]:
        """Parts of the work interval; none for one whole."""
        ...

    @property
    def tempo(self) -> str | None:
        """The usual tempo, as typed."""
        ...


class DrillFacts(Skill, Protocol):
    """What matters of a drill on a sheet."""

    @property
    def name(self) -> str:
        """Its name, for people."""
        ...

    @property
    def kit(self) -> tuple[str, ...]:
        """What it cannot be done without."""
        ...


@dataclass(frozen=True, slots=True)
class Means:
    """What there is to train with, and what is left out.

    `kit` None: nobody has listed it, so nothing is missing. `needs` gives the
    alternatives of kit by exercise id; `places` are words that are no things;
    `skills` are the drills there are.
    """

    exercises: Mapping[str, ExerciseFacts] = field(default_factory=dict)
    kit: Kit | None = None
    limits: tuple[Limit, ...] = ()
    on: date = date.max
    needs: Mapping[str, Sequence[tuple[str, ...]]] = field(default_factory=dict)
    places: frozenset[str] = frozenset()
    skills: Mapping[str, DrillFacts] = field(default_factory=dict)

    @property
    def in_force(self) -> tuple[Limit, ...]:
        """The limits that hold on the day."""
        return tuple(limit for limit in self.limits if limit.holds(self.on))

    def missing(self, things: Iterable[str]) -> tuple[str, ...]:
        """List what is not owned of the kit of a station; places are no kit."""
        asked = [thing for thing in things if thing not in self.places]
        return self.kit.missing(asked) if self.kit is not None else ()

    def barred(self, exercise: str, kit: Iterable[str] = ()) -> bool:
        """Whether a limit stands against an exercise, done with some kit."""
        facts, extra = self.exercises.get(exercise), added_by(kit)
        return any(one.meets(exercise, facts, extra=extra) for one in self.in_force)

    def met(self, exercise: str) -> tuple[str, ...] | None:
        """The first alternative of kit that is owned; None where none is."""
        own = self.exercises.get(exercise)
        ways = self.needs.get(exercise) or ((own.kit,) if own else ())
        return next((tuple(way) for way in ways if not self.missing(way)), None)


@dataclass(frozen=True, slots=True)
class StationProblem:
    """A station that today's kit or limits stand against."""

    station: int
    missing: tuple[str, ...]
    collisions: tuple[Collision, ...]


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
        if missing or number in met:
            found.append(StationProblem(number, missing, tuple(met.get(number, ()))))
    return tuple(found)


def exchanges(circuit: Circuit, number: int, means: Means) -> tuple[Exchange, ...]:
    """Rank what could be done at a station instead, best first, at most four.

    The same exercise with other kit comes first, where no limit is about it; then
    `limits.swaps`. What stands in the circuit already and what its work interval is
    too short for is left out. Weights under 3 kg come last in the place of what is
    done with the body's own weight; a push never stands in for a pull.
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
        and not _is_opposed(means.exercises.get(station.exercise), one)
    }
    found = [*_other_kit(station, number, means)]
    for swap in swaps(station, open_to, None, means.in_force):
        kit = open_to[swap.exercise].kit
        found.append(Exchange(number, swap.exercise, swap.name, kit, swap.reasons))
    found.sort(key=lambda one: _is_slight(circuit, station, one, means))
    fitting = (one for one in found if _can_be_done(circuit, one, means))
    return tuple(one for one, _ in zip(fitting, range(BEST), strict=False))


@dataclass(frozen=True, slots=True)
class _OwnedAlternative:
    """An exercise with the alternative of its kit that is owned."""

    name: str
    region: str
    pattern: str
    position: str
    sides: str
    kit: tuple[str, ...]
    cautions: tuple[str, ...]
    features: tuple[str, ...]
    exceptions: tuple[tuple[str, Asks], ...]


def _reached(station: Station, means: Means) -> Iterator[tuple[str, Candidate]]:
    for exercise, own in means.exercises.items():
        kit = means.met(exercise)
        if exercise == station.exercise or kit is None:
            continue
        yield (
            exercise,
            _OwnedAlternative(
                own.name, own.region, own.pattern, own.position, own.sides, kit,
                own.cautions, own.features, own.exceptions,
            ),
        )  # fmt: skip


def _other_kit(station: Station, number: int, means: Means) -> Iterator[Exchange]:
    """The exercise itself with kit that is owned, where only kit is missing."""
    kit = means.met(station.exercise)
    barred = means.barred(station.exercise, kit or ())
    if not means.missing(station.kit) or kit is None or barred:
        return
    text = f"the same with {' and '.join(kit)}" if kit else "the same without kit"
    yield Exchange(number, station.exercise, station.name, kit, (text,))


def _is_opposed(own: Candidate | None, other: Candidate) -> bool:
    """A push and a pull: of one region, and the balance of a circuit hangs on both."""
    if own is None:
        return False
    ends = {own.pattern.split("-")[-1], other.pattern.split("-")[-1]}
    return ends == {"push", "pull"}


def _is_slight(
    circuit: Circuit, station: Station, exchange: Exchange, means: Means
) -> bool:
    if station.load is not None:
        return False
    load = _load_for(circuit, station, exchange.kit, means.kit)
    return load is not None and load.each_kg is not None and load.each_kg < _SLIGHT_KG


def _can_be_done(circuit: Circuit, exchange: Exchange, means: Means) -> bool:
    try:
        compile_plan(exchanged(circuit, [exchange], means))
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
        stations[one.station - 1] = _stand_in(circuit, before, one, means)
        if stations[one.station - 1].load is None:
            changes = {n: _without_load(c, one.station) for n, c in changes.items()}
    return replace(circuit, stations=tuple(stations), loop_changes=changes)


def _stand_in(
    circuit: Circuit, before: Station, exchange: Exchange, means: Means
) -> Station:
    load = _load_for(circuit, before, exchange.kit, means.kit)
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


def _load_for(
    circuit: Circuit, before: Station, things: tuple[str, ...], kit: Kit | None
) -> Load | None:
    """The load as before where the new kit can carry it, else one that is owned."""
    count = 2 if "two weights" in things else 1
    is_band = bool(_BANDS & set(things))
    wanted = before.load
    if not is_band and not WEIGHED & set(things):
        return None
    if wanted is not None and bool(wanted.band) == is_band:
        if is_band or wanted.count == count:
            return wanted
        each = replace(wanted, count=count)
        return replace(each, typed=str(each))
    if kit is None:
        return None
    if is_band:
        owned = kit.loop_bands if "loop band" in things else kit.bands
        return Load(f"band: {owned[0]}", band=owned[0]) if owned else None
    rungs = ladder(kit, count, things)
    return _usual(circuit, rungs).load if rungs else None


def _usual(circuit: Circuit, rungs: Sequence[Rung]) -> Rung:
    """The rung nearest to the middle load of the circuit; else the middle rung."""
    masses = sorted(
        station.load.each_kg
        for station in circuit.stations
        if station.load is not None and station.load.each_kg is not None
    )
    if not masses:
        return rungs[len(rungs) // 2]
    middle: Decimal = masses[len(masses) // 2]
    return min(rungs, key=lambda rung: (abs(rung.each_kg - middle), rung.each_kg))


def _without_load(change: LoopChange, number: int) -> LoopChange:
    own = change.stations.get(number)
    if own is None or own.load is None:
        return change
    stations = {**change.stations, number: replace(own, load=None)}
    return replace(change, stations=stations)


# --- Drills ---------------------------------------------------------------------


def drill_instead(circuit: Circuit, number: int, means: Means) -> Drill | None:
    """Find a drill for a station whose own needs kit that is not owned.

    The same kind comes first, then coordination, which needs nothing; among those
    one that the circuit does not have yet. None where nothing has to change.
    """
    skills = means.skills
    own = circuit.stations[number - 1].drill
    known = skills.get(own.id) if own is not None else None
    if own is None or known is None or not means.missing(known.kit):
        return None
    held = {s.drill.id for s in circuit.stations if s.drill is not None}
    fitting = [key for key, skill in skills.items() if not means.missing(skill.kit)]
    wanted = (known.kind, "coordination")
    ranked = sorted(
        (wanted.index(skills[key].kind), key in held, place, key)
        for place, key in enumerate(fitting)
        if skills[key].kind in wanted
    )
    return Drill(ranked[0][-1], skills[ranked[0][-1]].name) if ranked else None
