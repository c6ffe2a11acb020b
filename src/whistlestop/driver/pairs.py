"""Two people in this house: who is meant, how far apart they start, what they share.

It brings athletes, kit and library to `domain.sharing`. Prints nothing.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from whistlestop.domain.athlete import (
    OWNER,
    Athlete,
    find_named,
    free_id,
    name_trouble,
)
from whistlestop.domain.circuit import Circuit, Today
from whistlestop.domain.pairing import Company, OwnLoads
from whistlestop.domain.sharing import (
    Pairing,
    Shared,
    best_pairing,
    pair_up,
    pairings,
)
from whistlestop.errors import ProblemsFound, UsageError
from whistlestop.library.kit_words import PLACES
from whistlestop.store.athletes_file import read_athletes, write_athletes

if TYPE_CHECKING:
    from whistlestop.domain.plan import Plan
    from whistlestop.driver.house import House


@dataclass(frozen=True, slots=True)
class Judged:
    """A circuit for two: every offset that was looked at, and the one to take.

    `chosen` is the one asked for, or the best; None where none is free.
    """

    found: tuple[Pairing, ...]
    chosen: Pairing | None


def athletes(house: House) -> tuple[Athlete, ...]:
    """Everybody who is known here; the owner is one of them in any case.

    Raises:
        ProblemsFound: The file of athletes has problems.
    """
    path = house.places.athletes_file
    known = read_athletes(path) if os.path.lexists(path) else ()
    if any(one.id == OWNER for one in known):
        return known
    return (Athlete(OWNER), *known)


def called(house: House, ids: Sequence[str]) -> dict[str, str]:
    """What to call some ids; one without a name here is called by the id.

    A file of athletes that cannot be read keeps nobody from a record.
    """
    try:
        known = {one.id: one.called for one in athletes(house)}
    except ProblemsFound:
        known = {}
    return {who: known.get(who) or Athlete(who).called for who in ids}


def companion(house: House, name: str, *, keep: bool) -> Athlete:
    """Who is meant by a name; somebody new gets the next id.

    Args:
        house: Where they train.
        name: A name, or an id.
        keep: Whether to write somebody new into the file of athletes.

    Raises:
        UsageError: It is no name, or that of the owner.
        StoreError: The file is somebody's own and does not have the name.
        ProblemsFound: The file has problems.
    """
    known = athletes(house)
    found = find_named(known, name)
    if found is not None and found.id == OWNER:
        raise UsageError(
            "--with needs the other person's name", "you are there in any case"
        )
    if found is not None:
        return found
    if trouble := name_trouble(name.strip()):
        raise UsageError(f"--with: not a usable name: {trouble}")
    new = Athlete(free_id(known), name.strip())
    if keep:
        house.places.ensure(house.places.athletes_file.parent)
        write_athletes(house.places.athletes_file, [*known, new])
    return new


def judge(
    house: House,
    circuit: Circuit,
    other: Athlete,
    offset: int | None = None,
    today: Today | None = None,
) -> Judged:
    """Look at the offsets of a circuit for the owner and one other.

    Args:
        house: Whose kit and drills they are.
        circuit: What is to be done.
        other: Who trains along.
        offset: Look at this one alone; None looks at every one.
        today: Changes for this session.

    Raises:
        UsageError: There is no such offset, or the circuit has one station.
        PlanError: The circuit cannot be laid out for anybody.
        ProblemsFound: The kit file has problems.
    """
    shared = Shared(
        house.kit(),
        {key: drill.kit for key, drill in house.drills().items()},
        frozenset(PLACES),
    )
    loads: list[OwnLoads] = [{}, other.loads]
    count = len(circuit.stations)
    if count < 2:
        raise UsageError("two people need two stations", "this circuit has one")
    if offset is None:
        found = pairings(circuit, loads, shared, today)
        return Judged(found, best_pairing(found))
    if not 0 < offset < count:
        raise UsageError(
            f"--offset {offset}: this circuit has offsets 1 to {count - 1}"
        )
    one = pair_up(circuit, offset, loads, shared, today)
    return Judged((one,), one if one.plans else None)


def together(
    house: House,
    circuit: Circuit,
    name: str,
    offset: int | None = None,
    *,
    keep: bool,
    today: Today | None = None,
) -> tuple[Plan, Company, Pairing]:
    """The owner's plan, the company, and what was judged of it.

    An offset that was asked for is taken with its clashes; by itself the program
    takes only one without.

    Raises:
        UsageError: No offset will do; every reason is named.
    """
    other = companion(house, name, keep=False)
    judged = judge(house, circuit, other, offset, today)
    if judged.chosen is None:
        raise UsageError(
            "\n".join(["two people cannot do this circuit:", *reasons(judged)])
        )
    if keep:
        other = companion(house, name, keep=True)
    first, *others = judged.chosen.plans
    company = Company(((other.id, others[0]),), judged.chosen.offset)
    return first, company, judged.chosen


def reasons(judged: Judged) -> list[str]:
    """Why each offset that is not free is not, one line each."""
    lines = []
    for one in judged.found:
        why = one.misfit or next((c.sentence for c in one.clashes), "")
        more = len(one.clashes) - 1
        rest = f"; and {more} more" if more > 0 and not one.misfit else ""
        if why:
            lines.append(f"offset {one.offset}: {why}{rest}")
    return lines
