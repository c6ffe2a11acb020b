"""Fourteen seconds of a session in real time, as a process of its own.

Keys come at random, in both modes, with sound and voice on a fake device. Then it is
ended by a key, or killed and resumed: it ends by nothing else.
"""

from __future__ import annotations

import sys
import time
from contextlib import suppress
from pathlib import Path

from tests.support.person import Hand, Outcome, judged, make_home
from tests.support.processes import LONG_S, ROOT, journals
from tests.support.terminal import Pty

from whistlestop.driver.services import Services

SOAK_S = 14.0
USAGE = 2
"""How a command ends that has nothing to do."""
# What a terminal sends for the keys that are no characters.
SENT = {
    "space": b" ", "enter": b"\r", "escape": b"\x1b", "backspace": b"\x7f",
    "tab": b"\t", "right": b"\x1b[C", "left": b"\x1b[D", "up": b"\x1b[A",
    "down": b"\x1b[B", "pagedown": b"\x1b[6~", "pageup": b"\x1b[5~",
    "question_mark": b"?", "f1": b"\x1bOP", "comma": b",", "full_stop": b".",
}  # fmt: skip


def soak(home: Path, seed: int, seconds: float = SOAK_S) -> Outcome:
    """One session: full screen where the seed is even, else in lines."""
    hand, full = Hand(seed), seed % 2 == 0
    outcome = Outcome(seed, "floor" if full else "lines")
    make_home(home)
    asked = ["run", "yard"] if seed % 4 < 2 else ["run", "pair", "--with", "Robin"]
    is_killed = hand.drawn.random() < 0.5
    with _started(home, asked, full=full) as terminal:
        status = _type(terminal, hand, outcome, seconds, full=full)
        if is_killed and status is None:
            outcome.kills += 1
        elif status is None:
            status = _stop(terminal, full=full)
    if status is None and _is_all_over(home):
        # Killed among the questions after it: there is nothing to take up again.
        with _started(home, ["run", "--resume"], full=full) as terminal:
            status = terminal.wait()
            nothing = b"no interrupted session" in terminal.read_bytes
            status = 0 if status == USAGE and nothing else status
    elif status is None:
        # Killed: `with` has done it. What follows is the next day.
        with _started(home, ["run", "--resume"], full=full) as terminal:
            terminal.read(3.0)
            status = _stop(terminal, full=full)
    # The rooms come after a session, and keys may start another one there.
    wrong = [each for path in journals(home)
             for each in judged(outcome, home, path.stem).wrong]  # fmt: skip
    outcome.wrong = tuple(wrong)
    if status != 0:
        outcome.wrong = (*outcome.wrong, f"it ended with {status}")
    return outcome


def _is_all_over(home: Path) -> bool:
    log = Services(home).log
    return all(log.record(path.stem).finished for path in journals(home))


def _started(home: Path, words: list[str], *, full: bool) -> Pty:
    plain = [] if full else ["--plain"]
    program = [sys.executable, "-m", "tests.support.fake_sound", *words, *plain]
    path = f"{ROOT / 'src'}:{ROOT}"
    return Pty(*program, "--home", str(home), cells=100, lines=30, PYTHONPATH=path)


def _type(
    terminal: Pty, hand: Hand, outcome: Outcome, seconds: float, *, full: bool
) -> int | None:
    """Type until the time is over; the status, if it ended before."""
    terminal.read_until(b"\x1b[?1049h" if full else b"get ready", LONG_S * 4)
    end_s = time.monotonic() + seconds
    while (left := end_s - time.monotonic()) > 0:
        terminal.read(min(left, hand.pause_ms() / 3_000))
        pressed = [_sent(key) for key in hand.press()] if full else [
            f"{line}\n".encode() for line in hand.lines()
        ]  # fmt: skip
        for one in pressed:
            outcome.presses += 1
            with suppress(OSError):
                terminal.write(one)
            terminal.read(0.05)
        if terminal.has_ended:
            return terminal.wait()
    return None


def _sent(key: str) -> bytes:
    return SENT.get(key) or key.encode()


def _stop(terminal: Pty, *, full: bool) -> int:
    """Press what ends it until it has ended: stop, and each question after it."""
    end_s = time.monotonic() + LONG_S * 2
    keys = (b"\x1b", b"q", b"\r") if full else (b"q\n", b"q\n", b"\n")
    while not terminal.has_ended:
        assert time.monotonic() < end_s, terminal.read_bytes[-2000:]
        for key in keys:
            with suppress(OSError):
                terminal.write(key)
            # Above what counts as the same press of a key that is held.
            terminal.read(0.8)
            if terminal.has_ended:
                break
    return terminal.wait()
