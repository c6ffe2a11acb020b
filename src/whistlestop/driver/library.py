"""The library of one home: what ships, with the athlete's own over it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from whistlestop.store.places import Places

if TYPE_CHECKING:
    from whistlestop.domain.exercise import DrillInfo, Exercise
    from whistlestop.library.whole import Library
    from whistlestop.store.circuits.file import Catalogue


class LibraryService:
    """Stations, cards and drills to choose from."""

    def __init__(self, places: Places) -> None:
        """Prepare; nothing is read yet."""
        self._places = places

    def own_files(self) -> tuple[Path, ...]:
        """The files of the athlete's own stations and drills; they need not exist."""
        names = ("stations.toml", "drills.toml")
        return tuple(self._places.library / name for name in names)

    def catalogue(self) -> Catalogue | None:
        """The library with the user's own stations; None where there are none."""
        if not self._has_own():
            return None
        from whistlestop.store.own_library.file import catalogue_with, load_own

        return catalogue_with(load_own(self._places.library))

    def whole(self) -> Library:
        """Stations, cards and drills to choose from: what ships, and the own ones.

        A file of the athlete's with a problem adds nothing; `problems` says what is
        wrong with it.
        """
        from whistlestop.library.whole import shipped

        if not self._has_own():
            return shipped()
        from whistlestop.store.own_library.file import library_with, load_own

        return library_with(load_own(self._places.library))

    def own_stations(self) -> Mapping[str, Exercise]:
        """The athlete's own stations by id; none where a file has a problem."""
        if not self._has_own():
            return {}
        whole = self.whole()
        return {key: whole.stations[key] for key in whole.own if key in whole.stations}

    def drills(self) -> Mapping[str, DrillInfo]:
        """The drills of `whole`, without reading its cards where none are own."""
        from whistlestop.library import drills

        return self.whole().drills if self._has_own() else drills()

    def station_places(self) -> dict[str, tuple[str, str]]:
        """Region and pattern of each station of the library, the user's own too."""
        known = self.whole().stations
        return {key: (one.region, one.pattern) for key, one in known.items()}

    def problems(self) -> tuple[str, ...]:
        """What is wrong with the user's own stations and drills, in sentences."""
        if not self._has_own():
            return ()
        from whistlestop.store.own_library.file import load_own

        return tuple(str(one) for one in load_own(self._places.library).problems)

    def _has_own(self) -> bool:
        return any(path.exists() for path in self.own_files())
