"""Caches spoken sentences as WAV files from one session to the next.

Owns the folder: names, whole writes, what is broken, what is removed. Knows nothing
of texts and engines, and touches no file but its own.
"""

from __future__ import annotations

import os
import re
import wave
from array import array
from collections.abc import Collection
from contextlib import suppress
from pathlib import Path
from typing import Final

from whistlestop.files import make_file, make_folder
from whistlestop.sound.synth import RATE_HZ, write_wav

LIMIT_BYTES: Final = 64 * 1024 * 1024
HEADER_BYTES: Final = 44
"""Of the WAV files written here: three chunks and nothing else."""
_ID: Final = re.compile(r"say-[0-9a-f]{12}")
_OURS: Final = re.compile(r"say-[0-9a-f]{12}\.wav|\.say-[0-9a-f]{12}\.\d+\.part")


def length_ms(frames: int) -> int:
    """Length of so many samples in ms, rounded up: a sentence ends before that."""
    return -(-frames * 1000 // RATE_HZ)


def write_whole(path: Path, samples: array[int]) -> None:
    """Write a WAV file so that it is there whole or not at all. OSError as raised."""
    part = path.with_name(f".{path.stem}.{os.getpid()}.part")
    try:
        # Also, wave prints beside its error where it cannot open a file.
        make_file(part)
        write_wav(part, samples)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _whole_length_ms(path: Path) -> int | None:
    """Measure a file written here, in ms; None if it is not whole or not ours."""
    with path.open("rb") as raw:
        size = os.fstat(raw.fileno()).st_size
        with wave.open(raw, "rb") as file:
            shape = (file.getnchannels(), file.getsampwidth(), file.getframerate())
            frames = file.getnframes()
            data = file.readframes(frames)
    whole = size == HEADER_BYTES + 2 * frames
    # After a power cut a file may have its length and nothing but zeros.
    if shape != (1, 2, RATE_HZ) or not whole or not data.strip(b"\0"):
        return None
    return length_ms(frames)


class PhraseCache:
    """The sentences cached in one folder."""

    def __init__(self, folder: Path, limit_bytes: int = LIMIT_BYTES) -> None:
        """Use the folder, made if missing. OSError if that cannot be."""
        self._folder = folder.absolute()
        self._limit_bytes = limit_bytes
        make_folder(folder)

    def path(self, phrase: str) -> Path:
        """Where a sentence lies, or is to lie. ValueError for an unsafe id."""
        if not _ID.fullmatch(phrase):
            raise ValueError(f"{phrase!r} is not the id of a sentence")
        return self._folder / f"{phrase}.wav"

    def length_ms(self, phrase: str) -> int | None:
        """Length of a cached sentence, and mark it as used now.

        None if it is not there, cut short, or otherwise not to be played.
        """
        path = self.path(phrase)
        try:
            found_ms = _whole_length_ms(path)
            if found_ms is not None:
                os.utime(path)
        except (OSError, EOFError, wave.Error):
            return None
        return found_ms

    def trim(self, keep: Collection[str] = ()) -> None:
        """Remove what was longest unused until the limit holds; ids in `keep` stay.

        Parts left by a process that died go first. What cannot be removed stays.
        """
        found: list[tuple[bool, int, int, Path]] = []
        with suppress(OSError), os.scandir(self._folder) as entries:
            for entry in entries:
                if _OURS.fullmatch(entry.name):
                    with suppress(OSError):
                        facts = entry.stat(follow_symlinks=False)
                        whole = not entry.name.startswith(".")
                        age = (whole, facts.st_mtime_ns)
                        found.append((*age, facts.st_size, Path(entry.path)))
        total = sum(size for _, _, size, _ in found)
        for _, _, size, path in sorted(found):
            if total <= self._limit_bytes:
                return
            if path.stem not in keep:
                with suppress(OSError):
                    path.unlink()
                    total -= size
