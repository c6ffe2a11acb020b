"""What a station or a drill asks of each site of the body, and what a limit allows.

Owns the table from features to sites, and how exceptions and limits are laid over
it. It refuses to know single stations, dates and files: features come in from the
library. All of the table is common practice, no source: a physiotherapist's word
goes before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final, Literal, Protocol

from whistlestop.dataclass import dataclass
from whistlestop.domain.sites import BODY_SITES

Asks = Literal[0, 1, 2]
Strength = Literal["easy", "out"]
NOTHING: Final[Asks] = 0
SOMETHING: Final[Asks] = 1
MUCH: Final[Asks] = 2

_LOWER_LEG: Final = "calf achilles shin ankle foot"
# Feature: sites it asks much of, sites it asks something of.
_TABLE: Final[Mapping[str, tuple[str, str]]] = {
    # Hands and arms that carry the body.
    "hands-on-floor": ("wrist-hand shoulder", "elbow upper-back foot"),
    "hands-and-knees": ("wrist-hand", "shoulder elbow upper-back"),
    "hands-on-wall": ("", "wrist-hand shoulder elbow upper-back ribs"),
    "push-up": ("ribs", ""),
    "one-arm-support": ("shoulder", "ribs"),
    "forearms-on-floor": ("shoulder", "elbow neck foot"),
    "side-plank": ("shoulder ribs", "elbow neck lower-back hip"),
    "plank": ("", "lower-back"),
    # Weights and bands in the hands.
    "overhead": ("shoulder", "elbow wrist-hand neck upper-back lower-back ribs"),
    "reach-overhead": ("", "shoulder"),
    "hands-at-head": ("", "shoulder"),
    "press-lying": ("shoulder", "elbow wrist-hand ribs"),
    "hang": ("shoulder elbow wrist-hand", "upper-back ribs"),
    "pull-up": ("ribs", ""),
    "pull-down": ("shoulder elbow", "wrist-hand upper-back ribs"),
    "row": ("", "shoulder elbow wrist-hand upper-back ribs"),
    "raise-arms": ("shoulder", "upper-back"),
    "rotate-arm": ("shoulder", "elbow wrist-hand"),
    "swing-arms": ("", "shoulder"),
    "racked": ("wrist-hand", "elbow shoulder lower-back"),
    "held-at-chest": ("", "wrist-hand elbow lower-back"),
    "bar-on-back": ("shoulder upper-back lower-back", "wrist-hand elbow neck"),
    "grip": ("wrist-hand", "elbow"),
    "held": ("", "wrist-hand elbow"),
    "bend-elbow": ("elbow wrist-hand", "shoulder"),
    "bend-wrist": ("wrist-hand elbow", ""),
    "throw": ("wrist-hand", "shoulder elbow ribs"),
    "catch": ("", "wrist-hand"),
    "throw-at-wall": ("", "wrist-hand shoulder elbow"),
    "shake-arms": ("shoulder", "wrist-hand elbow lower-back"),
    # Knees and hips that bend.
    "squat": ("knee front-thigh", "hip ankle buttock"),
    "squat-to-seat": ("", "knee front-thigh hip ankle buttock"),
    "dip-knees": ("lower-back", "knee front-thigh"),
    "squat-hold": ("knee front-thigh", "hip ankle"),
    "step": ("knee front-thigh", "hip ankle buttock"),
    "lunge": ("knee front-thigh", "hip groin ankle achilles calf foot buttock"),
    "stride": ("", "hamstring"),
    "side-lunge": ("groin knee front-thigh", "hip ankle buttock"),
    "wide-stance": ("groin", "hip"),
    "squeeze-thighs": ("groin", "knee hip"),
    "kneel": ("knee", "ankle foot"),
    "one-leg": ("", "ankle foot knee hip buttock"),
    "loaded": ("", "lower-back"),
    # Hips and back.
    "hinge": ("lower-back hamstring", "hip wrist-hand upper-back buttock"),
    "hinge-bare": ("", "lower-back hamstring hip buttock"),
    "hinge-held": ("lower-back", "hamstring hip"),
    "hip-drive": ("", "shoulder upper-back"),
    "bridge": ("hamstring buttock", "lower-back hip neck"),
    "curl-leg": ("hamstring", "calf knee"),
    "side-hip": ("hip buttock", ""),
    "lie-on-side": ("", "shoulder hip ribs"),
    "flex-hip": ("hip", "groin front-thigh"),
    "march": ("", "hip"),
    "crunch": ("lower-back", "neck ribs"),
    "curl-up": ("", "lower-back ribs"),
    "head-held": ("neck", ""),
    "head-turned": ("", "neck"),
    "lower-legs": ("lower-back hip", "groin front-thigh"),
    "trunk-still": ("", "lower-back hip"),
    "sit-on-floor": ("", "buttock"),
    "turn-loaded": ("lower-back ribs", "shoulder upper-back hip"),
    "turn-quickly": ("", "groin knee"),
    "resist-turn": ("", "lower-back ribs shoulder"),
    "bend-sideways": ("lower-back ribs", "hip"),
    "resist-side": ("", "lower-back ribs hip"),
    "bend-fast": ("lower-back ribs", "upper-back hip hamstring knee"),
    "extend-back": ("lower-back", "neck hamstring buttock"),
    "face-down": ("", "neck ribs"),
    # Lower legs, and feet that leave the floor.
    "raise-heels": ("calf achilles", "foot ankle shin"),
    "raise-toes": ("shin", "ankle"),
    "walk-loaded": (
        "",
        f"neck shoulder upper-back lower-back hip {_LOWER_LEG}",
    ),
    "walk-tiptoe": (f"{_LOWER_LEG}", ""),
    "jump": (f"knee {_LOWER_LEG}", "hip groin hamstring lower-back buttock"),
    "hop": ("calf achilles shin foot", "ankle knee hip lower-back"),
    "bound-sideways": ("groin", ""),
    "sprint": (f"hamstring knee {_LOWER_LEG}", "groin hip lower-back buttock"),
    "turn-rope": ("", "wrist-hand elbow"),
    "unsteady": ("ankle", "foot knee hip"),
}


@dataclass(frozen=True, slots=True)
class Demand:
    """A feature of a movement, with the sites it asks something of, by site."""

    feature: str
    asks: Mapping[str, Asks]


def _demand(feature: str, much: str, some: str) -> Demand:
    asks: dict[str, Asks] = dict.fromkeys(some.split(), SOMETHING)
    asks.update(dict.fromkeys(much.split(), MUCH))
    return Demand(feature, MappingProxyType(asks))


DEMANDS: Final[Mapping[str, Demand]] = MappingProxyType(
    {key: _demand(key, *sites) for key, sites in _TABLE.items()}
)
# What a weight adds to a station that can be done without one.
WEIGHT_ADDS: Final = ("held",)
# What is held, and not worn or set down on the body.
HAND_WEIGHTS: Final = frozenset(
    {"weight", "two weights", "kettlebell", "bar", "plates", "medicine ball",
     "dead ball"}
)  # fmt: skip
# A sore site is spared from something already where it is left out, from much alone
# where it goes easy.
MOST: Final[Mapping[Strength, Asks]] = MappingProxyType(
    {"out": NOTHING, "easy": SOMETHING}
)


class Movement(Protocol):
    """What is known of a station or a drill here."""

    @property
    def features(self) -> tuple[str, ...]:
        """Features of the table above."""
        ...

    @property
    def exceptions(self) -> tuple[tuple[str, Asks], ...]:
        """Sites with what it asks of them by hand, over what its features say."""
        ...


@dataclass(frozen=True, slots=True)
class SiteLimit:
    """A site that goes easy or is left out; `side` is left, right or "" for both.

    The side does not let anything in: an arm that rests supports the one that works.
    """

    site: str
    strength: Strength = "out"
    side: str = ""


def added_by(kit: Iterable[str]) -> tuple[str, ...]:
    """Features that come on top by what a station is done with."""
    return WEIGHT_ADDS if not HAND_WEIGHTS.isdisjoint(kit) else ()


def asks(movement: Movement, site: str, *, extra: Iterable[str] = ()) -> Asks:
    """Say what a movement asks of a site: 0 nothing, 1 something, 2 much.

    The most that one of its features asks; an exception by hand goes before them.

    Args:
        movement: A station, or a drill.
        site: An id of `sites.SITES`.
        extra: Features that come on top, such as those of a drill's level or
            `WEIGHT_ADDS`. Exceptions lower none of these.

    Raises:
        KeyError: A feature is not in the table.
    """
    own = _most(movement.features, site)
    own = dict(movement.exceptions).get(site, own)
    return max(own, _most(extra, site))


def is_unstated(movement: Movement) -> bool:
    """Say whether nobody has said what a movement asks of the body."""
    return not movement.features and not movement.exceptions


def station_asks(movement: Movement, site: str, *, extra: Iterable[str] = ()) -> Asks:
    """What a station asks of a site: much of every one where nobody has said.

    Raises:
        KeyError: A feature is not in the table.
    """
    return MUCH if is_unstated(movement) else asks(movement, site, extra=extra)


def asked(movement: Movement, *, extra: Iterable[str] = ()) -> dict[str, Asks]:
    """Every site a movement asks something of, in the order of the sites."""
    more = tuple(extra)
    found = {site: asks(movement, site, extra=more) for site in BODY_SITES}
    return {site: value for site, value in found.items() if value}


def allowed(
    movement: Movement, limits: Iterable[SiteLimit], *, extra: Iterable[str] = ()
) -> bool:
    """Say whether no limited site is asked for more than its limit allows."""
    more = tuple(extra)
    return all(
        asks(movement, limit.site, extra=more) <= MOST[limit.strength]
        for limit in limits
    )


def _most(features: Iterable[str], site: str) -> Asks:
    return max((DEMANDS[one].asks.get(site, NOTHING) for one in features), default=0)
