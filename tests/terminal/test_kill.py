"""SIGKILL at random moments: what was answered is there, what was lost is a gap."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from tests.support.processes import (
    LONG_CIRCUIT,
    PlainProcess,
    journals,
    put_circuit,
    quiet_home,
    raw_lines,
    run_program,
    wait_until,
)
from tests.terminal.killing import Killed, judge, kill_one

pytestmark = pytest.mark.terminal

KILLS = 60
AT_ONCE = 8
MOST_S = 5.0


@pytest.mark.slow
def test_sixty_kills_lose_no_answered_input_and_no_line(tmp_path: Path) -> None:
    """Every one goes on, never before its last line, never after the kill.

    With sound and voice, half of them on the Floor. That it is at most 1,000 ms
    before the kill is for the bench (tests/bench/kills.py): others may be busy here.
    """

    def one(seed: int) -> Killed:
        return kill_one(tmp_path / f"home-{seed}", seed, most_s=MOST_S)

    with ThreadPoolExecutor(AT_ONCE) as pool:
        kills = list(pool.map(one, range(KILLS)))
    wrong = {seed: judge(kill) for seed, kill in enumerate(kills)}
    assert {seed: words for seed, words in wrong.items() if words} == {}
    assert sum(kill.answered for kill in kills) > KILLS // 2
    assert sum(kill.resumed_ms is not None for kill in kills) > KILLS // 2


def kinds(home: Path) -> list[str]:
    return [line["k"] for path in journals(home) for line in raw_lines(path)]


def test_a_killed_session_leaves_no_lock_behind(tmp_path: Path) -> None:
    """The lock ends with its process: the next start is not refused."""
    home = quiet_home(tmp_path / "home")
    put_circuit(home, "long", LONG_CIRCUIT)
    with PlainProcess("run", "long", home=home) as running:
        running.wait_for("work: Push-up")
        refused = run_program("run", "long", "--plain", home=home)
        assert refused.returncode == 1
        assert b"another session is running" in refused.stderr
        refused = run_program("run", "--resume", "--plain", home=home)
        assert refused.returncode in {1, 2}
        assert len(journals(home)) == 1
    again = run_program("run", "long", "--plain", home=home, typed="q\nq\n\n\n")
    assert again.returncode == 0
    assert len(journals(home)) == 2


@pytest.mark.slow
def test_killed_twice_and_resumed_twice(tmp_path: Path) -> None:
    """Two gaps are two lines, and the second resume knows the first."""
    home = quiet_home(tmp_path / "home")
    put_circuit(home, "long", LONG_CIRCUIT)
    with PlainProcess("run", "long", home=home) as running:
        running.type("note so so")
        running.wait_for("note saved")
        wait_until(lambda: kinds(home).count("note") == 1)
    for times in (1, 2):
        with PlainProcess("run", "--resume", home=home) as running:
            running.wait_for("resumed, paused")
            running.type("")
            running.wait_for("the clock runs again", timeout_s=15)
            if times == 2:
                running.type("q", "q", "", "")
                assert running.wait() == 0
    done = run_program("log", "last", home=home)
    assert done.stdout.count(b"not counted: ") == 2
    assert b"problem: " not in done.stdout
