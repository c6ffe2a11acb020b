"""weeks.toml and plan.toml: what is wanted of the weeks ahead, and the plan as saved.

Owns the keys of both files and their values one by one. Refuses to plan, and to know
which circuits there are.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from whistlestop.domain.field import (
    NAME_LIMIT,
    Choice,
    DayValue,
    ListOf,
    Read,
    TableOf,
    Text,
    Whole,
    in_order,
    table_of,
    value,
    written,
)
from whistlestop.domain.text import shown
from whistlestop.errors import ProblemsFound
from whistlestop.store.kit.file import marked, write_saved
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import parse_toml

FORMAT: Final = 1
WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EMPHASES: Final = ("base", "build", "strength", "maintain")
STATES: Final = ("planned", "done", "missed")
MOST_WEEKS: Final = 53
MOST_CIRCUITS: Final = 3

WEEKS: Final = Whole(1, MOST_WEEKS)
SESSIONS: Final = Whole(1, 7)
BLOCK_WEEKS: Final = Whole(4, 6)
_NAME: Final = Text(NAME_LIMIT, least=1)
_EMPHASIS: Final = Choice({word: word for word in EMPHASES})
_STATE: Final = Choice({word: word for word in STATES})
_WEEKDAY: Final = Choice({word: word for word in WEEKDAYS})
# Days count from Monday, 0.
_WEEKDAYS: Final = ListOf(
    Read(lambda word: WEEKDAYS.index(_WEEKDAY.judged(word)), WEEKDAYS.__getitem__),
    most=len(WEEKDAYS),
    make=frozenset,
)
_DAYS: Final = ListOf(DayValue(), most=200, make=frozenset)


@dataclass(frozen=True, slots=True)
class _Away:
    """An `[[away]]`: days without circuits, the first and the last."""

    first: date = value(DayValue())
    last: date = value(DayValue())


@dataclass(frozen=True, slots=True)
class _Block:
    """A `[[block]]`: weeks of one emphasis, the last of them lighter."""

    emphasis: str = value(_EMPHASIS)
    weeks: int = value(BLOCK_WEEKS)


@dataclass(frozen=True, slots=True)
class Targets:
    """What is wanted. `days` and `key_weekdays` count from Monday, 0.

    `began` is a day of the first week; `weeks` says how many are planned.
    """

    began: date = value(DayValue())
    circuits: tuple[str, ...] = value(
        ListOf(_NAME, least=1, most=MOST_CIRCUITS), always=True
    )
    sessions_a_week: int = value(SESSIONS, 2, always=True)
    days: frozenset[int] = value(_WEEKDAYS, frozenset(range(7)), always=True)
    key_weekdays: frozenset[int] = value(_WEEKDAYS, frozenset())
    key_days: frozenset[date] = value(_DAYS, frozenset())
    races: frozenset[date] = value(_DAYS, frozenset())
    away: tuple[tuple[date, date], ...] = value(
        ListOf(TableOf(_Away, in_order, "away"), most=200), ()
    )
    blocks: tuple[tuple[str, int], ...] = value(
        ListOf(TableOf(_Block, in_order, "block"), most=MOST_WEEKS), (), key="block"
    )
    weeks: int = value(WEEKS, 8, always=True)


@dataclass(frozen=True, slots=True)
class SavedSession:
    """One session of the plan as the file says it; `percent` is of the full work."""

    id: str = value(_NAME)
    day: date = value(DayValue())
    circuit: str = value(_NAME)
    emphasis: str = value(_EMPHASIS, "build", always=True)
    percent: int = value(Whole(1, 100), 100, always=True)
    state: str = value(_STATE, "planned", always=True)


@dataclass(frozen=True, slots=True)
class SavedPlan:
    """The plan as the file says it."""

    first: date = value(DayValue())
    weeks: int = value(WEEKS)
    sessions: tuple[SavedSession, ...] = value(
        ListOf(table_of(SavedSession, called="session"), most=7 * MOST_WEEKS + 100),
        (),
        key="session",
    )


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
    from whistlestop.store.table.judging import Judge, listed

    targets, problems = Judge(document, Targets).read(Targets)
    at = document.problem
    for place, (first, last) in enumerate(targets.away if targets else ()):
        if last < first:
            what = f"away {place + 1}: last is before first"
            problems.append(at(("away", place, "last"), what, "the first day first"))
    if targets and len(set(targets.circuits)) < len(targets.circuits):
        problems.append(at(("circuits",), "a circuit is named twice", "each once"))
    if targets and not targets.days:
        problems.append(at(("days",), "no day is free", "one at least"))
    if problems or targets is None:
        raise ProblemsFound(listed(document.name, problems))
    return targets


def targets_text(targets: Targets) -> str:
    """Write what is wanted as the text of a weeks.toml."""
    return _text(targets)


def write_targets(path: Path, targets: Targets) -> None:
    """Write weeks.toml, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it.
    """
    write_saved(path, targets_text(targets))


def read_plan(path: Path) -> SavedPlan:
    """Read plan.toml.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    from whistlestop.store.table.judging import Judge, listed

    document = parse_toml(read_text(path), name=shown(str(path)))
    plan, problems = Judge(document, SavedPlan).read(SavedPlan)
    ids = [session.id for session in plan.sessions] if plan else []
    if len(set(ids)) < len(ids):
        what = "an id appears twice"
        problems.append(document.problem(("session",), what, "each once"))
    if problems or plan is None:
        raise ProblemsFound(listed(document.name, problems))
    return plan


def write_plan(path: Path, plan: SavedPlan) -> None:
    """Write plan.toml, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it.
    """
    write_saved(path, _text(plan))


def _text(table: Targets | SavedPlan) -> str:
    # Imported here: a plan is seldom written.
    import tomli_w

    return marked(tomli_w.dumps({"format": FORMAT, **written(table)}))
