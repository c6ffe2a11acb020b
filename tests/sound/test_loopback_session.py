"""Whole sessions on the real clock, heard through a private sound server.

One is three minutes long and compared with the file `sounds render` writes. In
the others something is taken away: the session must stay exact, sound must come
back, and the journal must say what was lost.
"""

from __future__ import annotations

import os
import threading
import time
import wave
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from tests.sound.finding import find, heard_times, tone_wave
from tests.sound.sound_server import Recorder, SoundServer, StampedRecorder
from tests.sound.waiting import until
from tests.support.clock import ListJournal
from tests.support.plans import plan, station
from tests.support.processes import PlainProcess, put_circuit, run_program

from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import compile_plan, plan_document
from whistlestop.driver.services import Services
from whistlestop.driver.session import Options, Session
from whistlestop.engine.clock import SystemClock
from whistlestop.engine.engine import Engine
from whistlestop.sound import open_sound
from whistlestop.sound.cues import TONES
from whistlestop.sound.port import PlannedCue
from whistlestop.sound.rendering import frame_of
from whistlestop.sound.soundtrack import Layer
from whistlestop.sound.synth import read_wav

pytestmark = pytest.mark.loopback

TICK_S = 0.1
LOUD = '[sound]\nvolume = 100\nengine = "pulse"\n'
NIGHT_TRAIN = """\
format = 1
name = "Night train"
loops = 2
recover = "20 s"
loop_break = "24 s"
get_ready = "10 s"
[[station]]
exercise = "goblet-squat"
work = "20 s"
load = "12 kg"
tempo = "3-1-1-0"
drill = "called-step"
[[station]]
exercise = "one-arm-row"
parts = ["left", "right"]
changeover = "3 s"
work = "33 s"
load = "8 kg"
"""


@pytest.fixture
def server(tmp_path, monkeypatch):
    """A server of its own for each test: what is taken away here is missed there."""
    folder = tmp_path / "server"
    folder.mkdir()
    own = SoundServer(folder)
    monkeypatch.setenv("PULSE_SERVER", own.address)
    yield own
    own.stop()


def loud_home(folder):
    home = folder / "home"
    home.mkdir()
    (home / "config.toml").write_text(LOUD)
    return home


def drive(session, *, between=lambda session: None):
    """Tick ten times a second until the session is over, as a screen does."""
    session.begin()
    while not session.is_over:
        time.sleep(TICK_S)
        session.tick()
        between(session)


@pytest.mark.slow
@pytest.mark.alone
def test_three_minutes_live_agree_with_the_rendered_file(server, tmp_path):
    """Each onset to 10 ms after one constant offset; no cue more, none less."""
    home = loud_home(tmp_path)
    put_circuit(home, "night-train", NIGHT_TRAIN)
    services = Services(home)
    made = compile_plan(services.circuits.read("night-train"))
    assert made.total_ms == 180_000

    out = tmp_path / "out.wav"
    done = run_program("sounds", "render", "night-train", out, home=home)
    assert done.returncode == 0, done.stderr
    soundtrack, phrases = services.audio.whole_soundtrack(made, wait_s=30)
    expected = soundtrack.whole(made)
    waves = {name: tone_wave(name) for name in TONES} | {
        phrase.id: np.array(read_wav(phrase.path), dtype=float)
        for phrase in phrases.values()
    }
    with wave.open(str(out), "rb") as file:
        raw = file.readframes(file.getnframes())
    rendered = np.frombuffer(raw, dtype="<i2").astype(float)
    in_file = [
        find(rendered, waves[h.player_name], frame_of(h.at_ms), 100) for h in expected
    ]
    assert [frame for frame, _ in in_file] == [frame_of(h.at_ms) for h in expected]
    assert min(score for _, score in in_file) >= 0.98

    recorder = StampedRecorder(server)
    reported = port = Listed(services.audio.port())
    until(lambda: port.status().state == "ok")
    running = services.sessions.start(made, options=Options(seed=0), sound=port)
    begun = []
    try:
        drive(
            running.session,
            between=lambda s: begun or begun.append(time.monotonic() - s.now_ms / 1000),
        )
        time.sleep(1.5)
    finally:
        running.session.close()
        running.release()
    heard = recorder.samples()
    start_s, frame_s = recorder.seconds()
    assert all(row.ms == row.set_ms for row in running.session.engine.rows)

    found = []
    for one in expected:
        near = round((begun[0] + one.at_ms / 1000 - start_s) / frame_s)
        found.append(find(heard, waves[one.player_name], near))
    missed = [
        f"{one.at_ms} ms {one.name!r}: {score:.2f}"
        for one, (_, score) in zip(expected, found, strict=True)
        if score < 0.98
    ]
    assert not missed, (missed, [r for r in reported.kept if r.kind != "played"])
    errors_ms = np.array(
        [
            (start_s + frame * frame_s - begun[0]) * 1000 - one.at_ms
            for (frame, _), one in zip(found, expected, strict=True)
        ]
    )
    off_ms = np.abs(errors_ms - np.median(errors_ms))
    print(
        f"{len(expected)} sounds, offset {np.median(errors_ms):.1f} ms, "
        f"worst {off_ms.max():.2f} ms, rate {1e6 * (frame_s * 44_100 - 1):.0f} ppm"
    )
    assert off_ms.max() <= 10

    cues = [one for one in expected if one.layer is Layer.CUE]
    in_plan = sum(len(s["cues"]) for s in plan_document(made)["segments"])
    assert len(cues) == in_plan
    rest = heard.copy()
    for (frame, _), one in zip(found, expected, strict=True):
        piece = waves[one.player_name]
        rest[frame : frame + piece.size] -= piece
    assert np.max(np.abs(rest)) <= 50


