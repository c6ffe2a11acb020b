"""What the builder knows of each exercise, and which of them a request leaves.

Everything comes from the library; refuses to know rules of order and the search.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from whistlestop.builder.request import Request
from whistlestop.domain.demands import added_by
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.kit.floor_list import ON_FLOOR
from whistlestop.domain.kit.kit import Kit
from whistlestop.library import exercises
from whistlestop.library.cards import CEILINGS, NOISES, SPACES, StationCardText, cards
from whistlestop.library.kit_words import PLACES, THINGS
from whistlestop.library.levels import too_hard

FAST: Final = frozenset(
    {"jump", "hinge-power", "rotation-power", "flexion-power", "push-power"}
)
PUSH: Final = frozenset(
    {
        "horizontal-push",
        "vertical-push",
        "push-power",
        "dip",
        "squat-and-push",
        "hinge-and-push",
    }
)
# Rows and pull-downs alone pull; raises of the arms count beside them where presses
# are balanced.
ROWS: Final = frozenset({"horizontal-pull", "vertical-pull"})
PULL: Final = ROWS | {"rear-shoulder"}
HINGE: Final = frozenset(
    {"hinge", "hinge-power", "hinge-and-push", "bridge", "knee-flexion"}
)
SQUAT: Final = frozenset({"squat", "squat-hold", "squat-and-push", "lunge", "step"})
AGAINST: Final = frozenset({"anti-rotation", "anti-lateral"})
GRIP: Final = frozenset(
    {"horizontal-pull", "vertical-pull", "carry", "grip", "hinge-power"}
)
# What nobody waits for: it belongs to the room, or lies there all the time.
SHARED: Final = frozenset({"mat", *PLACES})
_ONE_OBJECT: Final = {
    "two weights": "weight",
    "kettlebell": "weight",
    "chair": "bench",
}


@dataclass(frozen=True, slots=True)
class Piece:
    """An exercise with the kit it would be done with here."""

    exercise: Exercise
    card: StationCardText
    kit: tuple[str, ...]

    @property
    def id(self) -> str:
        """The id of the exercise."""
        return self.exercise.id

    @property
    def is_fast(self) -> bool:
        """Whether it is a fast movement."""
        return self.exercise.pattern in FAST

    @property
    def needs_grip(self) -> bool:
        """Whether the hands tire on it."""
        facts = self.exercise
        held = "Gr" in facts.cautions and facts.pattern not in PUSH
        return facts.pattern in GRIP or facts.position == "hanging" or held

    @property
    def on_floor(self) -> bool:
        """Whether the body is on the floor."""
        return self.exercise.position in ON_FLOOR

    @property
    def is_one_sided(self) -> bool:
        """Whether it is done one side after the other."""
        return self.exercise.sides == "one-then-other"

    @property
    def objects(self) -> frozenset[str]:
        """What has to be at hand, sizes apart; room and mat left out."""
        return frozenset(_ONE_OBJECT.get(k, k) for k in self.kit if k not in SHARED)


@lru_cache(maxsize=1)
def catalogue() -> tuple[tuple[Exercise, StationCardText], ...]:
    """Every exercise with its card, in the order of the library."""
    known = cards()
    return tuple((exercise, known[key]) for key, exercise in exercises().items())


def pieces(request: Request) -> tuple[Piece, ...]:
    """What a request leaves to choose from, in the order of the library."""
    return tuple(
        Piece(exercise, card, kit)
        for exercise, card in catalogue()
        if not hidden_by(request, exercise, card)
        and (kit := kit_for(request, exercise, card)) is not None
    )


def hidden_by(
    request: Request, exercise: Exercise, card: StationCardText
) -> tuple[str, ...]:
    """Name the wishes that leave an exercise out; empty where it may come.

    The names are avoid, limits, level, practice, space, noise, ceiling and kit. What
    is asked for by name waits for no practice.
    """
    found = []
    if exercise.id in request.avoid:
        found.append("avoid")
    owned = _owned_ways(request, card)
    if not any(_is_open(request, exercise, way) for way in owned or card.needs):
        found.append("limits")
    if exercise.id not in request.named:
        if exercise.id in too_hard(request.level):
            found.append("level")
        if exercise.id in request.waiting:
            found.append("practice")
    if _above(SPACES, card.space, request.space):
        found.append("space")
    if _above(NOISES, card.noise, request.noise):
        found.append("noise")
    if _above(CEILINGS, card.ceiling, request.ceiling):
        found.append("ceiling")
    if not owned:
        found.append("kit")
    return tuple(found)


def _above(scale: Sequence[str], needed: str, there: str) -> bool:
    return scale.index(needed) > scale.index(there)


def kit_for(
    request: Request, exercise: Exercise, card: StationCardText
) -> tuple[str, ...] | None:
    """The first way to do a station with what is there; None where there is none.

    A way that asks too much of a sore site, a weight in a sore hand, is none.
    """
    ways = _owned_ways(request, card)
    return next((way for way in ways if _is_open(request, exercise, way)), None)


def _owned_ways(request: Request, card: StationCardText) -> tuple[tuple[str, ...], ...]:
    there = _there(request.kit, request.space)
    return tuple(way for way in card.needs if there.issuperset(way))


def _is_open(request: Request, exercise: Exercise, way: tuple[str, ...]) -> bool:
    """Say whether no limit stands against a station done with this kit."""
    extra = added_by(way)
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
