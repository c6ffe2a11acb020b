"""The rules that ask for one thing more, each only once the last step is earned.

Each is a pure function of history and context. One variable rises at a time; where
another falls back with it, that is stated. Nothing is proposed that is not owned.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from whistlestop.coach.changes import (
    LEAST_WORK_MS,
    STEP_MS,
    CircuitChange,
    CircuitTotals,
    applied,
    intervals_ms,
    least_load,
    totals_of,
    uniform_load,
)
from whistlestop.coach.context import CoachContext
from whistlestop.coach.evidence import RUNS_NEEDED, comparable, number
from whistlestop.coach.history import CircuitHistory, CircuitRun
from whistlestop.coach.holds import holds
from whistlestop.coach.lighter import load_along
from whistlestop.coach.soreness import barred_sites
from whistlestop.coach.verdicts import (
    Blocker,
    Direction,
    Fact,
    Proposal,
    Reason,
    Verdict,
    propose,
)
from whistlestop.domain.circuit.circuit import Station
from whistlestop.domain.demands import station_asks
from whistlestop.domain.kit.kit import StepUp, ladder, next_step
from whistlestop.domain.limits import in_force
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.errors import WhistlestopError
from whistlestop.library import drills
from whistlestop.library.cards import Neighbour, cards

# With another loop, work rises by at most a sixth, as much as the largest step of an
# interval between 30 and 60 s: 30 to 35 s. 2 x 40 s to 3 x 30 s is 12.5 %. Arithmetic.
MOST_LOOP_RISE: Final = Fraction(1, 6)
# Work to recovery beyond 3 to 1 is no circuit of this kind. Common practice.
MOST_WORK_TO_REST: Final = 3
LEAST_RECOVER_MS: Final = 10_000
# How far an interval falls back with a harder form, whose size nobody knows.
VARIANT_FALLS_TO: Final = Fraction(4, 5)


def more_work(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Lengthen work by 5 s, or a station's that fell back with its load.

    Example: two complete sessions of 3 x 40 s at effort 6, target 7: 45 s, +12.5 %.
    Source: interval steps are arithmetic; the order is common practice.
    """
    held = _held("more-work", history, context)
    if held:
        return held
    if context.catching_up:
        steps = tuple(
            (n, min(STEP_MS, short)) for n, short in sorted(context.catching_up.items())
        )
        names = ", ".join(context.circuit.stations[n - 1].name for n, _ in steps)
        reason = Reason(
            "5 s more where work fell back",
            (
                _earned(history, context),
                f"{names}: an earlier step shortened work; 5 s go back in.",
            ),
            _efforts(history, context),
        )
        return _tried("more-work", context, CircuitChange(work_step_at=steps), reason)
    now = context.totals
    if now.interval_ms + STEP_MS > context.top_interval_ms:
        return None
    rise = Fraction(STEP_MS, now.interval_ms) * 100
    longer = _s(now.interval_ms + STEP_MS)
    reason = Reason(
        f"Work {longer} instead of {_s(now.interval_ms)}",
        (
            _earned(history, context),
            f"5 s more at each station, {_number(rise)} % more work: the one change.",
        ),
        _efforts(history, context),
    )
    return _tried("more-work", context, CircuitChange(work_step_ms=STEP_MS), reason)


