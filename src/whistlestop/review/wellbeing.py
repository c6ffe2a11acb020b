"""What the athlete answered about being well: after a stop, an illness, a sore night.

Owns what the answers of the diary mean, which stop still waits for one, and which days
were one illness. It judges nobody's health: an answer is the athlete's own word.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Literal, cast, get_args

from whistlestop.dataclass import dataclass
from whistlestop.domain.day import parse_day

if TYPE_CHECKING:
    from whistlestop.review.days import DaySpan
    from whistlestop.review.diary import Diary

About = Literal["health-stop", "illness"]
Felt = Literal["better", "same", "worse"]
FELT: Final[tuple[Felt, ...]] = get_args(Felt)
# What a stop for health was about, in the athlete's words.
CAUSES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "chest": "chest, heart or breath",
        "head": "head, dizziness or fainting",
        "pain": "pain or an injury",
        "ill": "fever or an illness",
        "other": "something else",
    }
)
# After these the way back takes more than twice as long.
GRAVE: Final = frozenset({"chest", "head"})
# A stop longer ago is not asked about: who comes back then starts as new anyway.
ASKED_DAYS: Final = 182
# A single well day between two marked ones belongs to the same illness.
_APART_DAYS: Final = 2


@dataclass(frozen=True, slots=True)
class WellAnswer:
    """The athlete's word on a day that they are well again.

    `of` is the session that was stopped, `cause` a key of `CAUSES`, or empty.
    """

    day: date
    about: About
    of: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True)
class MorningAnswer:
    """How a discomfort of session `of` was on the next morning; `site` is an id."""

    day: date
    of: str
    site: str
    felt: Felt


@dataclass(frozen=True, slots=True)
class HealthStop:
    """A session that was ended for health reasons."""

    id: str
    day: date


def well_answers(diary: Diary) -> tuple[WellAnswer, ...]:
    """What a diary holds of them, in order; words of a later program are left out."""
    return tuple(
        WellAnswer(parse_day(x["day"]), x["about"], x["of"], x["cause"])
        for x in diary.answers
        if x["k"] == "well" and x["about"] in get_args(About)
    )


def morning_answers(diary: Diary) -> tuple[MorningAnswer, ...]:
    """What a diary holds of them, in order; words of a later program are left out."""
    return tuple(
        MorningAnswer(parse_day(x["day"]), x["of"], x["site"], cast("Felt", x["felt"]))
        for x in diary.answers
        if x["k"] == "morning" and x["felt"] in FELT
    )


def answer_to(stop: HealthStop, answers: Iterable[WellAnswer]) -> WellAnswer | None:
    """The answer about a stop: its own, or one about a later stop."""
    about = (answer for answer in answers if answer.about == "health-stop")
    return next((a for a in about if a.of == stop.id or a.day > stop.day), None)


def unanswered(
    stops: Iterable[HealthStop], answers: Iterable[WellAnswer], today: date
) -> HealthStop | None:
    """The last stop, where the page about it was not answered yet."""
    last = max(stops, key=lambda stop: (stop.day, stop.id), default=None)
    if last is None or (today - last.day).days > ASKED_DAYS:
        return None
    return None if answer_to(last, answers) else last


def last_illness(spans: Iterable[DaySpan], today: date) -> tuple[DaySpan, int] | None:
    """The last illness that began by today, and how many days of it were marked."""
    # Imported here: the first picture asks for an unanswered stop alone.
    from whistlestop.review.days import DaySpan

    days = sorted({day for span in spans for day in span})
    own = [day for day in days if day <= today]
    if not own:
        return None
    # Days still to come that follow on are days of the same illness.
    first = last = own[-1]
    marked = set(days)
    while nearest := next(_within(first, marked, -1), None):
        first = nearest
    while nearest := next(_within(last, marked, 1), None):
        last = nearest
    return DaySpan(first, last), sum(first <= day <= last for day in days)


def _within(day: date, marked: set[date], way: int) -> Iterator[date]:
    for apart in range(1, _APART_DAYS + 1):
        near = day + timedelta(days=way * apart)
        if near in marked:
            yield near
