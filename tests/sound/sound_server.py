"""A private sound server with a sink that plays into nothing, and a recorder.

For tests only: nothing of the machine's own sound is touched or needed.
"""

from __future__ import annotations

import os
import subprocess
import threading
import time
from pathlib import Path

import numpy as np
from tests.sound.waiting import until
from tests.support.installed import need, unavailable

PROGRAMS = ("pulseaudio", "pactl", "parec")
UNWANTED = ("PULSE_SERVER", "PULSE_SINK", "DBUS_SESSION_BUS_ADDRESS", "DISPLAY")


class SoundServer:
    """One pulseaudio in the foreground with a socket in its own folder."""

    def __init__(self, folder: Path) -> None:
        need(*PROGRAMS)
        self.folder = folder
        self.socket = folder / "native"
        self.environment = {k: v for k, v in os.environ.items() if k not in UNWANTED}
        for name in (
            "HOME",
            "XDG_RUNTIME_DIR",
            "PULSE_RUNTIME_PATH",
            "PULSE_STATE_PATH",
            "PULSE_CONFIG_PATH",
        ):
            self.environment[name] = str(folder)
        self.start()

    @property
    def address(self) -> str:
        return f"unix:{self.socket}"

    def start(self) -> None:
        options = [
            *("-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1"),
            # As a desktop gives its own server by default; a refusal changes nothing.
            *("--realtime=yes", "--high-priority=yes", "--disable-shm=yes"),
            "--log-target=stderr",
        ]
        modules = [
            f"module-native-protocol-unix socket={self.socket} auth-anonymous=1",
            "module-null-sink sink_name=cue rate=44100 channels=2",
        ]
        for module in modules:
            options += ["-L", module]
        with (self.folder / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                ["pulseaudio", *options],
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )
        try:
            until(self._is_up, 10)
        except AssertionError:
            self.stop()
            log_text = (self.folder / "server.log").read_text(errors="replace")
            unavailable(f"the sound server did not start: {log_text[-300:]}")

    def _is_up(self) -> bool:
        if self.process.poll() is not None:
            raise AssertionError("the sound server ended")
        listed = subprocess.run(
            ["pactl", "list", "short", "sinks"],
            env={**self.environment, "PULSE_SERVER": self.address},
            capture_output=True,
            text=True,
            check=False,
        )
        return "cue" in listed.stdout

    def control(self, *words: str) -> str:
        """Tell the server something, by pactl; what it answers."""
        done = subprocess.run(
            ["pactl", *words],
            env={**self.environment, "PULSE_SERVER": self.address},
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout.strip()

    def add_sink(self, name: str) -> str:
        """Give it one more sink that plays into nothing; the module's number."""
        return self.control(
            *("load-module", "module-null-sink", f"sink_name={name}"),
            *("rate=44100", "channels=2"),
        )

    def take_sink(self, name: str) -> None:
        """Take a sink away, as if it were unplugged."""
        for line in self.control("list", "short", "modules").splitlines():
            number, module, *arguments = line.split("\t")
            if module == "module-null-sink" and f"sink_name={name} " in arguments[0]:
                self.control("unload-module", number)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait(5)
        self.socket.unlink(missing_ok=True)

    def stop(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(5)
        except subprocess.TimeoutExpired:
            self.kill()


class Recorder:
    """Everything the sink is given, from when it is made until `samples`.

    Fragments of 100 ms: with short ones the server must wake so often that a busy
    machine damages the sound, and no test here needs to know when it arrived.
    """

    def __init__(self, server: SoundServer, path: Path, sink: str = "cue") -> None:
        self._path = path
        with path.open("wb") as file:
            self._process = subprocess.Popen(
                [
                    *("parec", "-d", f"{sink}.monitor", "--raw", "--rate=44100"),
                    *("--channels=1", "--format=s16le", "--latency-msec=100"),
                ],
                env={**server.environment, "PULSE_SERVER": server.address},
                stdout=file,
                stderr=subprocess.DEVNULL,
            )
        until(lambda: path.stat().st_size > 88_200)

    def wait_for(self, seconds: float) -> None:
        """Go on until so much more has been recorded."""
        goal = self._path.stat().st_size + int(seconds * 88_200)
        until(lambda: self._path.stat().st_size >= goal)

    def samples(self) -> np.ndarray:
        self.stop()
        raw = self._path.read_bytes()
        return np.frombuffer(raw[: len(raw) // 2 * 2], dtype="<i2").astype(float)

    def stop(self) -> None:
        self._process.terminate()
        self._process.wait(5)


class StampedRecorder:
    """A recording that knows when each of its frames was there to be read.

    The sink that plays into nothing runs by a clock of its own, some hundred parts
    in a million off; over minutes that is more than what is to be measured.
    """

    def __init__(self, server: SoundServer, latency_ms: int = 5) -> None:
        self._process = subprocess.Popen(
            [
                *("parec", "-d", "cue.monitor", "--raw", "--rate=44100"),
                *("--channels=1", "--format=s16le", f"--latency-msec={latency_ms}"),
            ],
            env={**server.environment, "PULSE_SERVER": server.address},
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            bufsize=0,
        )
        self._pieces: list[bytes] = []
        self._stamps: list[tuple[int, float]] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        until(lambda: len(self._stamps) > 20)

    def _read(self) -> None:
        assert self._process.stdout is not None
        size = 0
        with self._process.stdout as pipe:
            while piece := pipe.read(65_536):
                size += len(piece)
                self._stamps.append((size // 2, time.monotonic()))
                self._pieces.append(piece)

    def stop(self) -> None:
        self._process.terminate()
        self._process.wait(5)
        self._reader.join(5)

    def samples(self) -> np.ndarray:
        self.stop()
        raw = b"".join(self._pieces)
        return np.frombuffer(raw[: len(raw) // 2 * 2], dtype="<i2").astype(float)

    def seconds(self) -> tuple[float, float]:
        """Seconds of `time.monotonic` at frame 0, and for each frame after it.

        Frames can be read late and never early: a line through the earliest
        reading of each five seconds.
        """
        frames, times = np.array(self._stamps, dtype=float).T
        bins = ((times - times[0]) // 5).astype(int)
        late = times - frames / 44_100
        best = [
            np.flatnonzero(bins == b)[np.argmin(late[bins == b])]
            for b in range(1, bins[-1])
        ]
        slope, start = np.polyfit(frames[best], times[best], 1)
        return float(start), float(slope)
