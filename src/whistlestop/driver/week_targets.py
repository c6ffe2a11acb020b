"""What the athlete wants of the weeks ahead, as far as `weeks.toml` says it."""

from __future__ import annotations

from datetime import date, timedelta
from os.path import lexists
from typing import cast

from whistlestop.coach.context import DayWishes
from whistlestop.coach.weeks import Block, emphasis_in
from whistlestop.domain.targets import MOST_WEEKS, Emphasis, Targets
from whistlestop.errors import ProblemsFound
from whistlestop.review.days import FixedDays, week_of
from whistlestop.store.places import Places
from whistlestop.store.wishes.weeks import read_targets


def own_targets(places: Places) -> Targets | None:
    """What `weeks.toml` says; None where there is no such file.

    Raises:
        ProblemsFound: The file has problems.
    """
    path = places.weeks_file
    return read_targets(path) if lexists(path) else None


def block_now(targets: Targets, today: date) -> tuple[Emphasis, int, bool] | None:
    """The emphasis of today's block, its weeks, and whether this is the lighter one.

    None outside the weeks, or where there are no blocks.
    """
    week = (today - week_of(targets.began).first).days // 7
    if not targets.blocks or not 0 <= week < MOST_WEEKS:
        return None
    blocks = tuple(Block(cast("Emphasis", e), n) for e, n in targets.blocks)
    place = week
    length = blocks[-1].weeks
    for block in blocks:
        if place < block.weeks:
            length = block.weeks
            break
        place -= block.weeks
    emphasis, is_lighter = emphasis_in(blocks, week)
    return emphasis, length, is_lighter


def day_wishes(targets: Targets, day: date) -> DayWishes:
    """What the weeks say of one day; key sessions also outside of their blocks."""
    near = key_days_near(targets, day)
    found = block_now(targets, day)
    return DayWishes(*found, near) if found else DayWishes(key_days=near)


def fixed_days(places: Places) -> FixedDays:
    """Races and key sessions as `weeks.toml` has them; none where it has problems.

    Weekly key sessions are those of the weeks that are planned in it.
    """
    try:
        targets = own_targets(places)
    except ProblemsFound:
        return FixedDays()
    if targets is None:
        return FixedDays()
    first = week_of(targets.began).first
    planned = (first + timedelta(days=n) for n in range(7 * targets.weeks))
    weekly = {day for day in planned if day.weekday() in targets.key_weekdays}
    return FixedDays(frozenset(targets.priorities), targets.key_days | weekly)


def key_days_near(targets: Targets, today: date, days: int = 7) -> frozenset[date]:
    """Key sessions from the day before today on, until so many days after it.

    Races are none of them: they stand in `Targets.priorities`.
    """
    near = (today + timedelta(days=n) for n in range(-1, days + 1))
    return frozenset(
        day
        for day in near
        if day.weekday() in targets.key_weekdays or day in targets.key_days
    )
