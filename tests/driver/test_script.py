"""A scripted run: efforts from a list, gates that open at once, a set clock."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from tests.support.plans import every_place, plan

from whistlestop.domain.effort import Effort
from whistlestop.driver.script import EffortScript, SimulatedClock, gate_answer
from whistlestop.engine.commands import Do, EnterEffort
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import LoopEnded
from whistlestop.errors import UsageError


def ended(loop: int, *, worked: bool = True) -> LoopEnded:
    return LoopEnded(1_000 * loop, loop, partial=not worked, worked=worked)


def test_the_list_is_read_with_a_hyphen_for_one_left_out() -> None:
    script = EffortScript.parse("5,-, 6.5 ,10")
    assert script.efforts == [Effort(10), None, Effort(13), Effort(20)]
    assert EffortScript.parse("").efforts == []


@pytest.mark.parametrize("text", ["11", "5,,6", "5;6", "6.3", "-1", "five", "5,²"])
def test_what_is_no_effort_is_named(text: str) -> None:
    with pytest.raises(UsageError, match="--effort"):
        EffortScript.parse(text)


def test_each_loop_takes_the_next_and_a_hyphen_leaves_it_out() -> None:
    script = EffortScript.parse("5,-,6.5")
    assert script.answer([ended(1)]) == [EnterEffort(1, Effort(10))]
    assert script.answer([ended(2)]) == []
    assert script.answer([ended(3)]) == [EnterEffort(3, Effort(13))]
    assert script.surplus == 0


def test_missing_ones_stay_not_entered() -> None:
    script = EffortScript.parse("5")
    assert len(script.answer([ended(1), ended(2)])) == 1
    assert script.surplus == 0


def test_surplus_is_counted() -> None:
    script = EffortScript.parse("5,6,7")
    script.answer([ended(1)])
    assert script.surplus == 2


def test_a_loop_is_asked_once_and_one_without_work_never() -> None:
    """A loop that was entered again ends again: its effort is not used twice."""
    script = EffortScript.parse("5,6")
    script.answer([ended(1)])
    assert script.answer([ended(1)]) == []
    assert script.answer([ended(2, worked=False)]) == []
    assert script.answer([ended(3)]) == [EnterEffort(3, Effort(12))]


def test_a_gate_is_opened_and_nothing_else_is_touched() -> None:
    engine = Engine(every_place(), count_in_ms=0)
    assert gate_answer(engine) is None
    engine.start()
    assert gate_answer(engine) is None
    engine.advance(195_000)
    assert engine.at_gate
    assert gate_answer(engine) is Do.NEXT
    engine.handle(Do.NEXT, 195_000)
    assert not engine.at_gate
    assert gate_answer(engine) is None


def test_the_simulated_clock_stands_where_it_is_put_and_never_sleeps() -> None:
    clock = SimulatedClock(datetime(2031, 4, 12, 6, 15, tzinfo=UTC))
    clock.now_ms = 90_500
    assert (clock.read().awake_ms, clock.read().slept_ms) == (90_500, 0)
    assert clock.wall().isoformat() == "2031-04-12T06:16:30.500000+00:00"


def test_plans_used_here_have_gates() -> None:
    """Guards the tests above against a plan without any."""
    assert every_place().open_gates == 3
    assert plan().open_gates == 0
