"""Processor time and bytes of the screens while nobody touches a key.

By hand:  PYTHONPATH=src python -m tests.bench.cpu --seconds 20
Children (sound) are not counted: sound is off. 100 % is one core.
"""

from __future__ import annotations

import argparse
import os
import time
from pathlib import Path

from tests.bench.figures import bench_home, load_text
from tests.support.processes import PROGRAM
from tests.support.terminal import Pty

SIZES = ((80, 24), (120, 40), (200, 60))


def cpu_s(pid: int) -> float:
    """Processor seconds that a process has used, system time included."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def rss_mb(pid: int) -> float:
    """Resident memory of a process in MB."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def measure(
    words: tuple[str, ...], shown: bytes, size: tuple[int, int], s: float
) -> str:
    """Percent of a core, and kB/s written, over some seconds."""
    with Pty(*words, cells=size[0], lines=size[1]) as terminal:
        terminal.read_until(shown)
        terminal.read(2.0)
        before, begin = cpu_s(terminal.pid), time.perf_counter()
        count = 0
        while (left := s - (time.perf_counter() - begin)) > 0:
            count += len(terminal.read(min(left, 0.5)))
        took = time.perf_counter() - begin
        used = cpu_s(terminal.pid) - before
        memory = rss_mb(terminal.pid)
    share, rate = 100 * used / took, count / took / 1000
    return f"{share:.1f} % of a core, {rate:.1f} kB/s, {memory:.0f} MB resident"


def main() -> int:
    """Measure each screen, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=20.0)
    seconds = parser.parse_args().seconds
    print(load_text())
    with bench_home() as home:
        where = ("--home", str(home))
        for size in SIZES:
            words = (*PROGRAM, "run", "long", *where)
            print(f"floor at {size}:", measure(words, b"NOW", size, seconds))
        room = (*PROGRAM, *where)
        print("circuits room idle:", measure(room, b"Circuits", (120, 40), seconds))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
