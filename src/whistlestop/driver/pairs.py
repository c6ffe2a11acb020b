"""Two people in one home: who is meant, how far apart they start, what they share.

It brings athletes, kit and library to `domain.sharing`. Prints nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from whistlestop.domain.athlete import (
    Athlete,
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
from whistlestop.driver.athletes import companion
from whistlestop.errors import UsageError
from whistlestop.library.kit_words import PLACES

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


def judge(
    services: Services,
    circuit: Circuit,
    other: Athlete,
    offset: int | None = None,
    today: Today | None = None,
) -> PairOffsets:
    """Look at the offsets of a circuit for the owner and one other.

    Args:
        services: The home whose kit and drills they use.
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
    other = companion(services.places, name, keep=False)
    judged = judge(services, circuit, other, offset, today)
    if judged.chosen is None:
        raise UsageError(
            "\n".join(["two people cannot do this circuit:", *reasons(judged)])
        )
    if keep:
        other = companion(services.places, name, keep=True)
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
