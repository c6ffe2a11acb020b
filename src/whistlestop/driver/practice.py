"""How practised somebody is: by their own word, else by what the log holds.

Owns what counts as a session that was carried through. Refuses to know what is built
or suggested from it. A level is never guessed beyond new and not new.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.wishes import Wished
from whistlestop.driver.last_loads import readable_last_loads
from whistlestop.errors import StoreError, UsageError, WhistlestopError
from whistlestop.library.first_loads import Level

if TYPE_CHECKING:
    from whistlestop.domain.exercise import DrillInfo
    from whistlestop.driver.logbook import Logbook
    from whistlestop.driver.services import Services
    from whistlestop.review.record import SessionRecord
    from whistlestop.store.journal.index import SessionLine


# Drills are counted in the records of so many days: what was not done for longer
# begins again. Common practice, no source.
DRILL_DAYS: Final = 28


def is_carried_through(line: SessionLine) -> bool:
    """Say whether half of the work or more was done in a session.

    Somebody who looked at a start and left is as new as before.
    """
    done_ms = line.best_work_ms or line.done_work_ms
    return 0 < line.plan_work_ms <= 2 * done_ms


def level_of(services: Services, wished: Wished = "auto") -> Level:
    """The level that is asked for or set; else new until a session was done.

    Raises:
        StoreError: The log cannot be read.
    """
    word = services.settings.training.level if wished == "auto" else wished
    if word != "auto":
        return word
    lines = services.log.sessions()
    if any(map(is_carried_through, lines)):
        return "regular"
    return "regular" if _is_in_diary(services, lines) else "new"


def done_often(
    lines: Iterable[SessionLine], records: Iterable[SessionRecord]
) -> frozenset[str]:
    """Ids of the stations and drills that two sessions carried through held.

    `lines` are all sessions, `records` those whose drills are to count.
    """
    # Imported here: what starts a session knows nothing of it.
    from whistlestop.library.levels import SESSIONS_BEFORE

    counts: Counter[str] = Counter()
    held = [line for line in lines if is_carried_through(line)]
    for line in held:
        counts.update(set(line.exercises))
    ids = {line.id for line in held}
    for record in records:
        if record.id in ids:
            segments = record.plan.segments
            counts.update({one.drill for one in segments if one.drill})
    return frozenset(key for key, n in counts.items() if n >= SESSIONS_BEFORE)


def held_levels(
    lines: Iterable[SessionLine],
    records: Iterable[SessionRecord],
    known: Mapping[str, DrillInfo],
) -> dict[str, int]:
    """The hardest level of each drill that two sessions carried through held.

    Args:
        lines: All sessions.
        records: Those whose drills are to count.
        known: Drills by id.

    Returns:
        Levels from 1, by id; a drill that fewer sessions held is not in it. A drill
        without a level in its name counts as at the first. Whether a level was steady
        all the time, no log knows: that it was done to the end of two sessions stands
        for it. Common practice, no source.
    """
    # Imported here: what starts a session knows nothing of it.
    from whistlestop.library.levels import SESSIONS_BEFORE

    ids = {line.id for line in lines if is_carried_through(line)}
    counts: Counter[tuple[str, int]] = Counter()
    for record in records:
        if record.id in ids:
            counts.update(_levels_in(record, known))
    often = (one for one, count in counts.items() if count >= SESSIONS_BEFORE)
    # The hardest comes last, and stays.
    return dict(sorted(often))


def _levels_in(
    record: SessionRecord, known: Mapping[str, DrillInfo]
) -> set[tuple[str, int]]:
    """Each drill of a session with its level and those below, where work was done."""
    worked = {loop.loop for loop in record.loops if loop.worked}
    found: set[tuple[str, int]] = set()
    for one in record.plan.segments:
        drill = one.drill or ""
        if drill in known and one.loop in worked:
            level = known[drill].level_named(one.drill_name or "") or 1
            found.update((drill, below) for below in range(1, level + 1))
    return found


def recent_records(
    logbook: Logbook, since: date
) -> tuple[list[SessionRecord], list[str]]:
    """The records of sessions since a day, and what of them could not be read."""
    records, problems_found = [], []
    for line in logbook.done(since=since):
        try:
            records.append(logbook.record(line.id))
        except (StoreError, UsageError) as error:
            problems_found.append(str(error))
    return records, problems_found


def not_practised(services: Services) -> frozenset[str]:
    """Ids of the stations and drills that nothing gives unasked, by the log.

    Raises:
        StoreError: The log cannot be read.
    """
    # Imported here: what starts a session knows nothing of it.
    from whistlestop.library.levels import waiting

    since = services.clock.wall().date() - timedelta(days=DRILL_DAYS)
    records, _ = recent_records(services.logbook(), since)
    return waiting(done_often(services.log.sessions(), records))


@dataclass(frozen=True, slots=True)
class FromLog:
    """What the log says to exchanges: loads held at last, and what waits."""

    last_kg: Mapping[str, float]
    waiting: frozenset[str]


def from_log(services: Services) -> FromLog:
    """Loads held at last, and what waits; without a log that can be read, neither."""
    last_kg = readable_last_loads(services.logbook)
    try:
        return FromLog(last_kg, not_practised(services))
    except WhistlestopError:
        return FromLog(last_kg, frozenset())


def beyond(services: Services) -> frozenset[str]:
    """Ids of the stations that somebody new is not given unasked; else nothing.

    Raises:
        StoreError: The log cannot be read.
    """
    if level_of(services) != "new":
        return frozenset()
    # Imported here: what starts a session knows nothing of it.
    from whistlestop.library.levels import too_hard, waiting

    return too_hard("new") | waiting(done_often(services.log.sessions(), ()))


def _is_in_diary(services: Services, lines: Iterable[SessionLine]) -> bool:
    """Say whether a circuit done without the program was entered."""
    from whistlestop.review.days import DayKind

    recorded = {line.id for line in lines}
    return any(
        one.kind is DayKind.CIRCUIT and one.source_id not in recorded
        for trainings in services.logbook().book().trainings.values()
        for one in trainings
    )
