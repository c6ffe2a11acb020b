"""Lines typed in the log, read into values: a filter, a training, days to mark.

Pure: today is handed in. Refuses to write anything, and to guess a missing number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Final

from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.driver.diary import TrainingEntry
from whistlestop.review.days import DaySpan, Mark, day_text
from whistlestop.review.heart import Heart, parse_heart
from whistlestop.review.items import Filter

FILTER_HINT: Final = "shed station squat kit box from 2031-05-01 to 2031-05-31"
TRAINING_HINT: Final = "cycling 90 5.5 2031-05-12: sport, minutes, effort, day"
HEART_HINT: Final = "150/60/190: average, resting, maximum"
MARK_HINT: Final = "illness 2031-05-12..2031-05-14; or rest, travel, off, full"
FULL: Final = "full"
BLANKS_QUESTION: Final = "Does a day without an entry count as a rest day? b answers."
BLANKS_HINT: Final = (
    "Days without an entry: rest (from today on), past (before today too), or open "
    "(not known)."
)
_KEYWORDS: Final = ("station", "kit", "from", "to")
_NUMBER: Final = re.compile(r"\d{1,4}([.,]\d)?", re.ASCII)
_RATES: Final = re.compile(r"\d{1,3}/(\d{1,3}/\d{1,3})?", re.ASCII)
_DAY: Final = re.compile(r"\d{4}-\d{1,2}-\d{1,2}", re.ASCII)


@dataclass(frozen=True, slots=True)
class BlanksAnswer:
    """How blank days count, and whether the days before today do so too."""

    as_rest: bool
    past: bool = False


def parse_blanks(text: str) -> BlanksAnswer:
    """Read the answer to how blank days count.

    Raises:
        ValueError: It is none of the three.
    """
    answers = {
        "rest": BlanksAnswer(as_rest=True),
        "past": BlanksAnswer(as_rest=True, past=True),
        "open": BlanksAnswer(as_rest=False),
    }
    typed = text.strip().casefold()
    if typed not in answers:
        raise ValueError(f"expected one of {', '.join(answers)}")
    return answers[typed]


@dataclass(frozen=True, slots=True)
class DaysMark:
    """Days to mark; `mark` is None where they are marked fully logged."""

    mark: Mark | None
    span: DaySpan


def parse_filter(text: str) -> Filter:
    """Read what is wanted of the log: words of the circuit, then named parts.

    Raises:
        ValueError: A named part is empty, stands twice, or is no day.
    """
    parts: dict[str, list[str]] = {"circuit": []}
    part = "circuit"
    for word in text.split():
        if word.casefold() in _KEYWORDS:
            part = word.casefold()
            if part in parts:
                raise ValueError(f'"{part}" is given twice')
            parts[part] = []
        else:
            parts[part].append(word)
    for name, words in parts.items():
        if name != "circuit" and not words:
            raise ValueError(f'something is missing after "{name}"')
    first, last = (_day_after(parts, name) for name in ("from", "to"))
    if first and last and last < first:
        raise ValueError("the last day is before the first")
    return Filter(
        circuit=" ".join(parts["circuit"]),
        station=" ".join(parts.get("station", [])),
        kit=" ".join(parts.get("kit", [])),
        since=first,
        until=last,
    )


def _day_after(parts: dict[str, list[str]], name: str) -> date | None:
    if name not in parts:
        return None
    if len(parts[name]) > 1:
        raise ValueError(f'expected one day after "{name}"')
    return parse_day(parts[name][0])


def filter_text(wanted: Filter) -> str:
    """Write a filter as it would be typed; nothing for one that wants everything."""
    named = [
        ("", wanted.circuit),
        ("station ", wanted.station),
        ("kit ", wanted.kit),
        ("from ", wanted.since.isoformat() if wanted.since else ""),
        ("to ", wanted.until.isoformat() if wanted.until else ""),
    ]
    return " ".join(f"{name}{value}" for name, value in named if value)


def parse_training(text: str, today: date, heart: Heart | None = None) -> TrainingEntry:
    """Read other training: a sport, minutes, and perhaps an effort and a day.

    Heart rates may stand among them as average/rest/greatest; `heart` are those
    entered last, so that `150/` is enough.

    Raises:
        ValueError: The sport or the minutes are missing, or a number is none.
    """
    words = text.split()
    rates = [word for word in words if _RATES.fullmatch(word)]
    words = [word for word in words if word not in rates]
    if len(rates) > 1:
        raise ValueError("heart rates are given twice")
    felt = parse_heart(rates[0], heart) if rates else None
    day = today
    if words and _DAY.fullmatch(words[-1]):
        day = parse_day(words.pop())
    numbers: list[str] = []
    while words and len(numbers) < 2 and _NUMBER.fullmatch(words[-1]):
        numbers.insert(0, words.pop())
    if not words:
        raise ValueError("expected a sport, then minutes: cycling 90 5.5")
    if not numbers:
        raise ValueError("expected minutes after the sport, such as 90")
    minutes = float(numbers[0].replace(",", "."))
    if not minutes:
        raise ValueError("expected more than 0 minutes")
    effort = Effort.parse(numbers[1]) if len(numbers) > 1 else None
    length_ms = round(minutes * 60_000)
    return TrainingEntry(day, " ".join(words), length_ms, effort, heart=felt)


def training_text(done: TrainingEntry) -> str:
    """Say what was understood of a training."""
    effort = "effort not entered" if done.effort is None else f"effort {done.effort}"
    minutes = f"{done.length_ms / 60_000:g} min"
    text = f"{done.name}, {minutes}, {effort}, {day_text(done.day)}"
    return text if done.heart is None else f"{text}, heart rate {done.heart.average}"


def parse_mark(text: str, today: date) -> DaysMark:
    """Read a mark and its days: one day, or the first and the last with .. between.

    Raises:
        ValueError: The mark is none, or the days are none.
    """
    words = text.casefold().split()
    known = {mark.value: mark for mark in Mark}
    if not words or words[0] not in {*known, FULL}:
        raise ValueError(f"expected one of {', '.join(Mark)} or {FULL}")
    if len(words) > 2:
        raise ValueError("expected one day, or two with .. between them")
    begin, dots, end = words[1].partition("..") if len(words) > 1 else ("", "", "")
    first = parse_day(begin) if begin else today
    last = parse_day(end) if dots else first
    return DaysMark(known.get(words[0]), DaySpan(first, last))


def mark_text(marked: DaysMark) -> str:
    """Say what was understood of a mark."""
    text = marked.mark.value if marked.mark else "fully logged"
    first, last = marked.span.first, marked.span.last
    if first == last:
        return f"{text}, {day_text(first)}"
    return f"{text}, {day_text(first)} to {day_text(last)}"
