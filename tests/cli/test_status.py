"""Exit statuses, and errors as one sentence each."""

from __future__ import annotations

import os
import signal
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.support.processes import (
    LONG_CIRCUIT,
    PROGRAM,
    SHORT_CIRCUIT,
    PlainProcess,
    environment,
    journals,
    put_circuit,
    raw_lines,
    run_program,
)

HOSTILE = ["\x1b[31mred", "\x1b]0;title\x07", "[/]", "a\u202eb", "x\x9bm", "\x7f"]


@pytest.mark.parametrize(
    "words",
    [
        ("weather",),
        ("run",),
        ("run", "short", "--speed", "5"),
        ("run", "short", "--effort", "5"),
        ("run", "short", "--plain", "--speed", "0"),
        ("run", "short", "--plain", "--speed", "10001"),
        ("run", "short", "--plain", "--speed", "1.5"),
        ("run", "short", "--plain", "--effort", "11"),
        ("run", "short", "--plain", "--effort", "5,,6"),
        ("run", "short", "--plain", "--effort", "high"),
        ("run", "short", "--again", "--plain"),
        ("run", "short", "--stations", "3", "--plain"),
        ("run", "--work", "40", "--plain"),
        ("run", "--stations", "0", "--plain"),
        ("run", "--stations", "3", "--work", "4", "--plain"),
        ("run", "--again", "--plain"),
        ("run", "--resume", "--plain"),
        ("run", "short", "--resume", "--plain"),
        ("run", "--resume", "--plain", "--speed", "5"),
        ("check",),
        ("plan",),
    ],
    ids=" ".join,
)
def test_wrong_usage_is_status_2_and_says_why(
    call: Callable[..., Any], home: Path, words: tuple[str, ...]
) -> None:
    put_circuit(home, "short", SHORT_CIRCUIT)
    answer = call(*words)
    assert answer.status == 2
    assert answer.err.strip()
    assert answer.out == ""
    assert "Traceback" not in answer.err
    assert journals(home) == []


def test_problems_in_the_input_are_status_1(
    call: Callable[..., Any], home: Path, tmp_path: Path
) -> None:
    put_circuit(home, "bad", "format = 1\n")
    assert call("run", "bad", "--plain").status == 1
    assert call("plan", tmp_path / "missing.toml").status == 1
    assert journals(home) == []


def test_a_home_that_is_a_file_is_said_in_one_line(tmp_path: Path) -> None:
    place = tmp_path / "file"
    place.write_text("")
    done = run_program("log", home=place)
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1


def test_the_screens_need_a_terminal(home: Path) -> None:
    for words in ((), ("run", "first-stop")):
        done = run_program(*words, home=home)
        assert done.returncode == 2
        assert b"the screens need a terminal" in done.stderr
        assert b"--plain" in done.stderr
    assert journals(home) == []


def test_version_and_help_are_status_0(call: Callable[..., Any]) -> None:
    import whistlestop

    assert call("--version").out.strip() == whistlestop.__version__
    for words in (["--help"], ["run", "--help"], ["log", "--help"]):
        assert call(*words).status == 0


@pytest.mark.parametrize(
    ("number", "status"),
    [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)],
)
def test_a_signal_ends_in_order_with_its_own_status(
    home: Path, number: int, status: int
) -> None:
    """The record is closed, says open, and can be resumed; the lock is let go."""
    put_circuit(home, "long", LONG_CIRCUIT)
    with PlainProcess("run", "long", home=home) as running:
        running.wait_for("work: Push-up")
        running.type("note before the end")
        running.wait_for("note saved")
        assert running.end(number) == status
        assert "Traceback" not in running.said
    lines = raw_lines(journals(home)[-1])
    assert (lines[-1]["k"], lines[-1]["why"]) == ("sum", "open")
    assert [line["text"] for line in lines if line["k"] == "note"] == [
        "note before the end".removeprefix("note ")
    ]
    resumed = run_program("run", "--resume", "--plain", home=home, typed="q\nq\n\n\n")
    assert resumed.returncode == 0, resumed.stderr
    assert b"resumed, paused" in resumed.stdout


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_a_script_too(home: Path, number: int) -> None:
    put_circuit(home, "long", LONG_CIRCUIT)
    with PlainProcess("run", "long", "--speed", "1", home=home) as running:
        running.wait_for("work: Push-up")
        assert running.end(number) == 128 + number
        assert "Traceback" not in running.said
    assert raw_lines(journals(home)[-1])[-1]["k"] == "sum"


