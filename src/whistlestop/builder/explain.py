"""Why nothing fits, and what would: counting first, then single wishes, then pairs.

Says impossible only where counting proves it. Nothing is given up silently, and what
limits ask to leave out comes last.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, Literal

from whistlestop.builder.facts import Piece, catalogue, hidden_by, pieces
from whistlestop.builder.making import BuiltCircuit, built
from whistlestop.builder.request import Request, most_whole
from whistlestop.builder.search import RESTARTS, STEPS_FOR_SIX
from whistlestop.builder.timing import best_timing, is_half_empty, shortest_ms
from whistlestop.builder.yielding import REGIONS, full_regions, waived_for
from whistlestop.domain.limits import Limit, the_site
from whistlestop.domain.wishes import LOOPS, MINUTES, STATIONS, WAIVABLE
from whistlestop.library import exercises
from whistlestop.library.cards import CEILINGS, NOISES, SPACES
from whistlestop.library.first_loads import Level
from whistlestop.library.kit_words import THINGS

Field = Literal["minutes", "loops", "lengths", "stations", "noise", "space", "ceiling",
                "kit", "keep", "avoid", "rule", "level", "limit", "site"]  # fmt: skip
_HARDER: Final[Mapping[Level, tuple[Level, str]]] = {
    "new": ("regular", "choose as for somebody who trains already"),
    "regular": ("strong", "choose from the hardest stations too"),
}
# Pairs of rules are all tried, of other wishes of different kinds only so many.
MOST_PAIRS: Final = 120


@dataclass(frozen=True, slots=True)
class WishChange:
    """One wish given up: its kind, the words for it, and the request then."""

    kind: Field
    words: str
    request: Request


@dataclass(frozen=True, slots=True)
class WishOffer:
    """What could be given up, and the circuit that it gives. Never chosen already."""

    words: tuple[str, ...]
    built: BuiltCircuit
    kinds: tuple[Field, ...]

    @property
    def is_caution(self) -> bool:
        """Whether it takes something back in that a limit leaves out."""
        return not {"limit", "site"}.isdisjoint(self.kinds)


@dataclass(frozen=True, slots=True)
class NoFit:
    """Why there is no circuit. `proved` only where counting shows it."""

    facts: tuple[str, ...]
    proved: bool
    offers: tuple[WishOffer, ...]

    @property
    def sentence(self) -> str:
        """What is certain."""
        if self.proved:
            return "No circuit meets all your wishes."
        return (
            f"None found in {RESTARTS} or more searches of {STEPS_FOR_SIX} or "
            "more steps each; one may still exist."
        )


def answer(request: Request) -> BuiltCircuit | NoFit:
    """Build a circuit, or say why there is none and what would give one.

    Raises:
        UsageError: An id is not in the library.
    """
    facts = counting(request)
    found = None if facts else built(request)
    if found is not None:
        return found
    return NoFit(facts, bool(facts), offers(request))


def counting(request: Request) -> tuple[str, ...]:
    """What counting alone proves impossible, with the numbers; empty for nothing."""
    left = pieces(request)
    return (*_too_long(request), *_locked_stations(request), *_too_few(request, left))


def _too_long(request: Request) -> Iterator[str]:
    if best_timing(request) is not None:
        return
    shape = f"{request.stations} stations and {_loops_text(request.loops)}"
    most = _most_stations(request)
    if request.stations > most > 0:
        yield (
            f"{request.minutes} min hold {most} stations at "
            f"{_loops_text(request.loops)}, and {request.stations} were asked for"
        )
    elif is_half_empty(request):
        yield (
            f"{shape} fill less than half of {request.minutes} min, even with the "
            "longest work and recovery"
        )
    else:
        yield f"no times in 5 s steps fit {shape} into {request.minutes} min"


def _loops_text(loops: int) -> str:
    return f"{loops} loops" if loops > 1 else "one loop"


def _most_stations(request: Request) -> int:
    """How many stations go into the minutes with the shortest lengths; 0 for none."""
    return max(
        (
            stations
            for stations in range(STATIONS.least, STATIONS.most + 1)
            if shortest_ms(replace(request, stations=stations, keep=()))
            <= request.minutes * 60_000
        ),
        default=0,
    )


def _locked_stations(request: Request) -> Iterator[str]:
    known = {exercise.id: (exercise, card) for exercise, card in catalogue()}
    for key in request.keep:
        hidden = hidden_by(request, *known[key]) if key in known else ("the library",)
        if hidden:
            yield f"{key} must be in, but is blocked by {', '.join(hidden)}"
    regions = [exercises()[key].region for key in request.keep if key in exercises()]
    waived = waived_for(request)
    full = full_regions(waived)
    most = -(-request.stations // max(1, len(full)))
    for region in full:
        if "regions" not in waived and regions.count(region) > most:
            kept = regions.count(region)
            yield (
                f"{kept} of the stations you locked work the {region}; {most} is the "
                "most"
            )


def _too_few(request: Request, left: tuple[Piece, ...]) -> Iterator[str]:
    if len(left) < request.stations:
        yield f"{len(left)} stations remain, {request.stations} are needed"
    waived = waived_for(request)
    full = full_regions(waived)
    if "regions" not in waived and full == REGIONS:
        least = (request.stations - most_whole(request.stations)) // len(full)
        for region in full:
            have = sum(piece.exercise.region == region for piece in left)
            if have < least:
                hidden = _hidden(request, region)
                yield f"{have} {region} stations remain, {least} are needed{hidden}"
    if "one-sided" not in request.waived and not any(p.is_one_sided for p in left):
        yield "no station done one side at a time remains, one is needed"


def _hidden(request: Request, region: str) -> str:
    counts: dict[str, int] = {}
    for exercise, card in catalogue():
        if exercise.region == region:
            for wish in hidden_by(request, exercise, card):
                counts[wish] = counts.get(wish, 0) + 1
    text = ", ".join(f"{count} by {wish}" for wish, count in counts.items())
    return f": left out are {text}" if text else ""


# --- What could be given up ------------------------------------------------------


def offers(request: Request) -> tuple[WishOffer, ...]:
    """Single wishes whose giving up works, each with its circuit; else pairs.

    A sore site is taken back in only where all other wishes, pairs of them too, have
    been tried and give nothing.
    """
    every = list(changes(request))
    others = [change for change in every if change.kind != "site"]
    found = offers_among(request, others)
    if not found and len(others) < len(every):
        sites = [change for change in every if change.kind == "site"]
        found = offers_among(request, [*sites, *others])
    return tuple(sorted(found, key=lambda offer: offer.is_caution))


def offers_among(request: Request, changed: Sequence[WishChange]) -> list[WishOffer]:
    """What giving up one of these makes possible, else two of different kinds."""
    found = _that_work((change,) for change in changed)
    if found:
        return found
    pairs = list(combinations(changed, 2))
    of_rules = [pair for pair in pairs if _of_rules(pair)]
    others = [(one, two) for one, two in pairs if one.kind != two.kind]
    return _that_work(
        (one, replace(two, request=_both(request, one, two)))
        for one, two in (*of_rules, *others[:MOST_PAIRS])
    )


def _of_rules(pair: tuple[WishChange, WishChange]) -> bool:
    """Say whether both are rules of order: these are given up more gladly."""
    return pair[0].kind == pair[1].kind == "rule"


def _both(request: Request, one: WishChange, two: WishChange) -> Request:
    """Give up two rules, or two wishes of different kinds: of different fields."""
    if _of_rules((one, two)):
        return replace(one.request, waived=one.request.waived | two.request.waived)
    given_up = {
        name: value
        for name in Request.__dataclass_fields__
        if (value := getattr(two.request, name)) != getattr(request, name)
    }
    return replace(one.request, **given_up)


def _that_work(tried: Iterable[tuple[WishChange, ...]]) -> list[WishOffer]:
    found: list[WishOffer] = []
    for given_up in tried:
        wanted = given_up[-1].request
        circuit = None if counting(wanted) else built(wanted, any_will_do=True)
        if circuit is not None:
            words = tuple(change.words for change in given_up)
            kinds = tuple(change.kind for change in given_up)
            found.append(WishOffer(words, circuit, kinds))
    return found


def changes(request: Request) -> Iterator[WishChange]:
    """Every single wish that could be given up, limits last, those on sites at last."""
    yield from _of_time(request)
    yield from _of_room(request)
    yield from _of_kit(request)
    for key in request.keep:
        kept = tuple(other for other in request.keep if other != key)
        yield WishChange("keep", f"do without {key}", replace(request, keep=kept))
    for key in sorted(request.avoid):
        left = request.avoid - {key}
        yield WishChange("avoid", f"allow {key}", replace(request, avoid=left))
    for rule, words in WAIVABLE.items():
        if rule not in request.waived:
            waived = request.waived | {rule}
            yield WishChange("rule", words, replace(request, waived=waived))
    if request.level in _HARDER:
        level, words = _HARDER[request.level]
        yield WishChange("level", words, replace(request, level=level))
    for limit in sorted(request.limits, key=lambda one: one.kind == "site"):
        others = tuple(other for other in request.limits if other != limit)
        kind: Field = "site" if limit.kind == "site" else "limit"
        yield WishChange(kind, _lifted_text(limit), replace(request, limits=others))


def _of_time(request: Request) -> Iterator[WishChange]:
    for minutes in _nearest_minutes(request):
        words = f"take {minutes} min"
        yield WishChange("minutes", words, replace(request, minutes=minutes))
    for loops in (request.loops - 1, request.loops + 1):
        if LOOPS.least <= loops <= LOOPS.most:
            words = f"do {loops} loops" if loops > 1 else "do one loop"
            yield WishChange("loops", words, replace(request, loops=loops))
    if request.work_ms is not None or request.recover_ms is not None:
        free = replace(request, work_ms=None, recover_ms=None)
        yield WishChange("lengths", "leave the lengths to the builder", free)
    least = max(STATIONS.least, len(request.keep))
    for stations in range(request.stations - 1, least - 1, -1):
        fewer = replace(request, stations=stations)
        if not counting(fewer):
            yield WishChange("stations", f"take {stations} stations", fewer)
            break


def _nearest_minutes(request: Request) -> Iterator[int]:
    """The nearest lengths below and above for which there are lengths at all."""
    if best_timing(request) is not None:
        return
    for span in (
        range(request.minutes - 1, MINUTES.least - 1, -1),
        range(request.minutes + 1, MINUTES.most + 1),
    ):
        for minutes in span:
            if best_timing(replace(request, minutes=minutes)) is not None:
                yield minutes
                break


def _of_room(request: Request) -> Iterator[WishChange]:
    for noise in NOISES[NOISES.index(request.noise) + 1 :]:
        wider = replace(request, noise=noise)  # type: ignore[arg-type]
        yield WishChange("noise", f"allow noise: {noise}", wider)
    for space in SPACES[SPACES.index(request.space) + 1 :]:
        wider = replace(request, space=space)  # type: ignore[arg-type]
        yield WishChange("space", f"make room: {space}", wider)
    for ceiling in CEILINGS[CEILINGS.index(request.ceiling) + 1 :]:
        wider = replace(request, ceiling=ceiling)  # type: ignore[arg-type]
        yield WishChange("ceiling", f"train under a higher ceiling: {ceiling}", wider)


def _of_kit(request: Request) -> Iterator[WishChange]:
    kit = request.kit
    if kit is None:
        return
    have = len(pieces(request))
    for thing in THINGS:
        if not kit.has(thing):
            more = replace(request, kit=replace(kit, things=kit.things | {thing}))
            if len(pieces(more)) > have:
                yield WishChange("kit", f"add to the kit: {thing}", more)


def _lifted_text(limit: Limit) -> str:
    if limit.kind == "site":
        return (
            f"load {the_site(limit)} again (only if nothing hurts there; a "
            "physiotherapist's word goes first)"
        )
    return f"lift the limit on {limit.kind} {limit.value} (only if nothing hurts)"
