"""A session that is driven and recorded, step by step, for tests to judge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from whistlestop.domain.plan.plan import Plan
from whistlestop.engine.commands import Command
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Event
from whistlestop.errors import CommandRejected


def state(engine: Engine) -> dict[str, Any]:
    """All that an engine knows, as values that can be compared."""
    return {
        name: value
        for name, value in vars(engine).items()
        if name not in {"plan", "unreported", "_unreported"}
    }


@dataclass
class Step:
    """One call of the engine: an advance, or a command at a moment."""

    now_ms: int
    command: Command | None
    accepted: bool
    before: dict[str, Any]
    after: dict[str, Any]
    events: list[Event]
    next_due: int | None


class Run:
    """A session that is driven and recorded. `inputs` is its journal."""

    def __init__(
        self,
        plan: Plan,
        *,
        count_in_ms: int = 3_000,
        engine_class: type[Engine] = Engine,
    ) -> None:
        self.plan = plan
        self.count_in_ms = count_in_ms
        self.engine_class = engine_class
        self.engine = engine_class(plan, count_in_ms=count_in_ms)
        self.now_ms = 0
        self.inputs: list[tuple[int, Command]] = []
        self.steps: list[Step] = []
        self._step(None, 0, self.engine.start)

    @property
    def events(self) -> list[Event]:
        return [event for step in self.steps for event in step.events]

    def wait(self, ms: int) -> None:
        """Let time pass."""
        self.until(self.now_ms + ms)

    def until(self, now_ms: int) -> None:
        """Tell the engine a time, which may lie before the last one."""
        self.now_ms = max(self.now_ms, now_ms)
        self._step(None, now_ms, lambda: self.engine.advance(now_ms))

    def do(self, command: Command, at_ms: int | None = None) -> bool:
        """Give a command now (or at another time told); say if it was taken."""
        told_ms = self.now_ms if at_ms is None else at_ms
        self.until(told_ms)
        step = self._step(
            command, told_ms, lambda: self.engine.handle(command, told_ms)
        )
        if step.accepted:
            # What a journal keeps is the time at which it counted.
            self.inputs.append((self.engine.t_ms, command))
        return step.accepted

    def _step(
        self,
        command: Command | None,
        now_ms: int,
        call: Callable[[], list[Event]],
    ) -> Step:
        before = state(self.engine)
        try:
            events, accepted = call(), True
        except CommandRejected:
            events, accepted = [], False
        step = Step(
            now_ms,
            command,
            accepted,
            before,
            state(self.engine),
            events,
            self.engine.next_due(),
        )
        self.steps.append(step)
        return step

    def again(self, ticks: int = 0) -> tuple[Engine, list[Event], list[dict[str, Any]]]:
        """The same inputs through a new engine, with some ticks before each.

        Returns the engine, its events, and its state after each input.
        """
        engine = self.engine_class(self.plan, count_in_ms=self.count_in_ms)
        events, states = engine.start(), []
        for now_ms, command in self.inputs:
            events += _ticked(engine, now_ms, ticks)
            events += engine.handle(command, now_ms)
            states.append(state(engine))
        events += _ticked(engine, self.now_ms, ticks)
        events += engine.advance(self.now_ms)
        return engine, events, states


def _ticked(engine: Engine, now_ms: int, ticks: int) -> list[Event]:
    start, events = engine.t_ms, []
    for number in range(1, ticks + 1):
        events += engine.advance(start + (now_ms - start) * number // (ticks + 1))
    return events