def test_a_closed_pipe_is_quiet_and_keeps_the_record(home: Path) -> None:
    """`run ... | head -1`: no traceback, and the session is closed, not lost."""
    put_circuit(home, "short", SHORT_CIRCUIT)
    words = [*PROGRAM, "run", "short", "--plain", "--speed", "500"]
    with subprocess.Popen(
        [*words, "--home", str(home)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        errors = process.stderr.read()
        process.wait(30)
    assert b"Traceback" not in errors
    assert b"Exception ignored" not in errors
    assert process.returncode == 0
    assert raw_lines(journals(home)[-1])[-1]["k"] == "sum"


@pytest.mark.parametrize("words", [("plan", "goods-shed"), ("log", "--scripted")])
def test_a_pipe_closed_before_anything_is_said_is_quiet(
    home: Path, words: tuple[str, ...]
) -> None:
    put_circuit(home, "short", SHORT_CIRCUIT)
    run_program("run", "short", "--plain", "--speed", "10000", home=home)
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [*PROGRAM, *words, "--home", str(home)],
        stdout=write,
        stderr=subprocess.PIPE,
        env=environment(),
        check=False,
    )
    os.close(write)
    assert done.stderr == b""
    assert done.returncode == 0


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
@pytest.mark.parametrize(
    "words",
    [
        ("plan", "{}"),
        ("plan", "{}.toml"),
        ("check", "{}"),
        ("run", "{}", "--plain"),
        ("log", "show", "{}"),
        ("run", "x", "--plain", "--effort", "{}"),
        ("run", "--stations", "{}"),
        ("{}",),
        ("check", "--{}", "x"),
    ],
    ids=" ".join,
)
def test_no_control_character_of_an_argument_comes_back(
    call: Callable[..., Any], words: tuple[str, ...], name: str
) -> None:
    """A name from a friend's archive must not recolour or rename the terminal."""
    answer = call(*(word.format(name) for word in words))
    assert answer.status in {1, 2}
    text = answer.out + answer.err
    assert not {"\x1b", "\x07", "\x9b", "\x7f", "\u202e"} & set(text)


@pytest.mark.parametrize("name", ["Name", "note"])
def test_hostile_circuits_are_refused_not_shown(
    call: Callable[..., Any], home: Path, name: str
) -> None:
    """TOML can escape what it may not hold: both ways it never reaches a screen."""
    escaped = r"\u001b[31mred\u001b]0;x\u0007"
    text = SHORT_CIRCUIT.replace('"Short"', f'"{escaped}"')
    if name == "note":
        text = SHORT_CIRCUIT.replace("loops", f'note = "{escaped}"\nloops')
    put_circuit(home, "hostile", text)
    for words in (("plan", "hostile"), ("run", "hostile", "--plain", "--speed", 9999)):
        answer = call(*words)
        assert answer.status == 1
        assert "U+001B" in answer.err


def test_markup_in_a_name_is_plain_text_here(
    call: Callable[..., Any], home: Path
) -> None:
    put_circuit(home, "marked", SHORT_CIRCUIT.replace('"Short"', '"[bold][/] 100 %"'))
    assert call("plan", "marked").out.startswith("[bold][/] 100 % (marked)")
    assert call("run", "marked", "--plain", "--speed", 10_000).status == 0
    assert "[bold][/] 100 %" in call("log", "--scripted").out
