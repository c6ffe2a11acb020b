"""Columns of the commands stay in line with names of wide and of accented letters."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len
from tests.support.processes import put_circuit, quiet_home, run_program

JAPANESE, ACCENTED = "腕立て伏せ", "E\u0301lan"
CIRCUIT = f"""\
format = 1
name = "{JAPANESE}"
loops = 1
work = "5 s"
recover = "5 s"
get_ready = "0 s"
[[station]]
exercise = "push-up"
name = "{JAPANESE}"
load = "8 kg"
[[station]]
exercise = "push-up"
name = "{ACCENTED}"
load = "8 kg"
[[station]]
exercise = "push-up"
load = "8 kg"
"""
KIT = f"""\
format = 1
own_things = ["{JAPANESE}", "{ACCENTED}"]
[[weight]]
kind = "kettlebell"
loads = ["8 kg"]
"""


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = quiet_home(tmp_path_factory.mktemp("columns") / "home")
    put_circuit(folder, "japanese", CIRCUIT)
    accented = CIRCUIT.replace(f'"{JAPANESE}"', f'"{ACCENTED}"', 1)
    put_circuit(folder, "accented", accented)
    (folder / "kit.toml").write_text(KIT)
    for name in ("japanese", "accented", "japanese"):
        run = ("run", name, "--plain", "--speed", "10000", "--effort", "5")
        assert run_program(*run, home=folder).returncode == 0
    return folder


def starts(lines: list[str], mark: str) -> set[int]:
    """The cells at which a text begins, of the lines that have it."""
    return {cell_len(line[: line.index(mark)]) for line in lines if mark in line}


def printed(home: Path, *words: str) -> list[str]:
    done = run_program(*words, home=home)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.decode().splitlines()
    assert any(JAPANESE in line for line in lines)
    assert any(ACCENTED in line for line in lines)
    return lines


def test_plan(home: Path) -> None:
    lines = printed(home, "plan", "japanese")
    assert len(starts(lines, "8 kg")) == 1
    assert starts(lines, "8 kg") == starts(lines[1:2], "load")


def test_log(home: Path) -> None:
    lines = printed(home, "log", "--scripted")
    assert len(lines) == 4
    assert len(starts(lines[1:], "complete")) == 1


def test_log_show(home: Path) -> None:
    listed = printed(home, "log", "--scripted")
    session = next(line.split()[-1] for line in listed if JAPANESE in line)
    shown = printed(home, "log", "show", session, "--scripted")
    assert len(starts(shown, "5 s of 5 s")) == 1


def test_kit_and_next(home: Path) -> None:
    """These two answer in sentences, without columns: the names are whole in them."""
    printed(home, "kit")
    done = run_program("next", "japanese", home=home)
    assert done.stdout.decode().startswith(f"{JAPANESE}: ")
