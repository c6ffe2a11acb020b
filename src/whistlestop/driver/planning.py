"""The weeks of one home: what is wanted, the plan as saved, and what was done of it.

Owns weeks.toml and plan.toml, and laying the log over the plan. Refuses to choose
days and shares: `coach.weeks`, `coach.replanning` and `coach.forecast` do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from functools import partial
from os.path import lexists
from typing import TYPE_CHECKING, Final, cast

from whistlestop.coach.context import CoachContext
from whistlestop.coach.forecast import (
    USUAL_TIME,
    Start,
    days_of_rest,
    forecast,
)
from whistlestop.coach.replanning import PlanRevision, replan
from whistlestop.coach.weeks import (
    APART_DAYS,
    Block,
    PlannedCircuit,
    PlannedSession,
    State,
    Weeks,
    WeekWishes,
    make_weeks,
    unmet,
)
from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.pairing import ALONE
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.targets import MOST_CIRCUITS, Emphasis, Targets
from whistlestop.domain.text import shown
from whistlestop.driver.before_start import against_limits
from whistlestop.driver.coaching import Coaching
from whistlestop.driver.next_steps import with_next_steps
from whistlestop.driver.week_targets import day_wishes, own_targets
from whistlestop.driver.wellbeing import page_first
from whistlestop.errors import UsageError, WhistlestopError
from whistlestop.review.days import DaySpan, week_of
from whistlestop.review.diary import illness_spans
from whistlestop.review.exchange.ical import CalendarSession as Event
from whistlestop.review.wellbeing import last_illness, well_answers
from whistlestop.store.wishes.weeks import (
    SavedPlan,
    SavedSession,
    read_plan,
    read_targets,
    write_plan,
    write_targets,
)

if TYPE_CHECKING:
    from whistlestop.driver.services import Services

MARKS: Final = "ABC"
_BESIDE: Final = "x"
_WHOLE: Final = frozenset({"whole"})


@dataclass(frozen=True, slots=True)
class Outlook:
    """The weeks at one moment: what is wanted, and the plan with what was done.

    `plan` is None where none was saved yet; `before` is what was done shortly before
    its weeks, or in them where there is no plan. `starts` are what a forecast of each
    circuit begins with. `against` are sentences: what of the circuits that are planned
    today's limits stand against.
    """

    targets: Targets
    wishes: WeekWishes
    plan: Weeks | None
    today: date
    before: tuple[PlannedSession, ...] = ()
    starts: Mapping[str, Start] = field(default_factory=dict)
    against: tuple[str, ...] = ()

    def unmet(self, plan: Weeks) -> tuple[str, ...]:
        """Which wishes a plan does not meet, and why, from today on."""
        return unmet(plan, self.wishes, max(plan.first, self.today))


class Planning:
    """Weeks ahead for one home, at the present moment."""

    def __init__(self, services: Services) -> None:
        """Prepare; nothing is read yet."""
        self._services = services

    @property
    def today(self) -> date:
        """The present day, where the athlete is."""
        return self._services.clock.wall().date()

    @property
    def has_targets(self) -> bool:
        """Whether there is a weeks.toml."""
        return lexists(self._services.places.weeks_file)

    @property
    def plan_path(self) -> str:
        """Where the plan is saved, as text."""
        return shown(str(self._services.places.plan_file))

    def targets(self) -> Targets:
        """What is wanted: weeks.toml, else the circuits in use, twice a week.

        Raises:
            ProblemsFound: The file has problems.
            StoreError: The log cannot be read.
        """
        own = own_targets(self._services.places)
        if own is not None:
            return own
        # One that was done from a file elsewhere cannot be planned.
        there = self._services.circuits.find_all().circuits
        every = Coaching(self._services).in_use()
        used = tuple(key for key in every if key in there)[:MOST_CIRCUITS]
        return Targets(began=week_of(self.today).first, circuits=used)

    def outlook(self, targets: Targets | None = None) -> Outlook:
        """What is wanted, and the saved plan with what was done marked in it.

        How much each session still to come has of the work is the coach's forecast of
        today, whatever was saved.

        Raises:
            UsageError: No circuit is named or in use, or one is not there.
            ProblemsFound, StoreError: A file or the log cannot be read.
        """
        wanted = targets or self.targets()
        wishes = self.wishes(wanted)
        saved = self._saved_plan()
        plan = saved or Weeks(week_of(wanted.began).first, wanted.weeks)
        done = self._done_since(plan.first - timedelta(days=APART_DAYS))
        marked = as_done(plan, [pair for pair in done if pair[0] in plan.span])
        before = tuple(
            PlannedSession(f"y{n}", day, circuit, state="done")
            for n, (day, circuit) in enumerate(done)
            if day < plan.first
        )
        if saved is None:
            before += marked.sessions
        known = {circuit.id for circuit in wishes.circuits}
        named = {s.circuit for s in (*marked.sessions, *before)}
        others = tuple(self._beside(key) for key in sorted(named - known))
        starts = self._starts(wanted)
        decisions = Coaching(self._services).decisions()
        resting = days_of_rest(starts, decisions, partial(day_wishes, wanted))
        wishes = replace(wishes, others=others, resting=resting)
        against = tuple(self._against(wanted.circuits))
        outlook = Outlook(wanted, wishes, None, self.today, before, starts, against)
        return (
            replace(outlook, plan=self._foreseen(marked, outlook)) if saved else outlook
        )

    def next_days(self, circuits: Sequence[str]) -> dict[str, date]:
        """The day from today on for which each of these circuits is planned next.

        Raises:
            ProblemsFound, StoreError: The plan or the log cannot be read.
        """
        saved = self._saved_plan()
        if saved is None:
            return {}
        done = self._done_since(saved.first)
        plan = as_done(saved, [pair for pair in done if pair[0] in saved.span])
        found: dict[str, date] = {}
        for session in plan.sessions:
            if session.state == "planned" and session.day >= self.today:
                found.setdefault(session.circuit, session.day)
        return {key: day for key, day in found.items() if key in circuits}

    def _against(self, circuits: Sequence[str]) -> Iterator[str]:
        """What limits stand against: the weeks choose days, and change no circuit."""
        for key in circuits:
            circuit = with_next_steps(self._services, self._services.circuits.read(key))
            plan = compile_plan(circuit)
            for line in against_limits(self._services, plan, ALONE):
                yield f"{circuit.name}, {line[:1].lower()}{line[1:]}"

    def wishes(self, targets: Targets) -> WeekWishes:
        """What is wanted as the coach takes it, the circuits looked up.

        Raises:
            UsageError: No circuit is named, or one is not there.
            ProblemsFound: A circuit has problems.
        """
        if not targets.circuits:
            raise UsageError("no circuit is in use yet", "name one, as next CIRCUIT")
        circuits = [
            self._planned_circuit(key, mark)
            for key, mark in zip(targets.circuits, MARKS, strict=False)
        ]
        return WeekWishes(
            targets.sessions_a_week,
            targets.days,
            tuple(circuits),
            key_weekdays=targets.key_weekdays,
            key_days=targets.key_days,
            away=tuple(DaySpan(first, last) for first, last in targets.away),
            ill=self._ill(),
            races=targets.priorities,
            blocks=tuple(Block(cast("Emphasis", e), n) for e, n in targets.blocks),
        )

    def made(self, outlook: Outlook) -> Weeks:
        """A plan from today on; what lies before stays as it is.

        Raises:
            UsageError: A stop for health waits for its page.
        """
        self._refuse_before_page()
        today = outlook.today
        own = outlook.plan.sessions if outlook.plan else ()
        past = [s for s in own if s.state != "planned" or s.day < today]
        saved = [
            replace(s, state="missed") if s.state == "planned" else s for s in past
        ]
        plan = make_weeks(
            outlook.wishes,
            outlook.targets.began,
            outlook.targets.weeks,
            since=today,
            fixed=(*outlook.before, *saved),
        )
        inside = tuple(s for s in plan.sessions if s.day in plan.span)
        return self._foreseen(replace(plan, sessions=inside), outlook)

    def replanned(self, outlook: Outlook) -> PlanRevision:
        """The saved plan again from today on, changed as little as can be.

        Raises:
            UsageError: No plan was saved yet, or a stop for health waits for its page.
        """
        self._refuse_before_page()
        if outlook.plan is None:
            raise UsageError("no plan saved yet", "next --weeks 8 --keep")
        again = replan(outlook.plan, outlook.wishes, outlook.today)
        known = {s.id for s in outlook.plan.sessions if s.state == "missed"}
        dropped = tuple(key for key in again.dropped if key not in known)
        weeks = self._foreseen(again.weeks, outlook)
        return replace(again, weeks=weeks, dropped=dropped)

    def save(self, plan: Weeks, targets: Targets) -> None:
        """Save a plan, and what was wanted of it where that is not by hand.

        Raises:
            StoreError: A file is somebody's own, or the disk does not take it.
        """
        places = self._services.places
        if not self.has_targets or read_targets(places.weeks_file) != targets:
            write_targets(places.weeks_file, targets)
        write_plan(places.plan_file, _saved_plan_of(plan))

    def events(self, outlook: Outlook, at: time = USUAL_TIME) -> list[Event]:
        """What is still planned, as events of a calendar.

        Raises:
            UsageError, ProblemsFound: A circuit is not there, or has problems.
        """
        if outlook.plan is None:
            return []
        found = []
        for session in outlook.plan.sessions:
            if session.state != "planned" or session.day < outlook.today:
                continue
            circuit = with_next_steps(
                self._services, self._services.circuits.read(session.circuit)
            )
            plan = compile_plan(circuit)
            begin = datetime.combine(session.day, at).astimezone()
            percent = round(session.share * 100)
            lighter = f", {percent} %" if percent < 100 else ""
            name = f"{plan.name}{lighter}"
            found.append(Event(plan.circuit, name, begin, plan.total_ms))
        return found

    # What it is made of

    def _refuse_before_page(self) -> None:
        if problem := page_first(self._services.wellbeing):
            raise UsageError(problem, "next --well, with what it was")

    def _starts(self, targets: Targets) -> dict[str, Start]:
        """What a forecast of each circuit in turn begins with."""
        coaching = Coaching(self._services)
        found = {}
        for key in targets.circuits:
            advice = coaching.advise(self._services.circuits.read(key))
            context = replace(advice.context, races=targets.priorities)
            found[key] = Start(advice.file_circuit, advice.history, context)
        return found

    def _foreseen(self, plan: Weeks, outlook: Outlook) -> Weeks:
        """A plan with what the coach will say; as it was while a page is open."""
        if page_first(self._services.wellbeing):
            return plan
        decisions = Coaching(self._services).decisions()
        on_day = partial(day_wishes, outlook.targets)
        return replace(
            plan,
            sessions=forecast(plan.sessions, outlook.starts, decisions, on_day),
        )

    def _ill(self) -> tuple[DaySpan, ...]:
        """Days of illness, with a day without symptoms after the last of them."""
        diary = self._services.logbook().diary
        spans = illness_spans(diary)
        last = last_illness(spans, self.today)
        if last is None:
            return spans
        days, _ = last
        answered = any(
            answer.about == "illness" and answer.day > days.last
            for answer in well_answers(diary)
        )
        longer = DaySpan(days.first, days.last + timedelta(days=0 if answered else 1))
        return (*spans, longer)

    def _saved_plan(self) -> Weeks | None:
        path = self._services.places.plan_file
        return _plan_of(read_plan(path)) if lexists(path) else None

    def _planned_circuit(self, key: str, mark: str) -> PlannedCircuit:
        circuit = self._services.circuits.read(key)
        facts = CoachContext(circuit=circuit, now=self._services.clock.wall())
        return PlannedCircuit(
            key, mark, facts.regions, facts.is_legs_heavy, circuit.name
        )

    def _done_since(self, day: date) -> list[tuple[date, str]]:
        """Sessions with any work in them: one left in its warm-up was not done."""
        lines = self._services.logbook().done(since=day)
        return [
            (date.fromisoformat(line.wall[:10]), line.circuit)
            for line in reversed(lines)
            if line.circuit and (line.done_work_ms > 0 or line.entered)
        ]

    def _beside(self, key: str) -> PlannedCircuit:
        try:
            return self._planned_circuit(key, "+")
        except WhistlestopError:
            # Its file is not there: it counts for the whole body.
            name = Coaching(self._services).name_of(key)
            return PlannedCircuit(key, "+", _WHOLE, name=name)


def as_done(plan: Weeks, done: Sequence[tuple[date, str]]) -> Weeks:
    """Mark the sessions of a plan that were done, by day and circuit.

    One done on another day of its week is the same session, on that day; what was
    done beside the plan is added with an id of its own, so that its 48 h are kept.
    """
    sessions = {s.id: s for s in plan.sessions}
    open_ids = list(sessions)
    left: list[tuple[date, str]] = []
    for day, circuit in done:
        same = [
            key
            for key in open_ids
            if (sessions[key].day, sessions[key].circuit) == (day, circuit)
        ]
        if same:
            open_ids.remove(same[0])
            sessions[same[0]] = replace(sessions[same[0]], state="done")
        else:
            left.append((day, circuit))
    number = max((int(key[1:]) for key in sessions if _is_beside(key)), default=0)
    for day, circuit in left:
        near = _nearest(day, circuit, [sessions[key] for key in open_ids])
        if near is None:
            number += 1
            key = f"{_BESIDE}{number}"
            sessions[key] = PlannedSession(key, day, circuit, state="done")
        else:
            open_ids.remove(near.id)
            sessions[near.id] = replace(near, day=day, state="done")
    for key in open_ids:
        # What the log has no more was not done; beside the plan it never was there.
        if _is_beside(key):
            del sessions[key]
        elif sessions[key].state == "done":
            sessions[key] = replace(sessions[key], state="planned")
    ordered = sorted(sessions.values(), key=lambda s: (s.day, s.id))
    return Weeks(plan.first, plan.count, tuple(ordered))


def _nearest(
    day: date, circuit: str, among: Sequence[PlannedSession]
) -> PlannedSession | None:
    week = week_of(day)
    near = [
        s
        for s in among
        if s.circuit == circuit and s.day in week and not _is_beside(s.id)
    ]
    return min(near, key=lambda s: (abs((s.day - day).days), s.id), default=None)


def _is_beside(key: str) -> bool:
    digits = key[1:]
    return key[:1] == _BESIDE and digits.isascii() and digits.isdigit()


def _saved_plan_of(plan: Weeks) -> SavedPlan:
    return SavedPlan(
        plan.first,
        plan.count,
        tuple(
            SavedSession(
                s.id, s.day, s.circuit, s.emphasis, round(s.share * 100), s.state
            )
            for s in plan.sessions
        ),
    )


def _plan_of(saved: SavedPlan) -> Weeks:
    return Weeks(
        week_of(saved.first).first,
        saved.weeks,
        tuple(
            PlannedSession(
                s.id,
                s.day,
                s.circuit,
                cast("Emphasis", s.emphasis),
                Fraction(s.percent, 100),
                cast("State", s.state),
            )
            for s in saved.sessions
        ),
    )
