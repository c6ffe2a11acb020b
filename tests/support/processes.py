"""The program as a process of its own: started, typed to, listened to, ended."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = sorted((ROOT / "sample_circuits").glob("*.toml"))
PROGRAM = (sys.executable, "-m", "whistlestop")
LONG_S = 30.0

# A session whose every second matters: no get ready, stations of 5 and 6 s.
SHORT_CIRCUIT = """\
format = 1
name = "Short"
loops = 3
work = "6 s"
recover = "3 s"
loop_break = "4 s"
get_ready = "0 s"
[[station]]
exercise = "push-up"
[[station]]
exercise = "dead-bug"
"""
# One long segment, and a break until a key: time to do things in.
LONG_CIRCUIT = """\
format = 1
name = "Long"
loops = 2
work = "5 min"
recover = "60 s"
loop_break = "until key"
get_ready = "0 s"
[[station]]
exercise = "push-up"
[[station]]
exercise = "dead-bug"
"""
QUIET = '[sound]\nengine = "off"\n'


def environment(**changes: str) -> dict[str, str]:
    """A small environment of our own; nothing of the person's settings gets in."""
    kept = {
        key: os.environ[key]
        for key in ("PATH", "HOME", "SYSTEMROOT", "TMPDIR")
        if key in os.environ
    }
    own = {"PYTHONPATH": str(ROOT / "src"), "LC_ALL": "C.UTF-8", "TERM": "xterm"}
    return {**kept, **own, "PYTHONWARNINGS": "error", **changes}


def quiet_home(folder: Path) -> Path:
    """Make a home in which sound is off."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "config.toml").write_text(QUIET)
    return folder


def put_circuit(home: Path, name: str, text: str) -> None:
    """Put a circuit into a home; its id is the name."""
    folder = home / "circuits"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.toml").write_text(text)


def run_program(
    *arguments: str | Path,
    home: Path | None = None,
    typed: str | bytes | None = "",
    cwd: Path | None = None,
    env: dict[str, str] | None = None,
    timeout_s: float = LONG_S,
) -> subprocess.CompletedProcess[bytes]:
    """Run the program to its end. `typed` None leaves standard input closed."""
    where = [] if home is None else ["--home", str(home)]
    words = [*PROGRAM, *(str(argument) for argument in arguments), *where]
    given = typed.encode() if isinstance(typed, str) else typed
    return subprocess.run(
        words,
        input=given,
        stdin=subprocess.DEVNULL if given is None else None,
        capture_output=True,
        timeout=timeout_s,
        cwd=cwd,
        env=env or environment(),
        check=False,
    )


@dataclass(frozen=True)
class Heard:
    """A line of output, and when it was read (seconds, monotonic)."""

    at_s: float
    text: str


class PlainProcess:
    """A `run ... --plain` that goes on while a test types to it."""

    def __init__(self, *arguments: str, home: Path, **changes: str) -> None:
        words = [*PROGRAM, *arguments, "--plain", "--home", str(home)]
        self.home = home
        self._heard: list[Heard] = []
        self._turn = threading.Condition()
        self.process = subprocess.Popen(
            words,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            env=environment(**changes),
            bufsize=0,
        )
        self._reader = threading.Thread(target=self._listen, daemon=True)
        self._reader.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()

    def _listen(self) -> None:
        assert self.process.stdout is not None
        with self.process.stdout as output:
            for raw in output:
                heard = Heard(time.monotonic(), raw.decode().rstrip("\n"))
                with self._turn:
                    self._heard.append(heard)
                    self._turn.notify_all()
        with self._turn:
            self._turn.notify_all()

    @property
    def heard(self) -> list[Heard]:
        """Everything said so far."""
        with self._turn:
            return list(self._heard)

    @property
    def said(self) -> str:
        """Everything said so far, as text."""
        return "\n".join(heard.text for heard in self.heard)

    def type(self, *lines: str) -> None:
        """Type lines."""
        assert self.process.stdin is not None
        for line in lines:
            self.process.stdin.write(line.encode() + b"\n")

    def end_input(self) -> None:
        """Close its standard input."""
        assert self.process.stdin is not None
        self.process.stdin.close()

    def wait_for(
        self, words: str, timeout_s: float = LONG_S, *, times: int = 1
    ) -> Heard:
        """Wait until something is said, for the n-th time; return that line."""

        def found() -> Heard | None:
            lines = [heard for heard in self._heard if words in heard.text]
            return lines[times - 1] if len(lines) >= times else None

        with self._turn:
            self._turn.wait_for(
                lambda: found() or not self._reader.is_alive(), timeout_s
            )
            line = found()
        assert line is not None, f"{words!r} was not said:\n{self.said}"
        return line

    def end(self, number: int = signal.SIGTERM) -> int:
        """Send a signal and wait for the end; the status as a shell has it."""
        self.process.send_signal(number)
        return self.wait()

    def wait(self, timeout_s: float = LONG_S) -> int:
        """Wait for the end; the status as a shell has it."""
        code = self.process.wait(timeout_s)
        self._reader.join(timeout_s)
        return code if code >= 0 else 128 - code

    def kill(self) -> None:
        """Kill at once, and wait until it is gone."""
        self.process.kill()
        self.process.wait(LONG_S)
        self._reader.join(LONG_S)
        if self.process.stdin is not None:
            with suppress(BrokenPipeError):
                self.process.stdin.close()


def wait_until(holds: Callable[[], object], timeout_s: float = LONG_S) -> None:
    """Wait until something holds; fail if it never does."""
    end_s = time.monotonic() + timeout_s
    while not holds():
        assert time.monotonic() < end_s, "it never came to be"
        time.sleep(0.02)


def journals(home: Path) -> list[Path]:
    """The journal files of a home, oldest first."""
    return sorted((home / "log").glob("*/*.jsonl"), key=lambda path: path.name)


def raw_lines(path: Path) -> list[dict[str, Any]]:
    """The lines of a journal, read by JSON alone; a torn last one is left out."""
    whole = path.read_bytes().split(b"\n")[:-1]
    return [json.loads(line) for line in whole]


def seen_ms(home: Path, state: str = "state") -> int:
    """Until when the newest session was seen, from its heartbeat; 0 for not yet.

    Read by JSON alone: the greatest time of the two slots that can be read.
    """
    found = sorted((home / state).glob("heartbeat-*"))
    slots = found[-1].read_bytes() if found else b""
    times = [0]
    for begin in (0, len(slots) // 2):
        raw, newline, _ = slots[begin:].partition(b"\n")
        with suppress(ValueError):
            times.append(json.loads(raw)["t"] if newline else 0)
    return max(times)
