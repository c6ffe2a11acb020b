"""Who trains in one home: names, ids, and somebody new."""

from __future__ import annotations

import os
from collections.abc import Sequence

from whistlestop.domain.athlete import Athlete, find_named, free_id, name_problem
from whistlestop.domain.owner import OWNER
from whistlestop.errors import ProblemsFound, UsageError
from whistlestop.store.places import Places
from whistlestop.store.settings.athletes import read_athletes, write_athletes


def athletes(places: Places) -> tuple[Athlete, ...]:
    """Everybody who is known here; the owner is one of them in any case.

    Raises:
        ProblemsFound: The file of athletes has problems.
    """
    path = places.athletes_file
    known = read_athletes(path) if os.path.lexists(path) else ()
    if any(one.id == OWNER for one in known):
        return known
    return (Athlete(OWNER), *known)


def called(places: Places, ids: Sequence[str]) -> dict[str, str]:
    """What to call some ids; one without a name here is called by the id.

    A file of athletes that cannot be read keeps nobody from a record.
    """
    try:
        known = {one.id: one.called for one in athletes(places)}
    except ProblemsFound:
        known = {}
    return {who: known.get(who) or Athlete(who).called for who in ids}


def companion(places: Places, name: str, *, keep: bool) -> Athlete:
    """Who is meant by a name; somebody new gets the next id.

    Args:
        places: Where the file of athletes lies.
        name: A name, or an id.
        keep: Whether to write somebody new into the file of athletes.

    Raises:
        UsageError: It is no name, or that of the owner.
        StoreError: The file is somebody's own and does not have the name.
        ProblemsFound: The file has problems.
    """
    known = athletes(places)
    found = find_named(known, name)
    if found is not None and found.id == OWNER:
        raise UsageError(
            "--with needs the other person's name", "you are there in any case"
        )
    if found is not None:
        return found
    if problem := name_problem(name.strip()):
        raise UsageError(f"--with: not a usable name: {problem}")
    new = Athlete(free_id(known), name.strip())
    if keep:
        places.ensure(places.athletes_file.parent)
        write_athletes(places.athletes_file, [*known, new])
    return new
