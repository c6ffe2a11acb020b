"""What may be said of a CSV that is imported, and how a length of training is typed.

Light: the parser of `log` needs it for every command. Refuses to know CSV.
"""

from __future__ import annotations

import re
from typing import Final, Literal

from whistlestop.domain.text import shown

MOST_MS: Final = 24 * 3_600_000
# Under so many minutes two numbers with a colon may be meant as hours and minutes.
LEAST_MINUTES: Final = 10
LENGTH_HINT: Final = "minutes as 90, 42.5 or 45:00, or hours as 1:02:30"
FIELDS: Final = ("date", "sport", "minutes", "effort", "note")

Order = Literal["ymd", "dmy", "mdy"]
ORDERS: Final[tuple[Order, ...]] = ("ymd", "dmy", "mdy")

_CLOCK: Final = r"(\d{1,4}):([0-5]\d)(?::([0-5]\d))?"
_PLAIN: Final = r"(\d{1,4})(?:[.,](\d{1,2}))?\s*(?:min|minutes)?"


def read_length_ms(text: str) -> int:
    """Read minutes such as 90, 42.5 or 90 min; 45:00 (minutes) or 1:02:30 (hours).

    Two numbers are minutes and seconds. Below 10:00 they could as well be meant as
    hours and minutes, and no training lasts so short: those are refused, not guessed.

    Raises:
        ValueError: It is no length, can be read in two ways, or is not above 0 and
            up to 24 hours.
    """
    if match := re.fullmatch(_CLOCK, text, re.ASCII):
        first, second, third = (int(group or 0) for group in match.groups())
        if match[3] is None:
            if first < LEAST_MINUTES:
                raise ValueError(
                    f'"{text}" can be read in two ways; '
                    f"say {first}:{second:02d}:00 or 0:{first:02d}:{second:02d}"
                )
            first, second, third = 0, first, second
        ms = (first * 3600 + second * 60 + third) * 1000
    elif match := re.fullmatch(_PLAIN, text, re.ASCII):
        hundredths = int(match[1]) * 100 + int((match[2] or "0").ljust(2, "0"))
        ms = hundredths * 600
    else:
        raise ValueError(f'"{shown(text, 30)}" is not a length: expected {LENGTH_HINT}')
    if not 0 < ms <= MOST_MS:
        raise ValueError("expected a length above 0 and up to 24 hours")
    return ms
