"""Wishes for a circuit, each under a name: TOML becomes wishes, or a list of problems.

Owns the keys of such a file and whose it is: once changed by hand it is never written
again. Refuses to know kit, limits and how a circuit is found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from whistlestop.domain.field import EXPECTED_ID, is_id, written
from whistlestop.domain.text import as_typed, shown
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.errors import Problem, ProblemsFound, UsageError
from whistlestop.store.kit.file import marked, write_saved
from whistlestop.store.table.judging import Judge, listed
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import KeyPath, parse_toml

FORMAT: Final = 1
SUFFIX: Final = ".toml"
_LISTS: Final = ("like", "avoid", "keep")


def read_wishes(path: Path) -> CircuitWishes:
    """Read a file of wishes.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    return parse_wishes(read_text(path), name=shown(str(path)))


def parse_wishes(text: str, *, name: str) -> CircuitWishes:
    """Read the text of a file of wishes.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(text, name=shown(name))
    judge = Judge(document, CircuitWishes)
    given, problems = judge.given()
    problems += _station_problems(judge)
    if problems or given is None:
        raise ProblemsFound(listed(document.name, problems))
    return CircuitWishes(**given)


def _station_problems(judge: Judge) -> Iterator[Problem]:
    """Judge what the lists name; wrong types are left to the schema."""
    from whistlestop.library import exercises
    from whistlestop.library.finding import nearest_station

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
                yield replace(problem, nearest=nearest_station(word, known))
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


def wishes_text(wishes: CircuitWishes) -> str:
    """Write wishes as the text of a file; what is as by default is left out."""
    # Imported here: wishes are seldom written.
    import tomli_w

    return marked(tomli_w.dumps({"format": FORMAT, **written(wishes)}))


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
    """The names under which wishes are saved, in order; usable or not."""
    try:
        found = [path.stem for path in folder.iterdir() if path.suffix == SUFFIX]
    except OSError:
        return ()
    return tuple(sorted(filter(is_id, found)))


def write_wishes(path: Path, wishes: CircuitWishes) -> None:
    """Write wishes, unless somebody has written or changed the file by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it; the old
            file still stands.
    """
    write_saved(path, wishes_text(wishes))
