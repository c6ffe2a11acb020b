"""A user's own tones: which files may stand in, and what is said of the others."""

from __future__ import annotations

import wave
from array import array

import pytest

from whistlestop.sound.cues import ALL_TONES
from whistlestop.sound.own import find_own, longest_ms
from whistlestop.sound.synth import RATE_HZ, write_wav


def put(folder, name, *, ms=300, peak=8_000):
    frames = RATE_HZ * ms // 1000
    samples = array("h", (peak if i // 50 % 2 else -peak for i in range(frames)))
    write_wav(folder / f"{name}.wav", samples)


def only_problem(folder):
    own = find_own(folder, ALL_TONES)
    assert own.files == {}
    assert len(own.problems) == 1
    return own.problems[0]


def test_a_good_file_stands_in_for_its_tone(tmp_path):
    put(tmp_path, "go")
    put(tmp_path, "beat", ms=100)
    own = find_own(tmp_path, ALL_TONES)
    assert own.files == {n: tmp_path / f"{n}.wav" for n in ("beat", "go")}
    assert own.problems == ()


def test_a_folder_that_is_not_there_holds_none(tmp_path):
    own = find_own(tmp_path / "none", ALL_TONES)
    assert (own.files, own.problems) == ({}, ())


def test_a_folder_that_is_a_file_holds_none(tmp_path):
    (tmp_path / "sounds").touch()
    own = find_own(tmp_path / "sounds", ALL_TONES)
    assert (own.files, own.problems) == ({}, ())


def test_other_files_are_left_alone(tmp_path):
    (tmp_path / "notes.txt").write_text("go")
    assert find_own(tmp_path, ALL_TONES).problems == ()


def test_a_name_no_tone_has_is_told_with_those_there_are(tmp_path):
    put(tmp_path, "gong")
    told = only_problem(tmp_path)
    assert told.startswith("sounds/gong.wav: no tone has this name; expected one of ")
    assert all(name in told for name in ALL_TONES)


def test_a_hostile_name_is_harmless_when_told(tmp_path):
    put(tmp_path, "\x1b]0;x\x07")
    assert only_problem(tmp_path).startswith(r"sounds/\x1b]0;x\x07.wav: no tone")


def test_what_is_no_wav_is_refused(tmp_path):
    (tmp_path / "go.wav").write_bytes(b"hello")
    assert "go.wav is not a WAV file" in only_problem(tmp_path)


def test_a_file_cut_short_is_refused(tmp_path):
    put(tmp_path, "go")
    whole = (tmp_path / "go.wav").read_bytes()
    (tmp_path / "go.wav").write_bytes(whole[:30])
    assert "not a WAV file" in only_problem(tmp_path)


@pytest.mark.parametrize(
    ("channels", "width", "rate", "told"),
    [
        (2, 2, RATE_HZ, "2 channel(s), 16 bit, 44100 Hz"),
        (1, 1, RATE_HZ, "1 channel(s), 8 bit, 44100 Hz"),
        (1, 2, 22_050, "1 channel(s), 16 bit, 22050 Hz"),
    ],
)
def test_another_form_is_told_beside_the_one_needed(
    tmp_path, channels, width, rate, told
):
    with wave.open(str(tmp_path / "go.wav"), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        file.writeframes(b"\x40" * 2_000)
    problem = only_problem(tmp_path)
    assert told in problem
    assert "1 channel, 16 bit, 44100 Hz is needed" in problem


def test_an_empty_one_is_refused(tmp_path):
    write_wav(tmp_path / "go.wav", array("h"))
    assert "holds no sound" in only_problem(tmp_path)


@pytest.mark.parametrize(
    ("name", "most_ms", "told"),
    [("go", 1_500, "1.5 s"), ("count", 900, "0.9 s"), ("beat", 450, "0.45 s")],
)
def test_one_that_would_run_into_the_next_is_refused(tmp_path, name, most_ms, told):
    assert longest_ms(name) == most_ms
    put(tmp_path, name, ms=most_ms)
    assert list(find_own(tmp_path, ALL_TONES).files) == [name]
    put(tmp_path, name, ms=most_ms + 1)
    assert only_problem(tmp_path).endswith(f"it is too long; expected at most {told}")


def test_one_nobody_would_hear_is_refused(tmp_path):
    put(tmp_path, "go", peak=999)
    assert only_problem(tmp_path).endswith("it is too quiet to be heard")
    put(tmp_path, "go", peak=1_000)
    assert find_own(tmp_path, ALL_TONES).problems == ()


def test_a_huge_file_is_not_even_read(tmp_path):
    with (tmp_path / "go.wav").open("wb") as file:
        file.truncate(400_001)
    assert only_problem(tmp_path).endswith("not a regular file of at most 400 kB")


def test_a_folder_of_that_name_is_refused(tmp_path):
    (tmp_path / "go.wav").mkdir()
    assert only_problem(tmp_path).endswith("not a regular file of at most 400 kB")


def test_a_link_that_leads_nowhere_is_refused(tmp_path):
    (tmp_path / "go.wav").symlink_to(tmp_path / "gone")
    assert only_problem(tmp_path).endswith("not a regular file of at most 400 kB")


def test_a_thousand_files_are_not_all_looked_at(tmp_path):
    for number in range(150):
        (tmp_path / f"x{number:03}.wav").touch()
    assert len(find_own(tmp_path, ALL_TONES).problems) == 100
