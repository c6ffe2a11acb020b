"""Weeks ahead: which circuit on which day, 48 h apart for each region.

Owns the wishes, the rules a plan has to keep, and its rows as text. Refuses to know
the record and to double anything: a missed session moves, or is dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from whistlestop.coach.history import share_a_region
from whistlestop.domain.targets import (
    BLOCK_WEEKS,
    EMPHASIS,
    MOST_CIRCUITS,
    SESSIONS,
    WEEKDAYS,
    WEEKS,
    Emphasis,
)
from whistlestop.review.days import DAYS_IN_WEEK, DaySpan, week_of

# 48 h between sessions of the same regions (Garber et al. 2011, from memory): with
# days alone, two calendar days.
APART_DAYS: Final = 2
# Bosquet et al. 2007 (from memory): 8 to 14 days, volume down by 41 to 60 %.
TAPER_DAYS: Final = 10
TAPER_SHARE: Final = Fraction(50, 100)
DELOAD_SHARE: Final = Fraction(60, 100)
FULL: Final = Fraction(1)

LEGEND: Final = "- lighter  ok done  x missed  K key session  R race  ~ away  . nothing"

State = Literal["planned", "done", "missed"]


@dataclass(frozen=True, slots=True)
class PlannedCircuit:
    """A circuit in the rotation: its id, a short mark for the grid, its regions.

    `name` is what it is called, where that is known.
    """

    id: str
    mark: str
    regions: frozenset[str]
    legs_heavy: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """So many weeks of one emphasis; the last of them is a lighter one.

    Raises:
        ValueError: It is not 4 to 6 weeks long, or the emphasis is unknown.
    """

    emphasis: Emphasis
    weeks: int

    def __post_init__(self) -> None:
        BLOCK_WEEKS.judged(self.weeks)
        EMPHASIS.judged(self.emphasis)


@dataclass(frozen=True, slots=True)
class WeekWishes:
    """What the athlete wants and can. `weekdays` count from Monday, 0 to 6.

    `key_days` are key sessions of the main sport, `away` days without circuits
    (travel, time off), `races` race days. `circuits` are taken in turn; `others` are
    those done beside the plan, which keep their 48 h and are never planned.

    Raises:
        ValueError: Something is out of range.
    """

    sessions_a_week: int
    weekdays: frozenset[int]
    circuits: tuple[PlannedCircuit, ...]
    key_weekdays: frozenset[int] = frozenset()
    key_days: frozenset[date] = frozenset()
    away: tuple[DaySpan, ...] = ()
    races: frozenset[date] = frozenset()
    blocks: tuple[Block, ...] = ()
    others: tuple[PlannedCircuit, ...] = ()

    def __post_init__(self) -> None:
        SESSIONS.judged(self.sessions_a_week)
        if not 1 <= len(self.circuits) <= MOST_CIRCUITS:
            raise ValueError(f"expected 1 to {MOST_CIRCUITS} circuits in turn")
        if not (self.weekdays | self.key_weekdays) <= frozenset(range(DAYS_IN_WEEK)):
            raise ValueError("days of the week count from 0, Monday, to 6")

    def is_key(self, day: date) -> bool:
        """Whether a day has a key session of the main sport, or a race."""
        return (
            day.weekday() in self.key_weekdays
            or day in self.key_days
            or day in self.races
        )

    def is_free(self, day: date) -> bool:
        """Whether a circuit may be on a day at all: not away, no race that day."""
        away = any(day in span for span in self.away)
        return day.weekday() in self.weekdays and not away and day not in self.races

    def circuit(self, key: str) -> PlannedCircuit:
        """One circuit of the rotation, or done beside it.

        Raises:
            KeyError: It is not in it.
        """
        for circuit in (*self.circuits, *self.others):
            if circuit.id == key:
                return circuit
        raise KeyError(key)


@dataclass(frozen=True, slots=True)
class PlannedSession:
    """One session of the plan. `share` is how much of the work is meant, 0 to 1."""

    id: str
    day: date
    circuit: str
    emphasis: Emphasis = "build"
    share: Fraction = FULL
    state: State = "planned"


@dataclass(frozen=True, slots=True)
class Weeks:
    """A plan of whole weeks from a Monday on, its sessions by day."""

    first: date
    count: int
    sessions: tuple[PlannedSession, ...] = ()

    @property
    def span(self) -> DaySpan:
        """All its days."""
        return DaySpan(self.first, self.first + timedelta(days=7 * self.count - 1))


@dataclass(frozen=True, slots=True)
class SpacingBreach:
    """A rule that two sessions, or a session and a day, do not keep."""

    days: tuple[date, ...]
    sentence: str


def fits(
    day: date,
    circuit: PlannedCircuit,
    others: Iterable[tuple[date, str]],
    wishes: WeekWishes,
) -> bool:
    """Whether a circuit may be on a day beside the other sessions."""
    if not wishes.is_free(day):
        return False
    tomorrow = day + timedelta(days=1)
    if circuit.legs_heavy and wishes.is_key(tomorrow):
        return False
    if tomorrow in wishes.races:
        return False
    for other_day, other in others:
        apart = abs((day - other_day).days)
        if apart == 0:
            return False
        alike = share_a_region(circuit.regions, wishes.circuit(other).regions)
        if apart < APART_DAYS and alike:
            return False
    return True


def judged(
    sessions: Sequence[PlannedSession], wishes: WeekWishes
) -> tuple[SpacingBreach, ...]:
    """List every rule that a plan does not keep; sessions that were missed are out."""
    found = []
    held = [s for s in sessions if s.state != "missed"]
    for index, session in enumerate(held):
        others = [(s.day, s.circuit) for s in held[:index] + held[index + 1 :]]
        circuit = wishes.circuit(session.circuit)
        if session.state == "planned" and not fits(session.day, circuit, (), wishes):
            text = f"{session.day.isoformat()} does not suit {circuit.id}"
            found.append(SpacingBreach((session.day,), text))
        near = [
            day
            for day, other in others
            if 0 <= (day - session.day).days < APART_DAYS
            and (
                day == session.day
                or share_a_region(circuit.regions, wishes.circuit(other).regions)
            )
        ]
        for day in near:
            text = f"{session.day.isoformat()} and {day.isoformat()}: less than 48 h"
            found.append(SpacingBreach((session.day, day), text))
    return tuple(found)


# --- Making a plan -------------------------------------------------------------


def make_weeks(
    wishes: WeekWishes,
    first: date,
    count: int,
    *,
    since: date | None = None,
    fixed: Sequence[PlannedSession] = (),
) -> Weeks:
    """Plan whole weeks, the days of each week chosen by looking at every choice.

    As many sessions as wished where the rules allow it; among those, circuits in
    turn, few on key days, evenly apart, early days first. The same wishes always
    give the same plan.

    Args:
        wishes: What is wanted and possible.
        first: Any day of the first week.
        count: How many weeks, 1 to 53.
        since: The first day to plan; by default the Monday of the first week.
        kept: Sessions that stay as they are. Those done count for their week, keep
            their 48 h, and are followed in turn.

    Raises:
        ValueError: The count is out of range.
    """
    WEEKS.judged(count)
    monday = week_of(first).first
    begin_day = monday if since is None else max(since, monday)
    sessions = sorted(
        (s for s in fixed if s.state != "missed"), key=lambda s: (s.day, s.id)
    )
    number = max((_number_of(s.id) for s in fixed), default=0)
    for week in range(count):
        begin = monday + timedelta(weeks=week)
        if begin + timedelta(days=DAYS_IN_WEEK) <= begin_day:
            continue
        chosen = _best_week(wishes, begin, max(begin, begin_day), sessions)
        emphasis, share = emphasis_in(wishes.blocks, week)
        for day, key in chosen:
            number += 1
            less = min(share, _taper(wishes, day))
            sessions.append(PlannedSession(f"s{number}", day, key, emphasis, less))
    sessions += [s for s in fixed if s.state == "missed"]
    sessions.sort(key=lambda s: (s.day, _number_of(s.id)))
    return Weeks(monday, count, tuple(sessions))


def _number_of(key: str) -> int:
    digits = key[1:]
    return int(digits) if digits.isascii() and digits.isdigit() else 0


def emphasis_in(blocks: Sequence[Block], week: int) -> tuple[Emphasis, Fraction]:
    """The emphasis of a week, from 0, and its share of the work.

    After the last block it goes on with the last block again.
    """
    if not blocks:
        return "build", FULL
    place = week
    for block in blocks:
        if place < block.weeks:
            break
        place -= block.weeks
    else:
        block = blocks[-1]
        place %= block.weeks
    return block.emphasis, DELOAD_SHARE if place == block.weeks - 1 else FULL


def _taper(wishes: WeekWishes, day: date) -> Fraction:
    near = any(0 < (race - day).days <= TAPER_DAYS for race in wishes.races)
    return TAPER_SHARE if near else FULL


Choice = tuple[tuple[date, str], ...]


def _best_week(
    wishes: WeekWishes, begin: date, from_day: date, before: Sequence[PlannedSession]
) -> Choice:
    """Look at every set of days and circuits of one week, given what stands."""
    earlier = [(s.day, s.circuit) for s in before[-2 * DAYS_IN_WEEK :]]
    known = {circuit.id for circuit in wishes.circuits}
    turn = sum(s.circuit in known for s in before)
    week = week_of(begin)
    done = sum(s.day in week and s.circuit in known for s in before)
    most = max(0, wishes.sessions_a_week - done)
    return min(
        _choices(wishes, from_day, earlier, (), most),
        key=lambda choice: _cost(wishes, choice, earlier, turn),
    )


def _choices(
    wishes: WeekWishes,
    day: date,
    earlier: list[tuple[date, str]],
    chosen: Choice,
    most: int,
) -> Iterable[Choice]:
    """Every allowed week from a day on, with what is chosen before it."""
    end = week_of(day).last
    yield chosen
    if len(chosen) >= most:
        return
    while day <= end:
        for circuit in wishes.circuits:
            if fits(day, circuit, (*earlier, *chosen), wishes):
                added = (*chosen, (day, circuit.id))
                tomorrow = day + timedelta(days=1)
                if tomorrow <= end:
                    yield from _choices(wishes, tomorrow, earlier, added, most)
                else:
                    yield added
        day += timedelta(days=1)


def _cost(
    wishes: WeekWishes, choice: Choice, earlier: list[tuple[date, str]], turn: int
) -> tuple[int, ...]:
    in_turn = [wishes.circuits[(turn + n) % len(wishes.circuits)].id
               for n in range(len(choice))]  # fmt: skip
    wrong = sum(key != due for (_, key), due in zip(choice, in_turn, strict=True))
    days = [day for day, _ in earlier[-1:]] + [day for day, _ in choice]
    gaps = [(b - a).days for a, b in pairwise(days)]
    on_key = sum(wishes.is_key(day) for day, _ in choice)
    uneven = sum(gap * gap for gap in gaps)
    when = [day.toordinal() for day, _ in choice]
    return (-len(choice), on_key, wrong, uneven, *when)


# --- Rows ----------------------------------------------------------------------


def grid_rows(plan: Weeks, wishes: WeekWishes) -> list[list[str]]:
    """The plan as rows of text: a head, then one row a week, Monday to Sunday.

    A circuit stands by its mark, with `-` behind it where it is lighter, `ok` done,
    `x` missed. `K` is a key session, `R` a race, `~` away, `.` nothing.
    """
    rows = [["week of", "emphasis", *(day.title() for day in WEEKDAYS)]]
    for week in range(plan.count):
        begin = plan.first + timedelta(weeks=week)
        emphasis, share = emphasis_in(wishes.blocks, week)
        text = f"{emphasis}, lighter" if share < FULL else emphasis
        cells = [_cell(plan, wishes, begin + timedelta(days=n)) for n in range(7)]
        rows.append([begin.isoformat(), text, *cells])
    return rows


def _cell(plan: Weeks, wishes: WeekWishes, day: date) -> str:
    sentences = []
    for session in plan.sessions:
        if session.day == day:
            ends = {"done": " ok", "missed": " x", "planned": ""}
            lighter = "-" if session.share < FULL else ""
            mark = wishes.circuit(session.circuit).mark
            sentences.append(mark + lighter + ends[session.state])
    if day in wishes.races:
        sentences.append("R")
    elif wishes.is_key(day):
        sentences.append("K")
    if any(day in span for span in wishes.away):
        sentences.append("~")
    return " ".join(sentences) or "."
