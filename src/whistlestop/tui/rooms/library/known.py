"""What there is to choose from, beside what is owned and left out: a mark for each.

Pure but for `read_known`, which a thread calls. It knows no screen and no circuit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from whistlestop.domain.circuit.circuit import Station
from whistlestop.domain.demands import added_by
from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.kit.means import Means
from whistlestop.domain.limits import Limit, SwapChoice, swaps
from whistlestop.domain.tempo import parse_tempo
from whistlestop.driver.services import Services
from whistlestop.errors import ProblemsFound
from whistlestop.library.cards import StationCardText
from whistlestop.library.families import Family, families
from whistlestop.library.whole import library_means
from whistlestop.store.own_library.file import library_with, load_own

Mark = Literal["can", "swap", "cannot", "unknown"]
SHAPES: Final[Mapping[Mark, str]] = {
    "can": "●",
    "swap": "◐",
    "cannot": "○",
    "unknown": " ",
}
WORDS: Final[Mapping[Mark, str]] = {
    "can": "can do",
    "swap": "with a swap",
    "cannot": "cannot",
    "unknown": "",
}


@dataclass(frozen=True)
class KnownLibrary:
    """Stations with their cards, drills, and what there is to do them with.

    `problems_found` are sentences on files that could not be used.
    """

    stations: Mapping[str, Exercise]
    cards: Mapping[str, StationCardText]
    drills: Mapping[str, DrillInfo]
    means: Means
    own: frozenset[str] = frozenset()
    problems_found: tuple[str, ...] = ()

    def barred(self, exercise: str) -> Limit | None:
        """The limit in force that is about a station, if there is one."""
        facts = self.stations.get(exercise)
        extra = added_by(self.means.met(exercise) or ())
        found = (
            x for x in self.means.in_force if x.meets(exercise, facts, extra=extra)
        )
        return next(found, None)

    def can(self, exercise: str) -> bool:
        """Whether a station can be done with what is owned, and is not left out."""
        is_met = self.means.met(exercise) is not None
        return is_met and self.barred(exercise) is None

    @cached_property
    def _families_that_can(self) -> Mapping[str, frozenset[str]]:
        found: dict[str, set[str]] = {}
        for key, card in self.cards.items():
            if self.can(key):
                found.setdefault(card.family, set()).add(key)
        return {family: frozenset(keys) for family, keys in found.items()}

    def mark(self, exercise: str) -> Mark:
        """Can do, could do with a swap of the same family, or cannot."""
        if self.means.kit is None and self.barred(exercise) is None:
            return "unknown"
        if self.can(exercise):
            return "can"
        return "swap" if self.swap(exercise) is not None else "cannot"

    def swap(self, exercise: str) -> SwapChoice | None:
        """The best station of the same family that can be done instead."""
        family = self.cards[exercise].family
        able = self._families_that_can.get(family, frozenset()) - {exercise}
        ranked = swaps(
            station_for(self.stations[exercise]),
            {key: self.stations[key] for key in (*able, exercise)},
            None,
            self.means.in_force,
        )
        return ranked[0] if ranked else None

    def drill_mark(self, drill: str) -> Mark:
        """The same for a drill; a swap is another one of its kind."""
        if self.means.kit is None and not self.means.against_drill(drill):
            return "unknown"
        if self._can_drill(drill):
            return "can"
        kind = self.drills[drill].kind
        others = (key for key, d in self.drills.items() if d.kind == kind)
        return "swap" if any(map(self._can_drill, others)) else "cannot"

    def _can_drill(self, drill: str) -> bool:
        is_met = not self.means.missing(self.drills[drill].kit)
        return is_met and not self.means.against_drill(drill)

    def family(self, exercise: str) -> Family | None:
        """The family of a station."""
        return families().get(self.cards[exercise].family)


def station_for(exercise: Exercise) -> Station:
    """Make a plain station of an exercise: its own parts, tempo, kit and cautions."""
    return Station(
        exercise=exercise.id,
        name=exercise.name,
        call_name=exercise.call_name,
        parts=exercise.parts,
        tempo=parse_tempo(exercise.tempo) if exercise.tempo else None,
        kit=exercise.kit,
        cautions=exercise.cautions,
    )


def read_known(services: Services) -> KnownLibrary:
    """Read the library, the athlete's own, kit and limits; a bad file is named."""
    own = load_own(services.places.kit_file.parent)
    problems_found = [str(problem) for problem in own.problems[:1]]
    kit: Kit | None = None
    limits: tuple[Limit, ...] = ()
    try:
        kit = services.kit.owned()
    except ProblemsFound as found:
        problems_found.append(f"The kit cannot be used: {found.problems[0]}")
    try:
        limits = services.kit.limits()
    except ProblemsFound as found:
        problems_found.append(f"The limits cannot be used: {found.problems[0]}")
    library = library_with(own)
    return KnownLibrary(
        stations=library.stations,
        cards=library.cards,
        drills=library.drills,
        means=library_means(kit, limits, services.clock.wall().date(), library),
        own=library.own,
        problems_found=tuple(problems_found),
    )
