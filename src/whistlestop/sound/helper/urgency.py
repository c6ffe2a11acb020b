"""Asks the system to serve this process before what merely computes.

With every core kept busy by others a block came up to 100 ms too late where
measured (Linux 6.18, two cores). Owns the asking; a refusal changes nothing, and
most systems refuse whoever is not privileged.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

PRIORITY = -10
"""As sound servers ask for (PulseAudio: -11 by default)."""


def ask() -> None:
    """Ask for it. To be called before the first thread is made: they inherit it."""
    if hasattr(os, "setpriority"):
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, 0, PRIORITY)
    if sys.platform == "linux":
        # A process with a session of its own is weighed by its group's priority.
        with suppress(OSError):
            Path("/proc/self/autogroup").write_text(f"{PRIORITY}\n")
