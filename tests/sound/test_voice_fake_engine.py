"""The voice with an engine that is a script: protocol, hostile texts, every failure.

The script writes down how it was called, and gives a sine in the form the real
command gives on a pipe: a WAV header whose lengths mean nothing.
"""

from __future__ import annotations

import json
import math
import os
import signal
import struct
import subprocess
import sys
from array import array
from pathlib import Path

import pytest
from tests.sound.waiting import until

from whistlestop.sound.surroundings import helper_environment
from whistlestop.sound.synth import read_wav
from whistlestop.sound.voice import open_voice, preparing
from whistlestop.sound.voice.phrases import TEXT_LIMIT, phrase_id

TABLE = """\
Pty Language       Age/Gender VoiceName          File                 Other Languages
 5  de              --/M      German             gmw/de
 2  en-gb           --/M      English_(Great_Britain) gmw/en               (en 2)
 2  en-us           --/M      English_(America)  gmw/en-US            (en 3)
 7  pl              --/M      polish-mbrola-1    mb/mb-pl1
 5  ../x            --/M      Strange            gmw/x
"""

SCRIPT = """\
#!/bin/sh
here=$(dirname "$0")
if [ "$1" = --voices ]; then cat "$here/table"; exit 0; fi
text=$(cat)
printf '%s|' "$@" >> "$here/calls"
printf '%s\\n' "$text" >> "$here/calls"
case $text in
  *Hang*) echo $$ > "$here/hung"; exec sleep 600;;
  *Crash*) echo $$ > "$here/hung"; kill -SEGV $PPID; exec sleep 600;;
  *Fail*) echo "a message nobody reads" >&2; exit 3;;
  *Nothing*) exit 0;;
  *Silent*) head -c 4096 "$here/wave" | head -c 44; head -c 9000 /dev/zero;;
  *Chatter*) echo "chatter on the error pipe" >&2; cat "$here/wave";;
  *) cat "$here/wave";;
esac
"""


def pipe_form(samples: array[int], channels: int = 1, rate_hz: int = 22_050) -> bytes:
    """A WAV as the command writes it to a pipe (its lengths as seen in 1.51)."""
    facts = struct.pack(
        "<IHHIIHH", 16, 1, channels, rate_hz, 2 * rate_hz, 2 * channels, 16
    )
    header = b"RIFF" + struct.pack("<I", 0x7FFFF024) + b"WAVEfmt " + facts
    return header + b"data" + struct.pack("<I", 0x7FFFF000) + samples.tobytes()


SINE = array("h", (round(9000 * math.sin(i / 5)) for i in range(22_050)))
"""One second."""


