"""A circuit file becomes a circuit, or a list of everything that is wrong with it.

Owns what shows only when the keys, the library and the plan come together. Refuses
to know folders of circuits.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from operator import itemgetter
from pathlib import Path
from typing import Any

from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import (
    LOOPS,
    MAX_LOOPS,
    MAX_STATIONS,
    STATION_NUMBER,
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
)
from whistlestop.domain.field import EXPECTED_ID, ListOf, TableOf, is_id, value
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.tempo import parse_tempo
from whistlestop.domain.text import as_typed, fold_call_name, shown
from whistlestop.errors import PlanError, Problem, ProblemsFound
from whistlestop.store.table.judging import Judge, listed, problems_of
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import KeyPath, nearest, parse_toml

# --- What only a file has: changes of loops under their numbers ------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _LoopStation(StationInLoop):
    """A `[[loop.station]]`: one station in one loop."""

    number: int = value(STATION_NUMBER)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Loop(LoopChange):
    """A `[[loop]]`: what differs in one loop."""

    number: int = value(LOOPS)
    skip: tuple[int, ...] = value(ListOf(STATION_NUMBER, most=MAX_STATIONS), ())
    station: tuple[Any, ...] = value(
        ListOf(TableOf(_LoopStation, dict, "station"), most=MAX_STATIONS), ()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _CircuitFile(Circuit):
    """A whole file."""

    loop: tuple[Any, ...] = value(
        ListOf(TableOf(_Loop, dict, "loop"), most=MAX_LOOPS), ()
    )


@dataclass(frozen=True, slots=True)
class StationDefaults:
    """What a station takes from the library where the file leaves it out."""

    name: str
    call_name: str
    parts: tuple[str, ...] = ()
    tempo: str | None = None
    kit: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Catalogue:
    """What a file may name: exercises by id, drill names by id, caution codes."""

    exercises: Mapping[str, StationDefaults]
    drills: Mapping[str, str]
    cautions: frozenset[str]


@lru_cache(maxsize=1)
def library_catalogue() -> Catalogue:
    """Make the catalogue of the library that ships with the program.

    Its stations are read one by one: a first start judges some circuits, which name a
    few of them.
    """
    from whistlestop import library
    from whistlestop.library.rows import RowsById

    return Catalogue(
        RowsById("stations.toml", "station", _defaults),
        RowsById("drills.toml", "drill", itemgetter("name")),
        frozenset(library.CAUTIONS),
    )


def _defaults(row: dict[str, Any]) -> StationDefaults:
    from whistlestop.library import PARTS_OF_SIDES

    parts = PARTS_OF_SIDES[row["sides"]]
    named = (row["name"], row["call_name"])
    return StationDefaults(*named, parts, row["tempo"], row["kit"], row["cautions"])


def read_circuit(path: Path, *, catalogue: Catalogue | None = None) -> Circuit:
    """Read one circuit file.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    name = shown(str(path))
    text = read_text(path)
    return parse_circuit(text, name=name, stem=path.stem, catalogue=catalogue)


def check_circuit(
    path: Path, *, catalogue: Catalogue | None = None
) -> tuple[Problem, ...]:
    """List the problems of one circuit file; none where it can be used."""
    return problems_of(lambda: read_circuit(path, catalogue=catalogue))


