"""The ten cues: their names, what each one says, and the notes it is made of.

Owns the recipes only. Knows nothing of samples, devices, sessions or time of day.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Tone:
    """One note: fundamental in hertz, length and the silence after it in ms."""

    freq_hz: int
    ms: int
    gap_ms: int = 0


@dataclass(frozen=True)
class Cue:
    """A named signal: its meaning in one sentence and its notes in order."""

    name: str
    meaning: str
    tones: tuple[Tone, ...]

    @property
    def length_ms(self) -> int:
        """Whole length in milliseconds, the last note's gap left out."""
        total_ms = sum(tone.ms + tone.gap_ms for tone in self.tones)
        return total_ms - self.tones[-1].gap_ms


# Told apart by rhythm first and pitch contour second, never by loudness. Kept
# clear of three half-second pulses with a long gap, which is an evacuation
# signal (ISO 8201; timing from memory), and of medical bursts.
_ALL = (
    Cue(
        "count",
        "One of the last three seconds before work begins.",
        (Tone(1000, 90),),
    ),
    Cue("go", "Work begins now.", (Tone(1480, 520),)),
    Cue(
        "switch",
        "Change to the next part of this station.",
        (Tone(800, 110), Tone(1250, 110)) * 3,
    ),
    Cue(
        "ten",
        "Ten seconds of work are left.",
        (Tone(1319, 80, 70), Tone(1319, 80)),
    ),
    Cue(
        "station_end",
        "Work at this station is over.",
        (Tone(659, 270, 90), Tone(659, 270)),
    ),
    Cue(
        "loop_end",
        "The loop is over.",
        (Tone(1568, 200, 30), Tone(1175, 200, 30), Tone(784, 200)),
    ),
    Cue(
        "session_end",
        "The session is over.",
        (
            Tone(784, 140, 30),
            Tone(988, 140, 30),
            Tone(1175, 140, 30),
            Tone(1568, 520),
        ),
    ),
    Cue("pause", "The clock is paused.", (Tone(1175, 140, 30), Tone(587, 300))),
    Cue(
        "resume",
        "The clock is about to run again.",
        (Tone(622, 110, 60), Tone(622, 110, 60), Tone(1047, 260)),
    ),
    Cue(
        "effort",
        "Say how hard the loop was.",
        (Tone(880, 130, 105), Tone(880, 130, 105), Tone(1760, 130)),
    ),
)

CUES: Mapping[str, Cue] = MappingProxyType({cue.name: cue for cue in _ALL})
"""Every cue by name, in the order people meet them."""

ALL_TONES: tuple[str, ...] = tuple(CUES)
"""Every tone a user may replace, by name."""
