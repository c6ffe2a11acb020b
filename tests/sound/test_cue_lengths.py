"""What collides is judged by a table of lengths: it must say what the tones are."""

from __future__ import annotations

import wave
from pathlib import Path

import pytest

from whistlestop.domain.plan.cues import LENGTH_MS, CueName
from whistlestop.sound.cues import ALL_TONES, CUES, TONES

FOLDER = Path(__file__).resolve().parents[2] / "sounds"


def file_ms(name):
    with wave.open(str(FOLDER / f"{name}.wav"), "rb") as file:
        return file.getnframes() * 1000 / file.getframerate()


def test_the_table_names_the_ten_cues_and_no_other():
    assert {name.value for name in LENGTH_MS} == set(CUES) == {n.value for n in CueName}


@pytest.mark.parametrize("name", CueName)
def test_the_table_says_the_length_of_each_file(name):
    """To the millisecond, the file being cut to whole frames."""
    assert LENGTH_MS[name] == CUES[name.value].length_ms
    assert file_ms(name.value) == pytest.approx(LENGTH_MS[name], abs=1)


@pytest.mark.parametrize("name", ALL_TONES)
def test_each_recipe_says_the_length_of_its_file(name):
    assert file_ms(name) == pytest.approx(TONES[name].length_ms, abs=1)


def test_resume_says_that_the_clock_runs():
    """It sounds when the count-in is over, not when the key is pressed."""
    assert CUES["resume"].meaning == "The clock runs again now."
