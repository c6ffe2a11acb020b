"""A private sound server with a sink that plays into nothing, and a recorder.

For tests only: nothing of the machine's own sound is touched or needed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from tests.sound.waiting import until

PROGRAMS = ("pulseaudio", "pactl", "parec")
UNWANTED = ("PULSE_SERVER", "PULSE_SINK", "DBUS_SESSION_BUS_ADDRESS", "DISPLAY")


def unavailable(reason: str) -> None:
    """Skip where sound cannot be tested, and fail where it must be."""
    required = os.environ.get("WHISTLESTOP_LOOPBACK") == "required"
    if os.environ.get("CI") == "true" or required:
        pytest.fail(reason)
    pytest.skip(reason)


class SoundServer:
    """One pulseaudio in the foreground with a socket in its own folder."""

    def __init__(self, folder: Path) -> None:
        for program in PROGRAMS:
            if shutil.which(program) is None:
                unavailable(f"{program} is not installed")
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
            # A user's own server has priority too, wherever it may.
            *("--realtime=no", "--high-priority=yes", "--disable-shm=yes"),
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

    def __init__(self, server: SoundServer, path: Path) -> None:
        self._path = path
        with path.open("wb") as file:
            self._process = subprocess.Popen(
                [
                    *("parec", "-d", "cue.monitor", "--raw", "--rate=44100"),
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