def install_engine(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Put the script on the path before everything else."""
    folder.mkdir()
    script = folder / "espeak-ng"
    script.write_text(SCRIPT)
    script.chmod(0o755)
    (folder / "table").write_text(TABLE)
    (folder / "wave").write_bytes(pipe_form(SINE))
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}/usr/bin{os.pathsep}/bin")
    return folder


@pytest.fixture
def engine(tmp_path, monkeypatch):
    return install_engine(tmp_path / "engine folder", monkeypatch)


@pytest.fixture
def voice(engine, tmp_path):
    made = open_voice(cache=tmp_path / "cache")
    yield made
    made.close()


def calls(engine) -> list[str]:
    path = engine / "calls"
    return path.read_text().splitlines() if path.exists() else []


def is_dead(pid: int) -> bool:
    """Gone, or ended and only not yet collected by whoever adopted it."""
    try:
        os.kill(pid, 0)
        stat = Path(f"/proc/{pid}/stat").read_text()
    except ProcessLookupError:
        return True
    except FileNotFoundError:
        # Gone in between, or a system without such files: ask again later.
        return False
    return stat.rpartition(")")[2].split()[0] == "Z"


class TestRendering:
    def test_a_sentence_becomes_a_file_the_player_can_load(self, voice, tmp_path):
        found = voice.render(["Last loop."], timeout_s=30)
        phrase = found["Last loop."]
        assert phrase.text == "Last loop."
        assert phrase.id == phrase_id("command", "en-gb", 150, "Last loop.")
        assert phrase.path == tmp_path / "cache" / f"{phrase.id}.wav"
        # One second of sine, and 20 ms of silence at each end.
        assert abs(phrase.length_ms - 1040) <= 2
        assert len(read_wav(phrase.path)) <= phrase.length_ms * 44.1

    def test_the_engine_is_called_with_a_list_and_the_text_on_its_input(
        self, engine, voice
    ):
        voice.render(["Left side first."], timeout_s=30)
        words = "--stdin|--stdout|-b|1|-v|en-gb|-s|150|"
        assert calls(engine) == [f"{words}Left side first."]

    def test_a_whole_batch_goes_through_one_child(self, voice, monkeypatch):
        started = []
        real = preparing.RenderChild

        def counted(*arguments):
            started.append(arguments)
            return real(*arguments)

        monkeypatch.setattr(preparing, "RenderChild", counted)
        texts = [f"Sentence {n}." for n in range(12)]
        assert list(voice.render(texts, timeout_s=60)) == texts
        assert len(started) == 1

    def test_a_kept_sentence_is_not_spoken_again_nor_a_child_started(
        self, engine, voice, tmp_path, monkeypatch
    ):
        first = voice.render(["One.", "Two.", "One."], timeout_s=30)
        assert len(calls(engine)) == 2
        monkeypatch.setattr(preparing, "RenderChild", None)
        later = open_voice(cache=tmp_path / "cache")
        assert later.render(["Two.", "One."], timeout_s=30) == first
        later.close()
        assert len(calls(engine)) == 2

    def test_another_rate_or_language_is_another_sentence(self, engine, tmp_path):
        for language, rate_wpm in (("en-gb", 150), ("en-gb", 170), ("de", 150)):
            voice = open_voice(language, rate_wpm=rate_wpm, cache=tmp_path / "cache")
            assert voice.render(["One."], timeout_s=30)
            voice.close()
        assert [call.split("|")[5:8:2] for call in calls(engine)] == [
            ["en-gb", "150"],
            ["en-gb", "170"],
            ["de", "150"],
        ]

    @pytest.mark.parametrize("damage", [b"", b"RIFF", None])
    def test_a_broken_kept_sentence_is_spoken_anew(self, engine, voice, damage):
        path = voice.render(["One."], timeout_s=30)["One."].path
        whole = path.read_bytes()
        path.write_bytes(whole[:-100] if damage is None else damage)
        assert voice.render(["One."], timeout_s=30)["One."].path == path
        assert path.read_bytes() == whole
        assert len(calls(engine)) == 2

    def test_what_the_engine_prints_beside_its_sound_harms_nothing(self, voice, capfd):
        assert len(voice.render(["Chatter one.", "Two."], timeout_s=30)) == 2
        assert capfd.readouterr() == ("", "")

    def test_a_cache_that_cannot_be_written_leaves_sentences_out(self, voice, tmp_path):
        (tmp_path / "cache").rmdir()
        (tmp_path / "cache").write_text("a file in the place of the folder")
        assert voice.render(["One."], timeout_s=30) == {}
        assert "cannot be saved" in voice.status.detail


class TestBackground:
    def test_sentences_become_ready_in_their_order_without_waiting(self, voice):
        assert voice.ready() == {}
        voice.start(["One.", "Two."])
        voice.start(["Three."])
        until(lambda: len(voice.ready()) == 3)
        assert list(voice.ready()) == ["One.", "Two.", "Three."]

    def test_what_is_ready_is_a_copy(self, voice):
        voice.render(["One."], timeout_s=30)
        voice.ready().clear()
        assert list(voice.ready()) == ["One."]

    def test_closing_ends_the_child_and_the_engine_it_runs(self, engine, voice):
        voice.start(["One.", "Hang here.", "Two."])
        pid = int(until(lambda: _text(engine / "hung")))
        assert not is_dead(pid)
        voice.close()
        until(lambda: is_dead(pid))
        assert list(voice.ready()) == ["One."]

    def test_after_closing_nothing_is_prepared_and_nothing_raised(self, voice):
        voice.close()
        voice.close()
        voice.start(["One."])
        assert voice.render(["One."], timeout_s=30) == {}
        assert voice.ready() == {}


def _text(path) -> str:
    return path.read_text().strip() if path.exists() else ""


class TestFailures:
    def test_a_text_the_engine_fails_at_is_left_out_alone(self, voice):
        found = voice.render(["One.", "Fail.", "Nothing.", "Two."], timeout_s=30)
        assert list(found) == ["One.", "Two."]
        detail = voice.status.detail
        assert "2 sentences are left out: the engine ended with 3." in detail

    def test_silence_is_a_failure_not_a_sound(self, voice):
        assert voice.render(["Silent."], timeout_s=30) == {}
        assert "1 sentence is left out: the engine gave silence." in voice.status.detail

    def test_a_text_that_crashes_the_child_costs_only_itself(self, engine, voice):
        found = voice.render(["One.", "Crash.", "Two.", "Three."], timeout_s=60)
        assert list(found) == ["One.", "Two.", "Three."]
        assert "1 sentence is left out: the engine stopped" in voice.status.detail
        until(lambda: is_dead(int(_text(engine / "hung"))))

    def test_children_are_not_started_without_end(self, engine, voice):
        texts = [f"Crash {n}." for n in range(9)]
        assert voice.render(texts, timeout_s=60) == {}
        assert len(calls(engine)) == preparing.LIVES
        assert "9 sentences are left out" in voice.status.detail

    def test_a_text_that_hangs_is_given_up_and_the_next_is_spoken(
        self, engine, tmp_path, monkeypatch
    ):
        monkeypatch.setattr(preparing, "PHRASE_LIMIT_MS", 2_000)
        voice = open_voice(cache=tmp_path / "cache")
        found = voice.render(["Hang.", "Two."], timeout_s=60)
        voice.close()
        assert list(found) == ["Two."]
        assert is_dead(int(_text(engine / "hung")))

    def test_a_batch_that_takes_too_long_gives_what_is_ready(
        self, engine, voice, monkeypatch
    ):
        monkeypatch.setattr(preparing, "PHRASE_LIMIT_MS", 600_000)
        voice.render(["One."], timeout_s=30)
        found = voice.render(["One.", "Hang.", "Two."], timeout_s=2.0)
        assert list(found) == ["One."]
        # A later batch is not held up by the one given up.
        assert list(voice.render(["Three."], timeout_s=30)) == ["Three."]

    def test_nothing_is_left_running_when_the_program_is_killed(self, engine, tmp_path):
        """The child ends with its input, and takes a hanging engine with it."""
        lines = (
            "import sys, pathlib, time",
            "from whistlestop.sound.voice import open_voice, preparing",
            "preparing.PHRASE_LIMIT_MS = 600_000",
            "open_voice(cache=pathlib.Path(sys.argv[1])).start(['Hang.'])",
            "time.sleep(600)",
        )
        words = [sys.executable, "-P", "-c", "\n".join(lines), str(tmp_path / "cache")]
        program = subprocess.Popen(words, env=helper_environment(os.environ, None))
        pid = int(until(lambda: _text(engine / "hung")))
        program.send_signal(signal.SIGKILL)
        program.wait()
        until(lambda: is_dead(pid))

    @pytest.mark.parametrize(("leads", "code"), [(True, -signal.SIGKILL), (False, 5)])
    def test_a_library_that_never_comes_back_ends_its_process(self, leads, code):
        """Nothing in the process can stop a call into C; the watch ends it whole."""
        lines = (
            "import time",
            "from whistlestop.sound.voice.render import _Watch",
            "watch = _Watch(0.2)",
            "with watch: pass",
            "time.sleep(0.6)  # nothing is being spoken: not a hang",
            "print('alive', flush=True)",
            "with watch: time.sleep(600)",
        )
        done = subprocess.run(
            [sys.executable, "-P", "-c", "\n".join(lines)],
            env=helper_environment(os.environ, None),
            capture_output=True,
            check=False,
            start_new_session=leads,
            timeout=60,
        )
        assert done.stdout == b"alive\n"
        assert done.returncode == code


def test_the_engine_is_told_what_it_needs_of_the_environment_and_no_more(
    engine, tmp_path, monkeypatch
):
    """Both where it lists its voices and where it speaks."""
    script = engine / "espeak-ng"
    script.write_text(SCRIPT.replace("\n", '\nenv >> "$(dirname "$0")/env"\n', 1))
    monkeypatch.setenv("API_TOKEN", "secret")
    monkeypatch.setenv("ESPEAK_DATA_PATH", "/nowhere")
    voice = open_voice(cache=tmp_path / "cache")
    try:
        assert voice.render(["One."], timeout_s=30)
    finally:
        voice.close()
    lines = (engine / "env").read_text().splitlines()
    assert lines.count("ESPEAK_DATA_PATH=/nowhere") == 2
    names = {line.partition("=")[0] for line in lines}
    assert not names & {"API_TOKEN", "PYTHONPATH", "XDG_RUNTIME_DIR"}


class TestHostileTexts:
    @pytest.mark.parametrize(
        "text",
        [
            "--help",
            "-w out.wav",
            "; touch owned",
            "$(touch owned) `touch owned`",
            "a | touch owned & 'quotes\" >owned",
            "<audio src='/etc/passwd'/>",
            "%s%n \\n {0}",
            "naïve ½ squat – 你好 🙂",
            "x" * TEXT_LIMIT,
        ],
    )
    def test_a_text_is_only_ever_text(self, engine, voice, tmp_path, text, monkeypatch):
        """It reaches the engine's input as it is, and no argument nor any shell."""
        monkeypatch.chdir(tmp_path)
        before = sorted(path.name for path in tmp_path.iterdir())
        assert list(voice.render([text], timeout_s=30)) == [text]
        assert calls(engine) == [f"--stdin|--stdout|-b|1|-v|en-gb|-s|150|{text}"]
        assert sorted(path.name for path in tmp_path.iterdir()) == before

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("Two\nlines", "U+000A"),
            ("\x01+50S fast", "U+0001"),
            ("\x1b[2J", "U+001B"),
            ("nul\0", "U+0000"),
            ("turned \u202e round", "U+202E"),
            ("half \ud800", "U+D800"),
            ("x" * (TEXT_LIMIT + 1), "at most 120 characters, this has 121"),
            ("", "nothing to say"),
            ("   ", "nothing to say"),
            ("...!?", "nothing to say"),
        ],
    )
    def test_some_texts_are_refused_before_any_engine(self, engine, voice, text, words):
        assert list(voice.render([text, "One."], timeout_s=30)) == ["One."]
        assert len(calls(engine)) == 1
        assert words in voice.status.detail

    def test_brackets_that_would_start_phonemes_are_not_spoken(self, engine, voice):
        assert voice.render(["Say [[h@'loU]] now"], timeout_s=30)
        assert calls(engine)[0].endswith("|Say   h@'loU   now")


