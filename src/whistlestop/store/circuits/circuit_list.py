"""The circuits of some folders, by id, and what an argument on a command line means.

Owns which files count and that an id is given once. Refuses to know what is in a
circuit file, and never writes.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.text import shown
from whistlestop.errors import Problem, ProblemsFound, UsageError
from whistlestop.store.table.toml_places import nearest

# How a file becomes a circuit; raises ProblemsFound.
ReadCircuit = Callable[[Path], Circuit]

SUFFIX: Final = ".toml"
MAX_FILES: Final = 500


@dataclass(frozen=True, slots=True)
class CircuitEntry:
    """A circuit and the file it came from."""

    circuit: Circuit
    path: Path


@dataclass(frozen=True, slots=True)
class CircuitList:
    """What was found. A circuit whose id is given twice is only in `problems`.

    `circuits` is in the order of the ids; `problems` holds each file that cannot
    be used, with the reasons; `duplicates` the files of an id given twice.
    """

    circuits: Mapping[str, CircuitEntry]
    problems: Mapping[Path, tuple[Problem, ...]]
    duplicates: Mapping[str, tuple[Path, ...]]


def find_circuits(folders: Sequence[Path], *, read: ReadCircuit) -> CircuitList:
    """Read every `.toml` file that lies directly in one of the folders.

    A folder that is not there is empty. A file that cannot be used, for whatever
    reason, becomes a problem beside the others and stops nothing.
    """
    found: dict[str, list[CircuitEntry]] = {}
    problems: dict[Path, tuple[Problem, ...]] = {}
    for path, reason in _files(folders):
        if reason:
            problems[path] = (_about(path, reason),)
            continue
        try:
            circuit = read(path)
        except ProblemsFound as error:
            problems[path] = error.problems
        else:
            found.setdefault(circuit.id, []).append(CircuitEntry(circuit, path))
    duplicates = {
        key: tuple(one.path for one in same)
        for key, same in sorted(found.items())
        if len(same) > 1
    }
    for key, paths in duplicates.items():
        for path in paths:
            others = ", ".join(shown(str(p)) for p in paths if p != path)
            problems[path] = (_about(path, f'the id "{key}" is also in {others}'),)
    circuits = {key: same[0] for key, same in sorted(found.items()) if len(same) == 1}
    return CircuitList(circuits, problems, duplicates)


def _about(path: Path, what: str) -> Problem:
    return Problem(shown(str(path)), 0, 0, what)


def _files(folders: Sequence[Path]) -> Iterator[tuple[Path, str]]:
    """Yield each file once, with the reason why it may not be read, if any."""
    seen: set[Path] = set()
    for folder in folders:
        try:
            home = folder.resolve(strict=True)
            if home in seen:
                continue
            seen.add(home)
            paths = sorted(p for p in folder.iterdir() if _counts(p.name))
        except (FileNotFoundError, NotADirectoryError):
            continue
        except (OSError, RuntimeError, ValueError):
            yield folder, "the folder cannot be read"
            continue
        for path in paths[:MAX_FILES]:
            yield path, _why_not(path, home)
        if len(paths) > MAX_FILES:
            what = f"the folder holds {len(paths):,} circuits; {MAX_FILES} are read"
            yield folder, what


def _counts(name: str) -> bool:
    # Names with a dot in front belong to the system, whatever they end in.
    return name.endswith(SUFFIX) and not name.startswith(".")


def _why_not(path: Path, home: Path) -> str:
    """Say why a file is refused before it is opened, or nothing."""
    try:
        inside = path.resolve(strict=True).parent == home
    except (OSError, RuntimeError):
        return "the link leads nowhere"
    return "" if inside else "the link leads out of the folder"


def resolve(argument: str, folders: Sequence[Path], *, read: ReadCircuit) -> Circuit:
    """Find the circuit that an argument means.

    What holds a path separator or ends in `.toml` is a path, anything else an id.

    Raises:
        ProblemsFound: The file has problems, or the id is in more than one file.
        UsageError: No circuit has this id.
    """
    if is_path(argument):
        return read(Path(argument))
    listing = find_circuits(folders, read=read)
    if argument in listing.circuits:
        return listing.circuits[argument].circuit
    if argument in listing.duplicates:
        paths = listing.duplicates[argument]
        raise ProblemsFound(
            tuple(problem for path in paths for problem in listing.problems[path])
        )
    for path, problems in listing.problems.items():
        if path.name == argument + SUFFIX:
            raise ProblemsFound(problems)
    raise UsageError(
        f'there is no circuit with the id "{shown(argument, 60)}"',
        _hint(argument, listing),
    )


def is_path(argument: str) -> bool:
    """Whether an argument means a file, and not the id of a circuit."""
    separators = {os.sep, os.altsep or os.sep, "/"}
    return argument.endswith(SUFFIX) or any(sign in argument for sign in separators)


def _hint(argument: str, listing: CircuitList) -> str:
    hints = []
    if like := nearest(argument, listing.circuits):
        hints.append(f'nearest id: "{like}"')
    if listing.problems:
        count = len(listing.problems)
        files = "1 file has" if count == 1 else f"{count} files have"
        hints.append(f"{files} problems and cannot be used")
    return "; ".join(hints)
