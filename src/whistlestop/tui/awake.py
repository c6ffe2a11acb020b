"""Asking the machine not to sleep or blank while a session runs, and letting go.

Linux: `systemd-inhibit`; macOS: `caffeinate`. Each runs as a child of this
process and ends with it. Where neither is there, the screen says so.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from contextlib import suppress
from typing import Final

_WAIT_S: Final = 1.0
_NOTHING: Final = "this computer may go to sleep: turn sleep off in its settings"


def awake_command(platform: str = sys.platform) -> list[str] | None:
    """The command that keeps this machine awake while its input is open."""
    if platform == "darwin" and (tool := shutil.which("caffeinate")):
        return [tool, "-di", "cat"]
    if platform.startswith("linux") and (tool := shutil.which("systemd-inhibit")):
        return [
            tool,
            "--what=idle:sleep",
            "--who=whistlestop",
            "--why=a session is running",
            "--mode=block",
            "cat",
        ]
    return None


class KeepAwake:
    """Holds the machine awake; letting go twice is harmless."""

    def __init__(self) -> None:
        self._child: subprocess.Popen[bytes] | None = None

    @property
    def is_active(self) -> bool:
        """Whether the request stands now."""
        return self._child is not None and self._child.poll() is None

    def start(self) -> str:
        """Ask; return why it cannot be had, or nothing."""
        if self.is_active:
            return ""
        command = awake_command()
        if command is None:
            return _NOTHING
        try:
            # `cat` ends when its input closes, so the request dies with us.
            self._child = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        except OSError:
            return _NOTHING
        return ""

    def stop(self) -> None:
        """Let the machine sleep again."""
        child, self._child = self._child, None
        if child is None:
            return
        with suppress(OSError):
            if child.stdin is not None:
                child.stdin.close()
        try:
            child.wait(_WAIT_S)
        except subprocess.TimeoutExpired:
            child.terminate()
            with suppress(subprocess.TimeoutExpired):
                child.wait(_WAIT_S)
