"""Ending by a signal in line mode: the record is closed first, the status says so."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import FrameType


class EndedBySignal(BaseException):
    """Raised in the main thread where the signal finds it."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


@dataclass
class RunEnding:
    """What ended the run: `status` is 0, or 128 + n for signal n."""

    status: int = 0


@contextmanager
def ending_signals() -> Iterator[RunEnding]:
    """Turn TERM, HUP and INT into an orderly end of the block."""
    ended = RunEnding()

    def end(number: int, _frame: FrameType | None) -> None:
        raise EndedBySignal(number)

    numbers = [signal.SIGTERM, signal.SIGINT]
    if hasattr(signal, "SIGHUP"):
        numbers.append(signal.SIGHUP)
    before = {number: signal.signal(number, end) for number in numbers}
    try:
        yield ended
    except EndedBySignal as by:
        ended.status = 128 + by.number
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
