"""The wheel, as a person would install it: whole, and at home in any folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest
from tests.support.processes import ROOT, environment, journals, raw_lines

import whistlestop

pytestmark = [pytest.mark.wheel, pytest.mark.slow]

WHERE = (
    "from whistlestop.data import sounds_folder, samples_folder\n"
    "for folder in (sounds_folder(), samples_folder()):\n"
    "    print(folder)\n"
    "    print(*sorted(path.name for path in folder.iterdir()))\n"
)


def names(folder: str, ending: str) -> set[str]:
    return {path.name for path in (ROOT / folder).glob(f"*{ending}")}


def sh(*words: str | Path, cwd: Path) -> str:
    """Run a command without any of this checkout on its path; its output."""
    env = environment()
    del env["PYTHONPATH"], env["PYTHONWARNINGS"]
    done = subprocess.run(
        [str(word) for word in words],
        cwd=cwd,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def make_venv(folder: Path) -> Path:
    """A clean environment; its Python."""
    venv.create(folder, with_pip=True)
    return folder / "bin" / "python"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dist")
    sh(
        *(sys.executable, "-m", "pip", "wheel", "--no-deps", "--quiet"),
        *("--wheel-dir", folder, ROOT),
        cwd=folder,
    )
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel with its dependencies in a clean environment; its Python."""
    python = make_venv(tmp_path_factory.mktemp("clean") / "venv")
    sh(python, "-m", "pip", "install", "--quiet", wheel, cwd=wheel.parent)
    return python


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """An empty folder to stand in."""
    folder = tmp_path / "empty"
    folder.mkdir()
    return folder


def test_the_wheel_holds_the_program_and_its_data_and_nothing_else(
    wheel: Path,
) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    tops = {name.split("/")[0] for name in inside}
    info = f"whistlestop-{whistlestop.__version__}.dist-info"
    assert tops == {"whistlestop", info}
    assert f"{info}/licenses/LICENSE" in inside
    data = "whistlestop/_data"
    for folder, ending in (("sounds", ".wav"), ("sample_circuits", ".toml")):
        assert {f"{data}/{folder}/{name}" for name in names(folder, ending)} <= inside
    assert "whistlestop/library/stations.toml" in inside
    assert not [name for name in inside if name.endswith(".pyc")]
    sources = {
        str(path.relative_to(ROOT / "src"))
        for path in (ROOT / "src" / "whistlestop").rglob("*.py")
    }
    assert sources <= inside


def test_the_console_script_runs_from_an_empty_folder(
    installed: Path, empty: Path
) -> None:
    script = installed.with_name("whistlestop")
    assert sh(script, "--version", cwd=empty).strip() == whistlestop.__version__
    home = empty.parent / "home"
    plan = json.loads(
        sh(script, "plan", "goods-shed", "--json", "--home", home, cwd=empty)
    )
    words = ("run", "goods-shed", "--plain", "--speed", "10000", "--effort", "5,6,7")
    told = sh(script, *words, "--home", home, cwd=empty)
    assert told.splitlines()[-1].endswith(" done")
    total = raw_lines(journals(home)[-1])[-1]
    assert total["elapsed_ms"] == plan["total_ms"]
    assert "effort 6" in sh(
        script, "log", "last", "--scripted", "--home", home, cwd=empty
    )
    assert list(empty.iterdir()) == []


@pytest.mark.parametrize("how", ["wheel", "editable", "checkout"])
def test_sounds_and_samples_are_found(
    how: str, installed: Path, empty: Path, tmp_path: Path
) -> None:
    """The same way from a wheel, an editable install, a checkout."""
    if how == "wheel":
        lines = sh(installed, "-c", WHERE, cwd=empty).splitlines()
        assert "_data" in lines[0]
        assert str(ROOT) not in lines[0]
    elif how == "editable":
        python = make_venv(tmp_path / "venv")
        sh(
            *(python, "-m", "pip", "install", "--quiet", "--no-deps", "-e", ROOT),
            cwd=empty,
        )
        lines = sh(python, "-c", WHERE, cwd=empty).splitlines()
        assert lines[0] == str(ROOT / "sounds")
    else:
        done = subprocess.run(
            [sys.executable, "-c", WHERE],
            cwd=empty,
            env=environment(),
            capture_output=True,
            text=True,
            check=True,
        )
        lines = done.stdout.splitlines()
        assert lines[0] == str(ROOT / "sounds")
    assert names("sounds", ".wav") <= set(lines[1].split())
    assert set(lines[3].split()) == names("sample_circuits", ".toml")
    assert len(names("sounds", ".wav")) >= 10


def test_the_sound_helper_starts_from_the_wheel(installed: Path, empty: Path) -> None:
    """It is a process of its own and must find package and sounds by itself."""
    done = subprocess.run(
        [installed, "-P", "-m", "whistlestop.sound.helper"],
        cwd=empty,
        env={"PATH": os.environ["PATH"], "HOME": str(empty)},
        input=b"",
        capture_output=True,
        timeout=30,
        check=False,
    )
    assert b"ModuleNotFoundError" not in done.stderr
    assert b"Traceback" not in done.stderr
