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
from whistlestop.domain.circuit.circuit import Circuit, Today
from whistlestop.domain.plan.pairing import Company, OwnLoads
from whistlestop.domain.plan.sharing import (
    Pairing,
    SharedKit,
    best_pairing,
    pair_up,
    pairings,
)
from whistlestop.errors import ProblemsFound, UsageError
from whistlestop.library.kit_words import PLACES
from whistlestop.store.settings.athletes import read_athletes, write_athletes

if TYPE_CHECKING:
    from whistlestop.domain.plan.plan import Plan
    from whistlestop.driver.services import Services


@dataclass(frozen=True, slots=True)
class PairOffsets:
    """A circuit for two: every offset that was looked at, and the one to take.

    `chosen` is the one asked for, or the best; None where none is free.
    """

    found: tuple[Pairing, ...]
    chosen: Pairing | None


def athletes(services: Services) -> tuple[Athlete, ...]:
    """Everybody who is known here; the owner is one of them in any case.

    Raises:
        ProblemsFound: The file of athletes has problems.
    """
    path = services.places.athletes_file
    known = read_athletes(path) if os.path.lexists(path) else ()
    if any(one.id == OWNER for one in known):
        return known
    return (Athlete(OWNER), *known)


def called(services: Services, ids: Sequence[str]) -> dict[str, str]:
    """What to call some ids; one without a name here is called by the id.

    A file of athletes that cannot be read keeps nobody from a record.
    """
    try:
        known = {one.id: one.called for one in athletes(services)}
    except ProblemsFound:
        known = {}
    return {who: known.get(who) or Athlete(who).called for who in ids}


def companion(services: Services, name: str, *, keep: bool) -> Athlete:
    """Who is meant by a name; somebody new gets the next id.

    Args:
        services: Where they train.
        name: A name, or an id.
        keep: Whether to write somebody new into the file of athletes.

    Raises:
        UsageError: It is no name, or that of the owner.
        StoreError: The file is somebody's own and does not have the name.
        ProblemsFound: The file has problems.
    """
    known = athletes(services)
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
        services.places.ensure(services.places.athletes_file.parent)
        write_athletes(services.places.athletes_file, [*known, new])
    return new


def judge(
    services: Services,
    circuit: Circuit,
    other: Athlete,
    offset: int | None = None,
    today: Today | None = None,
) -> PairOffsets:
    """Look at the offsets of a circuit for the owner and one other.

    Args:
        services: Whose kit and drills they are.
        circuit: What is to be done.
        other: Who trains along.
        offset: Look at this one alone; None looks at every one.
        today: Changes for this session.

    Raises:
        UsageError: There is no such offset, or the circuit has one station.
        PlanError: The circuit cannot be laid out for anybody.
        ProblemsFound: The kit file has problems.
    """
    shared = SharedKit(
        services.kit.owned(),
        {key: drill.kit for key, drill in services.library.drills().items()},
        frozenset(PLACES),
    )
    loads: list[OwnLoads] = [{}, other.loads]
    count = len(circuit.stations)
    if count < 2:
        raise UsageError("two people need two stations", "this circuit has one")
    if offset is None:
        found = pairings(circuit, loads, shared, today)
        return PairOffsets(found, best_pairing(found))
    if not 0 < offset < count:
        raise UsageError(
            f"--offset {offset}: this circuit has offsets 1 to {count - 1}"
        )
    one = pair_up(circuit, offset, loads, shared, today)
    return PairOffsets((one,), one if one.plans else None)


def together(
    services: Services,
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
    other = companion(services, name, keep=False)
    judged = judge(services, circuit, other, offset, today)
    if judged.chosen is None:
        raise UsageError(
            "\n".join(["two people cannot do this circuit:", *reasons(judged)])
        )
    if keep:
        other = companion(services, name, keep=True)
    first, *others = judged.chosen.plans
    company = Company(((other.id, others[0]),), judged.chosen.offset)
    return first, company, judged.chosen


def reasons(judged: PairOffsets) -> list[str]:
    """Why each offset that is not free is not, one line each."""
    lines = []
    for one in judged.found:
        why = one.misfit or next((c.sentence for c in one.clashes), "")
        more = len(one.clashes) - 1
        rest = f"; and {more} more" if more > 0 and not one.misfit else ""
        if why:
            lines.append(f"offset {one.offset}: {why}{rest}")
    return lines
