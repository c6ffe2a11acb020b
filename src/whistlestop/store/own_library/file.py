"""The athlete's own stations and drills, checked like those that ship.

Owns what shows only when the entries, the words and the library come together. A
file with a problem gives nothing, so no half of it is used. Refuses to know circuits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, TypeVar

from whistlestop.domain.demands import DEMANDS, MUCH, Asks
from whistlestop.domain.exercise import EYES_CLOSED, DrillInfo, Exercise
from whistlestop.domain.sites import BODY_SITES
from whistlestop.domain.text import as_typed, fold_call_name, shown
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.library import CAUTIONS, PARTS_OF_SIDES, drills, exercises
from whistlestop.library.cards import Neighbour, StationCardText, cards
from whistlestop.library.families import drill_kinds, families, family_of_pattern
from whistlestop.library.finding import nearest_station
from whistlestop.library.kit_words import MOVING, PLACES, THINGS
from whistlestop.library.whole import Library, shipped
from whistlestop.store.circuits.file import (
    Catalogue,
    StationDefaults,
    library_catalogue,
)
from whistlestop.store.own_library.schema import (
    MAX_ENTRIES,
    MAX_WORDS,
    NeighbourTable,
    OwnDrillsTable,
    OwnDrillTable,
    OwnStationsTable,
    OwnStationTable,
)
from whistlestop.store.table.judging import Judge, listed
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import KeyPath, nearest, parse_toml

STATIONS_FILE: Final = "stations.toml"
DRILLS_FILE: Final = "drills.toml"
_LIBRARY_WORD: Final = "a word of the library"
_Entries = TypeVar("_Entries")


@dataclass(frozen=True, slots=True)
class OwnStations:
    """Stations of a file by id, each with its card; `notes` say what they shadow."""

    stations: Mapping[str, Exercise] = field(default_factory=dict)
    cards: Mapping[str, StationCardText] = field(default_factory=dict)
    notes: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnDrills:
    """Drills of a file by id; `notes` say what they shadow."""

    drills: Mapping[str, DrillInfo] = field(default_factory=dict)
    notes: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnLibrary:
    """What the athlete adds to the library; it may shadow what ships.

    `problems` hold of files that are left out for them; `notes` are no problems,
    but say with their place what takes the place of something that ships.
    """

    stations: Mapping[str, Exercise]
    cards: Mapping[str, StationCardText]
    drills: Mapping[str, DrillInfo]
    problems: tuple[Problem, ...] = ()
    notes: tuple[Problem, ...] = ()


def load_own(folder: Path) -> OwnLibrary:
    """Read stations.toml and drills.toml of a folder; a file not there is empty."""
    stations, wrong = _file(folder / STATIONS_FILE, parse_stations, OwnStations())
    skills, also_wrong = _file(folder / DRILLS_FILE, parse_drills, OwnDrills())
    return OwnLibrary(
        stations=stations.stations,
        cards=stations.cards,
        drills=skills.drills,
        problems=(*wrong, *also_wrong),
        notes=(*stations.notes, *skills.notes),
    )


def check_own(path: Path) -> tuple[Problem, ...]:
    """List the problems of a stations.toml or drills.toml; none if it can be used."""
    return _checked(path)[0]


def notes_on_own(path: Path) -> tuple[Problem, ...]:
    """List what is to be known of a stations.toml or drills.toml that can be used."""
    return _checked(path)[1]


def _checked(path: Path) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    parse = parse_drills if path.name == DRILLS_FILE else parse_stations
    try:
        return (), parse(read_text(path), name=shown(str(path))).notes
    except ProblemsFound as found:
        return found.problems, ()


def library_with(own: OwnLibrary) -> Library:
    """The library with the own entries over it, in its place where an id is taken."""
    ships = shipped()
    return Library(
        {**ships.stations, **own.stations},
        {**ships.cards, **own.cards},
        {**ships.drills, **own.drills},
        frozenset(own.stations) | frozenset(own.drills),
    )


def catalogue_with(own: OwnLibrary) -> Catalogue:
    """Make what a circuit may name: the library with the own entries over it."""
    ships = library_catalogue()
    stations = {
        key: StationDefaults(e.name, e.call_name, e.parts, e.tempo, e.kit, e.cautions)
        for key, e in own.stations.items()
    }
    skills = {key: drill.name for key, drill in own.drills.items()}
    return Catalogue(
        {**ships.exercises, **stations}, {**ships.drills, **skills}, ships.cautions
    )


def _file(
    path: Path, parse: Callable[..., _Entries], empty: _Entries
) -> tuple[_Entries, tuple[Problem, ...]]:
    try:
        path.lstat()
    except FileNotFoundError:
        return empty, ()
    except (OSError, ValueError):
        pass  # Reading it names the problem.
    try:
        return parse(read_text(path), name=shown(str(path))), ()
    except ProblemsFound as found:
        return empty, found.problems


# --- Stations ------------------------------------------------------------------


def parse_stations(text: str, *, name: str) -> OwnStations:
    """Read the text of an own stations.toml; `name` stands for it in problems.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    judge = Judge(parse_toml(text, name=shown(name)), OwnStationsTable)
    table, problems = judge.read(OwnStationsTable)
    problems += _repeated(judge, "station")
    for path, entry in _entries(judge, "station"):
        problems += _station_text(judge, path, entry)
    if problems or table is None:
        raise ProblemsFound(listed(name, problems))
    own = {row.id: _card(row) for row in table.station}
    if problems := list(_neighbour_problems(judge, table, own)):
        raise ProblemsFound(listed(name, problems))
    return OwnStations(
        stations=MappingProxyType({row.id: _exercise(row) for row in table.station}),
        cards=MappingProxyType(own),
        notes=tuple(_notes(judge, "station", exercises())),
    )


