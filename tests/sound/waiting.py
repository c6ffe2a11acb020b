"""Waiting for something another process does, with a limit that only failure meets."""

from __future__ import annotations

import time
from collections.abc import Callable


def until(condition: Callable[[], object], limit_s: float = 20.0) -> object:
    """Return the first true answer; fail the test if there is none in time."""
    end_s = time.monotonic() + limit_s
    while time.monotonic() < end_s:
        found = condition()
        if found:
            return found
        time.sleep(0.02)
    raise AssertionError("waited in vain")
