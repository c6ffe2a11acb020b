"""What is said before a session that no sheet came before: what limits stand against.

Owns which of two people's limits are held against which plan. Refuses to change the
plan: a circuit that is asked for runs as it is written.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from whistlestop.domain.text import joined, sentence_case
from whistlestop.driver.guard import LIMITS, NAMES, UNREAD

if TYPE_CHECKING:
    from whistlestop.domain.kit.means import Means
    from whistlestop.domain.limits import Limit
    from whistlestop.domain.plan.pairing import Company
    from whistlestop.domain.plan.plan import Plan, Segment
    from whistlestop.driver.services import Services


def against_limits(services: Services, plan: Plan, company: Company) -> tuple[str, ...]:
    """Say for each limit in force which stations and drills it stands against.

    Args:
        services: The home whose limits, athletes and library are looked at.
        plan: The owner's plan.
        company: Who trains along, each with a plan and limits of their own.

    Returns:
        A sentence for each limit that meets anything; where the owner's limits cannot
        be read, one that says so.
    """
    found = [*_own(services, plan)]
    for athlete, theirs in company.others:
        nobody: tuple[Limit, ...] = ()
        limits = services.guard.call(NAMES, partial(_of, services, athlete), nobody)
        found += _sentences(services, theirs, limits)
    return tuple(found)


def _own(services: Services, plan: Plan) -> Iterator[str]:
    problem = services.guard.call(LIMITS, services.kit.limits_problem, UNREAD)
    if problem:
        yield problem
        return
    yield from _sentences(services, plan, services.kit.limits())


def _of(services: Services, athlete: str) -> tuple[Limit, ...]:
    # Imported here: one alone needs none of it.
    from whistlestop.driver.athletes import companion

    if not os.path.lexists(services.places.athletes_file):
        return ()
    return companion(services.places, athlete, keep=False).limits


def _sentences(
    services: Services, plan: Plan, limits: tuple[Limit, ...]
) -> Iterator[str]:
    if not limits:
        return
    # Imported here: without limits no start waits for the library.
    from whistlestop.library.whole import library_means
    from whistlestop.prints.sheet_facts import limit_text

    today = services.clock.wall().date()
    means = library_means(None, limits, today, services.library.whole())
    for limit in means.in_force:
        if met := _met(plan, limit, means):
            # What is met comes first: a small Floor cuts the end of a line.
            text = limit_text(replace(limit, who=""))
            if limit.who:
                text = f"for {limit.who}: {text.removeprefix('you ')}"
            yield f"{met}{',' if limit.who else ':'} {text}."


def _met(plan: Plan, limit: Limit, means: Means) -> str:
    """What a limit stands against in a plan, by number; "" where there is nothing."""
    # Imported here, as above.
    from whistlestop.domain.limits import collisions
    from whistlestop.driver.swapping import station_of

    written = [station_of(card, card.load) for card in plan.stations]
    met = collisions(written, means.exercises, [limit], means.on)
    stations = [plan.stations[one.station - 1].number for one in met]
    after = {
        one.station
        for one in plan.segments
        if one.drill and limit in _against(one, means)
    }
    drills = sorted(number for number in after if number is not None)
    parts = (_numbered("station", stations), _numbered("drill", drills, " after"))
    text = ", ".join(filter(None, parts))
    return sentence_case(text)


def _against(segment: Segment, means: Means) -> tuple[Limit, ...]:
    drill, name = segment.drill or "", segment.drill_name or ""
    return means.against_drill(drill, means.level_of(drill, name))


def _numbered(what: str, numbers: Sequence[int], where: str = "") -> str:
    if not numbers:
        return ""
    many = "s" if len(numbers) > 1 else ""
    return f"{what}{many}{where} {joined([str(number) for number in numbers])}"
