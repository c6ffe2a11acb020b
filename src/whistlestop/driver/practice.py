"""How practised somebody is: by their own word, else by what the log holds.

Owns what counts as a session that was carried through. Refuses to know what is built
or suggested from it. A level is never guessed beyond new and not new.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING

from whistlestop.domain.wishes import Wished
from whistlestop.library.first_loads import Level

if TYPE_CHECKING:
    from whistlestop.driver.services import Services
    from whistlestop.review.record import SessionRecord
    from whistlestop.store.journal.index import SessionLine


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
