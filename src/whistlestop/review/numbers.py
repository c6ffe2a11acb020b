"""Loads by session, day and week, and how alike the days of a week are.

Owns the arithmetic and the reasons why a number may be missing. Refuses to know
how it is drawn, and to judge: no ratio, no threshold, no gate.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from fractions import Fraction
from typing import Final

from whistlestop.review.days import (
    DAYS_IN_WEEK,
    Day,
    DayBook,
    DayKind,
    DaySpan,
    Training,
    weeks_in,
)

NO_VARIATION: Final = "no variation"
NOT_ENTERED: Final = "effort not entered"
NOT_KNOWN: Final = "not known: nothing was entered"
ONLY_CIRCUITS: Final = (
    "hidden: with only circuits logged in these 28 days it says nothing more"
)
MONOTONY_NAME: Final = "mean / sample SD of 7 calendar days"
LOOK_BACK_DAYS: Final = 28
RANGE_WEEKS: Final = 12
LEAST_WEEKS: Final = 4
CIRCUITS: Final = "circuits"

# Two sums of the same efforts in another order may differ by a rounding.
_ALIKE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Figure:
    """A number, or in words why there is none; never infinity.

    `derived` counts the efforts in it that are stand-ins, `blanks` the blank days
    in it that count as rest; both belong beside the number wherever it is shown.
    """

    value: float | None
    reason: str = ""
    derived: int = 0
    blanks: int = 0

    def __post_init__(self) -> None:
        if self.value is None and not self.reason:
            raise ValueError("a figure without a value has a reason")
        if self.value is not None and not math.isfinite(self.value):
            raise ValueError("a figure is finite")

    def words(self, digits: int = 0, unit: str = "") -> str:
        """Say the number with what belongs beside it, or the reason."""
        if self.value is None:
            return self.reason
        text = f"{self.value:.{digits}f}{' ' if unit else ''}{unit}"
        return f"{text} ({self.beside})" if self.beside else text

    @property
    def beside(self) -> str:
        """What belongs beside the number, or nothing."""
        sentences = []
        if self.derived:
            sentences.append(
                "averaged" if self.derived == 1 else f"{self.derived} averaged"
            )
        if self.blanks:
            sentences.append(f"{_days(self.blanks)} blank, counted as rest")
        return "; ".join(sentences)


@dataclass(frozen=True, slots=True)
class Week:
    """Seven calendar days in figures.

    `entered` is the sum of what is known, whatever is missing, and 0 for nothing:
    where `load` has no value it is the least that the week can have been. `circuits`
    is the part of it that circuits are.
    """

    span: DaySpan
    entered: Figure
    load: Figure
    mean: Figure
    monotony: Figure
    strain: Figure
    circuits: Figure = field(default_factory=lambda: Figure(0.0))

    @property
    def circuit_share(self) -> float | None:
        """What part of the known load circuits are, 0 to 1; None without a load."""
        if not self.entered.value or self.circuits.value is None:
            return None
        return self.circuits.value / self.entered.value

    @property
    def is_mixed(self) -> bool:
        """Whether it holds load of circuits and of other training."""
        return self.circuit_share is not None and 0 < self.circuit_share < 1


@dataclass(frozen=True, slots=True)
class SportSum:
    """A sport over some days: how often, how long in ms, and its known load in AU."""

    sport: str
    count: int
    length_ms: int
    load_au: float
    without_effort: int = 0


@dataclass(frozen=True, slots=True)
class PersonalRange:
    """The middle half of the athlete's own earlier weeks, in AU."""

    low_au: float
    high_au: float
    weeks: int


def session_load(training: Training) -> Figure:
    """Effort times minutes of the whole session, in AU.

    Source: Foster et al. 2001, J Strength Cond Res 15:109. A derived effort is
    marked; reasoning after Foster et al. 2021, Int J Sports Physiol Perform 16:612.
    """
    if training.load_au is None:
        return Figure(None, NOT_ENTERED)
    return Figure(float(training.load_au), derived=int(training.effort_is_derived))


def day_load(day: Day) -> Figure:
    """Sum of a day's session loads, in AU.

    A marked day without training is 0. A blank day is 0 where it is fully logged;
    elsewhere it has no value (common practice, no source: a rest day is 0, a blank
    day is not). Source of the sum: Foster 1998, Med Sci Sports Exerc 30:1164.
    """
    if day.is_open:
        return Figure(None, NOT_KNOWN)
    if day.without_effort:
        return Figure(None, NOT_ENTERED)
    return _entered((day,))


def week_load(days: Sequence[Day]) -> Figure:
    """Sum of seven day loads, in AU; no value where any of them has none.

    Raises:
        ValueError: They are not seven days in a row.

    Source: Foster 1998, Med Sci Sports Exerc 30:1164.
    """
    _seven_in_a_row(days)
    loads = [day_load(day) for day in days]
    if any(load.value is None for load in loads):
        return Figure(None, _missing(days))
    return _entered(days)


