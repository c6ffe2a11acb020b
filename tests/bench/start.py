"""From start to first paint, beside a bare Textual app; and the quick commands.

By hand:  PYTHONPATH=src python -m tests.bench.start --rounds 15
The two are started in turn; the ratio of the medians is what counts.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from pathlib import Path

from tests.bench.figures import bench_home, load_text, quantile, spread
from tests.support.processes import PROGRAM, environment
from tests.support.terminal import Pty

BARE = (
    "from textual.app import App\n"
    "from textual.widgets import Static\n"
    "class Bare(App):\n"
    "    def compose(self):\n"
    "        yield Static('first paint')\n"
    "Bare().run()\n"
)
PASS = "pass"
LISTED = b"Goods"


def settle(home: Path) -> None:
    """Start once and wait, as a person does, until the circuits are remembered."""
    with Pty(*PROGRAM, "--home", str(home)) as terminal:
        while not (home / "cache" / "circuits.json").exists():
            terminal.read(0.05)


def until_shown(words: tuple[str, ...], shown: bytes) -> float:
    """Milliseconds from start until some text is on the pty."""
    begin = time.perf_counter()
    with Pty(*words) as terminal:
        terminal.read_until(shown)
        return (time.perf_counter() - begin) * 1000


def to_the_end(words: tuple[str, ...]) -> float:
    """Milliseconds that a command takes."""
    begin = time.perf_counter()
    subprocess.run(words, env=environment(), capture_output=True, check=True)
    return (time.perf_counter() - begin) * 1000


def main() -> int:
    """Measure in turn, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    print(load_text())
    with bench_home() as home:
        compare_screens(home, rounds)
        compare_commands(home, rounds)
    return 0


def compare_screens(home: Path, rounds: int) -> None:
    """First picture of the rooms and of the Floor, against a bare app.

    The title of the room and the name of a circuit in it come with one picture
    where circuits are remembered; at the very first start they are read first.
    """
    room = (*PROGRAM, "--home", str(home))
    floor = (*PROGRAM, "run", "long", "--home", str(home))
    kinds = {
        "bare Textual": ((sys.executable, "-c", BARE), b"first paint"),
        "circuits room": (room, b"Circuits"),
        "a circuit in it": (room, LISTED),
        "floor": (floor, b"NOW  1"),
        "a circuit in it, first start ever": (room, LISTED),
        "floor, first start ever": (floor, b"NOW  1"),
    }
    found: dict[str, list[float]] = {name: [] for name in kinds}
    for _ in range(rounds):
        for name, (words, shown) in kinds.items():
            if "ever" in name:
                (home / "cache" / "circuits.json").unlink(missing_ok=True)
            elif not (home / "cache" / "circuits.json").exists():
                settle(home)
            found[name].append(until_shown(words, shown))
    bare = quantile(found["bare Textual"], 0.5)
    for name, values in found.items():
        ratio = quantile(values, 0.5) / bare
        print(f"{name}: {spread(values, 'ms')}; {ratio:.2f} x bare")


def compare_commands(home: Path, rounds: int) -> None:
    """The commands without screens, against an interpreter that does nothing."""
    where = ("--home", str(home))
    kinds = {
        "pass": (sys.executable, "-c", PASS),
        "--help": (*PROGRAM, "--help"),
        "plan": (*PROGRAM, "plan", "goods-shed", *where),
        "check": (*PROGRAM, "check", "sample_circuits/goods-shed.toml"),
        "log": (*PROGRAM, "log", *where),
    }
    found: dict[str, list[float]] = {name: [] for name in kinds}
    for _ in range(rounds):
        for name, words in kinds.items():
            found[name].append(to_the_end(words))
    bare = quantile(found["pass"], 0.5)
    for name, values in found.items():
        ratio = quantile(values, 0.5) / bare
        print(f"{name}: {spread(values, 'ms')}; {ratio:.2f} x pass")


if __name__ == "__main__":
    raise SystemExit(main())
