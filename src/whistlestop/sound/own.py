"""A user's own WAV files in place of the tones that ship, after a look at each."""

from __future__ import annotations

from array import array
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from whistlestop.domain.text import shown
from whistlestop.sound.cues import PACE
from whistlestop.sound.synth import RATE_HZ, read_wav

LONGEST_MS: Final = 1_500
LONGEST_COUNT_MS: Final = 900
"""The next count comes a second later."""
LONGEST_SOFT_MS: Final = 450
"""Soft tones follow one another closely, and words come between them."""
QUIETEST: Final = 1_000
MAX_BYTES: Final = 400_000


@dataclass(frozen=True, slots=True)
class OwnSounds:
    """The files that may replace tones, by name, and what is wrong with others."""

    files: dict[str, Path]
    problems: tuple[str, ...]


def find_own(folder: Path, names: Collection[str]) -> OwnSounds:
    """Look through a folder for `<name>.wav` files that can be used.

    Each must be a mono 16-bit WAV at 44.1 kHz, short enough for its tone, loud
    enough to be heard, and named after a tone. A folder that is not there holds
    none.
    """
    files: dict[str, Path] = {}
    problems: list[str] = []
    try:
        found = sorted(folder.glob("*.wav"))
    except OSError:
        found = []
    for path in found[:100]:
        wrong = _judge(path, names)
        if wrong:
            problems.append(f"sounds/{shown(path.name, 60)}: {wrong}")
        else:
            files[path.stem] = path
    return OwnSounds(files, tuple(problems))


def _judge(path: Path, names: Collection[str]) -> str:
    if path.stem not in names:
        return f"no tone has this name; expected one of {', '.join(sorted(names))}"
    try:
        if not path.is_file() or path.stat().st_size > MAX_BYTES:
            return "it is not a regular file of at most 400 kB"
        samples = read_wav(path)
    except OSError:
        return "the file cannot be read"
    except ValueError as error:
        return f"{error}"
    return _listen(samples, longest_ms(path.stem))


def longest_ms(name: str) -> int:
    """How long a tone of this name may be, in ms, without running into others."""
    if name in PACE:
        return LONGEST_SOFT_MS
    return LONGEST_COUNT_MS if name == "count" else LONGEST_MS


def _listen(samples: array[int], longest_ms: int) -> str:
    if len(samples) * 1000 > longest_ms * RATE_HZ:
        return f"it is too long; expected at most {longest_ms / 1000:g} s"
    if max(abs(sample) for sample in samples) < QUIETEST:
        return "it is too quiet to be heard"
    return ""