class Listed:
    """A player that also keeps every report it gives."""

    def __init__(self, port):
        self._port = port
        self.kept = []

    def __getattr__(self, name):
        return getattr(self._port, name)

    def reports(self):
        fresh = self._port.reports()
        self.kept += fresh
        return fresh


# Cues all along, one each second or two, for as long as anything may be gone.
BUSY = plan(
    *(station(n) for n in range(1, 4)),
    work_ms=5_000,
    recover_ms=4_000,
    get_ready_ms=4_000,
    last_recover="keep",
)


@contextmanager
def session_with(tmp_path):
    port = Listed(open_sound("pulse", log_path=tmp_path / "s.log", volume=100))
    try:
        until(lambda: port.status().state == "ok")
        session = Session(
            Engine(BUSY),
            clock=SystemClock(),
            journal=ListJournal(),
            sound=port,
            options=Options(),
        )
        yield session, port
    finally:
        port.close()


def take_the_device(server, port):
    server.take_sink("cue")


def give_the_device(server):
    server.add_sink("cue")


def kill_the_server(server, port):
    server.kill()


def start_the_server(server):
    server.start()


def kill_the_helper(server, port):
    os.kill(port._life.pid, 9)


def nothing(server):
    """The port itself starts another helper."""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("take", "give"),
    [
        (take_the_device, give_the_device),
        (kill_the_server, start_the_server),
        (kill_the_helper, nothing),
    ],
)
def test_what_is_taken_away_in_a_session_is_missed_told_and_comes_back(
    server, tmp_path, take, give
):
    """Taken at 6 s, given back 4 s later: the session itself knows nothing of it."""
    with session_with(tmp_path) as (session, port):
        steps = [(6_000, lambda: take(server, port)), (10_000, lambda: give(server))]
        threads = []

        def between(session):
            # In a thread, for the session may not wait for it.
            if steps and session.now_ms >= steps[0][0]:
                threads.append(threading.Thread(target=steps.pop(0)[1]))
                threads[-1].start()

        drive(session, between=between)
        for thread in threads:
            thread.join(20)
        until(lambda: session.tick() or len(accounted(port)) == len(due()), 10)
    rows = session.engine.rows
    assert [row.ms for row in rows] == [s.duration_ms for s in BUSY.segments]
    assert session.engine.t_ms == BUSY.total_ms

    # Every cue of the plan is accounted for once: heard, or told as lost.
    assert sorted(accounted(port)) == sorted(due())
    fates = dict(fate(port))
    assert fates[max(due())] == "played"
    assert [fates[at] for at in due() if at < 6_000] == ["played"] * 4
    dropped = [at for at, kind in fates.items() if kind == "dropped"]
    told = session._journal.of("sound")
    assert [line["what"] for line in told if line["what"] in ("lost", "back")] == [
        "lost",
        "back",
    ]
    counts = [line["count"] for line in told if line["what"] == "dropped"]
    assert sum(counts) == len(dropped)
    if take is not kill_the_helper:
        assert len(dropped) >= 2


def due():
    """When each cue of the plan is due."""
    return [cue["at_ms"] for s in plan_document(BUSY)["segments"] for cue in s["cues"]]


def fate(port):
    """What became of each cue: its time in the session, and the report's kind."""
    return [
        (int(r.id.split(".")[1]), r.kind)
        for r in port.kept
        if r.kind in ("played", "dropped")
    ]


def accounted(port):
    return [at for at, _ in fate(port)]


