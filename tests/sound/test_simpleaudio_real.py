"""The optional engine with its real library, heard through a private sound server.

The library needs CPython before 3.12 and, on Linux, an ALSA that leads to the
server; where it is not installed there is nothing to test.
"""

from __future__ import annotations

import importlib.util
import sys
import time

import pytest
from tests.sound.finding import heard_times, tone_wave
from tests.sound.sound_server import SoundServer, StampedRecorder
from tests.sound.waiting import until

from whistlestop.sound import open_sound
from whistlestop.sound.port import PlannedCue

pytestmark = [
    pytest.mark.loopback,
    pytest.mark.skipif(
        sys.version_info >= (3, 12) or not importlib.util.find_spec("simpleaudio"),
        reason="the extra simpleaudio is not installed, or cannot be",
    ),
]

TO_THE_SERVER = """\
</usr/share/alsa/alsa.conf>
pcm.!default { type pulse }
ctl.!default { type pulse }
"""


def test_planned_cues_and_one_at_once_are_heard_whole_once(tmp_path, monkeypatch):
    folder = tmp_path / "server"
    folder.mkdir()
    settings = tmp_path / "alsa.conf"
    settings.write_text(TO_THE_SERVER)
    server = SoundServer(folder)
    monkeypatch.setenv("PULSE_SERVER", server.address)
    monkeypatch.setenv("ALSA_CONFIG_PATH", str(settings))
    try:
        ear = StampedRecorder(server)
        port = open_sound("simpleaudio", log_path=None, volume=100)
        try:
            until(lambda: port.status().state == "ok")
            assert port.status().backend == "simpleaudio"
            now_s = time.monotonic()
            cues = [PlannedCue(f"c{n}", now_s + 1 + n, "go") for n in range(3)]
            port.plan(0, cues)
            reports = []
            until(lambda: reports.extend(port.reports()) or len(reports) == 3)
            time.sleep(1)
            port.now("switch")
            time.sleep(2)
        finally:
            port.close()
        heard = ear.samples()
    finally:
        server.stop()
    assert [(r.id, r.kind) for r in reports] == [(c.id, "played") for c in cues]
    assert heard_times(heard, tone_wave("go")) == 3
    assert heard_times(heard, tone_wave("switch")) == 1
