"""The histories of judgement_answers.toml, made into what the coach is asked with.

Owns what each word of that file means; its head says it in words.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from tests.coach.making import (
    after,
    bells,
    context,
    history,
    library_station,
    moment,
    run,
    shed,
)
from tests.support.clock import SESSION_ID, Drive

from whistlestop.coach.changes import intervals_ms
from whistlestop.coach.context import CoachContext, LastStep, Refusal
from whistlestop.coach.history import (
    CircuitHistory,
    CircuitRun,
    Elsewhere,
    Outing,
    SessionFacts,
    run_of,
)
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.session import Options
from whistlestop.engine.commands import EnterEffort
from whistlestop.review.days import DaySpan
from whistlestop.review.record import read_record
from whistlestop.review.wellbeing import WellAnswer

Case = dict[str, Any]
TODAY = after(7 * 100 + 3)  # a Thursday
PUT_OFF_DAYS = 7
STATIONS = ["goblet-squat:16 kg", "push-up", "glute-bridge", "bird-dog"]

CASES: list[Case] = tomllib.loads(
    (Path(__file__).parent / "judgement_answers.toml").read_text(encoding="utf-8")
)["case"]


def day(offset: int) -> date:
    """So many days from today."""
    return TODAY + timedelta(days=offset)


def circuit_of(case: Case, **over: Any) -> Circuit:
    """The circuit of a case, or as it was planned once, with other settings."""
    given = {**case, **over}
    return _circuit(
        tuple(given.get("stations", STATIONS)),
        given.get("load", ""),
        given.get("loops", 3),
        given.get("work", 40),
        given.get("recover", 20),
    )


@lru_cache
def _circuit(
    names: tuple[str, ...], first_load: str, loops: int, work_s: int, recover_s: int
) -> Circuit:
    stations = []
    for number, text in enumerate(names, 1):
        key, _, load = text.partition(":")
        own = first_load if number == 1 and first_load else load or None
        stations.append(library_station(key, own))
    return shed(
        stations=tuple(stations),
        loops=loops,
        work_ms=work_s * 1000,
        recover_ms=recover_s * 1000,
    )


# --- What was done --------------------------------------------------------------------


def _days(entry: Case) -> list[int]:
    """The days of an entry, oldest first."""
    every = entry.get("every", 1)
    return [entry["d"] - every * n for n in reversed(range(entry.get("n", 1)))]


def runs_of(case: Case) -> list[CircuitRun]:
    """All runs of the circuit, oldest first."""
    made = [
        _run(case, entry, offset)
        for entry in case.get("runs", ())
        for offset in _days(entry)
    ]
    return sorted(made, key=lambda each: each.began)


def _run(case: Case, entry: Case, offset: int) -> CircuitRun:
    settings = {k: entry[k] for k in ("work", "loops", "recover", "load") if k in entry}
    circuit = circuit_of(case, **settings)
    plan = compile_plan(circuit)
    done = entry.get("done", plan.loops)
    given = [None if e < 0 else float(e) for e in entry.get("e", ())]
    cut = dict.fromkeys(range(1, len(plan.stations) + 1), 1 - done / plan.loops)
    cut |= dict(entry.get("left", ()))
    session = entry.get("amended", entry.get("s"))
    when = moment(day(offset), entry.get("hour", 18))
    made = run(
        plan,
        day(offset),
        [*given, *[None] * (plan.loops - len(given))],
        missed=cut,
        began=when,
        worked=tuple(loop < done for loop in range(plan.loops)),
        session_effort=None if session is None else float(session),
        discomforts=tuple((site, level) for site, level in entry.get("sore", ())),
        ending=entry.get("end", "stopped" if done < plan.loops else "complete"),
        reason=entry.get("why", "") if done < plan.loops else "",
    )
    if "companion" in entry:
        efforts = tuple(made.efforts)
        seen = _beside(efforts, tuple(entry["companion"]))
        made = replace(made, efforts=seen.efforts, session_effort=seen.session_effort)
    return replace(made, stations=tuple(_stations(made, entry)))


def _stations(made: CircuitRun, entry: Case) -> list[Any]:
    left = dict(entry.get("left", ()))
    instead, used = dict(entry.get("instead", ())), dict(entry.get("used", ()))
    found = []
    for each in made.stations:
        number = each.number
        more: dict[str, Any] = {}
        if number in left:
            more["reason"] = entry.get("why", "")
        if number in entry.get("easier", ()):
            more["easier"] = True
        if number in instead:
            more["swapped_to"] = instead[number]
        if number in used:
            more |= {"load": used[number], "other_load": True}
        found.append(replace(each, **more))
    return found


@lru_cache
def _beside(own: tuple[float | None, ...], theirs: tuple[float, ...]) -> CircuitRun:
    """A session of two, driven and read back as the owner's record."""
    first, second = paired_plans(circuit_of({}), 1, ({}, {}))
    options = Options(count_in_ms=0, watch_gaps=False)
    drive = Drive(first, options, Company((("a2", second),), 1)).begin()
    drive.go(first.total_ms, 10_000)
    for loop, effort in enumerate(own, 1):
        if effort is not None:
            drive.do(EnterEffort(loop, Effort(round(2 * effort))))
    for loop, effort in enumerate(theirs, 1):
        drive.do(EnterEffort(loop, Effort(round(2 * effort)), "a2"))
    made = run_of(
        read_record(drive.journal.lines, session_id=SESSION_ID),
        drive.clock.wall().tzinfo or moment(TODAY).tzinfo,  # type: ignore[arg-type]
    )
    assert made is not None
    return made


