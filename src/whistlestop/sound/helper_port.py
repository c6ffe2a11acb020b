"""The sound port that plays through the helper process, and keeps it alive.

Owns what the helper must know again after a restart: sounds, volume, epoch and
the cues still to come. Reads no clock; the helper judges what is too late.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from whistlestop.sound.helper.lines import (
    VERSION,
    Answer,
    At,
    Clear,
    CueDropped,
    CuePlayed,
    CueRefused,
    Health,
    Hello,
    Late,
    LoadSound,
    Lost,
    Now,
    Offset,
    Order,
    Ready,
    Volume,
    parse_answer,
    to_line,
)
from whistlestop.sound.port import PlannedCue, ReportKind, SoundReport, SoundStatus
from whistlestop.sound.process import HelperLife
from whistlestop.sound.surroundings import helper_environment

STEADY_SIGNS = 10
"""So many signs of health and the next restart begins with the first wait."""
NO_LIBRARY = 4
"""The helper's exit code that makes a restart pointless."""
MOST_REPORTS = 1000


@dataclass(frozen=True)
class Patience:
    """How long to wait for a helper, in seconds.

    `backoff_s`: before restarts that follow one another; the last one repeats.
    `silence_s`: for a sign of life, which comes each second; opening a device
    may hold it up for a while.
    """

    backoff_s: tuple[float, ...] = (0.5, 1.0, 2.0)
    silence_s: float = 6.0


PATIENCE = Patience()


