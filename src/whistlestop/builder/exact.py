"""The same rules and objective as a whole-number program, solved by HiGHS.

Needs the extra `proof`. Pairs of neighbours are asked of `rules` and `objective` and
put into inequalities; only what is counted over a whole loop is written again, and
each answer is judged again by the one statement. Refuses to know how else to search.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from whistlestop.builder import objective, rules
from whistlestop.builder.facts import Piece
from whistlestop.builder.request import Request, most_whole
from whistlestop.builder.search import well_begun
from whistlestop.builder.yielding import full_regions, waived_for

# Points are whole: a better circuit would be better by one at least.
_LESS_THAN_ONE: Final = 0.99
_ROUNDING: Final = 1e-6

Pairs = Callable[[Piece, Piece], bool]
Biclique = tuple[frozenset[int], frozenset[int]]


@dataclass(frozen=True, slots=True)
class ExactSearch:
    """What the solver says.

    `order` is the best that is known, None where there is none known; no circuit has
    more points than `bound`. `proved`: the order is the best, or there is none.
    """

    order: tuple[Piece, ...] | None
    points: int | None
    bound: int | None
    proved: bool


def is_there() -> bool:
    """Say whether the solver is installed."""
    from importlib.util import find_spec

    return find_spec("highspy") is not None


def exact(
    pieces: Sequence[Piece],
    request: Request,
    *,
    seconds: float,
    any_will_do: bool = False,
) -> ExactSearch:
    """Find the best order of some pieces, or what can be shown in a time.

    Args:
        pieces: What may be chosen.
        request: Stations and wishes; lengths play no part.
        seconds: How long the solver may take.
        any_will_do: Only ask whether there is any order.

    Raises:
        ModuleNotFoundError: The extra is not installed.
    """
    ids = {piece.id for piece in pieces}
    if len(pieces) < request.stations or not ids.issuperset(request.keep):
        return ExactSearch(None, None, None, proved=True)
    program = _Program(pieces, request, with_points=not any_will_do)
    return program.solve(seconds)


def bicliques(pieces: Sequence[Piece], pairs: Pairs) -> tuple[Biclique, ...]:
    """Cover the pairs for which something holds by all-to-all blocks, made large.

    Each block (ones, twos) holds for each of `ones` followed by each of `twos`;
    every pair that holds lies in a block.
    """
    numbers = range(len(pieces))
    after = [
        frozenset(b for b in numbers if pairs(pieces[a], pieces[b])) for a in numbers
    ]
    before = [frozenset(a for a in numbers if b in after[a]) for b in numbers]
    found: dict[Biclique, None] = {}
    for twos in dict.fromkeys(filter(None, after)):
        ones = frozenset(a for a in numbers if twos <= after[a])
        found[ones, twos] = None
    for ones in dict.fromkeys(filter(None, before)):
        twos = frozenset(b for b in numbers if ones <= before[b])
        found[ones, twos] = None
    return tuple(found)


class _Program:
    """The program of one request: x[place][piece] is 1 where a piece stands."""

    def __init__(
        self, pieces: Sequence[Piece], request: Request, *, with_points: bool
    ) -> None:
        import highspy

        self.pieces, self.request = tuple(pieces), request
        self.count = request.stations
        self.waived = waived_for(request)
        self.wishes = objective.loop_wishes(request)
        self.places = range(self.count)
        make: Any = highspy.Highs
        self.solver: Any = make()
        self.solver.silent()
        self.x = [[self.solver.addBinary() for _ in pieces] for _ in self.places]
        self._at: dict[tuple[int, frozenset[int]], Any] = {}
        self._choice()
        self._neighbours()
        floor = self._floor_changes()
        self._sums(floor)
        self.points = self._points() if with_points else 0

    def _sum_at(self, place: int, numbers: frozenset[int]) -> Any:
        """How many of some pieces stand at a place: 0 or 1."""
        row = self.x[place % self.count]
        return self.solver.qsum([row[n] for n in sorted(numbers)])

    def _having(self, holds: Callable[[Piece], bool]) -> frozenset[int]:
        return frozenset(n for n, piece in enumerate(self.pieces) if holds(piece))

    def _sum(self, holds: Callable[[Piece], bool]) -> Any:
        return self._sum_of(self._having(holds))

    def _sum_of(self, numbers: frozenset[int]) -> Any:
        return self.solver.qsum([row[n] for row in self.x for n in sorted(numbers)])

    def _add(self, inequality: Any) -> None:
        # An inequality without any variable is a plain truth value.
        if isinstance(inequality, bool):
            if inequality:
                return
            inequality = self.x[0][0] + 0 >= 2
        self.solver.addConstr(inequality)

    def _choice(self) -> None:
        for row in self.x:
            self.solver.addConstr(self.solver.qsum(row) == 1)
        for number, piece in enumerate(self.pieces):
            times = self.solver.qsum([row[number] for row in self.x])
            kept = piece.id in self.request.keep
            self.solver.addConstr(times == 1 if kept else times <= 1)
        self._numbers()

    def _numbers(self) -> None:
        """Let the circle turn: `first` says at which place the circuit begins.

        Only that rules of place hold decides it, so that turning the whole circle
        gives nothing new; a station that has to be there can then be put first.
        """
        count, waived = self.count, self.waived
        self.first = [self.solver.addBinary() for _ in self.places]
        self.solver.addConstr(self.solver.qsum(self.first) == 1)
        groups: dict[frozenset[int], list[int]] = {}
        for n, piece in enumerate(self.pieces):
            wrong = [
                number
                for number in range(count)
                if rules.in_place(piece, number + 1, count, waived)
            ]
            groups.setdefault(frozenset(wrong), []).append(n)
        for wrong_numbers, group in groups.items():
            for place in self.places if wrong_numbers else ():
                starts = [
                    self.first[start]
                    for start in self.places
                    if (place - start) % count not in wrong_numbers
                ]
                here = self._sum_at(place, frozenset(group))
                self._add(here - self.solver.qsum(starts) <= 0)
        if anchor := self._anchor():
            self._add(self._sum_at(0, anchor) >= 1)

    def _anchor(self) -> frozenset[int]:
        """Pieces of which one at least is in every circuit; empty for none known."""
        if self.request.keep:
            kept = self.request.keep[0]
            return self._having(lambda piece: piece.id == kept)
        free = self.count - most_whole(self.count)
        full = full_regions(self.waived)
        if "regions" in self.waived or not full or free < len(full):
            return frozenset()
        return min(map(self._of_region, full), key=len)

    def _neighbours(self) -> None:
        waived = self.waived
        everybody = [(one, two) for one in self.pieces for two in self.pieces]
        names = {
            name for one, two in everybody for name in rules.next_to(one, two, waived)
        }
        for name in sorted(names):
            self._never(1, self._breaks(name))
        self._never(2, lambda a, b: bool(rules.one_apart(a, b, waived)))
        offset = rules.offset(self.count, self.request.athletes)
        if offset:
            self._never(offset, lambda a, b: bool(rules.at_once(a, b, self.request)))
        hands = self._having(rules.is_on_hands)
        if hands and "wrists" not in waived:
            for place in self.places:
                run = [self._sum_at(place + step, hands) for step in range(3)]
                self._add(run[0] + run[1] + run[2] <= 2)

    def _breaks(self, name: str) -> Pairs:
        return lambda one, two: name in rules.next_to(one, two, self.waived)

    def _of_region(self, region: str) -> frozenset[int]:
        return self._having(lambda piece: piece.exercise.region == region)

    def _never(self, apart: int, pairs: Pairs) -> None:
        """Forbid pairs of stations so many places apart; none twice the same."""
        for ones, twos in bicliques(self.pieces, pairs):
            for place in self.places:
                here = self._sum_at(place, ones)
                self._add(here + self._sum_at(place + apart, twos) <= 1)

    def _penalties(self, pairs: Pairs) -> list[Any]:
        """One variable a place, 1 where the pair that begins there holds."""
        found = [self.solver.addVariable(0, 1) for _ in self.places]
        for ones, twos in bicliques(self.pieces, pairs):
            others = frozenset(range(len(self.pieces))) - ones
            for place in self.places:
                after = self._sum_at(place + 1, twos)
                if others:
                    after = after - self._sum_at(place, others)
                self.solver.addConstr(found[place] - after >= 0)
        return found

    def _floor_changes(self) -> Any:
        return self.solver.qsum(self._penalties(rules.changes_floor))

    def _sums(self, floor: Any) -> None:
        count, waived = self.count, self.waived
        by_region = [
            self._sum_of(self._of_region(name)) for name in full_regions(waived)
        ]
        if "regions" not in waived:
            for one in by_region:
                for two in by_region:
                    if one is not two:
                        self._add(one - two <= rules.MOST_APART)
        whole = self._sum(lambda p: p.exercise.region == "whole")
        self._add(whole <= most_whole(count))
        if "one-sided" not in waived:
            sided = self._sum(lambda p: p.is_one_sided)
            least, most = rules.sided_range(count)
            self._add(sided >= least)
            self._add(sided <= most)
        if "floor" not in waived:
            self._add(floor <= rules.most_floor(count))

    # --- Points --------------------------------------------------------------

    def _points(self) -> Any:
        own = [objective.own_points(piece, self.request) for piece in self.pieces]
        qsum = self.solver.qsum
        pairs = [
            one.points * qsum(self._penalties(one.holds))
            for one in objective.pair_costs(self.request)
        ]
        return (
            qsum([own[n] * row[n] for row in self.x for n in range(len(own)) if own[n]])
            + objective.FAMILY * qsum(self._families())
            - qsum(pairs)
            - self._balance()
            - objective.DIFFICULTY * self._difficulty()
            - self._lacking()
        )

    def _families(self) -> list[Any]:
        found = []
        families: dict[str, set[int]] = {}
        for n, piece in enumerate(self.pieces):
            families.setdefault(piece.card.family, set()).add(n)
        for numbers in families.values():
            there = self.solver.addVariable(0, 1)
            stands = self._sum_of(frozenset(numbers))
            self._add(there - stands <= 0)
            found.append(there)
        return found

    def _balance(self) -> Any:
        wishes = self.wishes
        pushes = objective.PUSH_PULL * self._push_pull() if wishes.pushes else 0
        hinges = objective.HINGE_SQUAT * self._hinge_squat() if wishes.hinges else 0
        return pushes + hinges

    def _push_pull(self) -> Any:
        """Pushes above the pulls, or pulls above one and a half pushes, at least 1."""
        push = self._sum(objective.COUNTED["push"])
        pull = self._sum(objective.COUNTED["pull"])
        above = self.solver.addVariable(0, self.count)
        most = self.solver.addIntegral(0, 2 * self.count)
        none = self.solver.addBinary()
        self._add(self.count * none + push <= self.count)
        self._add(2 * most - 3 * push - none <= 1)
        self._add(above - push + pull >= 0)
        self._add(above - pull + most >= 0)
        return above

    def _hinge_squat(self) -> Any:
        hinge = self._sum(objective.COUNTED["hinge"])
        squat = self._sum(objective.COUNTED["knee"])
        above = self.solver.addVariable(0, self.count)
        self._add(above - hinge + squat >= -1)
        self._add(above - squat + hinge >= -1)
        return above

    def _difficulty(self) -> Any:
        """How far the sum of the difficulty is outside what is wished."""
        away = self.solver.addVariable(0, 10 * self.count)
        whole = self.solver.qsum(
            [p.difficulty * row[n] for row in self.x for n, p in enumerate(self.pieces)]
        )
        self._add(away - whole >= -self.wishes.high)
        self._add(away + whole >= self.wishes.low)
        return away

    def _lacking(self) -> Any:
        """What it costs that there are too few stations of a kind."""
        costs = []
        for name, least, cost in self.wishes.least:
            lacking = self.solver.addVariable(0, least)
            self._add(lacking + self._sum(objective.COUNTED[name]) >= least)
            costs.append(cost * lacking)
        return self.solver.qsum(costs)

    # --- Solving -------------------------------------------------------------

    def solve(self, seconds: float) -> ExactSearch:
        """Let the solver work for a time."""
        import highspy

        solver = self.solver
        for option, value in (
            ("time_limit", float(seconds)),
            ("threads", 1),
            ("mip_rel_gap", 0.0),
            ("mip_abs_gap", _LESS_THAN_ONE),
        ):
            solver.setOptionValue(option, value)
        if isinstance(self.points, int):
            solver.run()
        else:
            solver.maximize(self.points)
        status, info = solver.getModelStatus(), solver.getInfo()
        if status == highspy.HighsModelStatus.kInfeasible:
            return ExactSearch(None, None, None, proved=True)
        known = info.primal_solution_status == int(
            highspy.SolutionStatus.kSolutionStatusFeasible
        )
        order = self._order(solver.getSolution().col_value) if known else None
        bound = (
            int(info.mip_dual_bound + _ROUNDING)
            if abs(info.mip_dual_bound) < 1e9
            else None
        )
        is_best = status == highspy.HighsModelStatus.kOptimal
        return self._judged(order, bound, optimal=is_best)

    def _judged(
        self, order: tuple[Piece, ...] | None, bound: int | None, *, optimal: bool
    ) -> ExactSearch:
        if order is None:
            return ExactSearch(None, None, bound, proved=False)
        if rules.violations(order, self.request):
            raise AssertionError("the solver's order breaks a rule as it is written")
        points = objective.points(order, self.request)
        if isinstance(self.points, int):
            return ExactSearch(order, points, None, proved=True)
        proved = optimal or bound == points
        return ExactSearch(order, points, points if proved else bound, proved)

    def _order(self, values: Sequence[float]) -> tuple[Piece, ...]:
        begins = max(self.places, key=lambda place: values[self.first[place].index])
        circle = [
            max(
                range(len(self.pieces)),
                key=lambda n, row=row: values[row[n].index],  # type: ignore[misc]
            )
            for row in self.x
        ]
        turned = circle[begins:] + circle[:begins]
        return well_begun([self.pieces[n] for n in turned], self.request)
