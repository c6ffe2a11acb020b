"""An order of stations becomes a circuit: lengths, drills, a warm-up, and reasons.

Refuses to know how the order was found and where a circuit is saved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from whistlestop.builder import objective, rules
from whistlestop.builder.drill_pick import pick
from whistlestop.builder.drill_rules import level_for
from whistlestop.builder.easier_forms import with_easier_forms
from whistlestop.builder.facts import AGAINST, HINGE, PULL, PUSH, SQUAT, Piece
from whistlestop.builder.facts import pieces as pieces_of
from whistlestop.builder.loads import with_loads
from whistlestop.builder.objective import changes_kit, is_one_leg
from whistlestop.builder.request import Request
from whistlestop.builder.search import SearchResult, search
from whistlestop.builder.timing import GET_READY_MS, Timing, best_timing
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station, TimedItem
from whistlestop.domain.circuit.warm_up import built_warm_up
from whistlestop.domain.exercise import DrillInfo
from whistlestop.domain.limits import spared_codes
from whistlestop.domain.tempo import parse_tempo

_STEP_MS = 5_000
_TRIES = 3


@dataclass(frozen=True, slots=True)
class BuiltCircuit:
    """A circuit that meets a request, with a reason for each station.

    `points` are those of the objective, before easier forms took the place of what
    asks of a site that goes easy; `steps` says how long was searched.
    """

    request: Request
    circuit: Circuit
    reasons: tuple[str, ...]
    points: int
    steps: int


def built(
    request: Request,
    *,
    pieces: Sequence[Piece] | None = None,
    any_will_do: bool = False,
) -> BuiltCircuit | None:
    """Build a circuit for a request.

    Args:
        request: What is asked for.
        pieces: What may be chosen; by default all that the request leaves.
        any_will_do: Take the first that breaks no rule.

    Returns:
        The circuit; None where no lengths or no order was found, which is a proof
        only where counting says so too.
    """
    timing = best_timing(request)
    if timing is None:
        return None
    left = pieces_of(request) if pieces is None else pieces
    found = search(left, request, any_will_do=any_will_do)
    if found is None or not found.is_allowed:
        return None
    return _made(request, found, timing)


def built_of(request: Request, order: Sequence[Piece]) -> BuiltCircuit | None:
    """Make the circuit of an order that meets a request; None where no lengths do."""
    timing = best_timing(request)
    if timing is None:
        return None
    worth = objective.points(order, request)
    found = SearchResult(tuple(order), worth, rules.violations(order, request), 0)
    return _made(request, found, timing)


def alternatives(first: BuiltCircuit, count: int) -> tuple[BuiltCircuit, ...]:
    """Build up to `count` circuits that differ, the given one first.

    Each takes the stations of those before as done lately, unless they are to be
    locked, so that others come forward.
    """
    found = [first]
    for _ in range(1, count):
        other = another(found)
        if other is not None:
            found.append(other)
    return tuple(found)


def another(found: Sequence[BuiltCircuit]) -> BuiltCircuit | None:
    """Build one more that differs from all of those found; None where none came."""
    request = found[0].request
    done = {s.exercise for one in found for s in one.circuit.stations}
    kept = {tuple(s.exercise for s in one.circuit.stations) for one in found}
    for number in range(len(found), len(found) + _TRIES):
        other = built(
            replace(
                request,
                recent=request.recent | done,
                seed=(request.seed + number) % 2**32,
            )
        )
        if other and tuple(s.exercise for s in other.circuit.stations) not in kept:
            return other
    return None


def rest_changed(one: BuiltCircuit, keep: Sequence[str]) -> BuiltCircuit | None:
    """Keep some stations of a circuit and change the rest; None where none came.

    Those that are not locked count as done lately, so that others come forward.
    """
    request = one.request
    rest = {s.exercise for s in one.circuit.stations}.difference(keep)
    return built(
        replace(
            request,
            keep=tuple(keep),
            recent=request.recent | rest,
            seed=(request.seed + 1) % 2**32,
        )
    )


def _made(request: Request, found: SearchResult, timing: Timing) -> BuiltCircuit:
    order, easier = with_easier_forms(found.order, request)
    filled = pick(order, request)
    circuit = Circuit(
        id="built",
        name=f"{request.minutes} minutes, {request.stations} stations",
        stations=tuple(
            _station(piece, drill, request)
            for piece, drill in zip(order, filled, strict=True)
        ),
        loops=request.loops,
        work_ms=timing.work_ms,
        recover_ms=timing.recover_ms,
        loop_break_ms=timing.loop_break_ms or None,
        get_ready_ms=GET_READY_MS,
        warm_up=_warm_up(order, request, timing.warm_up_ms),
        cool_down=_cool_down(timing.cool_down_ms),
    )
    loaded, why = with_loads(circuit, request)
    reasons = tuple(
        "; ".join(
            filter(None, (easier[place], _reason(order, place, request), why[place]))
        )
        for place in range(len(order))
    )
    return BuiltCircuit(request, loaded, reasons, found.points, found.steps)


def _drill(known: DrillInfo, request: Request) -> Drill:
    return Drill(known.id, known.at_level(level_for(known, request)))


def _station(piece: Piece, drill: DrillInfo | None, request: Request) -> Station:
    facts = piece.exercise
    return Station(
        facts.id,
        facts.name,
        facts.call_name,
        parts=facts.parts,
        tempo=parse_tempo(facts.tempo) if facts.tempo else None,
        kit=piece.kit,
        cautions=facts.cautions,
        drill=_drill(drill, request) if drill else None,
    )


def _warm_up(
    order: Sequence[Piece], request: Request, ms: int
) -> tuple[TimedItem, ...]:
    """The warm-up for these patterns, scaled to a length in ms."""
    if not ms:
        return ()
    spared = spared_codes(request.limits)
    items = built_warm_up([p.exercise.pattern for p in order], spared)
    whole = sum(item.duration_ms for item in items)
    steps = [max(1, item.duration_ms * ms // whole // _STEP_MS) for item in items]
    lengths = [_STEP_MS * step for step in steps]
    lengths[0] += ms - sum(lengths)
    return tuple(
        replace(item, duration_ms=length)
        for item, length in zip(items, lengths, strict=True)
    )


def _cool_down(ms: int) -> tuple[TimedItem, ...]:
    if not ms:
        return ()
    first = ms // 2 // _STEP_MS * _STEP_MS
    return (
        TimedItem("Walk easily, breathe out slowly", first),
        TimedItem("Gently stretch the muscles you worked", ms - first),
    )


def _reason(order: Sequence[Piece], place: int, request: Request) -> str:
    """Why a station stands there: wishes first, then what only it brings."""
    piece = order[place]
    facts = piece.exercise
    sentences = []
    if facts.id in request.keep:
        sentences.append("you asked for it")
    if facts.id == request.yardstick:
        sentences.append("your yardstick")
    if facts.id in request.favourites:
        sentences.append("a favourite")
    for words, members in (
        ("a push", [p for p in order if p.exercise.pattern in PUSH]),
        ("a pull", [p for p in order if p.exercise.pattern in PULL]),
        ("a hinge", [p for p in order if p.exercise.pattern in HINGE]),
        ("a squat or lunge", [p for p in order if p.exercise.pattern in SQUAT]),
        ("one leg at a time", [p for p in order if is_one_leg(p)]),
        ("holds against turning", [p for p in order if p.exercise.pattern in AGAINST]),
    ):
        if piece in members:
            sentences.append(f"the only one: {words}" if len(members) == 1 else words)
    if request.recent and facts.id not in request.recent:
        sentences.append("not done lately")
    before, after = order[place - 1], order[(place + 1) % len(order)]
    around = f"{before.exercise.region} before and {after.exercise.region} after"
    sentences.append(f"{facts.region}, with {around}")
    if piece.objects and not changes_kit(before, piece):
        sentences.append("with what is in hand already")
    return "; ".join(sentences)
