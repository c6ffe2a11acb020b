"""Random sessions: whatever is pressed and whenever, every invariant holds.

The numbers are those of the fifteen rules in `invariants`.
"""

from __future__ import annotations

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)
from tests.engine.invariants import violations
from tests.engine.record import Run, state
from tests.support.examples import examples
from tests.support.plans import FEW, session_plans
from tests.support.replay import replay

from whistlestop.domain.effort import Effort
from whistlestop.engine.commands import (
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterVariant,
    Gap,
)
from whistlestop.engine.events import ClockAnswered, CountedIn, CueDue
from whistlestop.engine.states import Mode

COUNT_INS = st.sampled_from([0, 3_000, 5_000])
WAITS = st.one_of(
    st.sampled_from([0, 1, 999, 1_000, 2_000, 3_000]),
    st.integers(0, 8_000),
    st.integers(0, 60_000),
)
SEGMENTS = st.sampled_from([0, 0, 0, 0, 1, 1, 2])
# Ends come by rules of their own, so that most sessions live to meet something.
MOVES = st.sampled_from([do for do in Do if do not in (Do.STOP, Do.HEALTH)])
ENTRIES = st.one_of(
    st.builds(
        EnterEffort, st.integers(1, 3), st.none() | st.builds(Effort, st.just(13))
    ),
    st.sampled_from(
        [
            EnterSessionEffort(Effort(12)),
            EnterNote("felt steady"),
            EnterNote("\x1b[2J"),
            EnterDiscomfort("knee", "left", 2),
            EnterCount(12),
            EnterLoad("8 kg"),
            EnterVariant("easier"),
            EnterVariant("sideways"),
        ]
    ),
)


class Session(RuleBasedStateMachine):
    """One session of a random plan, driven at random."""

    @initialize(plan=session_plans(), count_in_ms=COUNT_INS)
    def begin(self, plan, count_in_ms):
        self.run = Run(plan, count_in_ms=count_in_ms)

    def walk(self, segments, ms):
        """On by some segments, answering pauses and gates, and a little further."""
        run = self.run
        for _ in range(segments):
            visit = run.engine.visit
            while run.engine.visit == visit and run.engine.mode is not Mode.ENDED:
                due = run.engine.next_due()
                if due is not None:
                    run.until(due)
                else:
                    paused = run.engine.mode is Mode.PAUSED
                    assert run.do(Do.RESUME if paused else Do.NEXT)
        run.wait(ms)

    @rule(do=MOVES, segments=SEGMENTS, ms=WAITS)
    def press(self, do, segments, ms):
        self.walk(segments, ms)
        self.run.do(do)

    @rule(first=MOVES, second=MOVES, segments=SEGMENTS)
    def press_two_at_once(self, first, second, segments):
        self.walk(segments, 0)
        self.run.do(first)
        self.run.do(second)

    @rule(do=MOVES, early_ms=st.sampled_from([0, 0, 1]))
    def press_when_something_is_due(self, do, early_ms):
        due = self.run.engine.next_due()
        if due is not None:
            self.run.until(max(self.run.engine.t_ms, due - early_ms))
        self.run.do(do)

    @rule(gap_ms=st.integers(1, 10**7), earlier_ms=st.sampled_from([0, 0, 1, 900]))
    def gap(self, gap_ms, earlier_ms):
        """13, 14: told late, for the last instant seen."""
        self.run.do(Gap(gap_ms), at_ms=max(0, self.run.now_ms - earlier_ms))

    @rule(entry=ENTRIES)
    def enter(self, entry):
        self.run.do(entry)

    @rule(ms=st.integers(1, 10_000))
    def time_runs_backwards(self, ms):
        """13: an earlier time is told."""
        self.run.until(max(0, self.run.engine.t_ms - ms))

    @rule(do=st.sampled_from([Do.PAUSE, Do.HEALTH, Do.NEXT]), ms=st.integers(0, 5_000))
    def press_in_a_count_in(self, do, ms):
        run = self.run
        run.do(Do.NEXT if run.engine.at_gate else Do.PAUSE)
        run.do(Do.RESUME)
        run.wait(ms)
        run.do(do)
        run.do(Do.REOPEN)

    @rule(between=st.lists(MOVES, max_size=3), ms=st.integers(0, 3_500))
    def drop_a_station_and_take_it_back(self, between, ms):
        self.run.do(Do.SKIP)
        for do in between:
            self.run.do(do)
        self.run.wait(ms)
        self.run.do(Do.UNDO)

    @rule(segments=SEGMENTS, ms=WAITS)
    def stop_for_health_and_go_on(self, segments, ms):
        self.walk(segments, 0)
        if self.run.do(Do.HEALTH):
            self.run.wait(ms)
            assert self.run.do(Do.REOPEN)

    @precondition(lambda self: len(self.run.steps) > 120)
    @rule(do=st.sampled_from([Do.STOP, Do.HEALTH]), segments=SEGMENTS, ms=WAITS)
    def end(self, do, segments, ms):
        self.walk(segments, ms)
        self.run.do(do)

    @invariant()
    def what_is_announced_is_what_then_sounds(self):
        """`upcoming` and a fork say what really comes if no key is pressed."""
        if not hasattr(self, "run"):
            return
        engine = self.run.engine
        before = state(engine)
        told = engine.upcoming(10_000)
        assert state(engine) == before
        events = engine.fork().advance(engine.t_ms + 10_000)
        heard = [e for e in events if isinstance(e, (CueDue, CountedIn, ClockAnswered))]
        assert list(told) == heard

    def teardown(self):
        if not hasattr(self, "run"):
            return
        run = self.run
        assert violations(run) == []
        # 11 and 12, through the function that the journal really uses.
        engine, events = replay(
            run.plan, run.inputs, count_in_ms=run.count_in_ms, until_ms=run.now_ms
        )
        assert events == run.events
        assert state(engine) == state(run.engine)
        taken = [s.after for s in run.steps if s.command is not None and s.accepted]
        for count, expected in enumerate(taken, 1):
            earlier, _ = replay(
                run.plan, run.inputs[:count], count_in_ms=run.count_in_ms
            )
            assert state(earlier) == expected


Session.TestCase.settings = settings(
    FEW, max_examples=examples(500), stateful_step_count=50
)
TestRandomSessions = Session.TestCase
