"""What the builder is fed with, and where wishes and circuits are saved.

Owns reading kit, limits and the last weeks for a request, and the names of wishes.
Refuses to know how a circuit is found and how anything is shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from whistlestop.builder.request import Request
from whistlestop.domain.text import shown
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.driver.last_loads import last_loads
from whistlestop.driver.practice import (
    done_often,
    held_levels,
    level_of,
    recent_records,
)
from whistlestop.driver.wellbeing import page_first
from whistlestop.errors import StoreError, UsageError
from whistlestop.store.wishes.circuits import (
    read_wishes,
    wishes_names,
    wishes_path,
    write_wishes,
)

if TYPE_CHECKING:
    from whistlestop.domain.limits import Limit
    from whistlestop.driver.services import Services


@dataclass(frozen=True, slots=True)
class BuildRequest:
    """A request as it stands today, and in sentences what could not be read for it."""

    request: Request
    problems_found: tuple[str, ...] = ()


def asked(services: Services, wishes: CircuitWishes, along: str = "") -> BuildRequest:
    """Lay today's kit, limits and last weeks under wishes.

    Args:
        services: The home.
        wishes: What is wanted.
        along: Who trains along, by name or id: then it is for two, and what this
            person leaves out stays out as well; "" where nobody is named.

    Raises:
        UsageError: Wishes contradict each other, or name no station there is; or a
            stop for health waits for its page; or `along` is no usable name.
        ProblemsFound: Kit or limits have problems.
        StoreError: The log cannot be read.
    """
    if problem := page_first(services.wellbeing):
        raise UsageError(problem, "next --well, with what it was")
    wishes = with_ids(wishes)
    theirs = _limits_along(services, along)
    past, problems_found = _lately(services)
    try:
        last_kg = last_loads(services.logbook())
    except (StoreError, UsageError) as error:
        last_kg = {}
        problems_found = tuple(dict.fromkeys((*problems_found, str(error))))
    request = Request(
        minutes=wishes.minutes,
        stations=wishes.stations,
        loops=wishes.loops,
        kit=services.kit.owned(),
        limits=(*services.kit.limits_in_force(), *theirs),
        space=wishes.space,
        noise=wishes.noise,
        ceiling=wishes.ceiling,
        difficulty=wishes.difficulty,
        work_ms=wishes.work_ms,
        recover_ms=wishes.recover_ms,
        warm_up=wishes.warm_up,
        favourites=frozenset(wishes.like),
        avoid=frozenset(wishes.avoid),
        keep=wishes.keep,
        recent=past.recent,
        yardstick=past.yardstick,
        athletes=2 if along else wishes.athletes,
        waived=frozenset(wishes.waived),
        seed=wishes.seed,
        level=level_of(services, wishes.level),
        waiting=past.waiting,
        held=tuple(sorted(past.held.items())),
        last_kg=tuple(sorted(last_kg.items())),
    )
    return BuildRequest(request, problems_found)


def _limits_along(services: Services, along: str) -> tuple[Limit, ...]:
    """What a companion leaves out today; nothing where nobody is named."""
    if not along:
        return ()
    # Imported here: one alone needs none of it.
    from whistlestop.domain.limits import in_force
    from whistlestop.driver.athletes import companion

    limits = companion(services.places, along, keep=False).limits
    return in_force(limits, services.clock.wall().date())


def wishes_of(request: Request, before: CircuitWishes) -> CircuitWishes:
    """What a request would be as wishes; kit and limits are left to the day.

    What is locked, liked and avoided stands in the order of `before`.
    """

    def ordered(ids: Iterable[str], known: tuple[str, ...]) -> tuple[str, ...]:
        given = set(ids)
        old = [key for key in known if key in given]
        return (*old, *sorted(given.difference(old)))

    return replace(
        before,
        minutes=request.minutes,
        stations=request.stations,
        loops=request.loops,
        work_ms=request.work_ms,
        recover_ms=request.recover_ms,
        space=request.space,
        noise=request.noise,
        ceiling=request.ceiling,
        avoid=ordered(request.avoid, before.avoid),
        keep=ordered(request.keep, before.keep),
        waived=ordered(request.waived, before.waived),
    )


def with_ids(wishes: CircuitWishes) -> CircuitWishes:
    """Wishes whose lists hold ids, whatever names of stations were typed.

    Raises:
        UsageError: Nothing is called so; with the nearest there is.
    """
    return replace(
        wishes,
        like=_ids(wishes.like),
        avoid=_ids(wishes.avoid),
        keep=_ids(wishes.keep),
    )


def _ids(names: tuple[str, ...]) -> tuple[str, ...]:
    from whistlestop.library import exercises
    from whistlestop.library.finding import named_station, nearest_station

    known = exercises()
    found: dict[str, None] = {}
    for name in names:
        key = name if name in known else named_station(name)
        if key is None:
            near = nearest_station(name, known)
            hint = f"nearest: {near} ({known[near].name})" if near else ""
            raise UsageError(f"the library has no station {shown(name, 60)}", hint)
        found[key] = None
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Past:
    """What the last weeks say: what is not new, what waits, which levels were held."""

    recent: frozenset[str]
    yardstick: str
    waiting: frozenset[str]
    held: Mapping[str, int]


def _lately(services: Services) -> tuple[_Past, tuple[str, ...]]:
    """What the last weeks say, and in sentences what of them could not be read."""
    from whistlestop.builder.lately import LATELY_DAYS, lately
    from whistlestop.library.levels import waiting

    since = services.clock.wall().date() - timedelta(days=LATELY_DAYS)
    records, problems_found = recent_records(services.logbook(), since)
    lines = services.log.sessions()
    recent, yardstick = lately(records)
    past = _Past(
        recent,
        yardstick,
        waiting(done_often(lines, records)),
        held_levels(lines, records, services.library.drills()),
    )
    return past, tuple(problems_found)


# --- Kept wishes -----------------------------------------------------------------


def saved_names(services: Services) -> tuple[str, ...]:
    """The names under which wishes are saved in this home."""
    return wishes_names(services.places.wishes)


def saved_wishes(services: Services, name: str) -> CircuitWishes:
    """The wishes saved under a name.

    Raises:
        UsageError: There are none of that name; says which there are.
        ProblemsFound: The file has problems.
    """
    path = wishes_path(services.places.wishes, name)
    if not path.exists():
        names = saved_names(services)
        hint = f"saved: {', '.join(names)}" if names else "none saved yet"
        raise UsageError(f"there are no wishes named {name}", hint)
    return read_wishes(path)


def save_wishes(services: Services, name: str, wishes: CircuitWishes) -> Path:
    """Save wishes under a name; those saved under it before give way.

    Raises:
        UsageError: It cannot be a name.
        StoreError: The file there is somebody's own, or the disk refuses.
    """
    path = wishes_path(services.places.wishes, name)
    write_wishes(path, wishes)
    return path
