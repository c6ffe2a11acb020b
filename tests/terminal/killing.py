"""Kill a session that somebody is at, and compare what is left with the truth.

The truth is the test's own: what it read of the answers, and when it killed. The
moment of the beginning is taken from the journal (time of day less elapsed, the
least of all lines); that both processes read one clock is the only thing assumed.
Sound and voice are on; without a device the player plans into nothing.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from tests.support.processes import (
    PROGRAM,
    Heard,
    PlainProcess,
    journals,
    put_circuit,
    raw_lines,
    run_program,
    wait_until,
)
from tests.support.terminal import Pty

from whistlestop.driver.services import Services
from whistlestop.review.record import replay_lines
from whistlestop.store.journal.heartbeat import Beat, read_heartbeat
from whistlestop.store.journal.verify import verify_log

CIRCUIT: Final = """\
format = 1
name = "Short"
loops = 12
work = "6 s"
recover = "3 s"
loop_break = "4 s"
get_ready = "3 s"
[[station]]
exercise = "push-up"
[[station]]
exercise = "one-arm-row"
work = "12 s"
[[station]]
exercise = "dead-bug"
"""
SOUNDING: Final = "[sound]\nvoice = true\n"
# What is typed, what is answered once it is on the disk, and its line in the journal.
ANSWERS: Final = {
    "note so so": ("note saved", "note"),
    "6.5": ("effort for loop", "effort"),
    "count 7": ("count 7 for station", "count"),
    "e": ("easier version", "variant"),
    "x knee left 3": ("discomfort noted", "discomfort"),
}
# Lines that move the session; `s` as often as people leave a station out. What is said
# of them, such as 'paused', says how the clock stands, not that it is saved.
MOVES: Final = ("", "s", "s", "n", "b", "r", "u", "d")
KEYS: Final = (
    *(b" ", b"s", b"s", b"\x1b[C", b"\x1b[C", b"\x1b[D", b"r", b"u", b"\x1b[A"),
    *(b"\x1b[B", b"e", b"h", b"m", b"v", b"t", b"w", b"1", b"7", b",", b"c", b"x"),
    *(b"l", b"d", b"\x1b", b"?"),
)
SLOW_START_S: Final = 120.0
"""A start is waited for this long: the machine may be busy with many at once."""
STEP_MS: Final = 2
"""Times are whole ms, and the stamp of a line is taken just after its time."""
MOST_LOST_MS: Final = 1_000


@dataclass(frozen=True)
class Killed:
    """One kill. Times in ms of elapsed session time, as the test knows it.

    The process died between `least_ms` and `most_ms`; `resumed_ms` is None where the
    session had ended before. `missing` are answers that were read, however shortly
    before the kill, and are not in the journal.
    """

    least_ms: float
    most_ms: float
    last_line_ms: int
    resumed_ms: int | None = None
    gap_ms: int = 0
    gap_least_ms: float = 0
    gap_most_ms: float = 0
    active_before_ms: int = 0
    active_after_ms: int = 0
    answered: int = 0
    missing: int = 0
    problems: tuple[str, ...] = ()

    @property
    def lost_ms(self) -> float:
        """How long before the kill it was taken up again; 0 where it had ended."""
        return 0.0 if self.resumed_ms is None else self.least_ms - self.resumed_ms


@dataclass
class _Moment:
    """When it was killed, and what had been read of it."""

    before_ms: float
    after_ms: float
    heard: list[Heard] = field(default_factory=list)


def sounding_home(folder: Path) -> Path:
    """Make a home in which sound and voice are on and the notice is read."""
    (folder / "state").mkdir(parents=True)
    (folder / "config.toml").write_text(SOUNDING)
    read = 'notice_acknowledged = "2031-04-12T06:15:02+02:00"\n'
    (folder / "state" / "remembered.toml").write_text(read)
    put_circuit(folder, "short", CIRCUIT)
    return folder


def kill_one(home: Path, seed: int, *, most_s: float = 10.0) -> Killed:
    """Run, press, kill at a random moment, resume, stop; every other one the Floor."""
    drawn = random.Random(seed)
    sounding_home(home)
    on_floor = bool(seed % 2)
    alive_s = drawn.uniform(0.05, most_s)
    moment = (_kill_floor if on_floor else _kill_lines)(home, drawn, alive_s)
    (path,) = journals(home)
    lines = raw_lines(path)
    missing, answered = _missing(moment, lines)
    beat = read_heartbeat(home / "state", path.stem)
    begin = _begin_ms(lines, beat)
    before = replay_lines(lines, beat)
    killed = {
        "least_ms": moment.before_ms - begin,
        "most_ms": moment.after_ms - begin + STEP_MS,
        "last_line_ms": max(x["t"] for x in lines),
        "answered": answered,
        "missing": missing,
    }
    problems = _problems(home)
    if before.engine.ending is not None:
        return Killed(**killed, problems=tuple(problems))
    resuming = time.time() * 1000
    problems += (_resume_floor if on_floor else _resume_lines)(home, len(lines))
    resumed = time.time() * 1000
    gap = next(x for x in raw_lines(path)[len(lines) :] if x["k"] == "gap")
    return Killed(
        **killed,
        resumed_ms=gap["t"],
        gap_ms=gap["gap_ms"],
        gap_least_ms=resuming - moment.after_ms,
        gap_most_ms=resumed - (begin + gap["t"]) + STEP_MS,
        active_before_ms=before.engine.active_ms,
        active_after_ms=Services(home).log.record(path.stem).active_ms,
        problems=(*problems, *_problems(home)),
    )


def _kill_lines(home: Path, drawn: random.Random, alive_s: float) -> _Moment:
    with PlainProcess("run", "short", home=home) as process:
        process.wait_for("get ready", timeout_s=SLOW_START_S)
        end_s = time.monotonic() + alive_s
        while (left := end_s - time.monotonic()) > 0:
            time.sleep(min(left, drawn.uniform(0.02, 0.5)))
            process.type(drawn.choice([*ANSWERS, *MOVES]))
        before = _Moment(time.time() * 1000, 0)
        process.kill()
        before.after_ms = time.time() * 1000
        before.heard = process.heard
        return before


def _kill_floor(home: Path, drawn: random.Random, alive_s: float) -> _Moment:
    with Pty(*PROGRAM, "run", "short", "--home", str(home)) as terminal:
        terminal.read_until(b"\x1b[?1049h", SLOW_START_S)
        end_s = time.monotonic() + SLOW_START_S
        while not journals(home) or not raw_lines(journals(home)[-1]):
            assert time.monotonic() < end_s, "no session began"
            terminal.read(1.0)
            if not journals(home):
                terminal.write(b" ")  # where the sheet is shown first
        end_s = time.monotonic() + alive_s
        while (left := end_s - time.monotonic()) > 0:
            terminal.read(min(left, drawn.uniform(0.02, 0.5)))
            terminal.write(drawn.choice(KEYS))
        before = _Moment(time.time() * 1000, 0)
        os.kill(terminal.pid, signal.SIGKILL)
        terminal.wait()
        before.after_ms = time.time() * 1000
        return before


def _resume_lines(home: Path, count: int) -> list[str]:
    del count
    done = run_program("run", "--resume", "--plain", home=home, typed="q\nq\n\n\n")
    sentences = done.stdout + done.stderr
    if done.returncode or b"resumed, paused" not in sentences:
        return [f"it was not resumed ({done.returncode}): {sentences[-300:]!r}"]
    return []


def _resume_floor(home: Path, count: int) -> list[str]:
    (path,) = journals(home)
    with Pty(*PROGRAM, "run", "--resume", "--home", str(home)) as terminal:

        def is_on() -> bool:
            terminal.read(0.05)
            return "gap" in [x["k"] for x in raw_lines(path)[count:]]

        wait_until(is_on)
        terminal.read(0.5)
        os.kill(terminal.pid, signal.SIGTERM)
        status = terminal.wait()
    return [] if status == 143 else [f"it was not resumed on the Floor ({status})"]


def _problems(home: Path) -> list[str]:
    """What `log verify` would name, journals alone."""
    services = Services(home)
    found: list[str] = []
    for file in verify_log(services.places.log).files:
        found += file.problems
        found += services.log.record(file.path.stem).problems
    return found


def _missing(moment: _Moment, lines: Iterable[dict[str, Any]]) -> tuple[int, int]:
    """Answers without a line, and answers in all."""
    kept = Counter(line.get("do", line["k"]) for line in lines)
    missing = answered = 0
    for words, kind in ANSWERS.values():
        read = sum(words in heard.text for heard in moment.heard)
        answered += read
        missing += max(0, read - kept[kind])
    return missing, answered


def _begin_ms(lines: list[dict[str, Any]], beat: Beat | None) -> float:
    """The time of day at which elapsed time began, stops of the process left out.

    Not from the first line, which is written before the first picture is seen and
    the clock starts.
    """
    stamps = [(_wall_ms(line), line["t"]) for line in lines]
    if beat is not None:
        stamps.append((_wall_ms({"wall": beat.wall}), beat.t_ms))
    later = stamps[1:] or stamps
    stops = [line for line in lines if line["k"] == "gap"]
    if stops:
        later = [one for one in later if one[1] > stops[-1]["t"]] or later
    return min(wall - t_ms for wall, t_ms in later)


def _wall_ms(line: dict[str, Any]) -> float:
    return datetime.fromisoformat(line["wall"]).timestamp() * 1000


def judge(killed: Killed, *, in_time: bool = False) -> list[str]:
    """Everything about one kill that is not as promised in `test_kill`.

    `in_time`: that it goes on at most 1,000 ms before the kill as well, which a
    machine that is busy with others may not hold.
    """
    wrong = list(killed.problems)
    if killed.missing:
        wrong.append(f"{killed.missing} answered inputs are lost")
    if killed.resumed_ms is None:
        return wrong
    if killed.resumed_ms < killed.last_line_ms:
        wrong.append("it resumed before its last line")
    if killed.resumed_ms > killed.most_ms:
        wrong.append(f"it resumed {killed.resumed_ms - killed.most_ms} ms too late")
    if in_time and killed.lost_ms > MOST_LOST_MS:
        wrong.append(f"{killed.lost_ms:.0f} ms are lost")
    if not killed.gap_least_ms <= killed.gap_ms <= killed.gap_most_ms:
        wrong.append(
            f"a gap of {killed.gap_ms} ms is not between "
            f"{killed.gap_least_ms:.0f} and {killed.gap_most_ms:.0f}"
        )
    if killed.active_after_ms != killed.active_before_ms:
        wrong.append("the lost stretch was counted")
    return wrong
