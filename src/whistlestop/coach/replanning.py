"""Planning again after a missed day or a new wish, with as little changed as can be.

Owns the search for the fewest moved sessions. Refuses to double: no day gets two
sessions, and no week more than it had.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from whistlestop.coach.weeks import APART_DAYS, PlannedSession, Weeks, WeekWishes, fits
from whistlestop.review.days import week_of


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

    Every session stays in its week. First, sessions still to come are moved or
    dropped as few as the rules allow, dropping after moving; then a missed session
    goes to a free day of its week from today on if no other has to change for it,
    else it is dropped. Days nearest to the old ones are taken.

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
    fixed = [s for s in sessions if s.state == "done"]
    coming = [s for s in sessions if s.state == "planned"]
    this_week = week_of(today)
    late = [s for s in sessions if s.state == "missed" and s.day in this_week]
    chosen: dict[str, date | None] = {}
    held = [(s.day, s.circuit) for s in fixed]
    for week in sorted({week_of(s.day).first for s in coming}):
        own = [s for s in coming if week_of(s.day).first == week]
        after = [s for s in coming if week_of(s.day).first > week]
        days = _search(own, held, wishes, max(today, week), after)
        chosen |= days
        held += _placed(own, days)
    for session in sorted(late, key=lambda s: (s.day, s.id)):
        day = _free_day(session, held, wishes, today)
        chosen[session.id] = day
        held += [] if day is None else [(day, session.circuit)]
    return _result(plan, sessions, chosen)


def _search(
    own: Sequence[PlannedSession],
    held: Sequence[tuple[date, str]],
    wishes: WeekWishes,
    begin: date,
    after: Sequence[PlannedSession],
) -> dict[str, date | None]:
    """Every way to place the sessions of one week; the one that changes least.

    A next week's session is no reason to move: it is judged in its turn. But of two
    ways that change as much, the one that keeps clear of it is taken.
    """
    end = week_of(begin).last
    days = [begin + timedelta(days=n) for n in range((end - begin).days + 1)]
    later = [(s.day, s.circuit) for s in after]
    best: tuple[tuple[int, ...], dict[str, date | None]] | None = None

    def visit(index: int, placed: dict[str, date | None]) -> None:
        nonlocal best
        if index == len(own):
            cost = _cost(own, placed, later, wishes)
            if best is None or cost < best[0]:
                best = cost, dict(placed)
            return
        session = own[index]
        circuit = wishes.circuit(session.circuit)
        beside = [*held, *_placed(own, placed)]
        for day in (session.day, *(d for d in days if d != session.day)):
            if fits(day, circuit, beside, wishes):
                visit(index + 1, {**placed, session.id: day})
        visit(index + 1, {**placed, session.id: None})

    visit(0, {})
    return best[1] if best else {}


def _cost(
    own: Sequence[PlannedSession],
    placed: dict[str, date | None],
    later: Sequence[tuple[date, str]],
    wishes: WeekWishes,
) -> tuple[int, ...]:
    """Changed, dropped, blocking what comes after, by how many days, when."""
    new = [(session, placed[session.id]) for session in own]
    changed = sum(day != session.day for session, day in new)
    dropped = sum(day is None for _, day in new)
    blocked = sum(
        not _apart(day, session.circuit, later, wishes)
        for session, day in new
        if day is not None
    )
    shifts = sum(abs((day - session.day).days) for session, day in new if day)
    when = [day.toordinal() if day else 0 for _, day in new]
    return (changed + blocked, dropped, shifts, *when)


def _apart(
    day: date, circuit: str, others: Sequence[tuple[date, str]], wishes: WeekWishes
) -> bool:
    """Whether no later session that is well placed would have to move for this."""
    return all(
        fits(d, wishes.circuit(c), [(day, circuit)], wishes)
        for d, c in others
        if abs((d - day).days) < APART_DAYS and fits(d, wishes.circuit(c), (), wishes)
    )


def _placed(
    own: Sequence[PlannedSession], days: dict[str, date | None]
) -> list[tuple[date, str]]:
    return [(day, s.circuit) for s in own if (day := days.get(s.id)) is not None]


def _free_day(
    session: PlannedSession,
    held: Sequence[tuple[date, str]],
    wishes: WeekWishes,
    today: date,
) -> date | None:
    """The first day of its week, from today on, that is free for a missed session."""
    end = week_of(session.day).last
    circuit = wishes.circuit(session.circuit)
    day = today
    while day <= end:
        if fits(day, circuit, held, wishes):
            return day
        day += timedelta(days=1)
    return None


def _result(
    plan: Weeks, sessions: Sequence[PlannedSession], chosen: dict[str, date | None]
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
    made.sort(key=lambda session: (session.day, session.id))
    weeks = Weeks(plan.first, plan.count, tuple(made))
    return PlanRevision(weeks, tuple(moved), tuple(dropped))
