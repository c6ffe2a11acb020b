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
from tests.terminal.killing import judge, kill_one

pytestmark = pytest.mark.terminal

KILLS = 20
AT_ONCE = 4


@pytest.mark.slow
def test_twenty_kills_lose_no_answered_input_and_at_most_a_second(
    tmp_path: Path,
) -> None:
    """Resuming starts at most 1,000 ms before the kill, never after."""
    with ThreadPoolExecutor(AT_ONCE) as pool:
        homes = [tmp_path / f"home-{seed}" for seed in range(KILLS)]
        kills = list(pool.map(kill_one, homes, range(KILLS)))
    wrong = {seed: judge(kill) for seed, kill in enumerate(kills)}
    assert {seed: words for seed, words in wrong.items() if words} == {}
    assert sum(kill.answered for kill in kills) > KILLS


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
        running.wait_for("note taken")
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
    assert done.stdout.count(b"lost and not counted") == 2
    assert b"look at this" not in done.stdout
