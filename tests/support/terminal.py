"""Terminals for tests: one that is looked at (tmux), one whose bytes are read (pty)."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import shlex
import shutil
import signal
import struct
import subprocess
import tempfile
import termios
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Self

from tests.support.installed import need
from tests.support.processes import LONG_S, PROGRAM, environment

PROMPT = "READY:"


class Tmux:
    """A terminal with a shell in it, seen as lines of text."""

    def __init__(
        self, folder: Path, *, cells: int = 80, lines: int = 24, **changes: str
    ) -> None:
        need("tmux")
        # The path of a socket is short by law; the folder of a test may not be.
        self._folder = Path(tempfile.mkdtemp(prefix="ws-"))
        self._socket = str(self._folder / "t")
        # A shell that ends may write its history: that is not ours.
        own = environment(PS1=PROMPT, HISTFILE="/dev/null", **changes)
        own.pop("PYTHONWARNINGS", None)
        words = [f"{key}={value}" for key, value in own.items()]
        self._tmux(
            *("-f", "/dev/null", "new-session", "-d", "-x", str(cells)),
            *("-y", str(lines), "-c", str(folder)),
            "env",
            "-i",
            *words,
            "bash",
            "--norc",
            "--noprofile",
            "-i",
        )
        self._tmux("set", "-g", "status", "off")
        self.wait_for(PROMPT)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._tmux("kill-server", check=False)
        shutil.rmtree(self._folder, ignore_errors=True)

    def _tmux(self, *words: str, check: bool = True) -> str:
        own = {**environment(), "TERM": "xterm-256color"}
        done = subprocess.run(
            ["tmux", "-S", self._socket, *words],
            capture_output=True,
            text=True,
            check=False,
            env=own,
        )
        assert done.returncode == 0 or not check, done.stderr
        return done.stdout

    def screen(self, *, escapes: bool = False) -> str:
        """What stands on the screen now."""
        return self._tmux("capture-pane", "-p", *(["-e"] if escapes else []))

    def state(self) -> dict[str, bool]:
        """Alternate screen, cursor shown, mouse reported: as the terminal has it."""
        names = ("alternate_on", "cursor_flag", "mouse_any_flag")
        asked = " ".join(f"#{{{name}}}" for name in names)
        flags = self._tmux("display-message", "-p", asked).split()
        return {name: flag == "1" for name, flag in zip(names, flags, strict=True)}

    def keys(self, *names: str) -> None:
        """Press keys, by tmux's names."""
        self._tmux("send-keys", *names)

    def type(self, text: str) -> None:
        """Type text as it is."""
        self._tmux("send-keys", "-l", text)

    def command(self, line: str) -> None:
        """Have the shell run a line."""
        self.type(line)
        self.keys("Enter")

    def program(self, *arguments: str) -> None:
        """Have the shell run the program, and say its exit status afterwards."""
        self.command(f"{shlex.join([*PROGRAM, *arguments])}; echo status=$?")

    def resize(self, cells: int, lines: int) -> None:
        """Give the window another size."""
        self._tmux("resize-window", "-x", str(cells), "-y", str(lines))

    def wait(self, holds: Callable[[str], object], timeout_s: float = LONG_S) -> str:
        """Wait until the screen is as asked; return it."""
        end_s = time.monotonic() + timeout_s
        while not holds(screen := self.screen()):
            assert time.monotonic() < end_s, f"it never came to be:\n{screen}"
            time.sleep(0.05)
        return screen

    def wait_for(self, words: str, timeout_s: float = LONG_S) -> str:
        """Wait until some words stand on the screen; return it."""
        return self.wait(lambda screen: words in screen, timeout_s)

    def status(self, timeout_s: float = LONG_S) -> int:
        """Wait for the program's end; its exit status as the shell has it."""
        screen = self.wait(
            lambda found: any(x.startswith("status=") for x in found.splitlines()),
            timeout_s,
        )
        lines = [x for x in screen.splitlines() if x.startswith("status=")]
        return int(lines[-1].removeprefix("status="))

    def pids(self) -> list[int]:
        """The processes of the program that the shell started, not their children."""
        shell = self._tmux("display-message", "-p", "#{pane_pid}").strip()
        found = []
        for folder in Path("/proc").iterdir():
            if not folder.name.isdigit():
                continue
            with suppress(OSError):
                status = (folder / "stat").read_text()
                parent = status.rpartition(")")[2].split()[1]
                if parent == shell:
                    found.append(int(folder.name))
        return found

    def signal(self, number: int) -> None:
        """Send a signal to the program."""
        (pid,) = self.pids()
        os.kill(pid, number)


class Pty:
    """A terminal whose output is bytes, read only when a test asks for it."""

    def __init__(
        self, *words: str, cells: int = 80, lines: int = 24, **changes: str
    ) -> None:
        own = environment(**changes)
        own.pop("PYTHONWARNINGS", None)
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            try:
                os.execve(words[0], list(words), own)
            finally:
                os._exit(127)
        self.resize(cells, lines)
        self.read_bytes = b""
        self._status: int | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        with suppress(ProcessLookupError):
            if self._status is None:
                os.kill(self.pid, signal.SIGKILL)
        with suppress(OSError):
            os.close(self.fd)
        self.wait()

    def resize(self, cells: int, lines: int) -> None:
        """Tell the terminal another size."""
        size = struct.pack("HHHH", lines, cells, 0, 0)
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, size)

    def write(self, data: bytes) -> None:
        """Type bytes."""
        os.write(self.fd, data)

    def read(self, seconds: float) -> bytes:
        """Read what comes within some seconds."""
        got = b""
        end_s = time.monotonic() + seconds
        while (left := end_s - time.monotonic()) > 0:
            ready, _, _ = select.select([self.fd], [], [], left)
            if not ready:
                break
            try:
                chunk = os.read(self.fd, 65_536)
            except OSError:
                break
            if not chunk:
                break
            got += chunk
        self.read_bytes += got
        return got

    def read_until(self, words: bytes, timeout_s: float = LONG_S) -> bytes:
        """Read until some bytes have come; return all since the call."""
        got = b""
        end_s = time.monotonic() + timeout_s
        while words not in got:
            assert time.monotonic() < end_s, f"{words!r} never came: {got[-2000:]!r}"
            got += self.read(0.005)
        return got

    @property
    def has_ended(self) -> bool:
        """Whether the program has ended."""
        if self._status is None:
            pid, raw = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                code = os.waitstatus_to_exitcode(raw)
                self._status = code if code >= 0 else 128 - code
        return self._status is not None

    def wait(self, timeout_s: float = LONG_S) -> int:
        """Wait for the end while reading; the status as a shell has it."""
        end_s = time.monotonic() + timeout_s
        while self._status is None:
            with suppress(OSError, ValueError):
                self.read(0.02)
            if self.has_ended:
                break
            assert time.monotonic() < end_s, "the program did not end"
            time.sleep(0.01)
        assert self._status is not None
        return self._status
