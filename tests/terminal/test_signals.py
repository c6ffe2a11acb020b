"""Signals, suspension and a vanished terminal: the terminal is left as it was found.

Each guards against a trap known of Textual 8.2.8.
"""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest
from tests.support.processes import PROGRAM, journals, raw_lines, seen_ms, wait_until
from tests.support.terminal import Pty, Tmux

pytestmark = pytest.mark.terminal

RESTORED = {"alternate_on": False, "cursor_flag": True, "mouse_any_flag": False}
SHOWN = {"alternate_on": True, "cursor_flag": False, "mouse_any_flag": True}
# xterm control sequences: alternate screen left, cursor shown, mouse and paste off.
LEFT = (b"\x1b[?1049l", b"\x1b[?25h", b"\x1b[?1000l", b"\x1b[?1003l", b"\x1b[?2004l")


def kinds(home: Path) -> list[str]:
    return [line["k"] for line in raw_lines(journals(home)[-1])]


def commands(home: Path) -> list[str]:
    return [x["do"] for x in raw_lines(journals(home)[-1]) if x["k"] == "cmd"]


def on_floor(terminal: Tmux, home: Path) -> None:
    """Start a session and wait until its clock is seen to run.

    The first picture comes before the clock starts, so that nothing is lost of a
    session: a stop between the two is no gap, and is not shown as one.
    """
    terminal.program("run", "long", "--home", str(home))
    first = terminal.wait_for("NOW  1")
    terminal.wait(lambda screen: "NOW  1" in screen and screen != first)


@pytest.mark.parametrize(
    ("number", "status"),
    [
        (signal.SIGTERM, 143),
        pytest.param(signal.SIGHUP, 129, marks=pytest.mark.slow),
        pytest.param(signal.SIGINT, 130, marks=pytest.mark.slow),
    ],
)
def test_a_signal_restores_the_terminal_and_keeps_the_record(
    home: Path, number: int, status: int
) -> None:
    with Tmux(home) as terminal:
        on_floor(terminal, home)
        assert terminal.state() == SHOWN
        terminal.keys("Space")
        terminal.wait_for("The clock stands")
        terminal.signal(number)
        assert terminal.status() == status
        assert terminal.state() == RESTORED
        assert "Traceback" not in terminal.screen()
    assert commands(home) == ["pause"]
    assert kinds(home)[0] == "start"


@pytest.mark.parametrize(
    "number", [signal.SIGTERM, pytest.param(signal.SIGHUP, marks=pytest.mark.slow)]
)
@pytest.mark.parametrize("words", [(), ("run", "long")], ids=["room", "floor"])
def test_a_terminal_of_no_size_takes_signals_and_no_core(
    home: Path, number: int, words: tuple[str, ...]
) -> None:
    """Its driver and its console once took it for two sizes, and laid out for ever."""
    where = ("--home", str(home))
    with Pty(*PROGRAM, *words, *where, cells=0, lines=0) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        terminal.read(2.0)
        painted = len(terminal.read(2.0))
        os.kill(terminal.pid, number)
        assert terminal.wait() == 128 + number
        # It painted some 150 whole screens in that time; a clock is a few rows.
        assert painted < 20_000


@pytest.mark.slow
def test_a_signal_in_the_first_room_restores_the_terminal(home: Path) -> None:
    with Tmux(home) as terminal:
        terminal.program("--home", str(home))
        terminal.wait_for("Circuits")
        terminal.signal(signal.SIGTERM)
        assert terminal.status() == 143
        assert terminal.state() == RESTORED


@pytest.mark.slow
def test_every_mode_that_was_set_is_reset_in_the_bytes(home: Path) -> None:
    """What a terminal without tmux's memory would receive."""
    with Pty(*PROGRAM, "run", "long", "--home", str(home)) as terminal:
        before = terminal.read_until(b"\x1b[?1049h") + terminal.read(1.5)
        os.kill(terminal.pid, signal.SIGTERM)
        assert terminal.wait() == 143
        after = terminal.read_bytes[len(before) :]
    for sequence in LEFT:
        assert sequence in after, sequence
    assert after.rindex(b"\x1b[?1049l") > after.rfind(b"\x1b[?1049h")


