"""The rule that asks for less for good, where it was hard: station, loop, or the whole.

Owns what a session that was too much, or was cut, says about the plan. Every reduction
that is due is proposed at once. A pure function of history and context: a higher effort
or more work left out never makes it ask for more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from whistlestop.coach.changes import (
    LEAST_WORK_MS,
    STEP_MS,
    CircuitChange,
    intervals_ms,
    loops_text,
    totals_of,
    uniform_load,
)
from whistlestop.coach.context import CoachContext
from whistlestop.coach.elsewhere import in_words, near_run
from whistlestop.coach.evidence import (
    MUCH_CUT_SHARE,
    TOO_HIGH,
    comparable,
    cut_stations,
    has_fewer_loops,
    number,
)
from whistlestop.coach.history import (
    CircuitHistory,
    CircuitRun,
    Elsewhere,
    StationRun,
)
from whistlestop.coach.lighter import stand_in
from whistlestop.coach.restart import percent
from whistlestop.coach.verdicts import (
    Direction,
    Proposal,
    Reason,
    Verdict,
    made_of,
    propose,
)
from whistlestop.dataclass import dataclass
from whistlestop.domain.kit.kit import ladder
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.text import sentence_case
from whistlestop.errors import WhistlestopError
from whistlestop.library.cards import cards

# All of these numbers are common practice, no source.
MOST_RISE: Final = 2.0
CHRONIC_RUNS: Final = 4
CHRONIC_FALL: Final = 1.0
RECOVER_STEP_MS: Final = 10_000
CHRONIC_STEP_MS: Final = 5_000
STATION_STEP_MS: Final = 10_000
MOST_RECOVER_MS: Final = 120_000
_YOUNG: Final = 2
_FELL: Final = {"no-time": " for lack of time", "too-much": " as too much"}


@dataclass(frozen=True, slots=True)
class _Cut:
    """One reduction that is due: what, why, and the change."""

    what: str
    why: str
    change: CircuitChange


def step_down(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Less of the whole, where a session was too much, or four stayed too hard.

    Example: effort 9 in loop 2 of 3: 35 s instead of 40 s, or the last step taken
    back; 6, 8, 10: the recovery 10 s longer. Source: common practice.
    """
    runs = comparable(history, context)
    if not runs:
        return None
    too_much = _too_much(runs, history)
    if too_much and _is_young_rise(runs, context):
        return _taken_back(too_much, context)
    if too_much:
        cuts = _whole(too_much, runs[-1], context)
    else:
        chronic = _chronic(runs, context)
        cuts = _denser_less(chronic, context) if chronic else []
    near = near_run(history, runs[-1].day)
    made = _proposed("step-down", cuts, _question(near, runs[-1]), context)
    if made is None or near is None:
        return made
    return replace(made, asks="was-it-that")


def fewer_loops(history: CircuitHistory, context: CoachContext) -> Verdict:
    """As many loops as were done twice become the plan.

    Example: the third loop fell to the clock twice: two loops. Source: common practice.
    """
    last = comparable(history, context)[-2:]
    if len(last) < 2 or not all(has_fewer_loops(run) for run in last):
        return None
    done = max(run.loops_done for run in last)
    if not 1 <= done < context.circuit.loops:
        return None
    left = context.circuit.loops - done
    effort = last[-1].hardness
    at = "" if effort is None else f", at effort {number(effort)}"
    reasons = {run.reason for run in last}
    how = _FELL.get(reasons.pop(), "") if len(reasons) == 1 else ""
    gone = "loop was" if left == 1 else f"{left} loops were"
    why = f"The last {gone} left out twice{how}{at}"
    change = CircuitChange(loops=done)
    cut = _Cut(f"{_loops(done)} as the plan", why, change)
    shape = f"It was {loops_text(context.totals)}; the interval stays."
    return _proposed("loops", [cut], shape, context)


