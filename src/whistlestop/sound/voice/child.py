"""The parent's end of the process that renders sentences.

Owns one such process from start to end, and asks it one text at a time, so that it
is known over which one it died. Knows nothing of batches and of the cache.
"""

from __future__ import annotations

import json
import os
import queue
import signal
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from whistlestop.sound.surroundings import helper_environment
from whistlestop.sound.voice.engines import VoiceEngine

LONGEST_ANSWER: Final = 65_536
END_S: Final = 0.5


class RenderChild:
    """A running child. `ask` belongs to one thread; `kill` to any."""

    def __init__(
        self, engine: VoiceEngine, language: str, rate_wpm: int, limit_ms: int
    ) -> None:
        """Start the process, with `limit_ms` for each text. OSError if that fails."""
        words = [sys.executable, "-P", "-m", "whistlestop.sound.voice.render"]
        words += [engine.kind, engine.where, language, str(rate_wpm), str(limit_ms)]
        # A session of its own: ctrl+C must not reach it, and the engine ends with it.
        self._process = subprocess.Popen(
            words,
            bufsize=0,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=helper_environment(os.environ, None),
            start_new_session=True,
        )
        self._answers: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        threading.Thread(target=self._read, name="voice-read", daemon=True).start()

    def _read(self) -> None:
        pipe = self._process.stdout
        assert pipe is not None
        with (
            suppress(OSError, ValueError),
            open(pipe.fileno(), "rb", closefd=False) as f,
        ):
            while line := f.readline(LONGEST_ANSWER):
                self._answers.put(line)
        pipe.close()
        self._answers.put(b"")

    def ask(self, text: str, path: Path, limit_s: float) -> str | None:
        """Have a text rendered to a path: "" when done, or what went wrong.

        None if the child died or stayed silent for `limit_s`; it is of no more use.
        """
        line = json.dumps({"text": text, "path": str(path)}) + "\n"
        pipe = self._process.stdin
        assert pipe is not None
        try:
            pipe.write(line.encode())
            message = self._answers.get(timeout=limit_s)
            answer: Any = json.loads(message)
        except (OSError, ValueError, queue.Empty):
            return None
        if not isinstance(answer, dict):
            return None
        problem = answer.get("error", "")
        return problem if isinstance(problem, str) else None

    def kill(self) -> None:
        """End the child and the engine it runs, at once."""
        # Not asked whether it is dead: until it is waited for, its number names the
        # group, and an engine may have outlived it there.
        if self._process.returncode is None:
            with suppress(OSError):
                if sys.platform == "win32":
                    self._process.kill()
                else:
                    os.killpg(self._process.pid, signal.SIGKILL)

    def end(self) -> None:
        """Let the child go by ending its input; kill it where it does not go."""
        pipe = self._process.stdin
        assert pipe is not None
        with suppress(OSError):
            pipe.close()
        for _ in range(2):
            try:
                self._process.wait(END_S)
            except subprocess.TimeoutExpired:
                self.kill()
            else:
                return
