"""The voice: sentences spoken into WAV files before a session needs them.

The engine is eSpeak NG, licensed GPLv3: it is never vendored and never a core
dependency. Its command is run where the user has it, over a pipe; else its library,
through a package the user chose (extra `voice`), inside a child process only.
Knows nothing of circuits and sessions, and plays nothing.
"""

from __future__ import annotations

from pathlib import Path

from whistlestop.sound.voice.cache import PhraseCache
from whistlestop.sound.voice.engines import CHOICES, HINT, closest, find_engine
from whistlestop.sound.voice.phrases import Phrase, VoiceStatus
from whistlestop.sound.voice.preparing import Recipe, Voice

__all__ = ["CHOICES", "RATES_WPM", "Phrase", "Voice", "VoiceStatus", "open_voice"]

RATES_WPM = (80, 300)
"""Slowest and fastest speech, words a minute."""

_NAMES = {
    "command": "the program espeak-ng",
    "library": "the package espeakng-loader",
}


def open_voice(
    language: str = "en-gb",
    *,
    rate_wpm: int = 150,
    cache: Path,
    engine: str = "auto",
) -> Voice:
    """Find an engine and give a voice; never raises, and speaks nothing yet.

    An unknown language becomes its plain form or else English, and a rate beyond
    RATES_WPM is brought back to it; `engine` is one of CHOICES. What is wrong is in
    the voice's status, with how to get a voice where there is none. Takes as long as
    the command takes to list its voices: 20 ms where measured, never over 3 s. Close
    it before leaving.
    """
    if engine not in CHOICES:
        known = ", ".join(CHOICES)
        return _silent(f"The voice setting {engine!r} is not one of {known}.")
    if engine == "none":
        return _silent("The voice is switched off.")
    found = find_engine(engine)
    if found is None:
        missing = (
            "There is no voice on this computer."
            if engine == "auto"
            else (f"The voice cannot use {_NAMES[engine]} on this computer.")
        )
        return _silent(f"{missing} {HINT}")
    spoken = closest(language, found.languages)
    assert spoken is not None  # find_engine asks for English
    try:
        kept = PhraseCache(cache)
    except OSError as problem:
        reason = problem.strerror or "the disk refused"
        return _silent(f"Spoken sentences cannot be saved in {cache}: {reason}.")
    detail = f"The voice is {_NAMES[found.kind]}, in {spoken}."
    if spoken != language.strip().lower().replace("_", "-"):
        detail = (
            f"There is no voice for {language[:20]!r}; the nearest is used. {detail}"
        )
    slowest, fastest = RATES_WPM
    rate = min(fastest, max(slowest, rate_wpm))
    return Voice(
        VoiceStatus(found.kind, spoken, detail), Recipe(found, spoken, rate), kept
    )


def _silent(detail: str) -> Voice:
    return Voice(VoiceStatus("none", "", detail))
