"""Tempo: lowering, pause, lifting, pause in seconds (3-1-1-0), a hold, or a flow.

The first figure is always the lowering, even where the movement starts with
the lift.
"""

from __future__ import annotations

import re
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import ParsedText

_FOUR: Final = re.compile(r"(\d{1,2}|X)-(\d{1,2}|X)-(\d{1,2}|X)-(\d{1,2}|X)", re.ASCII)
EXPECTED: Final = '"3-1-1-0" (X = as fast as controlled), "hold" or "flow"'


@dataclass(frozen=True, slots=True)
class Tempo:
    """A tempo as typed; `phases_s` is empty for hold, flow and any X."""

    typed: str
    phases_s: tuple[int, ...] = ()

    @property
    def repetition_ms(self) -> int | None:
        """Length of one repetition in ms; None where the tempo fixes none."""
        return sum(self.phases_s) * 1000 if self.phases_s else None

    def repetitions_in(self, ms: int) -> int | None:
        """Whole repetitions that fit in `ms`, or None where tempo fixes none."""
        length = self.repetition_ms
        return None if length is None else ms // length

    def __str__(self) -> str:
        return self.typed


def parse_tempo(text: str) -> Tempo:
    """Read a tempo as typed.

    Raises:
        ValueError: It is no tempo, or all four figures are 0.
    """
    trimmed = text.strip()
    if trimmed.lower() in {"hold", "flow", "x"}:
        lowered = trimmed.lower()
        return Tempo(lowered.upper() if lowered == "x" else lowered)
    match = _FOUR.fullmatch(trimmed.upper())
    if match is None:
        raise ValueError(f"expected {EXPECTED}")
    figures = match.groups()
    if "X" in figures:
        return Tempo(trimmed.upper())
    phases = tuple(int(figure) for figure in figures)
    if sum(phases) == 0:
        raise ValueError("expected a tempo with at least one second in it")
    return Tempo(trimmed, phases)


TEMPO: Final = ParsedText(parse_tempo)
