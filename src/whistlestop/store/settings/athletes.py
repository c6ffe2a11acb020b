"""athletes.toml becomes athletes, or a list of everything that is wrong with it.

Owns the keys of the file and that ids and names are there once. It is the only
place where names stand: a journal holds ids. Refuses to know sessions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from whistlestop.domain.athlete import MOST_ATHLETES, Athlete
from whistlestop.domain.field import ListOf, table_of, value, written
from whistlestop.domain.owner import OWNER
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.kit.file import marked, write_saved
from whistlestop.store.table.judging import Judge, listed
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import parse_toml

FORMAT: Final = 1


@dataclass(frozen=True, slots=True)
class _Athletes:
    athlete: tuple[Athlete, ...] = value(
        ListOf(table_of(Athlete, called="athlete"), most=MOST_ATHLETES), ()
    )


def read_athletes(path: Path) -> tuple[Athlete, ...]:
    """Read an athletes file.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    return parse_athletes(read_text(path), name=shown(str(path)))


def parse_athletes(text: str, *, name: str) -> tuple[Athlete, ...]:
    """Read the text of an athletes file, in the order of the file.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(text, name=shown(name))
    judge = Judge(document, _Athletes)
    table, problems = judge.read(_Athletes)
    if table is not None:
        problems += _together(judge, table)
    if problems or table is None:
        raise ProblemsFound(listed(document.name, problems))
    return table.athlete


def _together(judge: Judge, table: _Athletes) -> Iterator[Problem]:
    ids: set[str] = set()
    names: set[str] = set()
    for place, one in enumerate(table.athlete):
        for key, word, seen in (("id", one.id, ids), ("name", one.name, names)):
            if word and word.casefold() in seen:
                what = f"{judge.where(('athlete', place))}{key} is {as_typed(word)}"
                path = ("athlete", place, key)
                yield judge.document.problem(path, what, f"each {key} once")
            seen.add(word.casefold())
        if one.id == OWNER and one.limit:
            what = f"{judge.where(('athlete', place))}{OWNER} has limits"
            path = ("athlete", place, "limit")
            yield judge.document.problem(path, what, "yours are in limits.toml")
        if one.id == OWNER and one.loads:
            what = f"{judge.where(('athlete', place))}{OWNER} has loads"
            path = ("athlete", place, "loads")
            yield judge.document.problem(path, what, "yours are in the circuits")


def athletes_text(athletes: Iterable[Athlete]) -> str:
    """Write athletes as the text of a file."""
    # Imported here: they are seldom written.
    import tomli_w

    values = {"format": FORMAT, "athlete": [written(one) for one in athletes]}
    return marked(tomli_w.dumps(values))


def write_athletes(path: Path, athletes: Iterable[Athlete]) -> None:
    """Write the athletes file, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it; the old
            file still stands.
    """
    write_saved(path, athletes_text(athletes))
