"""Calendar days in the athlete's zone, and what each of them holds.

Owns what a day is, which days are accounted for, and which are blank. Refuses to
know files, clocks and sums: the last day of a range is always handed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from typing import Final

from whistlestop.dataclass import dataclass

DAYS_IN_WEEK: Final = 7
MONTHS: Final = (
    *("Jan", "Feb", "Mar", "Apr", "May", "Jun"),
    *("Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
)


class DayKind(StrEnum):
    """Whether a training is a circuit or the athlete's other training."""

    CIRCUIT = "circuit"
    OTHER = "other"


class Mark(StrEnum):
    """What the athlete entered about a day that is more than its trainings."""

    REST = "rest"
    ILLNESS = "illness"
    TRAVEL = "travel"
    OFF = "off"


@dataclass(frozen=True, slots=True)
class Training:
    """One training on one calendar day.

    `length_ms` has rests and breaks in it and pauses not; `effort` is 0 to 10,
    or None where it was not entered; `effort_is_derived` where it is a stand-in.
    """

    day: date
    length_ms: int
    effort: float | None
    kind: DayKind
    sport: str
    source_id: str
    effort_is_derived: bool = False

    def __post_init__(self) -> None:
        if self.length_ms < 0:
            raise ValueError("a training is 0 ms long or longer")
        if self.effort is not None and not 0 <= self.effort <= 10:
            raise ValueError("effort runs from 0 to 10")

    @property
    def load_au(self) -> Fraction | None:
        """Session load, exact: effort times minutes; None without an effort.

        Source: Foster et al. 2001, J Strength Cond Res 15:109 (method).
        """
        if self.effort is None:
            return None
        # Exact: an effort in half points is a whole number of halves.
        top, bottom = self.effort.as_integer_ratio()
        return Fraction(top * self.length_ms, bottom * 60_000)


@dataclass(frozen=True, slots=True)
class DaySpan:
    """Calendar days from `first` to `last`, both within."""

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError("a period ends on its first day or later")

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    def __iter__(self) -> Iterator[date]:
        day = self.first
        while day < self.last:
            yield day
            day += timedelta(days=1)
        yield day

    def __len__(self) -> int:
        return (self.last - self.first).days + 1


@dataclass(frozen=True, slots=True)
class Day:
    """One calendar day: trainings, marks, and whether it is fully logged."""

    day: date
    trainings: tuple[Training, ...] = ()
    marks: tuple[Mark, ...] = ()
    fully_logged: bool = False

    @property
    def is_blank(self) -> bool:
        """Whether nothing at all was entered about it."""
        return not self.trainings and not self.marks

    @property
    def is_blank_as_rest(self) -> bool:
        """Whether it is blank and counts as rest: its period is fully logged."""
        return self.is_blank and self.fully_logged

    @property
    def is_open(self) -> bool:
        """Whether it is blank outside the periods that are fully logged."""
        return self.is_blank and not self.fully_logged

    @property
    def without_effort(self) -> int:
        """How many of its trainings have no effort."""
        return sum(training.effort is None for training in self.trainings)


@dataclass(frozen=True, slots=True)
class DayBook:
    """All that is known by day. Made with `day_book`."""

    trainings: Mapping[date, tuple[Training, ...]] = field(default_factory=dict)
    marks: Mapping[date, tuple[Mark, ...]] = field(default_factory=dict)
    fully_logged: tuple[DaySpan, ...] = ()

    def day(self, day: date) -> Day:
        """Say what one calendar day holds."""
        return Day(
            day,
            self.trainings.get(day, ()),
            self.marks.get(day, ()),
            any(day in span for span in self.fully_logged),
        )

    @property
    def first_day(self) -> date | None:
        """The first day that anything is known of; None for an empty log."""
        known = [*self.trainings, *self.marks, *(s.first for s in self.fully_logged)]
        return min(known, default=None)

    def days(self, span: DaySpan) -> tuple[Day, ...]:
        """Every calendar day of a span in order, the blank ones too."""
        return tuple(self.day(day) for day in span)


def day_book(
    trainings: Iterable[Training] = (),
    marks: Iterable[tuple[Mark, DaySpan]] = (),
    fully_logged: Iterable[DaySpan] = (),
) -> DayBook:
    """Sort trainings and marks by day; the order within a day stays."""
    by_day: dict[date, list[Training]] = {}
    for training in trainings:
        by_day.setdefault(training.day, []).append(training)
    marked: dict[date, dict[Mark, None]] = {}
    for mark, span in marks:
        for day in span:
            marked.setdefault(day, {})[mark] = None
    return DayBook(
        {day: tuple(found) for day, found in sorted(by_day.items())},
        {day: tuple(found) for day, found in sorted(marked.items())},
        tuple(fully_logged),
    )


def blank_spans(stated: Iterable[tuple[date, bool]], last: date) -> list[DaySpan]:
    """The days whose blanks count as rest, by what was stated of them, in order.

    Args:
        stated: A day, and whether from it on blank days count as rest, in the order
            in which it was entered; the later stands from its day on.
        last: The last day that is over.
    """
    turns: list[tuple[date, bool]] = []
    for first, as_rest in stated:
        turns = [(day, rest) for day, rest in turns if day < first]
        turns.append((first, as_rest))
    ends = [day - timedelta(days=1) for day, _ in turns[1:]]
    return [
        DaySpan(first, min(end, last))
        for (first, as_rest), end in zip(turns, [*ends, last], strict=False)
        if as_rest and first <= min(end, last)
    ]


@dataclass(frozen=True, slots=True)
class FixedDays:
    """Days of the main sport that were fixed beforehand: races and key sessions."""

    races: frozenset[date] = frozenset()
    key_days: frozenset[date] = frozenset()

    def in_week(self, span: DaySpan) -> tuple[tuple[date, ...], tuple[date, ...]]:
        """Races and key sessions of some days, in order; a race is no key session."""
        return (
            tuple(sorted(day for day in self.races if day in span)),
            tuple(sorted(day for day in self.key_days - self.races if day in span)),
        )


NOTHING_FIXED: Final = FixedDays()


def week_of(day: date) -> DaySpan:
    """The week from Monday to Sunday that a day lies in (ISO 8601)."""
    monday = day - timedelta(days=day.weekday())
    return DaySpan(monday, monday + timedelta(days=DAYS_IN_WEEK - 1))


def weeks_in(span: DaySpan) -> tuple[DaySpan, ...]:
    """The whole weeks, Monday to Sunday, that a span touches, in order."""
    count = (week_of(span.last).first - week_of(span.first).first).days // 7 + 1
    first = week_of(span.first).first
    return tuple(week_of(first + timedelta(weeks=n)) for n in range(count))


def day_text(day: date) -> str:
    """Say a day as `12 May 2031`."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
