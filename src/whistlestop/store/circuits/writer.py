"""A circuit becomes the text of a file that reads back as the same circuit.

Owns what may be left out, what a new file is called, and that a file somebody wrote
by hand is never written again. Refuses to know how a circuit came about.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from whistlestop.domain.circuit.circuit import UNTIL_KEY, Circuit, Drill, Station
from whistlestop.domain.circuit.edit import settled
from whistlestop.domain.field import is_id, written
from whistlestop.domain.text import shown
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.store.circuits.file import (
    Catalogue,
    facts_of,
    filled,
    library_catalogue,
    parse_circuit,
)
from whistlestop.store.kit.file import is_saved, marked, write_saved
from whistlestop.store.table.text_file import read_text

SUFFIX: Final = ".toml"
FORMAT: Final = 1
_ID_LIMIT: Final = 48


def circuit_text(
    circuit: Circuit, *, stem: str = "", catalogue: Catalogue | None = None
) -> str:
    """Write a circuit as the text of a file, its first line a mark of the program's.

    Only what differs from the defaults of the format and from the library stands
    in it. `settled` is applied first: what no longer counts is left out.

    Args:
        circuit: Any circuit; whether it can be read back, `save_circuit` checks.
        stem: The name of the file without its ending; an id like it is left out.
        catalogue: What the reader fills in; by default the library.
    """
    # Imported here: circuits are seldom written.
    import tomli_w

    known = catalogue or library_catalogue()
    circuit = settled(circuit)
    parts = [tomli_w.dumps(_circuit_values(circuit, stem))]
    for header, items in (
        ("warm_up", circuit.warm_up),
        ("cool_down", circuit.cool_down),
    ):
        parts += [_table(f"[[{header}]]", written(item)) for item in items]
    for station in circuit.stations:
        parts.append(_table("[[station]]", _station_values(station, known)))
        named = _drill_values(station.drill, known)
        parts += [_table("[station.drill]", named)] if named else []
    for number, change in sorted(circuit.loop_changes.items()):
        parts.append(_table("[[loop]]", {"number": number, **written(change)}))
        for place, own in sorted(change.stations.items()):
            values = {"number": place, **written(own)}
            parts.append(_table("[[loop.station]]", values))
    return marked("\n".join(parts))


def _table(header: str, values: dict[str, Any]) -> str:
    import tomli_w

    return f"{header}\n{tomli_w.dumps(values)}"


def _circuit_values(circuit: Circuit, stem: str) -> dict[str, Any]:
    tables = {"stations": circuit.stations, "warm_up": circuit.warm_up,
              "cool_down": circuit.cool_down}  # fmt: skip
    values = written(circuit, {"id": stem, **tables})
    if circuit.break_until_key:
        values["loop_break"] = UNTIL_KEY
    return {"format": FORMAT, **values}


def _station_values(station: Station, known: Catalogue) -> dict[str, Any]:
    # A name of one's own is written even where it gives the call-name.
    facts = facts_of(station.exercise, station.name, known)
    usual = filled(facts)
    if station.exercise not in known.exercises:
        del usual["name"]
    own = tuple(code for code in station.cautions if code not in facts.cautions)
    values = written(replace(station, cautions=own, drill=None), usual)
    if station.drill and not _drill_values(station.drill, known):
        values["drill"] = station.drill.id
    return values


def _drill_values(drill: Drill | None, known: Catalogue) -> dict[str, Any]:
    """The table of a drill with a name of its own; empty where its id is enough."""
    if drill is None or known.drills.get(drill.id) == drill.name:
        return {}
    return written(drill)


# --- Files -----------------------------------------------------------------------


def is_program_owned(path: Path) -> bool:
    """Say whether a file is as the program wrote it; one that is not there is not."""
    try:
        return is_saved(read_text(path))
    except ProblemsFound:
        return False


def save_circuit(
    circuit: Circuit, path: Path, *, catalogue: Catalogue | None = None
) -> None:
    """Write a circuit to a file that is not there, or that is still the program's.

    The new text is read back before anything is written, so that what is saved is
    what was shown. The write is whole or not at all.

    Raises:
        StoreError: The file is somebody's own, the circuit does not fit into a
            file, or the disk does not take it; the old file still stands.
    """
    where = shown(str(path))
    if path.suffix != SUFFIX:
        raise StoreError(f"{where} does not end in {SUFFIX}", "circuits do")
    text = circuit_text(circuit, stem=path.stem, catalogue=catalogue)
    try:
        again = parse_circuit(text, name=path.name, stem=path.stem, catalogue=catalogue)
    except ProblemsFound as found:
        first = found.problems[0]
        wanted = f"; expected {first.expected}" if first.expected else ""
        raise StoreError(
            f"this circuit does not fit into a file: {first.what}{wanted}"
        ) from None
    differing = _differing(settled(circuit), again)
    if differing:
        raise StoreError(f"a circuit file cannot say this: {differing}")
    try:
        is_there = path.is_symlink() or path.exists()
    except OSError:
        is_there = True
    if is_there and not is_program_owned(path):
        raise StoreError(
            f"{where} was written by hand, so it is not changed",
            "save it under another name",
        )
    write_saved(path, text)


def _differing(wanted: Circuit, again: Circuit) -> str:
    """Name the first thing that would not come back from a file."""
    if wanted == again:
        return ""
    for number, (one, other) in enumerate(
        zip(wanted.stations, again.stations, strict=True), 1
    ):
        if one != other:
            if one.tempo is None and other.tempo is not None:
                return f"station {number} without the tempo of the library"
            return f"station {number} without what the library says of it"
    return "its settings"


def id_for(name: str, taken: Collection[str] = ()) -> str:
    """Make an id of a name that may be the stem of a file, and is not taken yet.

    A name of which no letter can be used becomes `circuit`; a number is added
    where the id is taken.
    """
    plain = unicodedata.normalize("NFKD", name).casefold()
    kept = "".join(c if c.isascii() and c.isalnum() else " " for c in plain if not
                   unicodedata.combining(c))  # fmt: skip
    stem = "-".join(kept.split())[:_ID_LIMIT].strip("-")
    if not is_id(stem):
        stem = f"circuit-{stem}"[:_ID_LIMIT].strip("-") if stem else "circuit"
    found, number = stem, 1
    while found in taken:
        number += 1
        tail = f"-{number}"
        found = stem[: _ID_LIMIT - len(tail)].strip("-") + tail
    return found


def under_new_id(
    circuit: Circuit, name: str, folders: Iterable[Path], taken: Collection[str] = ()
) -> Circuit:
    """Give a circuit another name and an id of its own, which no file has either.

    Args:
        circuit: The circuit to be saved elsewhere.
        name: Its new name.
        folders: Where files of circuits lie; their stems are taken as well.
        taken: Ids in use.
    """
    stems = {path.stem for folder in folders for path in _files(folder)}
    return replace(circuit, name=name, id=id_for(name, stems | set(taken)))


def _files(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []
