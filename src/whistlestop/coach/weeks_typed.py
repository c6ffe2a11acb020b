"""What is typed about the weeks, read into values, and those values as words.

One grammar for the command line and the room. Refuses to guess: what cannot be read
is a ValueError with what was expected.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Final

from whistlestop.coach.context import EMPHASES
from whistlestop.review.days import DaySpan, parse_day

WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
NONE: Final = "none"
_BLOCK: Final = re.compile(r"([a-z]+)[: ]?([4-6])", re.ASCII)
_BETWEEN: Final = re.compile(r"[,\s]+")


def _pieces(text: str) -> list[str]:
    sentences = [piece for piece in _BETWEEN.split(text.strip().lower()) if piece]
    return [] if sentences == [NONE] else sentences


def number_of(text: str, least: int, most: int) -> int:
    """Read a whole number within two others.

    Raises:
        ValueError: It is none.
    """
    message = text.strip()
    value = (
        int(message)
        if message.isascii() and message.isdigit() and len(message) < 6
        else -1
    )
    if not least <= value <= most:
        raise ValueError(f"expected {least} to {most}")
    return value


def days_of(text: str) -> tuple[date, ...]:
    """Read days as 2031-05-12,2031-05-15; `none` or nothing for none."""
    return tuple(parse_day(piece) for piece in _pieces(text))


def weekdays_of(text: str) -> frozenset[int]:
    """Read days of the week as mon,wed,sat; `none` or nothing for none."""
    names = _pieces(text)
    if not set(names) <= set(WEEKDAYS):
        raise ValueError(f"expected some of {','.join(WEEKDAYS)}")
    return frozenset(WEEKDAYS.index(name) for name in names)


def spans_of(text: str) -> tuple[DaySpan, ...]:
    """Read days or spans as 2031-05-01..2031-05-09; `none` or nothing for none."""
    found = []
    for piece in _pieces(text):
        first, dots, last = piece.partition("..")
        found.append(DaySpan(parse_day(first), parse_day(last if dots else first)))
    return tuple(found)


def blocks_of(text: str) -> tuple[tuple[str, int], ...]:
    """Read emphasis blocks as base:4,strength:5, each of 4 to 6 weeks."""
    found = []
    for piece in _pieces(text):
        match = _BLOCK.fullmatch(piece)
        if match is None or match[1] not in EMPHASES:
            known = ", ".join(EMPHASES)
            raise ValueError(f"expected one of {known} and 4 to 6 weeks, as base:4")
        found.append((match[1], int(match[2])))
    return tuple(found)


def weekdays_text(days: Iterable[int]) -> str:
    """Days of the week as they are typed."""
    return " ".join(WEEKDAYS[day] for day in sorted(days)) or NONE


def days_text(days: Iterable[date]) -> str:
    """Days as they are typed."""
    return " ".join(day.isoformat() for day in sorted(days)) or NONE


def spans_text(spans: Iterable[tuple[date, date]]) -> str:
    """Spans as they are typed."""
    sentences = [
        first.isoformat() if first == last else f"{first}..{last}"
        for first, last in spans
    ]
    return " ".join(sentences) or NONE


def blocks_text(blocks: Iterable[tuple[str, int]]) -> str:
    """Blocks as they are typed."""
    return " ".join(f"{emphasis}:{weeks}" for emphasis, weeks in blocks) or NONE
