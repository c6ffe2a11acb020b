"""Homes and outputs that refuse: a sentence, never an 'unexpected fault'."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest
from tests.support.processes import (
    PROGRAM,
    environment,
    journals,
    put_circuit,
    quiet_home,
    raw_lines,
    run_program,
)

from whistlestop.cli.main import main
from whistlestop.errors import StoreError
from whistlestop.store.places import Places

BRIEF = """\
format = 1
name = "Brief"
work = "5 s"
recover = "0 s"
get_ready = "0 s"
[[station]]
exercise = "push-up"
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    put_circuit(quiet_home(tmp_path / "home"), "brief", BRIEF)
    return tmp_path / "home"


@pytest.mark.parametrize("words", [["run", "brief", "--plain"], ["plan", "brief"],
                                   ["log"], ["next"]])  # fmt: skip
def test_a_home_that_cannot_be_entered_is_named(
    home: Path,
    words: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Permissions do not bind every user, so the system's answer is replaced."""
    asked = os.access
    monkeypatch.setattr(
        os, "access", lambda path, mode: path != home and asked(path, mode)
    )
    with pytest.raises(StoreError, match="cannot enter the home folder"):
        Places(home)
    assert main([*words, "--home", str(home)]) == 1
    sentences = capsys.readouterr().err
    assert "cannot enter the home folder" in sentences
    assert "unexpected" not in sentences


@pytest.mark.parametrize("words", [["plan", "brief"], ["check", "x.toml"]])
def test_whatever_else_the_system_refuses_is_a_sentence(
    home: Path,
    words: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied", "stations.toml")

    monkeypatch.setattr("whistlestop.driver.library.LibraryService.catalogue", refuse)
    monkeypatch.setattr("whistlestop.driver.circuits.CircuitService.read", refuse)
    assert main([*words, "--home", str(home)]) == 1
    assert "unexpected" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "status"),
    [(["log"], 0), (["log", "show", "last"], 2), (["export", "log"], 0)],
)
def test_a_year_that_is_a_link_to_itself_holds_no_sessions(
    home: Path, words: list[str], status: int
) -> None:
    (home / "log").mkdir()
    (home / "log" / "2026").symlink_to("2026")
    done = run_program(*words, home=home)
    assert done.returncode == status, done.stderr
    assert b"unexpected" not in done.stderr


def run_through_shell(home: Path, turned: str) -> subprocess.CompletedProcess[bytes]:
    """`run brief --plain` live with its output turned somewhere by a shell."""
    words = [*PROGRAM, "run", "brief", "--plain", "--home", str(home)]
    return subprocess.run(
        ["/bin/bash", "-c", f'set -o pipefail; "$@" {turned}', "sh", *words],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        env=environment(),
        timeout=60,
        check=False,
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("turned", "status"),
    [("> /dev/full", 1), (">&-", 0), (">&- 2>&-", 0), ("| head -1", 0)],
)
def test_a_live_session_goes_on_where_nobody_takes_its_lines(
    home: Path, turned: str, status: int
) -> None:
    """It is heard, and it is recorded: it comes to its own end."""
    done = run_through_shell(home, turned)
    assert done.returncode == status, done.stderr
    assert b"Traceback" not in done.stderr
    assert b"unexpected" not in done.stderr
    (path,) = journals(home)
    ends = [line for line in raw_lines(path) if line["k"] in ("end", "sum")]
    assert [line["k"] for line in ends] == ["end", "sum"]
    assert ends[0]["why"] == "complete"


@pytest.mark.parametrize("words", [["plan", "brief"], ["sounds"]])
def test_facts_that_cannot_be_written_are_status_1(
    home: Path, words: list[str]
) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*PROGRAM, *words, "--home", str(home)],
            stdout=full,
            stderr=subprocess.PIPE,
            env=environment(),
            timeout=60,
            check=False,
        )
    assert done.returncode == 1
    assert done.stderr == b"whistlestop: standard output: the disk is full\n"
