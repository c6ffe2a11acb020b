"""What makes one allowed circuit better than another, in whole points.

The weights are a choice, stated here and nowhere else; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.builder.drill_rules import drills_for, is_wished
from whistlestop.builder.facts import AGAINST, HINGE, PULL, PUSH, SQUAT, Piece
from whistlestop.builder.request import Request
from whistlestop.builder.rules import changes_floor
from whistlestop.builder.yielding import is_asked, waived_for
from whistlestop.domain.exercise import DrillInfo

FAVOURITE: Final = 12
YARDSTICK: Final = 20
NEW: Final = 6
FAMILY: Final = 3
KIT_CHANGE: Final = 3
FLOOR_CHANGE: Final = 2
DIFFICULTY: Final = 2
PUSH_PULL: Final = 4
HINGE_SQUAT: Final = 4
NO_ONE_LEG: Final = 6
NO_AGAINST: Final = 6
DRILL_FITS: Final = 2
PAIRS: Final = (("push", "pull"), ("hinge", "squat"))


@dataclass(frozen=True, slots=True)
class Balance:
    """What the balance of a loop is judged by."""

    push: int
    pull: int
    hinge: int
    squat: int
    legs: int
    one_leg: int
    against: int
    difficulty: int
    kit_changes: int
    floor_changes: int
    families: int
    drill_fits: int = 0


def own_points(piece: Piece, request: Request) -> int:
    """Points of a station for itself, 0 or more."""
    points = FAVOURITE if piece.id in request.favourites else 0
    points += YARDSTICK if piece.id == request.yardstick else 0
    return points + (0 if piece.id in request.recent else NEW)


def changes_kit(one: Piece, two: Piece) -> bool:
    """Say whether the second needs something that is not in hand from the first."""
    return not two.objects <= one.objects


def drill_fits(one: Piece, two: Piece, drills: Iterable[DrillInfo]) -> bool:
    """Say whether one of some drills is wished for in the recovery between them."""
    return any(is_wished(drill, one, two) for drill in drills)


def is_one_leg(piece: Piece) -> bool:
    """Say whether it works the legs one at a time, or in turn."""
    return piece.exercise.region == "legs" and piece.exercise.sides != "both"


def balance_points(
    balance: Balance, count: int, target: int, waived: frozenset[str] = frozenset()
) -> int:
    """Points of a whole loop of `count` stations; `target` is the mean difficulty.

    Where push, pull, hinge or squat is among `waived`, its balance is not asked for.
    """
    most_pulls = max(1, -(-3 * balance.push // 2))
    pushes = max(0, balance.push - balance.pull, balance.pull - most_pulls)
    hinges = max(0, abs(balance.hinge - balance.squat) - 1)
    points = FAMILY * balance.families + DRILL_FITS * balance.drill_fits
    points -= PUSH_PULL * pushes if asks_balance(PAIRS[0], waived) else 0
    points -= HINGE_SQUAT * hinges if asks_balance(PAIRS[1], waived) else 0
    points -= DIFFICULTY * abs(balance.difficulty - count * target)
    points -= KIT_CHANGE * balance.kit_changes + FLOOR_CHANGE * balance.floor_changes
    points -= NO_ONE_LEG if balance.legs and not balance.one_leg else 0
    return points - (0 if balance.against else NO_AGAINST)


def asks_balance(pair: tuple[str, str], waived: frozenset[str]) -> bool:
    """Say whether two patterns are weighed against each other: neither has yielded."""
    return all(is_asked(name, waived) for name in pair)


def balance_of(pieces: Sequence[Piece], drills: Sequence[DrillInfo]) -> Balance:
    """Count what `balance_points` judges."""
    patterns = [piece.exercise.pattern for piece in pieces]
    pairs = [(pieces[n - 1], pieces[n]) for n in range(len(pieces))]
    return Balance(
        push=sum(pattern in PUSH for pattern in patterns),
        pull=sum(pattern in PULL for pattern in patterns),
        hinge=sum(pattern in HINGE for pattern in patterns),
        squat=sum(pattern in SQUAT for pattern in patterns),
        legs=sum(piece.exercise.region == "legs" for piece in pieces),
        one_leg=sum(map(is_one_leg, pieces)),
        against=sum(pattern in AGAINST for pattern in patterns),
        difficulty=sum(piece.card.difficulty for piece in pieces),
        kit_changes=sum(changes_kit(one, two) for one, two in pairs),
        floor_changes=sum(changes_floor(one, two) for one, two in pairs),
        families=len({piece.card.family for piece in pieces}),
        drill_fits=sum(drill_fits(one, two, drills) for one, two in pairs),
    )


def points(pieces: Sequence[Piece], request: Request) -> int:
    """Points of an order of stations; more is better."""
    own = sum(own_points(piece, request) for piece in pieces)
    balance = balance_of(pieces, drills_for(request))
    return own + balance_points(
        balance, len(pieces), request.mean_difficulty, waived_for(request)
    )
