"""The port against a stand-in for the helper: it dies, hangs, talks nonsense."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from tests.sound.waiting import until
from tests.support.recording_sound import RecordingSound

from whistlestop.sound import CHOICES, open_sound
from whistlestop.sound.bell import BellSound
from whistlestop.sound.cues import CUES
from whistlestop.sound.helper_port import HelperSound, Patience
from whistlestop.sound.port import PlannedCue, SoundPort, SoundReport, SoundStatus
from whistlestop.sound.silent import SilentSound
from whistlestop.sound.surroundings import helper_command, helper_environment

HERE = Path(__file__).resolve().parent
FAST = Patience(backoff_s=(0.02,), silence_s=5.0)


@pytest.fixture
def start(tmp_path):
    """Start ports on the stand-in; each is closed at the end."""
    ports = []

    def begin(behaviour, patience=FAST, **more):
        command = [sys.executable, str(HERE / "fake_helper.py"), behaviour]
        port = HelperSound(
            [*command, str(tmp_path / "told")],
            {"go": Path("/s/go.wav")},
            patience=patience,
            **more,
        )
        ports.append(port)
        return port

    yield begin
    for port in ports:
        port.close()


@pytest.fixture
def told(tmp_path):
    """Give what the stand-in was told, START lines for each of its lives."""

    def read():
        path = tmp_path / "told"
        return path.read_text().splitlines() if path.exists() else []

    return read


def orders(lines):
    return [line for line in lines if not line.startswith("START")]


def lives(lines):
    return sum(line.startswith("START") for line in lines)


def ok(port):
    return until(lambda: port.status().state == "ok")


def test_a_fresh_helper_is_told_version_sounds_level_and_epoch(start, told):
    port = start("good", volume=70, offset_ms=-40)
    ok(port)
    expected = ["hello 1", "load go /s/go.wav", "volume 70", "offset -40", "clear 0"]
    until(lambda: orders(told()) == expected)
    assert port.status() == SoundStatus("ok", "Fake Audio", 66)


def test_starting_is_neither_lost_nor_a_reason_to_ring(start):
    port = start("mute")
    assert port.status().state == "starting"
    assert not port.status().wants_bell


def test_a_cue_is_sent_once_and_answered(start, told):
    port = start("good")
    ok(port)
    cue = PlannedCue("a", 12.5, "go")
    port.plan(0, [cue, PlannedCue("b", 13.5, "go")])
    port.plan(0, [cue])
    reports = []
    until(lambda: reports.extend(port.reports()) or len(reports) == 2)
    assert reports == [
        SoundReport("played", "a", frame=4410),
        SoundReport("played", "b", frame=4410),
    ]
    sent = [line for line in told() if line.startswith("at")]
    assert sent == ["at 0:a 12.500000 go 0", "at 0:b 13.500000 go 0"]
    assert port.reports() == []


def test_clear_forgets_and_old_epochs_are_not_sent(start, told):
    port = start("good")
    ok(port)
    port.clear(3)
    port.plan(2, [PlannedCue("old", 1.0, "go")])
    port.plan(3, [PlannedCue("new", 1.0, "go")])
    port.clear(1)
    port.now("pause")
    until(lambda: "now pause" in told())
    assert orders(told())[-3:] == ["clear 3", "at 3:new 1.000000 go 3", "now pause"]


def test_mute_is_level_zero_and_the_volume_comes_back(start, told):
    port = start("good", volume=60)
    ok(port)
    port.mute(True)
    assert port.status().muted
    port.volume(300)
    port.mute(False)
    port.now("x")
    until(lambda: "now x" in told())
    assert [line for line in told() if line.startswith("volume")] == [
        "volume 60",
        "volume 0",
        "volume 0",
        "volume 100",
    ]


def test_a_dead_helper_is_started_again_and_told_what_is_still_to_come(start, told):
    port = start("dies-on-now", volume=50)
    ok(port)
    port.clear(2)
    port.plan(2, [PlannedCue("done", 5.0, "go")])
    until(lambda: [r for r in port.reports() if r.kind == "played"])
    port.load("phrase-1", Path("/s/p.wav"))
    port.volume(40)
    port.now("die")
    until(lambda: lives(told()) == 2)
    port.plan(2, [PlannedCue("later", 9.0, "go")])
    until(lambda: "at 2:later 9.000000 go 2" in told())
    second = told()[[i for i, t in enumerate(told()) if t.startswith("START")][1] + 1 :]
    assert second[:6] == [
        "hello 1",
        "load go /s/go.wav",
        "load phrase-1 /s/p.wav",
        "volume 40",
        "offset 0",
        "clear 2",
    ]
    assert "at 2:done 5.000000 go 2" not in second
    until(lambda: port.status().state == "ok")


def test_cues_planned_before_a_death_are_planned_again(start, told):
    """Those not yet reported; the helper itself drops what has passed."""
    port = start("dies-on-now")
    ok(port)
    port.plan(0, [PlannedCue("a", 7.0, "unanswered"), PlannedCue("b", 8.0, "go")])
    until(port.reports)
    port.now("die")
    until(lambda: lives(told()) == 2)
    until(lambda: told().count("at 0:a 7.000000 unanswered 0") == 2)
    assert told().count("at 0:b 8.000000 go 0") == 1


def test_lost_and_back_are_reported_once_each(start):
    port = start("good")
    ok(port)
    port.now("lose")
    port.now("lose")
    until(lambda: port.status().state == "lost")
    assert port.status().wants_bell
    assert port.status().detail == "The sound device has stopped."
    port.now("regain")
    ok(port)
    kinds = [(r.kind, r.detail) for r in port.reports()]
    assert kinds == [("lost", "The sound device has stopped."), ("back", "")]


def test_a_helper_that_dies_at_once_is_lost_and_tried_again(start, told):
    port = start("dies-at-once")
    until(lambda: lives(told()) >= 4)
    assert port.status().state == "lost"
    assert port.status().detail == "The sound helper ended; it is started again."
    port.plan(0, [PlannedCue("a", 1.0, "go")])
    port.now("go")


def test_without_an_audio_library_it_is_not_tried_again(start, told):
    port = start("no-library")
    until(lambda: not port._supervisor.is_alive())
    assert lives(told()) == 1
    assert port.status().state == "lost"
    assert port.status().detail == "The audio library cannot be used: none"


def test_a_helper_that_cannot_be_started_is_lost(tmp_path):
    port = HelperSound([str(tmp_path / "none")], {}, patience=FAST)
    until(lambda: port.status().state == "lost")
    assert port.status().detail == (
        "The sound helper cannot start: No such file or directory."
    )
    port.close()


def test_a_silent_helper_is_ended_and_replaced(start, told):
    port = start("mute", patience=Patience((0.02,), silence_s=0.3))
    until(lambda: lives(told()) >= 2)
    assert port.status().state == "lost"


def test_nonsense_from_the_helper_is_passed_over(start):
    port = start("garbage")
    reports = []
    until(lambda: reports.extend(port.reports()) or reports)
    assert reports == [SoundReport("played", "g", frame=7)]
    assert port.status().state == "ok"


@pytest.mark.parametrize(
    "behaviour", ["good", "mute", "hangs-at-close", "dies-at-once", "no-library"]
)
def test_close_ends_process_and_threads_whatever_the_helper_does(
    start, told, behaviour
):
    port = start(behaviour)
    until(lambda: lives(told()))
    pid = int(told()[0].split()[1])
    closing = threading.Thread(target=port.close)
    closing.start()
    closing.join(10)
    assert not closing.is_alive()
    assert not Path(f"/proc/{pid}").exists()
    until(lambda: not port._supervisor.is_alive())
    assert port.status().state == "off"
    port.plan(0, [PlannedCue("a", 1.0, "go")])
    port.now("go")
    port.volume(3)
    port.close()


def test_ways_of_ending_add_up_to_less_than_two_seconds():
    """Limits, not a stopwatch: a busy machine proves nothing."""
    from whistlestop.sound import process

    assert process.QUIT_S + process.TERMINATE_S + process.KILL_S + 0.2 <= 2.0


@pytest.mark.skipif(
    not Path("/proc/self/fd").exists(), reason="this system has no /proc/self/fd"
)
def test_descriptors_do_not_grow_with_restarts(start, told):
    port = start("dies-at-once")
    until(lambda: lives(told()) >= 5)
    before = len(list(Path("/proc/self/fd").iterdir()))
    until(lambda: lives(told()) >= 25)
    assert len(list(Path("/proc/self/fd").iterdir())) <= before + 4
    port.close()


def test_what_the_helper_prints_goes_to_the_log_and_nowhere_else(tmp_path, capfd):
    script = "import os; os.write(2, b'from a C library\\n')"
    log = tmp_path / "new" / "sound.log"
    port = HelperSound([sys.executable, "-c", script], {}, log_path=log, patience=FAST)
    until(lambda: log.exists() and b"from a C library" in log.read_bytes())
    port.close()
    assert capfd.readouterr() == ("", "")
    assert log.stat().st_mode & 0o777 == 0o600


def test_a_log_that_cannot_be_written_is_done_without(tmp_path):
    (tmp_path / "file").touch()
    script = "print('ready Fake 44100 66', flush=True); import sys; sys.stdin.read()"
    port = HelperSound(
        [sys.executable, "-c", script], {}, log_path=tmp_path / "file" / "log"
    )
    ok(port)
    port.close()


def test_the_helper_has_a_session_of_its_own(start, told):
    """So ctrl+C in the terminal does not end it."""
    port = start("good")
    ok(port)
    pid = int(told()[0].split()[1])
    assert os.getsid(pid) == pid != os.getsid(0)


def test_a_program_that_forgets_to_close_still_leaves(tmp_path):
    script = (
        "import sys; from pathlib import Path\n"
        "from whistlestop.sound.helper_port import HelperSound\n"
        f"cmd = [sys.executable, {str(HERE / 'fake_helper.py')!r}, 'good', "
        f"{str(tmp_path / 'told')!r}]\n"
        "port = HelperSound(cmd, {})\n"
        "while port.status().state != 'ok': pass\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        env={"PYTHONPATH": str(HERE.parents[1] / "src")},
        capture_output=True,
        timeout=30,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")


def test_the_helper_does_not_import_from_the_current_folder():
    assert helper_command("alsa")[1:] == [
        "-P",
        "-m",
        "whistlestop.sound.helper",
        "alsa",
    ]


@pytest.mark.skipif(sys.platform != "linux", reason="a matter of Linux only")
def test_a_cookie_that_exists_stays_in_use(tmp_path):
    """A remote server may ask for it; only a missing one is not to be made."""
    base = {"HOME": str(tmp_path), "XDG_RUNTIME_DIR": "/run/x"}
    log = tmp_path / "own" / "log"
    made = helper_environment(base, log)
    assert made["PULSE_COOKIE"] == str(tmp_path / "own" / "pulse-cookie")
    assert "PULSE_COOKIE" not in helper_environment(base, None)
    (tmp_path / ".pulse-cookie").touch()
    assert "PULSE_COOKIE" not in helper_environment(base, log)
    assert "PULSE_RUNTIME_PATH" not in helper_environment(base, log)


def test_the_helper_finds_the_package_before_anything_else():
    path = helper_environment({"PYTHONPATH": "mine"}, None)["PYTHONPATH"]
    assert path.split(os.pathsep) == [str(HERE.parents[1] / "src"), "mine"]


PRIVATE = {
    "API_TOKEN": "x",
    "SSH_AUTH_SOCK": "/s",
    "EDITOR": "ed",
    "WHISTLESTOP_HOME": "h",
}
NEEDED = {
    "PATH": "/bin",
    "HOME": "/home/a",
    "LANG": "en_GB.UTF-8",
    "LC_ALL": "C",
    "TMPDIR": "/tmp",
    "XDG_RUNTIME_DIR": "/run/x",
    "DBUS_SESSION_BUS_ADDRESS": "unix:",
    "PULSE_SERVER": "unix:/p",
    "PULSE_COOKIE": "/c",
    "ALSA_CONFIG_PATH": "/a",
    "PIPEWIRE_REMOTE": "r",
    "PYTHONHOME": "/python",
    "SYSTEMROOT": "w",
}


def test_the_helper_is_told_what_it_needs_of_the_environment_and_no_more():
    """It loads the sound libraries of the machine, which tokens are no business of."""
    made = helper_environment({**PRIVATE, **NEEDED}, None)
    assert made.pop("PYTHONPATH") == str(HERE.parents[1] / "src")
    assert made == NEEDED


def test_a_running_helper_sees_no_more_than_it_needs(tmp_path, monkeypatch):
    """Of the real process, started as the program starts it."""
    for name, value in PRIVATE.items():
        monkeypatch.setenv(name, value)
    seen = tmp_path / "seen"
    code = "import os,sys; open(sys.argv[1], 'w').write(chr(10).join(os.environ))"
    sound = HelperSound([sys.executable, "-c", code, str(seen)], {})
    try:
        until(lambda: seen.exists() and "PYTHONPATH" in seen.read_text())
        assert not set(seen.read_text().split()) & set(PRIVATE)
    finally:
        sound.close()


class TestPlannedCue:
    @pytest.mark.parametrize("word", ["", "a b", "a\nb", "\x1b", "x" * 201])
    def test_refuses_what_a_line_cannot_carry(self, word):
        with pytest.raises(ValueError, match="one printable word"):
            PlannedCue(word, 1.0, "go")
        with pytest.raises(ValueError, match="one printable word"):
            PlannedCue("a", 1.0, word)

    @pytest.mark.parametrize("at_s", [float("nan"), float("inf")])
    def test_refuses_a_time_that_is_none(self, at_s):
        with pytest.raises(ValueError, match="must be a number"):
            PlannedCue("a", at_s, "go")


class TestOtherPorts:
    def test_off_is_off(self):
        port = open_sound("off", log_path=None, volume=50)
        assert port.status().state == "off"
        assert not port.status().wants_bell

    def test_bell_leaves_the_ringing_to_the_terminals_owner(self):
        port = open_sound("bell", log_path=None, volume=50)
        port.now("go")
        assert port.status().wants_bell
        port.mute(True)
        assert not port.status().wants_bell

    def test_an_unknown_setting_is_told_and_rings(self):
        port = open_sound("louder", log_path=None, volume=50)
        assert port.status().state == "lost"
        assert port.status().wants_bell
        assert "'louder' is not one of auto, off, bell" in port.status().detail

    def test_a_bell_rings_once_per_now_unless_muted_or_closed(self):
        rings = []
        port = BellSound(lambda: rings.append(1))
        port.now("go")
        port.mute(True)
        port.now("go")
        port.mute(False)
        port.volume(0)
        port.now("go")
        port.volume(10)
        port.now("go")
        port.close()
        port.now("go")
        assert len(rings) == 2

    def test_all_ports_offer_the_same(self):
        """The fakes and adapters take every call of the port."""
        names = [n for n in vars(SoundPort) if not n.startswith("_")]
        assert set(names) >= {"plan", "clear", "now", "volume", "mute", "close"}
        for kind in (HelperSound, SilentSound, BellSound, RecordingSound):
            assert all(callable(getattr(kind, name)) for name in names)

    def test_the_recording_port_keeps_the_rules(self):
        port: SoundPort = RecordingSound()
        port.plan(0, [PlannedCue("a", 1.0, "go"), PlannedCue("a", 2.0, "go")])
        port.clear(1)
        port.plan(0, [PlannedCue("old", 1.0, "go")])
        port.plan(1, [PlannedCue("c", 5.0, "go"), PlannedCue("b", 4.0, "ten")])
        assert [cue.id for cue in port.planned()] == ["b", "c"]

    def test_choices_and_cues_are_text(self):
        assert all(word.isidentifier() for word in (*CHOICES, *CUES))


def test_asking_for_sound_loads_no_audio_library_here():
    script = (
        "import sys; import whistlestop.sound\n"
        "print([m for m in ('miniaudio', 'simpleaudio', 'numpy') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        env={"PYTHONPATH": str(HERE.parents[1] / "src")},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "[]\n"
