"""What was done in the last weeks: what counts as not new, and a yardstick that stays.

Refuses to know where records come from.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Final

from whistlestop.review.record import SessionRecord

# Stations change every 3 to 4 weeks. Common practice, no source.
LATELY_DAYS: Final = 28
_LEAST_SESSIONS: Final = 2


def lately(records: Iterable[SessionRecord]) -> tuple[frozenset[str], str]:
    """The exercise ids with any work in these sessions, and the yardstick among them.

    The yardstick was done in the most sessions, in two at least; the first by id of
    several. It is empty where there is none.
    """
    counts: Counter[str] = Counter()
    for record in records:
        counts.update(
            {card.exercise for loop in record.loops for card in loop.done_cards}
        )
    often = [key for key, count in counts.items() if count >= _LEAST_SESSIONS]
    yardstick = min(often, key=lambda key: (-counts[key], key), default="")
    return frozenset(counts), yardstick
