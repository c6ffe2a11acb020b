"""`log` over ten years beside `log` over a month: time, CPU, ratio, rebuild, memory.

By hand:  PYTHONPATH=src python -m tests.bench.log_scale --sessions 20 2000 5000
Makes the histories (about 25 ms a session), or takes those of --folder over. Ends
with status 1 if at 2,000 a command takes more CPU than its ratio of the least: CPU,
because a busy machine says little of time.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import datetime
from pathlib import Path

from tests.bench.figures import load_text
from tests.bench.history import ZONE, make_history
from tests.support.processes import environment

MOST_RATIO = 2.0  # of the Log room's time; see log_room.py
MOST_CPU = {"log": 1.3, "log weeks": 1.5, "log trends": 1.5}
GATED = 2_000  # sessions up to which the ratio is promised


def run(home: Path, *words: str) -> tuple[float, float]:
    """Seconds and MB (greatest resident size) of one command in its own process."""
    took, _, memory = measured(home, *words)
    return took, memory


def measured(home: Path, *words: str) -> tuple[float, float, float]:
    """Seconds, seconds of CPU and MB of one command in its own process."""
    command = [sys.executable, "-m", "whistlestop", *words, "--home", str(home)]
    begin = time.perf_counter()
    with subprocess.Popen(
        command,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=environment(),
    ) as process:
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    took = time.perf_counter() - begin
    if process.returncode:
        raise SystemExit(f"{' '.join(words)} ended with {process.returncode}")
    unit = 1 if sys.platform == "darwin" else 1024
    cpu = usage.ru_utime + usage.ru_stime
    return took, cpu, usage.ru_maxrss * unit / 1e6


def history(folder: Path, sessions: int, *, seen: bool) -> Path:
    """The history of so many sessions, made if it is not there."""
    home = folder / f"{sessions}{'-seen' if seen else ''}"
    if not home.exists():
        begin = time.perf_counter()
        make_history(home, sessions, last=datetime.now(ZONE).date(), seen=seen)
        print(f"{sessions} sessions made in {time.perf_counter() - begin:.0f} s")
    files = [path.stat().st_size for path in (home / "log").rglob("*.jsonl")]
    print(f"{sessions} sessions: {len(files)} files, {sum(files) / 1e6:.1f} MB")
    return home


def main() -> int:
    """Measure each, in turn, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sessions", type=int, nargs="+", default=[20, 2_000, 5_000])
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--rounds", type=int, default=11)
    parser.add_argument("--seen", action="store_true", help="with marks `seen`")
    chosen = parser.parse_args()
    print(load_text())
    with tempfile.TemporaryDirectory(prefix="ws-") as temporary:
        folder = chosen.folder or Path(temporary)
        homes = {n: history(folder, n, seen=chosen.seen) for n in chosen.sessions}
        for count, home in homes.items():
            shutil.rmtree(home / "cache", ignore_errors=True)
            took, memory = run(home, "log", "--all")
            print(
                f"{count}: cold rebuild with `log --all` {took:.2f} s, {memory:.0f} MB"
            )
        too_much = [
            name
            for name in ("log", "log weeks", "log trends", "log --all", "log changes")
            if _compare(homes, name.split(), chosen.rounds) > MOST_CPU.get(name, 1e9)
        ]
    print(f"more than promised: {', '.join(too_much) or 'none'}")
    return 1 if too_much else 0


def _compare(homes: dict[int, Path], words: list[str], rounds: int) -> float:
    """One command in every home, taken in turn; the greatest ratio of the least CPU."""
    times: dict[int, list[float]] = {count: [] for count in homes}
    cpus: dict[int, list[float]] = {count: [] for count in homes}
    memory: dict[int, float] = {}
    for _ in range(rounds):
        for count, home in homes.items():
            took, cpu, memory[count] = measured(home, *words)
            times[count].append(took)
            cpus[count].append(cpu)
    medians = {count: statistics.median(found) for count, found in times.items()}
    least, cpu = medians[min(medians)], {n: min(found) for n, found in cpus.items()}
    ratios = {count: one / cpu[min(cpu)] for count, one in cpu.items()}
    sentences = [
        f"{count}: {1000 * median:.0f} ms ({median / least:.2f} x), "
        f"CPU {1000 * cpu[count]:.0f} ms ({ratios[count]:.2f} x), "
        f"{memory[count]:.0f} MB"
        for count, median in medians.items()
    ]
    print(f"`{' '.join(words)}`, warm: {'; '.join(sentences)}", flush=True)
    return max(ratio for count, ratio in ratios.items() if count <= GATED)


if __name__ == "__main__":
    raise SystemExit(main())
