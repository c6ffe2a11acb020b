"""The ten cues and the soft tones of pacing: names, meanings, and their notes.

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
class CueSound:
    """A named signal: its meaning in one sentence and its notes in order.

    A soft one lies about 12 dB under the others: it goes along with the work and
    must not be taken for an order.
    """

    name: str
    meaning: str
    tones: tuple[Tone, ...]
    soft: bool = False

    @property
    def length_ms(self) -> int:
        """Whole length in milliseconds, the last note's gap left out."""
        total_ms = sum(tone.ms + tone.gap_ms for tone in self.tones)
        return total_ms - self.tones[-1].gap_ms


# Distinguished by rhythm first and pitch contour second, never by loudness. Kept
# clear of three half-second pulses with a long gap, which is an evacuation
# signal (ISO 8201; timing from memory), and of medical bursts.
_ALL = (
    CueSound(
        "count",
        "One of the last three seconds before work begins.",
        (Tone(1000, 90),),
    ),
    CueSound("go", "Work begins now.", (Tone(1480, 520),)),
    CueSound(
        "switch",
        "Change to the next part of this station.",
        (Tone(800, 110), Tone(1250, 110)) * 3,
    ),
    CueSound(
        "ten",
        "Ten seconds of work are left.",
        (Tone(1319, 80, 70), Tone(1319, 80)),
    ),
    CueSound(
        "station_end",
        "Work at this station is over.",
        (Tone(659, 270, 90), Tone(659, 270)),
    ),
    CueSound(
        "loop_end",
        "The loop is over.",
        (Tone(1568, 200, 30), Tone(1175, 200, 30), Tone(784, 200)),
    ),
    CueSound(
        "session_end",
        "The session is over.",
        (
            Tone(784, 140, 30),
            Tone(988, 140, 30),
            Tone(1175, 140, 30),
            Tone(1568, 520),
        ),
    ),
    CueSound("pause", "The clock is paused.", (Tone(1175, 140, 30), Tone(587, 300))),
    CueSound(
        "resume",
        "The clock runs again now.",
        (Tone(622, 110, 60), Tone(622, 110, 60), Tone(1047, 260)),
    ),
    CueSound(
        "effort",
        "Say how hard the loop was.",
        (Tone(880, 130, 105), Tone(880, 130, 105), Tone(1760, 130)),
    ),
)

# Down falls from a long note to a short one and up rises from a short to a long;
# left and right likewise, and front is high where back is low. No two share a pitch,
# so that no echo of one is another.
_SOFT = (
    CueSound(
        "pace_down",
        "Tempo: down.",
        (Tone(988, 65, 15), Tone(622, 35)),
        soft=True,
    ),
    CueSound(
        "pace_hold",
        "Tempo: hold.",
        (Tone(831, 60),),
        soft=True,
    ),
    CueSound(
        "pace_up",
        "Tempo: up.",
        (Tone(740, 35, 15), Tone(1245, 65)),
        soft=True,
    ),
    CueSound("beat", "The beat of a drill.", (Tone(1568, 40),), soft=True),
    CueSound(
        "step_left",
        "Called step: to the left.",
        (Tone(1319, 180, 50), Tone(784, 90)),
        soft=True,
    ),
    CueSound(
        "step_right",
        "Called step: to the right.",
        (Tone(880, 90, 50), Tone(1397, 180)),
        soft=True,
    ),
    CueSound("step_front", "Called step: to the front.", (Tone(1976, 260),), soft=True),
    CueSound("step_back", "Called step: to the back.", (Tone(554, 380),), soft=True),
)

CUES: Mapping[str, CueSound] = MappingProxyType({cue.name: cue for cue in _ALL})
"""Every cue by name, in the order people meet them."""

PACE: Mapping[str, CueSound] = MappingProxyType({cue.name: cue for cue in _SOFT})
"""Every soft tone by name: tempo, beat, called steps."""

TONES: Mapping[str, CueSound] = MappingProxyType({**CUES, **PACE})
"""Everything that ships as a WAV file."""

ALL_TONES: tuple[str, ...] = tuple(TONES)
"""Every tone a user may replace, by name."""
