"""Weeks ahead: which circuit on which day, 48 h apart for each region.

Owns the wishes, the rules a plan has to keep, what of the wishes it could not meet,
and its rows as text. Refuses to know the record, to say how much is done on a day
(`forecast` does), and to double anything: a missed session moves, or is dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from whistlestop.coach.history import share_a_region
from whistlestop.coach.spacing import Pattern, SpacingRules, best_pattern
from whistlestop.dataclass import dataclass
from whistlestop.domain.targets import (
    BLOCK_WEEKS,
    EMPHASIS,
    MOST_CIRCUITS,
    SESSIONS,
    WEEKDAYS,
    WEEKS,
    Emphasis,
    Priority,
)
from whistlestop.review.days import DAYS_IN_WEEK, DaySpan, week_of

# 48 h between sessions of the same regions (Garber et al. 2011, from memory): with
# days alone, two calendar days.
APART_DAYS: Final = 2
FULL: Final = Fraction(1)
# Two days before a race that is not trained through the legs have no circuit. Common
# practice.
_FRESH_LEGS: Final[frozenset[Priority]] = frozenset({"A", "B"})

LEGEND: Final = (
    "- lighter  + a step  ok done  x missed  K key  R race  ~ away  . nothing"
)

FORESEEN: Final = "Foreseen as long as sessions go as planned, as hard as the last one."

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
    (travel, time off), `ill` those of an illness and the day after it, `races` race
    days with their priority. `circuits` are taken in turn; `others` are those done
    beside the plan, which keep their 48 h and are never planned. `resting` are days on
    which the coach has a circuit rest, with its id.

    Raises:
        ValueError: Something is out of range.
    """

    sessions_a_week: int
    weekdays: frozenset[int]
    circuits: tuple[PlannedCircuit, ...]
    key_weekdays: frozenset[int] = frozenset()
    key_days: frozenset[date] = frozenset()
    away: tuple[DaySpan, ...] = ()
    ill: tuple[DaySpan, ...] = ()
    races: Mapping[date, Priority] = field(default_factory=dict)
    blocks: tuple[Block, ...] = ()
    others: tuple[PlannedCircuit, ...] = ()
    resting: frozenset[tuple[date, str]] = frozenset()

    def __post_init__(self) -> None:
        SESSIONS.judged(self.sessions_a_week)
        if not 1 <= len(self.circuits) <= MOST_CIRCUITS:
            raise ValueError(f"expected 1 to {MOST_CIRCUITS} circuits in turn")
        if not (self.weekdays | self.key_weekdays) <= frozenset(range(DAYS_IN_WEEK)):
            raise ValueError("days of the week count from 0, Monday, to 6")

    def is_key(self, day: date) -> bool:
        """Whether a day has a key session of the main sport."""
        return day.weekday() in self.key_weekdays or day in self.key_days

    def is_away(self, day: date) -> bool:
        """Whether the athlete is away on a day."""
        return any(day in span for span in self.away)

    def is_ill(self, day: date) -> bool:
        """Whether a day belongs to an illness."""
        return any(day in span for span in self.ill)

    def is_at_race(self, day: date) -> bool:
        """Whether a race is on a day, on the one before or on the one after."""
        near = (day + timedelta(days=n) for n in (-1, 0, 1))
        return any(each in self.races for each in near)

    def is_free(self, day: date) -> bool:
        """Whether a circuit may be on a day at all."""
        barred = self.is_away(day) or self.is_ill(day) or self.is_at_race(day)
        return day.weekday() in self.weekdays and not barred

    def spares_legs(self, day: date) -> bool:
        """Whether a day has no work for the legs: a key session or race comes."""
        after = self.races.get(day + timedelta(days=2))
        return self.is_key(day + timedelta(days=1)) or after in _FRESH_LEGS

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
    """One session of the plan. `share` is how much of the work is meant, 0 to 1.

    `says` is what the coach is to change on that day, as far as it can be foreseen, and
    `is_more` whether that is a step up.
    """

    id: str
    day: date
    circuit: str
    emphasis: Emphasis = "build"
    share: Fraction = FULL
    state: State = "planned"
    says: str = ""
    is_more: bool = False


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
    if not wishes.is_free(day) or (day, circuit.id) in wishes.resting:
        return False
    if circuit.legs_heavy and wishes.spares_legs(day):
        return False
    return all(
        abs((day - other_day).days) >= APART_DAYS
        or (other_day != day and not alike(circuit, wishes.circuit(other)))
        for other_day, other in others
    )


