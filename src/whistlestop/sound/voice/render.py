"""The child process that renders sentences: texts in, WAV files out.

Started by `preparing` as `python -m whistlestop.sound.voice.render ENGINE WHERE
LANGUAGE RATE_WPM LIMIT_MS`. One JSON object a line: {"text", "path"} in, {"path",
"length_ms"} or {"error"} out, in order. Ends with its input, with its parent, and
over a text that takes longer than the limit. Knows no session and no device.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from array import array
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any, Final

from whistlestop.sound.voice.cache import length_ms, write_whole
from whistlestop.sound.voice.phrases import refusal, speakable
from whistlestop.sound.voice.shape import shaped
from whistlestop.sound.voice.speaking import Speaker, command_speaker, library_speaker

LONGEST_LINE: Final = 65_536
WATCH_S: Final = 0.1
HUNG: Final = 5
"""Exit code over a text that took too long, where no signal could be sent."""


def _end_with_the_engine() -> None:
    """End this process and the engine's at once."""
    if sys.platform != "win32" and os.getpgrp() == os.getpid():
        os.killpg(0, signal.SIGKILL)
    os._exit(HUNG)


class _Watch:
    """Ends the process over a hung text, or once its parent is gone."""

    def __init__(self, limit_s: float) -> None:
        self._limit_s = limit_s
        self._since_s: float | None = None
        self._parent = os.getppid()
        threading.Thread(target=self._run, name="voice-watch", daemon=True).start()

    def __enter__(self) -> None:
        """Count from now."""
        self._since_s = time.monotonic()

    def __exit__(self, *_: object) -> None:
        """Stop counting."""
        self._since_s = None

    def _run(self) -> None:
        while True:
            time.sleep(WATCH_S)
            since_s = self._since_s
            hung = since_s is not None and time.monotonic() - since_s > self._limit_s
            if hung or os.getppid() != self._parent:
                _end_with_the_engine()


def _asked(line: bytes) -> tuple[str, Path]:
    """Read one request. ValueError if it makes no sense."""
    request: Any = json.loads(line)
    match request:
        case {"text": str(text), "path": str(path)}:
            return text, Path(path)
        case _:
            raise ValueError("a request has a text and a path")


def answer(line: bytes, speak: Speaker) -> dict[str, str | int]:
    """Render one request; what is wrong with it is the answer, never an error."""
    try:
        text, path = _asked(line)
        reason = refusal(text)
        if reason is not None:
            return {"error": reason}
        rate_hz, raw = speak(speakable(text))
        samples = shaped(raw, rate_hz)
        write_whole(path, samples)
    except (ValueError, RecursionError) as problem:
        return {"error": str(problem)}
    except OSError as problem:
        return {"error": f"the sentence cannot be saved: {problem.strerror}"}
    return {"path": str(path), "length_ms": length_ms(len(samples))}


def _private_output() -> IO[bytes]:
    """Keep the pipe to the parent, and send whatever libraries print to nowhere."""
    ours = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.close(nowhere)
    return os.fdopen(ours, "wb", buffering=0)


def _make(arguments: list[str], limit_s: float) -> Speaker:
    kind, where, language, rate_wpm = arguments
    if kind == "command":
        return command_speaker(where, language, int(rate_wpm), limit_s)
    return library_speaker(Path(where), language, int(rate_wpm))


def serve(
    lines: IO[bytes], reply: Callable[[bytes], object], make: Callable[[], Speaker]
) -> None:
    """Answer each line until the input ends; the engine is made at the first."""
    speak: Speaker | None = None
    while line := lines.readline(LONGEST_LINE):
        try:
            speak = speak or make()
            text = answer(line, speak)
        except ValueError as problem:
            text = {"error": str(problem)}
        reply(json.dumps(text).encode() + b"\n")


def main(arguments: list[str]) -> int:
    """Entry for `python -m`: 0 the input ended, 1 the output broke, 2 usage, 5 hung."""
    if len(arguments) != 5 or not (arguments[3] + arguments[4]).isdigit():
        usage = f"usage: {__spec__.name} ENGINE WHERE LANGUAGE RATE_WPM LIMIT_MS"
        print(usage, file=sys.stderr)
        return 2
    limit_s = int(arguments[4]) / 1000
    watch = _Watch(limit_s + 1.0)
    output = _private_output()
    if sys.platform != "win32":
        os.nice(5)  # screen and sound come first

    def make() -> Speaker:
        with watch:
            speak = _make(arguments[:4], limit_s)

        def watched(text: str) -> tuple[int, array[int]]:
            with watch:
                return speak(text)

        return watched

    try:
        serve(sys.stdin.buffer, output.write, make)
    except subprocess.TimeoutExpired:
        return HUNG
    except OSError:
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
