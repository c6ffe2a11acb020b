"""Which engine and language are chosen, what is told of it, and the pipe's form."""

from __future__ import annotations

import pytest
from tests.sound.test_voice_fake_engine import (
    SINE,
    TABLE,
    calls,
    install_engine,
    pipe_form,
)

from whistlestop.sound.voice import open_voice
from whistlestop.sound.voice.engines import (
    closest,
    languages_of_data,
    languages_of_table,
)
from whistlestop.sound.voice.speaking import pipe_wav


@pytest.fixture
def engine(tmp_path, monkeypatch):
    return install_engine(tmp_path / "engine folder", monkeypatch)


class TestPipeWav:
    def test_everything_after_the_header_is_sound(self):
        rate_hz, samples = pipe_wav(pipe_form(SINE))
        assert rate_hz == 22_050
        assert samples == SINE

    def test_half_a_sample_at_the_end_is_dropped(self):
        assert pipe_wav(pipe_form(SINE) + b"\1")[1] == SINE

    @pytest.mark.parametrize(
        "data",
        [
            b"",
            b"RIFF",
            b"not a sound" * 9,
            pipe_form(SINE)[:40],
            pipe_form(SINE)[:36] + b"LIST" * 40,
            pipe_form(SINE, channels=2),
        ],
    )
    def test_anything_else_is_refused_in_text(self, data):
        with pytest.raises(ValueError, match="the engine gave"):
            pipe_wav(data)


class TestStatus:
    def test_the_command_comes_first(self, engine, tmp_path):
        voice = open_voice(cache=tmp_path / "cache")
        assert voice.status.engine == "command"
        assert voice.status.language == "en-gb"
        assert voice.status.detail == "The voice is the program espeak-ng, in en-gb."
        # Voices of another engine's data and strange names are not offered.
        assert voice.languages == ("de", "en-gb", "en-us")

    @pytest.mark.parametrize(
        ("wanted", "spoken", "told"),
        [
            ("en-us", "en-us", False),
            ("EN_US", "en-us", False),
            ("de", "de", False),
            ("de-at", "de", True),
            ("tlh", "en-gb", True),
            ("-w/etc/x", "en-gb", True),
            ("", "en-gb", True),
        ],
    )
    def test_an_unknown_language_falls_back_and_says_so(
        self, engine, tmp_path, wanted, spoken, told
    ):
        status = open_voice(wanted, cache=tmp_path / "cache").status
        assert status.language == spoken
        assert ("There is no voice for" in status.detail) is told

    def test_without_an_engine_it_is_told_once_how_to_get_one(
        self, tmp_path, monkeypatch
    ):
        monkeypatch.setenv("PATH", str(tmp_path))
        monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
        voice = open_voice(cache=tmp_path / "cache")
        assert voice.status.engine == "none"
        assert "install the program espeak-ng" in voice.status.detail
        assert "extra 'voice'" in voice.status.detail
        assert voice.render(["One."], timeout_s=30) == {}
        voice.start(["One."])
        assert voice.ready() == {}
        assert voice.languages == ()
        voice.close()

    def test_a_command_without_voices_or_english_is_not_used(
        self, engine, tmp_path, monkeypatch
    ):
        monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
        for table in ("", "nonsense\n" * 5, TABLE.replace("en-", "xx-")):
            (engine / "table").write_text(table)
            assert open_voice(cache=tmp_path / "cache").status.engine == "none"

    def test_a_command_that_does_not_answer_is_not_waited_for(
        self, engine, tmp_path, monkeypatch
    ):
        monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
        monkeypatch.setattr("whistlestop.sound.voice.engines.LIST_LIMIT_S", 0.2)
        (engine / "espeak-ng").write_text("#!/bin/sh\nexec sleep 600\n")
        assert open_voice(cache=tmp_path / "cache").status.engine == "none"

    @pytest.mark.parametrize("choice", ["none", "loud", "library"])
    def test_a_setting_is_followed_or_its_fault_told(
        self, engine, tmp_path, monkeypatch, choice
    ):
        monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
        status = open_voice(cache=tmp_path / "cache", engine=choice).status
        assert status.engine == "none"
        expected = {
            "none": "switched off",
            "loud": "not one of auto",
            "library": "cannot use the package espeakng-loader",
        }
        assert expected[choice] in status.detail

    def test_a_cache_that_cannot_be_made_is_told(self, engine, tmp_path):
        (tmp_path / "file").write_text("")
        status = open_voice(cache=tmp_path / "file" / "cache").status
        assert status.engine == "none"
        assert "cannot be saved" in status.detail

    @pytest.mark.parametrize(("asked", "used"), [(5, "80"), (9999, "300")])
    def test_a_rate_beyond_the_range_is_brought_back(
        self, engine, tmp_path, asked, used
    ):
        voice = open_voice(rate_wpm=asked, cache=tmp_path / "cache")
        voice.render(["One."], timeout_s=30)
        voice.close()
        assert f"|-s|{used}|" in calls(engine)[0]


def test_languages_come_from_the_first_language_line_of_each_voice_file(tmp_path):
    """As the library's data has them: the later lines are fallbacks."""
    folder = tmp_path / "lang" / "gmw"
    folder.mkdir(parents=True)
    (folder / "en").write_text("name English\nlanguage en-gb  2\nlanguage en 2\n")
    (folder / "en-US").write_text("language en-US 2\nlanguage en 3\n")
    (folder / "broken").write_bytes(b"\xff\xfe\0")
    assert languages_of_data(tmp_path) == ("en-gb", "en-us")
    assert languages_of_data(tmp_path / "missing") == ()


def test_languages_of_a_table_that_is_none():
    assert languages_of_table("") == ()
    assert languages_of_table("Pty Language\nx\n 5 en-gb\n") == ()


def test_without_english_nothing_is_close():
    assert closest("fr", ("de", "pl")) is None
    assert closest("en-au", ("en-us", "en-gb")) == "en-gb"
