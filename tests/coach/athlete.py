"""A made-up athlete for a year: grows with training, tires, misses days, buys kit.

A model to exercise the rules, with a seed; it claims nothing about anybody. It uses
what the program offers: a session missed on a Friday moves to the Saturday, which
leaves 48 h; an effort not entered is mostly entered once the coach names it; and a
step down after a bad night is put off where the athlete knows that it was one.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from tests.coach.making import (
    FIRST,
    REGIONS,
    ZONE,
    bells,
    moment,
    run,
    shed,
)

from whistlestop.coach.changes import totals_of
from whistlestop.coach.context import CoachContext
from whistlestop.coach.decisions import (
    Choice,
    Decision,
    Decisions,
    Progress,
    decide,
    progress,
    session_circuit,
)
from whistlestop.coach.history import CircuitHistory, CircuitRun, Outing, regions_of
from whistlestop.coach.next_step import NextStepAnswer, next_step
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.kit.kit import Kit
from whistlestop.library import exercises

TRAINING_DAYS = (0, 2, 4)
# Weeks from the start: a holiday, an illness, a month abroad, a long winter break.
AWAY = ((56, 63), (168, 182), (224, 255), (290, 350))
KIT = ((0, (16,)), (140, (16, 20)), (203, (12, 16, 20)), (273, (12, 16, 20, 24)))


@dataclass
class Row:
    """One training day: what was proposed, what was done, how it felt."""

    day: date
    gap: int
    answer: NextStepAnswer
    before: Circuit
    done: Circuit
    ran: CircuitRun | None
    kit: Kit


@dataclass
class Athlete:
    """Capacity is in seconds of work a station can take in a session.

    `troubled`: with hard days, aches, and efforts that were not entered.
    """

    seed: int
    troubled: bool = True
    capacity: float = 60.0
    fatigue: float = 0.0
    dice: random.Random = field(init=False)
    felt: list[float] = field(default_factory=list)
    had_bad_night: bool = False

    def __post_init__(self) -> None:
        self.dice = random.Random(self.seed)

    def _happens(self, chance: float) -> bool:
        return self.dice.random() < chance and self.troubled

    def sleep(self, days: int) -> None:
        """Days pass without a circuit."""
        self.fatigue *= 0.6**days
        if days > 7:
            self.capacity *= 0.99 ** (days - 7)

    def train(self, circuit: Circuit, day: date) -> CircuitRun:
        """Do a session and say how it felt."""
        totals = totals_of(circuit)
        load = circuit.stations[0].load
        weight = float(load.each_kg or 16) / 16 if load else 1.0
        mean_s = totals.work_ms / 1000 / len(circuit.stations)
        ask = mean_s * (0.8 + 0.2 * weight) / self.capacity
        # A bad night, or too much of everything else.
        bad = 3.5 if self._happens(0.04) else 0.0
        self.had_bad_night = bad > 0 and self.dice.random() < 0.6
        self.felt = []
        efforts: list[float | None] = []
        for loop in range(totals.loops):
            felt = 2.5 + 3.2 * ask + 0.25 * loop + self.fatigue
            felt += self.dice.uniform(-0.6, 0.6) + bad
            text = min(10.0, max(1.0, round(felt * 2) / 2))
            self.felt.append(text)
            efforts.append(None if self._happens(0.02) else text)
        hard = max((e for e in efforts if e is not None), default=0.0)
        missed = {self.dice.randrange(1, 5): 0.3} if hard >= 9 else {}
        sore = (("knee", 2),) if self._happens(0.02) else ()
        self.capacity *= 1.035 if ask > 0.7 else 1.005
        self.fatigue = min(1.5, self.fatigue + 0.25)
        return run(circuit, day, efforts, missed=missed, discomforts=sore)

    def enters_later(self, ran: CircuitRun) -> CircuitRun:
        """What was not entered, entered after all, three times of four."""
        if self.dice.random() < 0.25:
            return ran
        return replace(ran, efforts=tuple(self.felt))


def is_away(offset: int) -> bool:
    return any(first <= offset < last for first, last in AWAY)


def kit_on(offset: int) -> Kit:
    owned = [weights for since, weights in KIT if since <= offset]
    return bells(*owned[-1])


def live(seed: int, days: int = 365, *, troubled: bool = True) -> list[Row]:
    """A year in which every proposal is accepted and every session done as decided."""
    athlete = Athlete(seed, troubled)
    file_circuit = shed(loops=1, work_ms=40_000)
    runs: list[CircuitRun] = []
    outings: list[Outing] = []
    decided: list[Decision] = []
    rows: list[Row] = []
    last: date | None = None
    moved: date | None = None
    for offset in range(days):
        day = FIRST + timedelta(days=offset)
        if is_away(offset) or (day.weekday() not in TRAINING_DAYS and day != moved):
            continue
        if athlete.dice.random() < 0.08:
            moved = day + timedelta(days=1) if day.weekday() == 4 else None
            continue
        gap = (day - last).days if last else 0
        history = CircuitHistory("shed", tuple(runs), tuple(outings))
        now = progress(file_circuit, Decisions(tuple(decided)), exercises())
        assert now.problems == ()
        context = _context(now, day, offset)
        answer = next_step(history, context)
        if runs and _names_missing(answer):
            runs[-1] = athlete.enters_later(runs[-1])
            history = CircuitHistory("shed", tuple(runs), tuple(outings))
            answer = next_step(history, context)
        if answer.rule.id == "rest":
            rows.append(
                Row(day, gap, answer, now.circuit, now.circuit, None, kit_on(offset))
            )
            continue
        knows = answer.rule.id == "step-down" and athlete.had_bad_night
        choice: Choice = "put_off" if knows else "accept"
        made = decide(answer.proposal, file_circuit, day, choice, number=len(decided))
        decided.append(made)
        decisions = Decisions(tuple(decided))
        after = progress(file_circuit, decisions, exercises())
        todo = session_circuit(after, decisions, history, day, exercises())
        athlete.sleep(gap)
        ran = athlete.train(todo, day)
        runs.append(ran)
        outings.append(Outing(day, regions_of(ran.plan, REGIONS), "Shed", ran.began))
        rows.append(Row(day, gap, answer, now.circuit, todo, ran, kit_on(offset)))
        last = day
    assert ZONE is moment(FIRST).tzinfo
    return rows


def _context(now: Progress, day: date, offset: int) -> CoachContext:
    key_day = offset % 97 == 4
    return CoachContext(
        circuit=now.circuit,
        now=moment(day),
        kit=kit_on(offset),
        key_days=frozenset({day + timedelta(days=1)} if key_day else ()),
        catching_up=now.catching_up,
        drill_levels=now.drill_levels,
        last_step=now.last_step,
        deload_began=now.deload_began,
        put_off=now.put_off,
    )


def _names_missing(answer: NextStepAnswer) -> bool:
    """Whether efforts that were not entered are what holds a step back."""
    return any(fact.name == "effort-missing" for fact in answer.proposal.facts)
