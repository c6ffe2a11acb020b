"""What each command loads: the quick ones stay quick, and nothing opens a device."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from tests.support.processes import SAMPLES, environment

HEAVY = {"textual", "rich", "miniaudio", "numpy", "highspy", "simpleaudio"}
REPORT = (
    "import sys\n"
    "from whistlestop.cli.main import main\n"
    "try:\n"
    "    main(sys.argv[1:])\n"
    "except SystemExit:\n"
    "    pass\n"
    "print('LOADED', *sorted(sys.modules))\n"
)


def loaded(*words: str) -> set[str]:
    """The modules that one command leaves loaded, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", REPORT, *words],
        capture_output=True,
        text=True,
        env=environment(),
        check=True,
    )
    return set(done.stdout.splitlines()[-1].split()[1:])


@pytest.mark.parametrize(
    "words",
    [
        ("--help",),
        ("--version",),
        ("run", "--help"),
        ("check", str(SAMPLES[0])),
        ("plan", "goods-shed", "--json"),
        ("log",),
        ("run", "first-stop", "--plain", "--speed", "10000"),
    ],
    ids=" ".join,
)
def test_no_screen_and_no_sound_is_loaded(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    where = [] if words[0].startswith("--") else ["--home", str(tmp_path)]
    found = loaded(*words, *where)
    assert "whistlestop" in found
    assert not HEAVY & found


@pytest.mark.parametrize("words", [("--help",), ("run", "--help"), ("--version",)])
def test_help_loads_no_models_either(words: tuple[str, ...]) -> None:
    """Pydantic alone costs more than the rest of a start (DEVELOPERS, "Measured")."""
    assert not {"pydantic", "asyncio", "sqlite3", "platformdirs"} & loaded(*words)


def test_the_measure_would_notice(tmp_path: Path) -> None:
    """A file with problems is read through models: the list is not simply empty."""
    broken = tmp_path / "broken.toml"
    broken.write_text(SAMPLES[0].read_text() + "odd = 1\n")
    assert "pydantic" in loaded("check", str(broken), "--home", str(tmp_path))


@pytest.mark.parametrize(
    "words", [("plan", "goods-shed"), ("check", str(SAMPLES[0]))], ids=" ".join
)
def test_what_is_remembered_is_not_judged_again(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    """The first time fills the memory, whichever command it was."""
    judges = {"whistlestop.store.circuits.file", "whistlestop.store.table.judging"}
    first = loaded(*words, "--home", str(tmp_path))
    assert judges <= first
    assert not {"pydantic", "csv", "difflib"} & first
    assert not (judges | {"csv"}) & loaded(*words, "--home", str(tmp_path))


NEVER = {"pydantic", "csv", "difflib", "asyncio", "zoneinfo"}
NUMBERS = {"statistics", "random", "hashlib"}
OTHERS = {
    ("log",): NUMBERS | {"whistlestop.library", "whistlestop.review.record"},
    ("kit",): NUMBERS | {"sqlite3", "whistlestop.review", "whistlestop.engine.engine"},
    ("next",): {"whistlestop.builder", "whistlestop.sound.soundtrack"},
}


@pytest.mark.parametrize("words", OTHERS, ids=" ".join)
def test_a_plain_command_loads_only_its_own(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    (tmp_path / "kit.toml").write_text("format = 1\nmats = 1\n")
    found = loaded(*words, "--home", str(tmp_path))
    assert not (NEVER | OTHERS[words]) & found
