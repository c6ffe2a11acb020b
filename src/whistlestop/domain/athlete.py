"""Who trains: a short local id for the record, a name for the screen and the voice.

The record holds ids alone, so that a name can be changed or taken away without a
journal being touched. Refuses to know files and sessions.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.demands import Strength
from whistlestop.domain.field import (
    DayValue,
    ListOf,
    MapOf,
    Read,
    Wrong,
    table_of,
    value,
)
from whistlestop.domain.limits import SIDE, STRENGTH, Limit
from whistlestop.domain.load import LOAD, Load
from whistlestop.domain.owner import OWNER
from whistlestop.domain.sites import BODY_SITES, site_of
from whistlestop.domain.text import (
    CALL_NAME_LIMIT,
    as_typed,
    first_hostile,
    fold_call_name,
)

MOST_ATHLETES: Final = 20
_ID: Final = re.compile(r"a[1-9]\d?", re.ASCII)
# With "NAME: " and a call-name of four words a sentence stays at six.
MOST_WORDS: Final = 2


def _id(given: object) -> str:
    if not isinstance(given, str) or not is_athlete_id(given):
        raise Wrong(f"is {as_typed(given)}", '"a1" for yourself, "a2" and so on')
    return given


def _name(given: object) -> str:
    if not isinstance(given, str):
        raise Wrong(f"is {as_typed(given)}", 'a name as "Robin"')
    trimmed = given.strip()
    if problem := name_problem(trimmed):
        raise Wrong(f"is {as_typed(given)}", problem)
    return trimmed


def _site(given: object) -> str:
    found = site_of(given) if isinstance(given, str) else None
    if found is None or not found.swaps:
        raise Wrong(f"is {as_typed(given)}", f"one of {', '.join(BODY_SITES)}")
    return found.id


@dataclass(frozen=True, slots=True)
class OwnLimit:
    """A site that a companion leaves out or goes easy on, up to a day."""

    site: str = value(Read(_site))
    until: date = value(DayValue())
    side: str = value(SIDE, "")
    strength: Strength = value(STRENGTH, "out")


@dataclass(frozen=True, slots=True)
class Athlete:
    """A person: `loads` are the own ones, by exercise id.

    `limit` are a companion's sore sites; the owner's stand in a file of their own.
    """

    id: str = value(Read(_id))
    name: str = value(Read(_name), "")
    loads: Mapping[str, Load] = value(MapOf(LOAD, most=200), {})
    limit: tuple[OwnLimit, ...] = value(
        ListOf(table_of(OwnLimit, called="limit"), most=30), ()
    )

    @property
    def limits(self) -> tuple[Limit, ...]:
        """The limits on sore sites, with the name of whose they are."""
        return tuple(
            Limit(
                "site", one.site, one.until, None,
                strength=one.strength, side=one.side, who=self.called,
            )
            for one in self.limit
        )  # fmt: skip

    @property
    def called(self) -> str:
        """The name, or without one what stands for it."""
        return self.name or ("You" if self.id == OWNER else self.id.upper())


def is_athlete_id(text: str) -> bool:
    """Whether a text can be the id of an athlete: `a1` to `a99`."""
    return _ID.fullmatch(text) is not None


def name_problem(name: str) -> str:
    """Why a name cannot be used; "" where it can."""
    if first_hostile(name) or name != name.strip():
        return "it holds a character that may not be shown"
    if len(name) > CALL_NAME_LIMIT or len(name.split()) > MOST_WORDS:
        return f"at most {CALL_NAME_LIMIT} letters in {MOST_WORDS} words are shown"
    if not any(letter.isalpha() for letter in fold_call_name(name)):
        return "block letters A to Z cannot draw it"
    return ""


def find_named(athletes: Iterable[Athlete], name: str) -> Athlete | None:
    """The one of that name, however it is written in capitals; or of that id."""
    wanted = name.strip().casefold()
    matching = (one for one in athletes if wanted in (one.name.casefold(), one.id))
    return next(matching, None) if wanted else None


def free_id(athletes: Iterable[Athlete], used: Iterable[str] = ()) -> str:
    """The first id after the owner's that nobody has."""
    taken = {OWNER, *(one.id for one in athletes), *used}
    return next(f"a{n}" for n in range(2, len(taken) + 3) if f"a{n}" not in taken)