def monotony(loads_au: Sequence[float]) -> Figure:
    """Mean of daily loads over their sample standard deviation (n - 1).

    With no deviation at all the answer is the words `no variation`. Sample SD is
    our choice; the paper's abstract says standard deviation only.

    Raises:
        ValueError: There are fewer than two days.

    Source: Foster 1998, Med Sci Sports Exerc 30:1164.
    """
    if len(loads_au) < 2:
        raise ValueError("a deviation needs two days or more")
    # Imported here: a list of sessions reckons nothing, and this is not light.
    import statistics

    mean = statistics.fmean(loads_au)
    deviation = statistics.stdev(loads_au)
    if deviation <= _ALIKE * abs(mean):
        return Figure(None, NO_VARIATION)
    return Figure(mean / deviation)


def strain(load: Figure, alike: Figure) -> Figure:
    """Week load times monotony, in AU; without a monotony its reason stands.

    Source: Foster 1998, Med Sci Sports Exerc 30:1164.
    """
    if load.value is None:
        return load
    if alike.value is None:
        return Figure(None, alike.reason)
    return Figure(load.value * alike.value, derived=load.derived, blanks=load.blanks)


def only_circuits(days: Iterable[Day]) -> bool:
    """Whether these days hold trainings, and every one of them is a circuit."""
    return {t.kind for day in days for t in day.trainings} == {DayKind.CIRCUIT}


def week(book: DayBook, span: DaySpan) -> Week:
    """All figures of seven calendar days.

    Monotony and strain are hidden, with the reason, where the 28 days up to the
    last one hold nothing but circuits: for k equal sessions they depend on k alone.

    Raises:
        ValueError: The span is not seven days long.

    Source: Foster 1998, Med Sci Sports Exerc 30:1164.
    """
    days = book.days(span)
    load = week_load(days)
    alike = _monotony_of(book, days, load)
    mean = load
    if load.value is not None:
        mean = Figure(load.value / DAYS_IN_WEEK, "", load.derived, load.blanks)
    circuits = _entered(days, DayKind.CIRCUIT)
    entered = _entered(days)
    return Week(span, entered, load, mean, alike, strain(load, alike), circuits)


def weeks(book: DayBook, span: DaySpan) -> tuple[Week, ...]:
    """The figures of every week, Monday to Sunday, that a span touches."""
    return tuple(week(book, each) for each in weeks_in(span))


def personal_range(earlier: Sequence[Week]) -> PersonalRange | None:
    """The middle half (quartiles) of the last 12 weeks whose load is known.

    None with fewer than four of them. It is a description of what was done, not
    a target. Quartiles: common practice, no source.
    """
    loads = [w.load.value for w in earlier[-RANGE_WEEKS:] if w.load.value is not None]
    if len(loads) < LEAST_WEEKS:
        return None
    import statistics

    low, _, high = statistics.quantiles(loads, n=4, method="inclusive")
    return PersonalRange(low, high, len(loads))


def _monotony_of(book: DayBook, days: Sequence[Day], load: Figure) -> Figure:
    if load.value is None:
        return load
    last = days[-1].day
    back = DaySpan(last - timedelta(days=LOOK_BACK_DAYS - 1), last)
    if only_circuits(book.days(back)):
        return Figure(None, ONLY_CIRCUITS)
    loads = [day_load(day).value for day in days]
    found = monotony([value for value in loads if value is not None])
    if found.value is None:
        return found
    return Figure(found.value, "", load.derived, load.blanks)


def by_sport(trainings: Iterable[Training]) -> tuple[SportSum, ...]:
    """Minutes and load of each sport, most minutes first; circuits are one of them."""
    groups: dict[str, list[Training]] = {}
    for one in trainings:
        is_circuit = one.kind is DayKind.CIRCUIT
        groups.setdefault(CIRCUITS if is_circuit else one.sport, []).append(one)
    sums = [
        SportSum(
            sport,
            len(own),
            sum(one.length_ms for one in own),
            float(sum((one.load_au or Fraction(0) for one in own), Fraction(0))),
            sum(one.effort is None for one in own),
        )
        for sport, own in groups.items()
    ]
    return tuple(sorted(sums, key=lambda one: (-one.length_ms, one.sport)))


def _entered(days: Iterable[Day], kind: DayKind | None = None) -> Figure:
    """Sum of the loads that are known; exact, so that no order of them matters."""
    kept = list(days)
    trainings = [
        training
        for day in kept
        for training in day.trainings
        if kind in {None, training.kind}
    ]
    loads = [training.load_au for training in trainings]
    return Figure(
        float(sum((load for load in loads if load is not None), Fraction(0))),
        derived=sum(training.effort_is_derived for training in trainings),
        blanks=sum(day.is_blank_as_rest for day in kept),
    )


def _missing(days: Sequence[Day]) -> str:
    blank = sum(day.is_open for day in days)
    unrated = sum(day.without_effort for day in days)
    sentences = []
    if blank:
        sentences.append(f"{_days(blank)} blank")
    if unrated:
        sentences.append(f"{unrated} without effort")
    return "not known: " + ", ".join(sentences)


def _seven_in_a_row(days: Sequence[Day]) -> None:
    steps = [(day.day - days[0].day).days for day in days]
    if steps != list(range(DAYS_IN_WEEK)):
        raise ValueError("a week is seven calendar days in a row")


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