def _station_text(
    judge: Judge, path: KeyPath, entry: dict[str, Any]
) -> Iterator[Problem]:
    """Judge the words of one station; wrong types are left to the schema."""
    known = family_of_pattern()
    yield from _unknown(judge, (*path, "pattern"), entry.get("pattern"), known)
    yield from _unknown(judge, (*path, "family"), entry.get("family"), families())
    for at, code in _listed_in(entry.get("cautions")):
        yield from _unknown(judge, (*path, "cautions", at), code, CAUTIONS)
    yield from _feature_problems(judge, path, entry)
    yield from _misspelt_kit(judge, (*path, "kit"), entry.get("kit"))
    for at, words in _listed_in(entry.get("instead")):
        yield from _misspelt_kit(judge, (*path, "instead", at), words)
    name = entry.get("name")
    named = isinstance(name, str) and name.strip() and "call_name" not in entry
    if named and not fold_call_name(str(name)):
        what = f"{judge.where(path)}block letters cannot draw this name"
        yield judge.document.problem((*path, "name"), what, "a call_name = beside it")


def _neighbour_problems(
    judge: Judge, table: OwnStationsTable, own: Mapping[str, StationCardText]
) -> Iterator[Problem]:
    every = {**cards(), **own}
    above = _graph(every.values())
    for at, row in enumerate(table.station):
        for key in ("easier", "harder"):
            found: tuple[NeighbourTable, ...] = getattr(row, key)
            for place, one in enumerate(found):
                path = ("station", at, key, place, "to")
                text = _neighbour_fault(every, row.id, one.to)
                if text:
                    what = f"{judge.where(path)}{key} {as_typed(one.to)} {text[0]}"
                    problem = judge.document.problem(path, what, text[1])
                    close = "" if one.to in every else _like(one.to, every)
                    yield replace(problem, nearest=close)
                    continue
                low, high = (row.id, one.to) if key == "harder" else (one.to, row.id)
                if _leads_to(above, high, low):
                    what = f"{judge.where(path)}{key} {as_typed(one.to)} leads in a "
                    what += "circle back to this station"
                    yield judge.document.problem(path, what, "only upward or downward")


def _like(typed: str, every: Mapping[str, StationCardText]) -> str:
    """The station that answers best to a name; one of this file by its id."""
    return nearest_station(typed, every) or nearest(typed, every)


def _neighbour_fault(
    every: Mapping[str, StationCardText], here: str, to: str
) -> tuple[str, str] | None:
    if to == here:
        return "is the station itself", "another station"
    if to not in every:
        return "is not a station", "an id of the library or of this file"
    ours, theirs = every[here].family, every[to].family
    if ours != theirs:
        return f"is of the family {as_typed(theirs)}", f"one of {as_typed(ours)}"
    return None


def _graph(every: Iterable[StationCardText]) -> dict[str, set[str]]:
    """Map each station to those that are harder, whichever of the two says so."""
    above: dict[str, set[str]] = {}
    for one in every:
        above.setdefault(one.id, set()).update(n.to for n in one.harder)
        for neighbour in one.easier:
            above.setdefault(neighbour.to, set()).add(one.id)
    return above


def _leads_to(above: Mapping[str, set[str]], start: str, goal: str) -> bool:
    waiting, seen = [start], {start}
    while waiting:
        here = waiting.pop()
        if here == goal:
            return True
        new = above.get(here, set()) - seen
        seen |= new
        waiting += new
    return False


