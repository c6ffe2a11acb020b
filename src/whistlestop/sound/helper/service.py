"""The helper's main loop: orders in, stream kept alive, answers out.

Owns when a stream is opened, believed, given up and tried again. Is handed its
engine, its clock and its output, so that it runs in tests without any of them.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, MutableMapping
from pathlib import Path

from whistlestop.errors import DeviceError
from whistlestop.sound.cues import TONES
from whistlestop.sound.helper.engine import Clock, StreamEngine
from whistlestop.sound.helper.lines import (
    VERSION,
    Answer,
    Back,
    CueRefused,
    Health,
    Hello,
    LoadSound,
    Lost,
    Quit,
    Ready,
    parse_order,
)
from whistlestop.sound.helper.watchdog import CONFIRMING_BLOCKS, Watchdog
from whistlestop.sound.synth import RATE_HZ, read_wav, render

RETRY_S = 2.0
HEALTH_S = 1.0
MOST_OPENINGS = 40
"""Then a fresh process: should descriptors leak after all, the 64th would fail."""

EXIT_DONE = 0
EXIT_HELLO = 2
EXIT_RESTART = 3
EXIT_NO_LIBRARY = 4


class Service:
    """One helper's life. `step` and `order` return an exit code to end with."""

    def __init__(
        self,
        engine: StreamEngine,
        sounds: MutableMapping[str, array[int]],
        say: Callable[[Answer], None],
        clock: Clock,
    ) -> None:
        self._engine = engine
        self._player = engine.player
        self._sounds = sounds
        self._say = say
        self._clock = clock
        self._watchdog: Watchdog | None = None
        self._believed = False
        self._lost = False
        self._greeted = False
        self._reason = ""
        self._openings = 0
        self._retry_s = clock()
        self._health_s = clock()

    def order(self, line: str) -> int | None:
        """Obey one line of input."""
        order = parse_order(line)
        if not self._greeted and order != Hello(VERSION):
            self._say(CueRefused("hello", f"this helper speaks version {VERSION}"))
            return EXIT_HELLO
        match order:
            case None:
                word = line.split(maxsplit=1)[0][:20] if line.split() else "-"
                self._say(CueRefused(word, "this line makes no sense"))
            case Hello():
                self._greeted = True
            case Quit():
                return EXIT_DONE
            case LoadSound(cue, path):
                self._load(cue, Path(path))
            case _:
                self._player.post(order, self._clock())
        return None

    def _load(self, cue: str, path: Path) -> None:
        try:
            self._sounds[cue] = read_wav(path)
        except (OSError, ValueError) as problem:
            if cue in TONES:
                self._sounds[cue] = render(TONES[cue])
            why = problem.strerror if isinstance(problem, OSError) else problem
            self._say(CueRefused(cue, f"{path.name}: {why}"))

    def step(self) -> int | None:
        """Look after the stream; to be called about ten times a second."""
        now_s = self._clock()
        if self._watchdog is None:
            if now_s >= self._retry_s:
                if self._openings >= MOST_OPENINGS:
                    return EXIT_RESTART
                self._open(now_s)
        else:
            self._watch(self._watchdog, now_s)
        while self._player.answers:
            self._say(self._player.answers.popleft())
        if now_s >= self._health_s:
            self._health_s = now_s + HEALTH_S
            self._say(self._health(now_s))
        return None

    def _health(self, now_s: float) -> Health:
        last_s = self._player.last_block_s
        if self._watchdog is None or last_s is None:
            return Health(-1, 0)
        return Health(max(0, round((now_s - last_s) * 1000)), self._player.resets)

    def _open(self, now_s: float) -> None:
        self._openings += 1
        self._believed = False
        try:
            self._engine.open()
        except DeviceError as problem:
            self._retry_s = now_s + RETRY_S
            self._tell_lost(str(problem))
            return
        self._watchdog = Watchdog(self._clock(), self._engine.period_s)

    def _watch(self, watchdog: Watchdog, now_s: float) -> None:
        player = self._player
        if player.failure is not None:
            problem, player.failure = player.failure, None
            self._say(CueRefused("block", f"{type(problem).__name__}: {problem}"))
        if watchdog.is_dead(now_s, player.last_block_s, player.blocks):
            self._watchdog = None
            # At once after a loss, later if it never ran at all.
            self._retry_s = now_s if self._believed else now_s + RETRY_S
            self._engine.close()
            self._tell_lost("The sound device has stopped.")
        elif not self._believed and player.blocks >= CONFIRMING_BLOCKS:
            self._believed = True
            engine = self._engine
            self._say(Ready(engine.backend, RATE_HZ, engine.latency_ms))
            if self._lost:
                self._lost = False
                self._reason = ""
                self._say(Back())

    def _tell_lost(self, reason: str) -> None:
        """Say so once for each reason, not every two seconds."""
        if not self._lost or reason != self._reason:
            self._lost, self._reason = True, reason
            self._say(Lost(reason))

    def close(self) -> None:
        """End the stream."""
        self._engine.close()
