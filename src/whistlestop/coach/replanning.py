"""Planning again after a missed day or a new wish, with as little changed as can be.

Owns the search for the fewest dropped, then the fewest moved sessions. Refuses to
double: no day gets two sessions, and no week more than it had.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from whistlestop.coach.weeks import PlannedSession, Weeks, WeekWishes, fits
from whistlestop.dataclass import dataclass
from whistlestop.review.days import DAYS_IN_WEEK, week_of

# Of weeks with more sessions only those are searched in full that cannot stay as they
# are; in the others one session at most makes room for the week beside it.
_SEARCHED_IN_FULL: Final = 3


@dataclass(frozen=True, slots=True)
class PlanRevision:
    """The plan made again, with what became of each session that changed.

    `moved` are ids with their old and new day; `dropped` are ids. `sentences` say
    it in words.
    """

    weeks: Weeks
    moved: tuple[tuple[str, date, date], ...] = ()
    dropped: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """What changed, one sentence each; none where nothing did."""
        by_id = {session.id: session for session in self.weeks.sessions}
        sentences = [
            f"{by_id[key].circuit} moves from {old:%a %d %b} to {new:%a %d %b}."
            for key, old, new in self.moved
        ]
        for key in self.dropped:
            session = by_id[key]
            sentences.append(
                f"{session.circuit} of {session.day:%a %d %b} is dropped; "
                "nothing has to be made up."
            )
        return tuple(sentences)


def replan(plan: Weeks, wishes: WeekWishes, today: date) -> PlanRevision:
    """Plan again from today on: sessions before it that were not done are missed.

    Every session stays in its week; those of weeks that are over are not made up. As
    few as can be are dropped, then as few as can be moved, onto key days last, and
    then the days are as even as they can be and near the old ones.

    Args:
        plan: The plan as it was, with what was done marked `done`.
        wishes: The wishes as they are now.
        today: The first day that can still be used.

    Raises:
        KeyError: The plan has a circuit that is not in the wishes.
    """
    sessions = [
        replace(s, state="missed") if s.state == "planned" and s.day < today else s
        for s in plan.sessions
    ]
    this_week = week_of(today)
    coming = [
        s
        for s in sessions
        if s.state == "planned" or (s.state == "missed" and s.day in this_week)
    ]
    held = [(s.day, s.circuit) for s in sessions if s.state == "done"]
    return _result(plan, sessions, _best(coming, held, wishes, today))


Days = Mapping[str, date | None]
# Dropped, changed, on key days, uneven, by how many days, when.
_Cost = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Way:
    """One way through the weeks so far, with what stands on the last Sunday."""

    cost: _Cost
    days: Days
    sunday: str = ""


def _best(
    coming: Sequence[PlannedSession],
    held: Sequence[tuple[date, str]],
    wishes: WeekWishes,
    today: date,
) -> Days:
    """The best way through all weeks, week by week.

    Only what stands on a Sunday bears on the week after it, so of all ways to come to
    the same Sunday the best one is enough.
    """
    ways = {"": _Way((0, 0, 0, 0, 0), {})}
    for monday in sorted({week_of(s.day).first for s in coming}):
        own = [s for s in coming if week_of(s.day).first == monday]
        before = monday - timedelta(days=1)
        if not any(before in week_of(s.day) for s in coming):
            # A week without sessions lies between: nothing bears on this one.
            least = min(ways.values(), key=lambda way: way.cost)
            ways = {"": replace(least, sunday="")}
        found: dict[str, _Way] = {}
        for way in ways.values():
            beside = [*held, *([(before, way.sunday)] if way.sunday else [])]
            for days in _placements(own, beside, wishes, max(today, monday)):
                cost = tuple(
                    map(sum, zip(way.cost, _cost(own, days, wishes), strict=True))
                )
                sunday = _on(own, days, monday + timedelta(days=DAYS_IN_WEEK - 1))
                rival = found.get(sunday)
                if rival is None or cost < rival.cost:
                    found[sunday] = _Way(cost, {**way.days, **days}, sunday)
        ways = found
    return min(ways.values(), key=lambda way: way.cost).days


def _on(own: Sequence[PlannedSession], days: Days, day: date) -> str:
    return next((s.circuit for s in own if days[s.id] == day), "")


def _placements(
    own: Sequence[PlannedSession],
    beside: Sequence[tuple[date, str]],
    wishes: WeekWishes,
    begin: date,
) -> Sequence[Days]:
    """The ways to place the sessions of one week that may be the best."""
    near = [pair for pair in beside if abs((pair[0] - begin).days) <= DAYS_IN_WEEK + 1]
    count = len(own)
    if count <= _SEARCHED_IN_FULL:
        return list(_ways(own, near, wishes, begin, (count, count)))
    if all(s.day >= begin for s in own) and _may_stay(own, near, wishes):
        return list(_ways(own, near, wishes, begin, (1, 1)))
    for drops in range(count + 1):
        for changes in range(drops, count + 1):
            if ways := list(_ways(own, near, wishes, begin, (drops, changes))):
                return ways
    return []


def _ways(
    own: Sequence[PlannedSession],
    beside: Sequence[tuple[date, str]],
    wishes: WeekWishes,
    begin: date,
    most: tuple[int, int],
) -> Iterator[Days]:
    """Every way with at most so many sessions dropped, and so many changed."""
    end = week_of(begin).last
    days = [begin + timedelta(days=n) for n in range((end - begin).days + 1)]

    def visit(
        index: int, placed: dict[str, date | None], drops: int, changes: int
    ) -> Iterator[Days]:
        if index == len(own):
            yield dict(placed)
            return
        session = own[index]
        circuit = wishes.circuit(session.circuit)
        others = [*beside, *_placed(own, placed)]
        # As it was first: of two ways that are as good, the one found first is taken.
        for day in sorted(days, key=lambda d: abs((d - session.day).days)):
            left = changes - (day != session.day)
            if left >= 0 and fits(day, circuit, others, wishes):
                yield from visit(index + 1, {**placed, session.id: day}, drops, left)
        if drops and changes:
            gone = {**placed, session.id: None}
            yield from visit(index + 1, gone, drops - 1, changes - 1)

    return visit(0, {}, *most)


def _may_stay(
    own: Sequence[PlannedSession],
    beside: Sequence[tuple[date, str]],
    wishes: WeekWishes,
) -> bool:
    """Whether a week may stay as it is."""
    return all(
        fits(
            session.day,
            wishes.circuit(session.circuit),
            [*beside, *((s.day, s.circuit) for s in own[:place])],
            wishes,
        )
        for place, session in enumerate(own)
    )


def _cost(own: Sequence[PlannedSession], days: Days, wishes: WeekWishes) -> _Cost:
    new = [(session, days[session.id]) for session in own]
    placed = sorted(day for _, day in new if day is not None)
    round_trip = [*placed, *(d + timedelta(days=DAYS_IN_WEEK) for d in placed[:1])]
    moved = [(s, day) for s, day in new if day is not None and day != s.day]
    return (
        sum(day is None for _, day in new),
        sum(day != session.day for session, day in new),
        sum(wishes.is_key(day) for _, day in moved),
        sum(((b - a).days) ** 2 for a, b in pairwise(round_trip)) if moved else 0,
        sum(abs((day - s.day).days) for s, day in moved),
    )


def _placed(own: Sequence[PlannedSession], days: Days) -> list[tuple[date, str]]:
    return [(day, s.circuit) for s in own if (day := days.get(s.id)) is not None]


def _result(
    plan: Weeks, sessions: Sequence[PlannedSession], chosen: Days
) -> PlanRevision:
    made, moved, dropped = [], [], []
    for session in sessions:
        day = chosen.get(session.id, session.day)
        if session.id not in chosen:
            made.append(session)
        elif day is None:
            dropped.append(session.id)
            made.append(replace(session, state="missed"))
        else:
            if day != session.day:
                moved.append((session.id, session.day, day))
            made.append(replace(session, day=day, state="planned"))
    made.sort(key=lambda s: (s.day, s.id))
    return PlanRevision(
        replace(plan, sessions=tuple(made)), tuple(moved), tuple(dropped)
    )
