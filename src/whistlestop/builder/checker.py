"""Judges a finished circuit against its request, apart from how it was found.

Reads the circuit, the library and the notes of `domain.advice`; refuses to know the
search, its tables and its statement of the rules.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from whistlestop.builder.loads import is_too_heavy
from whistlestop.builder.request import Request
from whistlestop.domain.circuit.advice import advise
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.demands import HAND_WEIGHTS, WEIGHT_ADDS, asks
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.plan.sharing import SharedKit, pair_up
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.library import drills, exercises
from whistlestop.library.cards import card
from whistlestop.library.kit_words import PLACES
from whistlestop.library.levels import drill_levels, station_levels

# The rule of the builder that answers for a note of `advise`.
_ASKED: Final = {
    "same-region": "alternate",
    "same-pattern": "pattern",
    "grip": "grip",
    "wrists": "wrists",
    "fast-early": "fast",
    "fast-after-trunk": "fast",
}
# What may be asked of a site that goes easy, or is left out.
_MAY: Final = {"easy": 1, "out": 0}


def check(circuit: Circuit, request: Request) -> tuple[str, ...]:
    """List in sentences what a circuit breaks of its request; none is right."""
    facts = [exercises()[station.exercise] for station in circuit.stations]
    return (
        *_shape(circuit, request),
        *_choice(circuit, facts, request),
        *_order(circuit, request),
        *_sums(facts, request),
        *_shared(circuit, request),
        *_drills(circuit, facts),
        *_practice(circuit, request),
    )


def _shape(circuit: Circuit, request: Request) -> Iterator[str]:
    ids = [station.exercise for station in circuit.stations]
    if len(ids) != request.stations or circuit.loops != request.loops:
        yield f"{len(ids)} stations for {circuit.loops} loops are not what was asked"
    if len(set(ids)) < len(ids):
        yield "a station is in it twice"
    total_ms = compile_plan(circuit).total_ms
    if total_ms != request.minutes * 60_000:
        yield f"it takes {total_ms} ms instead of {request.minutes} min"
    for wanted, there in (
        (request.work_ms, circuit.work_ms),
        (request.recover_ms, circuit.recover_ms),
    ):
        if wanted not in {None, there}:
            yield f"{there} ms is not the length that was asked for"
    for kept in request.keep:
        if kept not in ids:
            yield f"{kept} is locked but not in it"


def _choice(circuit: Circuit, facts: list[Exercise], request: Request) -> Iterator[str]:
    for station, known in zip(circuit.stations, facts, strict=True):
        yield from _faults(known, station.kit, request)
        if station.kit not in card(known.id).needs:
            yield f"{known.id} is not done with that kit"


def _faults(known: Exercise, kit: tuple[str, ...], request: Request) -> Iterator[str]:
    """What stands against one station done with some kit, whatever is beside it."""
    rooms = {"spot": 0, "mat": 1, "lane": 2}
    noises = {"quiet": 0, "some": 1, "loud": 2}
    heights = {"low": 0, "reach": 1, "jump": 2}
    text = card(known.id)
    if known.id in request.avoid:
        yield f"{known.id} was to be avoided"
    yield from _limited(known, kit, request)
    if known.id not in request.keep and known.id not in request.favourites:
        base = station_levels()[known.id].base
        if base > {"new": 4, "regular": 7, "strong": 9}[request.level]:
            yield f"{known.id} is too hard for this level"
        if known.id in request.waiting:
            yield f"{known.id} waits for what comes before it"
    if rooms[text.space] > rooms[request.space]:
        yield f"{known.id} needs more room"
    if noises[text.noise] > noises[request.noise]:
        yield f"{known.id} is too loud"
    if heights[text.ceiling] > heights[request.ceiling]:
        yield f"{known.id} needs a higher ceiling"
    things = [thing for thing in kit if thing not in PLACES]
    if request.kit is not None and request.kit.missing(things):
        yield f"{known.id} needs kit that is not owned"
    if "partner" in kit:
        yield f"{known.id} needs somebody to help"


def _limited(known: Exercise, kit: tuple[str, ...], request: Request) -> Iterator[str]:
    """Which limits stand against it: sites by what it asks of them, others by name."""
    held = WEIGHT_ADDS if HAND_WEIGHTS & {*kit} else ()
    for limit in request.limits:
        if limit.kind != "site":
            if limit.meets(known.id, known):
                yield f"{known.id} is left out by a limit"
        elif (asked := asks(known, limit.value, extra=held)) > _MAY[limit.strength]:
            yield f"{known.id} asks {asked} of the {limit.value}"


def _open(request: Request) -> list[Exercise]:
    """Every station that could stand in a circuit for a request."""
    asked_for = {*request.keep, *request.favourites}
    found = []
    for known in exercises().values():
        ways = [
            way for way in card(known.id).needs if not [*_faults(known, way, request)]
        ]
        # It is done in the first way that is open; one that is owned only too heavy
        # leaves it out.
        if ways and (
            known.id in asked_for or not is_too_heavy(known, ways[0], request)
        ):
            found.append(known)
    return found


def _full_regions(request: Request) -> set[str]:
    """The regions that a limit on a site leaves enough of to be asked for."""
    full = {"legs", "core", "arms"}
    sites = [limit for limit in request.limits if limit.kind == "site"]
    if not sites:
        return full
    others = tuple(limit for limit in request.limits if limit.kind != "site")
    here = Counter(known.region for known in _open(request))
    else_ = Counter(known.region for known in _open(replace(request, limits=others)))
    while full:
        count = request.stations
        whole = min(here["whole"], max(1, count // 6))
        least = (count - whole) // len(full)
        gone = {r for r in full if here[r] < least and here[r] < else_[r]}
        if not gone:
            break
        full -= gone
    return full


def _may_repeat_region(request: Request, full: set[str]) -> bool:
    """Say whether regions cannot take turns round the loop."""
    if len(full) == 3:
        return False
    rest = [known for known in _open(request) if known.region not in full]
    return len(full) < 2 or (request.stations % 2 == 1 and not rest)


def _order(circuit: Circuit, request: Request) -> Iterator[str]:
    waived = set(request.waived)
    if _may_repeat_region(request, _full_regions(request)):
        waived.add("alternate")
    # Without a break, `advise` also looks from the last station to the first.
    ring = replace(circuit, loops=2, loop_break_ms=None, last_recover=None)
    for note in advise(ring, exercises()):
        rule = _ASKED.get(note.rule)
        if rule is not None and rule not in waived:
            yield note.sentence
    whole = [exercises()[s.exercise].region == "whole" for s in circuit.stations]
    if "alternate" not in waived and any(
        one and whole[place - 1] for place, one in enumerate(whole)
    ):
        yield "two whole-body stations follow each other"


def _sums(facts: list[Exercise], request: Request) -> Iterator[str]:
    regions = [known.region for known in facts]
    counts = [regions.count(name) for name in _full_regions(request)]
    if max(counts, default=0) - min(counts, default=0) > 1 and (
        "regions" not in request.waived
    ):
        yield "legs, core and arms differ by more than one station"
    if regions.count("whole") > max(1, len(regions) // 6):
        yield "too many whole-body stations"
    sided = sum(bool(known.parts) for known in facts)
    if not 1 <= sided <= len(facts) // 2 and "one-sided" not in request.waived:
        yield f"{sided} stations are done one side at a time"
    low = {"plank", "on-back", "side-lying", "face-down", "hands-and-knees", "seated",
           "half-kneeling", "tall-kneeling"}  # fmt: skip
    places = [known.position for known in facts]
    # On a bench or against a wall nobody gets down.
    down = [
        place in low and known.id not in {"wall-sit", "one-leg-wall-sit", "bench-dip",
                                          "wrist-curl"}
        for place, known in zip(places, facts, strict=True)
    ]  # fmt: skip
    moved = sum(one != two for one, two in zip(down, down[1:] + down[:1], strict=True))
    if moved > 2 + 2 * ((len(facts) - 1) // 4) and "floor" not in request.waived:
        yield f"{moved} changes between floor and standing"


def _shared(circuit: Circuit, request: Request) -> Iterator[str]:
    """Look at every moment with everybody in it, floor(n / athletes) apart."""
    if request.athletes < 2:
        return
    shared = SharedKit(
        request.kit,
        {key: drill.kit for key, drill in drills().items()},
        frozenset(PLACES),
    )
    apart = len(circuit.stations) // request.athletes
    pairing = pair_up(circuit, apart, [{}] * request.athletes, shared)
    if pairing.misfit:
        yield pairing.misfit
    yield from (clash.sentence for clash in pairing.clashes)


def _practice(circuit: Circuit, request: Request) -> Iterator[str]:
    """Look whether drills wait for nothing and begin at a level that was held."""
    held = dict(request.held) if request.level != "new" else {}
    for station in circuit.stations:
        if station.drill is None:
            continue
        drill = drills()[station.drill.id]
        step = station.drill.name.partition(": ")[2]
        level = drill.ladder.index(step) + 1 if step in drill.ladder else 0
        if not 1 <= level <= held.get(drill.id, 1):
            yield f"the drill {drill.id} does not begin at a level that was held"
        extra = drill.added_at(level)
        for limit in request.limits:
            if limit.kind == "site" and (
                asks(drill, limit.value, extra=extra) > _MAY[limit.strength]
            ):
                yield f"the drill {drill.id} asks too much of the {limit.value}"
            if limit.kind == "region" and {limit.value, "whole"} & set(drill.loads):
                yield f"the drill {drill.id} loads what is left out"
        if request.level == "new" and not drill_levels()[drill.id].first:
            yield f"the drill {drill.id} is none for somebody new"
        if drill.id in request.waiting:
            yield f"the drill {drill.id} waits for what comes before it"


def _drills(circuit: Circuit, facts: list[Exercise]) -> Iterator[str]:
    jumpy = 0
    seen: set[str] = set()
    for place, station in enumerate(circuit.stations):
        if station.drill is None:
            continue
        drill = drills()[station.drill.id]
        if drill.id in seen and drill.kind != "down-shift":
            yield f"the drill {drill.id} comes twice"
        seen.add(drill.id)
        one, two = facts[place], facts[(place + 1) % len(facts)]
        loaded = set(drill.loads)
        if loaded & {one.region, two.region} or (
            loaded and "whole" in {one.region, two.region}
        ):
            yield f"the drill {drill.id} loads what works beside it"
        is_jump = drill.impact or drill.kind in {"rope", "footwork"}
        jumpy += is_jump
        if is_jump and one.pattern == "jump":
            yield f"the drill {drill.id} follows a jump"
        one_leg = one.region == "legs" and one.sides != "both"
        if drill.kind == "balance" and one_leg:
            yield f"the balance drill {drill.id} follows work on one leg"
    if jumpy > 2:
        yield f"{jumpy} drills are rope, footwork or jumps"
