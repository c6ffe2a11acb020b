"""Speaks one text with an engine: the child's side, and nowhere else imported.

Owns how each engine is called. Knows nothing of shaping, files and protocol; a
text that hangs or crashes here takes this process with it, which is the plan.
"""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
from array import array
from collections.abc import Callable
from pathlib import Path
from typing import Final

from whistlestop.sound.surroundings import engine_environment
from whistlestop.sound.voice.engines import DATA, library_file

Speaker = Callable[[str], "tuple[int, array[int]]"]
"""Text to rate in Hz and raw mono samples; ValueError if it cannot be spoken."""

# Values of the library's header speak_lib.h, version 1.52.
_SYNCHRONOUS: Final = 2
_DO_NOT_EXIT: Final = 0x8000
_RATE: Final = 1
_BY_CHARACTER: Final = 1
_UTF8: Final = 1
"""Neither markup (0x10) nor phonemes (0x100): a text is only ever text."""


def command_speaker(
    command: str, language: str, rate_wpm: int, limit_s: float
) -> Speaker:
    """Speak by running the command once a text; subprocess.TimeoutExpired as raised."""
    # Text goes in by the pipe: it can be no option, and shows in no process list.
    words = [command, "--stdin", "--stdout", "-b", "1", "-v", language]
    words += ["-s", str(rate_wpm)]

    def speak(text: str) -> tuple[int, array[int]]:
        try:
            answer = subprocess.run(
                words,
                input=text.encode(),
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=engine_environment(os.environ),
                timeout=limit_s,
                check=False,
            )
        except OSError as problem:
            raise ValueError(f"the engine does not start: {problem}") from problem
        if answer.returncode != 0:
            raise ValueError(f"the engine ended with {answer.returncode}")
        return pipe_wav(answer.stdout)

    return speak


def pipe_wav(data: bytes) -> tuple[int, array[int]]:
    """Read a WAV whose lengths mean nothing: all after the header is sound.

    On a pipe the engine cannot go back to fill them in. ValueError if it is not
    mono, 16 bit.
    """
    if data[:4] != b"RIFF" or data[8:16] != b"WAVEfmt ":
        raise ValueError("the engine gave no WAV")
    begin = data.find(b"data", 20) + 8
    if not 44 <= begin <= len(data):
        raise ValueError("the engine gave a WAV without sound")
    channels, bits = data[22] | data[23] << 8, data[34] | data[35] << 8
    if (channels, bits) != (1, 16):
        raise ValueError(f"the engine gave {channels} channel(s) of {bits} bit")
    return int.from_bytes(data[24:28], "little"), _samples(data[begin:])


def _samples(data: bytes) -> array[int]:
    samples = array("h")
    samples.frombytes(data[: len(data) // 2 * 2])
    if sys.byteorder == "big":
        samples.byteswap()
    return samples


class _Properties(ctypes.Structure):
    """What the library's espeak_VOICE asks for."""

    _fields_ = (
        ("name", ctypes.c_char_p),
        ("languages", ctypes.c_char_p),
        ("identifier", ctypes.c_char_p),
        ("gender", ctypes.c_ubyte),
        ("age", ctypes.c_ubyte),
        ("variant", ctypes.c_ubyte),
        ("reserved", ctypes.c_ubyte),
        ("score", ctypes.c_int),
        ("spare", ctypes.c_void_p),
    )


def library_speaker(folder: Path, language: str, rate_wpm: int) -> Speaker:
    """Speak through the shared library in `folder`, on one thread only.

    It changes the current folder. ValueError if the library cannot be used.
    """
    path = library_file(folder)
    if path is None:
        raise ValueError("the engine's library is missing")
    try:
        library = ctypes.CDLL(str(path.absolute()))
    except OSError as problem:
        raise ValueError(f"the engine's library does not load: {problem}") from problem
    # From within, because the library cuts a long path to 160 bytes (seen).
    os.chdir(folder / DATA)
    rate_hz = library.espeak_Initialize(_SYNCHRONOUS, 0, b".", _DO_NOT_EXIT)
    if rate_hz <= 0:
        raise ValueError("the engine's data does not load")
    # By properties, because by name the library does not know its own "en-gb".
    voice = _Properties(languages=language.encode())
    if library.espeak_SetVoiceByProperties(ctypes.byref(voice)) != 0:
        raise ValueError(f"the engine has no voice for {language}")
    library.espeak_SetParameter(_RATE, rate_wpm, 0)
    return _library_speak(library, int(rate_hz))


def _library_speak(library: ctypes.CDLL, rate_hz: int) -> Speaker:
    heard = bytearray()

    def hear(samples: int | None, count: int, _events: int | None) -> int:
        if samples and count > 0:
            heard.extend(ctypes.string_at(samples, 2 * count))
        return 0

    pointer, whole = ctypes.c_void_p, ctypes.c_int
    callback = ctypes.CFUNCTYPE(whole, pointer, whole, pointer)(hear)
    library.espeak_SetSynthCallback(callback)
    synth = library.espeak_Synth
    number = ctypes.c_uint
    synth.argtypes = (
        *(ctypes.c_char_p, ctypes.c_size_t, number, whole, number, number),
        *(pointer, pointer),
    )

    def speak(text: str) -> tuple[int, array[int]]:
        heard.clear()
        encoded = text.encode() + b"\0"
        code = synth(encoded, len(encoded), 0, _BY_CHARACTER, 0, _UTF8, None, None)
        library.espeak_Synchronize()
        if code != 0:
            raise ValueError(f"the engine answered {code}")
        samples = array("h")
        samples.frombytes(bytes(heard))
        return rate_hz, samples

    # The library keeps only an address of it: it must live as long as `speak`.
    speak.__dict__["callback"] = callback
    return speak