def another_loop(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Add a loop, with the interval shortened so that work rises by a sixth at most.

    Example: 2 x 40 s = 80 s becomes 3 x 30 s = 90 s, +12.5 %. Source: arithmetic;
    the limit is common practice.
    """
    held = _held("another-loop", history, context)
    if held:
        return held
    now = context.totals
    if now.loops >= context.top_loops or context.catching_up:
        return None
    for step in range(0, LEAST_WORK_MS - now.interval_ms - 1, -STEP_MS):
        change = CircuitChange(loops=now.loops + 1, work_step_ms=step)
        after = _totals(context, change)
        if after is None or after.work_ms > (1 + MOST_LOOP_RISE) * now.work_ms:
            continue
        rise = Fraction(after.work_ms - now.work_ms, now.work_ms) * 100
        reason = Reason(
            f"{after.loops} loops of {_s(after.interval_ms)}",
            (
                _earned(history, context),
                (
                    f"{now.loops} x {_s(now.interval_ms)} becomes {after.loops} x "
                    f"{_s(after.interval_ms)}: one loop more, and work changes by "
                    f"{_number(rise)} %, at most {_number(MOST_LOOP_RISE * 100)}."
                ),
            ),
            _efforts(history, context),
        )
        return _tried("another-loop", context, change, reason)
    return Blocker("another-loop", "Another loop would add more than a sixth of work.")


def shorter_recovery(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Shorten recovery by 5 s, down to a third of the work and never below 10 s.

    Example: 45 s work and 20 s recovery becomes 45:15, three to one. Source: common
    practice (density).
    """
    held = _held("shorter-recovery", history, context)
    if held:
        return held
    now = context.totals
    shorter = now.recover_ms - STEP_MS
    floor = max(LEAST_RECOVER_MS, -(-now.interval_ms // MOST_WORK_TO_REST))
    if shorter < floor:
        return None
    reason = Reason(
        f"Recovery {_s(shorter)} instead of {_s(now.recover_ms)}",
        (
            _earned(history, context),
            (
                f"The same work with 5 s less recovery, {_s(now.interval_ms)} to "
                f"{_s(shorter)}."
            ),
        ),
        _efforts(history, context),
    )
    return _tried(
        "shorter-recovery", context, CircuitChange(recover_step_ms=-STEP_MS), reason
    )


# --- Loads ---------------------------------------------------------------------


def heavier(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Take the next load that is owned, at one station.

    Up to 10 % at once, with the interval as it is. A larger jump only after work at
    that station has grown by as much since this load was first used, and its interval
    falls back. Example: 20 kg, 24 kg owned (+20 %): held until 40 s have become 48 s or
    more. Source: ACSM 2009, Med Sci Sports Exerc 41:687 (2 to 10 %, read); earning a
    jump by seconds is common practice.
    """
    held = _held("heavier", history, context)
    if held:
        return held
    if context.catching_up:
        return None
    passed: list[str] = []
    best: tuple[Fraction, int, Load, StepUp] | None = None
    for place, station in enumerate(context.circuit.stations, 1):
        load = uniform_load(context.circuit, place)
        if load is None or load.each_kg is None:
            continue
        if context.kit is None:
            return Blocker("heavier", "No kit is entered, so no next load is known.")
        if not _is_owned(context, place, load):
            passed.append(f"{station.name}: {load} is not in your kit.")
            continue
        up = next_step(load, context.kit, station.kit or ("weight",))
        if up.next is None or up.next.each_kg is None:
            continue
        jump = Fraction(up.next.each_kg) / Fraction(load.each_kg) - 1
        if not up.is_usual:
            lacks = _lacks(history, context, place, jump)
            if lacks:
                passed.append(f"{station.name}: {up.sentence} {lacks}")
                continue
        if best is None or (jump, place) < best[:2]:
            best = jump, place, load, up
    if best is None:
        return Blocker("heavier", passed[0]) if passed else None
    return _load_step(history, context, best)


def _load_step(
    history: CircuitHistory,
    context: CoachContext,
    best: tuple[Fraction, int, Load, StepUp],
) -> Verdict:
    jump, place, load, up = best
    station = context.circuit.stations[place - 1]
    interval = intervals_ms(context.plan)[1, place]
    shorter = int(interval / (1 + jump)) // STEP_MS * STEP_MS
    if up.next is None or (shorter < LEAST_WORK_MS and not up.is_usual):
        return Blocker("heavier", f"{station.name}: work is too short to fall back.")
    back = () if up.is_usual else ((place, shorter - interval),)
    there = f"work there drops from {_s(interval)} to {_s(shorter)}"
    if up.is_usual:
        there = f"work there stays at {_s(interval)}"
    reason = Reason(
        f"{station.name} with {up.next}",
        (
            _earned(history, context),
            (
                f"{up.next} is the next load you own, {_number(jump * 100)} % "
                f"more than {load}; {there}."
            ),
        ),
        (*_efforts(history, context), Fact("load", f"+{_number(jump * 100)} %")),
    )
    change = CircuitChange(loads=((place, str(up.next)),), work_step_at=back)
    return _tried("heavier", context, change, reason)


def _is_owned(context: CoachContext, place: int, load: Load) -> bool:
    """Whether the present load stands on the ladder, so that one rung is one step."""
    kit, station = context.kit, context.circuit.stations[place - 1]
    if kit is None or load.each_kg is None:
        return False
    rungs = ladder(kit, load.count, station.kit or ("weight",))
    return any(abs(r.each_kg / load.each_kg - 1) * 100 <= 1 for r in rungs)


def _lacks(
    history: CircuitHistory, context: CoachContext, place: int, jump: Fraction
) -> str:
    """What is missing until a jump is earned by seconds; empty once it is.

    Counted from the first run in the record that was planned with this load there.
    """
    exercise = context.circuit.stations[place - 1].exercise
    load = uniform_load(context.circuit, place)
    typed = str(load) if load else ""
    segments = context.plan.segments
    now_ms = sum(
        s.duration_ms
        for s in segments
        if s.station == place and s.kind is SegmentKind.WORK
    )
    first_ms = next(
        (
            found.plan_ms
            for run in history.runs
            for found in run.stations
            if (found.number, found.exercise) == (place, exercise)
            and _same_load(found.load, typed)
        ),
        now_ms,
    )
    needed_ms = -int(-first_ms * (1 + jump) // 1)
    if now_ms >= needed_ms:
        return ""
    return (
        f"You work {_s(now_ms)} there a session; {_s(needed_ms)} earns the heavier "
        "load."
    )


def _same_load(one: str | None, other: str) -> bool:
    try:
        return one is not None and str(parse_load(one)) == other
    except ValueError:
        return False


# --- Difficulty ----------------------------------------------------------------


def harder_variant(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Swap one station for its harder neighbour in the library; work falls back.

    Only what kit and limits allow. Example: push-up on the knees to push-up, with
    60 s falling back to 45 s. Source: common practice.
    """
    held = _held("harder-variant", history, context)
    if held:
        return held
    if context.catching_up:
        return None
    plan = context.plan
    barred = in_force(context.limits, context.today)
    in_use = {station.exercise for station in context.circuit.stations}
    sore = barred_sites(history, context)
    for place, station in enumerate(context.circuit.stations, 1):
        card = cards().get(station.exercise)
        for neighbour in card.harder if card else ():
            facts = context.library.get(neighbour.to)
            if facts is None or neighbour.to in in_use:
                continue
            if any(limit.meets(neighbour.to, facts) for limit in barred):
                continue
            if any(station_asks(facts, site) for site in sore):
                continue
            if not _can_be_done(context, station, neighbour.to):
                continue
            load = _along(history, context, place, neighbour)
            if load is None:
                continue
            interval = intervals_ms(plan)[1, place]
            shorter = int(interval * VARIANT_FALLS_TO) // STEP_MS * STEP_MS
            step = max(shorter, LEAST_WORK_MS) - interval
            reason = Reason(
                f"{facts.name} instead of {station.name}",
                (
                    _earned(history, context),
                    (
                        f"{facts.name} is a step harder ({neighbour.by}); work "
                        f"there drops from {_s(interval)} to "
                        f"{_s(interval + step)}{_with(load, station.load)}."
                    ),
                ),
                _efforts(history, context),
            )
            change = CircuitChange(
                swap=(place, neighbour.to),
                work_step_at=((place, step),),
                loads=((place, load),) if load else (),
                bare=() if load else (place,),
            )
            tried = _tried("harder-variant", context, change, reason)
            if isinstance(tried, Proposal):
                return tried
    return None


def _with(load: str, before: Load | None) -> str:
    """The load over there, where it is another one."""
    if load == str(before or ""):
        return ""
    return f", with {load}" if load else ", without a load"


def _along(
    history: CircuitHistory, context: CoachContext, place: int, to: Neighbour
) -> str | None:
    """The load that goes along, as typed; "" without one; None: none is little enough.

    Never more than the share of the edge, nor a third more than the athlete's own
    last load there.
    """
    kind = cards()[to.to].load_kind
    load = least_load(context.circuit, place)
    if kind in {"none", "band"}:
        return "" if kind == "none" else str(load or "")
    if context.kit is None:
        return None if load or kind == "required" else ""
    last = _last_kg(history, to.to)
    found = load_along(context, load, to, last)
    return found if found or kind == "required" else ""


def _last_kg(history: CircuitHistory, exercise: str) -> float | None:
    for run in reversed(history.runs):
        for found in run.stations:
            if found.exercise == exercise and found.load:
                each = parse_load(found.load).each_kg
                return None if each is None else float(each)
    return None


def _can_be_done(context: CoachContext, station: Station, exercise: str) -> bool:
    """Whether kit is there: known to be owned, or at the station already."""
    facts, card = context.library[exercise], cards()[exercise]
    if context.kit is None:
        return set(facts.kit) <= set(station.kit)
    if context.kit.missing(facts.kit):
        return False
    if card.load_kind == "band":
        return bool(station.load and station.load.band)
    if card.load_kind == "required":
        return station.load is not None and station.load.each_kg is not None
    return True


def drill_level(history: CircuitHistory, context: CoachContext) -> Verdict:
    """Go to the next level of one drill, the lowest level first.

    Example: one-leg stand from level 1 to 2. A level with closed eyes names what
    has to be steady before. Source: common practice.
    """
    held = _held("drill-level", history, context)
    if held:
        return held
    barred = in_force(context.limits, context.today)
    found: list[tuple[int, int, str]] = []
    for place, station in enumerate(context.circuit.stations, 1):
        known = drills().get(station.drill.id) if station.drill else None
        level = context.drill_levels.get(place, 1)
        if (
            known is not None
            and level < len(known.ladder)
            and not any(x.meets_drill(known.id, known, level + 1) for x in barred)
        ):
            found.append((level, place, known.id))
    if not found:
        return None
    level, place, key = min(found)
    known = drills()[key]
    step = known.ladder[level]
    gate = f" and there is {known.gate}" if "eyes closed" in step and known.gate else ""
    reason = Reason(
        f"{known.name}: {step}",
        (
            _earned(history, context),
            (
                f"Level {level + 1} of {len(known.ladder)} of this drill is {step}, "
                f"once level {level} is held for the whole recovery{gate}."
            ),
        ),
        _efforts(history, context),
    )
    return _tried(
        "drill-level", context, CircuitChange(drill=(place, level + 1)), reason
    )


# --- What they share -----------------------------------------------------------


def _held(rule: str, history: CircuitHistory, context: CoachContext) -> Blocker | None:
    found = holds(history, context)
    return Blocker(rule, found[0].sentence) if found else None


def _tried(
    rule: str, context: CoachContext, change: CircuitChange, reason: Reason
) -> Verdict:
    try:
        return propose(rule, context, change, reason, direction=Direction.UP)
    except WhistlestopError as error:
        return Blocker(rule, f"The circuit does not allow it: {error}.")


def _totals(context: CoachContext, change: CircuitChange) -> CircuitTotals | None:
    try:
        return totals_of(applied(context.circuit, change, context.library))
    except WhistlestopError:
        return None


def _earned(history: CircuitHistory, context: CoachContext) -> str:
    runs = _last_two(history, context)
    efforts = [run.hardness for run in runs if run.hardness is not None]
    target = number(context.target)
    if len(efforts) == 1:
        return (
            f"Complete at effort {number(efforts[0])}, far below the aim of {target}."
        )
    if len(set(efforts)) == 1:
        return f"Twice complete at {number(efforts[0])}, the aim is {target}."
    text = " and ".join(number(effort) for effort in efforts)
    return f"Twice complete, at {text}; the aim is {target}."


def _efforts(history: CircuitHistory, context: CoachContext) -> tuple[Fact, ...]:
    return tuple(
        Fact(
            f"efforts of {run.day:%d %b}",
            _efforts_text(run),
        )
        for run in _last_two(history, context)
    )


def _efforts_text(run: CircuitRun) -> str:
    """The efforts of the loops; that of the session where no loop has one."""
    if run.hardness is not None and not any(e is not None for e in run.efforts):
        return f"{number(run.hardness)} for the session"
    return ", ".join("-" if e is None else number(e) for e in run.efforts)


def _last_two(history: CircuitHistory, context: CoachContext) -> tuple[CircuitRun, ...]:
    return comparable(history, context)[-RUNS_NEEDED:]


def _number(percent: Fraction) -> str:
    return f"{float(round(percent, 1)):g}"


def _s(ms: int) -> str:
    return f"{ms / 1000:g} s"
