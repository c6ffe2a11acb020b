"""Calendar days as they are typed, and the years within which they lie."""

from __future__ import annotations

import re
from datetime import date
from typing import Final

# Arithmetic of weeks stays inside the calendar, and a slip of a digit is noticed.
YEARS: Final = range(1900, 2201)
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def parse_day(text: str) -> date:
    """Read a calendar day written as `2031-05-12`.

    Raises:
        ValueError: It is no such day, or lies outside 1900 to 2200.
    """
    if not _DAY.fullmatch(text):
        raise ValueError("expected a day such as 2031-05-12")
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"there is no day {text}") from None
    return within_years(day)


def within_years(day: date) -> date:
    """Take a day within 1900 to 2200.

    Raises:
        ValueError: It lies outside.
    """
    if day.year not in YEARS:
        raise ValueError(f"the year {day.year} is not within {YEARS[0]} to {YEARS[-1]}")
    return day