class TestProtocol:
    """The child on its own, as a program."""

    def exchange(self, lines: list[bytes], *arguments: str) -> tuple[int, list, bytes]:
        words = [sys.executable, "-P", "-m", "whistlestop.sound.voice.render"]
        done = subprocess.run(
            [*words, *arguments],
            input=b"".join(line + b"\n" for line in lines),
            env=helper_environment(os.environ, None),
            capture_output=True,
            check=False,
            timeout=60,
        )
        sentences = done.stdout.splitlines()
        return done.returncode, [json.loads(line) for line in sentences], done.stderr

    def test_each_line_is_answered_in_order_and_the_end_is_an_end(
        self, engine, tmp_path
    ):
        path = tmp_path / "say-000000000001.wav"
        good = json.dumps({"text": "One.", "path": str(path)}).encode()
        lost = json.dumps({"text": "One.", "path": str(tmp_path / "no" / "x.wav")})
        bad = [b"", b"{", b"[]", b'{"text": 1, "path": "x"}', b"\xff\xfe", b"[" * 9999]
        where = str(engine / "espeak-ng")
        code, sentences, errors = self.exchange(
            [good, *bad, lost.encode(), good], "command", where, "en-gb", "150", "9000"
        )
        assert code == 0
        assert errors == b""
        assert sentences[0] == sentences[-1]
        assert sentences[0]["path"] == str(path)
        assert abs(sentences[0]["length_ms"] - 1040) <= 2
        assert len(sentences) == len(bad) + 3
        assert all(set(answer) == {"error"} for answer in sentences[1:-1])

    def test_an_engine_that_is_missing_is_an_answer(self, tmp_path):
        line = json.dumps({"text": "One.", "path": str(tmp_path / "x.wav")}).encode()
        for kind in ("command", "library"):
            where = str(tmp_path / "nowhere")
            code, text, _ = self.exchange([line], kind, where, "en-gb", "150", "9000")
            assert code == 0
            assert list(text[0]) == ["error"]

    def test_wrong_arguments_are_told(self):
        for arguments in ([], ["command", "x", "en-gb", "fast", "1"]):
            words = [sys.executable, "-P", "-m", "whistlestop.sound.voice.render"]
            done = subprocess.run(
                [*words, *arguments],
                env=helper_environment(os.environ, None),
                capture_output=True,
                check=False,
                stdin=subprocess.DEVNULL,
                timeout=60,
            )
            assert done.returncode == 2
            assert done.stderr.startswith(b"usage: ")

    def test_a_library_that_does_not_load_is_told_and_its_package_not_imported(
        self, tmp_path, monkeypatch
    ):
        package = tmp_path / "site" / "espeakng_loader"
        data = package / "espeak-ng-data" / "lang" / "gmw"
        data.mkdir(parents=True)
        (package / "__init__.py").write_text("raise RuntimeError('never imported')")
        (package / "libespeak-ng.so").write_bytes(b"\x7fELF and nothing more")
        (data / "en").write_text("name English\nlanguage en-gb 2\nlanguage en 2\n")
        monkeypatch.syspath_prepend(str(tmp_path / "site"))
        monkeypatch.setenv("PATH", str(tmp_path))
        voice = open_voice(cache=tmp_path / "cache")
        assert voice.status.engine == "library"
        assert voice.languages == ("en-gb",)
        assert voice.render(["One."], timeout_s=60) == {}
        assert "library does not load" in voice.status.detail
        voice.close()
