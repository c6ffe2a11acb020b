"""From inputs back to a session: the fold that the journal rests on."""

from __future__ import annotations

from collections.abc import Iterable

from whistlestop.domain.plan.plan import Plan
from whistlestop.engine.commands import Command
from whistlestop.engine.engine import COUNT_IN_MS, Engine
from whistlestop.engine.events import Event


def replay(
    plan: Plan,
    inputs: Iterable[tuple[int, Command]],
    *,
    count_in_ms: int = COUNT_IN_MS,
    until_ms: int | None = None,
) -> tuple[Engine, list[Event]]:
    """Run a session again from its inputs.

    Args:
        plan: The plan it was run with.
        inputs: Elapsed ms and command, in order.
        count_in_ms: The count-in it was run with.
        until_ms: Let time pass up to here after the last input.

    Raises:
        CommandRejected: An input was not legal where it stands.
    """
    engine = Engine(plan, count_in_ms=count_in_ms)
    events = engine.start()
    for t_ms, command in inputs:
        events += engine.handle(command, t_ms)
    if until_ms is not None:
        events += engine.advance(until_ms)
    return engine, events
