"""The cues still to come, in order of time.

Owns what is planned and what has been withdrawn. Knows neither frames nor clock.
"""

from __future__ import annotations

import heapq

from whistlestop.sound.helper.lines import At


class Schedule:
    """Planned cues. Each (epoch, id) counts once, even after it has been taken."""

    def __init__(self) -> None:
        self._heap: list[tuple[float, int, At]] = []
        self._seen: set[tuple[int, str]] = set()
        self._count = 0
        self.epoch = 0

    def add(self, cue: At) -> bool:
        """Plan a cue; False if it is known already or of a withdrawn epoch."""
        key = (cue.epoch, cue.id)
        if cue.epoch < self.epoch or key in self._seen:
            return False
        self._seen.add(key)
        self._count += 1
        heapq.heappush(self._heap, (cue.at_s, self._count, cue))
        return True

    def clear(self, epoch: int) -> None:
        """Withdraw everything older than `epoch`, and refuse more of it."""
        self.epoch = max(self.epoch, epoch)
        self._seen = {key for key in self._seen if key[0] >= self.epoch}
        self._heap = [item for item in self._heap if item[2].epoch >= self.epoch]
        heapq.heapify(self._heap)

    def next(self) -> At | None:
        """Return the earliest cue and leave it where it is."""
        return self._heap[0][2] if self._heap else None

    def take(self) -> At:
        """Remove and return the earliest cue. IndexError if there is none."""
        return heapq.heappop(self._heap)[2]
