"""Variety: what is due for a rotation, what was never used, something new for today.

Owns how long a station or drill was in use. Refuses to change a yardstick: one
station or drill stays, to compare by.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from hashlib import sha256
from typing import Final, Literal

from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory, CircuitRun
from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.demands import WEIGHT_ADDS, added_by
from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.limits import SwapChoice, in_force, swaps
from whistlestop.domain.load import Load
from whistlestop.library.cards import cards
from whistlestop.library.families import family_of_pattern
from whistlestop.library.levels import station_levels

# Drills and stations change every 3 to 4 weeks, one is kept: what balance training
# gains is narrow, so a change is worth it. Common practice.
DUE_DAYS: Final = 21
OVERDUE_DAYS: Final = 28
_MOST_SWAPS: Final = 3

What = Literal["station", "drill"]


@dataclass(frozen=True, slots=True)
class InUse:
    """A station or drill of the circuit, and for how many days without a change."""

    what: What
    station: int
    id: str
    name: str
    days: int

    @property
    def is_due(self) -> bool:
        """Whether it has been there for 3 weeks or longer."""
        return self.days >= DUE_DAYS


@dataclass(frozen=True, slots=True)
class Rotation:
    """What could change, what it could change to, and the yardstick that stays.

    `instead` are exercise or drill ids with the reason, the most alike first.
    """

    yardstick: InUse | None
    change: InUse | None
    instead: tuple[tuple[str, str], ...] = ()
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class FreshIdea:
    """Something never used, for today. `what` says what it is."""

    what: What
    id: str
    name: str
    sentence: str


def in_use(history: CircuitHistory, circuit: Circuit, today: date) -> tuple[InUse, ...]:
    """How long each station and drill of a circuit has been done without a change.

    Counted from the first of the latest runs in a row that had it in that place.
    """
    found = []
    for place, station in enumerate(circuit.stations, 1):
        since = _since(history.runs, place, station.exercise, "station")
        days = (today - since).days if since else 0
        found.append(InUse("station", place, station.exercise, station.name, days))
        if station.drill is not None:
            since = _since(history.runs, place, station.drill.id, "drill")
            days = (today - since).days if since else 0
            drill = station.drill
            found.append(InUse("drill", place, drill.id, drill.name, days))
    return tuple(found)


def _since(runs: Sequence[CircuitRun], place: int, key: str, what: What) -> date | None:
    since: date | None = None
    for run in reversed(runs):
        ids = {
            s.drill if what == "drill" else s.exercise
            for s in run.plan.segments
            if s.station == place
        }
        if key not in ids:
            break
        since = run.day
    return since


def rotation(
    history: CircuitHistory,
    context: CoachContext,
    drill_library: Mapping[str, DrillInfo],
    *,
    yardstick: str = "",
) -> Rotation:
    """Say what is due to change after 3 to 4 weeks, and what stays as a yardstick.

    The yardstick is the one named, else the station in use the longest, the first of
    several. Of what is due the longest in use changes, drills before stations: they
    are the smaller change. One thing at a time.

    Args:
        history: The circuit's.
        context: The circuit as it is, kit, limits and today.
        drill_library: Drills by id.
        yardstick: An exercise or drill id to keep; by default chosen.
    """
    used = in_use(history, context.circuit, context.today)
    kept = [x for x in used if x.id == yardstick] or [
        x for x in used if x.what == "station"
    ]
    keep = max(kept, key=lambda x: (x.days, -x.station), default=None)
    due = [x for x in used if x.is_due and (keep is None or x.id != keep.id)]
    due.sort(key=lambda x: (x.what != "drill", -x.days, x.station))
    for entry in due:
        instead = _instead(entry, context, drill_library)
        if instead:
            when = "four weeks" if entry.days >= OVERDUE_DAYS else "three weeks"
            text = f"{entry.name} has been in for {entry.days} days, {when} or more"
            text += f"; {keep.name} stays as your yardstick." if keep else "."
            return Rotation(keep, entry, instead, text)
    return Rotation(keep, None, (), "Nothing is due to change.")


def _instead(
    entry: InUse, context: CoachContext, drill_library: Mapping[str, DrillInfo]
) -> tuple[tuple[str, str], ...]:
    circuit = context.circuit
    here = {s.exercise for s in circuit.stations}
    waiting = context.waiting()
    if entry.what == "station":
        station = circuit.stations[entry.station - 1]
        candidates: Mapping[str, Exercise] = context.library
        ranked: Sequence[SwapChoice] = swaps(
            station,
            candidates,
            context.kit,
            in_force(context.limits, context.today),
        )
        others = [
            swap
            for swap in ranked
            if swap.exercise not in here
            and swap.exercise not in waiting
            and _is_alike(swap.exercise, entry.id, context)
            and not _is_step(swap.exercise, entry.id)
            and (station.load or not _needs_load(swap.exercise))
            and _lets_in_station(context, candidates[swap.exercise], station.load)
        ]
        return tuple((x.exercise, ", ".join(x.reasons)) for x in others[:_MOST_SWAPS])
    own = drill_library.get(entry.id)
    used = {s.drill.id for s in circuit.stations if s.drill}
    alike = [
        drill
        for drill in drill_library.values()
        if own is not None
        and drill.kind == own.kind
        and drill.id not in used
        and drill.id not in waiting
        and set(drill.loads) <= set(own.loads)
        and (drill.impact <= own.impact)
        and _lets_in_drill(context, drill)
    ]
    return tuple((d.id, f"same kind, {d.kind}") for d in alike[:_MOST_SWAPS])


def _is_alike(exercise: str, other: str, context: CoachContext) -> bool:
    """Whether it is of the same family of movements: a push stays a push."""
    known, family = context.library, family_of_pattern()
    if other not in known:
        return False
    one, two = known[exercise].pattern, known[other].pattern
    return family.get(one, one) == family.get(two, two)


def _needs_load(exercise: str) -> bool:
    card = cards().get(exercise)
    return card is not None and card.load_kind == "required"


def _is_step(exercise: str, than: str) -> bool:
    """Whether it asks more practice, or is the harder form: no rotation, but a step."""
    known, card = station_levels(), cards().get(than)
    one, other = known.get(exercise), known.get(than)
    is_form = card is not None and exercise in {each.to for each in card.harder}
    return is_form or (one is not None and other is not None and one.base > other.base)


def _lets_in_drill(context: CoachContext, drill: DrillInfo) -> bool:
    """Whether kit and limits let a drill in, at whatever level it comes to be done."""
    barred = in_force(context.limits, context.today)
    return _has(context, drill.kit) and not any(
        limit.meets_drill(drill.id, drill) for limit in barred
    )


def _lets_in_station(
    context: CoachContext, own: Exercise, load: Load | None = None
) -> bool:
    """Whether kit and limits let a station in, with the load that would go along."""
    barred, extra = in_force(context.limits, context.today), added_by(own.kit)
    card = cards().get(own.id)
    if load is not None and load.each_kg and (card is None or card.load_kind != "none"):
        extra = WEIGHT_ADDS
    return _has(context, own.kit) and not any(
        limit.meets(own.id, own, extra=extra) for limit in barred
    )


def _has(context: CoachContext, things: Sequence[str]) -> bool:
    return context.kit is None or not context.kit.missing(things)


def something_new(
    unused: tuple[Sequence[str], Sequence[str]],
    context: CoachContext,
    drill_library: Mapping[str, DrillInfo],
    *,
    salt: str = "",
) -> FreshIdea | None:
    """Pick something never used for today; the same all day, on every machine.

    Only what kit and limits allow. `salt` tells athletes apart. None where
    everything was used.
    """
    found: list[tuple[What, str, str]] = [
        ("station", key, context.library[key].name)
        for key in unused[0]
        if key in context.library and _lets_in_station(context, context.library[key])
    ]
    found += [
        ("drill", key, drill_library[key].name)
        for key in unused[1]
        if key in drill_library and _lets_in_drill(context, drill_library[key])
    ]
    if not found:
        return None
    seed = f"{context.today.isoformat()} {salt}".encode()
    place = int.from_bytes(sha256(seed).digest()[:8], "big") % len(found)
    what, key, name = found[place]
    text = f"New for today: {name}, one of {len(found)} you have not used yet."
    return FreshIdea(what, key, name, text)
