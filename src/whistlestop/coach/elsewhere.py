"""What was trained elsewhere lately, and what it says of a circuit today.

Owns which muscles a sport works and how much is much for this athlete. A load is
minutes times effort, measured against the athlete's own days; where no effort was
entered, only the minutes count.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from statistics import median
from typing import Final

from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import (
    ANY_REGION,
    CircuitHistory,
    Elsewhere,
    share_a_region,
)
from whistlestop.review.activities.sports import sport_of_text

# Which regions a sport works; what is not named works the whole body. Common practice.
_LEGS: Final = frozenset({"legs"})
REGIONS: Final[Mapping[str, frozenset[str]]] = {
    "cycling": _LEGS,
    "e-bike": _LEGS,
    "running": _LEGS,
    "walking": _LEGS,
    "hiking": _LEGS,
    "swimming": frozenset({"arms", "core"}),
    "climbing": frozenset({"arms", "core"}),
    "mobility": frozenset(),
    "transition": frozenset(),
}
# Minutes times effort: Foster et al. 2001, J Strength Cond Res 15:109 (second-hand).
# How much is much is common practice, no source.
MUCH: Final = 1.5
UNKNOWN_DAY: Final = 420
HARD: Final = 8.0
HARD_MIN: Final = 45
UNKNOWN_MIN: Final = 120
TOO_MUCH: Final = 1_000
OWN_DAYS: Final = 3
# Only days are known: today and yesterday stand for 36 h and for 48 h.
_NEAR_DAYS: Final = 2
_LOOKED_AT_DAYS: Final = 35
_FEWEST_DAYS: Final = 3


def regions_of_sport(training: Elsewhere) -> frozenset[str]:
    """The regions that a training worked."""
    return REGIONS.get(sport_of_text(training.sport), ANY_REGION)


def held_elsewhere(history: CircuitHistory, context: CoachContext) -> str:
    """Why other training of the same muscles holds a step back; else "".

    Example: two hours of cycling at 8 yesterday: hold. As long a ride as on most of
    the last five weeks' days with one: nothing.
    """
    alike = _alike(history, context.regions)
    for training in reversed(_near(alike, context.today)):
        if text := _much(training, alike, context.today):
            return text
    return _long_week(alike, context.today)


def too_much_elsewhere(
    history: CircuitHistory, context: CoachContext
) -> tuple[str, date] | None:
    """Whether the legs did so much elsewhere that no circuit with them fits today.

    Example: 180 min of cycling at 9 yesterday: 1620, and no such day before.

    Returns:
        Why, and the first day on which it is over; None where it is not so.
    """
    legs = context.regions & {"legs", "whole"}
    alike = _alike(history, _LEGS) if legs else []
    near = [t for t in _near(alike, context.today) if _load(t)]
    load = sum(_load(t) or 0 for t in near)
    own = _own_day(alike, context.today)
    if load < TOO_MUCH or (own is not None and load < OWN_DAYS * own):
        return None
    done = " and ".join(in_words(t, context.today) for t in near)
    last = max(t.day for t in near)
    return f"Your legs did {done}.", last + timedelta(days=_NEAR_DAYS)


def near_run(history: CircuitHistory, day: date) -> Elsewhere | None:
    """The largest other training of a day and the one before that was much."""
    near = [
        t for t in _near(history.elsewhere, day) if _much(t, history.elsewhere, day)
    ]
    return max(near, key=lambda t: t.minutes, default=None)


def in_words(training: Elsewhere, today: date) -> str:
    """A training in words: 180 min of cycling at 9 yesterday."""
    days = (today - training.day).days
    when = {0: "today", 1: "yesterday"}.get(days, f"on {training.day:%d %b}")
    effort = "" if training.effort is None else f" at {training.effort:g}"
    return f"{training.minutes:.0f} min of {training.sport}{effort} {when}"


def _load(training: Elsewhere) -> float | None:
    """Minutes times effort; None without an effort."""
    return None if training.effort is None else training.minutes * training.effort


def _alike(history: CircuitHistory, regions: frozenset[str]) -> list[Elsewhere]:
    return [
        training
        for training in history.elsewhere
        if share_a_region(regions_of_sport(training), regions)
    ]


def _near(trainings: Iterable[Elsewhere], today: date) -> list[Elsewhere]:
    return [t for t in trainings if 0 <= (today - t.day).days < _NEAR_DAYS]


def _much(training: Elsewhere, alike: Sequence[Elsewhere], today: date) -> str:
    """Why one training was much for this athlete; "" where it was not."""
    minutes, load = training.minutes, _load(training)
    sport = sport_of_text(training.sport)
    own = [t for t in alike if sport_of_text(t.sport) == sport]
    words = in_words(training, today)
    if load is None:
        usual = _own_minutes(own, today)
        much = minutes >= (UNKNOWN_MIN if usual is None else MUCH * usual)
        return f"{words}, and no effort of it." if much else ""
    if (training.effort or 0) >= HARD and minutes >= HARD_MIN:
        return f"{words}: that was hard."
    day = _own_day(own, today)
    if day is None:
        return f"{words}: that is much." if load >= UNKNOWN_DAY else ""
    if load < MUCH * day:
        return ""
    return f"{words}, {load / day:.1f} times your usual day of it."


def _long_week(alike: Sequence[Elsewhere], today: date) -> str:
    """Why the last seven days were much, against the three weeks before."""
    weeks = [
        sum(
            _load(t) or 0
            for t in alike
            if 7 * week <= (today - t.day).days < 7 * (week + 1)
        )
        for week in range(4)
    ]
    now, *before = weeks
    if not all(before):
        return ""
    usual = sum(before) / len(before)
    if now < MUCH * usual:
        return ""
    return (
        f"Your other training of these muscles was {now / usual:.1f} times "
        "that of the three weeks before."
    )


def _before(trainings: Iterable[Elsewhere], today: date) -> list[Elsewhere]:
    """Those of the five weeks before the last two days."""
    return [
        t
        for t in trainings
        if _NEAR_DAYS <= (today - t.day).days < _NEAR_DAYS + _LOOKED_AT_DAYS
    ]


def _own_day(trainings: Iterable[Elsewhere], today: date) -> float | None:
    """The median load of a day with such training; None where too few are known."""
    days: dict[date, float] = {}
    for training in _before(trainings, today):
        load = _load(training)
        if load is not None:
            days[training.day] = days.get(training.day, 0) + load
    return median(days.values()) if len(days) >= _FEWEST_DAYS else None


def _own_minutes(trainings: Iterable[Elsewhere], today: date) -> float | None:
    lengths = [training.minutes for training in _before(trainings, today)]
    return median(lengths) if len(lengths) >= _FEWEST_DAYS else None