class HelperSound:
    """A SoundPort on a helper process; starts it, and restarts it if it ends."""

    def __init__(
        self,
        command: Sequence[str],
        sounds: Mapping[str, Path],
        *,
        log_path: Path | None = None,
        volume: int = 100,
        offset_ms: int = 0,
        patience: Patience = PATIENCE,
    ) -> None:
        self._command = list(command)
        self._sounds = dict(sounds)
        self._log_path = log_path
        self._volume = _percent(volume)
        self._offset_ms = offset_ms
        self._patience = patience
        self._lock = threading.Lock()
        self._closing = threading.Event()
        self._life: HelperLife | None = None
        self._status = SoundStatus("starting", detail="Sound is starting.")
        self._reports: deque[SoundReport] = deque(maxlen=MOST_REPORTS)
        self._epoch = 0
        self._planned: dict[tuple[int, str], PlannedCue] = {}
        self._settled: set[tuple[int, str]] = set()
        self._signs = 0
        self._supervisor = threading.Thread(
            target=self._supervise, name="sound-keep", daemon=True
        )
        self._supervisor.start()

    # What the program asks.

    def plan(self, epoch: int, cues: Sequence[PlannedCue]) -> None:
        """Hand over the cues of at least the next 10 s; see SoundPort."""
        with self._lock:
            if epoch < self._epoch:
                return
            for cue in cues:
                key = (epoch, cue.id)
                if key not in self._planned:
                    self._planned[key] = cue
                    self._send(_at(epoch, cue))

    def clear(self, epoch: int) -> None:
        """Withdraw all of older epochs; see SoundPort."""
        with self._lock:
            if epoch <= self._epoch:
                return
            self._epoch = epoch
            self._planned = {k: c for k, c in self._planned.items() if k[0] >= epoch}
            self._settled = {key for key in self._settled if key[0] >= epoch}
            self._send(Clear(epoch))

    def now(self, cue: str) -> None:
        """Play a cue in the device's next block."""
        with self._lock:
            self._send(Now(cue))

    def load(self, cue: str, path: Path) -> None:
        """Add a sound under a new id: a WAV file, mono, 16 bit, 44.1 kHz.

        What cannot be used stands in the status's detail, and its cues drop.
        """
        with self._lock:
            self._sounds[cue] = path
            self._send(LoadSound(cue, str(path)))

    def volume(self, percent: int) -> None:
        """Set the level, 0 to 100; 50 is about half as loud."""
        with self._lock:
            self._volume = _percent(percent)
            self._send(self._level())

    def mute(self, on: bool) -> None:  # noqa: FBT001 - as in the port
        """Silence everything, or undo it."""
        with self._lock:
            self._status = replace(self._status, muted=on)
            self._send(self._level())

    def offset(self, offset_ms: int) -> None:
        """Play that much earlier (-300 to 300 ms), for a loudspeaker that is late."""
        with self._lock:
            self._offset_ms = offset_ms
            self._send(Offset(offset_ms))

    def status(self) -> SoundStatus:
        """How sound stands now."""
        with self._lock:
            return self._status

    def reports(self) -> list[SoundReport]:
        """Everything reported since the last call, oldest first."""
        with self._lock:
            found = list(self._reports)
            self._reports.clear()
            return found

    def close(self) -> None:
        """End the helper and the threads; two seconds at most."""
        with self._lock:
            self._closing.set()
            life, self._life = self._life, None
            self._status = SoundStatus("off", detail="Sound has ended.")
        if life is not None:
            life.close()
        self._supervisor.join(0.2)

    # The orders to the helper. The lock is held in all of these.

    def _send(self, order: Order) -> None:
        if self._life is not None:
            self._life.send(to_line(order))

    def _level(self) -> Volume:
        return Volume(0 if self._status.muted else self._volume)

    def _tell_all(self) -> None:
        """Everything a fresh helper must know."""
        self._send(Hello(VERSION))
        for cue, path in self._sounds.items():
            self._send(LoadSound(cue, str(path)))
        self._send(self._level())
        self._send(Offset(self._offset_ms))
        self._send(Clear(self._epoch))
        for key, planned in self._planned.items():
            if key not in self._settled:
                self._send(_at(key[0], planned))

    # Keeping the helper alive, on a thread of its own.

    def _supervise(self) -> None:
        restarts, waits_s = 0, self._patience.backoff_s
        while not self._closing.is_set():
            self._signs = 0
            code = self._live()
            if code == NO_LIBRARY or self._closing.is_set():
                return
            restarts = 0 if self._signs >= STEADY_SIGNS else restarts
            wait_s = waits_s[min(restarts, len(waits_s) - 1)]
            restarts += 1
            self._closing.wait(wait_s)

    def _live(self) -> int:
        """One helper from start to end; its exit code."""
        try:
            environment = helper_environment(os.environ, self._log_path)
            life = HelperLife(self._command, environment, self._log_path, self._hear)
        except OSError as problem:
            with self._lock:
                self._set_lost(f"The sound helper cannot start: {problem.strerror}.")
            return -1
        with self._lock:
            if not self._closing.is_set():
                self._life = life
                self._tell_all()
        if self._closing.is_set():
            return life.close()
        code = life.wait_for_end(self._patience.silence_s)
        with self._lock:
            self._life = None
            if code != NO_LIBRARY:
                self._set_lost("The sound helper ended; it is started again.")
        return code

    def _hear(self, line: str) -> None:
        answer = parse_answer(line)
        if answer is not None:
            with self._lock:
                if not self._closing.is_set():
                    self._take_in(answer)

    def _take_in(self, answer: Answer) -> None:
        match answer:
            case Ready(backend, _, latency_ms):
                self._set_ok(backend.replace("_", " "), latency_ms)
            case Lost(reason):
                self._set_lost(reason)
            case CuePlayed(wire_id, frame):
                self._report("played", wire_id, frame=frame)
            case Late(wire_id, late_ms):
                self._report("late", wire_id, late_ms=late_ms)
            case CueDropped(wire_id):
                self._report("dropped", wire_id, detail="Too late, or no such sound.")
            case CueRefused(word, reason):
                self._status = replace(self._status, detail=f"{word}: {reason}")
            case Health():
                self._signs += 1
            case _:
                pass

    def _report(
        self,
        kind: ReportKind,
        wire_id: str,
        *,
        frame: int = 0,
        late_ms: int = 0,
        detail: str = "",
    ) -> None:
        epoch, _, name = wire_id.partition(":")
        if epoch.isdecimal():
            self._settled.add((int(epoch), name))
        self._reports.append(SoundReport(kind, name, frame, late_ms, detail))

    def _set_ok(self, backend: str, latency_ms: int) -> None:
        was_lost = self._status.state == "lost"
        muted = self._status.muted
        self._status = SoundStatus("ok", backend, latency_ms, "", muted)
        if was_lost:
            self._reports.append(SoundReport("back"))

    def _set_lost(self, reason: str) -> None:
        if self._closing.is_set():
            return
        if self._status.state != "lost":
            self._reports.append(SoundReport("lost", detail=reason))
        muted = self._status.muted
        self._status = SoundStatus("lost", "", 0, reason, muted)


def _percent(value: int) -> int:
    return max(0, min(100, value))


def _at(epoch: int, cue: PlannedCue) -> At:
    """Write the order for a cue; the epoch in its id keeps late answers apart."""
    return At(f"{epoch}:{cue.id}", cue.at_s, cue.cue, epoch)
