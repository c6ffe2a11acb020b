"""Nobody else reads the log: the mode of every file and folder that is made.

A home is filled by the program itself, as a process under each umask, and walked.
"""

from __future__ import annotations

import ast
import json
import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.sound.test_voice_fake_engine import SCRIPT, SINE, TABLE, pipe_form
from tests.support.processes import LONG_S, PROGRAM, ROOT, environment, journals

from whistlestop.store.modes import close_old_ones
from whistlestop.store.places import Places

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="modes are of POSIX")

# Commands in one process, which is started once; then what no command makes: the
# memory of circuits, the notice, a fault.
_REST = """\
import json
import sys
from pathlib import Path
from whistlestop.cli.main import main
from whistlestop.driver.fault import fault_text
from whistlestop.driver.services import Services
home, *calls = sys.argv[1:]
for call in map(json.loads, calls):
    assert main([*call, "--home", home]) == 0, call
services = Services(Path(home))
services.circuits.find_all()
services.circuits.remember()
services.memory.acknowledge_notice()
assert "details" in fault_text(ValueError("for the test"), services.places)
"""
_MADE = {
    "run.lock",
    "athletes.toml",
    "cache/circuits.json",
    "cache/log-index.sqlite",
    "circuits/mine.toml",
    "log/diary.jsonl",
    "state/fault.txt",
    "state/remembered.toml",
    "state/sound.log",
    "wishes/mine.toml",
    "out/backup.tar.gz",
    "out/calendar.ics",
    "out/cards.html",
    "out/log.csv",
    "out/page.html",
    "out/report.html",
    "out/sheet.html",
    "out/sound.wav",
}


def mode(path: Path) -> int:
    return stat.S_IMODE(path.lstat().st_mode)


def walk(folder: Path) -> Iterator[Path]:
    """Everything below a folder, without what the sound server's library makes."""
    return (path for path in folder.rglob("*") if "pulse" not in path.name)


class Machine:
    """The program under a umask, with a voice that is a script."""

    def __init__(self, folder: Path, umask: int) -> None:
        self.home, self._umask = folder / "home", umask
        engine = folder / "engine"
        engine.mkdir()
        (engine / "espeak-ng").write_text(SCRIPT)
        (engine / "espeak-ng").chmod(0o755)
        (engine / "table").write_text(TABLE)
        (engine / "wave").write_bytes(pipe_form(SINE))
        path = f"{engine}{os.pathsep}{os.environ['PATH']}"
        self._environment = environment(PATH=path, HOME=str(folder))

    def call(self, *words: str, typed: str = "") -> None:
        self._run([*PROGRAM, *words, "--home", str(self.home)], typed)

    def rest(self, *calls: list[str]) -> None:
        words = [json.dumps(call) for call in calls]
        self._run([sys.executable, "-c", _REST, str(self.home), *words], "")

    def _run(self, words: list[str], typed: str) -> None:
        done = subprocess.run(
            words,
            input=typed.encode(),
            capture_output=True,
            timeout=4 * LONG_S,
            env=self._environment,
            umask=self._umask,
            check=False,
        )
        assert done.returncode == 0, (words, done.stderr.decode())

    def fill(self) -> None:
        """Everything that the program writes, at least once."""
        wishes = ["--minutes", "20", "--seed", "1", "--keep-wishes", "mine"]
        self.call("build", *wishes, "--save", "mine")
        out = self.home / "out"
        # Made by somebody else, and theirs to open.
        out.mkdir(mode=0o755)
        out.chmod(0o755)
        self.call("run", "mine", "--plain", typed="note cold\nq\nq\n5\nwell\n")
        self.call(
            "run", "light-engine", "--plain", "--with", "Robin", typed="q\nq\n\n\n"
        )
        self.rest(
            ["log", "enter", "mine", "--effort", "5"],
            ["log"],
            ["sounds", "render", "mine", f"{out}/sound.wav"],
            ["export", "sheet", "mine", "--out", f"{out}/sheet.html"],
            ["export", "cards", "mine", "--out", f"{out}/cards.html"],
            ["export", "log", "--out", f"{out}/log.csv"],
            ["export", "calendar", "--out", f"{out}/calendar.ics"],
            ["export", "page", "--out", f"{out}/page.html"],
            ["export", "report", "--out", f"{out}/report.html"],
            ["log", "backup", f"{out}/backup.tar.gz"],
        )


@pytest.mark.parametrize("umask", [0o000, pytest.param(0o022, marks=pytest.mark.slow)])
def test_everything_in_a_full_home_is_for_its_owner_only(
    tmp_path: Path, umask: int
) -> None:
    machine = Machine(tmp_path, umask)
    machine.fill()
    home = machine.home
    found = {path.relative_to(home).as_posix() for path in walk(home)}
    assert _MADE - found == set()
    assert len(journals(home)) == 2
    assert list((home / "cache" / "voice").glob("say-*.wav"))
    wrong = {
        path.relative_to(home).as_posix(): oct(mode(path))
        for path in [home, *walk(home)]
        if mode(path) != (0o700 if path.is_dir() else 0o600)
    }
    assert wrong == {"out": "0o755"}


