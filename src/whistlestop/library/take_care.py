"""The cautions of what is done at one place, in the words that fit it.

One look-up for the Floor, the voice, the line mode and the prints, so that all of
them warn of the same. It refuses to know when and how they are shown.
"""

from __future__ import annotations

from functools import lru_cache

from whistlestop.domain.plan.plan import StationCard
from whistlestop.library.cautions import CAUTIONS, Caution, caution_for
from whistlestop.library.rows import row_of


def station_cautions(card: StationCard) -> tuple[Caution, ...]:
    """Every caution of a station, the gravest first; codes nobody knows are left out.

    A station that does not ship gets the common words.
    """
    return _of_exercise(card.exercise, card.cautions)


@lru_cache(maxsize=128)
def drill_cautions(drill: str | None) -> tuple[Caution, ...]:
    """Every caution of a drill that ships, the gravest first; of others none."""
    known = row_of("drills.toml", "drill", drill) if drill else None
    if known is None:
        return ()
    found, features = known.get("cautions", ()), known.get("features", ())
    return tuple(caution_for(one, known["id"], features) for one in found)


@lru_cache(maxsize=256)
def _of_exercise(exercise: str, codes: tuple[str, ...]) -> tuple[Caution, ...]:
    known = row_of("stations.toml", "station", exercise) if codes else None
    features = known.get("features", ()) if known else ()
    return tuple(
        caution_for(code, exercise, features) for code in codes if code in CAUTIONS
    )
