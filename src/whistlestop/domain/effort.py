"""Effort felt, 0 to 10 in half points, and the session load that follows from it.

The whole numbers are those of session-RPE practice (Foster et al. 2001, J Strength
Cond Res 15:109, read second-hand); half points and words are our own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from whistlestop.dataclass import dataclass

WORDS: Final = (
    "idle",
    "hardly anything",
    "light",
    "steady",
    "working",
    "hard work",
    "tough",
    "digging deep",
    "near the edge",
    "barely held",
    "all I had",
)


@dataclass(frozen=True, slots=True, order=True)
class Effort:
    """An effort in half points: `halves` runs from 0 to 20."""

    halves: int

    def __post_init__(self) -> None:
        if not 0 <= self.halves <= 20:
            raise ValueError("effort runs from 0 to 10 in half points")

    @classmethod
    def parse(cls, text: str) -> Effort:
        """Read `7`, `6.5` or `6,5`.

        Raises:
            ValueError: It is no half point from 0 to 10.
        """
        whole, dot, half = text.strip().replace(",", ".").partition(".")
        if not (whole.isascii() and whole.isdigit() and len(whole) <= 2):
            raise ValueError("expected an effort from 0 to 10, such as 6 or 6.5")
        if dot and half not in {"0", "5"}:
            raise ValueError("expected a whole or half point, such as 6 or 6.5")
        return cls(int(whole) * 2 + (half == "5"))

    @property
    def number(self) -> int | float:
        """The effort as a number, whole where it is whole."""
        return self.halves // 2 if self.halves % 2 == 0 else self.halves / 2

    @property
    def word(self) -> str:
        """Our own label of the whole point at or below."""
        return WORDS[self.halves // 2]

    def __str__(self) -> str:
        return f"{self.number}"


def session_load_au(effort: Effort, session_ms: int) -> float:
    """Session load in arbitrary units: effort times minutes.

    Args:
        effort: Effort of the whole session.
        session_ms: Length with rests and breaks, without pauses, in ms.

    Source: Foster et al. 2001, J Strength Cond Res 15:109 (method).
    """
    return effort.halves / 2 * session_ms / 60_000


def derived_effort(
    efforts: Sequence[Effort | None], work_ms: Sequence[int]
) -> float | None:
    """Stand in for a session effort nobody entered: the mean of loop efforts.

    Weighted by the work done in each loop, in ms: a loop cut short weighs less, and
    a break, which only some loops have, weighs nothing. None when any loop is
    missing. Always shown as derived. Reasoning after Foster et al. 2021, Int J
    Sports Physiol Perform 16:612; common practice, no formula there.
    """
    if not efforts or any(effort is None for effort in efforts):
        return None
    total = sum(work_ms)
    if total <= 0:
        return None
    known = [effort.halves / 2 for effort in efforts if effort is not None]
    return sum(e * ms for e, ms in zip(known, work_ms, strict=True)) / total
