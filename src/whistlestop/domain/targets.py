"""What is wanted of the weeks ahead, each value described once.

In a file a list is a list; on the command line and in the room it is one line, as
`mon wed sat`. Refuses to plan, and to know which circuits there are.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Any, Final, Literal, get_args

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import (
    Choice,
    DayValue,
    Id,
    ListOf,
    TableOf,
    ValueKind,
    Whole,
    Wrong,
    in_order,
    value,
)
from whistlestop.domain.text import as_typed

Emphasis = Literal["base", "build", "strength", "maintain"]
EMPHASES: Final[tuple[Emphasis, ...]] = get_args(Emphasis)
# How much a race counts: A is peaked for, B is met fresh, C is trained through.
Priority = Literal["A", "B", "C"]
# Counted from Monday, 0.
WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
AHEAD: Final = "weeks ahead"
_NONE: Final = "none"
_BLOCK: Final = re.compile(r"([a-z]+):?(\d)", re.ASCII)
_BETWEEN: Final = re.compile(r"[,\s]+")


# --- Kinds of values -------------------------------------------------------------


class WeekdayValue(ValueKind[int]):
    """A day of the week: its number inside, its name in a file."""

    @property
    def expected(self) -> str:
        """The names."""
        return f"some of {','.join(WEEKDAYS)}"

    def judged(self, value: object) -> int:
        """Take a name."""
        if not isinstance(value, str) or value not in WEEKDAYS:
            raise Wrong(f"is {as_typed(value)}", self.expected)
        return WEEKDAYS.index(value)

    def typed(self, text: str) -> int:
        """Take a name in any letters."""
        return self.judged(text.lower())

    def written(self, value: int) -> object:
        """Give the name."""
        return WEEKDAYS[value]


class AwayValue(TableOf):
    """The first and the last of some days, typed as 2031-05-01..2031-05-09."""

    def typed(self, text: str) -> tuple[date, date]:
        """Take two days, or one."""
        first, dots, last = text.partition("..")
        days = DayValue().typed(first), DayValue().typed(last if dots else first)
        if days[1] < days[0]:
            raise ValueError("a period ends on its first day or later")
        return days

    def as_line(self, value: tuple[date, date]) -> str:
        """Give both days, or the one."""
        return "..".join(day.isoformat() for day in dict.fromkeys(value))


class BlockValue(TableOf):
    """Weeks of one emphasis, typed as base:4."""

    def typed(self, text: str) -> tuple[str, int]:
        """Take an emphasis and its weeks."""
        match = _BLOCK.fullmatch(text.lower())
        try:
            word, weeks = match.groups() if match else ("", "")
            return EMPHASIS.typed(word), BLOCK_WEEKS.typed(weeks)
        except Wrong:
            known = f"one of {', '.join(EMPHASES)}"
            wanted = f"{known} and {BLOCK_WEEKS.expected} weeks, as base:4"
            raise Wrong(f"is {as_typed(text)}", wanted) from None

    def as_line(self, value: tuple[str, int]) -> str:
        """Give both."""
        return f"{value[0]}:{value[1]}"


@dataclass(frozen=True)
class OneLine(ListOf):
    """Values on one line, with blanks or commas between; `none` is an empty list."""

    called: str = "entries"
    once: bool = True

    def typed(self, text: str) -> Any:
        """Take a line; what is repeated counts once where `once` says so."""
        pieces = [piece for piece in _BETWEEN.split(text.strip()) if piece]
        if [piece.lower() for piece in pieces] == [_NONE]:
            pieces = []
        if self.once:
            pieces = list(dict.fromkeys(pieces))
        if not self.least <= len(pieces) <= self.most:
            expected = f"{self.least} to {self.most} {self.called}"
            raise Wrong(f"has {len(pieces)} {self.called}", expected)
        return self.make(self.kind.typed(piece) for piece in pieces)

    def shown(self, value: Any) -> str:
        """Give all as they are typed."""
        return self.as_line(value)

    def as_line(self, value: Any) -> str:
        """Give all."""
        entries = sorted(value) if isinstance(value, frozenset) else value
        return " ".join(self.kind.as_line(entry) for entry in entries) or _NONE


MOST_WEEKS: Final = 53
MOST_CIRCUITS: Final = 3
WEEKS: Final = Whole(1, MOST_WEEKS)
SESSIONS: Final = Whole(1, len(WEEKDAYS))
BLOCK_WEEKS: Final = Whole(4, 6)
EMPHASIS: Final[Choice[str]] = Choice({word: word for word in EMPHASES})


def _weekdays(least: int) -> OneLine:
    return OneLine(WeekdayValue(), len(WEEKDAYS), least, make=frozenset, called="days")


_DAYS: Final = OneLine(DayValue(), most=200, make=frozenset, called="days")


# --- Tables --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Away:
    """An `[[away]]`: days without circuits, the first and the last."""

    first: date = value(DayValue())
    last: date = value(DayValue())


@dataclass(frozen=True, slots=True)
class _Block:
    """A `[[block]]`: weeks of one emphasis, the last of them lighter."""

    emphasis: str = value(EMPHASIS)
    weeks: int = value(BLOCK_WEEKS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """What is wanted. `days` and `key_weekdays` count from Monday, 0.

    `began` is a day of the first week; `weeks` says how many are planned.
    """

    began: date = value(DayValue())
    sessions_a_week: int = value(
        SESSIONS,
        2,
        "sessions a week (default: 2)",
        AHEAD,
        label="Sessions a week",
        option="--sessions N",
        ask=SESSIONS.expected,
        always=True,
    )
    days: frozenset[int] = value(
        _weekdays(least=1),
        frozenset(range(len(WEEKDAYS))),
        "days that are free: mon,wed,sat",
        AHEAD,
        label="Days that are free",
        option="--days DAYS",
        ask="as mon wed sat",
        always=True,
    )
    key_weekdays: frozenset[int] = value(
        _weekdays(least=0),
        frozenset(),
        "days of the week with a key session",
        AHEAD,
        label="Key sessions, weekly",
        option="--key-days DAYS",
        ask="days of the main sport's key sessions, as tue sun, or none",
    )
    key_days: frozenset[date] = value(
        _DAYS,
        frozenset(),
        "key sessions of the main sport, as 2031-05-12,2031-05-15",
        label="Key sessions, once",
        option="--key DAYS",
        ask="days as 2031-05-12 2031-05-15, or none",
    )
    races: frozenset[date] = value(
        _DAYS,
        frozenset(),
        "days of races you peak for: 2031-05-12",
        AHEAD,
        label="A races, peak",
        option="--races DAYS",
        ask="days of races you peak for, as 2031-05-12, or none",
    )
    races_b: frozenset[date] = value(
        _DAYS,
        frozenset(),
        "days of races to be fresh for, as 2031-05-12",
        AHEAD,
        label="B races, fresh",
        option="--races-b DAYS",
        ask="days of races to be fresh for, as 2031-05-12, or none",
    )
    races_c: frozenset[date] = value(
        _DAYS,
        frozenset(),
        "days of races trained through, as 2031-05-12",
        AHEAD,
        label="C races, train through",
        option="--races-c DAYS",
        ask="days of races you train through, as 2031-05-12, or none",
    )
    away: tuple[tuple[date, date], ...] = value(
        OneLine(AwayValue(_Away, in_order, "away"), most=200, called="periods"),
        (),
        "no circuits: 2031-05-01..2031-05-09",
        AHEAD,
        label="Away",
        option="--away SPANS",
        ask="as 2031-05-01..2031-05-09, or none",
    )
    blocks: tuple[tuple[str, int], ...] = value(
        OneLine(
            BlockValue(_Block, in_order, "block"),
            MOST_WEEKS,
            called="blocks",
            once=False,
        ),
        (),
        "emphasis and weeks, 4 to 6 each: base:4,strength:5",
        AHEAD,
        label="Emphasis, in blocks",
        key="block",
        option="--blocks LIST",
        ask="4 to 6 weeks each, the last one lighter: base:4 strength:5, or none",
    )
    circuits: tuple[str, ...] = value(
        OneLine(Id(), MOST_CIRCUITS, least=1, called="circuits by id"),
        label="Circuits in turn",
        ask="up to three ids",
        always=True,
    )
    weeks: int = value(
        WEEKS,
        8,
        "a plan of N weeks",
        AHEAD,
        label="Weeks in total",
        option="--weeks N",
        ask=f"{WEEKS.expected}, counted from the first one",
        always=True,
    )

    @property
    def priorities(self) -> dict[date, Priority]:
        """All race days with their priority; one named twice has the higher."""
        found: dict[date, Priority] = dict.fromkeys(self.races_c, "C")
        found |= dict.fromkeys(self.races_b, "B")
        return found | dict.fromkeys(self.races, "A")
