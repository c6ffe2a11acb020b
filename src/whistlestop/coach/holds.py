"""What holds a step up back, as one table of checks, the weightiest first.

Each check is a pure function and answers with a sentence, or nothing. The first is
spoken, all are listed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from itertools import pairwise
from statistics import median
from typing import Final

from whistlestop.coach.coming_back import ways_back
from whistlestop.coach.context import CoachContext
from whistlestop.coach.elsewhere import held_elsewhere
from whistlestop.coach.evidence import (
    TOO_HIGH,
    comparable,
    cut_stations,
    has_fewer_loops,
    last_rise_day,
    number,
    runs_needed,
)
from whistlestop.coach.history import (
    CircuitHistory,
    CircuitRun,
    share_a_region,
)
from whistlestop.coach.lighter_week import is_due
from whistlestop.coach.races import race_near
from whistlestop.coach.restart import longer_gap, percent, rhythm
from whistlestop.coach.soreness import held_by
from whistlestop.coach.verdicts import RISES, Blocker
from whistlestop.dataclass import dataclass
from whistlestop.domain.reasons import CutReason

# All of these numbers are common practice, no source.
MOST_RISE: Final = 2.0
NEAR_TARGET: Final = 1.0
CLIMB_RUNS: Final = 3
MOST_CLIMB: Final = 2.0
STALE_DAYS: Final = 14
SLOW: Final = 1.5
BETWEEN_RISES_DAYS: Final = 6
OTHER_HARD_DAYS: Final = 7
TOO_HARD_DAYS: Final = 14
REFUSED_DAYS: Final[Mapping[str, int]] = {"too-much": 14, "other": 7}
MOST_RHYTHM: Final = 10
LEFT_OUT_OFTEN: Final = 3


@dataclass(frozen=True, slots=True)
class TrainingState:
    """The state of training that the checks look at.

    `runs` are those at the present settings that count, `felt` the last ones that a
    step has to be earned with, lighter sessions among them.
    """

    history: CircuitHistory
    context: CoachContext
    runs: tuple[CircuitRun, ...]
    needed: int
    felt: tuple[CircuitRun, ...]


def holds(history: CircuitHistory, context: CoachContext) -> tuple[Blocker, ...]:
    """Everything that speaks against a rise now, the weightiest first.

    Example: effort 8 last time, the aim is 7 or below: hold. Source: common practice.
    """
    runs, needed = comparable(history, context), runs_needed(history, context)
    felt = history.runs[-1:]
    if runs:
        first = history.runs.index(runs[-min(len(runs), 2)])
        felt = history.runs[first:]
    state = TrainingState(history, context, runs, needed, felt)
    sentences = ((name, check(state)) for name, check in CHECKS)
    return tuple(Blocker(name, text) for name, text in sentences if text)


# --- The way back, the body, the athlete's own word -----------------------------------


def _coming_back(state: TrainingState) -> str:
    ways = ways_back(state.history, state.context)
    return f"You are on your way back after {ways[0].what}." if ways else ""


def _long_gap(state: TrainingState) -> str:
    days = longer_gap(state.history, state.context)
    return f"{days} days since the last circuit is long for you." if days else ""


def _sore(state: TrainingState) -> str:
    return held_by(state.history, state.context)


def _refused(state: TrainingState) -> str:
    for refusal in reversed(state.context.refusals):
        days = REFUSED_DAYS.get(refusal.reason, 0) if refusal.rule in RISES else 0
        until = refusal.day + timedelta(days=days)
        if state.context.today < until:
            why = " as too much" if refusal.reason == "too-much" else ""
            return (
                f"You put a step off on {refusal.day:%d %b}{why}: none before "
                f"{until:%d %b}."
            )
    return ""


def _lighter_week_put_off(state: TrainingState) -> str:
    until = state.context.put_off.get("deload")
    if until is None or state.context.today >= until:
        return ""
    if not is_due(state.history, state.context):
        return ""
    return f"A lighter week is due; you put it off until {until:%d %b}."


# --- Efforts --------------------------------------------------------------------------


def _hard(state: TrainingState) -> str:
    high = [(run.hardness or 0.0, run.day) for run in state.felt]
    target = state.context.target
    if not high or max(high)[0] <= target:
        return ""
    effort, day = max(high)
    return (
        f"Effort was {number(effort)} on {day:%d %b}; the aim is {number(target)} or "
        "below."
    )


def _early_nine(state: TrainingState) -> str:
    for run in reversed(state.felt):
        if (run.highest or 0.0) >= TOO_HIGH:
            return f"Effort reached {number(run.highest or 0.0)} on {run.day:%d %b}."
    return ""


def _rising_inside(state: TrainingState) -> str:
    near = state.context.target - NEAR_TARGET
    for run in reversed(state.felt):
        rise = run.rise or 0.0
        if rise > MOST_RISE and (run.hardness or 0.0) >= near:
            return (
                f"On {run.day:%d %b} effort rose by {number(rise)} points from the "
                f"first loop to the last, to {number(run.hardness or 0.0)}."
            )
    return ""


def _climbing(state: TrainingState) -> str:
    last = state.runs[-CLIMB_RUNS:]
    efforts = [run.hardness for run in last if run.hardness is not None]
    if len(efforts) < CLIMB_RUNS or not all(a < b for a, b in pairwise(efforts)):
        return ""
    if efforts[-1] - efforts[0] < MOST_CLIMB:
        return ""
    text = ", ".join(number(effort) for effort in efforts)
    return f"It gets harder from session to session: {text} at the same settings."


def _missing(state: TrainingState) -> str:
    for run in reversed(state.felt):
        if run.hardness is None:
            return (
                f"How hard was it on {run.day:%d %b}? Neither the last loop nor the "
                "session has an effort."
            )
    return ""


def _too_hard_lately(state: TrainingState) -> str:
    """An effort of 9 at settings that asked for more than those of now."""
    now = state.context.totals
    since = state.context.today - timedelta(days=TOO_HARD_DAYS)
    wanted = state.context.settings
    for run in reversed(state.history.runs):
        is_harder = run.plan_ms > now.work_ms or (
            run.plan_ms == now.work_ms and run.recover_ms <= now.recover_ms
        )
        if run.day <= since or run.settings == wanted or not is_harder:
            continue
        if (run.highest or 0.0) >= TOO_HIGH:
            until = run.day + timedelta(days=TOO_HARD_DAYS)
            return (
                f"More than this was {number(run.highest or 0.0)} of 10 on "
                f"{run.day:%d %b}: not again before {until:%d %b}."
            )
    return ""


# --- Work that was left out or eased --------------------------------------------------


def _cut(state: TrainingState) -> str:
    for run in reversed(state.felt):
        cut = cut_stations(run)
        if has_fewer_loops(run):
            missing = run.plan.loops - run.loops_done
            return (
                f"{missing} of {run.plan.loops} loops "
                f"{'was' if missing == 1 else 'were'} left out on "
                f"{run.day:%d %b}{_reason(run.reason)}."
            )
        if cut:
            worst = max(cut, key=run.left_out)
            return (
                f"{percent(run.left_out(worst))} % of {worst.name} was left out on "
                f"{run.day:%d %b}{_reason(worst.reason)}; in all, {len(cut)} of "
                f"{len(run.stations)} stations were cut."
            )
        if run.ending != "complete":
            return f"The session on {run.day:%d %b} was stopped early."
    return ""


def _reason(reason: CutReason) -> str:
    reasons = {"no-time": " for lack of time", "too-much": " as too much"}
    return reasons.get(reason, "")


def _fell_to_the_clock(state: TrainingState) -> str:
    name = falls_to_the_clock(state.runs)
    return f"{name} fell to the clock {LEFT_OUT_OFTEN} times in a row." if name else ""


def falls_to_the_clock(runs: Sequence[CircuitRun]) -> str:
    """The station left out for lack of time in the last three runs; else ""."""
    last = runs[-LEFT_OUT_OFTEN:]
    if len(last) < LEFT_OUT_OFTEN:
        return ""
    for station in last[-1].stations:
        cut = [
            found.reason == "no-time"
            for run in last
            for found in cut_stations(run)
            if found.number == station.number
        ]
        if len(cut) == LEFT_OUT_OFTEN and all(cut):
            return station.name
    return ""


def _eased(state: TrainingState) -> str:
    for run in reversed(state.felt):
        for station in run.stations:
            on = f"on {run.day:%d %b}"
            if station.easier:
                return f"{station.name} was done as the easier version {on}."
            if station.swapped_to:
                return f"{station.swapped_to} was done instead of {station.name} {on}."
            if station.other_load:
                return f"{station.name} was done with {station.load} {on}."
    return ""


# --- Sessions and days ----------------------------------------------------------------


def _few(state: TrainingState) -> str:
    if len(state.runs) >= state.needed:
        return ""
    if not state.history.runs:
        return "This circuit is not in the log yet."
    if not state.runs:
        return "No session at these settings yet: first see how they are."
    return f"{len(state.runs)} session at these settings; {state.needed} earn a step."


def _just_risen(state: TrainingState) -> str:
    day = last_rise_day(state.runs, state.history, state.context)
    days = BETWEEN_RISES_DAYS if day is None else (state.context.today - day).days
    if days >= BETWEEN_RISES_DAYS:
        return ""
    since = "a day" if days == 1 else f"{days} days"
    return f"The last step up is {since} old; six days lie between two."


def _stale(state: TrainingState) -> str:
    days = [run.day for run in state.history.runs]
    if not days:
        return ""
    gap = (state.context.today - days[-1]).days
    own = [(b - a).days for a, b in pairwise(days)]
    if gap <= STALE_DAYS or (own and gap <= SLOW * median(own)):
        return ""
    return f"Last done {gap} days ago: repeat it unchanged first."


def _slow_rhythm(state: TrainingState) -> str:
    usual = rhythm(state.history, state.context)
    if usual <= MOST_RHYTHM:
        return ""
    return f"A session every {usual:g} days maintains; for a step up, train more often."


def _other_circuit(state: TrainingState) -> str:
    regions, today = state.context.regions, state.context.today
    for facts in reversed(state.history.sessions):
        if facts.circuit == state.history.circuit or not facts.circuit:
            continue
        days = (today - facts.day).days
        if not 0 <= days < OTHER_HARD_DAYS or (facts.hardest or 0.0) < TOO_HIGH:
            continue
        if share_a_region(facts.regions, regions):
            return (
                f"Another circuit of these muscles was {number(facts.hardest or 0.0)} "
                f"of 10 on {facts.day:%d %b}."
            )
    return ""


def _elsewhere(state: TrainingState) -> str:
    return held_elsewhere(state.history, state.context)


def _key_day(state: TrainingState) -> str:
    today, keys = state.context.today, state.context.key_days
    if today in keys:
        return "Today is a key session of your main sport: it comes first."
    if today - timedelta(days=1) in keys:
        return "Yesterday was a key session of your main sport."
    return ""


def _race(state: TrainingState) -> str:
    return race_near(state.context)


Check = Callable[[TrainingState], str]
CHECKS: Final[tuple[tuple[str, Check], ...]] = (
    ("coming-back", _coming_back),
    ("long-gap", _long_gap),
    ("discomfort", _sore),
    ("effort-above-target", _hard),
    ("effort-of-9", _early_nine),
    ("clock", _fell_to_the_clock),
    ("cut-stations", _cut),
    ("rise-inside", _rising_inside),
    ("climbing", _climbing),
    ("effort-missing", _missing),
    ("eased", _eased),
    ("too-hard-lately", _too_hard_lately),
    ("refused", _refused),
    ("lighter-week", _lighter_week_put_off),
    ("race", _race),
    ("key-session", _key_day),
    ("elsewhere", _elsewhere),
    ("other-circuit", _other_circuit),
    ("rhythm", _slow_rhythm),
    ("long-ago", _stale),
    ("too-few-sessions", _few),
    ("just-risen", _just_risen),
)