def history_of_case(case: Case) -> CircuitHistory:
    """Everything that was done."""
    runs = runs_of(case)
    hand = {
        f"{day(offset).isoformat()}"
        for entry in case.get("runs", ())
        for offset in _days(entry)
        if entry.get("hand")
    }
    outings, facts = [], []
    for place, entry in enumerate(case.get("others", ())):
        for offset in _days(entry):
            name = f"other-{place}"
            when = day(offset)
            regions = frozenset(entry["regions"])
            outings.append(Outing(when, regions, name, moment(when)))
            hardest = float(entry["e"])
            facts.append(SessionFacts(f"{name}{offset}", when, name, hardest=hardest))
    elsewhere = [
        Elsewhere(day(offset), entry["sport"], entry["minutes"], entry["effort"])
        for entry in case.get("elsewhere", ())
        for offset in _days(entry)
    ]
    return history(
        *runs,
        others=outings,
        by_hand=frozenset(hand),
        facts=facts,
        elsewhere=elsewhere,
    )


# --- What is true today ---------------------------------------------------------------


def context_of_case(case: Case, told: CircuitHistory) -> CoachContext:
    """The circuit, the calendar, and what was decided."""
    circuit = circuit_of(case)
    more: dict[str, Any] = {}
    if "kit" in case:
        more["kit"] = bells(*case["kit"])
    if "emphasis" in case:
        more["emphasis"] = case["emphasis"]
    if stepped := case.get("stepped"):
        before = circuit_of(case, **stepped["before"])
        more["last_step"] = LastStep("d1", "a step", day(stepped["d"]), before)
    refused = [Refusal(day(r["d"]), r["rule"], r.get("why", ""))
               for r in case.get("refused", ())]  # fmt: skip
    until = {r.rule: r.day + timedelta(days=PUT_OFF_DAYS) for r in refused}
    if "deload_began" in case:
        more["deload_began"] = day(case["deload_began"])
    return context(
        circuit,
        TODAY,
        refusals=tuple(refused),
        put_off=until,
        races={day(offset): priority for offset, priority in case.get("races", ())},
        key_days=frozenset(day(offset) for offset in case.get("key", ())),
        ill=tuple(DaySpan(day(a), day(b)) for a, b in case.get("ill", ())),
        answers=tuple(
            WellAnswer(day(w["d"]), w["about"], _stopped(told), w.get("cause", ""))
            for w in case.get("well", ())
        ),
        **more,
    )


def _stopped(told: CircuitHistory) -> str:
    return next((r.session_id for r in told.runs if r.ending == "health"), "")


def changed_stations(before: Circuit, after_it: Circuit) -> set[int]:
    """Which stations are another exercise, load or interval; a loop fewer is none."""
    one, two = intervals_ms(compile_plan(before)), intervals_ms(compile_plan(after_it))
    found = set()
    pairs = zip(before.stations, after_it.stations, strict=False)
    for number, (was, now) in enumerate(pairs, 1):
        is_other = (was.exercise, was.load) != (now.exercise, now.load)
        if is_other or one[1, number] != two[1, number]:
            found.add(number)
    return found | set(range(len(after_it.stations) + 1, len(before.stations) + 1))
