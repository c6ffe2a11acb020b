"""Two weighted means of daily load, of 7 and of 28 days, and how far they moved.

Owns the lines and where they break. Refuses to set one against the other: the
parts are made of the same days, and no quotient of them is formed here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Final

from whistlestop.review.days import Day, day_text
from whistlestop.review.numbers import Figure, day_load

SHORT_DAYS: Final = 7
LONG_DAYS: Final = 28
WARM_UP_DAYS: Final = 28


def line_name(n_days: int) -> str:
    """Name a line for what it is."""
    return f"{n_days}-day exponentially weighted mean of daily load, AU a day"


def alpha(n_days: int) -> Fraction:
    """Weight of the newest day: 2 / (N + 1), exact.

    Raises:
        ValueError: N is below 1.

    Source: Williams et al. 2017, Br J Sports Med 51:209.
    """
    if n_days < 1:
        raise ValueError("a mean runs over 1 day or more")
    return Fraction(2, n_days + 1)


def ewma(
    loads_au: Sequence[float], n_days: int, *, seed_au: float | None = None
) -> tuple[float, ...]:
    """E(t) = a L(t) + (1 - a) E(t - 1), one value a day, in AU a day.

    Args:
        loads_au: Daily loads in a row, rest days as 0.
        n_days: N, from which a = 2 / (N + 1).
        seed_au: The mean before the first day; the first day itself where None.

    Source: Williams et al. 2017, Br J Sports Med 51:209.
    """
    weight = float(alpha(n_days))
    line: list[float] = []
    before = seed_au
    for load in loads_au:
        before = load if before is None else weight * load + (1 - weight) * before
        line.append(before)
    return tuple(line)


@dataclass(frozen=True, slots=True)
class TrendDay:
    """One calendar day of both lines.

    Where the day's load is not known all three are None and the lines break; they
    restart with the next known day, and warm up again. `blanks` and `derived`
    count the blank days taken as rest and the derived efforts since that beginning.
    """

    day: date
    load_au: float | None
    short_au: float | None
    long_au: float | None
    warming_up: bool
    blanks: int = 0
    derived: int = 0


@dataclass(frozen=True, slots=True)
class Drift:
    """How far one line moved over its last days, in AU a day.

    `since` is the first of the days in a row that are known; None where the last day
    is not known itself.
    """

    name: str
    over_days: int
    before: Figure
    now: Figure
    change: Figure
    warming_up: bool
    since: date | None = None

    def words(self) -> str:
        """Say it in a sentence, without judgement."""
        if self.now.value is None:
            return f"{self.name}: {self.now.reason}"
        if self.before.value is None:
            return f"{self.name}: {self.now.words()} now; {self.change.reason}"
        sentences = (
            f"{self.name}: {self.before.value:.0f} {self.over_days} days ago, "
            f"{self.now.words()} now"
        )
        return f"{sentences}; warming up" if self.warming_up else sentences


def trend_days(days: Iterable[Day]) -> tuple[TrendDay, ...]:
    """Both lines over calendar days in a row, the first day as the seed.

    The first 28 days after each beginning are marked as warming up: until then
    the seed still weighs. Rest days are 0; a day that is not known breaks the
    lines.

    Raises:
        ValueError: The days are not in a row.

    Source: Williams et al. 2017, Br J Sports Med 51:209; the marking of the first
    28 days is common practice, no source.
    """
    found: list[TrendDay] = []
    stretch: list[tuple[date, Figure]] = []
    last: date | None = None
    for day in days:
        if last is not None and day.day != last + timedelta(days=1):
            raise ValueError("a line runs over calendar days in a row")
        last = day.day
        load = day_load(day)
        if load.value is not None:
            stretch.append((day.day, load))
            continue
        found += _stretch(stretch)
        stretch = []
        found.append(TrendDay(day.day, None, None, None, warming_up=True))
    return tuple(found + _stretch(stretch))


def drifts(line: Sequence[TrendDay]) -> tuple[Drift, Drift]:
    """Last week's drift of the 7-day line and last month's of the 28-day line.

    A month is 28 days here. Without a day to start from, the change has a reason.

    Raises:
        ValueError: There are no days.
    """
    if not line:
        raise ValueError("a drift needs a day to end on")
    return (_drift(line, SHORT_DAYS), _drift(line, LONG_DAYS))


def _stretch(stretch: Sequence[tuple[date, Figure]]) -> list[TrendDay]:
    loads = [load.value for _, load in stretch if load.value is not None]
    short, long = ewma(loads, SHORT_DAYS), ewma(loads, LONG_DAYS)
    made = []
    blanks = derived = 0
    for index, (day, load) in enumerate(stretch):
        blanks += load.blanks
        derived += load.derived
        made.append(
            TrendDay(
                day,
                load.value,
                short[index],
                long[index],
                warming_up=index < WARM_UP_DAYS,
                blanks=blanks,
                derived=derived,
            )
        )
    return made


def _drift(line: Sequence[TrendDay], n_days: int) -> Drift:
    since = _known_since(line)
    known = line[-n_days - 1 :]
    now = _figure(line[-1], n_days)
    before = change = Figure(None, now.reason or _too_short(since, n_days))
    if since is not None and len(known) > n_days and since <= known[0].day:
        before = _figure(known[0], n_days)
        assert now.value is not None
        assert before.value is not None
        change = Figure(now.value - before.value, "", now.derived, now.blanks)
    return Drift(
        line_name(n_days),
        n_days,
        before,
        now,
        change,
        warming_up=known[0].warming_up or line[-1].warming_up,
        since=since,
    )


def _known_since(line: Sequence[TrendDay]) -> date | None:
    """The first of the known days in a row that lead up to the last one."""
    since = None
    for day in reversed(line):
        if day.load_au is None:
            break
        since = day.day
    return since


def _too_short(since: date | None, n_days: int) -> str:
    if since is None:
        return "no line"
    shows = since + timedelta(days=n_days)
    return (
        f"every day is known since {day_text(since)}, and its change shows from "
        f"{day_text(shows)} on"
    )


def _figure(day: TrendDay, n_days: int) -> Figure:
    value = day.short_au if n_days == SHORT_DAYS else day.long_au
    if value is None:
        return Figure(None, f"no line: {day_text(day.day)} is not known")
    return Figure(value, "", day.derived, day.blanks)
