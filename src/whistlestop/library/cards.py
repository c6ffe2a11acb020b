"""What stands on the card of a station: its texts, its room, its neighbours.

Apart from the names, since a plan or a run needs only those. It refuses to know
circuits, and what anybody owns.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.exercise import Exercise
from whistlestop.domain.wishes import CEILING, NOISE, SPACE
from whistlestop.library import exercises
from whistlestop.library.families import family_of_pattern
from whistlestop.library.rows import rows

SET_UP_LIMIT: Final = 90
KEY_POINT_LIMIT: Final = 60
KEY_POINT_WORDS: Final = 9  # in files of the athlete's; what ships is whole when spoken
MISTAKE_LIMIT: Final = 70
VARIANT_LIMIT: Final = 50
BY_LIMIT: Final = 40

SPACES: Final = tuple(SPACE.words)
NOISES: Final = tuple(NOISE.words)
CEILINGS: Final = tuple(CEILING.words)
FLOORS: Final = ("any", "soft", "firm", "smooth")
LOAD_KINDS: Final = ("none", "optional", "required", "band")


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A station that differs in one thing; `by` names it as it is over there.

    `factor` is the share of the load each that may go along, 0 to begin without.
    It is None where no load can be scaled: then the first load of the other station
    stands, or body weight.
    """

    to: str
    by: str
    factor: float | None = None


@dataclass(frozen=True, slots=True)
class StationCardText:
    """The card of one station, in the words of station_cards.toml.

    `needs` are alternatives of kit, the usual one first; an empty alternative is
    nothing at all. `ease` and `stretch` change the station itself, `easier` and
    `harder` lead to others. `difficulty` is 1 to 5 within the family.
    """

    id: str
    set_up: str
    key_point: str
    mistake: str
    ease: str
    stretch: str
    needs: tuple[tuple[str, ...], ...]
    family: str
    space: str = "spot"
    noise: str = "quiet"
    ceiling: str = "low"
    floor: str = "any"
    load_kind: str = "none"
    grip: bool = False
    difficulty: int = 3
    easier: tuple[Neighbour, ...] = ()
    harder: tuple[Neighbour, ...] = ()

    def is_met_by(self, owned: frozenset[str]) -> bool:
        """Say whether these kit words, places among them, are enough."""
        return any(owned.issuperset(alternative) for alternative in self.needs)


@lru_cache(maxsize=1)
def cards() -> Mapping[str, StationCardText]:
    """All cards by the id of their station; read once, never changed."""
    known = exercises()
    found = rows("station_cards.toml", "card")
    return MappingProxyType({raw["id"]: _card(raw, known[raw["id"]]) for raw in found})


def card(key: str) -> StationCardText:
    """Get the card of one station that ships.

    Raises:
        KeyError: There is no such station.
    """
    return cards()[key]


def _card(raw: dict[str, Any], exercise: Exercise) -> StationCardText:
    values = dict(raw)
    family = values.pop("family", None) or family_of_pattern()[exercise.pattern]
    return StationCardText(
        needs=(exercise.kit, *values.pop("instead", ())),
        family=family,
        load_kind=values.pop("load"),
        easier=_neighbours(values.pop("easier", ())),
        harder=_neighbours(values.pop("harder", ())),
        **values,
    )


def _neighbours(found: tuple[dict[str, Any], ...]) -> tuple[Neighbour, ...]:
    return tuple(Neighbour(**one) for one in found)
