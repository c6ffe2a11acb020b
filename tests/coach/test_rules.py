"""Each rule by its example, and by worked examples from what is published."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import pytest
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

from whistlestop.coach.changes import totals_of
from whistlestop.coach.context import CoachContext
from whistlestop.coach.history import CircuitHistory, Outing
from whistlestop.coach.holds import holds
from whistlestop.coach.lighter_week import (
    DELOAD_LEAST,
    DELOAD_MOST,
    DELOAD_SHARE,
    deload,
)
from whistlestop.coach.next_step import answer_json, answer_lines, next_step
from whistlestop.coach.raising import (
    MOST_LOOP_RISE,
    another_loop,
    drill_level,
    harder_variant,
    heavier,
    shorter_recovery,
)
from whistlestop.coach.restart import restart
from whistlestop.coach.resting import rest
from whistlestop.coach.rules import EASING, RAISING, RULES
from whistlestop.coach.stepping_down import one_station, step_down
from whistlestop.coach.verdicts import Blocker, Direction, Proposal
from whistlestop.domain.circuit.circuit import Circuit, Drill
from whistlestop.domain.limits import Limit
from whistlestop.library.cards import cards
from whistlestop.review.days import Mark


def two_good(circuit: Circuit, *, day: int = 0) -> CircuitHistory:
    return history(
        run(circuit, after(day), [6.0] * circuit.loops),
        run(circuit, after(day + 3), [6.5] * circuit.loops),
    )


def proposal(verdict: object) -> Proposal:
    assert isinstance(verdict, Proposal), verdict
    return verdict


# --- Worked examples from what is published ------------------------------------


def test_a_bell_20_percent_heavier_asks_for_the_interval_first() -> None:
    """2 to 10 % a step (ACSM 2009): from 20 kg, 20.4 to 22.0; a 24 kg bell is +20 %."""
    circuit = shed(load="20 kg")
    wishes = context(circuit, after(6), kit=bells(20, 24), emphasis="strength")
    answer = next_step(two_good(circuit), wishes)
    assert answer.rule.id == "more-work"
    (over,) = [hold for hold in answer.passed_over if hold.rule == "heavier"]
    assert "24 kg is 20 % more than 20 kg" in over.sentence
    # 2 x 40 s = 80 s; a fifth more is 96 s.
    assert "80 s there a session; 96 s earns the heavier load" in over.sentence


def test_a_bell_within_10_percent_is_offered_at_once() -> None:
    """ACSM 2009: 2 to 10 %. 20 to 22 kg is 10 %; the interval stays."""
    circuit = shed(load="20 kg")
    wishes = context(circuit, after(6), kit=bells(20, 22), emphasis="strength")
    made = proposal(heavier(two_good(circuit), wishes))
    assert made.change.loads == ((1, "22 kg"),)
    assert made.change.work_step_at == ()


def test_a_jump_is_earned_once_work_has_grown_by_as_much() -> None:
    """First 2 x 40 s with 20 kg, now 2 x 50 s: +25 %, more than the 20 % to 24 kg."""
    start, now = shed(load="20 kg"), shed(load="20 kg", work_ms=50_000)
    told = history(
        run(start, after(0), 5), run(now, after(7), 6), run(now, after(10), 6)
    )
    wishes = context(now, after(13), kit=bells(20, 24), emphasis="strength")
    made = proposal(heavier(told, wishes))
    assert made.change.loads == ((1, "24 kg"),)
    # 50 s / 1.2 = 41.7 s, in steps of five: 40 s.
    assert made.circuit.stations[0].work_ms == 40_000
    assert made.after.interval_ms == 50_000
    not_yet = shed(load="20 kg", work_ms=45_000)
    short = history(
        run(start, after(0), 5), run(not_yet, after(7), 6), run(not_yet, after(10), 6)
    )
    wishes = replace(wishes, circuit=not_yet)
    assert isinstance(heavier(short, wishes), Blocker)


@pytest.mark.parametrize(("hours", "rests"), [(46, True), (48, False)])
def test_the_same_region_rests_until_48_h_have_passed(hours: int, rests: bool) -> None:
    """Garber et al. 2011, Med Sci Sports Exerc 43:1334 (the 48 h from memory)."""
    circuit = shed()
    told = history(run(circuit, after(0), 5))
    wishes = replace(
        context(circuit, after(2)), now=moment(after(0)) + timedelta(hours=hours)
    )
    answer = next_step(told, wishes)
    assert (answer.rule.id == "rest") is rests
    if rests:
        assert answer.proposal.until == moment(after(2))
        assert answer.then is not None
        assert answer.then.rule.id == "same-again"


def test_a_step_after_two_sessions_and_not_after_one() -> None:
    """Two-for-two (Baechle and Earle, second-hand), moved to timed work."""
    circuit = shed()
    one = history(run(circuit, after(0), 6))
    assert next_step(one, context(circuit, after(3))).rule.id == "same-again"
    two = two_good(circuit)
    assert next_step(two, context(circuit, after(6))).rule.id == "more-work"


@pytest.mark.parametrize(
    ("days", "loops", "interval_s", "load"),
    [(6, 2, 45, "16 kg"), (7, 2, 40, "16 kg"), (9, 2, 40, "16 kg"),
     (10, 1, 40, "16 kg"),
     (13, 1, 40, "16 kg"), (14, 1, 40, "16 kg"), (27, 1, 40, "16 kg"),
     (28, 1, 40, "12 kg"), (56, 1, 40, "12 kg"), (57, 1, 30, "None")],
)  # fmt: skip
def test_the_table_of_days_off(
    days: int, loops: int, interval_s: int, load: str
) -> None:
    """13 days: one loop fewer; 14 and 56: in steps; 57: at the base.

    Two weeks or more off as a transition: Caterisano et al. 2019, Strength Cond J
    41(3):1; the table built on it is common practice, no source.

    The circuit is 2 x 40 s with 16 kg; up to 6 days the step that is earned stands,
    and up to three times the rhythm of 3 days nothing changes. Two thirds of 16 kg are
    not owned: the squat goes without a load.
    """
    circuit = shed()
    wishes = context(circuit, after(3 + days), kit=bells(12, 16))
    answer = next_step(two_good(circuit), wishes)
    made = answer.proposal
    assert (made.after.loops, made.after.interval_ms) == (loops, interval_s * 1000)
    assert str(made.circuit.stations[0].load) == load
    assert (answer.rule.id == "restart") is (days > 9)
    assert (made.after.recover_ms >= made.after.interval_ms) is (days >= 14)
    assert made.lasting is (days <= 6 or days > 56)


@pytest.mark.parametrize(
    ("off", "shares"), [(20, (0.5, 0.7)), (40, (0.5, 0.7, 0.8, 0.9))]
)
def test_a_return_goes_on_week_by_week(off: int, shares: tuple[float, ...]) -> None:
    """50 and 70 % for two weeks off, 50, 70, 80 and 90 % for four; then as planned."""
    circuit = shed(loops=3, work_ms=60_000)
    runs = [run(circuit, after(0), 6)]
    before = Fraction(0)
    for week in range(len(shares) + 1):
        day = after(off + 7 * week)
        wishes = context(circuit, day)
        verdict = restart(history(*runs), wishes)
        if week == len(shares):
            assert verdict is None
            break
        share = Fraction(proposal(verdict).after.work_ms, totals_of(circuit).work_ms)
        assert before < share <= Fraction(shares[week])
        before = share
        runs.append(run(proposal(verdict).circuit, day, 5))


# --- Rules by their examples ---------------------------------------------------


def test_the_order_of_steps_is_interval_loops_density_load() -> None:
    """One variable at a time, for the emphasis build (common practice, no source)."""
    kit = bells(12, 16, 20)
    seen = []
    for settings in (
        {"work_ms": 40_000},
        {"work_ms": 60_000},
        {"work_ms": 60_000, "loops": 3, "recover_ms": 30_000},
        {"work_ms": 60_000, "loops": 3},
    ):
        circuit = shed(**settings)
        start = run(shed(loops=1, work_ms=30_000), after(-2), 5)
        told = two_good(circuit)
        told = history(start, *told.runs)
        seen.append(next_step(told, context(circuit, after(6), kit=kit)).rule.id)
    assert seen == ["more-work", "another-loop", "shorter-recovery", "heavier"]


def test_another_loop_shortens_the_interval() -> None:
    """2 x 40 s = 80 s becomes 3 x 30 s = 90 s, +12.5 % (arithmetic)."""
    circuit = shed()
    made = proposal(another_loop(two_good(circuit), context(circuit, after(6))))
    assert (made.after.loops, made.after.interval_ms) == (3, 30_000)
    assert Fraction(made.after.work_ms, made.before.work_ms) == Fraction(9, 8)
    assert "12.5 %" in made.why[1]


@pytest.mark.parametrize(
    ("loops", "work_s", "becomes_s"),
    [
        (3, 40, 35),  # 4 x 35 = 140 s for 120: a sixth, just allowed
        (2, 70, 50),  # 3 x 55 = 165 s for 140 would be 17.9 %; 3 x 50 is 7.1 %
    ],
)
def test_another_loop_adds_a_sixth_of_the_work_at_most(
    loops: int, work_s: int, becomes_s: int
) -> None:
    """The largest step of an interval in use, 30 to 35 s, is a sixth (arithmetic).

    That a loop more may add as much and no more is common practice, no source.
    """
    assert Fraction(1, 6) == MOST_LOOP_RISE
    circuit = shed(loops=loops, work_ms=work_s * 1000)
    wishes = context(circuit, after(6), top_loops=loops + 1)
    made = proposal(another_loop(two_good(circuit), wishes))
    assert (made.after.loops, made.after.interval_ms) == (loops + 1, becomes_s * 1000)


def test_recovery_goes_to_a_third_of_the_work_and_no_further() -> None:
    circuit = shed(work_ms=45_000)
    made = proposal(shorter_recovery(two_good(circuit), context(circuit, after(6))))
    assert made.after.recover_ms == 15_000
    tight = shed(work_ms=45_000, recover_ms=15_000)
    assert shorter_recovery(two_good(tight), context(tight, after(6))) is None


def test_a_harder_form_needs_kit_and_no_limit_against_it() -> None:
    """Push-up: the library's harder neighbours; the interval falls back by a fifth."""
    circuit = shed(stations=(library_station("push-up"),))
    told = two_good(circuit)
    wishes = context(circuit, after(6), kit=bells(16))
    made = proposal(harder_variant(told, wishes))
    assert made.change.swap is not None
    taken = made.change.swap[1]
    assert taken in {neighbour.to for neighbour in cards()["push-up"].harder}
    assert not wishes.kit.missing(wishes.library[taken].kit)
    assert made.circuit.stations[0].work_ms == 30_000  # 32 s in steps of five
    day = after(6)
    limits = tuple(
        Limit("movement", neighbour.to, day) for neighbour in cards()["push-up"].harder
    )
    assert harder_variant(told, replace(wishes, limits=limits)) is None