@pytest.mark.slow
def test_after_a_suspension_the_screen_is_painted_again(home: Path) -> None:
    """And the stop is noticed as a gap: paused, with what was lost on a line."""
    with Tmux(home) as terminal:
        on_floor(terminal, home)
        terminal.signal(signal.SIGTSTP)
        terminal.wait_for("Stopped")
        assert terminal.state()["alternate_on"] is False
        time.sleep(3.5)
        terminal.command("fg")
        screen = terminal.wait_for("Time away is not counted")
        # The whole picture, not only the line that changed: station and hatched frame.
        assert "NOW  1" in screen
        assert "▚▚" in screen
        assert terminal.state() == SHOWN
        wait_until(lambda: "gap" in kinds(home))
        gap = next(x for x in raw_lines(journals(home)[-1]) if x["k"] == "gap")
        assert gap["cause"] == "stopped"
        assert gap["gap_ms"] > 3_000
        terminal.signal(signal.SIGTERM)
        terminal.status()


@pytest.mark.slow
def test_a_stopped_process_that_goes_on_is_paused_with_a_gap(home: Path) -> None:
    """SIGSTOP gives nobody a chance to prepare: the lost stretch is a gap."""
    with Pty(*PROGRAM, "run", "long", "--home", str(home)) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        wait_until(lambda: journals(home) and seen_ms(home))
        os.kill(terminal.pid, signal.SIGSTOP)
        terminal.read(0.5)
        before_ms = seen_ms(home)
        time.sleep(4.0)
        os.kill(terminal.pid, signal.SIGCONT)
        terminal.read_until(b"Time away is not counted")
        wait_until(lambda: "gap" in kinds(home))
        lines = raw_lines(journals(home)[-1])
        gap = next(line for line in lines if line["k"] == "gap")
        assert gap["cause"] == "stopped"
        assert gap["gap_ms"] > 3_000
        # It stands at the last instant seen, which no mark made before lies after.
        assert before_ms <= gap["t"]


@pytest.mark.slow
def test_a_terminal_that_vanishes_ends_the_program_even_if_hup_is_ignored(
    home: Path,
) -> None:
    """Started as by nohup: without our own handler it would spin for ever."""
    words = ["sh", "-c", 'trap "" HUP; exec "$@"', "sh", *PROGRAM]
    with Pty("/bin/sh", *words[1:], "run", "long", "--home", str(home)) as terminal:
        terminal.read_until(b"\x1b[?1049h")
        wait_until(lambda: journals(home) and seen_ms(home))
        os.close(terminal.fd)
        assert terminal.wait() == 129
    assert kinds(home)[0] == "start"


@pytest.mark.slow
@pytest.mark.parametrize("key", ["C-c", "C-q"])
def test_the_keys_that_quit_programs_ask_first_during_a_session(
    home: Path, key: str
) -> None:
    """Nothing destructive on one key: the question is asked, any other goes on."""
    with Tmux(home) as terminal:
        on_floor(terminal, home)
        terminal.keys(key)
        terminal.wait_for("Enter to end the session")
        terminal.keys("Space")
        terminal.wait_for("The clock stands")
        assert terminal.state() == SHOWN
        terminal.signal(signal.SIGTERM)
        assert terminal.status() == 143
    assert commands(home) == ["pause"]


def test_leaving_from_the_first_room_is_status_0(home: Path) -> None:
    with Tmux(home) as terminal:
        terminal.program("--home", str(home))
        terminal.wait_for("i stations")
        time.sleep(0.8)  # a key held since the command line does nothing here
        terminal.keys("q")
        assert terminal.status() == 0
        assert terminal.state() == RESTORED
