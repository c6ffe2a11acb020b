"""What the athlete held at last at each exercise, out of the newest sessions.

Owns how far back it looks. It refuses to judge: what a load may become is said
elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from whistlestop.domain.load import parse_load
from whistlestop.errors import WhistlestopError

if TYPE_CHECKING:
    from whistlestop.driver.logbook import Logbook

# A load of longer ago says nothing of today. Common practice, no source.
_DAYS: Final = 120
# Each is a replay of some 10 ms.
_MOST_SESSIONS: Final = 20


def readable_last_loads(logbook: Callable[[], Logbook]) -> Mapping[str, float]:
    """The last loads; none where the log cannot be read, which holds nothing up."""
    try:
        return last_loads(logbook())
    except WhistlestopError:
        return {}


def last_loads(logbook: Logbook) -> Mapping[str, float]:
    """Kilograms each by exercise: the heaviest of the last session that had it.

    Raises:
        StoreError: The log or the diary cannot be read.
    """
    since = logbook.today - timedelta(days=_DAYS)
    found: dict[str, float] = {}
    for line in logbook.sessions(since=since)[:_MOST_SESSIONS]:
        of_session: dict[str, float] = {}
        for bout in logbook.bouts([line]):
            if bout.load_kg is None or not bout.done_ms:
                continue
            each = float(parse_load(bout.load_text).each_kg or 0)
            of_session[bout.exercise] = max(each, of_session.get(bout.exercise, 0))
        found = {**of_session, **found}
    return found
