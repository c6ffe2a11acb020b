"""All that the room of the next step shows, read at once.

Owns which circuits are asked about, and what was never used. Refuses to judge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import date
from typing import TYPE_CHECKING

from whistlestop.coach.decisions import Decisions
from whistlestop.coach.instead import rotate
from whistlestop.coach.variety import FreshIdea, something_new
from whistlestop.coach.verdicts import Direction, Proposal
from whistlestop.dataclass import dataclass
from whistlestop.driver.coaching import CircuitAdvice, Coaching
from whistlestop.driver.planning import Planning
from whistlestop.driver.practice import not_practised
from whistlestop.errors import UsageError, WhistlestopError
from whistlestop.library import drills, exercises

if TYPE_CHECKING:
    from whistlestop.coach.context import CoachContext
    from whistlestop.driver.services import Services


@dataclass(frozen=True, slots=True)
class Novelty:
    """What was never used: how many of how many, some names, and one for today."""

    stations: int = 0
    of_stations: int = 0
    drills: int = 0
    of_drills: int = 0
    names: tuple[str, ...] = ()
    pick: FreshIdea | None = None


@dataclass(frozen=True, slots=True)
class NextSteps:
    """The next step for every circuit in use, with what was decided before.

    `rotations` has a proposal, or None, for each of the advices. `planned` has the
    next day of the saved plan for each circuit, from today on.
    """

    advices: tuple[CircuitAdvice, ...] = ()
    rotations: tuple[Proposal | None, ...] = ()
    decisions: Decisions = field(default_factory=Decisions)
    novelty: Novelty = field(default_factory=Novelty)
    problems: tuple[str, ...] = ()
    planned: Mapping[str, date] = field(default_factory=dict)


def look(services: Services) -> NextSteps:
    """Ask the coach about every circuit in use.

    Raises:
        StoreError, ProblemsFound: Log, kit, limits, weeks or decisions cannot be read.
    """
    coaching = Coaching(services)
    decisions = coaching.decisions()
    advices: list[CircuitAdvice] = []
    problems = list(decisions.problems)
    for key in coaching.in_use():
        try:
            circuit = services.circuits.read(key)
        except UsageError:
            problems.append(coaching.file_missing(key))
            continue
        except WhistlestopError as error:
            problems.append(f"{key}: {error}")
            continue
        advices.append(coaching.advise(circuit))
    problems += [each for advice in advices for each in advice.progress.problems]
    planned: Mapping[str, date] = {}
    try:
        planned = Planning(services).next_days(
            [each.answer.circuit for each in advices]
        )
    except WhistlestopError as error:
        problems.append(f"{error}")
    return NextSteps(
        tuple(advices),
        tuple(due_to_change(advice) for advice in advices),
        decisions,
        novelty(services, advices),
        tuple(problems),
        planned,
    )


def due_to_change(advice: CircuitAdvice) -> Proposal | None:
    """What has been in for weeks, to be changed; nothing while less is due."""
    if advice.answer.proposal.direction < Direction.SAME:
        return None
    turn = rotate(advice.history, advice.context)
    return turn if isinstance(turn, Proposal) else None


def novelty(services: Services, advices: Sequence[CircuitAdvice]) -> Novelty:
    """What no session has had; drills are looked for in the sessions replayed."""
    lines = services.logbook().done()
    used = {key for line in lines if line.best_work_ms for key in line.exercises}
    runs = (run for advice in advices for run in advice.history.runs)
    filled = {s.drill for run in runs for s in run.plan.segments if s.drill}
    known, fillers = exercises(), drills()
    unused = (
        tuple(key for key in known if key not in used),
        tuple(key for key in fillers if key not in filled),
    )
    # Nothing new on a day of rest, on the way back or while less is due.
    less = any(a.answer.proposal.direction < Direction.SAME for a in advices)
    is_day = bool(advices) and not less
    pick = _something_new(services, unused, advices[0].context) if is_day else None
    return Novelty(
        len(unused[0]),
        len(known),
        len(unused[1]),
        len(fillers),
        tuple(known[key].name for key in unused[0][:40]),
        pick,
    )


def _something_new(
    services: Services,
    unused: tuple[tuple[str, ...], tuple[str, ...]],
    context: CoachContext,
) -> FreshIdea | None:
    """Something new for today, of what waits for nothing that comes before it."""
    waits = not_practised(services)
    stations, skills = (tuple(x for x in each if x not in waits) for each in unused)
    return something_new((stations, skills), context, drills())
