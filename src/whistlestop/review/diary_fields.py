"""What the fields of a diary's lines may hold: read as meant, or refused in words.

Refuses to know what a line does; `review.diary` folds them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import lru_cache
from typing import Any, Final

from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.domain.reasons import CUT_REASONS
from whistlestop.review.days import DaySpan, Mark
from whistlestop.review.entered import entered_sum, station_entry
from whistlestop.review.heart import RATES, heart_of

MOST_DAYS: Final = 3_660
_MOST_MS: Final = 7 * 24 * 3_600_000
_LONGEST_TEXT: Final = 400
_MOST_FILES: Final = 40

Values = Mapping[str, Any]


def name_of(value: object, what: str) -> str:
    """Read an id. Raises ValueError."""
    if not isinstance(value, str) or not 0 < len(value) <= 80:
        raise ValueError(f"{what}: expected an id")
    return value


def _text(value: object) -> None:
    if not isinstance(value, str) or len(value) > _LONGEST_TEXT:
        raise ValueError(f"expected a text of up to {_LONGEST_TEXT} characters")


# A diary of years names the same days again and again.
_known_day = lru_cache(maxsize=8192)(parse_day)


def _day(value: object) -> None:
    _known_day(value if isinstance(value, str) else "")


def _length(value: object) -> None:
    whole = isinstance(value, int) and not isinstance(value, bool)
    if not whole or not 0 < value <= _MOST_MS:  # type: ignore[operator]
        raise ValueError("expected whole milliseconds, above 0 and up to 7 days")


def _effort(value: object) -> None:
    if value is not None:
        _half_points(value)


def effort_of(value: object) -> Effort:
    """Read an effort, 0 to 10 in half points. Raises ValueError."""
    return Effort(_half_points(value))


def _half_points(value: object) -> int:
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    # Before doubling: what is past 10 may be too long a number to double.
    if not number or not 0 <= value <= 10 or value * 2 % 1:  # type: ignore[operator]
        raise ValueError("expected 0 to 10 in half points, or null")
    return int(value * 2)  # type: ignore[operator]


def _efforts(value: object) -> None:
    if not isinstance(value, list) or len(value) > 100:
        raise ValueError("expected a list of efforts, one a loop")
    for effort in value:
        _effort(effort)


def _mark(value: object) -> None:
    if not isinstance(value, str) or value not in set(Mark):
        raise ValueError(f"expected one of {', '.join(Mark)}")


def _count(value: object) -> None:
    if value not in ("rest", "open"):
        raise ValueError("expected rest or open")


def _discomforts(value: object) -> None:
    if not isinstance(value, list) or len(value) > 100:
        raise ValueError("expected a list of discomforts")
    for each in value:
        if not isinstance(each, dict):
            raise ValueError("expected discomforts with site, side and level")  # noqa: TRY004 - content
        _text(each.get("site"))
        _text(each.get("side"))
        level = each.get("level")
        if isinstance(level, bool) or level not in range(11):
            raise ValueError("expected a level of discomfort from 0 to 10")


def _files(value: object) -> None:
    if not isinstance(value, list) or len(value) > _MOST_FILES:
        raise ValueError("expected a list of keys of activity files")
    for key in value:
        name_of(key, "a key of a file")


def _left_out_for(value: object) -> None:
    if value is not None and value not in CUT_REASONS:
        raise ValueError(f"expected {' or '.join(CUT_REASONS)}, or null")


def _rate(value: object) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or value not in RATES:
        raise ValueError(f"expected a heart rate of {RATES[0]} to {RATES[-1]}")


def _start(value: object) -> None:
    moment = datetime.fromisoformat(value) if isinstance(value, str) else None
    if moment is None or moment.tzinfo is None:
        raise ValueError("expected a time with its offset")


def _plan(value: object) -> None:
    # Read when it is asked for: a list of the log needs no plan.
    if not isinstance(value, dict):
        raise ValueError("expected a plan")  # noqa: TRY004 - content


def _stations(value: object) -> None:
    if not isinstance(value, list) or len(value) > 1000:
        raise ValueError("expected a list of what was different at stations")
    for each in value:
        station_entry(each)


_Fields = Mapping[str, Callable[[object], object]]
_SPAN: Final[_Fields] = {"first": _day, "last": _day}
# The fields that an entry cannot be without.
ENTRY_FIELDS: Final[Mapping[str, _Fields]] = {
    "training": {"day": _day, "sport": _text, "length_ms": _length},
    "session": {"day": _day, "name": _text, "length_ms": _length},
    "mark": {**_SPAN, "mark": _mark},
    "logged": _SPAN,
    "blanks": {"first": _day, "count": _count},
}
# Answers to a question: no entries of the log, and the athlete's own word alone.
ANSWER_FIELDS: Final[Mapping[str, _Fields]] = {
    "well": {"day": _day, "about": _text, "of": _text, "cause": _text},
    "morning": {"day": _day, "of": _text, "site": _text, "felt": _text},
}
AMEND_FIELDS: Final[_Fields] = {
    "effort": _effort,
    "note": _text,
    "discomforts": _discomforts,
    "efforts": _efforts,
    "heart": heart_of,
    "rate": _rate,
    "files": _files,
    "left_out_for": _left_out_for,
}
_OPTIONAL: Final[_Fields] = {
    **AMEND_FIELDS,
    "plan": _plan,
    "stations": _stations,
    "sum": entered_sum,
    "circuit": _text,
    "start": _start,
    "elapsed_ms": _length,
}


_ALL_FIELDS: Final = {
    kind: {**_OPTIONAL, **needed} for kind, needed in ENTRY_FIELDS.items()
}


def check(kind: str, values: Values) -> None:
    """Check all fields of an entry. Raises ValueError, naming the field."""
    needed = ENTRY_FIELDS[kind]
    _check_all(needed, values)
    check_fields(_ALL_FIELDS[kind], values)
    if "last" in needed and len(span_of(values)) > MOST_DAYS:
        raise ValueError(f"expected a period of up to {MOST_DAYS} days")


def _check_all(needed: _Fields, values: Values) -> None:
    for name in needed:
        if name not in values:
            raise ValueError(f"{name} is missing")


def check_fields(known: _Fields, values: Values, *, all_of_them: bool = False) -> None:
    """Check the fields that are there, or all. Raises ValueError, naming one."""
    if all_of_them:
        _check_all(known, values)
    for name in known.keys() & values.keys():
        try:
            known[name](values[name])
        except ValueError as error:
            raise ValueError(f"{name}: {error}") from None


def span_of(values: Values) -> DaySpan:
    """The days of a mark or a period. Raises ValueError."""
    return DaySpan(parse_day(values["first"]), parse_day(values["last"]))
