"""What the runs of a circuit show: which of them count, and what was left out in them.

Readings, no judgement: efforts nobody entered stay unknown. What holds a step back
stands in `holds`, what asks for less in `stepping_down`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import takewhile
from typing import Final

from whistlestop.coach.coming_back import counts_since
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory, CircuitRun, StationRun
from whistlestop.coach.lighter_week import LIGHTER_SHARE

# Two in a row, after the two-for-two habit of strength coaching (Baechle & Earle,
# second-hand), moved to timed work. Common practice.
RUNS_NEEDED: Final = 2
# One is enough where the last two were this far below the target. Common practice.
FAR_BELOW: Final = 2.0
# From here on nothing rises; before the last loop it asks for less.
TOO_HIGH: Final = 9.0
# A key pressed a moment early is no cut. Common practice, no source.
CUT_SHARE: Final = Fraction(5, 100)
# More than this of a station left out, twice, asks for less there. Common practice.
MUCH_CUT_SHARE: Final = Fraction(25, 100)
# For so long steps for which there was no time are not asked for. Common practice.
NO_TIME_DAYS: Final = 56


def comparable(
    history: CircuitHistory, context: CoachContext
) -> tuple[CircuitRun, ...]:
    """The latest runs in a row that were done at the circuit's present settings.

    What was done before the last time off, illness or stop for health counts no more.
    Lighter sessions stand aside: they end no row.
    """
    wanted = context.settings
    since = counts_since(history, context)
    alike = takewhile(
        lambda run: run.settings == wanted and run.day >= since,
        (run for run in reversed(history.runs) if not is_aside(run, context)),
    )
    return tuple(reversed(list(alike)))


def is_aside(run: CircuitRun, context: CoachContext) -> bool:
    """Whether a run was planned lighter: at most three quarters of the work now."""
    return run.plan_ms <= LIGHTER_SHARE * context.totals.work_ms


def runs_needed(history: CircuitHistory, context: CoachContext) -> int:
    """How many runs at the present settings earn a step.

    One, where the last two were far below the target. Lighter sessions are no sign of
    that, nor what was done on a way back from time off or illness, less than before it.
    """
    since = counts_since(history, context)
    before = [run.plan_ms for run in history.runs if run.day < since]
    last = [
        run.hardness
        for run in [x for x in history.runs if not is_aside(x, context)][-RUNS_NEEDED:]
        if run.day >= since and run.plan_ms >= (before[-1] if before else 0)
    ]
    far = context.target - FAR_BELOW
    easy = [hard for hard in last if hard is not None and hard <= far]
    return 1 if len(easy) == RUNS_NEEDED else RUNS_NEEDED


def last_rise_day(
    runs: Sequence[CircuitRun], history: CircuitHistory, context: CoachContext
) -> date | None:
    """The day of the first run at the present settings, where they asked for more.

    Args:
        runs: Those at the present settings.
        history: All runs of the circuit.
        context: The last step is in it, where one was accepted.
    """
    if not runs:
        return None
    step = context.last_step
    if step is not None and step.is_rise and step.day <= runs[-1].day:
        return max(step.day, runs[0].day)
    before = history.runs[: history.runs.index(runs[0])]
    if not before or runs[0].settings in {run.settings for run in before}:
        return None
    asked = max(before[-RUNS_NEEDED:], key=lambda run: run.plan_ms)
    is_less = runs[0].plan_ms < asked.plan_ms or runs[0].recover_ms > asked.recover_ms
    return None if is_less else runs[0].day


def cut_stations(
    run: CircuitRun, share: Fraction = CUT_SHARE
) -> tuple[StationRun, ...]:
    """Stations of which more than a share was not done, in the loops that were."""
    return tuple(each for each in run.stations if run.left_out(each) > share)


def has_fewer_loops(run: CircuitRun) -> bool:
    """Whether whole loops were left out at the end."""
    return run.loops_done < run.plan.loops


def is_cut(run: CircuitRun) -> bool:
    """Whether loops, or so much of a station that less is asked for, were left out."""
    return has_fewer_loops(run) or bool(cut_stations(run, MUCH_CUT_SHARE))


def has_no_time(history: CircuitHistory, context: CoachContext) -> bool:
    """Whether loops were left out twice lately for lack of time."""
    since = context.today - timedelta(days=NO_TIME_DAYS)
    short = [
        run
        for run in history.runs
        if run.day >= since and has_fewer_loops(run) and run.reason == "no-time"
    ]
    return len(short) > 1


def number(value: float) -> str:
    """An effort as people write it."""
    return f"{value:g}"
