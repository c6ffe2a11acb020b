"""athletes.toml becomes athletes, or a list of everything that is wrong with it.

Owns the keys of the file and that ids and names are there once. It is the only
place where names stand: a journal holds ids. Refuses to know sessions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import Field, PlainValidator

from whistlestop.domain.athlete import (
    MOST_ATHLETES,
    OWNER,
    Athlete,
    is_athlete_id,
    name_trouble,
)
from whistlestop.domain.text import shown
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.circuit_schema import ALoad, Id
from whistlestop.store.kit_file import listed, marked, write_kept
from whistlestop.store.kit_schema import FORMAT, Judge, Table, Tables, whole, wrong
from whistlestop.store.text_file import read_text
from whistlestop.store.toml_places import as_typed, parse_toml

_MOST_LOADS: Final = 200


def _athlete_id(value: object) -> str:
    if not isinstance(value, str) or not is_athlete_id(value):
        raise wrong(f"is {as_typed(value)}", '"a1" for yourself, "a2" and so on')
    return value


def _name(value: object) -> str:
    if not isinstance(value, str):
        raise wrong(f"is {as_typed(value)}", 'a name as "Robin"')
    trimmed = value.strip()
    if trouble := name_trouble(trimmed):
        raise wrong(f"is {as_typed(value)}", trouble)
    return trimmed


class AthleteTable(Table):
    """An `[[athlete]]`: an id, perhaps a name, and own loads by exercise."""

    id: Annotated[str, PlainValidator(_athlete_id)]
    name: Annotated[str, PlainValidator(_name)] = ""
    loads: dict[Id, ALoad] = Field(default_factory=dict, max_length=_MOST_LOADS)


class AthletesTable(Table):
    """A whole athletes.toml of format 1."""

    format: Annotated[int, PlainValidator(whole(FORMAT, FORMAT))]
    athlete: list[AthleteTable] = Field(default_factory=list, max_length=MOST_ATHLETES)


_TABLES: Final[Tables] = {
    (): (AthletesTable, ""),
    ("athlete",): (AthleteTable, "athlete"),
}


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
    judge = Judge(document, _TABLES)
    table, problems = judge.read(AthletesTable)
    if table is not None:
        problems += _together(judge, table)
    if problems or table is None:
        raise ProblemsFound(listed(document.name, problems))
    return tuple(Athlete(one.id, one.name, dict(one.loads)) for one in table.athlete)


def _together(judge: Judge, table: AthletesTable) -> Iterator[Problem]:
    ids: set[str] = set()
    names: set[str] = set()
    for place, one in enumerate(table.athlete):
        for key, value, seen in (("id", one.id, ids), ("name", one.name, names)):
            if value and value.casefold() in seen:
                what = f"{judge.where(('athlete', place))}{key} is {as_typed(value)}"
                path = ("athlete", place, key)
                yield judge.document.problem(path, what, f"each {key} once")
            seen.add(value.casefold())
        if one.id == OWNER and one.loads:
            what = f"{judge.where(('athlete', place))}{OWNER} has loads"
            path = ("athlete", place, "loads")
            yield judge.document.problem(path, what, "yours are in the circuits")


def athletes_text(athletes: Iterable[Athlete]) -> str:
    """Write athletes as the text of a file."""
    # Imported here: they are seldom written.
    import tomli_w

    values = {"format": FORMAT, "athlete": [_values(one) for one in athletes]}
    return marked(tomli_w.dumps(values))


def _values(one: Athlete) -> dict[str, Any]:
    loads = {exercise: load.typed for exercise, load in one.loads.items()}
    values = {"id": one.id, "name": one.name, "loads": loads}
    return {key: value for key, value in values.items() if value}


def write_athletes(path: Path, athletes: Iterable[Athlete]) -> None:
    """Write the athletes file, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it; the old
            file still stands.
    """
    write_kept(path, athletes_text(athletes))
