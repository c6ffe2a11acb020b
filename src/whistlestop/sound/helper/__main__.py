"""`python -m whistlestop.sound.helper`: pipes, threads and the way out.

Owns the process: what its descriptors point to and how it ends. The rest is in
`service`. Not meant to be started by hand.
"""

from __future__ import annotations

import os
import queue
import signal
import sys
import threading
import time
from array import array
from typing import TextIO, TypeAlias

from whistlestop.errors import AudioLibraryError
from whistlestop.sound.backends.simpleaudio_backend import SimpleaudioEngine
from whistlestop.sound.helper import urgency
from whistlestop.sound.helper.device import BACKENDS, MiniaudioEngine
from whistlestop.sound.helper.engine import StreamEngine
from whistlestop.sound.helper.lines import Answer, CueRefused, Lost, to_line
from whistlestop.sound.helper.player import Player
from whistlestop.sound.helper.service import (
    EXIT_DONE,
    EXIT_NO_LIBRARY,
    EXIT_RESTART,
    Service,
)
from whistlestop.sound.synth import RATE_HZ

TICK_S = 0.1
LEAVE_S = 0.8
"""After the end of the input; the parent waits 1 s before it insists."""

Sounds: TypeAlias = "dict[str, array[int]]"


def _private_output() -> TextIO:
    """Keep the pipe to ourselves: what a C library prints goes to the log."""
    ours = os.dup(1)
    os.dup2(2, 1)
    return os.fdopen(ours, "w", encoding="utf-8", newline="\n")


def _read_orders(lines: queue.SimpleQueue[str | None]) -> None:
    """Pass on the input; at its end, leave even if the main thread hangs."""
    try:
        for raw in sys.stdin.buffer:
            lines.put(raw.decode("utf-8", errors="replace"))
    finally:
        lines.put(None)
        time.sleep(LEAVE_S)
        os._exit(EXIT_DONE)


def _engine(choice: str, sounds: Sounds) -> StreamEngine:
    if choice == "simpleaudio":
        return SimpleaudioEngine(sounds, RATE_HZ, time.monotonic)
    backend = choice if choice in BACKENDS else ""
    player = Player(sounds, RATE_HZ)
    return MiniaudioEngine(player, RATE_HZ, time.monotonic, backend)


def _serve(service: Service, lines: queue.SimpleQueue[str | None]) -> int:
    code: int | None = None
    while code is None:
        try:
            line = lines.get(timeout=TICK_S)
        except queue.Empty:
            code = service.step()
            continue
        if line is None:
            return EXIT_DONE
        code = service.order(line)
        if code is None and lines.empty():
            code = service.step()
    return code


def main(arguments: list[str]) -> int:
    """Run until the input ends. Exit codes: see the package's docstring."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    urgency.ask()
    output = _private_output()

    def say(answer: Answer) -> None:
        if isinstance(answer, Lost | CueRefused):
            print(to_line(answer), end="", file=sys.stderr, flush=True)
        output.write(to_line(answer))
        output.flush()

    sounds: Sounds = {}
    try:
        engine = _engine(arguments[0] if arguments else "", sounds)
    except AudioLibraryError as problem:
        say(Lost(str(problem)))
        return EXIT_NO_LIBRARY
    service = Service(engine, sounds, say, time.monotonic)
    lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    threading.Thread(target=_read_orders, args=(lines,), daemon=True).start()
    try:
        return _serve(service, lines)
    finally:
        service.close()


if __name__ == "__main__":
    code = EXIT_RESTART
    try:
        code = main(sys.argv[1:])
    except BrokenPipeError:
        code = EXIT_DONE
    except Exception as problem:  # noqa: BLE001 - the log, and a fresh process
        print(f"helper: {type(problem).__name__}: {problem}", file=sys.stderr)
    finally:
        # Leaving the ordinary way can hang for ever in the audio library.
        sys.stderr.flush()
        os._exit(code)