def test_what_earlier_versions_left_open_is_closed_at_the_start(tmp_path: Path) -> None:
    home = tmp_path / "home"
    files = (
        "log/diary.jsonl",
        "log/2031/20310412T061502Z-3f9a.jsonl",
        "cache/log-index.sqlite",
        "cache/voice/say-0123456789ab.wav",
        "state/fault.txt",
        "circuits/mine.toml",
        "config.toml",
    )
    for name in files:
        path = home / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()
        path.chmod(0o644)
    for folder in (home, *(path for path in home.rglob("*") if path.is_dir())):
        folder.chmod(0o755)
    Machine(tmp_path, 0o022).call("log")
    left_open = {
        path.relative_to(home).as_posix()
        for path in [home, *walk(home)]
        if mode(path) & 0o077
    }
    # Theirs who made them: the home, the circuits and the settings.
    assert left_open == {".", "circuits", "circuits/mine.toml", "config.toml"}


def test_a_start_that_was_cut_short_is_made_good_by_the_next(tmp_path: Path) -> None:
    """A folder of the log is closed after its files, so it is looked through again."""
    places = Places(tmp_path / "home", environ={})
    year = places.log / "2031"
    year.mkdir(parents=True)
    places.log.chmod(0o700)
    year.chmod(0o755)
    journal = year / "20310412T061502Z-3f9a.jsonl"
    journal.touch()
    journal.chmod(0o644)
    close_old_ones(places)
    assert (mode(year), mode(journal)) == (0o700, 0o600)


def test_folders_of_the_platform_are_the_programs_own_and_are_closed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for kind in ("DATA", "CONFIG", "CACHE", "STATE"):
        monkeypatch.setenv(f"XDG_{kind}_HOME", str(tmp_path / kind))
        (tmp_path / kind / "whistlestop").mkdir(parents=True)
    monkeypatch.setenv("HOME", str(tmp_path))
    places = Places(environ={})
    own = {places.log.parent, places.config_file.parent, places.cache, places.state}
    for folder in own:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o755)
        folder.parent.chmod(0o755)
    close_old_ones(places)
    assert {mode(folder) for folder in own} == {0o700}
    assert {mode(folder.parent) for folder in own - {places.log.parent}} == {0o755}


def test_a_link_that_stands_for_the_log_is_not_followed(tmp_path: Path) -> None:
    """Whoever put it there shares what it leads to, or not, as they please."""
    shared = tmp_path / "shared"
    (shared / "2031").mkdir(parents=True)
    (shared / "2031").chmod(0o755)
    shared.chmod(0o755)
    places = Places(tmp_path / "home", environ={})
    places.log.parent.mkdir()
    places.log.symlink_to(shared)
    close_old_ones(places)
    assert {mode(shared), mode(shared / "2031")} == {0o755}


def test_an_export_in_the_place_of_an_open_file_is_closed(tmp_path: Path) -> None:
    machine = Machine(tmp_path, 0o022)
    page = tmp_path / "page.html"
    page.touch()
    page.chmod(0o644)
    machine.call("export", "page", "--out", str(page), "--force")
    assert mode(page) == 0o600
    assert mode(tmp_path) == stat.S_IMODE(tmp_path.stat().st_mode)


_MAKERS = {"mkdir", "makedirs", "touch", "write_text", "write_bytes", "mkdtemp"}
# The tones that ship are made by hand, for everybody to read; these are not ours.
_NOT_FILES = {"sound/synth.py", "sound/helper/urgency.py"}


def _makes(node: ast.AST) -> bool:
    """Whether a call makes a folder or a file with whatever mode the umask leaves."""
    if not isinstance(node, ast.Call):
        return False
    name = getattr(node.func, "attr", getattr(node.func, "id", ""))
    if name in {"open", "fdopen"}:
        given = ast.unparse(node)
        # An opener of ours, a file that is open already, or no file at all.
        if any(
            word in given for word in ("opener=private", "(raw,", "fileobj=", "dev")
        ):
            return False
        words = [w.value for w in ast.walk(node) if isinstance(w, ast.Constant)]
        modes = [set(w) for w in words if isinstance(w, str) and len(w) <= 3]
        return "O_CREAT" in given or (
            name == "open" and any(mode & set("wxa") for mode in modes)
        )
    return name in _MAKERS


def test_only_one_module_makes_folders_and_files() -> None:
    package = ROOT / "src" / "whistlestop"
    makers = {
        path.relative_to(package).as_posix()
        for path in package.rglob("*.py")
        if any(map(_makes, ast.walk(ast.parse(path.read_text(encoding="utf-8")))))
    }
    assert makers - _NOT_FILES == {"files.py"}