def alike(one: PlannedCircuit, other: PlannedCircuit) -> bool:
    """Whether two circuits work a region in common."""
    return share_a_region(one.regions, other.regions)


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
            and (day == session.day or alike(circuit, wishes.circuit(other)))
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
    """Plan whole weeks on the most even days there are, the same in every week.

    A week in which one of these days is barred is searched for itself: as many
    sessions as it holds, few on key days, circuits in turn, as few other days as can
    be, evenly apart, early days first. The same wishes always give the same plan.

    Args:
        wishes: What is wanted and possible.
        first: Any day of the first week.
        count: How many weeks, 1 to 53.
        since: The first day to plan; by default the Monday of the first week.
        fixed: Sessions that stay as they are. Those done count for their week, keep
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
    pattern = regular_days(wishes, begin_day, [(s.day, s.circuit) for s in sessions])
    from_week = (begin_day - monday).days // DAYS_IN_WEEK
    for week in range(from_week, count):
        begin = monday + timedelta(weeks=week)
        slots = _slots(pattern, week - from_week, begin)
        after = _slots(pattern, week - from_week + 1, begin + timedelta(weeks=1))
        chosen = _days_of_week(
            _Week(wishes, max(begin, begin_day), slots, after[:1], sessions)
        )
        emphasis, _ = emphasis_in(wishes.blocks, week)
        for day, key in chosen:
            number += 1
            sessions.append(PlannedSession(f"s{number}", day, key, emphasis))
    sessions += [s for s in fixed if s.state == "missed"]
    sessions.sort(key=lambda s: (s.day, _number_of(s.id)))
    return Weeks(monday, count, tuple(sessions))


def _number_of(key: str) -> int:
    digits = key[1:]
    return int(digits) if digits.isascii() and digits.isdigit() else 0


def emphasis_in(blocks: Sequence[Block], week: int) -> tuple[Emphasis, bool]:
    """The emphasis of a week, from 0, and whether it is the lighter one of its block.

    After the last block it goes on with the last block again.
    """
    if not blocks:
        return "build", False
    place = week
    for block in blocks:
        if place < block.weeks:
            break
        place -= block.weeks
    else:
        block = blocks[-1]
        place %= block.weeks
    return block.emphasis, place == block.weeks - 1


def regular_days(
    wishes: WeekWishes, since: date, before: Sequence[tuple[date, str]] = ()
) -> Pattern:
    """The days of a regular week; as even ones are told apart by the week of `since`.

    Args:
        wishes: What is wanted; of the days that are barred only those of the first
            week count.
        since: The first day that can be used.
        before: What was done before, by day and circuit.
    """
    circuits = wishes.circuits
    numbers = range(len(circuits))
    monday = week_of(since).first
    turn = _turn(wishes, before)
    near = [(day, key) for day, key in before if (since - day).days <= APART_DAYS]

    def first_week(days: Sequence[int]) -> int:
        dates = [monday + timedelta(days=n) for n in days if n < DAYS_IN_WEEK]
        return sum(
            fits(day, circuits[turn % len(circuits)], near, wishes)
            for day in dates
            if day >= since
        )

    rules = SpacingRules(
        wishes.sessions_a_week,
        wishes.weekdays,
        len(circuits),
        frozenset(
            (a, b) for a in numbers for b in numbers if alike(circuits[a], circuits[b])
        ),
        wishes.key_weekdays,
        frozenset(n for n in numbers if circuits[n].legs_heavy),
    )
    return best_pattern(rules, first_week)


def _turn(wishes: WeekWishes, before: Sequence[tuple[date, str]]) -> int:
    known = {circuit.id for circuit in wishes.circuits}
    return sum(key in known for _, key in before)


Choice = tuple[tuple[date, str], ...]
Slot = tuple[date, int | None]


def _slots(pattern: Pattern, week: int, begin: date) -> list[Slot]:
    return [
        (begin + timedelta(days=day), circuit) for day, circuit in pattern.of_week(week)
    ]


@dataclass(frozen=True, slots=True)
class _Week:
    """One week to plan: from a day on, with its regular days and what stands before.

    `after` is the first regular day of the week after it.
    """

    wishes: WeekWishes
    from_day: date
    slots: Sequence[Slot]
    after: Sequence[Slot]
    before: Sequence[PlannedSession]

    @property
    def earlier(self) -> list[tuple[date, str]]:
        """What stands shortly before, by day and circuit."""
        return [(s.day, s.circuit) for s in self.before[-2 * DAYS_IN_WEEK :]]

    @property
    def turn(self) -> int:
        """Whose turn it is among the circuits."""
        return _turn(self.wishes, [(s.day, s.circuit) for s in self.before])

    @property
    def most(self) -> int:
        """How many sessions it may still get."""
        week = week_of(self.from_day)
        done = sum(s.day in week for s in self.before)
        return max(0, len(self.slots) - done)

    def in_turn(self, number: int) -> str:
        """The circuit of the session with a number, from 0."""
        circuits = self.wishes.circuits
        return circuits[(self.turn + number) % len(circuits)].id


def _days_of_week(week: _Week) -> Choice:
    """The regular days where they can be kept, else the best of every choice."""
    coming = [slot for slot in week.slots if slot[0] >= week.from_day]
    regular = tuple(
        (day, week.in_turn(n) if tied is None else week.wishes.circuits[tied].id)
        for n, (day, tied) in enumerate(coming)
    )
    if len(regular) <= week.most and _all_fit(regular, week):
        return regular
    most = week.most
    found = min(
        _choices(week, week.from_day, (), most, in_turn=True),
        key=lambda choice: _cost(week, choice),
    )
    on_key = any(week.wishes.is_key(day) for day, _ in found)
    if (len(found) < most or on_key) and len(week.wishes.circuits) > 1:
        found = min(
            _choices(week, week.from_day, (), most, in_turn=False),
            key=lambda choice: _cost(week, choice),
        )
    return found


def _all_fit(choice: Choice, week: _Week) -> bool:
    earlier = week.earlier
    for place, (day, key) in enumerate(choice):
        beside = [*earlier, *choice[:place]]
        if not fits(day, week.wishes.circuit(key), beside, week.wishes):
            return False
    return True


def _choices(
    week: _Week, day: date, chosen: Choice, most: int, *, in_turn: bool
) -> Iterable[Choice]:
    """Every allowed week from a day on, with what is chosen before it."""
    end = week_of(day).last
    yield chosen
    if len(chosen) >= most:
        return
    wishes = week.wishes
    beside = (*week.earlier, *chosen)
    keys = (
        [week.in_turn(len(chosen))]
        if in_turn
        else [each.id for each in wishes.circuits]
    )
    while day <= end:
        for key in keys:
            if fits(day, wishes.circuit(key), beside, wishes):
                added = (*chosen, (day, key))
                tomorrow = day + timedelta(days=1)
                if tomorrow <= end:
                    yield from _choices(week, tomorrow, added, most, in_turn=in_turn)
                else:
                    yield added
        day += timedelta(days=1)


def _cost(week: _Week, choice: Choice) -> tuple[int, ...]:
    wishes = week.wishes
    wrong = sum(key != week.in_turn(n) for n, (_, key) in enumerate(choice))
    regular = {day for day, _ in week.slots}
    other = sum(day not in regular for day, _ in choice)
    last = [day for day, _ in week.earlier[-1:]]
    days = [*last, *(day for day, _ in choice), *(day for day, _ in week.after)]
    uneven = sum(((b - a).days) ** 2 for a, b in pairwise(days))
    on_key = sum(wishes.is_key(day) for day, _ in choice)
    when = [day.toordinal() for day, _ in choice]
    return (-len(choice), on_key, wrong, other, uneven, *when)


# --- What found no day ---------------------------------------------------------


def unmet(plan: Weeks, wishes: WeekWishes, since: date) -> tuple[str, ...]:
    """Say which weeks from a day on have fewer sessions than were asked, and why.

    Example: 7 asked a week, 4 and 3 planned: 48 h between sessions of the same muscles.
    """
    pattern = regular_days(wishes, since)
    asked = wishes.sessions_a_week
    known = {circuit.id for circuit in wishes.circuits}
    found: dict[str, list[tuple[date, int]]] = {}
    for number in range(plan.count):
        begin = plan.first + timedelta(weeks=number)
        week = week_of(begin)
        held = sum(
            s.day in week and s.state != "missed" and s.circuit in known
            for s in plan.sessions
        )
        if week.last < since or held >= asked:
            continue
        reasons = []
        if held < _regular_most(pattern):
            reasons = _reasons_of_week(plan, wishes, begin, since)
        reasons = reasons or _regular_reasons(wishes, pattern)
        found.setdefault("; ".join(reasons), []).append((begin, held))
    if not found:
        return ()
    whole = len(found) == 1
    return tuple(
        _unmet_sentence(asked, weeks, reason, whole=whole and len(weeks) > 1)
        for reason, weeks in found.items()
    )


def _regular_most(pattern: Pattern) -> int:
    weeks = range(pattern.length // DAYS_IN_WEEK)
    return max(len(pattern.of_week(week)) for week in weeks)


def _unmet_sentence(
    asked: int, weeks: Sequence[tuple[date, int]], reason: str, *, whole: bool
) -> str:
    counts = sorted({held for _, held in weeks}, reverse=True)
    held = " and ".join(str(count) if count else "none" for count in counts)
    text = f"{asked} asked a week, {held} planned: {reason}."
    if whole:
        return text
    names = [f"{begin.day} {begin:%b}" for begin, _ in weeks]
    listed = f"{', '.join(names[:-1])} and {names[-1]}" if names[1:] else names[0]
    return (
        f"Week of {listed}: {text}" if len(names) == 1 else f"Weeks of {listed}: {text}"
    )


def _reasons_of_week(
    plan: Weeks, wishes: WeekWishes, begin: date, since: date
) -> list[str]:
    """What is in the way in this week alone."""
    days = [begin + timedelta(days=n) for n in range(DAYS_IN_WEEK)]
    free = [day for day in days if day.weekday() in wishes.weekdays]
    reasons = []
    if since > begin:
        reasons.append(f"the plan begins on {since:%A}")
    if any(wishes.is_ill(day) for day in free):
        reasons.append("you are ill, and a day without symptoms comes first")
    if away := [day for day in free if wishes.is_away(day)]:
        counted = "a day" if len(away) == 1 else f"{len(away)} days"
        reasons.append(f"you are away for {counted}")
    if any(wishes.is_at_race(day) or _before_race(day, wishes) for day in free):
        reasons.append("a race, with the days around it")
    if any(s.state == "missed" and s.day in days for s in plan.sessions):
        reasons.append("a session was missed")
    return reasons


def _before_race(day: date, wishes: WeekWishes) -> bool:
    legs = any(circuit.legs_heavy for circuit in wishes.circuits)
    return legs and wishes.races.get(day + timedelta(days=2)) in _FRESH_LEGS


def _regular_reasons(wishes: WeekWishes, pattern: Pattern) -> list[str]:
    """What is in the way in every week."""
    few = len(wishes.weekdays)
    reasons = []
    if few < wishes.sessions_a_week:
        reasons.append("one day is free" if few == 1 else f"{few} days are free")
        if len(pattern.of_week(0)) >= few:
            return reasons
    if wishes.key_weekdays and any(each.legs_heavy for each in wishes.circuits):
        reasons.append("no legs on the day before a key session")
    return [*reasons, "48 h between sessions of the same muscles"]


# --- Rows ----------------------------------------------------------------------


def grid_rows(plan: Weeks, wishes: WeekWishes) -> list[list[str]]:
    """The plan as rows of text: a head, then one row a week, Monday to Sunday.

    A circuit stands by its mark, with `-` behind it where it is lighter, `+` where a
    step up is due, `ok` done, `x` missed. `K` is a key session, `R` a race, `~` away or
    ill, `.` nothing.
    """
    rows = [["week of", "emphasis", *(day.title() for day in WEEKDAYS)]]
    for week in range(plan.count):
        begin = plan.first + timedelta(weeks=week)
        emphasis, is_lighter = emphasis_in(wishes.blocks, week)
        text = f"{emphasis}, lighter" if is_lighter else emphasis
        cells = [_cell(plan, wishes, begin + timedelta(days=n)) for n in range(7)]
        rows.append([begin.isoformat(), text, *cells])
    return rows


def _cell(plan: Weeks, wishes: WeekWishes, day: date) -> str:
    sentences = []
    for session in plan.sessions:
        if session.day == day:
            ends = {"done": " ok", "missed": " x", "planned": ""}
            lighter = "-" if session.share < FULL else "+" if session.is_more else ""
            mark = wishes.circuit(session.circuit).mark
            sentences.append(mark + lighter + ends[session.state])
    if day in wishes.races:
        sentences.append("R")
    elif wishes.is_key(day):
        sentences.append("K")
    if wishes.is_away(day) or wishes.is_ill(day):
        sentences.append("~")
    return " ".join(sentences) or "."


def coming_lines(
    plan: Weeks, wishes: WeekWishes, today: date, most: int = 6
) -> tuple[str, ...]:
    """What the coach is to change on the next days of a plan, one line a day.

    Example: Thu 12 Mar Shed: Work 45 s instead of 40 s. Sessions that are the same
    again stand in the grid alone.
    """
    changes = [
        s for s in plan.sessions if s.state == "planned" and s.day >= today and s.says
    ]
    lines = []
    for session in changes[:most]:
        circuit = wishes.circuit(session.circuit)
        day = f"{session.day:%a} {session.day.day} {session.day:%b}"
        lines.append(f"{day} {circuit.name or circuit.id}: {session.says}")
    return (*lines, *([FORESEEN] if lines else []))


def planned_text(day: date) -> str:
    """For which day a circuit is planned, in words.

    Example: Planned for Thursday 12 Mar.
    """
    return f"Planned for {day:%A} {day.day} {day:%b}."
