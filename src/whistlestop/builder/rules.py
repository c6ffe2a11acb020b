"""The hard rules of an order of stations, stated once by what each looks at.

Neighbours, places and totals: the search reads the same statement as brute force.
Round the loop the last station is a neighbour of the first. Rules that may be given
up are those of `request.WAIVABLE`. Common practice, no source, unless stated otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.builder.facts import Piece
from whistlestop.builder.request import Request, most_whole
from whistlestop.builder.yielding import full_regions, waived_for
from whistlestop.domain.kit.kit_at_once import too_few

# Legs, core and arms may differ by so many stations.
MOST_APART: Final = 1


def next_to(one: Piece, two: Piece, waived: frozenset[str]) -> tuple[str, ...]:
    """Rules broken by `two` directly after `one`.

    That regions take turns: Klika and Jordan 2013, ACSM's Health Fit J 17(3):8-13,
    second hand.
    """
    broken = []
    if one.exercise.region == two.exercise.region:
        broken.append("alternate")
    if one.exercise.pattern == two.exercise.pattern:
        broken.append("pattern")
    if one.needs_grip and two.needs_grip:
        broken.append("grip")
    if one.exercise.region == "core" and not one.is_fast and two.is_fast:
        broken.append("fast")
    return tuple(rule for rule in broken if rule not in waived)


def one_apart(one: Piece, two: Piece, waived: frozenset[str]) -> tuple[str, ...]:
    """Rules broken by two stations with one between them."""
    same = one.exercise.pattern == two.exercise.pattern
    return ("pattern",) if same and "pattern" not in waived else ()


def offset(count: int, athletes: int) -> int:
    """How many stations apart athletes go round: floor(count / athletes), 0 for one."""
    return count // athletes if athletes > 1 else 0


def at_once(one: Piece, two: Piece, request: Request) -> tuple[str, ...]:
    """Rules broken by stations that two athletes do at the same time.

    Each thing is owned as often as both need it together; mats, floor and walls are
    left aside.
    """
    if request.athletes < 2 or not too_few(request.kit, (one.kit, two.kit)):
        return ()
    return ("shared-kit",)


def in_place(
    piece: Piece, number: int, count: int, waived: frozenset[str]
) -> tuple[str, ...]:
    """Rules broken by a station at a number from 1 of `count`."""
    late = piece.is_fast and 2 * number > count + 1
    return ("fast",) if late and "fast" not in waived else ()


def changes_floor(one: Piece, two: Piece) -> bool:
    """Say whether the body goes between standing and kneeling, hands or floor."""
    return (one.stance == "standing") != (two.stance == "standing")


@dataclass(frozen=True, slots=True)
class OrderTotals:
    """What is counted over a whole loop."""

    legs: int
    core: int
    arms: int
    whole: int
    one_sided: int
    floor_changes: int


def over_all(totals: OrderTotals, count: int, waived: frozenset[str]) -> int:
    """How far the totals of `count` stations are outside what is allowed.

    Legs, core and arms differ by one at most and whole-body stations are at most a
    sixth, at least one; one-sided stations one to half; going down and up again once
    for four stations, or part of them beyond the first.
    """
    broken = max(0, totals.whole - most_whole(count))
    if "regions" not in waived:
        counts = [getattr(totals, name) for name in full_regions(waived)]
        broken += max(0, max(counts, default=0) - min(counts, default=0) - MOST_APART)
    if "one-sided" not in waived:
        least, most = sided_range(count)
        broken += max(0, totals.one_sided - most, least - totals.one_sided)
    if "floor" not in waived:
        broken += max(0, totals.floor_changes - most_floor(count))
    return broken


def sided_range(count: int) -> tuple[int, int]:
    """Least and most one-sided stations among `count`."""
    return 1, count // 2


def most_floor(count: int) -> int:
    """How often a loop may go down or up: twice, and twice more for each four more."""
    return 2 * ((count + 3) // 4)


def is_on_hands(piece: Piece) -> bool:
    """Say whether it loads the wrists."""
    return "Wr" in piece.exercise.cautions


def wrist_runs(pieces: Sequence[Piece], waived: frozenset[str]) -> int:
    """How often three stations in a row are on the hands, round the loop."""
    if "wrists" in waived:
        return 0
    on = [is_on_hands(piece) for piece in pieces]
    count = len(on)
    return sum(on[n] and on[n - 1] and on[n - 2] for n in range(count))


def totals_of(pieces: Sequence[Piece]) -> OrderTotals:
    """Count what is counted over a loop."""
    regions = [piece.exercise.region for piece in pieces]
    return OrderTotals(
        legs=regions.count("legs"),
        core=regions.count("core"),
        arms=regions.count("arms"),
        whole=regions.count("whole"),
        one_sided=sum(piece.is_one_sided for piece in pieces),
        floor_changes=sum(
            changes_floor(pieces[n - 1], pieces[n]) for n in range(len(pieces))
        ),
    )


def violations(pieces: Sequence[Piece], request: Request) -> int:
    """Count what an order of stations breaks; 0 is a circuit that may be done.

    Pieces differ from each other and come from `facts.pieces`.
    """
    count, waived = len(pieces), waived_for(request)
    broken = wrist_runs(pieces, waived)
    for place, piece in enumerate(pieces):
        broken += len(next_to(pieces[place - 1], piece, waived))
        broken += len(one_apart(pieces[place - 2], piece, waived))
        other = pieces[(place + offset(count, request.athletes)) % count]
        broken += len(at_once(piece, other, request))
        broken += len(in_place(piece, place + 1, count, waived))
    ids = {piece.id for piece in pieces}
    broken += sum(key not in ids for key in request.keep)
    return broken + over_all(totals_of(pieces), count, waived)
