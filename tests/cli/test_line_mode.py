"""Line mode with somebody at the keyboard: each line of input is one key."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.support.processes import (
    LONG_CIRCUIT,
    SHORT_CIRCUIT,
    PlainProcess,
    journals,
    put_circuit,
    raw_lines,
    run_program,
)

from whistlestop.cli.keyboard import LineKeyboard

BRIEF_CIRCUIT = """\
format = 1
name = "Brief"
work = "5 s"
recover = "0 s"
get_ready = "0 s"
[[station]]
exercise = "push-up"
"""


@pytest.fixture
def long(home: Path) -> Iterator[PlainProcess]:
    """A session that lasts longer than any test, begun."""
    put_circuit(home, "long", LONG_CIRCUIT)
    with PlainProcess("run", "long", home=home) as running:
        running.wait_for("work: Push-up")
        yield running


def inputs(home: Path) -> list[dict[str, Any]]:
    """The inputs that are on disk now."""
    kinds = {"cmd", "effort", "count", "discomfort", "load", "variant", "note"}
    kept = ("k", "do", "v", "site", "side", "load", "text", "loop")
    return [
        {key: line[key] for key in kept if key in line}
        for line in raw_lines(journals(home)[-1])
        if line["k"] in {*kinds, "session_effort"}
    ]


def test_keys_and_entries_as_lines(long: PlainProcess) -> None:
    """One of everything that a hand at the keyboard can do, in one session."""
    long.type("")
    long.wait_for("paused")
    long.type("space")
    long.wait_for("3", times=1)
    long.wait_for("the clock runs again", timeout_s=10)
    long.type("e", "load 9 kg", "x knee left 3", "n")
    long.wait_for("recover, 60 s")
    long.type("count 12", "+", "s")
    long.wait_for("count 12 for station 1")
    long.type("d", "d")
    long.wait_for("loop break until a key")
    long.type("6.5")
    long.wait_for("effort for loop 1: 6.5")
    long.type("note cold garage", "q", "q", "7", "went well")
    assert long.wait() == 0
    assert inputs(long.home) == [
        {"k": "cmd", "do": "pause"},
        {"k": "cmd", "do": "resume"},
        {"k": "variant", "v": "easier"},
        {"k": "load", "load": "9 kg"},
        {"k": "discomfort", "v": 3, "site": "knee", "side": "left"},
        {"k": "cmd", "do": "next"},
        {"k": "count", "v": 12},
        {"k": "cmd", "do": "longer"},
        {"k": "cmd", "do": "skip"},
        {"k": "cmd", "do": "drop_loop"},
        {"k": "effort", "v": 6.5, "loop": 1},
        {"k": "note", "text": "cold garage"},
        {"k": "cmd", "do": "stop"},
        {"k": "session_effort", "v": 7},
        {"k": "note", "text": "went well"},
    ]


def test_stop_and_drop_need_a_second_key_and_any_other_key_goes_on(
    long: PlainProcess,
) -> None:
    for key, words in (("q", "again to stop"), ("d", "again to drop loop")):
        long.type(key)
        long.wait_for(words)
        long.type("note still here")
    long.wait_for("note saved", times=2)
    long.end()
    assert [line["k"] for line in inputs(long.home)] == ["note", "note"]


@pytest.mark.parametrize(
    ("line", "answer"),
    [
        ("6", "no loop has ended yet"),
        ("11", "no loop has ended yet"),
        ("hello", '"hello" is not a key here'),
        ("x knee", 'expected "x SITE SIDE 0 to 10"'),
        ("x knee left", 'expected "x SITE SIDE 0 to 10"'),
        ("x knee left 11", "discomfort runs from 0 to 10"),
        ("x knee left ²", 'expected "x SITE SIDE 0 to 10"'),
        ("count many", "expected a whole number"),
        ("count 99999", "a count runs from 0 to 9999"),
        ("count 12", "no station has been done yet"),
        ("load heavy", "not taken"),
        ("u", "nothing was dropped"),
        ("\x1b[31m", '"\\x1b[31m" is not a key here'),
        ("note \x1b[31m", "control characters cannot be saved"),
    ],
)
def test_what_cannot_be_taken_is_said_and_leaves_no_line(
    long: PlainProcess, line: str, answer: str
) -> None:
    long.type(line)
    assert "\x1b" not in long.wait_for(answer).text
    assert "Traceback" not in long.said
    assert "int()" not in long.said
    assert "unpack" not in long.said
    long.end()
    assert inputs(long.home) == []


def test_a_gate_waits_for_a_key_and_efforts_are_taken_meanwhile(
    long: PlainProcess,
) -> None:
    # A moment of work: a loop without any is not asked about.
    time.sleep(0.05)
    long.type("d", "d")
    long.wait_for("loop break until a key")
    long.type("7", "8")
    long.wait_for("effort for loop 1: 8")
    long.type("")
    long.wait_for("loop 2 of 2", timeout_s=10)


def test_the_end_of_input_takes_the_keyboard_and_does_not_end_the_run(
    home: Path,
) -> None:
    """The rest of the session is done, and nothing is asked after."""
    put_circuit(home, "brief", BRIEF_CIRCUIT)
    with PlainProcess("run", "brief", home=home) as running:
        running.wait_for("work: Push-up")
        running.end_input()
        assert running.wait() == 0
        assert "effort for the session" not in running.said
    total = raw_lines(journals(home)[-1])[-1]
    assert (total["why"], total["elapsed_ms"]) == ("complete", 5_000)


def test_without_a_keyboard_gates_open_by_themselves(home: Path) -> None:
    put_circuit(home, "gate", BRIEF_CIRCUIT + "hold = true\n")
    done = run_program("run", "gate", "--plain", home=home, typed=None)
    assert done.returncode == 0
    assert raw_lines(journals(home)[-1])[-1]["why"] == "complete"


def test_health_stops_at_one_key_and_says_what_to_do(long: PlainProcess) -> None:
    long.type("z")
    long.wait_for("ended by health stop")
    long.wait_for("Call your local emergency number now.")
    long.end_input()
    assert long.wait() == 0
    total = raw_lines(journals(long.home)[-1])[-1]
    assert total["why"] == "health"


def test_again_does_the_last_plan_again(home: Path) -> None:
    put_circuit(home, "long", LONG_CIRCUIT)
    first = run_program("run", "long", "--plain", home=home, typed="q\nq\n\n\n")
    assert first.returncode == 0
    put_circuit(home, "long", SHORT_CIRCUIT)
    again = run_program("run", "--again", "--plain", home=home, typed="q\nq\n\n\n")
    assert again.returncode == 0
    one, two = (raw_lines(path)[0] for path in journals(home))
    assert one["plan"] == two["plan"]


def test_the_notice_is_printed_and_not_waited_for(home: Path) -> None:
    put_circuit(home, "long", LONG_CIRCUIT)
    done = run_program("run", "long", "--plain", home=home, typed="q\nq\n\n\n")
    assert b"No program replaces your doctor" in done.stderr
    assert b"local emergency number" in done.stderr
    assert b"work: Push-up" in done.stdout


def test_a_second_session_is_refused_in_text(long: PlainProcess) -> None:
    done = run_program("run", "long", "--plain", home=long.home)
    assert done.returncode == 1
    assert b"another session is running" in done.stderr
    assert str(long.process.pid).encode() in done.stderr
    assert len(journals(long.home)) == 1


def test_own_keys_are_the_keys_of_line_mode_too(home: Path) -> None:
    with (home / "config.toml").open("a") as config:
        config.write('[keys]\npause = ["p"]\n')
    put_circuit(home, "long", LONG_CIRCUIT)
    with PlainProcess("run", "long", home=home) as running:
        running.type("p")
        running.wait_for("paused")
        running.end()
        assert inputs(home) == [{"k": "cmd", "do": "pause"}]


# The keyboard itself.


@pytest.fixture
def pipe() -> Iterator[tuple[LineKeyboard, int]]:
    read, write = os.pipe()
    yield LineKeyboard(read), write
    os.close(read)


def test_lines_typed_ahead_come_one_by_one(pipe: tuple[LineKeyboard, int]) -> None:
    """What follows an answer belongs to the next question."""
    keyboard, write = pipe
    os.write(write, b"q\nq\r\n7\n")
    assert [keyboard.wait(1) for _ in range(3)] == [["q"], ["q"], ["7"]]
    assert keyboard.wait(0) == []
    assert keyboard.is_open
    os.close(write)


def test_a_last_line_without_its_end_counts(pipe: tuple[LineKeyboard, int]) -> None:
    keyboard, write = pipe
    os.write(write, b"n\nnote half")
    os.close(write)
    found = [line for _ in range(4) for line in keyboard.wait(1)]
    assert found == ["n", "note half"]
    assert not keyboard.is_open


def test_half_a_line_waits_for_its_other_half(pipe: tuple[LineKeyboard, int]) -> None:
    keyboard, write = pipe
    os.write(write, b"note a")
    assert keyboard.wait(0.01) == []
    os.write(write, b"b\n")
    assert keyboard.wait(1) == ["note ab"]
    os.close(write)


def test_bytes_that_are_no_text_and_endless_lines_do_no_harm(
    pipe: tuple[LineKeyboard, int],
) -> None:
    keyboard, write = pipe
    os.write(write, b"\xff\xfe\n")
    assert keyboard.wait(1) == ["��"]
    for _ in range(40):
        os.write(write, b"x" * 4096)
        keyboard.wait(0.1)
    os.write(write, b"\n")
    (line,) = keyboard.wait(1)
    assert len(line) <= 65_536
    os.close(write)


def test_no_standard_input_at_all_is_a_closed_keyboard(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("sys.stdin", None)
    keyboard = LineKeyboard()
    assert not keyboard.is_open
    assert keyboard.wait(0) == []
