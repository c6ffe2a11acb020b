"""Pacing by ear: the soft tones of a tempo, a metronome, and called steps.

Pure: a prescription and a length in, beats out. Times in ms from the start of
the part or drill. Called steps come from a seed, the same on every machine.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from whistlestop.domain.tempo import Tempo

DOWN: Final = "pace_down"
HOLD: Final = "pace_hold"
UP: Final = "pace_up"
BEAT: Final = "beat"
PHASE_TONES: Final = (DOWN, HOLD, UP, HOLD)

STEPS: Final = ("left", "right", "front", "back")
STEP_LEAST_MS: Final = 1_800
STEP_MOST_MS: Final = 3_200


@dataclass(frozen=True, slots=True, order=True)
class TempoBeat:
    """One soft tone, or one called direction."""

    at_ms: int
    tone: str


def tempo_beats(tempo: Tempo, part_ms: int) -> tuple[TempoBeat, ...]:
    """Lay a tempo over a part: a tone at the start of each phase that lasts.

    Only whole repetitions are paced: 3-1-1-0 over 40 s is 8 of them (arithmetic).
    A hold, a flow and any X have no beats.
    """
    repetition = tempo.repetition_ms
    if repetition is None:
        return ()
    beats: list[TempoBeat] = []
    for number in range(part_ms // repetition):
        at_ms = number * repetition
        for seconds, tone in zip(tempo.phases_s, PHASE_TONES, strict=True):
            if seconds:
                beats.append(TempoBeat(at_ms, tone))
            at_ms += seconds * 1000
    return tuple(beats)


def metronome_beats(
    per_minute: int, begin_ms: int, end_ms: int
) -> tuple[TempoBeat, ...]:
    """Beat steadily from `begin_ms` to before `end_ms`; each time rounded by itself.

    Raises:
        ValueError: Not 20 to 240 beats a minute.
    """
    if not 20 <= per_minute <= 240:
        raise ValueError("a metronome beats 20 to 240 times a minute")
    beats = []
    number = 0
    while (at_ms := begin_ms + number * 60_000 // per_minute) < end_ms:
        beats.append(TempoBeat(at_ms, BEAT))
        number += 1
    return tuple(beats)


def called_steps(
    seed: int, visit: int, begin_ms: int, end_ms: int
) -> tuple[TempoBeat, ...]:
    """Call directions at random intervals, never the same twice running.

    Args:
        seed: From the journal; the same seed and visit give the same calls.
        visit: Which visit of the session this is.
        begin_ms: The first call comes 1.8 to 3.2 s after this.
        end_ms: No call at or after this.
    """
    draws = _draws(seed, visit)
    beats: list[TempoBeat] = []
    at_ms, last = begin_ms, ""
    while True:
        at_ms += STEP_LEAST_MS + next(draws) % (STEP_MOST_MS - STEP_LEAST_MS + 1)
        if at_ms >= end_ms:
            return tuple(beats)
        others = [step for step in STEPS if step != last]
        last = others[next(draws) % len(others)]
        beats.append(TempoBeat(at_ms, f"step_{last}"))


def _draws(seed: int, visit: int) -> Iterator[int]:
    """Whole numbers drawn from a hash: no generator's version can change them."""
    block = 0
    while True:
        digest = hashlib.sha256(f"{seed}.{visit}.{block}".encode()).digest()
        for place in range(0, len(digest), 4):
            yield int.from_bytes(digest[place : place + 4], "big")
        block += 1
