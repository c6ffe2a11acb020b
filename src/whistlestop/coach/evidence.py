"""What a record has to show before anything rises, and what holds a rise back.

Each check is a pure function of history and context and answers with a sentence, or
nothing. Efforts nobody entered are named, never guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import takewhile
from typing import Final

from whistlestop.coach.changes import settings_of
from whistlestop.coach.coming_back import counts_since, ways_back
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory, CircuitRun, StationRun
from whistlestop.coach.restart import longer_than_usual
from whistlestop.coach.soreness import held_by
from whistlestop.coach.verdicts import Blocker
from whistlestop.domain.plan.timeline import compile_plan

# Two in a row, after the two-for-two habit of strength coaching (Baechle & Earle,
# second-hand), moved to timed work. Common practice.
RUNS_NEEDED: Final = 2
# A loop that feels this much harder than the first stays. Common practice.
MOST_DRIFT: Final = 2.0
# From here on nothing rises; before the last loop it asks for a step down.
TOO_HIGH: Final = 9.0
# A key pressed a moment early is no cut. Common practice, no source.
CUT_SHARE: Final = Fraction(5, 100)
# More than this of a station left out asks for a step down. Common practice.
MUCH_CUT_SHARE: Final = Fraction(25, 100)
# What was last done this long ago is looked at again before it grows.
STALE_DAYS: Final = 14
DELOAD_DAYS: Final = 7


def comparable(
    history: CircuitHistory, context: CoachContext
) -> tuple[CircuitRun, ...]:
    """The latest runs in a row that were done at the circuit's present settings.

    What was done before the last time off, illness or stop for health counts no more.
    Sessions of a lighter week that was accepted stand aside: they end no row.
    """
    wanted = settings_of(compile_plan(context.circuit))
    since = counts_since(history, context)
    alike = takewhile(
        lambda run: run.settings == wanted and run.day >= since,
        (run for run in reversed(history.runs) if not _is_aside(run, context)),
    )
    return tuple(reversed(list(alike)))


def _is_aside(run: CircuitRun, context: CoachContext) -> bool:
    began = context.deload_began
    return (
        began is not None
        and 0 <= (run.day - began).days < DELOAD_DAYS
        and run.settings != settings_of(compile_plan(context.circuit))
    )


def cut_stations(
    run: CircuitRun, share: Fraction = CUT_SHARE
) -> tuple[StationRun, ...]:
    """Stations of which more than a share of the planned work was not done."""
    return tuple(station for station in run.stations if station.missed > share)


def number(value: float) -> str:
    """An effort as people write it."""
    return f"{value:g}"


def _few(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    if len(runs) >= RUNS_NEEDED:
        return None
    del context
    return f"{len(runs)} of {RUNS_NEEDED} sessions in a row done at these settings."


def _stale(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    days = (context.today - runs[-1].day).days if runs else 0
    if days < STALE_DAYS:
        return None
    return f"Last done {days} days ago: repeat it unchanged first."


def _cut(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    del context
    for run in reversed(runs):
        cut = cut_stations(run)
        if cut:
            worst = max(cut, key=lambda station: station.missed)
            return (
                f"On {run.day:%d %b} {len(cut)} of {len(run.stations)} stations were "
                f"cut, {worst.name} by {_percent(worst.missed)} %."
            )
        if run.ending != "complete":
            return f"The session on {run.day:%d %b} was stopped early."
    return None


def _eased(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    del context
    for run in reversed(runs):
        for station in run.stations:
            if station.easier:
                return (
                    f"{station.name} was done as the easier version on {run.day:%d %b}."
                )
            if station.swapped_to:
                return (
                    f"{station.swapped_to} was done instead of {station.name} "
                    f"on {run.day:%d %b}."
                )
            if station.other_load:
                return (
                    f"{station.name} was done with {station.load} on {run.day:%d %b}."
                )
    return None


def _missing(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    del context
    for run in reversed(runs):
        if run.missing_efforts:
            return (
                f"{run.missing_efforts} of {sum(run.worked)} loops on "
                f"{run.day:%d %b} have no effort entered."
            )
    return None


def _hard(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    high = [(run.highest or 0.0, run.day) for run in runs]
    if not high or max(high)[0] <= context.target:
        return None
    effort, day = max(high)
    return (
        f"Effort reached {number(effort)} on {day:%d %b}; "
        f"the target is {number(context.target)} or below."
    )


def _drifting(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    del context
    drifts = [(run.drift or 0.0, run.day) for run in runs]
    if not drifts or max(drifts)[0] <= MOST_DRIFT:
        return None
    drift, day = max(drifts)
    return (
        f"On {day:%d %b} effort rose by {number(drift)} points from the first "
        f"loop to the last; above {number(MOST_DRIFT)} nothing goes up."
    )


def _key_day(runs: Sequence[CircuitRun], context: CoachContext) -> str | None:
    del runs
    if context.today not in context.key_days:
        return None
    return "Today is a key session of your main sport: it comes first."


Check = Callable[[Sequence[CircuitRun], CoachContext], str | None]
CHECKS: Final[tuple[tuple[str, Check], ...]] = (
    ("effort-above-target", _hard),
    ("cut-stations", _cut),
    ("loop-drift", _drifting),
    ("efforts-missing", _missing),
    ("eased", _eased),
    ("too-few-sessions", _few),
    ("long-ago", _stale),
    ("key-session", _key_day),
)


def holds(history: CircuitHistory, context: CoachContext) -> tuple[Blocker, ...]:
    """Everything that speaks against a rise now, the weightiest first.

    Looked at are the last two sessions in a row at the present settings, and every
    one since; where there are none, the last session as it was.
    """
    runs = comparable(history, context)[-RUNS_NEEDED:]
    felt = history.runs[-1:]
    if runs:
        felt = history.runs[history.runs.index(runs[0]) :]
    found = [
        Blocker("coming-back", f"You are on your way back after {way.what}.")
        for way in ways_back(history, context)
    ]
    if off := longer_than_usual(history, context):
        long = f"The last circuit was {off} days ago, longer than is usual for you."
        found.append(Blocker("long-gap", long))
    if held := held_by(history, context):
        found.append(Blocker("discomfort", held))
    for name, check in CHECKS:
        counts_runs = check in {_few, _stale}
        sentence = check(runs if counts_runs else felt, context)
        if sentence:
            found.append(Blocker(name, sentence))
    return tuple(found)


def _percent(share: Fraction) -> int:
    return round(share * 100)
