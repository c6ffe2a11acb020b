"""Rules and objective as sums over numbers of pieces, for the search.

Reads the one statement in `rules` and `objective` once for each piece and pair, so
that a step costs a few additions; refuses to know any rule itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.builder import objective, rules
from whistlestop.builder.facts import Piece
from whistlestop.builder.request import Request
from whistlestop.builder.yielding import waived_for

# What one broken rule costs on the way: little, so that a walk gets through; of two
# orders the one that breaks less is better in the end, whatever its points.
BROKEN: Final = 12
_BROKEN_ALONE: Final = 3

# Sums are packed into one whole number, so that one addition adds them all. Points may
# be below 0, so each piece and each pair is lifted by as much as the lowest is below.
_BITS: Final = 12
_MASK: Final = (1 << _BITS) - 1
_FIELDS: Final = (
    "broken", "points", "floor", "legs", "core", "arms", "whole", "sided",
    "difficulty", *objective.COUNTED,
)  # fmt: skip
_SHIFT: Final = {name: _BITS * place for place, name in enumerate(_FIELDS)}
_POINT: Final = 1 << _SHIFT["points"]
_COUNTED: Final = _SHIFT["floor"]
# How often each family stands there: so many bits each, above all other sums.
_FAMILIES: Final = _BITS * len(_FIELDS)
_FAMILY_BITS: Final = 5
_COUNTS: Final = (1 << (_FAMILIES - _COUNTED)) - 1


class Tables:
    """Sums for a request and its pieces; pieces are named by their numbers.

    Without points only rules count, for a walk to whatever breaks none.
    """

    def __init__(
        self, pieces: Sequence[Piece], request: Request, *, with_points: bool = True
    ) -> None:
        """Read rules and objective once for each piece and pair of pieces."""
        self._with_points = with_points
        self._cost = BROKEN if with_points else _BROKEN_ALONE
        self.pieces = tuple(pieces)
        self.request = request
        self.count = request.stations
        self.waived = waived_for(request)
        self.offset = rules.offset(self.count, request.athletes)
        self.wrists = [
            "wrists" not in self.waived and rules.is_on_hands(piece) for piece in pieces
        ]
        costs = objective.pair_costs(request) if with_points else ()
        pairs = [
            [-sum(one.points for one in costs if one.holds(a, b)) for b in pieces]
            for a in pieces
        ]
        worths = [
            objective.own_points(piece, request) if with_points else 0
            for piece in pieces
        ]
        lifts = [-min(map(min, pairs), default=0), max(0, -min(worths, default=0))]
        self._bias = self.count * sum(lifts)
        assert self.count * (max(worths, default=0) + sum(lifts)) < _MASK
        self.near = [
            [self._near(one, two, pairs[a][b] + lifts[0])
             for b, two in enumerate(pieces)]
            for a, one in enumerate(pieces)
        ]  # fmt: skip
        waived = self.waived
        self.apart = [
            [len(rules.one_apart(one, two, waived)) for two in pieces] for one in pieces
        ]
        self.at_once = self._at_once() if self.offset else []
        families = sorted({piece.card.family for piece in pieces})
        own = [
            self._own(piece, families, worth + lifts[1])
            for piece, worth in zip(pieces, worths, strict=True)
        ]
        self.place = [
            [
                own[n] + len(rules.in_place(piece, number, self.count, waived))
                for n, piece in enumerate(pieces)
            ]
            for number in range(1, self.count + 1)
        ]
        self._loop = objective.loop_wishes(request)
        self._judged: dict[int, tuple[int, int]] = {}
        self._several: dict[int, int] = {}

    def _near(self, one: Piece, two: Piece, points: int) -> int:
        return (
            len(rules.next_to(one, two, self.waived))
            + points * _POINT
            + (rules.changes_floor(one, two) << _SHIFT["floor"])
        )

    def _at_once(self) -> list[list[int]]:
        known: dict[tuple[tuple[str, ...], ...], int] = {}
        for one in self.pieces:
            for two in self.pieces:
                if (one.kit, two.kit) not in known:
                    broken = rules.at_once(one, two, self.request)
                    known[one.kit, two.kit] = len(broken)
        return [[known[a.kit, b.kit] for b in self.pieces] for a in self.pieces]

    def _own(self, piece: Piece, families: Sequence[str], points: int) -> int:
        counted: dict[str, int] = {
            "points": points,
            piece.exercise.region: 1,
            "sided": piece.is_one_sided,
            "difficulty": piece.difficulty,
            **{name: holds(piece) for name, holds in objective.COUNTED.items()},
        }
        family = _FAMILIES + _FAMILY_BITS * families.index(piece.card.family)
        packed = sum(int(value) << _SHIFT[name] for name, value in counted.items())
        return packed + (1 << family)

    def total(self, order: Sequence[int]) -> int:
        """Everything about an order in one packed sum."""
        near, apart, wrists = self.near, self.apart, self.wrists
        before, last = order[-2], order[-1]
        total = 0
        run = wrists[before] + 2 * wrists[last]
        for table, piece in zip(self.place, order, strict=True):
            total += table[piece] + near[last][piece] + apart[before][piece]
            if wrists[piece]:
                total += run == 3
                run = (run >> 1) | 2
            else:
                run >>= 1
            before, last = last, piece
        if self.offset:
            turned = [*order[self.offset :], *order[: self.offset]]
            total += sum(self.at_once[a][b] for a, b in zip(order, turned, strict=True))
        return total

    def change(self, order: Sequence[int], at: int, new: int) -> int:
        """What another piece at a place adds to the sum of five stations or more."""
        count = self.count
        old = order[at]
        before, last = order[at - 2], order[at - 1]
        after, later = order[(at + 1) % count], order[(at + 2) % count]
        near, apart, place = self.near, self.apart, self.place[at]
        to_new, to_old = near[last], near[new]
        changed = place[new] - place[old]
        changed += to_new[new] - to_new[old] + to_old[after] - near[old][after]
        far = apart[before]
        changed += far[new] - far[old] + apart[new][later] - apart[old][later]
        wrists = self.wrists
        if wrists[new] != wrists[old]:
            left, right = wrists[last], wrists[after]
            runs = (wrists[before] and left) + (left and right)
            runs += right and wrists[later]
            changed += runs if wrists[new] else -runs
        if self.offset:
            one, two = order[at - self.offset], order[(at + self.offset) % count]
            table = self.at_once
            changed += table[one][new] - table[one][old]
            changed += table[new][two] - table[old][two]
        return changed

    def worth(self, total: int) -> tuple[int, int]:
        """Points of a packed sum less what it breaks, and how much that is."""
        counted = (total >> _COUNTED) & _COUNTS
        judged = self._judged.get(counted)
        if judged is None:
            judged = self._judged[counted] = self._of_counts(total)
        points, broken = judged
        families = total >> _FAMILIES
        several = self._several.get(families)
        if several is None:
            several = _family_points(families) if self._with_points else 0
            self._several[families] = several
        broken += total & _MASK
        points += several + ((total >> _BITS) & _MASK) - self._bias
        return points - self._cost * broken, broken

    def _of_counts(self, total: int) -> tuple[int, int]:
        """Points and broken rules of what is counted over the whole loop."""
        at = {name: (total >> shift) & _MASK for name, shift in _SHIFT.items()}
        counted = rules.OrderTotals(
            at["legs"], at["core"], at["arms"], at["whole"], at["sided"], at["floor"]
        )
        points = self._loop.points(at, at["difficulty"]) if self._with_points else 0
        return points, rules.over_all(counted, self.count, self.waived)


def _family_points(counts: int) -> int:
    """Points for each family that stands there at all."""
    families = 0
    while counts:
        families += bool(counts & ((1 << _FAMILY_BITS) - 1))
        counts >>= _FAMILY_BITS
    return objective.FAMILY * families
