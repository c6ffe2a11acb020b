"""What the builder knows of each exercise, and which of them a request leaves.

Everything comes from the library; refuses to know rules of order and the search.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from whistlestop.builder.loads import is_too_heavy, load_of
from whistlestop.builder.request import Request
from whistlestop.builder.ways import is_open, kit_for, owned_ways
from whistlestop.domain.exercise import Exercise
from whistlestop.library import exercises
from whistlestop.library.cards import CEILINGS, NOISES, SPACES, StationCardText, cards
from whistlestop.library.kit_words import PLACES
from whistlestop.library.levels import station_levels, too_hard

FAST: Final = frozenset(
    {"jump", "hinge-power", "rotation-power", "flexion-power", "push-power"}
)
# A throw is no push: nothing of it is held against a load.
PUSH: Final = frozenset(
    {"horizontal-push", "vertical-push", "dip", "squat-and-push", "hinge-and-push"}
)
# Rows and pull-downs alone pull; raises of the arms do not.
PULL: Final = frozenset({"horizontal-pull", "vertical-pull"})
HINGE: Final = frozenset(
    {"hinge", "hinge-power", "hinge-and-push", "bridge", "knee-flexion"}
)
SQUAT: Final = frozenset({"squat", "squat-hold", "squat-and-push", "lunge", "step"})
ANKLE: Final = frozenset({"ankle"})
CARRIES: Final = frozenset(
    {"suitcase-march", "two-hand-march", "front-rack-march", "overhead-march"}
)
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
_HELD: Final = frozenset({"weight", "two weights", "kettlebell"})
Stance = Literal["standing", "kneeling", "hands", "floor"]
_STANCES: Final[Mapping[str, Stance]] = {
    "half-kneeling": "kneeling",
    "tall-kneeling": "kneeling",
    "plank": "hands",
    "hands-and-knees": "hands",
    "on-back": "floor",
    "side-lying": "floor",
    "face-down": "floor",
    "seated": "floor",
}
# Seated against a wall or on a bench, and so not on the floor.
_ON_A_SEAT: Final = frozenset({"squat-hold", "dip", "wrist"})


@dataclass(frozen=True, slots=True)
class Piece:
    """An exercise with the kit and the load it would be done with here.

    `held` is what it carries, with its load: `16 kg`, `2 x 8 kg`, or nothing. `share`
    is how much of a load's gain it brings, in hundredths: 100 is a load that trains.
    `difficulty` is on one scale over the whole library, from 1 up, for somebody
    regular with that load.
    """

    exercise: Exercise
    card: StationCardText
    kit: tuple[str, ...]
    held: str = ""
    share: int = 0
    difficulty: int = 1

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
    def stance(self) -> Stance:
        """How the body is held: what has to be changed to get from one to another."""
        if self.exercise.pattern in _ON_A_SEAT:
            return "standing"
        return _STANCES.get(self.exercise.position, "standing")

    @property
    def is_loaded(self) -> bool:
        """Whether a load is held there."""
        return self.share > 0

    @property
    def is_one_sided(self) -> bool:
        """Whether it is done one side after the other."""
        return self.exercise.sides == "one-then-other"

    @property
    def objects(self) -> frozenset[str]:
        """What has to be at hand, each load a thing of its own; mat and room apart."""
        held = {self.held} if self.held else set()
        rest = {
            _ONE_OBJECT.get(thing, thing)
            for thing in self.kit
            if thing not in SHARED and not (held and thing in _HELD)
        }
        return frozenset(rest | held)


@lru_cache(maxsize=1)
def catalogue() -> tuple[tuple[Exercise, StationCardText], ...]:
    """Every exercise with its card, in the order of the library."""
    known = cards()
    return tuple((exercise, known[key]) for key, exercise in exercises().items())


@lru_cache(maxsize=32)
def pieces(request: Request) -> tuple[Piece, ...]:
    """What a request leaves to choose from, in the order of the library."""
    return tuple(
        piece_of(request, exercise, card)
        for exercise, card in catalogue()
        if not hidden_by(request, exercise, card)
    )


def piece_of(request: Request, exercise: Exercise, card: StationCardText) -> Piece:
    """A station with kit and load as a request leaves them; it must not be hidden."""
    kit = kit_for(request, exercise, card)
    assert kit is not None
    chosen = load_of(exercise, kit, request)
    held = f"{chosen.rung.load}" if chosen.rung else ""
    hard = station_levels()[exercise.id].base + chosen.harder
    return Piece(exercise, card, chosen.kit, held, chosen.share, max(1, hard))


def hidden_by(
    request: Request, exercise: Exercise, card: StationCardText
) -> tuple[str, ...]:
    """Name the wishes that leave an exercise out; empty where it may come.

    The names are avoid, limits, level, practice, space, noise, ceiling, kit and load:
    what is owned for it is too heavy. What is asked for by name waits for no practice,
    and goes without a load that would be too heavy.
    """
    found = []
    if exercise.id in request.avoid:
        found.append("avoid")
    owned = owned_ways(request, card)
    if not any(is_open(request, exercise, way) for way in owned or card.needs):
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
    elif not found and exercise.id not in request.named:
        kit = kit_for(request, exercise, card)
        if kit is not None and is_too_heavy(exercise, kit, request):
            found.append("load")
    return tuple(found)


def _above(scale: Sequence[str], needed: str, there: str) -> bool:
    return scale.index(needed) > scale.index(there)
