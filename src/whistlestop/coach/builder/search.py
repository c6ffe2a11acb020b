"""A seeded search for the best order of stations, the same on every machine.

Whole numbers only, a generator of its own, and steps instead of seconds. It reads the
rules and the objective into tables of sums and refuses to know any rule itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from whistlestop.coach.builder import objective, rules
from whistlestop.coach.builder.facts import AGAINST, HINGE, PULL, PUSH, SQUAT, Piece
from whistlestop.coach.builder.request import Request

RESTARTS: Final = 2
# Small circuits are quick to judge, so they are looked for twice as often.
SMALL: Final = 9
STEPS_FOR_SIX: Final = 13_500
# For any order that breaks no rule: those are found in far fewer steps.
PROBE_STEPS_FOR_SIX: Final = 2_250
# What one broken rule costs on the way: little, so that a walk gets through; of two
# orders the one that breaks less is better in the end, whatever its points.
BROKEN: Final = 5
# Temperatures in quarter points, one for each sixteenth of a restart; chosen among
# five by what they led to on eight requests of 6 to 15 stations.
_HEAT: Final = (5, 5, 4, 4, 4, 4, 3, 3, 3, 3, 2, 2, 2, 2, 1, 1)
_ONE: Final = 1 << 32
_WORST: Final = 256

# Sums are packed into one whole number, so that one addition adds them all.
_BITS: Final = 12
_MASK: Final = (1 << _BITS) - 1
_FIELDS: Final = (
    "broken", "points", "kit", "floor", "legs", "core", "arms", "whole", "sided",
    "push", "pull", "hinge", "squat", "one_leg", "against", "difficulty",
)  # fmt: skip
_SHIFT: Final = {name: _BITS * place for place, name in enumerate(_FIELDS)}


@dataclass(frozen=True, slots=True)
class Found:
    """The best order found, its points, and whether it breaks no rule."""

    order: tuple[Piece, ...]
    points: int
    broken: int
    steps: int

    @property
    def is_allowed(self) -> bool:
        """Whether it is a circuit that may be done."""
        return self.broken == 0


class Dice:
    """Whole numbers at random from a seed: the generator known as SplitMix64."""

    def __init__(self, seed: int) -> None:
        """Begin with a seed; negative ones and large ones wrap."""
        self._state = seed % (1 << 64)

    def bits(self) -> int:
        """32 random bits."""
        self._state = (self._state + 0x9E3779B97F4A7C15) & 0xFFFFFFFFFFFFFFFF
        z = self._state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & 0xFFFFFFFFFFFFFFFF
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & 0xFFFFFFFFFFFFFFFF
        return (z ^ (z >> 31)) >> 32

    def below(self, count: int) -> int:
        """A number from 0 to `count` - 1, `count` far below 2**32."""
        return (self.bits() * count) >> 32


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


class Tables:
    """Rules and objective as sums over numbers of pieces."""

    def __init__(self, pieces: Sequence[Piece], request: Request) -> None:
        """Read rules and objective once for each piece and pair of pieces."""
        self.pieces = tuple(pieces)
        self.request = request
        self.count = request.stations
        families = sorted({piece.card.family for piece in pieces})
        self.family = [1 << families.index(piece.card.family) for piece in pieces]
        self.wrists = ["Wr" in p.exercise.cautions for p in pieces]
        self.near = [[self._near(one, two) for two in pieces] for one in pieces]
        self.apart = [[self._apart(one, two) for two in pieces] for one in pieces]
        athletes = request.athletes
        self.half = [
            [len(rules.half_apart(one, two, athletes)) for two in pieces]
            for one in (pieces if athletes > 1 else ())
        ]
        own = [self._own(piece) for piece in pieces]
        places = range(1, self.count + 1)
        waived = request.waived
        self.place = [
            [
                own[n] + len(rules.in_place(piece, number, self.count, waived))
                for n, piece in enumerate(pieces)
            ]
            for number in places
        ]
        self._worth: dict[tuple[int, int], tuple[int, int]] = {}

    def _near(self, one: Piece, two: Piece) -> int:
        return (
            len(rules.next_to(one, two, self.request.waived))
            + (objective.changes_kit(one, two) << _SHIFT["kit"])
            + (rules.changes_floor(one, two) << _SHIFT["floor"])
        )

    def _apart(self, one: Piece, two: Piece) -> int:
        return len(rules.one_apart(one, two, self.request.waived))

    def _own(self, piece: Piece) -> int:
        pattern, region = piece.exercise.pattern, piece.exercise.region
        counted = {
            "points": objective.own_points(piece, self.request),
            region: 1,
            "sided": piece.is_one_sided,
            "push": pattern in PUSH,
            "pull": pattern in PULL,
            "hinge": pattern in HINGE,
            "squat": pattern in SQUAT,
            "one_leg": objective.is_one_leg(piece),
            "against": pattern in AGAINST,
            "difficulty": piece.card.difficulty,
        }
        return sum(int(value) << _SHIFT[name] for name, value in counted.items())

    def worth(self, order: Sequence[int]) -> tuple[int, int]:
        """Points of an order of piece numbers less what it breaks, and how much."""
        near, apart, family, wrists = self.near, self.apart, self.family, self.wrists
        total = on = 0
        seen = 0
        last, before = order[-1], order[-2]
        run = wrists[before] + 2 * wrists[last]
        for table, piece in zip(self.place, order, strict=True):
            total += table[piece] + near[last][piece] + apart[before][piece]
            seen |= family[piece]
            if wrists[piece]:
                on += run == 3
                run = (run >> 1) | 2
            else:
                run >>= 1
            before, last = last, piece
        if self.half:
            middle = self.count // 2
            turned = [*order[middle:], *order[:middle]]
            total += sum(self.half[a][b] for a, b in zip(order, turned, strict=True))
        if on and "wrists" not in self.request.waived:
            total += on
        key = (total, seen)
        worth = self._worth.get(key)
        if worth is None:
            worth = self._worth[key] = self._judged(total, seen)
        return worth

    def _judged(self, total: int, seen: int) -> tuple[int, int]:
        points, broken = self._parts(total, seen)
        return points - BROKEN * broken, broken

    def _parts(self, total: int, seen: int) -> tuple[int, int]:
        at = {name: (total >> shift) & _MASK for name, shift in _SHIFT.items()}
        counted = rules.Totals(
            at["legs"], at["core"], at["arms"], at["whole"], at["sided"], at["floor"]
        )
        waived = self.request.waived
        broken = at["broken"] + rules.over_all(counted, self.count, waived)
        balance = objective.Balance(
            at["push"],
            at["pull"],
            at["hinge"],
            at["squat"],
            at["legs"],
            at["one_leg"],
            at["against"],
            at["difficulty"],
            at["kit"],
            at["floor"],
            seen.bit_count(),
        )
        target = self.request.difficulty
        points = objective.balance_points(balance, self.count, target)
        return at["points"] + points, broken


def search(
    pieces: Sequence[Piece], request: Request, *, any_will_do: bool = False
) -> Found | None:
    """Find the best order for a request among some pieces.

    Args:
        pieces: What may be chosen; those to keep must be among them.
        request: Stations, wishes and seed.
        any_will_do: Stop at the first order that breaks no rule.

    Returns:
        The best found; it may break rules, which proves nothing. None where there
        are fewer pieces than stations, or one to keep is not among them.
    """
    ids = {piece.id for piece in pieces}
    if len(pieces) < request.stations or not ids.issuperset(request.keep):
        return None
    tables = Tables(pieces, request)
    dice = Dice(request.seed)
    best: tuple[int, int, list[int]] | None = None
    steps = 0
    for _ in range(RESTARTS * (2 if request.stations <= SMALL else 1)):
        walk = _Walk(tables, dice)
        steps += walk.run(any_will_do=any_will_do)
        if best is None or walk.best[:2] > best[:2]:
            best = walk.best
        if any_will_do and best[0] == 0:
            break
    assert best is not None
    order = tuple(tables.pieces[n] for n in best[2])
    broken = rules.violations(order, request)
    return Found(order, objective.points(order, request), broken, steps)


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
        self.worth, broken = tables.worth(self.order)
        # Breaking less comes before points; -broken, worth and the order.
        self.best = (-broken, self.worth, list(self.order))

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
        kind = self.dice.below(100)
        if kind < 80:
            self._replace(table, inside=kind < 65)
        elif kind < 88:
            self._reverse(table)
        else:
            self._swap(table, inside=kind < 95)

    def _replace(self, table: tuple[int, ...], *, inside: bool) -> None:
        place = self.dice.below(len(self.order))
        old = self.order[place]
        lists = self.free_in.get(self.region[old], []) if inside else self.free
        if old in self.kept or not lists:
            return
        new = lists[self.dice.below(len(lists))]
        self.order[place] = new
        if self._takes(table):
            self.free.remove(new)
            self.free_in[self.region[new]].remove(new)
            self.free.append(old)
            self.free_in.setdefault(self.region[old], []).append(old)
        else:
            self.order[place] = old

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
        worth, broken = self.tables.worth(self.order)
        loss = self.worth - worth
        if loss > 0 and (loss >= _WORST or self.dice.bits() >= table[loss]):
            return False
        self.worth = worth
        if -broken >= self.best[0] and (-broken, worth) > self.best[:2]:
            self.best = (-broken, worth, list(self.order))
        return True
