"""Durations as people type them, and as they are shown; inside, integer ms."""

from __future__ import annotations

import re
from typing import Final

_SECONDS: Final = re.compile(r"(\d{1,6})(?:\s*(s|sec|seconds?))?", re.ASCII)
_MINUTES: Final = re.compile(r"(\d{1,4})\s*(min|minutes?)", re.ASCII)
_CLOCK: Final = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?", re.ASCII)

EXPECTED: Final = 'seconds as 60, "60 s", "2 min" or "1:30"'


def parse_duration_ms(text: int | str) -> int:
    """Read a duration and return milliseconds, 0 or more.

    Args:
        text: Whole seconds as a number, or `"60"`, `"60 s"`, `"2 min"`,
            `"1:30"` (minutes and seconds), `"1:02:30"` (hours as well).

    Raises:
        ValueError: It is none of these; the message says what was expected.
    """
    if isinstance(text, bool):
        raise ValueError(f"expected {EXPECTED}")  # noqa: TRY004 - one kind of error
    if isinstance(text, int):
        if text < 0:
            raise ValueError("expected a duration of 0 s or more")
        return text * 1000
    trimmed = text.strip()
    if match := _SECONDS.fullmatch(trimmed):
        return int(match[1]) * 1000
    if match := _MINUTES.fullmatch(trimmed):
        return int(match[1]) * 60_000
    if match := _CLOCK.fullmatch(trimmed):
        first, second, third = int(match[1]), int(match[2]), match[3]
        if third is None:
            return (first * 60 + second) * 1000
        return (first * 3600 + second * 60 + int(third)) * 1000
    raise ValueError(f"expected {EXPECTED}")


def clock(ms: int) -> str:
    """Show a length as `1:30` or `1:02:30`, to the nearest second below."""
    seconds = ms // 1000
    hours, rest = divmod(seconds, 3600)
    minutes, left = divmod(rest, 60)
    if hours:
        return f"{hours}:{minutes:02d}:{left:02d}"
    return f"{minutes}:{left:02d}"


def countdown(ms: int) -> str:
    """Show what is left as a countdown does: the second that is being used up.

    90 000 ms reads `1:30`; under a minute the seconds stand alone, for larger
    figures: 40 000 reads `40`, 39 001 still `40`, 1 reads `1`, 0 reads `0`.
    """
    seconds = -(-ms // 1000)
    return clock(seconds * 1000) if seconds >= 60 else f"{seconds}"


def exact(ms: int) -> str:
    """Show a length in seconds, with milliseconds only where there are any."""
    seconds, rest = divmod(ms, 1000)
    return f"{seconds} s" if rest == 0 else f"{seconds}.{rest:03d} s"
