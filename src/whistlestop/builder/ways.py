"""With what a station can be done here: kit that is owned, and no limit against it.

Owns which of a card's ways are open to a request. Refuses to know loads and rules.
"""

from __future__ import annotations

from functools import lru_cache

from whistlestop.builder.request import Request
from whistlestop.domain.demands import added_by
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.kit import Kit
from whistlestop.library.cards import StationCardText
from whistlestop.library.kit_words import PLACES, THINGS

Way = tuple[str, ...]


def kit_for(request: Request, exercise: Exercise, card: StationCardText) -> Way | None:
    """The first way to do a station with what is there; None where there is none.

    A way that asks too much of a sore site, a weight in a sore hand, is none.
    """
    ways = owned_ways(request, card)
    return next((way for way in ways if is_open(request, exercise, way)), None)


def owned_ways(request: Request, card: StationCardText) -> tuple[Way, ...]:
    """The ways of a card for which everything is there, in its order."""
    there = _there(request.kit, request.space)
    return tuple(way for way in card.needs if there.issuperset(way))


def is_open(request: Request, exercise: Exercise, carried: Way) -> bool:
    """Say whether no limit stands against a station done with this kit."""
    extra = added_by(carried)
    return not any(
        limit.meets(exercise.id, exercise, extra=extra) for limit in request.limits
    )


def is_there(request: Request, thing: str) -> bool:
    """Say whether a thing is owned, or a place is given by the room.

    Walls, posts and marks are taken as given, a clear lane by the space; the
    builder counts on nobody to lend a hand.
    """
    return thing in _there(request.kit, request.space)


@lru_cache(maxsize=64)
def _there(kit: Kit | None, space: str) -> frozenset[str]:
    """Every word of kit and places that is given."""
    places = {word for word in PLACES if word != "partner"}
    if space != "lane":
        places.discard("clear lane")
    return frozenset(places | {t for t in THINGS if kit is None or kit.has(t)})
