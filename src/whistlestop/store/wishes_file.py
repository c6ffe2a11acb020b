"""Wishes for a circuit, each under a name: TOML becomes wishes, or a list of problems.

Owns the keys of such a file and whose it is: once changed by hand it is never written
again. Refuses to know kit, limits and how a circuit is found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import Field, PlainValidator

from whistlestop.domain.text import shown
from whistlestop.domain.wishes import (
    ATHLETES,
    DIFFICULTY,
    LOOPS,
    MINUTES,
    RECOVER_S,
    SEED,
    STATIONS,
    WAIVABLE,
    WORK_S,
    Ceiling,
    Noise,
    Space,
    Wishes,
)
from whistlestop.errors import Problem, ProblemsFound, UsageError
from whistlestop.store.circuit_schema import EXPECTED_ID, Name, YesNo, is_id
from whistlestop.store.kit_file import listed, marked, write_kept
from whistlestop.store.kit_schema import (
    FORMAT,
    Judge,
    Table,
    Tables,
    one_of,
    whole,
)
from whistlestop.store.text_file import read_text
from whistlestop.store.toml_places import KeyPath, as_typed, nearest, parse_toml

SUFFIX: Final = ".toml"
MAX_IDS: Final = 60
_LISTS: Final = ("like", "avoid", "keep")

Ids = Annotated[list[Name], Field(default_factory=list, max_length=MAX_IDS)]


class WishesTable(Table):
    """A whole file of wishes of format 1; what is left out is as by default."""

    format: Annotated[int, PlainValidator(whole(FORMAT, FORMAT))]
    minutes: Annotated[int, PlainValidator(whole(*MINUTES))] = 30
    stations: Annotated[int, PlainValidator(whole(*STATIONS))] = 8
    loops: Annotated[int, PlainValidator(whole(*LOOPS))] = 2
    work_s: Annotated[int, PlainValidator(whole(*WORK_S))] | None = None
    recover_s: Annotated[int, PlainValidator(whole(*RECOVER_S))] | None = None
    warm_up: YesNo = True
    difficulty: Annotated[int, PlainValidator(whole(*DIFFICULTY))] = 3
    space: Annotated[Space, PlainValidator(one_of("spot", "mat", "lane"))] = "lane"
    noise: Annotated[Noise, PlainValidator(one_of("quiet", "some", "loud"))] = "loud"
    ceiling: Annotated[Ceiling, PlainValidator(one_of("low", "reach", "jump"))] = "jump"
    like: Ids
    avoid: Ids
    keep: Ids
    waive: Annotated[
        list[Annotated[str, PlainValidator(one_of(*WAIVABLE))]],
        Field(default_factory=list, max_length=20),
    ]
    athletes: Annotated[int, PlainValidator(whole(*ATHLETES))] = 1
    seed: Annotated[int, PlainValidator(whole(*SEED))] = 0


_TABLES: Final[Tables] = {(): (WishesTable, "")}


def read_wishes(path: Path) -> Wishes:
    """Read a file of wishes.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    return parse_wishes(read_text(path), name=shown(str(path)))


def check_wishes(path: Path) -> tuple[Problem, ...]:
    """List the problems of a file of wishes; none where it can be used."""
    try:
        read_wishes(path)
    except ProblemsFound as found:
        return found.problems
    return ()


def parse_wishes(text: str, *, name: str) -> Wishes:
    """Read the text of a file of wishes.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(text, name=shown(name))
    judge = Judge(document, _TABLES)
    table, problems = judge.read(WishesTable)
    problems += _station_problems(judge)
    if problems or table is None:
        raise ProblemsFound(listed(document.name, problems))
    return Wishes(
        minutes=table.minutes,
        stations=table.stations,
        loops=table.loops,
        work_ms=None if table.work_s is None else table.work_s * 1000,
        recover_ms=None if table.recover_s is None else table.recover_s * 1000,
        warm_up=table.warm_up,
        difficulty=table.difficulty,
        space=table.space,
        noise=table.noise,
        ceiling=table.ceiling,
        like=tuple(table.like),
        avoid=tuple(table.avoid),
        keep=tuple(table.keep),
        waived=tuple(table.waive),
        athletes=table.athletes,
        seed=table.seed,
    )


def _station_problems(judge: Judge) -> Iterator[Problem]:
    """Judge what the lists name; wrong types are left to the schema."""
    from whistlestop.library import exercises

    known, document = exercises(), judge.document
    named: dict[str, str] = {}
    for key in _LISTS:
        entries = document.values.get(key)
        for place, word in enumerate(entries if isinstance(entries, list) else ()):
            path: KeyPath = (key, place)
            if not isinstance(word, str):
                continue
            if word not in known:
                what = f"{key}, entry {place + 1}: {as_typed(word)} is not a station"
                problem = document.problem(path, what, "an id of the library")
                yield replace(problem, nearest=nearest(word, known))
            elif named.get(word) == key:
                yield document.problem(path, f"{key} names {word} twice", "once")
            elif key == "keep" and named.get(word) == "avoid":
                what = f"{word} is in both keep and avoid"
                yield document.problem(path, what, "one of the two")
            else:
                named[word] = key
    kept, stations = document.values.get("keep"), document.values.get("stations", 8)
    if isinstance(kept, list) and type(stations) is int and len(kept) > stations > 0:
        what = f"keep has {len(kept)} entries for {stations} stations"
        yield document.problem(("keep",), what, f"{stations} at most")


def wishes_text(wishes: Wishes) -> str:
    """Write wishes as the text of a file; what is as by default is left out."""
    # Imported here: wishes are seldom written.
    import tomli_w

    return marked(tomli_w.dumps({"format": FORMAT, **_values(wishes)}))


def _values(wishes: Wishes) -> Mapping[str, Any]:
    usual = Wishes()
    values: dict[str, Any] = {
        "minutes": wishes.minutes,
        "stations": wishes.stations,
        "loops": wishes.loops,
    }
    for name, key in (("work_ms", "work_s"), ("recover_ms", "recover_s")):
        if (ms := getattr(wishes, name)) is not None:
            values[key] = ms // 1000
    for name in ("warm_up", "difficulty", "space", "noise", "ceiling", "athletes",
                 "seed"):  # fmt: skip
        if getattr(wishes, name) != getattr(usual, name):
            values[name] = getattr(wishes, name)
    for name in _LISTS:
        if getattr(wishes, name):
            values[name] = list(getattr(wishes, name))
    return {**values, "waive": list(wishes.waived)} if wishes.waived else values


def wishes_path(folder: Path, name: str) -> Path:
    """The file of wishes of a name.

    Raises:
        UsageError: It cannot be such a name.
    """
    if not is_id(name):
        raise UsageError(
            f"{shown(name, 40)} is not a valid name for wishes", EXPECTED_ID
        )
    return folder / f"{name}{SUFFIX}"


def wishes_names(folder: Path) -> tuple[str, ...]:
    """The names under which wishes are kept, in order; usable or not."""
    try:
        found = [path.stem for path in folder.iterdir() if path.suffix == SUFFIX]
    except OSError:
        return ()
    return tuple(sorted(filter(is_id, found)))


def write_wishes(path: Path, wishes: Wishes) -> None:
    """Write wishes, unless somebody has written or changed the file by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it; the old
            file still stands.
    """
    write_kept(path, wishes_text(wishes))
