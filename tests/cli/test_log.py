"""`log`: what was done, as it was done."""

from __future__ import annotations

import json
from collections.abc import Callable
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
)


@pytest.fixture
def scripted(call: Callable[..., Any], home: Path) -> str:
    """A scripted session; its id."""
    put_circuit(home, "short", SHORT_CIRCUIT)
    call("run", "short", "--plain", "--speed", 10_000, "--effort", "5,-,6.5")
    return journals(home)[-1].stem


def test_an_empty_log_says_so_and_is_no_error(call: Callable[..., Any]) -> None:
    answer = call("log")
    assert (answer.status, answer.out) == (0, "")
    assert "no session" in answer.err
    assert json.loads(call("log", "--json").out) == []
    assert call("log", "last").status == 2


def test_scripted_sessions_show_only_on_request(
    call: Callable[..., Any], scripted: str
) -> None:
    assert scripted not in call("log").out
    assert call("log", "last").status == 2
    assert scripted in call("log", "--scripted").out
    assert f"session {scripted}" in call("log", "last", "--scripted").out


def test_one_session_by_id_by_last_and_by_show_last(
    call: Callable[..., Any], scripted: str
) -> None:
    by_id = call("log", "show", scripted)
    assert by_id.status == 0
    assert by_id.out == call("log", "last", "--scripted").out
    assert by_id.out == call("log", "show", "last", "--scripted").out
    assert "loop 1 of 3: effort 5\n" in by_id.out
    assert "loop 2 of 3: effort not entered\n" in by_id.out
    assert "loop 3 of 3: effort 6.5\n" in by_id.out
    assert "work 0:36 of 0:36 planned (100 %)" in by_id.out


def test_the_json_of_a_session_agrees_with_its_journal(
    call: Callable[..., Any], scripted: str, home: Path
) -> None:
    facts = json.loads(call("log", "show", scripted, "--json").out)
    total = raw_lines(journals(home)[-1])[-1]
    for name in ("elapsed_ms", "active_ms", "paused_ms", "gated_ms", "plan_work_ms"):
        assert facts[name] == total[name]
    assert facts["best_work_ms"] == total["best_work_ms"]
    assert [loop["effort"] for loop in facts["loops"]] == [5, None, 6.5]
    assert facts["problems"] == []
    (line,) = json.loads(call("log", "--scripted", "--json").out)
    assert line["id"] == scripted
    assert line["efforts"] == [5, None, 6.5]
    assert line["ending"] == "complete"


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("log", "show"), 2),
        (("log", "list", "x"), 2),
        (("log", "show", "../../etc/passwd"), 2),
        (("log", "show", "\x1b[31m"), 2),
        (("log", "show", "20310412T061502Z-3f9a"), 1),
        (("log", "weather"), 2),
    ],
)
def test_what_cannot_be_shown_is_said(
    call: Callable[..., Any], words: tuple[str, ...], status: int
) -> None:
    answer = call(*words)
    assert answer.status == status
    assert answer.err
    assert "Traceback" not in answer.err


def test_a_damaged_journal_is_shown_with_what_is_wrong(
    call: Callable[..., Any], scripted: str, home: Path
) -> None:
    path = journals(home)[-1]
    lines = path.read_bytes().split(b"\n")
    place = next(n for n, line in enumerate(lines) if b'"ms":6000' in line)
    lines[place] = lines[place].replace(b'"ms":6000', b'"ms":9000')
    path.write_bytes(b"\n".join(lines))
    answer = call("log", "show", scripted)
    assert answer.status == 0
    wrong = f"problem: line {place + 1}: its checksum is wrong"
    assert wrong in answer.out
    assert "6 s of 6 s" in answer.out
    assert "9 s" not in answer.out
    assert "check it" in call("log", "--scripted").out


def test_a_session_that_runs_is_read_without_locking(
    call: Callable[..., Any], home: Path
) -> None:
    put_circuit(home, "long", LONG_CIRCUIT)
    with PlainProcess("run", "long", home=home) as running:
        running.type("note in between")
        running.wait_for("note saved")
        answer = call("log")
        assert answer.status == 0
        assert "interrupted" in answer.out
