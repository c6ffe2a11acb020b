"""What there is to choose from as one value: stations, their cards, drills.

What ships is the least there is; the athlete's own come over it. It reads no file of
the athlete's; kit and limits are handed in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from whistlestop.domain.exercise import DrillInfo, Exercise
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.kit.means import KnownLoads, Means, Neighbours
from whistlestop.domain.limits import Limit
from whistlestop.library import drills, exercises
from whistlestop.library.cards import StationCardText, cards
from whistlestop.library.first_loads import LEVELS, first_loads
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
    last_kg: Mapping[str, float] | None = None,
    waiting: frozenset[str] = frozenset(),
) -> Means:
    """Kit, limits, last loads and what waits, beside a library; by default as shipped.

    `waiting` are ids of stations and drills that nothing gives unasked.
    """
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
        neighbours=_neighbours(own.cards),
        loads=replace(_first_loads(), last_kg=last_kg or {}),
        difficulty={key: card.difficulty for key, card in own.cards.items()},
        waiting=waiting,
        loadable=frozenset(
            key for key, card in own.cards.items() if card.load_kind == "optional"
        ),
    )


def _neighbours(cards: Mapping[str, StationCardText]) -> Neighbours:
    """The ways of all cards; an own card may say its way to one that ships."""
    easier: dict[str, dict[str, float | None]] = {}
    harder: dict[str, dict[str, float | None]] = {}
    for key, card in cards.items():
        easier[key] = {one.to: one.factor for one in card.easier}
        harder[key] = {one.to: one.factor for one in card.harder}
    return Neighbours(easier, harder)


@lru_cache(maxsize=1)
def _first_loads() -> KnownLoads:
    by_level = {
        level: {
            key: kg
            for key, one in first_loads().items()
            if (kg := one.at(level)) is not None
        }
        for level in LEVELS
    }
    return KnownLoads(by_level["new"], by_level["strong"])
