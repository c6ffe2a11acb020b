"""An athlete by a model in a few lines: how far the coach brings them, and how fast.

The model claims nothing about anybody: effort of a loop = 5 + 6 log2(work / capacity)
and half a point for each loop before it, with normal noise of 0.6, in half points. Work
is the seconds a station gets in the session. Capacity starts at 40 s, grows by 7 % a
session times what is left to a ceiling of 320 s, and falls by 0.2 % for each day after
the fourth without one. 5 % of the sessions are missed. Every proposal is accepted.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from datetime import date, timedelta

from tests.coach.making import FIRST, REGIONS, moment, run, shed

from whistlestop.coach.context import CoachContext
from whistlestop.coach.decisions import (
    Decision,
    Decisions,
    Progress,
    decide,
    progress,
    session_circuit,
)
from whistlestop.coach.history import CircuitHistory, CircuitRun, Outing, regions_of
from whistlestop.coach.next_step import next_step
from whistlestop.coach.verdicts import Direction
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.library import exercises

# Days from one session to the next, in turn.
RHYTHMS = {"2-3": (2, 3), "4": (4,), "7": (7,), "8": (8,), "10": (10,)}
GAIN = 0.07
CEILING_S = 320.0
MISSED = 0.05
GOAL_S = (3, 60)
MOST_SESSIONS = 200


@dataclass(frozen=True)
class Way:
    """How it went: sessions and days to the goal, how often 9 came twice running."""

    sessions: int
    days: int
    nines_twice: int
    reached: bool


@dataclass
class SteadyAthlete:
    """`gain` is the growth of capacity a session; None: always exactly at target."""

    seed: int
    gain: float | None = GAIN
    capacity_s: float = 40.0
    dice: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.dice = random.Random(self.seed)

    def efforts(self, circuit: Circuit, target: float) -> list[float]:
        if self.gain is None:
            return [target] * circuit.loops
        work_s = circuit.work_ms * circuit.loops / 1000
        felt = []
        for loop in range(circuit.loops):
            mean = 5 + 6 * math.log2(work_s / self.capacity_s) + loop / 2
            effort = mean + self.dice.gauss(0, 0.6)
            felt.append(min(10.0, max(1.0, round(2 * effort) / 2)))
        self.capacity_s *= 1 + self.gain * (1 - self.capacity_s / CEILING_S)
        return felt

    def rest(self, days: int) -> None:
        self.capacity_s *= 0.998 ** max(0, days - 4)


def way_of(athlete: SteadyAthlete, rhythm: tuple[int, ...]) -> Way:
    """From one loop of 40 s to three of 60 s."""
    steps = _Steps(shed(loops=1, work_ms=40_000))
    runs: list[CircuitRun] = []
    outings: list[Outing] = []
    day, last, nines = FIRST, FIRST, 0
    for turn in range(MOST_SESSIONS):
        if turn:
            day += timedelta(days=rhythm[turn % len(rhythm)])
        if athlete.gain is not None and athlete.dice.random() < MISSED:
            continue
        todo = steps.next(CircuitHistory("shed", tuple(runs), tuple(outings)), day)
        if todo is None:
            continue
        athlete.rest((day - last).days)
        made = run(todo, day, athlete.efforts(todo, 7.0))
        runs.append(made)
        outings.append(Outing(day, regions_of(made.plan, REGIONS), "Shed", made.began))
        last = day
        hard = [(each.hardness or 0.0) >= 9 for each in runs[-2:]]
        nines += len(hard) == 2 and all(hard)
        if (todo.loops, todo.work_ms // 1000) == GOAL_S:
            return Way(len(runs), (day - FIRST).days, nines, reached=True)
    return Way(len(runs), (day - FIRST).days, nines, reached=False)


class _Steps:
    """What was accepted so far; everything is."""

    def __init__(self, file_circuit: Circuit) -> None:
        self.file_circuit = file_circuit
        self.decided: list[Decision] = []
        self.now = Progress(file_circuit)

    def next(self, history: CircuitHistory, day: date) -> Circuit | None:
        """What is done on a day; None: rest."""
        now = self.now
        context = CoachContext(
            circuit=now.circuit,
            now=moment(day),
            catching_up=now.catching_up,
            drill_levels=now.drill_levels,
            last_step=now.last_step,
            deload_began=now.deload_began,
        )
        made = next_step(history, context).proposal
        if made.direction is Direction.REST:
            return None
        if made.change.is_nothing:
            return now.circuit
        number = len(self.decided)
        self.decided.append(
            decide(made, self.file_circuit, day, "accept", number=number)
        )
        decisions = Decisions(tuple(self.decided))
        self.now = progress(self.file_circuit, decisions, exercises())
        return session_circuit(self.now, decisions, history, day, exercises())


def least(rhythm: tuple[int, ...]) -> int:
    """The sessions that somebody needs who is always exactly at target."""
    return way_of(SteadyAthlete(0, gain=None), rhythm).sessions
