"""What there is to choose from as one value: stations, their cards, drills.

What ships is the least there is; the athlete's own come over it. It reads no file of
the athlete's; kit and limits are handed in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.kit.substitutions import Means
from whistlestop.domain.limits import Limit
from whistlestop.library import DrillInfo, Exercise, drills, exercises
from whistlestop.library.cards import StationCardText, cards
from whistlestop.library.kit_words import PLACES


@dataclass(frozen=True, slots=True)
class Library:
    """Stations with their cards, and drills, by id; `own` are the athlete's."""

    stations: Mapping[str, Exercise]
    cards: Mapping[str, StationCardText]
    drills: Mapping[str, DrillInfo]
    own: frozenset[str] = frozenset()


@lru_cache(maxsize=1)
def shipped() -> Library:
    """The library that ships, without anything of the athlete's."""
    return Library(exercises(), cards(), drills())


def library_means(
    kit: Kit | None = None,
    limits: tuple[Limit, ...] = (),
    on: date = date.max,
    library: Library | None = None,
) -> Means:
    """Kit and limits beside a library; by default the one that ships."""
    own = library or shipped()
    return Means(
        exercises=own.stations,
        kit=kit,
        limits=limits,
        on=on,
        needs={key: card.needs for key, card in own.cards.items()},
        # Nobody is a place: who trains alone is not offered what takes two.
        places=frozenset(PLACES) - {"partner"},
        skills=own.drills,
    )
