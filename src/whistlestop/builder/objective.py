"""What makes one allowed circuit better than another, in whole points.

Three kinds of points: a station for itself, a pair of neighbours, and what is counted
over a loop. Search and exact solver read this one statement. The weights are a choice,
stated here and nowhere else; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Final
from zlib import crc32

from whistlestop.builder.dice import Dice
from whistlestop.builder.drill_rules import drills_for, is_wished
from whistlestop.builder.facts import (
    AGAINST,
    ANKLE,
    CARRIES,
    HINGE,
    PULL,
    PUSH,
    SQUAT,
    Piece,
)
from whistlestop.builder.request import Request
from whistlestop.builder.worth import worth_of
from whistlestop.builder.yielding import goes_easy, is_asked, waived_for
from whistlestop.domain.demands import MUCH, asks
from whistlestop.library.first_loads import Level

FAVOURITE: Final = 14
YARDSTICK: Final = 25
RECENT: Final = 10
TASTE: Final = 14
"""A station is liked with 0 to so many points by a seed: the variety between seeds."""
EASED: Final = 6
TOO_EASY: Final = 3
FAMILY: Final = 4
DIFFICULTY: Final = 2
PUSH_PULL: Final = 12
HINGE_SQUAT: Final = 10
# Points for worth 0 to 3.
WORTH: Final = (0, 3, 7, 10)
# Points for a load that trains, by pattern; carries and the rest apart.
LOAD: Final[Mapping[str, int]] = MappingProxyType(
    {
        **dict.fromkeys(("squat", "hinge", "hinge-power"), 12),
        **dict.fromkeys(("horizontal-pull", "vertical-pull"), 12),
        **dict.fromkeys(("squat-and-push", "hinge-and-push", "get-up"), 12),
        **dict.fromkeys(("lunge", "step"), 10),
        **dict.fromkeys(("horizontal-push", "vertical-push"), 9),
        **dict.fromkeys(("bridge", "carry"), 8),
        "ankle": 6,
        "elbow": 1,
        "wrist": 1,
    }
)
_SUITCASE_LOAD: Final = 7
_OTHER_LOAD: Final = 3
# The mean difficulty that is aimed at, in half points: for a wish of 3, and what a wish
# of one more adds. Somebody new is not taken beyond that of 3.
_AIMED: Final[Mapping[str, int]] = {"new": 5, "regular": 8, "strong": 10}
_USUAL_WISH: Final = 3


def own_points(piece: Piece, request: Request) -> int:
    """Points of a station for itself; they may be below 0."""
    points = WORTH[worth_of(piece.id)] + load_points(piece)
    points += taste(piece.id, request.seed)
    points += FAVOURITE if piece.id in request.favourites else 0
    if piece.id == request.yardstick:
        points += YARDSTICK
    elif piece.id in request.recent:
        points -= RECENT
    if goes_easy(piece, request):
        points -= EASED * (piece.card.difficulty - 1)
    if piece.is_loaded:
        # A light load earns less already.
        return points
    below = aimed_half_points(request) - 2 - 2 * piece.difficulty
    return points - TOO_EASY * max(0, below) // 2


def load_points(piece: Piece) -> int:
    """What a load brings a station: all of it at three quarters of a first load."""
    if piece.exercise.pattern == "anti-lateral" and piece.id in CARRIES:
        most = _SUITCASE_LOAD
    else:
        most = LOAD.get(piece.exercise.pattern, _OTHER_LOAD)
    return most * piece.share // 100


@lru_cache(maxsize=4096)
def taste(exercise: str, seed: int) -> int:
    """How much a seed likes a station: 0 to `TASTE`, the same on every machine."""
    return Dice((crc32(exercise.encode()) << 32) ^ seed).below(TASTE + 1)


def aimed_half_points(request: Request) -> int:
    """The difficulty that is aimed at for each station, in half points."""
    wish = request.difficulty - _USUAL_WISH
    if request.level == "new":
        return _AIMED["new"] + min(0, wish)
    return _AIMED[request.level] + 2 * wish


# --- Neighbours ------------------------------------------------------------------

Holds = Callable[[Piece, Piece], bool]


@dataclass(frozen=True, slots=True)
class PairCost:
    """What it costs that something holds for a station and the next one."""

    name: str
    points: int
    holds: Holds


def changes_kit(one: Piece, two: Piece) -> bool:
    """Say whether the second needs something that is not in hand from the first."""
    return not two.objects <= one.objects


def pair_costs(request: Request) -> tuple[PairCost, ...]:
    """What neighbours cost, in points of 1 and more, round the loop.

    Getting to the floor costs more than getting onto hands or knees, and that more
    than any other change; a lower back or a shoulder that has just worked hard gets a
    rest; a thing is picked up as seldom as can be; a recovery has its drill.
    """
    drills = drills_for(request)
    fits: dict[tuple[str, ...], bool] = {}

    def no_drill(one: Piece, two: Piece) -> bool:
        before, after = one.exercise, two.exercise
        key = (before.region, before.pattern, before.sides, after.region)
        if key not in fits:
            fits[key] = any(is_wished(drill, one, two) for drill in drills)
        return not fits[key]

    return (
        PairCost("stance", 1, lambda one, two: one.stance != two.stance),
        PairCost("down", 1, lambda one, two: one.stance == "standing" != two.stance),
        PairCost(
            "floor",
            1,
            lambda one, two: one.stance == "standing" and two.stance == "floor",
        ),
        PairCost("kit", 1, changes_kit),
        PairCost("lower back", 4, _both_ask("lower-back")),
        PairCost("shoulder", 3, _both_ask("shoulder")),
        PairCost("drill", 2, no_drill),
    )


def _both_ask(site: str) -> Holds:
    """Say whether two neighbours both ask much of a site; each is looked up once."""
    much: dict[str, bool] = {}

    def asks_much(piece: Piece) -> bool:
        if piece.id not in much:
            much[piece.id] = asks(piece.exercise, site) == MUCH
        return much[piece.id]

    return lambda one, two: asks_much(one) and asks_much(two)


# --- What is counted over a loop -------------------------------------------------


def is_one_leg(piece: Piece) -> bool:
    """Say whether it works the legs one at a time, or in turn."""
    return piece.exercise.region == "legs" and piece.exercise.sides != "both"


COUNTED: Final[Mapping[str, Callable[[Piece], bool]]] = MappingProxyType(
    {
        "knee": lambda piece: piece.exercise.pattern in SQUAT,
        "hinge": lambda piece: piece.exercise.pattern in HINGE,
        "push": lambda piece: piece.exercise.pattern in PUSH,
        "pull": lambda piece: piece.exercise.pattern in PULL,
        "one leg": is_one_leg,
        "against": lambda piece: piece.exercise.pattern in AGAINST,
        "front": lambda piece: piece.card.family == "front-trunk",
        "calf": lambda piece: piece.exercise.pattern in ANKLE,
        "carry": lambda piece: piece.id in CARRIES,
        "loaded": lambda piece: piece.is_loaded,
    }
)


@dataclass(frozen=True, slots=True)
class LeastOf:
    """How many of a kind a circuit should have, and what each lacking one costs.

    `steps` are numbers of stations from which on one more is asked for.
    """

    name: str
    points: int
    steps: tuple[int, ...]

    def least(self, count: int, level: Level) -> int:
        """How many of `count` stations: none of a kind that is not asked of the level.

        Loads are asked of half of the stations, and not of somebody new.
        """
        if level == "new" and self.name in {"one leg", "loaded"}:
            return 0
        if self.name == "loaded":
            return (count + 1) // 2
        return sum(count >= step for step in self.steps)


LEAST: Final = (
    LeastOf("knee", 15, (4, 7, 16)),
    LeastOf("hinge", 15, (4, 12)),
    LeastOf("push", 15, (4, 11)),
    LeastOf("pull", 15, (4, 9, 16)),
    LeastOf("against", 10, (6,)),
    LeastOf("one leg", 10, (6,)),
    LeastOf("front", 6, (8,)),
    LeastOf("calf", 5, (10,)),
    LeastOf("carry", 5, (8,)),
    LeastOf("loaded", 6, ()),
)
_YIELDS: Final = {"knee": "squat"}


@dataclass(frozen=True, slots=True)
class LoopWishes:
    """What is counted over a loop for one request: `loop_wishes` makes it.

    `least` are kinds of `COUNTED` with how many there should be and what each lacking
    one costs; `pushes` and `hinges` say whether these are weighed against pulls and
    knees; from `low` to `high` the sum of the difficulty is as wished.
    """

    least: tuple[tuple[str, int, int], ...]
    pushes: bool
    hinges: bool
    low: int
    high: int

    def points(self, counts: Mapping[str, int], difficulty: int) -> int:
        """Points, 0 or below, for how many stations are of each kind."""
        found = 0
        for name, least, cost in self.least:
            if counts[name] < least:
                found -= cost * (least - counts[name])
        if self.pushes:
            push, pull = counts["push"], counts["pull"]
            most_pulls = max(1, -(-3 * push // 2))
            found -= PUSH_PULL * max(0, push - pull, pull - most_pulls)
        if self.hinges:
            apart = abs(counts["hinge"] - counts["knee"])
            found -= HINGE_SQUAT * max(0, apart - 1)
        away = max(0, self.low - difficulty, difficulty - self.high)
        return found - DIFFICULTY * away


def loop_wishes(request: Request) -> LoopWishes:
    """What is asked of a loop, where it has not yielded to a sore site."""
    count, waived = request.stations, waived_for(request)
    least = tuple(
        (one.name, needed, one.points)
        for one in LEAST
        if (needed := one.least(count, request.level))
        and is_asked(_YIELDS.get(one.name, one.name), waived)
    )
    # A quarter of a point for each station on either side of what is aimed at.
    aimed, slack = aimed_half_points(request) * count // 2, count // 4
    return LoopWishes(
        least,
        is_asked("push", waived) and is_asked("pull", waived),
        is_asked("hinge", waived) and is_asked("squat", waived),
        aimed - slack,
        aimed + slack,
    )


def points(pieces: Sequence[Piece], request: Request) -> int:
    """Points of an order of as many stations as the request has; more is better."""
    found = sum(own_points(piece, request) for piece in pieces)
    costs = pair_costs(request)
    for place, piece in enumerate(pieces):
        before = pieces[place - 1]
        found -= sum(one.points for one in costs if one.holds(before, piece))
    counts = {
        name: sum(holds(piece) for piece in pieces) for name, holds in COUNTED.items()
    }
    difficulty = sum(piece.difficulty for piece in pieces)
    found += loop_wishes(request).points(counts, difficulty)
    return found + FAMILY * len({piece.card.family for piece in pieces})
