"""Which kit two athletes would want at one moment, over a whole timeline.

Work, changeovers and holds ask for a station's kit, recoveries for a drill's.
Places and mats are no kit. Knows the library only as the kit words of drills that
it is handed; refuses to know files, names and how anything is shown.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Final, Literal

from whistlestop.domain.circuit.circuit import Circuit, Today
from whistlestop.domain.kit.copies import EXEMPT, KitCopies, KitNeed
from whistlestop.domain.kit.floor_list import needs_with, thing_and_count
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.plan.pairing import (
    OwnLoads,
    differs_from,
    offsets,
    paired_plans,
)
from whistlestop.domain.plan.plan import AT_STATION, Plan, Segment, SegmentKind
from whistlestop.errors import MisfitError

_AT_STATION: Final = AT_STATION | {SegmentKind.HOLD}


@dataclass(frozen=True, slots=True)
class SharedKit:
    """What there is to train with, and what drills need, by id.

    `places` are kit words that are no things.
    """

    kit: Kit | None = None
    drill_kit: Mapping[str, Sequence[str]] = field(default_factory=dict)
    places: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class KitClash:
    """One thing wanted by two at once: in which loops, at which stations."""

    during: Literal["work", "recover"]
    loops: tuple[int, ...]
    stations: tuple[int, int]
    thing: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Pairing:
    """A circuit at one offset: the plans, and what stands against it.

    `misfit` says why one clock cannot time it; there are no plans then. `fetch` is
    what to lay out for both.
    """

    offset: int
    plans: tuple[Plan, ...] = ()
    clashes: tuple[KitClash, ...] = ()
    misfit: str = ""
    differs: str = ""
    fetch: tuple[KitNeed, ...] = ()

    @property
    def is_free(self) -> bool:
        """Whether nothing stands against it."""
        return bool(self.plans) and not self.clashes


def pair_up(
    circuit: Circuit,
    offset: int,
    loads: Sequence[OwnLoads],
    shared: SharedKit,
    today: Today | None = None,
) -> Pairing:
    """Lay a circuit out for several athletes at one offset, and judge it.

    Raises:
        PlanError: The circuit cannot be laid out for anybody.
    """
    try:
        plans = paired_plans(circuit, offset, loads, today)
    except MisfitError as misfit:
        return Pairing(offset, misfit=str(misfit))
    clashes = kit_clashes(plans, shared)
    differs = differs_from(circuit, plans[0], today)
    fetch = lay_out(plans, shared)
    return Pairing(offset, plans, clashes, differs=differs, fetch=fetch)


def pairings(
    circuit: Circuit,
    loads: Sequence[OwnLoads],
    shared: SharedKit,
    today: Today | None = None,
) -> tuple[Pairing, ...]:
    """Judge every offset there is, the preferred first."""
    ways = offsets(circuit, today=today, athletes=len(loads))
    return tuple(pair_up(circuit, way, loads, shared, today) for way in ways)


def best_pairing(found: Sequence[Pairing]) -> Pairing | None:
    """The first offset that nothing stands against; None where there is none."""
    return next((one for one in found if one.is_free), None)


def kit_clashes(plans: Sequence[Plan], shared: SharedKit) -> tuple[KitClash, ...]:
    """List all kit that is wanted twice at one moment, in order of time.

    Every segment is looked at, for every two athletes: they share one clock, so
    the moments of one are those of the other.
    """
    copies = KitCopies(shared.kit)
    judged: dict[tuple[tuple[KitNeed, ...], tuple[KitNeed, ...]], KitNeed | None] = {}
    found: dict[tuple[str, tuple[int, int], str], KitClash] = {}
    for moment in zip(*(plan.segments for plan in plans), strict=True):
        for one, other in combinations(range(len(plans)), 2):
            mine = tuple(_needs(plans[one], moment[one], shared))
            yours = tuple(_needs(plans[other], moment[other], shared))
            if not mine or not yours:
                continue
            if (mine, yours) not in judged:
                judged[mine, yours] = copies.clash(mine, yours)
            thing = judged[mine, yours]
            if thing is not None:
                clash = _clash(moment[one], moment[other], thing, shared)
                key = (clash.during, clash.stations, clash.thing)
                held = found.get(key, clash)
                loops = tuple(sorted({*held.loops, *clash.loops}))
                found[key] = replace(held, loops=loops)
    return tuple(_with_place(clash) for clash in found.values())


def lay_out(plans: Sequence[Plan], shared: SharedKit) -> tuple[KitNeed, ...]:
    """List everything to fetch for all, as often as it is in use at one moment.

    What two cannot both have of a kit that is listed is fetched as often as one of
    them asks for it; without a list, what both need is what has to be found.
    """
    copies = None if shared.kit is None else KitCopies(shared.kit)
    most: dict[tuple[str, str], int] = {}
    judged: dict[tuple[tuple[KitNeed, ...], ...], Counter[tuple[str, str]]] = {}
    for moment in zip(*(plan.segments for plan in plans), strict=True):
        needs = tuple(
            tuple(_all_needs(plan, segment, shared))
            for plan, segment in zip(plans, moment, strict=True)
        )
        if needs not in judged:
            judged[needs] = _at_once(needs, copies)
        now = judged[needs]
        most |= {key: max(count, most.get(key, 0)) for key, count in now.items()}
    return tuple(KitNeed(name, load, count) for (name, load), count in most.items())


def _at_once(
    needs: Sequence[Sequence[KitNeed]], copies: KitCopies | None
) -> Counter[tuple[str, str]]:
    """How often each thing is in use at one moment, by name and load."""
    now: Counter[tuple[str, str]] = Counter()
    for number, own in enumerate(needs):
        before = [need for other in needs[:number] for need in other]
        for need in own:
            key = need.name, need.load
            if copies and need.name not in EXEMPT and copies.clash([need], before):
                now[key] = max(now[key], need.count)
            else:
                now[key] += need.count
    return now


def _needs(plan: Plan, segment: Segment, shared: SharedKit) -> Iterator[KitNeed]:
    """What of it can be short."""
    needs = _all_needs(plan, segment, shared)
    return (need for need in needs if need.name not in EXEMPT)


def _all_needs(plan: Plan, segment: Segment, shared: SharedKit) -> Iterator[KitNeed]:
    """What one athlete holds, stands on or hangs from in a segment."""
    if segment.kind is SegmentKind.RECOVER and segment.drill:
        words = shared.drill_kit.get(segment.drill, ())
        needs = [(name, "", count) for name, count in map(thing_and_count, words)]
    elif segment.kind in _AT_STATION and segment.station is not None:
        card = plan.card(segment.station)
        needs = list(needs_with(card, [segment.load] if segment.load else []))
        if "bar" in card.kit:
            # Its plates are on it.
            needs = [need for need in needs if need[0] != "plates"]
    else:
        return
    for name, load, count in needs:
        if name not in shared.places:
            yield KitNeed(name, load, count)


def _clash(one: Segment, other: Segment, thing: KitNeed, shared: SharedKit) -> KitClash:
    resting = one.kind is SegmentKind.RECOVER
    names = [
        (s.drill_name if resting else s.exercise_name) or f"station {s.station}"
        for s in (one, other)
    ]
    much = "assuming one of each" if shared.kit is None else "your kit has too few"
    text = f"{names[0]} and {names[1]} both need {thing.words}; {much}"
    return KitClash(
        during="recover" if resting else "work",
        loops=(one.loop or 0,),
        stations=(one.station or 0, other.station or 0),
        thing=thing.words,
        sentence=text,
    )


def _with_place(clash: KitClash) -> KitClash:
    """The sentence with the loops and stations in front."""
    word = "loop" if len(clash.loops) == 1 else "loops"
    loops = ", ".join(map(str, clash.loops))
    first, second = clash.stations
    where = f"{word} {loops}, stations {first} and {second}: "
    return replace(clash, sentence=where + clash.sentence)