def parse_circuit(
    text: str, *, name: str, stem: str, catalogue: Catalogue | None = None
) -> Circuit:
    """Read the text of a circuit file.

    Args:
        text: TOML 1.0 of format 1.
        name: What stands for the file in problems.
        stem: The id where the text gives none.
        catalogue: What the text may name; by default the library.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(text, name=shown(name))
    known = catalogue or library_catalogue()
    judge = Judge(document, _CircuitFile)
    given, problems = judge.given()
    if "id" not in document.values and not is_id(stem):
        what = f"the file's name, {as_typed(stem)}, is not an id"
        expected = f"{EXPECTED_ID}, or id = in the file"
        problems.append(document.problem((), what, expected))
    problems += _station_problems(judge, known)
    problems += _loop_problems(judge)
    if problems or given is None:
        raise ProblemsFound(listed(document.name, problems))
    circuit = _circuit(given, stem, known)
    if problems := list(_plan_problems(judge, circuit)):
        raise ProblemsFound(listed(document.name, problems))
    return circuit


# --- What shows only together ------------------------------------------------
# These look at the plain values, so that they speak up beside the schema's own
# problems; whatever has the wrong shape is left to the schema.


def _tables(value: object) -> Iterator[tuple[int, dict[str, Any]]]:
    """Walk a list of tables with the place of each, passing over the rest.

    What lies beyond the longest list allowed is one problem of the schema.
    """
    entries = value[:MAX_STATIONS] if isinstance(value, list) else []
    for place, entry in enumerate(entries):
        if isinstance(entry, dict):
            yield place, entry


def _number(value: object) -> int:
    """Take a whole number from 1, or 0 for anything else."""
    return value if type(value) is int and value > 0 else 0


def _station_problems(judge: Judge, known: Catalogue) -> Iterator[Problem]:
    for place, station in _tables(judge.document.values.get("station")):
        path: KeyPath = ("station", place)
        yield from _unknown_id(judge, (*path, "exercise"), known.exercises, station)
        yield from _call_problems(judge, path, station, known)
        drill = station.get("drill")
        if isinstance(drill, dict):
            inner = (*path, "drill", "id")
            yield from _unknown_id(judge, inner, known.drills, drill)
        else:
            yield from _unknown_id(judge, (*path, "drill"), known.drills, {})
        cautions = station.get("cautions")
        for entry, code in enumerate(cautions if isinstance(cautions, list) else []):
            if isinstance(code, str) and code.strip() not in known.cautions:
                yield replace(
                    judge.document.problem(
                        (*path, "cautions", entry),
                        f"{judge.where(path)}caution {as_typed(code)} is unknown",
                        "a code of the library",
                    ),
                    nearest=nearest(code, known.cautions),
                )


def _unknown_id(
    judge: Judge,
    path: KeyPath,
    known: Mapping[str, object],
    beside: dict[str, Any],
) -> Iterator[Problem]:
    """Judge an id that must be in the library unless a name stands beside it."""
    value: Any = judge.document.values
    for step in path:
        value = value.get(step) if isinstance(value, dict) else value[step]
    if not isinstance(value, str) or not is_id(value):
        return
    if value in known or "name" in beside:
        return
    word = "drill" if "drill" in path else "exercise"
    what = f"{judge.where(path)}{word} {as_typed(value)} is not in the library"
    expected = "an id of the library, or a name of your own beside it"
    problem = judge.document.problem(path, what, expected)
    # Imported here: most files have no problem.
    from whistlestop.library.finding import nearest_drill, nearest_station

    found = (nearest_drill if word == "drill" else nearest_station)(value, known)
    # An entry of one's own is found by its id.
    yield replace(problem, nearest=found or nearest(value, known))


def _call_problems(
    judge: Judge, path: KeyPath, station: dict[str, Any], known: Catalogue
) -> Iterator[Problem]:
    exercise, name = station.get("exercise"), station.get("name")
    if not isinstance(exercise, str) or exercise in known.exercises:
        return
    named = isinstance(name, str) and name.strip() and "call" not in station
    if named and not fold_call_name(str(name)):
        what = f"{judge.where(path)}block letters cannot draw this name"
        yield judge.document.problem((*path, "name"), what, "a call = beside it")


def _loop_problems(judge: Judge) -> Iterator[Problem]:
    values = judge.document.values
    stations = values.get("station")
    count = len(stations) if isinstance(stations, list) else 0
    loops = values.get("loops", 1)
    seen: set[int] = set()
    for place, loop in _tables(values.get("loop")):
        path: KeyPath = ("loop", place)
        number = _number(loop.get("number"))
        if number and number in seen:
            what = f"loop {as_typed(number)} is described twice"
            yield judge.document.problem(
                (*path, "number"), what, "one [[loop]] for each"
            )
        elif number and _number(loops) and number > loops:
            what = f"there is no loop {as_typed(number)}"
            yield judge.document.problem(
                (*path, "number"), what, f"1 to {as_typed(loops)}, as loops says"
            )
        seen.add(number)
        if count:
            yield from _loop_station_problems(judge, path, loop, count)


def _loop_station_problems(
    judge: Judge, path: KeyPath, loop: dict[str, Any], count: int
) -> Iterator[Problem]:
    place = judge.where(path)
    named: list[tuple[KeyPath, object]] = []
    skip = loop.get("skip")
    left_out = {_number(n) for n in skip} if isinstance(skip, list) else set()
    for entry, number in enumerate(skip if isinstance(skip, list) else []):
        named.append(((*path, "skip", entry), number))
    seen: set[int] = set()
    for entry, station in _tables(loop.get("station")):
        inner: KeyPath = (*path, "station", entry, "number")
        number = _number(station.get("number"))
        named.append((inner, number))
        if station.get("skip") is True:
            left_out.add(number)
        if number and number in seen:
            what = f"{place}station {as_typed(number)} is described twice"
            yield judge.document.problem(inner, what, "one [[loop.station]] for each")
        seen.add(number)
    for where_named, number in named:
        if _number(number) > count:
            what = f"{place}there is no station {as_typed(number)}"
            yield judge.document.problem(where_named, what, f"1 to {count}")
    if set(range(1, count + 1)) <= left_out:
        what = f"{place}every station is skipped"
        yield judge.document.problem(path, what, "at least one to be left")


def _plan_problems(judge: Judge, circuit: Circuit) -> Iterator[Problem]:
    """Lay the circuit out; every station that does not fit is a problem."""
    fault = _plan_error(circuit)
    if fault is None:
        return
    # The plan stops at the first fault. Loop by loop, a station at fault is made
    # plain, so that the next one comes to light.
    for loop in range(1, circuit.loops + 1) if fault.station else ():
        changes = {1: circuit.loop_changes.get(loop, LoopChange())}
        alone = replace(circuit, loops=1, loop_changes=changes)
        while (fault := _plan_error(alone)) and fault.station:
            index = fault.station - 1
            path: KeyPath = ("station", index)
            in_loop = f"loop {loop}, " if loop in circuit.loop_changes else ""
            what = f"{in_loop}{judge.where(path)}{fault.bare}"
            yield judge.document.problem(path, what)
            stations = list(alone.stations)
            stations[index] = replace(stations[index], parts=(), changeover_ms=None)
            alone = replace(alone, stations=tuple(stations))
        circuit = replace(circuit, stations=alone.stations)
    if whole := _plan_error(circuit):
        yield judge.document.problem(("loops",), whole.bare)


def _plan_error(circuit: Circuit) -> PlanError | None:
    """Find the first thing that does not fit."""
    try:
        compile_plan(circuit)
    except PlanError as error:
        return error
    return None


# --- Into the domain ---------------------------------------------------------


def _circuit(given: dict[str, Any], stem: str, known: Catalogue) -> Circuit:
    changes = {loop["number"]: _loop_change(loop) for loop in given.pop("loop", ())}
    break_ms = given.get("loop_break_ms", 0)
    given |= {
        "id": given.get("id", stem),
        "stations": tuple(_station(station, known) for station in given["stations"]),
        "loop_break_ms": break_ms or None,
        "break_until_key": break_ms is None,
        "loop_changes": changes,
    }
    return Circuit(**given)


def facts_of(exercise: str, name: str, known: Catalogue) -> StationDefaults:
    """What the library says of an exercise; of an unknown one, what its name says."""
    facts = known.exercises.get(exercise)
    return facts or StationDefaults(name, fold_call_name(name))


def filled(facts: StationDefaults) -> dict[str, Any]:
    """The values of a station that a file may leave to the library."""
    return {
        "name": facts.name,
        "call_name": facts.call_name,
        "parts": facts.parts,
        "tempo": parse_tempo(facts.tempo) if facts.tempo else None,
        "kit": facts.kit,
    }


def _station(given: dict[str, Any], known: Catalogue) -> Station:
    """Fill what the file leaves out from the library; its cautions always stay."""
    exercise = given["exercise"]
    facts = facts_of(exercise, given.get("name", exercise), known)
    if drill := given.get("drill"):
        given["drill"] = Drill(**{"name": known.drills.get(drill["id"]), **drill})
    cautions = dict.fromkeys((*facts.cautions, *given.get("cautions", ())))
    return Station(**{**filled(facts), **given, "cautions": tuple(cautions)})


def _loop_change(given: dict[str, Any]) -> LoopChange:
    stations = {}
    for own in given.pop("station", ()):
        number = own.pop("number")
        stations[number] = StationInLoop(**own)
    for number in given.pop("skip", ()):
        stations[number] = replace(stations.get(number, StationInLoop()), skip=True)
    del given["number"]
    return LoopChange(**given, stations=stations)
