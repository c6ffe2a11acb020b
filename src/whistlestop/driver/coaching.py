"""What the coach is fed with, and where decisions are saved.

Owns reading records, kit and decisions for `coach`, and appending a decision to
`decisions.jsonl` in the log folder. Refuses to judge and to print.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, timedelta, tzinfo
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

from whistlestop.coach.context import CoachContext, DayWishes
from whistlestop.coach.decisions import (
    PUT_OFF_DAYS,
    Choice,
    Decision,
    Decisions,
    Progress,
    decide,
    decision_fields,
    fold,
    progress,
    session_circuit,
)
from whistlestop.coach.history import (
    ANY_REGION,
    CircuitHistory,
    SessionFacts,
    asked_of,
    felt_by_site,
    history_of,
    sides_by_site,
    with_reason,
)
from whistlestop.coach.next_step import NextStepAnswer, next_step
from whistlestop.coach.outcomes import outcome_text
from whistlestop.coach.refusals import unexplained
from whistlestop.coach.soreness import offered_limits
from whistlestop.coach.verdicts import Proposal
from whistlestop.dataclass import dataclass
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.day import parse_day
from whistlestop.domain.limits import Limit
from whistlestop.domain.reasons import CUT_REASONS, CutReason, RefusalReason
from whistlestop.domain.targets import Emphasis
from whistlestop.driver.practice import not_practised
from whistlestop.driver.week_targets import day_wishes, own_targets
from whistlestop.errors import StoreError, UsageError
from whistlestop.library import exercises
from whistlestop.review.amended import local_day
from whistlestop.review.days import Training
from whistlestop.review.diary import illness_spans, trainings_of
from whistlestop.review.record import SessionRecord
from whistlestop.review.wellbeing import morning_answers, well_answers
from whistlestop.store.diary.copies import DiaryWithCopies, read_with_copies, take_over
from whistlestop.store.diary.file import DECISIONS_NAME, append_step
from whistlestop.store.journal.index import SessionLine
from whistlestop.store.kit.limits import write_limits

if TYPE_CHECKING:
    from whistlestop.domain.exercise import Exercise
    from whistlestop.driver.logbook import Logbook
    from whistlestop.driver.services import Services

# A circuit is in use if it was done in these days; older ones are asked for by name.
IN_USE_DAYS: Final = 90
# So many sessions of a circuit are replayed, and the rest only counted as days.
MOST_REPLAYED: Final = 60
_NEAR_DAYS: Final = 3


@dataclass(frozen=True, slots=True)
class CoachWishes:
    """What the athlete asks of the coach for now; None: as weeks.toml says, if at all.

    `key_days` are added to those of weeks.toml.
    """

    emphasis: Emphasis | None = None
    target_effort: float | None = None
    key_days: frozenset[date] = frozenset()
    after_injury: bool = False


@dataclass(frozen=True, slots=True)
class CircuitAdvice:
    """An answer for one circuit with what it rests on.

    `file_circuit` is as its file says it, `progress` has the accepted steps in it,
    `session` is what the coming session would be as things were decided, `context`
    what the rules were asked with.
    """

    answer: NextStepAnswer
    file_circuit: Circuit
    progress: Progress
    session: Circuit
    history: CircuitHistory
    outcome: str
    context: CoachContext


class Coaching:
    """The coach of one home, at the present moment."""

    def __init__(self, services: Services) -> None:
        """Prepare; nothing is read yet."""
        self._services = services
        self._path: Path = services.places.log / DECISIONS_NAME

    def decisions(self) -> Decisions:
        """All decisions.

        Raises:
            StoreError: They cannot be read.
        """
        lines = read_with_copies(self._path)
        found = fold(line.fields for line in lines.lines if line.counts)
        named = tuple(f"decisions, {p}" for p in (*found.problems, *lines.problems))
        return Decisions(found.items, named)

    def in_use(self) -> tuple[str, ...]:
        """Ids of the circuits done in the last 90 days, the latest first."""
        since = self._services.clock.wall().date() - timedelta(days=IN_USE_DAYS)
        lines = self._services.logbook().done(since=since)
        return tuple(dict.fromkeys(line.circuit for line in lines if line.circuit))

    def name_of(self, circuit: str) -> str:
        """What a circuit was called when it was done last; its id if it never was.

        Raises:
            StoreError: The log cannot be read.
        """
        done = self._services.logbook().done()
        return next((x.name for x in done if x.circuit == circuit and x.name), circuit)

    def file_missing(self, circuit: str) -> str:
        """What to say of a circuit in use that is not among the athlete's circuits.

        Raises:
            StoreError: The log cannot be read.
        """
        return (
            f"{self.name_of(circuit)}: done from a file that is not among your "
            f"circuits; `log save-circuit {circuit}` puts it there"
        )

    def with_steps(self, circuit: Circuit) -> Progress:
        """A circuit with the steps that were accepted for it.

        Raises:
            StoreError: The decisions cannot be read.
        """
        return progress(circuit, self.decisions(), exercises())

    def session(self, circuit: Circuit, *, with_log: bool = True) -> Circuit:
        """What the coming session of a circuit is, as things were decided.

        Without the log a lighter session counts as not done yet.

        Raises:
            StoreError: The decisions or the log cannot be read.
        """
        decisions = self.decisions()
        now = progress(circuit, decisions, exercises())
        moment = self._services.clock.wall()
        zone = moment.tzinfo or UTC
        if with_log:
            history = self._history(circuit.id, self._services.logbook(), zone)
        else:
            history = history_of(circuit.id, (), (), zone, _regions())
        return session_circuit(now, decisions, history, moment.date(), exercises())

    def advise(
        self, circuit: Circuit, wants: CoachWishes | None = None
    ) -> CircuitAdvice:
        """Say what next for a circuit, as its file says it.

        Raises:
            StoreError, ProblemsFound: Log, kit, limits or decisions cannot be read.
        """
        wanted = wants or CoachWishes()
        decisions = self.decisions()
        now = progress(circuit, decisions, exercises())
        moment = self._services.clock.wall()
        logbook = self._services.logbook()
        history = self._history(circuit.id, logbook, moment.tzinfo or UTC)
        today = moment.date()
        targets = own_targets(self._services.places)
        weeks = DayWishes() if targets is None else day_wishes(targets, today)
        context = CoachContext(
            circuit=now.circuit,
            now=moment,
            kit=self._services.kit.owned(),
            limits=self._services.kit.limits(),
            emphasis=wanted.emphasis or weeks.emphasis,
            target_effort=wanted.target_effort,
            deload_weeks=weeks.deload_weeks,
            is_lighter_week=weeks.is_lighter_week,
            key_days=wanted.key_days | weeks.key_days,
            after_injury=wanted.after_injury,
            ill=illness_spans(logbook.diary),
            answers=well_answers(logbook.diary),
            mornings=morning_answers(logbook.diary),
            marks=frozenset(logbook.book(since=today).day(today).marks),
            catching_up=now.catching_up,
            drill_levels=now.drill_levels,
            last_step=now.last_step,
            deload_began=now.deload_began,
            put_off=now.put_off,
            refusals=now.refusals,
            races={} if targets is None else targets.priorities,
            library={**exercises(), **self._services.library.own_stations()},
            waiting=cache(partial(not_practised, self._services)),
        )
        return CircuitAdvice(
            next_step(history, context),
            circuit,
            now,
            session_circuit(now, decisions, history, today, exercises()),
            history,
            outcome_text(circuit.id, decisions, history),
            context,
        )

    def save(
        self,
        advice: CircuitAdvice,
        choice: Choice,
        *,
        instead: Proposal | None = None,
        put_off_days: int = PUT_OFF_DAYS,
        reason: RefusalReason = "",
    ) -> Decision:
        """Save a decision about an answer; durable when this returns.

        With `put_off` a reason may be given.

        Raises:
            StoreError: The disk does not take it; nothing was changed.
            ValueError: The choice does not fit; see `decisions.decide`.
        """
        moment = self._services.clock.wall()
        made = decide(
            advice.answer.proposal,
            advice.file_circuit,
            moment.date(),
            choice,
            number=len(self.decisions().items),
            instead=instead,
            put_off_days=put_off_days,
            reason=reason,
        )
        made = replace(made, id=self._new_id(len(self.decisions().items) + 1))
        self._append([made])
        return made

    def _new_id(self, number: int) -> str:
        # Two machines number alike; their decisions must not pass for one.
        return f"d{number}-{secrets.token_hex(2)}"

    def _append(self, made: Sequence[Decision]) -> None:
        wall = self._services.clock.wall().isoformat(timespec="milliseconds")
        try:
            take_over(self._path)
            append_step(self._path, [decision_fields(one) for one in made], wall=wall)
        except StoreError as error:
            raise StoreError(f"decision not saved: {error.message}") from None

    def explain(
        self, advice: CircuitAdvice, reason: RefusalReason
    ) -> tuple[Decision, ...]:
        """Save why the last steps were put off; returns them as they stand then.

        Raises:
            UsageError: No step up of this circuit was put off without a reason.
            StoreError: The disk does not take it; nothing was changed.
        """
        asked = unexplained(advice.context)
        decided = self.decisions()
        own = [
            item
            for item in decided.of(advice.file_circuit.id)
            if item.choice == "put_off"
            and not item.reason
            and any((x.day, x.rule) == (item.day, item.rule) for x in asked)
        ]
        if not own:
            raise UsageError("no step was put off without a reason", "next --later")
        count = len(decided.items)
        made = [
            replace(item, id=self._new_id(count + n), reason=reason)
            for n, item in enumerate(own, 1)
        ]
        self._append(made)
        return tuple(made)

    def leave_out(self, advice: CircuitAdvice) -> tuple[Limit, ...]:
        """Add the limits that an answer offers to limits.toml; return them.

        Raises:
            StoreError, ProblemsFound: The file cannot be read, or is somebody's own.
        """
        offered = offered_limits(advice.history, advice.context)
        if offered:
            now = self._services.kit.limits()
            write_limits(self._services.places.limits_file, (*now, *offered))
        return offered

    def merge(self) -> DiaryWithCopies:
        """Write what only conflict copies of the decisions hold among them.

        Returns:
            The state before, with how many lines each copy had more.

        Raises:
            StoreError: A file cannot be read, or the disk does not take it.
        """
        self.decisions()
        return take_over(self._path)

    def _history(self, circuit: str, logbook: Logbook, zone: tzinfo) -> CircuitHistory:
        lines = logbook.done()
        records = self._records(lines, circuit, logbook)
        trainings: Sequence[Training] = trainings_of(logbook.diary, logbook.trainings())
        facts = _facts(lines, logbook, self._services.library.own_stations())
        made = history_of(circuit, records, trainings, zone, _regions(), facts)
        reasons = _cut_reasons(lines, logbook)
        runs = (with_reason(x, reasons.get(x.session_id, "")) for x in made.runs)
        return replace(made, runs=tuple(runs))

    def _records(
        self, lines: Sequence[SessionLine], circuit: str, logbook: Logbook
    ) -> list[SessionRecord]:
        """Replay the sessions of the circuit, and those of the last days."""
        near = self._services.clock.wall().date() - timedelta(days=_NEAR_DAYS)
        own = [line for line in lines if line.circuit == circuit][:MOST_REPLAYED]
        ids = {line.id for line in own}
        ids |= {line.id for line in lines if line.wall[:10] >= near.isoformat()}
        records = []
        for line in lines:
            if line.id not in ids:
                continue
            try:
                records.append(logbook.record(line.id))
            except (StoreError, UsageError):
                continue  # `log verify` names what cannot be read
        return records


def _facts(
    lines: Sequence[SessionLine], logbook: Logbook, own: Mapping[str, Exercise]
) -> tuple[SessionFacts, ...]:
    """What each session of the log says of the body, oldest first."""
    found = []
    for line in lines:
        # A stop counts even before any work; all else only with work in it.
        if line.done_work_ms <= 0 and line.why != "health":
            continue
        with suppress(ValueError):
            day = local_day(line.wall)
            efforts = (line.session_effort, *line.efforts)
            known = [float(effort) for effort in efforts if effort is not None]
            found.append(
                SessionFacts(
                    line.id,
                    day,
                    line.circuit,
                    line.why or "open",
                    felt_by_site((site, level) for site, _, level in line.discomforts),
                    asked_of(line.exercises, own),
                    max(known, default=None),
                    sides_by_site((site, side) for site, side, _ in line.discomforts),
                    _regions_of(line, own),
                    line.plan_work_ms,
                )
            )
    listed = {facts.id for facts in found}
    # Of entries of an earlier version the work is not known; they count all the same.
    for entry in logbook.diary.present:
        if entry.kind == "session" and entry.id not in listed:
            found.append(_facts_of_entry(entry.id, entry.values))
    return tuple(sorted(found, key=lambda facts: (facts.day, facts.id)))


def _facts_of_entry(entry_id: str, values: Mapping[str, Any]) -> SessionFacts:
    noted = values.get("discomforts", ())
    return SessionFacts(
        entry_id,
        parse_day(values["day"]),
        values.get("circuit", ""),
        felt=felt_by_site((each["site"], each["level"]) for each in noted),
        hardest=values.get("effort"),
        sides=sides_by_site((x["site"], x.get("side", "")) for x in noted),
    )


def _cut_reasons(
    lines: Sequence[SessionLine], logbook: Logbook
) -> Mapping[str, CutReason]:
    """Why something was left out, by the session's id, where it was answered."""
    found: dict[str, CutReason] = {}
    for line in lines:
        entry = logbook.entry(line.id)
        values = entry.values if entry else logbook.diary.amended(line.id)
        reason = values.get("left_out_for")
        if reason in CUT_REASONS:
            found[line.id] = cast("CutReason", reason)
    return found


def _regions_of(line: SessionLine, own: Mapping[str, Exercise]) -> frozenset[str]:
    """The regions of what was done; all of them, where that is not known."""
    known = {**exercises(), **own}
    worked = {known[key].region if key in known else "whole" for key in line.exercises}
    return frozenset(worked) or ANY_REGION


def _regions() -> Mapping[str, str]:
    return {key: facts.region for key, facts in exercises().items()}
