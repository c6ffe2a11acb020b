"""From start to first paint, beside a bare Textual app; and the quick commands.

By hand:  PYTHONPATH=src python -m tests.bench.start --rounds 15
All are started in turn; the ratio of the medians is what counts, and on a machine
that is busy with other things the ratio of the least.
"""

from __future__ import annotations

import argparse
import resource
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
KIT = """\
format = 1
mats = 1
bench = true
[[weight]]
kind = "dumbbell"
loads = ["2 x 8 kg"]
"""
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


def cpu_ms(words: tuple[str, ...]) -> float:
    """Milliseconds of processor time that a command takes, user and system."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(words, env=environment(), capture_output=True, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    user, system = after.ru_utime - before.ru_utime, after.ru_stime - before.ru_stime
    return (user + system) * 1000


def main() -> int:
    """Measure in turn, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--commands", action="store_true", help="only the commands")
    arguments = parser.parse_args()
    rounds = arguments.rounds
    print(load_text())
    with bench_home() as home:
        if not arguments.commands:
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
    print_ratios(found, "bare Textual", "bare")


def compare_commands(home: Path, rounds: int) -> None:
    """Processor time of the commands without screens, against `--help`.

    In turn, so that what else the machine does falls on all of them alike. The home
    has sessions and a kit, and its circuits are remembered.
    """
    where = ("--home", str(home))
    (home / "kit.toml").write_text(KIT)
    for _ in range(2):
        run = (*PROGRAM, "run", "first-stop", "--plain", "--speed", "10000")
        cpu_ms((*run, "--effort", "5", *where))
    kinds = {
        "--help": ("--help",),
        "plan": ("plan", "first-stop", *where),
        "log": ("log", *where),
        "kit": ("kit", *where),
        "check": ("check", "sample_circuits/first-stop.toml", *where),
        "next": ("next", *where),
    }
    for words in kinds.values():
        cpu_ms((*PROGRAM, *words))
    found: dict[str, list[float]] = {name: [] for name in kinds}
    for _ in range(rounds):
        for name, words in kinds.items():
            found[name].append(cpu_ms((*PROGRAM, *words)))
    print_ratios(found, "--help", "--help")


def print_ratios(found: dict[str, list[float]], to: str, called: str) -> None:
    """Each of the measured against one of them: by the medians, and by the least."""
    for name, values in found.items():
        median = quantile(values, 0.5) / quantile(found[to], 0.5)
        least = min(values) / min(found[to])
        ratios = f"{median:.2f} x {called}, by the least {least:.2f}"
        print(f"{name}: {spread(values, 'ms')}; {ratios}", flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
