"""What the program remembers for itself: the notice, the last circuit."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

from whistlestop.engine.clock import Clock
from whistlestop.errors import StoreError
from whistlestop.store.places import Places
from whistlestop.store.settings.config import (
    RememberedState,
    read_remembered,
    write_remembered,
)


class MemoryService:
    """Reads and writes the program's own small file of facts."""

    def __init__(self, places: Places, clock: Clock) -> None:
        """Prepare; nothing is read yet."""
        self._path = places.remembered_file
        self._clock = clock

    def read(self) -> RememberedState:
        """What is remembered; nothing where the file cannot be read."""
        return read_remembered(self._path)

    def acknowledge_notice(self) -> None:
        """Remember that the safety notice was read; a full disk asks again."""
        now = self._clock.wall().isoformat(timespec="seconds")
        with suppress(StoreError):
            write_remembered(self._path, replace(self.read(), notice_acknowledged=now))

    def remember_offer(self, session_id: str) -> None:
        """Remember that a session was offered; a full disk offers it again."""
        with suppress(StoreError):
            write_remembered(self._path, replace(self.read(), offered=session_id))