def _exercise(row: OwnStationTable) -> Exercise:
    """Make a station; what it shadows lends its cautions and what it asks of a site."""
    shipped = exercises().get(row.id)
    lent = shipped.cautions if shipped else ()
    return Exercise(
        id=row.id,
        name=row.name,
        call_name=row.call_name or fold_call_name(row.name),
        region=row.region,
        pattern=row.pattern,
        parts=PARTS_OF_SIDES[row.sides],
        sides=row.sides,
        tempo=str(row.tempo) if row.tempo else None,
        kit=tuple(row.kit),
        position=row.position,
        screen=row.screen,
        cautions=tuple(dict.fromkeys((*lent, *row.cautions))),
        features=tuple(
            dict.fromkeys(
                (*(shipped.features if shipped else ()), *(row.features or ()))
            )
        ),
        exceptions=shipped.exceptions if shipped else _unstated(row.features),
        aliases=tuple(row.aliases),
        spoken=row.spoken,
        contacts_per_minute=row.contacts_per_minute,
    )


def _card(row: OwnStationTable) -> StationCardText:
    return StationCardText(
        id=row.id,
        set_up=row.set_up,
        key_point=row.key_point,
        mistake=row.mistake,
        ease=row.ease,
        stretch=row.stretch,
        needs=(tuple(row.kit), *(tuple(words) for words in row.instead)),
        family=row.family or family_of_pattern()[row.pattern],
        space=row.space,
        noise=row.noise,
        ceiling=row.ceiling,
        floor=row.floor,
        load_kind=row.load,
        grip=row.grip,
        difficulty=row.difficulty,
        easier=tuple(Neighbour(one.to, one.by, one.factor) for one in row.easier),
        harder=tuple(Neighbour(one.to, one.by, one.factor) for one in row.harder),
    )


# --- Drills --------------------------------------------------------------------


