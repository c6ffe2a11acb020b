"""The most even days of a week, found by trying all of them.

Owns the pattern that regular weeks repeat: how far apart its days are, Sunday to
Monday included, and which circuit may stand on which. Refuses to know dates: what a
single week cannot keep of it is for `weeks`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import combinations, pairwise, product
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.review.days import DAYS_IN_WEEK

TWO_WEEKS: Final = 2 * DAYS_IN_WEEK
# How many sessions of a first week a set of days would still hold.
FirstWeek = Callable[[Sequence[int]], int]


@dataclass(frozen=True, slots=True)
class SpacingRules:
    """What a pattern has to keep, with circuits as numbers in their turn.

    `free` and `key` are weekdays from 0, Monday. `near` has the pairs of circuits that
    may not stand on two days in a row, `leg_heavy` the circuits that may not stand on
    the day before a key day. `asked` is how many sessions are wanted a week.
    """

    asked: int
    free: frozenset[int]
    circuits: int
    near: frozenset[tuple[int, int]]
    key: frozenset[int] = frozenset()
    leg_heavy: frozenset[int] = frozenset()

    def suits(self, day: int, circuit: int) -> bool:
        """Whether a circuit may stand on a day of the pattern."""
        before_key = (day + 1) % DAYS_IN_WEEK in self.key
        return not (before_key and circuit in self.leg_heavy)


@dataclass(frozen=True, slots=True)
class Pattern:
    """Days that repeat every `length` days, counted from a Monday, 0.

    `circuits` has the circuit of each day where they are tied to days; empty: they are
    taken in turn, whatever the day.
    """

    length: int = DAYS_IN_WEEK
    days: tuple[int, ...] = ()
    circuits: tuple[int, ...] = ()

    def of_week(self, week: int) -> tuple[tuple[int, int | None], ...]:
        """The weekdays of a week, from 0, each with its circuit or None: in turn."""
        begin = week * DAYS_IN_WEEK % self.length
        tied = self.circuits or (None,) * len(self.days)
        return tuple(
            (day - begin, circuit)
            for day, circuit in zip(self.days, tied, strict=True)
            if begin <= day < begin + DAYS_IN_WEEK
        )


def best_pattern(rules: SpacingRules, first_week: FirstWeek) -> Pattern:
    """The pattern with the most sessions, and of those the most even one.

    Few on key days, circuits in turn where that costs no session, the least spread, the
    most sessions in the first week, early days. Where a week does not hold as many as
    are asked, two weeks that alternate are tried: every other day is four and three.
    """
    return min(
        _most_even(rules),
        key=lambda found: (-first_week(found.days), found.days, found.circuits),
    )


@lru_cache(maxsize=50)
def _most_even(rules: SpacingRules) -> tuple[Pattern, ...]:
    """All patterns that differ in no more than which days they are."""
    found: tuple[Pattern, ...] = (Pattern(),)
    for count in range(min(rules.asked, len(rules.free)), 0, -1):
        if made := _best_of(rules, DAYS_IN_WEEK, count):
            found = made
            break
    held = len(found[0].days)
    if held == rules.asked:
        return found
    turns = {(n, (n + 1) % rules.circuits) for n in range(rules.circuits)}
    # Nothing two days in a row: every other day is the most there is.
    most = DAYS_IN_WEEK if turns <= rules.near else TWO_WEEKS
    for count in range(min(most, 2 * rules.asked), 2 * held, -1):
        if made := _best_of(rules, TWO_WEEKS, count):
            return made
    return found


def gaps_of(days: Sequence[int], length: int) -> list[int]:
    """The gaps between days of a pattern, the one to its next round included."""
    return [b - a for a, b in pairwise((*days, days[0] + length))]


def _best_of(rules: SpacingRules, length: int, count: int) -> tuple[Pattern, ...]:
    """The most even patterns with so many sessions; none where there is none."""
    best: tuple[int, ...] | None = None
    found: list[Pattern] = []
    weeks = range(0, length, DAYS_IN_WEEK)
    free = [week + day for week in weeks for day in sorted(rules.free)]
    for days in combinations(free, count):
        for rank, circuits in _circuits_on(rules, days, length):
            if _most_of_week(days) > rules.asked:
                break
            gaps = gaps_of(days, length)
            cost = (
                sum(day % DAYS_IN_WEEK in rules.key for day in days),
                rank,
                max(gaps) - min(gaps),
                sum(gap * gap for gap in gaps),
            )
            if best is None or cost < best:
                best, found = cost, []
            if cost == best:
                found.append(Pattern(length, days, circuits))
    return tuple(found)


def _most_of_week(days: Sequence[int]) -> int:
    weeks = [day // DAYS_IN_WEEK for day in days]
    return max(weeks.count(week) for week in set(weeks))


def _circuits_on(
    rules: SpacingRules, days: tuple[int, ...], length: int
) -> Iterator[tuple[int, tuple[int, ...]]]:
    """The circuits that may stand on these days, with a rank: 0 is in turn."""
    close = [gap == 1 for gap in gaps_of(days, length)]
    every = range(rules.circuits)
    turns = [(one, (one + 1) % rules.circuits) for one in every]
    anywhere = all(rules.suits(day, circuit) for day in days for circuit in every)
    if anywhere and (not any(close) or not rules.near.intersection(turns)):
        yield 0, ()
        return
    count = len(days)
    if count % rules.circuits == 0:
        for phase in every:
            tied = tuple((phase + n) % rules.circuits for n in range(count))
            if _holds(rules, days, tied, close):
                yield 0, tied
    if length == DAYS_IN_WEEK and rules.circuits > 1:
        for tied in product(every, repeat=count):
            if _holds(rules, days, tied, close):
                often = [tied.count(one) for one in every]
                yield 1 + max(often) - min(often), tied


def _holds(
    rules: SpacingRules,
    days: Sequence[int],
    circuits: Sequence[int],
    close: Sequence[bool],
) -> bool:
    after = (*circuits[1:], circuits[0])
    return all(
        rules.suits(day, one) and not (is_close and (one, other) in rules.near)
        for day, one, other, is_close in zip(days, circuits, after, close, strict=True)
    )