@pytest.mark.slow
def test_another_default_device_is_followed_and_no_cue_is_lost(server, tmp_path):
    """Headphones are plugged in: the server moves the stream, and all is heard once."""
    server.add_sink("other")
    ears = [Recorder(server, tmp_path / n, n) for n in ("cue", "other")]
    port = open_sound("pulse", log_path=tmp_path / "s.log", volume=100)
    try:
        until(lambda: port.status().state == "ok")
        now_s = time.monotonic()
        times_s = [now_s + 1 + 0.7 * n for n in range(8)]
        port.plan(0, [PlannedCue(f"c{n}", t, "go") for n, t in enumerate(times_s)])
        reports = []

        def played() -> list[str]:
            reports.extend(port.reports())
            return [r.id for r in reports if r.kind == "played"]

        until(lambda: len(played()) >= 3)
        server.control("set-default-sink", "other")
        until(lambda: len(played()) >= 8)
        ears[1].wait_for(1.0)
    finally:
        port.close()
        heard = [ear.samples() for ear in ears]
    assert played() == [f"c{n}" for n in range(8)]
    # The move itself may make a cue late by a little; none may be dropped.
    assert {r.kind for r in reports} <= {"played", "late"}
    counts = [heard_times(one, tone_wave("go")) for one in heard]
    # The first recorder is moved along with the default and hears both devices; one
    # cue may be cut in two by the change.
    assert 7 <= counts[0] <= 8
    assert 4 <= counts[1] <= 6


@pytest.mark.slow
def test_opened_thirty_times_no_descriptor_and_no_thread_is_left(server, tmp_path):
    # It keeps the sink awake; one that sleeps takes two seconds to ask for sound.
    ear = Recorder(server, tmp_path / "heard")

    def once():
        port = open_sound("pulse", log_path=None, volume=100)
        until(lambda: port.status().state == "ok")
        port.close()

    def open_files():
        return len(list(Path("/proc/self/fd").iterdir()))

    once()
    before, threads = open_files(), threading.active_count()
    for _ in range(30):
        once()
    assert open_files() == before
    until(lambda: threading.active_count() <= threads)
    ear.stop()


def helpers_of(pid):
    """Helper processes that a program started."""
    found = []
    for folder in Path("/proc").iterdir():
        if not folder.name.isdigit():
            continue
        try:
            stat = (folder / "stat").read_text().rpartition(")")[2].split()
            words = (folder / "cmdline").read_bytes().split(b"\0")
        except OSError:
            continue
        if int(stat[1]) == pid and b"whistlestop.sound.helper" in words:
            found.append(int(folder.name))
    return found


def is_alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


def slow(*values):
    """Make a case that only the long run takes."""
    return pytest.param(*values, marks=pytest.mark.slow)


@pytest.mark.parametrize(("number", "status"), [(15, 143), slow(1, 129), slow(9, 137)])
def test_however_the_program_ends_its_helper_ends_with_it(
    server, tmp_path, number, status
):
    home = loud_home(tmp_path)
    put_circuit(home, "night-train", NIGHT_TRAIN)
    with PlainProcess(
        "run", "night-train", home=home, PULSE_SERVER=server.address
    ) as program:
        (helper,) = until(lambda: helpers_of(program.process.pid))
        assert program.end(number) == status
        until(lambda: not is_alive(helper), 10)


def test_with_no_device_the_program_says_what_it_says_and_no_library_a_word(
    server, tmp_path
):
    """Some thirty lines of C libraries go to the log; the terminal has none of them."""
    home = loud_home(tmp_path)
    (home / "config.toml").write_text('[sound]\nengine = "auto"\n')
    circuit = NIGHT_TRAIN.replace("10 s", "3 s").replace("loops = 2", "loops = 1")
    put_circuit(home, "night-train", circuit)
    nowhere = f"unix:{tmp_path / 'nowhere'}"
    with PlainProcess("run", "night-train", home=home, PULSE_SERVER=nowhere) as program:
        logs = until(lambda: [p for p in home.rglob("sound.log") if p.stat().st_size])
        program.wait_for("work")
        program.end(15)
        printed = logs[0].read_text(errors="replace").splitlines()
        sentences = program.said
    assert len(printed) >= 1
    for line in printed:
        assert not line.strip() or line.strip() not in sentences
    for word in ("ALSA", "pcm", "pulse", "jack", "lib"):
        assert word.lower() not in sentences.lower()


def test_a_session_without_a_device_is_whole_all_the_same(tmp_path, monkeypatch):
    """Nothing answers from the first second on; time and record are exact."""
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path / 'nowhere'}")
    port = open_sound("pulse", log_path=tmp_path / "s.log", volume=100)
    short = plan(station(1), work_ms=5_000, get_ready_ms=1_000, last_recover="drop")
    try:
        session = Session(
            Engine(short),
            clock=SystemClock(),
            journal=ListJournal(),
            sound=port,
            options=Options(),
        )
        drive(session)
        assert port.status().wants_bell
    finally:
        port.close()
    assert [s.kind for s in short.segments] == [SegmentKind.GET_READY, SegmentKind.WORK]
    assert [row.ms for row in session.engine.rows] == [
        s.duration_ms for s in short.segments
    ]
    assert session._journal.of("sound")[0]["what"] == "lost"