def parse_drills(text: str, *, name: str) -> OwnDrills:
    """Read the text of an own drills.toml; `name` stands for it in problems.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    judge = Judge(parse_toml(text, name=shown(name)), OwnDrillsTable)
    table, problems = judge.read(OwnDrillsTable)
    problems += _repeated(judge, "drill")
    for path, entry in _entries(judge, "drill"):
        kind = entry.get("kind")
        problems += _unknown(judge, (*path, "kind"), kind, drill_kinds())
        problems += _misspelt_kit(judge, (*path, "kit"), entry.get("kit"))
        problems += _ladder_problems(judge, path, entry)
        problems += _drill_text(judge, path, entry)
    if problems or table is None:
        raise ProblemsFound(listed(name, problems))
    return OwnDrills(
        drills=MappingProxyType({row.id: _drill(row) for row in table.drill}),
        notes=tuple(_notes(judge, "drill", drills())),
    )


def _feature_problems(
    judge: Judge, path: KeyPath, entry: dict[str, Any]
) -> Iterator[Problem]:
    for at, word in _listed_in(entry.get("features")):
        yield from _unknown(judge, (*path, "features", at), word, DEMANDS)


def _drill_text(
    judge: Judge, path: KeyPath, entry: dict[str, Any]
) -> Iterator[Problem]:
    """Judge cautions and features of a drill, those of its levels among them."""
    for at, code in _listed_in(entry.get("cautions")):
        yield from _unknown(judge, (*path, "cautions", at), code, CAUTIONS)
    yield from _feature_problems(judge, path, entry)
    for at, level in _listed_in(entry.get("from_level")):
        if isinstance(level, dict):
            yield from _feature_problems(judge, (*path, "from_level", at), level)


def _ladder_problems(
    judge: Judge, path: KeyPath, entry: dict[str, Any]
) -> Iterator[Problem]:
    """Judge the ladder, and that eyes close only where they may."""
    place, at = judge.where(path), judge.document.problem
    levels = [level for _, level in _listed_in(entry.get("ladder"))]
    closed = entry.get("eyes_closed") is True
    for number, level in enumerate(levels):
        inner = (*path, "ladder", number)
        if level in levels[:number]:
            yield at(inner, f"{place}level {as_typed(level)} is listed twice", "")
        if isinstance(level, str) and EYES_CLOSED in level and not closed:
            what = f"{place}a level has the eyes closed"
            yield at(inner, what, "eyes_closed = true, with a gate")
    gate = entry.get("gate", "")
    if closed and not gate:
        what = f"{place}the eyes close without a gate"
        yield at((*path, "eyes_closed"), what, "gate = what has to be steady before")
    if gate and not closed:
        what = f"{place}a gate without closed eyes"
        yield at((*path, "gate"), what, "eyes_closed = true beside it")
    moving = [
        word
        for _, word in _listed_in(entry.get("kit"))
        if isinstance(word, str) and word in MOVING
    ]
    if closed and moving:
        what = f"{place}the eyes stay open on {as_typed(moving[0])}"
        yield at((*path, "eyes_closed"), what, "false, or firm floor")


def _drill(row: OwnDrillTable) -> DrillInfo:
    """Make a drill; what it shadows lends its cautions and what it asks of a site."""
    shipped = drills().get(row.id)
    lent = (shipped.cautions, shipped.features) if shipped else ((), ())
    levels = tuple((one.level, tuple(one.features)) for one in row.from_level)
    return DrillInfo(
        id=row.id,
        name=row.name,
        kind=row.kind,
        kit=tuple(row.kit),
        eyes_closed=row.eyes_closed,
        ladder=tuple(row.ladder),
        gate=row.gate,
        key_point=row.key_point,
        loads=tuple(dict.fromkeys(row.loads)),
        impact=row.impact,
        metronome_per_minute=row.metronome_per_minute,
        intensity=row.intensity,
        cautions=tuple(dict.fromkeys((*lent[0], *row.cautions))),
        features=tuple(dict.fromkeys((*lent[1], *(row.features or ())))),
        from_level=levels or (shipped.from_level if shipped else ()),
        exceptions=shipped.exceptions if shipped else _unstated(row.features),
        aliases=tuple(row.aliases),
    )


# --- Both ----------------------------------------------------------------------


def _entries(judge: Judge, kind: str) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
    for place, entry in _listed_in(judge.document.values.get(kind), MAX_ENTRIES):
        if isinstance(entry, dict):
            yield (kind, place), entry


def _listed_in(value: object, most: int = MAX_WORDS) -> list[tuple[int, Any]]:
    """Number the entries of a list; what is beyond the most is one other problem."""
    return list(enumerate(value[:most])) if isinstance(value, list) else []


def _unknown(
    judge: Judge, path: KeyPath, value: object, known: Iterable[str]
) -> Iterator[Problem]:
    words = list(known)
    if not isinstance(value, str) or value.strip() in words:
        return
    last = path[-1]
    # A list holds words of one kind each: cautions, features.
    label = last if isinstance(last, str) else str(path[-2]).removesuffix("s")
    what = f"{judge.where(path)}{label} {as_typed(value)} is not in the library"
    problem = judge.document.problem(path, what, _LIBRARY_WORD)
    yield replace(problem, nearest=nearest(value, words))


def _misspelt_kit(judge: Judge, path: KeyPath, words: object) -> Iterator[Problem]:
    """Find kit words that are nearly those of the library; others are one's own."""
    known = (*THINGS, *PLACES)
    for at, word in _listed_in(words):
        if not isinstance(word, str) or word.strip() in known:
            continue
        if close := nearest(word, known):
            what = f"{judge.where(path)}kit {as_typed(word)} is nearly a word we know"
            expected = f"{_LIBRARY_WORD}, or one less like it"
            problem = judge.document.problem((*path, at), what, expected)
            yield replace(problem, nearest=close)


def _repeated(judge: Judge, kind: str) -> Iterator[Problem]:
    seen: set[str] = set()
    for path, entry in _entries(judge, kind):
        key = entry.get("id")
        if isinstance(key, str) and key in seen:
            what = f"{judge.where(path)}id {as_typed(key)} is taken above"
            yield judge.document.problem((*path, "id"), what, "each id once")
        elif isinstance(key, str):
            seen.add(key)


def _unstated(features: tuple[str, ...] | None) -> tuple[tuple[str, Asks], ...]:
    """Much of every site where nobody has stated what is asked of the body."""
    return tuple((site, MUCH) for site in BODY_SITES) if features is None else ()


def _notes(judge: Judge, kind: str, ships: Iterable[str]) -> Iterator[Problem]:
    """What is to be known of a file that can be used."""
    taken = set(ships)
    yield from _shadows(judge, kind, taken)
    for path, entry in _entries(judge, kind):
        if entry["id"] not in taken and "features" not in entry:
            yield judge.document.problem(
                path,
                f"{judge.where(path)}what it asks of the body is not stated, so it "
                "counts as asking much of every sore site",
                'features = what the body does, as ["squat", "held"], '
                "or [] for nothing",
                at_key=True,
            )


def _shadows(judge: Judge, kind: str, ships: Iterable[str]) -> Iterator[Problem]:
    taken = set(ships)
    for path, entry in _entries(judge, kind):
        if entry["id"] in taken:
            what = f"{judge.where(path)}{as_typed(entry['id'])} takes the place of "
            yield judge.document.problem(
                (*path, "id"), f"{what}the {kind} that ships under this id"
            )
