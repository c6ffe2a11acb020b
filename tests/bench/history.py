"""Histories of years: sessions as the program itself would have written them.

By hand:  PYTHONPATH=src python -m tests.bench.history HOME --sessions 2000
Every session is driven through the real engine and the real session, on a clock that
jumps. With --seen they hold the marks `seen` of every 0.8 s that earlier versions
wrote into the journal itself.
Other training, illness, travel and fully logged periods go into the diary. The same
seed gives the same history.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, timezone
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from whistlestop.domain.circuit.circuit import Today
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.script import SimulatedClock
from whistlestop.driver.services import Services
from whistlestop.driver.session import Options, Session, first_line
from whistlestop.engine.commands import (
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterNote,
    EnterSessionEffort,
)
from whistlestop.engine.engine import Engine
from whistlestop.errors import CommandRejected
from whistlestop.sound.silent import SilentSound
from whistlestop.store.diary.file import append_step, diary_path
from whistlestop.store.journal.file import journal_path
from whistlestop.store.journal.line import encode

ZONE = ZoneInfo("Europe/Berlin")
STEP_MS = 30_000
SEEN_MS = 800
CIRCUITS = ("goods-shed", "first-stop", "light-engine", "branch-line", "heavy-haul")
SPORTS = (("cycling", 60, 240), ("running", 30, 110), ("swimming", 30, 75))
NOTES = ("Steady.", "Cold garage, warm-up longer.", "Left side felt shorter.")


@dataclass
class History:
    """What was made, to compare readings with."""

    ids: list[str]
    load_au: dict[str, float]
    trainings: int = 0


class _Lines:
    """A journal in memory."""

    def __init__(self) -> None:
        self.lines: list[dict[str, Any]] = []

    def put(self, fields: dict[str, Any], *, derived: bool = False) -> int:
        del derived
        self.lines.append({"s": len(self.lines), **fields})
        return len(self.lines) - 1

    def beat(self, t_ms: int, wall: str) -> None:
        """Mark a moment as seen in the journal itself, as earlier versions did."""
        self.put({"k": "seen", "t": t_ms, "wall": wall, "a": "a1"})


class _Drive:
    """One session on a clock that jumps."""

    def __init__(self, plan: Plan, begin: datetime, *, seen: bool) -> None:
        self.clock = SimulatedClock(begin)
        self.journal = _Lines()
        self.step_ms = SEEN_MS if seen else STEP_MS
        options = Options(watch_gaps=False)
        self.id = f"{begin.astimezone(ZoneInfo('UTC')):%Y%m%dT%H%M%SZ}"
        self.first = first_line(
            plan, session_id=self.id, clock=self.clock, options=options
        )
        self.journal.put(self.first)
        self.session = Session(
            Engine(plan, count_in_ms=options.count_in_ms),
            clock=self.clock,
            journal=self.journal,
            sound=SilentSound(),
            options=options,
        )
        if seen:
            self.session.heart = self.journal

    def run(self, rng: random.Random) -> None:
        """Do it: acts at random moments, an end in most cases."""
        engine = self.session.engine
        plan_ms = engine.plan.total_ms
        acts = sorted(rng.sample(range(0, plan_ms, 1000), rng.randrange(4)))
        stop_ms = rng.randrange(plan_ms // 2, plan_ms) if rng.random() < 0.06 else None
        self.session.begin()
        while not self.session.is_over:
            self.clock.now_ms += self.step_ms
            self.session.tick()
            if engine.at_gate:
                self.do(Do.NEXT)
            if acts and engine.t_ms >= acts[0]:
                acts.pop(0)
                self._act(rng)
            if stop_ms is not None and engine.t_ms >= stop_ms:
                self.do(Do.STOP)
        self._close(rng)

    def do(self, command: Any) -> None:
        """Do what is legal just now, and nothing else."""
        with suppress(CommandRejected):
            self.session.do(command)

    def _act(self, rng: random.Random) -> None:
        kind = rng.randrange(6)
        if kind == 0:
            self.do(Do.PAUSE)
            self.clock.now_ms += rng.randrange(10, 120) * 1000
            self.do(Do.RESUME)
        elif kind == 1:
            self.do(Do.SKIP)
        elif kind == 2:
            self.do(Do.LONGER)
        elif kind == 3:
            self.do(EnterCount(rng.randrange(5, 40)))
        elif kind == 4:
            self.do(EnterDiscomfort("knee", rng.choice(["left", "right"]), 2))
        else:
            self.do(Do.NEXT)

    def _close(self, rng: random.Random) -> None:
        base = rng.uniform(4, 6)
        for loop in range(1, self.session.engine.plan.loops + 1):
            if rng.random() < 0.9:
                felt = min(10.0, base + 0.7 * loop + rng.uniform(-0.7, 0.7))
                self.do(EnterEffort(loop, Effort(round(felt * 2))))
        if rng.random() < 0.6:
            self.do(EnterSessionEffort(Effort(min(20, round((base + 1) * 2)))))
        if rng.random() < 0.15:
            self.do(EnterNote(rng.choice(NOTES)))
        self.session.close()


def make_history(
    home: Path, sessions: int, *, seed: int = 1, last: date, seen: bool = False
) -> History:
    """Write a history that ends on a day, two or three sessions a week before it."""
    rng = random.Random(seed)
    services = Services(home)
    plans = {
        (name, loops): compile_plan(services.circuits.read(name), Today(loops=loops))
        for name in CIRCUITS
        for loops in (3, 4)
    }
    days = _training_days(rng, sessions, last)
    made = History([], {})
    for day in days:
        plan = plans[rng.choice(list(plans))]
        at = time(rng.choice([6, 7, 12, 17, 18, 19]), rng.randrange(60))
        local = datetime.combine(day, at, ZONE)
        begin = local.astimezone(_fixed(local))
        drive = _Drive(plan, begin, seen=seen)
        drive.run(rng)
        _write(services.places.log, drive, rng, made)
    _write_diary(services.places.log, rng, days, made)
    return made


def _fixed(local: datetime) -> Any:
    """The offset of a moment as a zone: on it a clock can be counted forward."""
    return timezone(local.utcoffset() or timedelta())


def _training_days(rng: random.Random, sessions: int, last: date) -> list[date]:
    """Days of circuits, in order: three weeks off now and then, most days none."""
    days: list[date] = []
    day = last
    while len(days) < sessions:
        if rng.random() < 0.004:
            day -= timedelta(days=rng.randrange(10, 40))
        if day.weekday() in {1, 3, 5} and rng.random() < 0.85:
            days.append(day)
        day -= timedelta(days=1)
    return days[::-1]


def _write(log: Path, drive: _Drive, rng: random.Random, made: History) -> None:
    session_id = f"{drive.id}-{rng.randrange(16**4):04x}"
    drive.journal.lines[0]["id"] = session_id
    lines = drive.journal.lines
    # Two in a hundred were broken off: no end, no sum.
    if rng.random() < 0.02:
        keep = len(lines) // 2
        lines = [line for line in lines[:keep] if line["k"] not in {"end", "sum"}]
    path = journal_path(log, session_id)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"".join(encode(line) for line in lines))
    made.ids.append(session_id)
    total = lines[-1]
    if total["k"] == "sum" and total["session_effort"] is not None:
        minutes = (total["elapsed_ms"] - total["paused_ms"]) / 60_000
        made.load_au[session_id] = total["session_effort"] * minutes


def _write_diary(
    log: Path, rng: random.Random, days: Sequence[date], made: History
) -> None:
    lines = list(_entries(rng, days))
    made.trainings = sum(line["k"] == "training" for line in lines)
    append_step(diary_path(log), lines, wall=f"{days[-1]}T21:00:00+01:00")


def _entries(rng: random.Random, days: Sequence[date]) -> Iterator[Mapping[str, Any]]:
    number = 0
    day = days[0]
    while day <= days[-1]:
        number += 1
        if rng.random() < 0.01:
            until = min(days[-1], day + timedelta(days=rng.randrange(1, 9)))
            mark = rng.choice(["illness", "travel", "off", "rest"])
            yield {
                "k": "mark",
                "id": f"d-m{number}",
                "first": day.isoformat(),
                "last": until.isoformat(),
                "mark": mark,
            }
        elif rng.random() < 0.45:
            sport, least, most = rng.choice(SPORTS)
            yield {
                "k": "training",
                "id": f"d-t{number}",
                "sport": sport,
                "day": day.isoformat(),
                "length_ms": rng.randrange(least, most) * 60_000,
                "effort": rng.randrange(4, 17) / 2,
            }
        day += timedelta(days=1)
    first = days[0]
    while first <= days[-1]:
        until = min(days[-1], first + timedelta(days=180))
        yield {
            "k": "logged",
            "id": f"d-l{first:%Y%m%d}",
            "first": first.isoformat(),
            "last": until.isoformat(),
        }
        first = until + timedelta(days=rng.randrange(1, 60))


def main() -> int:
    """Make one, say how large it is."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("home", type=Path)
    parser.add_argument("--sessions", type=int, default=2_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seen", action="store_true", help="as earlier versions did")
    chosen = parser.parse_args()
    last = datetime.now(ZONE).date()
    made = make_history(
        chosen.home, chosen.sessions, seed=chosen.seed, last=last, seen=chosen.seen
    )
    files = list((chosen.home / "log").rglob("*.jsonl"))
    size = sum(path.stat().st_size for path in files)
    print(f"{len(made.ids)} sessions, {made.trainings} trainings, {size / 1e6:.1f} MB")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
