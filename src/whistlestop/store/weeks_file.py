"""weeks.toml and plan.toml: what is wanted of the weeks ahead, and the plan as kept.

Owns the keys of both files and their values one by one. Refuses to plan, and to know
which circuits there are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import Field, PlainValidator

from whistlestop.domain.text import shown
from whistlestop.errors import ProblemsFound
from whistlestop.store.circuit_schema import Name
from whistlestop.store.kit_file import listed, marked, write_kept
from whistlestop.store.kit_schema import (
    FORMAT,
    Judge,
    Table,
    Tables,
    one_of,
    whole,
    wrong,
)
from whistlestop.store.text_file import read_text
from whistlestop.store.toml_places import as_typed, parse_toml

WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EMPHASES: Final = ("base", "build", "strength", "maintain")
STATES: Final = ("planned", "done", "missed")
MOST_WEEKS: Final = 53
MOST_CIRCUITS: Final = 3
_MOST_DAYS: Final = 200
_MOST_SESSIONS: Final = 7 * MOST_WEEKS + 100


@dataclass(frozen=True, slots=True)
class Targets:
    """What is wanted. `days` and `key_weekdays` count from Monday, 0.

    `began` is a day of the first week; `weeks` says how many are planned.
    """

    began: date
    circuits: tuple[str, ...] = ()
    sessions_a_week: int = 2
    days: frozenset[int] = frozenset(range(7))
    key_weekdays: frozenset[int] = frozenset()
    key_days: frozenset[date] = frozenset()
    races: frozenset[date] = frozenset()
    away: tuple[tuple[date, date], ...] = ()
    blocks: tuple[tuple[str, int], ...] = ()
    weeks: int = 8


@dataclass(frozen=True, slots=True)
class KeptSession:
    """One session of the plan as the file says it; `percent` is of the full work."""

    id: str
    day: date
    circuit: str
    emphasis: str = "build"
    percent: int = 100
    state: str = "planned"


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """The plan as the file says it."""

    first: date
    weeks: int
    sessions: tuple[KeptSession, ...]


# --- Values --------------------------------------------------------------------


def _date(value: object) -> date:
    if isinstance(value, datetime) or not isinstance(value, date):
        raise wrong(f"is {as_typed(value)}", "a date as 2026-05-31, without quotes")
    return value


def _text_of(words: tuple[str, ...]) -> Callable[[object], str]:
    return one_of(*words)


Day = Annotated[date, PlainValidator(_date)]
Weekday = Annotated[str, PlainValidator(_text_of(WEEKDAYS))]
Emphasis = Annotated[str, PlainValidator(_text_of(EMPHASES))]
State = Annotated[str, PlainValidator(_text_of(STATES))]
Weekdays = Annotated[list[Weekday], Field(max_length=7)]
Days = Annotated[list[Day], Field(max_length=_MOST_DAYS)]


class AwayTable(Table):
    """An `[[away]]`: days without circuits, the first and the last."""

    first: Day
    last: Day


class BlockTable(Table):
    """A `[[block]]`: 4 to 6 weeks of one emphasis, the last of them lighter."""

    emphasis: Emphasis
    weeks: Annotated[int, PlainValidator(whole(4, 6))]


class WeeksTable(Table):
    """A whole weeks.toml of format 1."""

    format: Annotated[int, PlainValidator(whole(FORMAT, FORMAT))]
    began: Day
    weeks: Annotated[int, PlainValidator(whole(1, MOST_WEEKS))] = 8
    circuits: Annotated[list[Name], Field(min_length=1, max_length=MOST_CIRCUITS)]
    sessions_a_week: Annotated[int, PlainValidator(whole(1, 7))] = 2
    days: Weekdays = Field(default_factory=lambda: list(WEEKDAYS))
    key_weekdays: Weekdays = Field(default_factory=list)
    key_days: Days = Field(default_factory=list)
    races: Days = Field(default_factory=list)
    away: list[AwayTable] = Field(default_factory=list, max_length=_MOST_DAYS)
    block: list[BlockTable] = Field(default_factory=list, max_length=MOST_WEEKS)


class SessionTable(Table):
    """A `[[session]]` of the plan."""

    id: Name
    day: Day
    circuit: Name
    emphasis: Emphasis
    percent: Annotated[int, PlainValidator(whole(1, 100))]
    state: State


class PlanTable(Table):
    """A whole plan.toml of format 1."""

    format: Annotated[int, PlainValidator(whole(FORMAT, FORMAT))]
    first: Day
    weeks: Annotated[int, PlainValidator(whole(1, MOST_WEEKS))]
    session: list[SessionTable] = Field(default_factory=list, max_length=_MOST_SESSIONS)


_WEEKS: Final[Tables] = {
    (): (WeeksTable, ""),
    ("away",): (AwayTable, "away"),
    ("block",): (BlockTable, "block"),
}
_PLAN: Final[Tables] = {
    (): (PlanTable, ""),
    ("session",): (SessionTable, "session"),
}


# --- Reading and writing -------------------------------------------------------


def read_targets(path: Path) -> Targets:
    """Read weeks.toml.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    return parse_targets(read_text(path), name=shown(str(path)))


