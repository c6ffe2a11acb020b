"""Kill a session that somebody is typing to, and compare what is left with the truth.

The truth is the test's own: what it read of the answers, and when it killed. The
moment of the beginning is taken from the journal (time of day less elapsed, the
least of all lines); that both processes read one clock is the only thing assumed.
"""

from __future__ import annotations

import random
import time
from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from tests.support.processes import (
    PlainProcess,
    journals,
    put_circuit,
    quiet_home,
    raw_lines,
    run_program,
)

from whistlestop.driver.house import House
from whistlestop.review.record import replay_lines

CIRCUIT = """\
format = 1
name = "Short"
loops = 12
work = "5 s"
loop_break = "3 s"
get_ready = "0 s"
[[station]]
exercise = "push-up"
"""
# What is typed, what is said in answer, and the journal line it becomes.
ANSWERS = {
    "note so so": ("note taken", "note"),
    "6.5": ("effort of loop", "effort"),
    "count 7": ("count 7 for station", "count"),
    "e": ("done easier", "variant"),
    "x knee left 3": ("discomfort noted", "discomfort"),
    "": ("paused", "pause"),
}
MARKS = {"cmd", "note", "effort", "count", "variant", "discomfort", "seen", "gap"}
STEP_MS = 2
"""Times are whole ms, and the stamp of a line is taken just after its time."""


@dataclass(frozen=True)
class Killed:
    """One kill. Times in ms of elapsed session time, as the test knows it.

    The process died between `least_ms` and `most_ms`. `missing` are answers that
    were read and are not in the journal; `fresh` of them were read in the last
    `fresh_s` seconds before the kill.
    """

    least_ms: float
    most_ms: float
    resumed_ms: int
    last_mark_ms: int
    gap_ms: int
    real_gap_least_ms: float
    real_gap_most_ms: float
    active_before_ms: int
    active_after_ms: int
    answered: int
    missing: int
    fresh: int
    problems: tuple[str, ...]


def kill_one(home: Path, seed: int, *, fresh_s: float = 1.0) -> Killed:
    """Run, type, kill at a random moment of the first 10 s, resume, stop."""
    drawn = random.Random(seed)
    quiet_home(home)
    put_circuit(home, "short", CIRCUIT)
    process = PlainProcess("run", "short", home=home)
    process.wait_for("work: Push-up")
    _type_until(process, drawn, time.monotonic() + drawn.uniform(0.05, 10.0))
    before, before_mono = time.time() * 1000, time.monotonic()
    process.kill()
    after = time.time() * 1000
    (path,) = journals(home)
    lines = raw_lines(path)
    missing, fresh, answered = _missing(process, lines, before_mono - fresh_s)
    begin = min(_wall_ms(line) - line["t"] for line in lines)
    at_kill = replay_lines(lines)
    interrupted = House(home).interrupted()
    assert interrupted is not None
    assert interrupted.id == path.stem
    resuming = time.time() * 1000
    done = run_program("run", "--resume", "--plain", home=home, typed="q\nq\n\n\n")
    resumed = time.time() * 1000
    assert done.returncode == 0, done.stderr
    assert b"resumed, paused" in done.stdout
    record = House(home).record(path.stem)
    gap = next(line for line in raw_lines(path) if line["k"] == "gap")
    return Killed(
        least_ms=before - begin,
        most_ms=after - begin + STEP_MS,
        resumed_ms=gap["t"],
        last_mark_ms=max((x["t"] for x in lines if x["k"] in MARKS), default=0),
        gap_ms=gap["gap_ms"],
        real_gap_least_ms=resuming - before,
        real_gap_most_ms=resumed - (begin + gap["t"]) + STEP_MS,
        active_before_ms=at_kill.engine.active_ms,
        active_after_ms=record.active_ms,
        answered=answered,
        missing=missing,
        fresh=fresh,
        problems=record.problems,
    )


def _type_until(process: PlainProcess, drawn: random.Random, end_s: float) -> None:
    while (left := end_s - time.monotonic()) > 0:
        time.sleep(min(left, drawn.uniform(0.02, 0.5)))
        process.type(drawn.choice(list(ANSWERS)))


def _missing(
    process: PlainProcess, lines: list[dict[str, Any]], fresh_from_s: float
) -> tuple[int, int, int]:
    """Answers without a line; how many of those may be fresh; answers in all."""
    kept = Counter(line.get("do", line["k"]) for line in lines)
    missing = fresh = answered = 0
    for words, kind in ANSWERS.values():
        read = [heard for heard in process.heard if words in heard.text]
        lost = max(0, len(read) - kept[kind])
        answered += len(read)
        missing += lost
        # Lines are written in order, so those that are missing are the last ones.
        fresh += sum(heard.at_s >= fresh_from_s for heard in read[len(read) - lost :])
    return missing, fresh, answered


def _wall_ms(line: dict[str, Any]) -> float:
    return datetime.fromisoformat(line["wall"]).timestamp() * 1000


def judge(killed: Killed) -> list[str]:
    """Everything about one kill that is not as promised in `test_kill`."""
    wrong = []
    if killed.missing > killed.fresh:
        wrong.append(f"{killed.missing - killed.fresh} answered inputs are lost")
    if killed.resumed_ms < killed.last_mark_ms:
        wrong.append("it resumed before the last input or `seen`")
    if killed.resumed_ms > killed.most_ms:
        wrong.append(f"it resumed {killed.resumed_ms - killed.most_ms} ms too late")
    if killed.least_ms - killed.resumed_ms > 1_000:
        wrong.append(f"{killed.least_ms - killed.resumed_ms:.0f} ms are lost")
    if not killed.real_gap_least_ms <= killed.gap_ms <= killed.real_gap_most_ms:
        wrong.append(
            f"a gap of {killed.gap_ms} ms is not between "
            f"{killed.real_gap_least_ms:.0f} and {killed.real_gap_most_ms:.0f}"
        )
    if killed.active_after_ms != killed.active_before_ms:
        wrong.append("the lost stretch was counted")
    return wrong + list(killed.problems)