def one_station(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Less at the stations that were cut or eased, and nowhere else.

    Example: 40 % of the push-ups left out twice, or once as too much: their easier
    form. Source: common practice.
    """
    runs = comparable(history, context)
    if not runs or _is_everywhere(runs):
        return None
    cuts = [
        cut
        for station in runs[-1].stations
        if (cut := _left_out(station, runs, context) or _chosen(station, runs, context))
    ]
    return _proposed("one-station", cuts, "The other stations stay.", context)


def together(found: Sequence[Proposal], context: CoachContext) -> Proposal:
    """Every reduction that is due, as one; a step that is taken back stands alone."""
    first = found[0]
    if len(found) == 1 or first.change.revert:
        return first
    change = first.change
    for other in found[1:]:
        change = _both(change, other.change)
    reason = Reason(
        "; ".join(each.title for each in found),
        (" ".join(each.why[0] for each in found), first.why[1]),
        tuple(fact for each in found for fact in each.facts),
    )
    made = propose(first.rule, context, change, reason, direction=Direction.DOWN)
    return replace(made, asks=first.asks)


def _proposed(
    rule: str, cuts: Sequence[_Cut], second: str, context: CoachContext
) -> Proposal | None:
    if not cuts:
        return None
    change = cuts[0].change
    for cut in cuts[1:]:
        change = _both(change, cut.change)
    what = "; ".join(cut.what for cut in cuts)
    why = " ".join(f"{cut.why}." for cut in cuts)
    reason = Reason(sentence_case(what), (why, second))
    try:
        return propose(rule, context, change, reason, direction=Direction.DOWN)
    except WhistlestopError:
        return None


def _question(near: Elsewhere | None, last: CircuitRun) -> str:
    """Whether it was something else; what was done elsewhere is named."""
    if near is None:
        return "If something else got in the way, leave it as it is."
    done = in_words(near, last.day).removesuffix(" today")
    done = done.replace(" yesterday", " the day before")
    return f"Was it the {done}? Then leave it as it is."


def _both(one: CircuitChange, other: CircuitChange) -> CircuitChange:
    loops = [x.loops for x in (one, other) if x.loops is not None]
    return replace(
        one,
        loops=min(loops, default=None),
        work_step_ms=one.work_step_ms + other.work_step_ms,
        recover_step_ms=one.recover_step_ms + other.recover_step_ms,
        work_step_at=one.work_step_at + other.work_step_at,
        loads=one.loads + other.loads,
        swaps=one.swaps + other.swaps,
        bare=one.bare + other.bare,
    )


# --- The whole ------------------------------------------------------------------------


def _too_much(runs: Sequence[CircuitRun], history: CircuitHistory) -> str:
    """Why the last session was too much as a whole; else ""."""
    last = runs[-1]
    for loop, effort in enumerate(last.efforts[:-1], 1):
        if effort is not None and effort >= TOO_HIGH and any(last.worked[loop:]):
            return (
                f"Effort {number(effort)} in loop {loop} of {len(last.efforts)} on "
                f"{last.day:%d %b}"
            )
    before = history.runs[: history.runs.index(last)][-1:]
    hard = [run.hardness or 0.0 for run in (*before, last)]
    if len(hard) > 1 and min(hard) >= TOO_HIGH:
        return f"Effort {number(hard[0])}, then {number(hard[1])}"
    if _is_everywhere(runs):
        much = cut_stations(last, MUCH_CUT_SHARE)
        return (
            f"{len(much)} of {len(last.stations)} stations were cut by more than "
            f"{percent(MUCH_CUT_SHARE)} %"
        )
    return ""


def _is_everywhere(runs: Sequence[CircuitRun]) -> bool:
    """Whether more than half of the stations were cut, as too much or twice."""
    cut = [s for s in runs[-1].stations if _asks_for_less(s, runs)]
    return 2 * len(cut) > len(runs[-1].stations)


def _asks_for_less(station: StationRun, runs: Sequence[CircuitRun]) -> bool:
    """Whether a lot of a station was left out, twice or once as too much."""
    last = runs[-1]
    if last.left_out(station) <= MUCH_CUT_SHARE or station.reason == "no-time":
        return False
    if station.reason == "too-much":
        return True
    return any(
        found.number == station.number and found.reason != "no-time"
        for run in runs[-2:-1]
        for found in cut_stations(run, MUCH_CUT_SHARE)
    )


def _is_young_rise(runs: Sequence[CircuitRun], context: CoachContext) -> bool:
    step = context.last_step
    return (
        step is not None
        and step.is_rise
        and runs[0].day >= step.day
        and len(runs) <= _YOUNG
    )


def _taken_back(why: str, context: CoachContext) -> Proposal:
    step = context.last_step
    assert step is not None
    then = totals_of(step.before)
    sentences = (f"{why}.", f"The last step ({step.words}) is undone.")
    reason = Reason(f"Back to {loops_text(then)}", sentences)
    change = CircuitChange(revert=step.decision)
    return made_of("step-down", context, step.before, change, reason, Direction.DOWN)


def _whole(why: str, last: CircuitRun, context: CoachContext) -> list[_Cut]:
    now = context.totals
    longer = _recovery(RECOVER_STEP_MS, why, context)
    if (last.rise or 0.0) > MOST_RISE and longer:
        return longer
    if now.interval_ms - STEP_MS >= LEAST_WORK_MS:
        return [_shorter(why, context)]
    if now.loops > 1:
        change = CircuitChange(loops=now.loops - 1)
        return [_Cut(_loops(now.loops - 1), why, change)]
    if now.recover_ms + RECOVER_STEP_MS <= MOST_RECOVER_MS:
        change = CircuitChange(recover_step_ms=RECOVER_STEP_MS)
        return [_Cut(_recover_text(now.recover_ms, RECOVER_STEP_MS), why, change)]
    for place in range(1, len(context.circuit.stations) + 1):
        if easier := _easier_form(place, why, context):
            return [easier]
    return []


def _shorter(why: str, context: CoachContext) -> _Cut:
    now_ms = context.totals.interval_ms
    what = f"{_s(now_ms - STEP_MS)} instead of {_s(now_ms)}"
    return _Cut(what, why, CircuitChange(work_step_ms=-STEP_MS))


def _recovery(step_ms: int, why: str, context: CoachContext) -> list[_Cut]:
    """Longer recovery, where it does not get longer than the work; else nothing."""
    now = context.totals
    if not now.recover_ms or now.recover_ms + step_ms > now.interval_ms:
        return []
    change = CircuitChange(recover_step_ms=step_ms)
    return [_Cut(_recover_text(now.recover_ms, step_ms), why, change)]


def _recover_text(now_ms: int, step_ms: int) -> str:
    return f"{_s(now_ms + step_ms)} of recovery instead of {_s(now_ms)}"


def _chronic(runs: Sequence[CircuitRun], context: CoachContext) -> str:
    """Why it stays too hard: four runs above the target and no easier; else ""."""
    last = [run.hardness or 0.0 for run in runs[-CHRONIC_RUNS:]]
    if len(last) < CHRONIC_RUNS or min(last) <= context.target:
        return ""
    if last[-1] < last[0] - CHRONIC_FALL:
        return ""
    efforts = ", ".join(number(effort) for effort in last)
    return (
        f"{CHRONIC_RUNS} sessions in a row above the aim of "
        f"{number(context.target)}: {efforts}"
    )


def _denser_less(why: str, context: CoachContext) -> list[_Cut]:
    longer = _recovery(CHRONIC_STEP_MS, why, context)
    if longer:
        return longer
    now_ms = context.totals.interval_ms
    return [_shorter(why, context)] if now_ms - STEP_MS >= LEAST_WORK_MS else []


def _loops(count: int) -> str:
    return "one loop" if count == 1 else f"{count} loops"


# --- One station ----------------------------------------------------------------------


def _left_out(
    station: StationRun, runs: Sequence[CircuitRun], context: CoachContext
) -> _Cut | None:
    """Less at a station of which a lot was left out, twice or as too much."""
    if not _asks_for_less(station, runs):
        return None
    share = percent(runs[-1].left_out(station))
    part = station.name if share == 100 else f"{share} % of {station.name}"
    text = f"{part} was left out"
    how = " as too much" if station.reason == "too-much" else " twice in a row"
    return _less_there(station.number, f"{text}{how}", context)


def _less_there(place: int, why: str, context: CoachContext) -> _Cut | None:
    """The easier form of a station, else a lower load, else 10 s less."""
    if easier := _easier_form(place, why, context):
        return easier
    name = context.circuit.stations[place - 1].name
    if lower := _lower_load(place, context):
        change = CircuitChange(loads=((place, lower),))
        return _Cut(f"{name} with {lower}", why, change)
    interval = intervals_ms(context.plan)[1, place]
    if interval - STATION_STEP_MS < LEAST_WORK_MS:
        return None
    shorter = _s(interval - STATION_STEP_MS)
    change = CircuitChange(work_step_at=((place, -STATION_STEP_MS),))
    return _Cut(f"{name}: {shorter} instead of {_s(interval)}", why, change)


def _easier_form(place: int, why: str, context: CoachContext) -> _Cut | None:
    station = context.circuit.stations[place - 1]
    card = cards().get(station.exercise)
    in_use = [each.exercise for each in context.circuit.stations]
    instead = stand_in(context, place, {}, in_use) if card else None
    if instead is None or card is None:
        return None
    if instead.exercise not in {neighbour.to for neighbour in card.easier}:
        return None
    name = context.library[instead.exercise].name
    return _instead(place, instead.exercise, name, instead.load, why, context)


def _instead(
    place: int, exercise: str, name: str, load: str, why: str, context: CoachContext
) -> _Cut:
    old = context.circuit.stations[place - 1].name
    change = CircuitChange(
        swaps=((place, exercise),),
        loads=((place, load),) if load else (),
        bare=() if load else (place,),
    )
    return _Cut(f"{name} instead of {old}", why, change)


def _lower_load(place: int, context: CoachContext) -> str:
    """The next owned load below that of a station, as typed; "" for none."""
    load = uniform_load(context.circuit, place)
    if context.kit is None or load is None or load.each_kg is None:
        return ""
    kit = context.circuit.stations[place - 1].kit or ("weight",)
    rungs = ladder(context.kit, load.count, kit)
    below = [rung for rung in rungs if rung.each_kg < load.each_kg]
    return str(below[-1].load) if below else ""


def _chosen(
    station: StationRun, runs: Sequence[CircuitRun], context: CoachContext
) -> _Cut | None:
    """What the athlete chose there twice becomes the plan, where it is less."""
    pair = [
        found
        for run in runs[-2:]
        for found in run.stations
        if found.number == station.number
    ]
    if len(pair) < 2:
        return None
    place, twice = station.number, "You chose {} twice in a row"
    if all(found.easier for found in pair):
        why = twice.format(f"the easier version of {station.name}")
        return _less_there(place, why, context)
    names = {found.swapped_to for found in pair}
    key = _exercise(names.pop(), context) if len(names) == 1 else ""
    if key and _is_no_harder(key, station.exercise):
        name = context.library[key].name
        load = pair[-1].load if cards()[key].load_kind != "none" else None
        return _instead(place, key, name, load or "", twice.format(name), context)
    return _chosen_load(place, pair, context)


def _exercise(name: str, context: CoachContext) -> str:
    """The id of an exercise by its name; "" where nobody knows it."""
    return next((key for key, x in context.library.items() if x.name == name), "")


def _is_no_harder(key: str, than: str) -> bool:
    card, other = cards().get(key), cards().get(than)
    return (
        card is not None and other is not None and card.difficulty <= other.difficulty
    )


def _chosen_load(
    place: int, pair: Sequence[StationRun], context: CoachContext
) -> _Cut | None:
    planned = uniform_load(context.circuit, place)
    used = [_load(found.load) for found in pair if found.other_load]
    if len(used) < 2 or planned is None or planned.each_kg is None:
        return None
    known = [load for load in used if load is not None and load.each_kg is not None]
    highest = max(known, key=lambda load: load.each_kg or 0, default=None)
    if len(known) < 2 or highest is None or not _is_less(highest, planned):
        return None
    name = context.circuit.stations[place - 1].name
    why = f"You used less than {planned} there twice in a row"
    change = CircuitChange(loads=((place, str(highest)),))
    return _Cut(f"{name} with {highest}", why, change)


def _is_less(load: Load, than: Load) -> bool:
    if load.total_kg is None or than.total_kg is None:
        return False
    return Fraction(load.total_kg) < Fraction(than.total_kg)


def _load(typed: str | None) -> Load | None:
    try:
        return parse_load(typed or "")
    except ValueError:
        return None


def _s(ms: int) -> str:
    return f"{ms / 1000:g} s"
