"""What a search of the library goes through: stations and drills with their names.

Owns which names of an entry count. It refuses to know who is searching, and the
order of answers, which is `domain.search`.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping

from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.search import Sought, found, named
from whistlestop.library import exercises
from whistlestop.library.whole import Library, shipped


def sought_station(station: Exercise) -> Sought:
    """A station as a search sees it: found by name, call, aliases and pattern."""
    return Sought(
        station.id,
        station.name,
        (station.call_name, *filter(None, (station.spoken,))),
        station.aliases,
        (station.pattern, station.region),
    )


def sought_drill(drill: DrillInfo) -> Sought:
    """A drill as a search sees it: found by name, aliases and kind."""
    return Sought(drill.id, drill.name, (), drill.aliases, (drill.kind,))


def find_stations(
    typed: str, stations: Mapping[str, Exercise] | None = None
) -> list[str]:
    """Ids of the stations that answer to what is typed, the best first."""
    every = shipped().stations if stations is None else stations
    return [one.id for one in found(map(sought_station, every.values()), typed)]


def find_drills(typed: str, drills: Mapping[str, DrillInfo] | None = None) -> list[str]:
    """Ids of the drills that answer to what is typed, the best first."""
    every = shipped().drills if drills is None else drills
    return [one.id for one in found(map(sought_drill, every.values()), typed)]


def find(typed: str, library: Library | None = None) -> list[str]:
    """Ids of stations and drills that answer to what is typed, the best first."""
    own = library or shipped()
    return [one.id for one in found(_every(own), typed)]


def named_station(typed: str) -> str | None:
    """The id of the station that is called just so, by any of its names; or None."""
    answer = named(map(sought_station, exercises().values()), typed)
    return answer.id if answer is not None else None


def nearest_station(typed: str, known: Container[str]) -> str:
    """The id among those known that answers best to what is typed, or nothing."""
    return next((key for key in find_stations(typed) if key in known), "")


def nearest_drill(typed: str, known: Container[str]) -> str:
    """The id of the drill that answers best to what is typed, or nothing."""
    return next((key for key in find_drills(typed) if key in known), "")


def _every(library: Library) -> Iterator[Sought]:
    yield from map(sought_station, library.stations.values())
    yield from map(sought_drill, library.drills.values())