def test_a_drill_goes_up_one_level_and_eyes_closed_names_its_gate() -> None:
    circuit = shed()
    made = proposal(drill_level(two_good(circuit), context(circuit, after(6))))
    assert made.change.drill == (1, 2)
    assert made.circuit.stations[0].drill == Drill(
        "one-leg-stand", "One-leg stand: hands free"
    )
    wishes = context(circuit, after(6), drill_levels={1: 3})
    made = proposal(drill_level(two_good(circuit), wishes))
    assert "30 s steady with eyes open" in made.why[1]
    top = context(circuit, after(6), drill_levels={1: 4})
    assert drill_level(two_good(circuit), top) is None


@pytest.mark.parametrize("weeks", [4, 5, 6])
def test_a_lighter_week_after_so_many_weeks_takes_30_to_50_percent(weeks: int) -> None:
    circuit = shed(loops=3, work_ms=60_000)
    runs = [run(circuit, after(3 * n), 6) for n in range(weeks * 7 // 3 + 1)]
    early = context(circuit, after(weeks * 7 - 1), deload_weeks=weeks)
    assert deload(history(*runs), early) is None
    due = context(circuit, after(weeks * 7), deload_weeks=weeks)
    made = proposal(deload(history(*runs), due))
    share = Fraction(made.after.work_ms, made.before.work_ms)
    assert Fraction(1, 2) <= share <= Fraction(7, 10)
    assert not made.lasting
    began = replace(due, deload_began=due.today)
    later = replace(began, now=began.now + timedelta(days=6))
    assert isinstance(deload(history(*runs), later), Proposal)
    over = replace(began, now=began.now + timedelta(days=7))
    assert deload(history(*runs), over) is None


def test_a_week_that_cannot_be_made_30_percent_lighter_is_not_called_lighter() -> None:
    """Rogerson et al. 2024 (survey, from memory): volume down by 30 to 50 %."""
    assert (Fraction(1, 2), Fraction(7, 10)) == (DELOAD_LEAST, DELOAD_MOST)
    assert DELOAD_LEAST <= DELOAD_SHARE <= DELOAD_MOST
    # One loop of 20 s can only become one of 15 s, the shortest: 25 % less.
    circuit = shed(loops=1, work_ms=20_000)
    runs = [run(circuit, after(3 * n), 6) for n in range(15)]
    assert deload(history(*runs), context(circuit, after(42), deload_weeks=4)) is None
    # One of 25 s can become 15 s: 40 % less.
    longer = shed(loops=1, work_ms=25_000)
    runs = [run(longer, after(3 * n), 6) for n in range(15)]
    made = deload(history(*runs), context(longer, after(42), deload_weeks=4))
    assert proposal(made).after.interval_ms == 15_000


def test_a_key_session_tomorrow_asks_for_rest_only_where_legs_work() -> None:
    day = after(6)
    key = frozenset({day + timedelta(days=1)})
    circuit = shed()
    verdict = rest(two_good(circuit), context(circuit, day, key_days=key))
    # One squat and one bridge of four stations: a third or more.
    assert proposal(verdict).direction is Direction.REST
    arms = shed(stations=(library_station("push-up"),))
    assert rest(two_good(arms), context(arms, day, key_days=key)) is None


def test_on_the_day_of_a_key_session_nothing_rises() -> None:
    circuit, day = shed(), after(6)
    wishes = context(circuit, day, key_days=frozenset({day}))
    assert next_step(two_good(circuit), wishes).rule.id == "same-again"


def test_ill_today_is_rest_and_nothing_has_to_be_made_up() -> None:
    circuit = shed()
    wishes = context(circuit, after(6), marks=frozenset({Mark.ILLNESS}))
    answer = next_step(two_good(circuit), wishes)
    assert answer.rule.id == "rest"
    assert answer.proposal.until is None


def test_other_regions_need_no_48_hours() -> None:
    arms = shed(stations=(library_station("push-up"),))
    legs = Outing(after(5), frozenset({"legs"}), "Legs", moment(after(5)))
    told = history(*two_good(arms).runs, others=(legs,))
    assert rest(told, context(arms, after(6))) is None
    whole = replace(legs, regions=frozenset({"whole"}))
    told = history(*two_good(arms).runs, others=(whole,))
    assert rest(told, context(arms, after(6))) is not None


def test_a_session_without_an_hour_counts_by_days() -> None:
    """A session entered by hand has a day only: two days apart is apart."""
    circuit = shed()
    by_hand = Outing(after(5), frozenset({"whole"}), "By hand")
    told = history(*two_good(circuit).runs, others=(by_hand,))
    assert rest(told, context(circuit, after(6))) is not None
    assert rest(told, context(circuit, after(7))) is None


def test_a_step_down_after_an_early_9_and_not_after_a_late_one() -> None:
    circuit = shed(loops=3)
    wishes = context(circuit, after(3))
    made = proposal(step_down(history(run(circuit, after(0), [6, 9, 6])), wishes))
    assert made.after.interval_ms == 35_000
    assert made.direction is Direction.DOWN
    assert step_down(history(run(circuit, after(0), [6, 6, 9])), wishes) is None


def test_a_station_that_is_cut_twice_eases_and_the_others_stay() -> None:
    """More than 25 %, twice; or once, where it was too much."""
    circuit = shed(loops=3)
    wishes = context(circuit, after(6))
    for share, expected in ((0.3, True), (0.25, False)):
        runs = [run(circuit, after(3 * n), 6, missed={2: share}) for n in range(2)]
        made = one_station(history(*runs), wishes)
        assert isinstance(made, Proposal) is expected
        if isinstance(made, Proposal):
            ((place, _),) = made.change.swaps
            assert place == 2
            assert made.after.interval_ms == 40_000
    (once,) = runs[1:]
    assert one_station(history(runs[0], once), wishes) is None


def test_a_rule_that_was_put_off_is_passed_over_until_its_day() -> None:
    circuit = shed()
    until = after(8)
    told = two_good(circuit)
    early = context(circuit, after(6), put_off={"more-work": until})
    answer = next_step(told, early)
    assert answer.rule.id != "more-work"
    assert any("Put off" in hold.sentence for hold in answer.passed_over)
    late = context(circuit, until, put_off={"more-work": until})
    assert next_step(told, late).rule.id == "more-work"


def test_maintain_never_raises() -> None:
    circuit = shed()
    wishes = context(circuit, after(6), emphasis="maintain", kit=bells(16, 17))
    assert next_step(two_good(circuit), wishes).rule.id == "same-again"


# --- The table -----------------------------------------------------------------


def test_every_rule_is_named_once_has_a_source_and_an_example() -> None:
    asked = {*EASING, *(key for order in RAISING.values() for key in order)}
    assert asked | {"same-again", "sore", "ask"} == set(RULES)
    for key, rule in RULES.items():
        assert rule.id == key
        assert rule.source
        assert rule.title
        assert rule.judge.__doc__
        is_example = "Example" in rule.judge.__doc__ or key == "rest"
        assert is_example, key


def test_an_answer_has_its_words_and_its_fields() -> None:
    circuit = shed()
    answer = next_step(two_good(circuit), context(circuit, after(6)))
    lines = answer_lines(answer)
    assert lines[0] == "Shed: Work 45 s instead of 40 s"
    assert lines[1] == "  Twice complete, at 6 and 6.5; the aim is 7."
    assert any(line.startswith("  now:  2 loops, 40 s work") for line in lines)
    assert any(line.startswith("  then: 2 loops, 45 s work") for line in lines)
    fields = answer_json(answer)
    assert fields["rule"] == "more-work"
    assert fields["source_tag"] == "CP"
    assert fields["after"]["work_ms"] == 2 * 4 * 45_000
    assert fields["change"] == {"work_step_ms": 5_000}


def test_words_that_are_never_used() -> None:
    """No promise, no guilt, no prediction of injury (common practice)."""
    from whistlestop.coach import evidence, holds, raising, rules, stepping_down
    from whistlestop.coach import restart as restarting

    for module in (stepping_down, evidence, holds, raising, rules, restarting):
        text = Path(module.__file__).read_text(encoding="utf-8").lower()
        for word in ("optimal", "risk", "should have", "failed", "lazy", "guarantee"):
            assert word not in text, (module.__name__, word)


def test_a_context_needs_a_zone_and_sane_wishes() -> None:
    circuit = shed()
    with pytest.raises(ValueError, match="zone"):
        CoachContext(circuit, moment(after(0)).replace(tzinfo=None))
    with pytest.raises(ValueError, match="4 to 6"):
        context(circuit, after(0), deload_weeks=3)
    with pytest.raises(ValueError, match="target"):
        context(circuit, after(0), target_effort=9.0)


# --- What holds a rise back ----------------------------------------------------


@pytest.mark.parametrize(
    ("efforts", "changes", "held_by"),
    [
        ([4, 5, 6], {}, None),
        ([3, 4, 6], {}, "rise-inside"),
        ([2, 3, 5], {}, None),
        ([7, 7, 7], {}, None),
        ([7, 7, 7.5], {}, "effort-above-target"),
        ([5, None, 6], {}, None),
        ([5, 5, None], {}, "effort-missing"),
        ([5, 5, None], {"session_effort": 6.0}, None),
        ([5, 5, 6], {"discomforts": (("knee", 0),)}, None),
        ([5, 5, 6], {"discomforts": (("knee", 1),)}, "discomfort"),
        ([5, 5, 6], {"missed": {2: 0.05}}, None),
        ([5, 5, 6], {"missed": {2: 0.06}}, "cut-stations"),
        ([5, 5, 6], {"ending": "stopped"}, "cut-stations"),
        ([5, 5, 6], {"session_effort": 8.0}, "effort-above-target"),
    ],
)
@pytest.mark.parametrize("place", [0, 1])
def test_each_hold_at_its_edge_in_either_of_the_two_sessions(
    efforts: list[float | None],
    changes: dict[str, object],
    held_by: str | None,
    place: int,
) -> None:
    """Target 7; drift above 2 points; above 5 % of a station; any discomfort."""
    circuit = shed(loops=3)
    clean = run(circuit, after(3 * (1 - place)), [5, 5, 6])
    other = run(circuit, after(3 * place), efforts, **changes)
    told = history(*sorted((clean, other), key=lambda each: each.day))
    wishes = context(circuit, after(6))
    assert [hold.rule for hold in holds(told, wishes)] == ([held_by] if held_by else [])
    expected = "same-again" if held_by else "more-work"
    assert next_step(told, wishes).rule.id == expected


def test_a_lighter_week_that_is_due_is_not_made_less_by_a_hard_session() -> None:
    """A step down is 5 s; a lighter week is more, so it comes first."""
    circuit = shed(loops=3, work_ms=60_000)
    days = [after(3 * n) for n in range(12)]
    easy = [run(circuit, day, 6) for day in days]
    hard = [*easy[:-1], run(circuit, days[-1], [6, 9, 9])]
    wishes = context(circuit, after(36))
    answers = [next_step(history(*runs), wishes) for runs in (easy, hard)]
    assert [answer.rule.id for answer in answers] == ["deload", "deload"]
    over = replace(wishes, put_off={"deload": after(40)})
    assert next_step(history(*hard), over).rule.id == "step-down"


def test_lighter_sessions_end_no_row_whoever_decided_them() -> None:
    """Two clean sessions, a lighter week, and the step is still earned; hard, not."""
    circuit, light = shed(), shed(loops=1)
    clean = two_good(circuit).runs
    easy = history(*clean, run(light, after(6), 4))
    asked = context(circuit, after(13), deload_began=after(6))
    week = history(*easy.runs, run(light, after(10), 4))
    unasked = replace(asked, deload_began=None)
    for wishes in (asked, unasked):
        assert next_step(week, wishes).rule.id == "more-work"
        hard = history(*easy.runs, run(light, after(10), 8))
        assert next_step(hard, wishes).rule.id == "same-again"
