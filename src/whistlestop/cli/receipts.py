"""What line mode says of what was typed: taken, and not before the disk has it.

The screen has a mark for it that comes and goes; a line stays, and may be read aloud,
so it waits. Never holds the clock up. Refuses to know what the lines say.
"""

from __future__ import annotations

from collections import deque
from typing import Final, Protocol

from whistlestop.store.journal.writer import LATE_S, Status

_SILENT: Final = "not saved yet: the disk does not answer"


class Writer(Protocol):
    """What is asked of the journal's writer; see `store.journal_writer`."""

    @property
    def acknowledged(self) -> int:
        """The greatest sequence number that is durable."""
        ...

    def state(self) -> Status:
        """How far the disk is behind."""
        ...

    def flush(self, timeout_s: float) -> bool:
        """Wait until all is durable."""
        ...


class Receipts:
    """Lines that are owed for entries, in the order they were typed."""

    def __init__(self, writer: Writer, *, waits: bool = False) -> None:
        """Owe nothing yet.

        Args:
            writer: Writes the journal.
            waits: Whether `due` waits for the disk, up to `LATE_S`: where the clock
                is simulated nobody is held up, and lines keep their places.
        """
        self._writer = writer
        self._waits = waits
        self._owed: deque[tuple[int, str]] = deque()
        self._newest = -1
        self._warned_at: int | None = None

    def owe(self, sequence: int, line: str) -> None:
        """Say a line once the entry of this number in the journal is durable."""
        self._owed.append((sequence, line))
        self._newest = sequence

    def due(self) -> list[str]:
        """The remarks due now: entries saved, writes that wait or no longer do.

        That they wait is shown once, and again when something more is typed.
        """
        if self._waits and self._owed:
            self._writer.flush(LATE_S)
        state = self._writer.state()
        lines = self._durable()
        if state.is_late:
            if self._warned_at != self._newest:
                self._warned_at = self._newest
                why = state.error or _SILENT
                lines.append(f"{why}; it is in memory and will be tried again")
        elif self._warned_at is not None and state.saved:
            self._warned_at = None
            lines.append("saved: everything that waited is on the disk now")
        return lines

    def _durable(self) -> list[str]:
        reached = self._writer.acknowledged
        lines = []
        while self._owed and self._owed[0][0] <= reached:
            lines.append(self._owed.popleft()[1])
        return lines
