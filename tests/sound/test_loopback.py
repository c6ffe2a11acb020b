"""Real sound through the real helper into a private sound server, recorded.

Gates on frame spacing, count and shape, none of which a busy machine can change;
how exactly spacing follows the clock is a bench, not a test.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from tests.sound.finding import find, tone_wave
from tests.sound.sound_server import Recorder, SoundServer
from tests.sound.waiting import until

from whistlestop.sound import open_sound
from whistlestop.sound.cues import CUES
from whistlestop.sound.port import PlannedCue
from whistlestop.sound.surroundings import helper_command, helper_environment

pytestmark = pytest.mark.loopback


@pytest.fixture(scope="module")
def shared_server(tmp_path_factory):
    server = SoundServer(tmp_path_factory.mktemp("server"))
    yield server
    server.stop()


@pytest.fixture
def server(shared_server, monkeypatch):
    """Point this process, and so the helper, at the private server."""
    monkeypatch.setenv("PULSE_SERVER", shared_server.address)
    return shared_server


@pytest.fixture
def sound(server, tmp_path):
    """Give a port that is playing, with a log of what was printed."""
    port = open_sound("auto", log_path=tmp_path / "sound.log", volume=100)
    until(lambda: port.status().state == "ok")
    assert port.status().backend == "PulseAudio"
    assert port.status().latency_ms == 66
    yield port
    port.close()


@pytest.fixture
def recorder(server, tmp_path):
    made = Recorder(server, tmp_path / "heard.raw")
    yield made
    made.stop()


def first_onset(heard, name):
    """Frame at which a recording that begins with this cue has its first sample."""
    lead = np.flatnonzero(np.abs(tone_wave(name)) > 50)[0]
    return int(np.flatnonzero(np.abs(heard) > 50)[0] - lead)


def gather(port, reports, done):
    """Collect reports until `done(reports)`."""
    until(lambda: reports.extend(port.reports()) or done(reports), 40)
    return reports


def played(reports):
    return [r for r in reports if r.kind == "played"]


def test_every_cue_is_heard_once_at_its_frame(recorder, sound):
    """Spacing to one frame, shape to 0.98, and nothing else in the recording."""
    names = [*CUES, "count", "count", "go"]
    begin_s, gaps_s = time.monotonic() + 1.0, (1.11, 1.187, 1.15)
    plan, at_s = [], begin_s
    for number, name in enumerate(names):
        plan.append(PlannedCue(f"c{number}", at_s, name))
        at_s += gaps_s[number % 3]
    sound.plan(0, plan)
    reports = gather(sound, [], lambda r: len(r) >= len(names))
    recorder.wait_for(1.0)
    heard = recorder.samples()
    assert [(r.kind, r.id) for r in reports] == [("played", c.id) for c in plan]
    origin = first_onset(heard, names[0]) - reports[0].frame
    found = [
        find(heard, tone_wave(name), origin + report.frame)
        for name, report in zip(names, reports, strict=True)
    ]
    assert min(score for _, score in found) >= 0.98
    for (one, two), (first, second) in zip(
        pairwise(found), pairwise(reports), strict=True
    ):
        assert abs((two[0] - one[0]) - (second.frame - first.frame)) <= 1
    rest = heard.copy()
    for name, (frame, _) in zip(names, found, strict=True):
        rest[frame : frame + tone_wave(name).size] -= tone_wave(name)
    assert np.max(np.abs(rest)) <= 50


def test_withdrawn_cues_are_not_heard_and_acknowledgements_are(recorder, sound):
    now_s = time.monotonic()
    sound.plan(1, [PlannedCue("a", now_s + 1.5, "go")])
    sound.clear(2)
    sound.now("count")
    sound.plan(2, [PlannedCue("b", now_s + 2.5, "ten")])
    gather(sound, [], lambda r: [x.id for x in played(r)] == ["b"])
    recorder.wait_for(1.0)
    heard = recorder.samples()
    start = first_onset(heard, "count")
    assert find(heard, tone_wave("count"), start, 10)[1] >= 0.98
    heard[start : start + tone_wave("count").size] = 0
    start = first_onset(heard, "ten")
    assert find(heard, tone_wave("ten"), start, 10)[1] >= 0.98
    heard[start : start + tone_wave("ten").size] = 0
    assert np.max(np.abs(heard)) <= 50


@pytest.mark.slow
def test_a_killed_helper_is_replaced_and_later_cues_are_heard(recorder, sound):
    now_s = time.monotonic()
    plan = [PlannedCue(f"c{n}", now_s + 1 + n / 2, "count") for n in range(30)]
    sound.plan(0, plan)
    reports = gather(sound, [], lambda r: len(played(r)) >= 3)
    os.kill(sound._life.pid, 9)
    gather(sound, reports, lambda r: r[-1].id == plan[-1].id)
    recorder.wait_for(0.5)
    kinds = [r.kind for r in reports if r.kind in ("lost", "back")]
    assert kinds == ["lost", "back"]
    ids = [r.id for r in played(reports)]
    assert len(ids) == len(set(ids))
    after = reports[[r.kind for r in reports].index("lost") :]
    second_life = played(after)
    assert len(second_life) >= 5
    heard = recorder.samples()
    loud = np.flatnonzero(np.abs(heard) > 50)
    last = int(loud[np.flatnonzero(np.diff(loud) > 4410)[-1] + 1])
    near = [r.frame - second_life[-1].frame + last for r in second_life]
    assert min(find(heard, tone_wave("count"), frame)[1] for frame in near) >= 0.98


@pytest.mark.slow
def test_a_killed_server_is_told_and_sound_returns_with_it(tmp_path, monkeypatch):
    own = SoundServer(tmp_path)
    monkeypatch.setenv("PULSE_SERVER", own.address)
    port = open_sound("auto", log_path=None, volume=100)
    try:
        until(lambda: port.status().state == "ok")
        own.kill()
        until(lambda: port.status().state == "lost")
        assert port.status().wants_bell
        own.start()
        until(lambda: port.status().state == "ok")
        port.plan(5, [PlannedCue("again", time.monotonic() + 1, "go")])
        reports = gather(port, [], played)
        assert [r.kind for r in reports] == ["lost", "back", "played"]
    finally:
        port.close()
        own.stop()


def start_helper(**more):
    return subprocess.Popen(
        helper_command(),
        env=helper_environment(os.environ, None),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        **more,
    )


def wait_until_ready(helper):
    for line in helper.stdout:
        if line.startswith(b"ready"):
            return line
    raise AssertionError("the helper ended before it was ready")


@pytest.mark.parametrize("farewell", [b"", b"quit\n"])
def test_the_end_of_the_input_ends_the_helper(server, farewell):
    """With a stream open, where the interpreter alone would hang for ever."""
    helper = start_helper()
    helper.stdin.write(b"hello 1\n")
    helper.stdin.flush()
    assert wait_until_ready(helper) == b"ready PulseAudio 44100 66\n"
    _, printed = helper.communicate(farewell, timeout=20)
    assert (helper.returncode, printed) == (0, b"")


def test_the_helper_does_without_numpy(server):
    """The binding would import it; nothing of it is mapped into the process."""
    helper = start_helper()
    helper.stdin.write(b"hello 1\n")
    helper.stdin.flush()
    wait_until_ready(helper)
    maps = Path(f"/proc/{helper.pid}/maps").read_text()
    helper.communicate(timeout=20)
    assert "miniaudio" in maps
    assert "numpy" not in maps


def test_an_interrupt_does_not_end_the_helper(server):
    helper = start_helper()
    helper.stdin.write(b"hello 1\n")
    helper.stdin.flush()
    wait_until_ready(helper)
    os.kill(helper.pid, 2)
    assert b"health" in helper.stdout.readline()
    assert helper.poll() is None
    helper.communicate(timeout=20)


def test_nothing_is_left_in_the_home_folder(server, tmp_path, monkeypatch):
    """The client library would make a cookie and a link there."""
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    for name in ("XDG_RUNTIME_DIR", "XDG_CONFIG_HOME", "PULSE_COOKIE"):
        monkeypatch.delenv(name, raising=False)
    for address in (server.address, None):
        if address is None:
            monkeypatch.delenv("PULSE_SERVER")
        port = open_sound("auto", log_path=tmp_path / "own" / "s.log", volume=0)
        until(lambda port=port: port.status().state != "starting")
        port.close()
    assert list(home.iterdir()) == []


def test_with_no_device_it_is_lost_and_nothing_reaches_the_terminal(
    tmp_path, monkeypatch, capfd
):
    """The C libraries print some thirty lines here, all of them into the log."""
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path / 'nowhere'}")
    log = tmp_path / "sound.log"
    port = open_sound("auto", log_path=log, volume=100)
    until(lambda: port.status().state == "lost")
    port.plan(0, [PlannedCue("a", time.monotonic() + 0.2, "go")])
    assert "No sound device could be opened" in port.status().detail
    port.close()
    assert capfd.readouterr() == ("", "")
    assert log.stat().st_size > 0


ENGINE_SCRIPT = """
import os, sys, time
from whistlestop.sound.helper.device import MiniaudioEngine
from whistlestop.errors import DeviceError
from whistlestop.sound.helper.player import Player
engine = MiniaudioEngine(Player({}, 44100), 44100, time.monotonic, sys.argv[1])
"""


def run_engine(script, choice=""):
    done = subprocess.run(
        [sys.executable, "-c", ENGINE_SCRIPT + script, choice],
        env=helper_environment(os.environ, None),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    return done.stdout.strip() or done.stderr


def test_playing_into_nothing_is_not_called_success(server):
    """The library opens its own null device where there is no sound system."""
    script = """
engine._backends = lambda: [engine._binding.Backend.NULL]
try:
    engine.open()
except DeviceError as problem:
    print(problem, flush=True)
os._exit(0)
"""
    assert run_engine(script) == "No sound system was found."


def test_a_sound_system_that_is_not_there_is_told(server):
    script = """
try:
    engine.open()
except DeviceError as problem:
    print(problem, flush=True)
os._exit(0)
"""
    assert run_engine(script, "wasapi").startswith("No sound device could be opened")
    assert run_engine(script, "abacus") == "There is no sound system abacus."


@pytest.mark.slow
@pytest.mark.parametrize("there", [True, False])
def test_seventy_openings_leak_no_descriptor(server, monkeypatch, there):
    """Without giving the context back, the 64th opening fails."""
    if not there:
        monkeypatch.setenv("PULSE_SERVER", f"unix:{server.folder / 'nowhere'}")
    script = """
def count():
    return len(os.listdir('/proc/self/fd'))

def once():
    try:
        engine.open()
    except DeviceError:
        return False
    engine.close()
    return True

once()
before = count()
opened = sum(once() for _ in range(70))
print(opened, count() - before, flush=True)
os._exit(0)
"""
    assert run_engine(script) == ("70 0" if there else "0 0")