def parse_targets(text: str, *, name: str) -> Targets:
    """Read the text of a weeks.toml.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(text, name=shown(name))
    table, problems = Judge(document, _WEEKS).read(WeeksTable)
    for place, span in enumerate(table.away if table else ()):
        if span.last < span.first:
            what = f"away {place + 1}: last is before first"
            problems.append(
                document.problem(("away", place, "last"), what, "the first day first")
            )
    if table and len(set(table.circuits)) < len(table.circuits):
        problems.append(
            document.problem(("circuits",), "a circuit is named twice", "each once")
        )
    if table and not table.days:
        problems.append(document.problem(("days",), "no day is free", "one at least"))
    if problems or table is None:
        raise ProblemsFound(listed(document.name, problems))
    return Targets(
        began=table.began,
        circuits=tuple(table.circuits),
        sessions_a_week=table.sessions_a_week,
        days=frozenset(WEEKDAYS.index(day) for day in table.days),
        key_weekdays=frozenset(WEEKDAYS.index(day) for day in table.key_weekdays),
        key_days=frozenset(table.key_days),
        races=frozenset(table.races),
        away=tuple((span.first, span.last) for span in table.away),
        blocks=tuple((block.emphasis, block.weeks) for block in table.block),
        weeks=table.weeks,
    )


def targets_text(targets: Targets) -> str:
    """Write what is wanted as the text of a weeks.toml."""
    values: dict[str, Any] = {
        "format": FORMAT,
        "began": targets.began,
        "weeks": targets.weeks,
        "circuits": list(targets.circuits),
        "sessions_a_week": targets.sessions_a_week,
        "days": [WEEKDAYS[day] for day in sorted(targets.days)],
        "key_weekdays": [WEEKDAYS[day] for day in sorted(targets.key_weekdays)],
        "key_days": sorted(targets.key_days),
        "races": sorted(targets.races),
        "away": [{"first": first, "last": last} for first, last in targets.away],
        "block": [{"emphasis": e, "weeks": weeks} for e, weeks in targets.blocks],
    }
    return _dumped({key: value for key, value in values.items() if value != []})


def write_targets(path: Path, targets: Targets) -> None:
    """Write weeks.toml, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it.
    """
    write_kept(path, targets_text(targets))


def read_plan(path: Path) -> KeptPlan:
    """Read plan.toml.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(read_text(path), name=shown(str(path)))
    table, problems = Judge(document, _PLAN).read(PlanTable)
    if table is not None:
        ids = [session.id for session in table.session]
        if len(set(ids)) < len(ids):
            problems.append(
                document.problem(("session",), "an id appears twice", "each once")
            )
    if problems or table is None:
        raise ProblemsFound(listed(document.name, problems))
    return KeptPlan(
        table.first,
        table.weeks,
        tuple(
            KeptSession(s.id, s.day, s.circuit, s.emphasis, s.percent, s.state)
            for s in table.session
        ),
    )


def write_plan(path: Path, plan: KeptPlan) -> None:
    """Write plan.toml, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it.
    """
    rows = [
        {
            "id": session.id,
            "day": session.day,
            "circuit": session.circuit,
            "emphasis": session.emphasis,
            "percent": session.percent,
            "state": session.state,
        }
        for session in plan.sessions
    ]
    head = {"format": FORMAT, "first": plan.first, "weeks": plan.weeks}
    write_kept(path, _dumped({**head, "session": rows} if rows else head))


def _dumped(values: Mapping[str, Any]) -> str:
    # Imported here: a plan is seldom written.
    import tomli_w

    return marked(tomli_w.dumps(values))
