"""A seeded search for the best order of stations, the same on every machine.

Whole numbers only, a generator of its own, and steps instead of seconds. It asks
`tables` what an order is worth and refuses to know any rule itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, permutations
from math import comb, factorial
from typing import Final

from whistlestop.builder import objective, rules
from whistlestop.builder.dice import Dice
from whistlestop.builder.facts import Piece
from whistlestop.builder.request import Request
from whistlestop.builder.tables import Tables

RESTARTS: Final = 2
# Small circuits are quick to judge, so they are looked for twice as often.
SMALL: Final = 9
STEPS_FOR_SIX: Final = 30_000
# For any order that breaks no rule: those are found in far fewer steps.
PROBE_STEPS_FOR_SIX: Final = 2_250
# Temperatures in quarter points, one for each sixteenth of a restart; chosen by
# what they led to on stored requests of 6 to 15 stations (tests/bench/builder.py).
_HEAT: Final = (3, 3, 3, 3, 3, 3, 2, 2, 2, 2, 2, 2, 2, 1, 1, 1)
_ONE: Final = 1 << 32
_WORST: Final = 256
# Below this a change at one place meets itself round the loop.
_LEAST_FOR_CHANGE: Final = 5
FEW_ORDERS: Final = 70_000
"""Up to so many, all are looked at: no more than a walk costs, and exact."""
_FIELD: Final = (1 << 20) - 1


# On the scale of `Piece.difficulty`; a load that trains.
_HARD: Final = 7
_HEAVY: Final = 100

# Breaking less comes before points: -broken, worth and the order.
Worth = tuple[int, int, list[int]]


@dataclass(frozen=True, slots=True)
class SearchResult:
    """The best order found, its points, and whether it breaks no rule."""

    order: tuple[Piece, ...]
    points: int
    broken: int
    steps: int

    @property
    def is_allowed(self) -> bool:
        """Whether it is a circuit that may be done."""
        return self.broken == 0


def acceptance(heat: int) -> tuple[int, ...]:
    """Chance in 2**32 to take a loss of 0, 1, 2 ... points at a heat in quarters.

    Each point less multiplies the chance by heat / (heat + 4): whole numbers, so that
    every machine has the same table.
    """
    table = [_ONE]
    while len(table) < _WORST:
        table.append(table[-1] * heat // (heat + 4))
    return tuple(table)


_TABLES: Final = tuple(acceptance(heat) for heat in _HEAT)


def search(
    pieces: Sequence[Piece],
    request: Request,
    *,
    any_will_do: bool = False,
    walks: int | None = None,
) -> SearchResult | None:
    """Find the best order for a request among some pieces.

    Args:
        pieces: What may be chosen; those to keep must be among them.
        request: Stations, wishes and seed.
        any_will_do: Stop at the first order that breaks no rule.
        walks: How often to begin anew; by default as often as by the stations.

    Returns:
        The best found; it may break rules, which proves nothing. None where there
        are fewer pieces than stations, or one to keep is not among them.
    """
    ids = {piece.id for piece in pieces}
    if len(pieces) < request.stations or not ids.issuperset(request.keep):
        return None
    tables = Tables(pieces, request)
    dice = Dice(request.seed)
    best: Worth | None = None
    steps = _orders(tables)
    if steps <= FEW_ORDERS:
        best = _best_of_all(tables, any_will_do=any_will_do)
    else:
        usual = RESTARTS * (2 if request.stations <= SMALL else 1)
        best, steps = _walked(
            tables, dice, usual if walks is None else walks, any_will_do=any_will_do
        )
        if best[0]:
            # Points may lead away from what breaks no rule: once more without them.
            bare = Tables(pieces, request, with_points=False)
            best, more = _walked(bare, dice, usual, any_will_do=True)
            steps += more
    assert best is not None
    order = well_begun([tables.pieces[n] for n in best[2]], request)
    broken = rules.violations(order, request)
    return SearchResult(order, objective.points(order, request), broken, steps)


def _walked(
    tables: Tables, dice: Dice, walks: int, *, any_will_do: bool
) -> tuple[Worth, int]:
    """The best of some walks, one at least, and how many steps they took."""
    best: Worth | None = None
    steps = 0
    for _ in range(walks):
        walk = _Walk(tables, dice)
        steps += walk.run(any_will_do=any_will_do)
        if best is None or walk.best[:2] > best[:2]:
            best = walk.best
        if any_will_do and best[0] == 0:
            break
    assert best is not None
    return best, steps


def well_begun(order: Sequence[Piece], request: Request) -> tuple[Piece, ...]:
    """Turn a loop so that what is heavy, fast or hard comes early, and no trunk first.

    Points look at neighbours round the loop alone, so a turn changes none; a turn that
    breaks a rule of place is not taken. Of equal ones the first.
    """
    count = len(order)
    turns = [tuple(order[start:]) + tuple(order[:start]) for start in range(count)]
    kept = rules.violations(order, request)
    return min(
        (turn for turn in turns if rules.violations(turn, request) <= kept),
        key=_late,
    )


def _late(order: Sequence[Piece]) -> int:
    """How late the demanding stations of an order come; trunk first counts too."""
    late = sum(place * _demand(piece) for place, piece in enumerate(order))
    return late + (len(order) if order[0].exercise.region == "core" else 0)


def _demand(piece: Piece) -> int:
    is_hard = piece.is_fast or piece.difficulty >= _HARD
    return 2 * is_hard + (piece.share == _HEAVY and piece.exercise.region != "core")


def _orders(tables: Tables) -> int:
    """How many orders there are."""
    kept = len(tables.request.keep)
    free = len(tables.pieces) - kept
    return comb(free, tables.count - kept) * factorial(tables.count)


def _best_of_all(tables: Tables, *, any_will_do: bool) -> Worth | None:
    """Look at every order; the first of the best."""
    keep = set(tables.request.keep)
    kept = [n for n, piece in enumerate(tables.pieces) if piece.id in keep]
    free = [n for n, piece in enumerate(tables.pieces) if piece.id not in keep]
    best: Worth | None = None
    for chosen in combinations(free, tables.count - len(kept)):
        for order in permutations([*kept, *chosen]):
            worth, broken = tables.worth(tables.total(order))
            if best is None or (-broken, worth) > best[:2]:
                best = (-broken, worth, list(order))
                if any_will_do and not broken:
                    return best
    return best


class _Walk:
    """One restart: a random order, changed step by step while it cools."""

    def __init__(self, tables: Tables, dice: Dice) -> None:
        self.tables, self.dice = tables, dice
        pieces, count = tables.pieces, tables.count
        self.kept = {n for n, p in enumerate(pieces) if p.id in tables.request.keep}
        free = [n for n in range(len(pieces)) if n not in self.kept]
        self._shuffle(free)
        self.order = [*self.kept, *free[: count - len(self.kept)]]
        self.free = free[count - len(self.kept) :]
        self._shuffle(self.order)
        self.region = [piece.exercise.region for piece in pieces]
        self.free_in: dict[str, list[int]] = {}
        for piece in self.free:
            self.free_in.setdefault(self.region[piece], []).append(piece)
        self.total = tables.total(self.order)
        self.worth, broken = tables.worth(self.total)
        self.best: Worth = (-broken, self.worth, list(self.order))

    def _shuffle(self, values: list[int]) -> None:
        for last in range(len(values) - 1, 0, -1):
            other = self.dice.below(last + 1)
            values[last], values[other] = values[other], values[last]

    def run(self, *, any_will_do: bool) -> int:
        """Do the steps of one restart; say how many were done."""
        for_six = PROBE_STEPS_FOR_SIX if any_will_do else STEPS_FOR_SIX
        steps = for_six * max(6, self.tables.count) // 6
        for step in range(steps):
            self._step(_TABLES[step * len(_TABLES) // steps])
            if any_will_do and step % 250 == 0 and not self._breaks():
                return step
        return steps

    def _breaks(self) -> bool:
        return self.best[0] < 0

    def _step(self, table: tuple[int, ...]) -> None:
        luck = self.dice.long_bits()
        kind = ((luck & _FIELD) * 100) >> 20
        if kind < 80:
            self._replace(table, luck, inside=kind < 65)
        elif kind < 88:
            self._reverse(table)
        elif kind < 96:
            self._swap(table, inside=kind < 92)
        else:
            self._move(table, luck)

    def _replace(self, table: tuple[int, ...], luck: int, *, inside: bool) -> None:
        order = self.order
        place = (((luck >> 20) & _FIELD) * len(order)) >> 20
        old = order[place]
        lists = self.free_in.get(self.region[old]) if inside else self.free
        if not lists or old in self.kept:
            return
        at = (((luck >> 40) & _FIELD) * len(lists)) >> 20
        new = lists[at]
        if len(order) < _LEAST_FOR_CHANGE:
            order[place] = new
            total = self.tables.total(order)
            order[place] = old
        else:
            total = self.total + self.tables.change(order, place, new)
        if not self._would_take(table, total):
            return
        order[place] = new
        self._take(total)
        self._exchange(old, new)

    def _move(self, table: tuple[int, ...], luck: int) -> None:
        """Take one out here and put another in there: regions change, turns stay."""
        order = self.order
        place = (((luck >> 20) & _FIELD) * len(order)) >> 20
        old = order[place]
        if not self.free or old in self.kept:
            return
        new = self.free[(((luck >> 40) & _FIELD) * len(self.free)) >> 20]
        before = list(order)
        del order[place]
        order.insert(self.dice.below(len(before)), new)
        if not self._takes(table):
            self.order = before
            return
        self._exchange(old, new)

    def _exchange(self, old: int, new: int) -> None:
        """Note that one has left the order and another has come from the free ones."""
        self.free.remove(new)
        self.free_in[self.region[new]].remove(new)
        self.free.append(old)
        self.free_in.setdefault(self.region[old], []).append(old)

    def _reverse(self, table: tuple[int, ...]) -> None:
        one, two = sorted(self.dice.below(len(self.order)) for _ in range(2))
        before = list(self.order)
        self.order[one : two + 1] = reversed(self.order[one : two + 1])
        if not self._takes(table):
            self.order = before

    def _swap(self, table: tuple[int, ...], *, inside: bool) -> None:
        order = self.order
        one = self.dice.below(len(order))
        region = self.region[order[one]]
        others = [
            place
            for place, piece in enumerate(order)
            if place != one and (not inside or self.region[piece] == region)
        ]
        if not others:
            return
        two = others[self.dice.below(len(others))]
        order[one], order[two] = order[two], order[one]
        if not self._takes(table):
            order[one], order[two] = order[two], order[one]

    def _takes(self, table: tuple[int, ...]) -> bool:
        """Judge the order as it now is; keep its worth if it is taken."""
        total = self.tables.total(self.order)
        if not self._would_take(table, total):
            return False
        self._take(total)
        return True

    def _would_take(self, table: tuple[int, ...], total: int) -> bool:
        loss = self.worth - self.tables.worth(total)[0]
        return loss <= 0 or (loss < _WORST and self.dice.bits() < table[loss])

    def _take(self, total: int) -> None:
        """Go on from the order as it now is."""
        self.total = total
        worth, broken = self.tables.worth(total)
        self.worth = worth
        if -broken >= self.best[0] and (-broken, worth) > self.best[:2]:
            self.best = (-broken, worth, list(self.order))
