"""Worse evidence never makes a step larger, rule by rule and for the whole answer.

A step is ranked by direction first (rest, down, same, up), then by the change of
demand; a rule that proposes nothing ranks as the same again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.coach.making import (
    after,
    bells,
    context,
    history,
    run,
    shed,
    station_runs,
)
from tests.support.plans import FEW, MODERATE

from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory, CircuitRun, Elsewhere
from whistlestop.coach.holds import holds
from whistlestop.coach.next_step import next_step
from whistlestop.coach.restart import restart
from whistlestop.coach.rules import RULES
from whistlestop.coach.verdicts import Proposal, Verdict
from whistlestop.domain.targets import EMPHASES

Rank = tuple[int, Fraction]
NOTHING: Rank = (0, Fraction(0))
RISING = ("more-work", "another-loop", "shorter-recovery", "heavier",
          "harder-variant", "drill-level")  # fmt: skip


def rank(verdict: Verdict) -> Rank:
    return verdict.rank if isinstance(verdict, Proposal) else NOTHING


def answer_rank(told: CircuitHistory, wishes: CoachContext) -> Rank:
    return next_step(told, wishes).proposal.rank


HALVES = st.integers(2, 20).map(lambda n: n / 2)
# Mostly what earns a step, so that there is something to lose.
CALM = st.sampled_from([4.0, 4.5, 5.0])
MISSED = st.sampled_from([0.0] * 9 + [0.04, 0.1, 0.3])


@st.composite
def told(draw: st.DrawFn) -> tuple[CircuitHistory, CoachContext]:
    """One to five runs 2 to 6 days apart, the last ones at the circuit as it is."""
    circuit = shed(
        loops=draw(st.integers(1, 3)),
        work_ms=draw(st.sampled_from([20, 40, 45, 60])) * 1000,
        recover_ms=draw(st.sampled_from([15, 20, 30])) * 1000,
        load=draw(st.sampled_from(["16 kg", "20 kg"])),
    )
    smaller = replace(circuit, loops=1, work_ms=20_000)
    days, runs = 0, []
    count = draw(st.sampled_from([1, 2, 3, 4, 4, 5, 5]))
    for place in range(count):
        old = place < count - 3 and draw(st.booleans())
        plan = smaller if old else circuit
        felt = CALM if draw(st.integers(0, 5)) else HALVES
        efforts = [draw(felt) for _ in range(plan.loops)]
        missed = {2: draw(MISSED)}
        sore = (("knee", 2),) if draw(st.integers(0, 15)) == 0 else ()
        runs.append(run(plan, after(days), efforts, missed=missed, discomforts=sore))
        days += draw(st.integers(3, 6))
    wishes = context(
        circuit,
        runs[-1].day + timedelta(days=draw(st.integers(2, 5))),
        kit=bells(12, 16, 18, 20, 24),
        emphasis=draw(st.sampled_from(["build", "strength", *EMPHASES])),
        deload_weeks=draw(st.sampled_from([4, 6])),
    )
    return history(*runs), wishes


def with_run(story: CircuitHistory, place: int, changed: CircuitRun) -> CircuitHistory:
    runs = list(story.runs)
    runs[place] = changed
    return replace(story, runs=tuple(runs))


def compare(
    better: tuple[CircuitHistory, CoachContext],
    worse: tuple[CircuitHistory, CoachContext],
    rules: tuple[str, ...] = tuple(RULES),
    *,
    whole: bool = True,
) -> None:
    for key in rules:
        judge: Callable[[CircuitHistory, CoachContext], Verdict] = RULES[key].judge
        assert rank(judge(*worse)) <= rank(judge(*better)), key
    if whole:
        assert answer_rank(*worse) <= answer_rank(*better)


@MODERATE
@given(told(), st.data())
def test_more_effort_never_gives_a_larger_step(
    case: tuple[CircuitHistory, CoachContext], data: st.DataObject
) -> None:
    """In the last loop or the session, in all loops of the last session, or in all.

    Not promised: more effort in a first loop or in an older session alone. It ends a
    rise from loop to loop, or from session to session: that is better evidence.
    """
    story, wishes = case
    more = data.draw(st.integers(1, 10)) / 2
    which = data.draw(st.sampled_from(["last loop", "session", "last run", "all runs"]))
    runs = list(story.runs)
    for place in range(len(runs) if which == "all runs" else 1):
        chosen = runs[-1 - place]
        efforts = list(chosen.efforts)
        first = len(efforts) - 1 if which == "last loop" else 0
        for loop in range(first, len(efforts)):
            efforts[loop] = min(10.0, efforts[loop] + more)
        if which == "session":
            harder = min(10.0, (chosen.hardness or 0.0) + more)
            runs[-1] = replace(chosen, session_effort=harder)
        else:
            runs[-1 - place] = replace(chosen, efforts=tuple(efforts))
    compare(case, (replace(story, runs=tuple(runs)), wishes), whole=True, rules=())


@MODERATE
@given(told(), st.data())
def test_more_done_elsewhere_never_gives_a_larger_step(
    case: tuple[CircuitHistory, CoachContext], data: st.DataObject
) -> None:
    """In the last two days. Not promised: more weeks ago, which makes it usual."""
    story, wishes = case
    usual = tuple(
        Elsewhere(wishes.today - timedelta(days=n), "cycling", 60.0, 5.0)
        for n in range(2, 30, 3)
    )
    more = Elsewhere(
        wishes.today - timedelta(days=data.draw(st.integers(0, 1))),
        data.draw(st.sampled_from(["cycling", "swimming", "judo"])),
        float(data.draw(st.sampled_from([20, 45, 90, 180, 300]))),
        data.draw(st.one_of(st.none(), st.integers(1, 10).map(float))),
    )
    before = replace(story, elsewhere=usual if data.draw(st.booleans()) else ())
    after_it = replace(before, elsewhere=(*before.elsewhere, more))
    assert answer_rank(after_it, wishes) <= answer_rank(before, wishes)


def test_the_random_logs_are_calm_enough_to_have_something_to_lose() -> None:
    """A third of the answers at least are steps up."""
    ups = []

    @settings(max_examples=60, database=None, derandomize=True, deadline=None)
    @given(told())
    def look(case: tuple[CircuitHistory, CoachContext]) -> None:
        ups.append(answer_rank(*case)[0] > 0)

    look()
    assert 3 * sum(ups) >= len(ups)


@MODERATE
@given(told(), st.data())
def test_more_missed_work_never_gives_a_larger_step(
    case: tuple[CircuitHistory, CoachContext], data: st.DataObject
) -> None:
    story, wishes = case
    place = data.draw(st.integers(0, len(story.runs) - 1))
    chosen = story.runs[place]
    stations = list(chosen.stations)
    index = data.draw(st.integers(0, len(stations) - 1))
    station = stations[index]
    less = data.draw(st.integers(0, station.best_ms))
    stations[index] = replace(station, best_ms=less)
    compare(
        case,
        (with_run(story, place, replace(chosen, stations=tuple(stations))), wishes),
    )


@MODERATE
@given(told(), st.data())
def test_a_discomfort_more_never_gives_a_larger_step(
    case: tuple[CircuitHistory, CoachContext], data: st.DataObject
) -> None:
    story, wishes = case
    place = data.draw(st.integers(0, len(story.runs) - 1))
    chosen = story.runs[place]
    felt = (*chosen.discomforts, ("shoulder", data.draw(st.integers(0, 10))))
    compare(case, (with_run(story, place, replace(chosen, discomforts=felt)), wishes))


@MODERATE
@given(told(), st.integers(1, 80))
def test_a_longer_layoff_never_gives_a_larger_step(
    case: tuple[CircuitHistory, CoachContext], days: int
) -> None:
    """By the restart rule, and for the whole answer where no lighter week is due.

    A lighter week that is due just before time off is more than one loop fewer; the
    time off itself is the lighter spell then. And six days between two steps up pass.
    """
    story, wishes = case
    later = replace(wishes, now=wishes.now + timedelta(days=days))
    assert rank(restart(story, later)) <= rank(restart(story, wishes))
    first, last = story.runs[0].day, later.today
    is_due = min((last - first).days, (story.runs[-1].day - first).days + 7) >= 28
    just_risen = {hold.rule for hold in holds(story, wishes)} == {"just-risen"}
    assume(not is_due and not just_risen)
    assert answer_rank(story, later) <= answer_rank(story, wishes)


@FEW
@given(told())
def test_fewer_sessions_never_give_a_larger_rise(
    case: tuple[CircuitHistory, CoachContext],
) -> None:
    story, wishes = case
    shorter = replace(story, runs=story.runs[1:])
    compare(case, (shorter, wishes), RISING, whole=False)


@FEW
@given(told(), st.integers(1, 6))
def test_a_lower_target_never_gives_a_larger_step(
    case: tuple[CircuitHistory, CoachContext], less: int
) -> None:
    story, wishes = case
    lower = replace(wishes, target_effort=max(1.0, wishes.target - less))
    compare(case, (story, lower))


@FEW
@given(told(), st.integers(1, 30))
def test_a_longer_rest_before_never_makes_rest_longer(
    case: tuple[CircuitHistory, CoachContext], hours: int
) -> None:
    """Once 48 h are over they stay over, and before that the end does not move."""
    story, wishes = case
    early = replace(wishes, now=story.runs[-1].began + timedelta(hours=20))
    later = replace(early, now=early.now + timedelta(hours=hours))
    one, other = (RULES["rest"].judge(story, moment) for moment in (early, later))
    assert isinstance(one, Proposal)
    assert isinstance(other, Proposal) is (hours < 28)
    if isinstance(other, Proposal):
        assert other.until == one.until


def test_the_measure_would_notice() -> None:
    """The ranks are not all alike: better evidence does give more somewhere."""
    circuit = shed(loops=3)
    wishes = context(circuit, after(6), kit=bells(16))
    good = history(run(circuit, after(0), 5), run(circuit, after(3), 5))
    bad = history(run(circuit, after(0), 5), run(circuit, after(3), [5, 9, 9]))
    plain = history(run(circuit, after(3), 5))
    ranks = [answer_rank(each, wishes) for each in (bad, plain, good)]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) == 3
    assert station_runs(run(circuit, after(0)).plan, {1: 0.5})[0].missed == Fraction(
        1, 2
    )
