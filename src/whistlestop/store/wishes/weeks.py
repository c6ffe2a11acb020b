"""weeks.toml and plan.toml: what is wanted of the weeks ahead, and the plan as saved.

Owns what shows only when values of a file come together. Refuses to plan, and to know
which circuits there are.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.field import (
    NAME_LIMIT,
    Choice,
    DayValue,
    ListOf,
    Text,
    Whole,
    table_of,
    value,
    written,
)
from whistlestop.domain.targets import EMPHASIS, MOST_WEEKS, WEEKS, Targets
from whistlestop.domain.text import shown
from whistlestop.errors import ProblemsFound
from whistlestop.store.kit.file import marked, write_saved
from whistlestop.store.table.judging import Judge, listed
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import parse_toml

FORMAT: Final = 1
_NAME: Final = Text(NAME_LIMIT, least=1)
_STATE: Final = Choice({word: word for word in ("planned", "done", "missed")})


@dataclass(frozen=True, slots=True)
class SavedSession:
    """One session of the plan as the file says it; `percent` is of the full work.

    Nothing has a default: the program writes every key, so one that is missing is a
    loss, and a session that was done must not come back as planned.
    """

    id: str = value(_NAME)
    day: date = value(DayValue())
    circuit: str = value(_NAME)
    emphasis: str = value(EMPHASIS)
    percent: int = value(Whole(1, 100))
    state: str = value(_STATE)


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
    targets, problems = Judge(document, Targets).read(Targets)
    at = document.problem
    for place, (first, last) in enumerate(targets.away if targets else ()):
        if last < first:
            what = f"away {place + 1}: last is before first"
            problems.append(at(("away", place, "last"), what, "the first day first"))
    if targets and len(set(targets.circuits)) < len(targets.circuits):
        problems.append(at(("circuits",), "a circuit is named twice", "each once"))
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
