"""Histories made to mislead, each with the answer worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from tests.coach.making import after, bells, context, history, moment, run, shed

from whistlestop.coach.changes import CircuitChange
from whistlestop.coach.context import LastStep
from whistlestop.coach.history import Outing
from whistlestop.coach.next_step import next_step
from whistlestop.coach.verdicts import Direction


def test_easy_on_paper_with_a_nine_in_one_loop_of_the_session_before_last() -> None:
    """Efforts 5, 9, 5 then 5, 5, 5: the mean is 5.7, below the target of 7.

    By hand: the last session is clean, so nothing asks for a step down; of the two
    that have to earn a step the first holds a 9, above 7. So: the same again.
    """
    circuit = shed(loops=3)
    told = history(run(circuit, after(0), [5, 9, 5]), run(circuit, after(3), 5))
    answer = next_step(told, context(circuit, after(6)))
    assert answer.rule.id == "same-again"
    assert "Effort reached 9 on 03 Mar" in answer.proposal.why[0]


def test_whole_sessions_that_hide_one_station_always_left_early() -> None:
    """97 % done in all, twice: but station 3 lacks 12 % each time.

    By hand: 4 stations, 12 % of one is 3 % of the whole. 12 % is above 5 (a cut) and
    below 25 (a step down). So: the same again, and the station is named.
    """
    circuit = shed(loops=3)
    runs = [run(circuit, after(3 * n), 5, missed={3: 0.12}) for n in range(2)]
    assert runs[0].completion == Fraction(97, 100)
    answer = next_step(history(*runs), context(circuit, after(6)))
    assert answer.rule.id == "same-again"
    assert "1 of 4 stations" in answer.proposal.why[0]
    assert "12 %" in answer.proposal.why[0]


def test_two_perfect_sessions_a_fortnight_ago_do_not_earn_a_step() -> None:
    """Efforts of 3, twice, then 14 days of nothing.

    By hand: 14 days is the first day of the transition: at most 50 % of the work.
    3 x 40 s = 120 s; of the choices in steps of 5 s: 1 x 40 = 40, 2 x 30 = 60,
    3 x 20 = 60. 60 is 50 %, and of 2 x 30 and 3 x 20 the longer interval is taken.
    Recovery is then at least as long as work: 30 s.
    """
    circuit = shed(loops=3)
    told = history(run(circuit, after(0), 3), run(circuit, after(3), 3))
    made = next_step(told, context(circuit, after(17))).proposal
    assert made.rule == "restart"
    assert (made.after.loops, made.after.interval_ms) == (2, 30_000)
    assert made.after.recover_ms == 30_000
    assert not made.lasting


def test_another_circuit_in_between_is_no_time_off_but_no_evidence_either() -> None:
    """This circuit rested for 20 days, another one was done every third day.

    By hand: the last circuit of any kind was 3 days ago, so no restart. But what was
    shown 20 days ago is 14 days old or more. So: the same again, as it is first.
    """
    circuit = shed(loops=2)
    others = [
        Outing(after(d), frozenset({"arms"}), "Arms", moment(after(d)))
        for d in range(6, 21, 3)
    ]
    told = history(run(circuit, after(0), 5), run(circuit, after(3), 5), others=others)
    answer = next_step(told, context(circuit, after(23)))
    assert answer.rule.id == "same-again"
    assert "20 days ago" in answer.proposal.why[0]


def test_the_step_was_too_much_and_is_taken_back_not_shrunk() -> None:
    """2 x 60 s became 3 x 45 s; the first session of it has effort 9 in loop 2.

    By hand: 9 before the last loop asks for a step down; the step is one session
    old, so it is taken back: 2 x 60 s, and not 3 x 40 s.
    """
    before, now = shed(work_ms=60_000), shed(loops=3, work_ms=45_000)
    told = history(
        run(before, after(0), 6),
        run(before, after(3), 6),
        run(now, after(6), [7, 9, 9]),
    )
    step = LastStep("d4", "3 loops of 45 s", after(6), before)
    made = next_step(told, context(now, after(9), last_step=step)).proposal
    assert made.rule == "step-down"
    assert made.change == CircuitChange(revert="d4")
    assert (made.after.loops, made.after.interval_ms) == (2, 60_000)
    # Three sessions later it is no longer the step's doing: 5 s less.
    late = history(*told.runs, *(run(now, after(6 + 3 * n), 6) for n in (1, 2)),
                   run(now, after(15), [7, 9, 9]))  # fmt: skip
    made = next_step(late, context(now, after(18), last_step=step)).proposal
    assert made.change == CircuitChange(work_step_ms=-5_000)


def test_a_heavier_bell_that_was_borrowed_is_not_the_present_load() -> None:
    """Planned 16 kg, and 20 kg was used in the last session; effort 5 all the same.

    By hand: the two sessions are alike in plan, not in load, so no step is earned
    from them, and least of all a load. So: the same again, and the load is named.
    """
    circuit = shed(loops=3, work_ms=60_000)
    first, second = run(circuit, after(0), 5), run(circuit, after(3), 5)
    squat, *rest = second.stations
    borrowed = replace(squat, load="20 kg", other_load=True)
    told = history(first, replace(second, stations=(borrowed, *rest)))
    answer = next_step(told, context(circuit, after(6), kit=bells(16, 18, 20)))
    assert answer.rule.id == "same-again"
    assert "20 kg" in answer.proposal.why[0]


def test_efforts_that_were_never_entered_are_not_taken_as_low() -> None:
    """Ten whole sessions, no effort ever.

    By hand: complete is half of it; at or below target was never said. So: the same
    again, and the question.
    """
    circuit = shed()
    runs = [run(circuit, after(3 * n), [None, None]) for n in range(5)]
    answer = next_step(history(*runs), context(circuit, after(15)))
    assert answer.rule.id == "same-again"
    assert answer.proposal.why[0].startswith("How hard was it on")


def test_rest_and_a_step_at_once_is_rest_first_with_the_step_after_it() -> None:
    """Two clean sessions 24 h apart, asked 24 h after the second.

    By hand: 24 is less than 48, so rest until 48 h after the second began; what
    comes then is the earned step: 40 to 45 s.
    """
    circuit = shed()
    told = history(run(circuit, after(0), 5), run(circuit, after(1), 5))
    answer = next_step(told, context(circuit, after(2)))
    assert answer.proposal.direction is Direction.REST
    assert answer.proposal.until == moment(after(1)) + timedelta(hours=48)
    assert answer.then is not None
    assert answer.then.rule.id == "more-work"


def test_no_load_is_proposed_where_the_next_one_is_not_owned() -> None:
    """3 x 60 s with 24 kg, the heaviest bell owned, everything clean, strength first.

    By hand: nothing heavier is owned; the interval is at its top of 60 s; a harder
    form of the squat or another station is next if kit allows, else nothing. Never a
    28 kg bell.
    """
    circuit = shed(loops=3, work_ms=60_000, load="24 kg")
    told = history(run(circuit, after(0), 5), run(circuit, after(3), 5))
    wishes = context(circuit, after(6), kit=bells(16, 24), emphasis="strength")
    made = next_step(told, wishes).proposal
    assert made.change.loads == ()
    assert made.rule == "harder-variant"


def test_a_session_stopped_for_health_reasons_outweighs_low_efforts() -> None:
    """Effort 4 twice, the second ended by the health key in its last loop.

    By hand: after a stop for health nothing is proposed, whatever the efforts, until
    the page about it is answered.
    """
    circuit = shed()
    told = history(
        run(circuit, after(0), 4), run(circuit, after(3), 4, ending="health")
    )
    made = next_step(told, context(circuit, after(6))).proposal
    assert made.rule == "page"
    assert made.direction is Direction.REST
    assert made.circuit == circuit
