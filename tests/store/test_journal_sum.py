"""What a journal says without its sum, against the sum a real session writes."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

from whistlestop.domain.circuit.circuit import Circuit, Station
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.session import Options, Session, first_line
from whistlestop.engine.clock import ClockReading
from whistlestop.engine.commands import Do, EnterEffort, EnterSessionEffort
from whistlestop.engine.engine import Engine
from whistlestop.store.journal.file import read_journal
from whistlestop.store.journal.index import summarise
from whistlestop.store.journal.line import encode

ID = "20310412T061502Z-3f9a"


def numbered(lines):
    return b"".join(encode({"s": s, **fields}) for s, fields in enumerate(lines))


class SteppedClock:
    def __init__(self):
        self.now_ms = 0

    def read(self):
        return ClockReading(self.now_ms, 0)

    def wall(self):
        zone = timezone(timedelta(hours=2))
        start = datetime(2031, 4, 12, 8, 15, 2, tzinfo=zone)
        return start + timedelta(milliseconds=self.now_ms)


class ListJournal:
    def __init__(self, first):
        self.lines = [first]

    def put(self, fields, *, derived=False):
        self.lines.append(dict(fields))
        return len(self.lines) - 1


class Silence:
    """A sound port of which nothing is asked."""

    def plan(self, epoch, cues): ...

    def clear(self, epoch): ...

    def now(self, cue): ...

    def reports(self):
        return []


def really_run():
    """The lines a real session writes: two loops, a skip, a pause, efforts."""
    stations = tuple(
        Station(f"exercise-{n}", f"Exercise {n}", f"EX {n}") for n in (1, 2, 3)
    )
    circuit = Circuit("real", "Real", stations, loops=2, loop_break_ms=60_000)
    plan, clock = compile_plan(circuit), SteppedClock()
    options = Options(watch_gaps=False)
    journal = ListJournal(first_line(plan, session_id=ID, clock=clock, options=options))
    session = Session(
        Engine(plan), clock=clock, journal=journal, sound=Silence(), options=options
    )
    session.begin()
    efforts = 0
    at = {30_000: Do.PAUSE, 42_000: Do.RESUME, 100_000: Do.NEXT}
    while not session.is_over and clock.now_ms < 3_600_000:
        clock.now_ms += 500
        session.tick()
        if clock.now_ms in at:
            session.do(at[clock.now_ms])
        ended = [event for event in session.engine.loops_ended if event.worked]
        if len(ended) > efforts and not session.is_over:
            efforts += 1
            session.do(EnterEffort(ended[-1].loop, Effort(13)))
    assert session.is_over
    session.do(EnterEffort(2, Effort(15)))
    session.do(EnterSessionEffort(Effort(14)))
    session.close()
    return journal.lines


def test_the_fold_over_a_real_session_gives_what_its_sum_says(tmp_path):
    """The engine writes the sum; the fold knows only the other lines."""
    lines = really_run()
    assert lines[-1]["k"] == "sum"
    path = tmp_path / f"{ID}.jsonl"
    path.write_bytes(numbered(lines))
    with_sum = summarise(read_journal(path))
    path.write_bytes(numbered(lines[:-1]))
    without = summarise(read_journal(path))
    # Pauses cannot be told from rows alone, so the fold says that it is not exact.
    assert not without.is_exact
    assert with_sum.is_exact
    known = replace(without, paused_ms=with_sum.paused_ms, is_exact=True)
    assert known == with_sum
    assert with_sum.finished
    assert with_sum.why == "complete"
    assert with_sum.efforts == (6.5, 7.5)
    assert with_sum.elapsed_ms > with_sum.active_ms > with_sum.done_work_ms > 0
    assert with_sum.done_work_ms < with_sum.plan_work_ms == 240_000
    assert with_sum.problems == 0
