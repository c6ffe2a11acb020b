"""What the coach will say on the days of a plan, as long as all goes as planned.

Owns running the coach along the calendar: on each day `next_step` is asked on the log
plus the sessions planned before it, each taken as proposed and done whole. Refuses to
choose days, and to have a rule of its own: what it says of today is what `next` says.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import Final

from whistlestop.coach.context import CoachContext, DayWishes
from whistlestop.coach.decisions import Decisions, decide, progress
from whistlestop.coach.history import (
    CircuitHistory,
    CircuitRun,
    Outing,
    SessionFacts,
    StationRun,
    facts_of_run,
)
from whistlestop.coach.next_step import NextStepAnswer, next_step
from whistlestop.coach.verdicts import Direction
from whistlestop.coach.weeks import FULL, PlannedSession
from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.review.wellbeing import WellAnswer, last_illness

# Further ahead a forecast says nothing of use. Common practice, no source.
FORECAST_DAYS: Final = 84
USUAL_TIME: Final = time(18)
_STANDING: Final = frozenset({"rest", "ill", "page"})


@dataclass(frozen=True, slots=True)
class Start:
    """What is known of one circuit now: as its file says it, its log, the context."""

    file_circuit: Circuit
    history: CircuitHistory
    context: CoachContext


def forecast(
    sessions: Sequence[PlannedSession],
    starts: Mapping[str, Start],
    decisions: Decisions,
    on_day: Callable[[date], DayWishes],
) -> tuple[PlannedSession, ...]:
    """Say of each session still to come how much of the work it has, and what changes.

    Example: 3 x 40 s at effort 5, planned twice a week: the same once more, then 45 s.

    Args:
        sessions: All of a plan, by day; those not planned from today on stay.
        starts: What is known of each circuit in turn; others are passed by.
        decisions: All decisions up to now.
        on_day: What the weeks say of a day.
    """
    runners = {key: _Runner(start, decisions, on_day) for key, start in starts.items()}
    made = []
    for session in sessions:
        runner = runners.get(session.circuit)
        if runner is None or session.state != "planned" or not runner.sees(session.day):
            made.append(session)
            continue
        answer = runner.answer(session.day)
        made.append(_with_answer(session, answer))
        for each in runners.values():
            each.did(runner, answer, session.day)
    return tuple(made)


def days_of_rest(
    starts: Mapping[str, Start],
    decisions: Decisions,
    on_day: Callable[[date], DayWishes],
    days: int = 4,
) -> frozenset[tuple[date, str]]:
    """The next days on which the coach has a circuit rest, before anything is done."""
    found = set()
    for key, start in starts.items():
        runner = _Runner(start, decisions, on_day)
        for number in range(days):
            day = start.context.today + timedelta(days=number)
            if runner.answer(day).rule.id in _STANDING:
                found.add((day, key))
    return frozenset(found)


def _with_answer(session: PlannedSession, answer: NextStepAnswer) -> PlannedSession:
    proposal = answer.proposal
    share = FULL
    if proposal.direction is Direction.DOWN and not proposal.lasting:
        share = min(FULL, Fraction(proposal.after.work_ms, proposal.before.work_ms))
    says = "" if answer.rule.id == "same-again" else proposal.title
    is_more = proposal.direction is Direction.UP
    return replace(session, share=share, says=says, is_more=is_more)


class _Runner:
    """One circuit on its way through the calendar."""

    def __init__(
        self,
        start: Start,
        decisions: Decisions,
        on_day: Callable[[date], DayWishes],
    ) -> None:
        self.start = start
        self._decisions = decisions
        self._on_day = on_day
        self._history = start.history
        self._context = start.context
        self._felt = _last_hardness(start)

    def sees(self, day: date) -> bool:
        """Whether a day is neither past nor too far ahead."""
        return 0 <= (day - self.start.context.today).days <= FORECAST_DAYS

    def answer(self, day: date) -> NextStepAnswer:
        """What the coach says on a day; after a rest that is over on that day."""
        context = self._context_on(day)
        answer = next_step(self._history, context)
        if answer.rule.id == "ill" and _is_well(context, day):
            # The question of that day, taken as answered.
            answers = (*context.answers, WellAnswer(day, "illness"))
            self._context = replace(self._context, answers=answers)
            answer = next_step(self._history, self._context_on(day))
        until = answer.proposal.until
        if answer.then is not None and until is not None and until.date() == day:
            return answer.then
        return answer

    def did(self, other: _Runner, answer: NextStepAnswer, day: date) -> None:
        """Take a session of a circuit as done, this one's or another's."""
        context = other._context_on(day)
        proposal = answer.proposal
        if proposal.direction is Direction.REST:
            return
        run = other._run(proposal.circuit, context.now)
        facts = replace(facts_of_run(run), asked=context.asked, regions=context.regions)
        self._took(run.began, facts, context)
        if self is other:
            runs = (*self._history.runs, run)
            self._history = replace(self._history, runs=runs)
            if not proposal.change.is_nothing:
                self._accept(answer, day)

    def _took(
        self, began: datetime, facts: SessionFacts, context: CoachContext
    ) -> None:
        outing = Outing(facts.day, context.regions, context.circuit.name, began)
        self._history = replace(
            self._history,
            outings=(*self._history.outings, outing),
            facts=(*self._history.sessions, facts),
        )

    def _accept(self, answer: NextStepAnswer, day: date) -> None:
        number = len(self._decisions.items)
        file_circuit = self.start.file_circuit
        made = decide(answer.proposal, file_circuit, day, "accept", number=number)
        made = replace(made, id=f"forecast-{number}")
        self._decisions = replace(self._decisions, items=(*self._decisions.items, made))
        now = progress(file_circuit, self._decisions, self._context.library)
        self._context = replace(
            self._context,
            circuit=now.circuit,
            catching_up=now.catching_up,
            drill_levels=now.drill_levels,
            last_step=now.last_step,
            deload_began=now.deload_began,
            put_off=now.put_off,
            refusals=now.refusals,
        )

    def _context_on(self, day: date) -> CoachContext:
        """What is true on a day; today it is what is true now."""
        wishes = self._on_day(day)
        context = self._context
        if day != self.start.context.today:
            moment = datetime.combine(day, USUAL_TIME, context.now.tzinfo)
            context = replace(context, now=moment, marks=frozenset())
        return replace(
            context,
            emphasis=wishes.emphasis,
            deload_weeks=wishes.deload_weeks,
            is_lighter_week=wishes.is_lighter_week,
            key_days=wishes.key_days,
        )

    def _run(self, circuit: Circuit, began: datetime) -> CircuitRun:
        """A session done whole, as hard as the last one known, at most at target."""
        plan = compile_plan(circuit)
        target = self._context.target
        felt = target if self._felt is None else min(self._felt, target)
        return CircuitRun(
            f"forecast {began.date().isoformat()} {circuit.id}",
            began,
            began.date(),
            plan,
            _stations(plan),
            (None,) * plan.loops,
            (True,) * plan.loops,
            session_effort=felt,
        )


def _is_well(context: CoachContext, day: date) -> bool:
    """Whether a day without symptoms may lie between an illness and this day."""
    found = last_illness(context.ill, day)
    return found is not None and day > found[0].last + timedelta(days=1)


def _last_hardness(start: Start) -> float | None:
    known = (run.hardness for run in reversed(start.history.runs))
    return next((felt for felt in known if felt is not None), None)


def _stations(plan: Plan) -> tuple[StationRun, ...]:
    work_ms: dict[int, int] = {}
    for segment in plan.segments:
        if segment.kind is SegmentKind.WORK and segment.station is not None:
            before = work_ms.get(segment.station, 0)
            work_ms[segment.station] = before + segment.duration_ms
    return tuple(
        StationRun(
            card.number,
            card.exercise,
            card.name,
            work_ms.get(card.number, 0),
            work_ms.get(card.number, 0),
            card.load,
        )
        for card in plan.stations
    )
