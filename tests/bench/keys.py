"""From a key press to the first byte of what it changed, on a pty.

By hand:  PYTHONPATH=src python -m tests.bench.keys --presses 100
Pause and resume in turn; between presses the screen is left to settle.
"""

from __future__ import annotations

import argparse
import time

from tests.bench.figures import bench_home, load_text, spread
from tests.support.processes import PROGRAM
from tests.support.terminal import Pty


def main() -> int:
    """Press, time, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--presses", type=int, default=100)
    presses = parser.parse_args().presses
    print(load_text())
    found: list[float] = []
    with bench_home() as home:
        with (home / "config.toml").open("a") as config:
            config.write("[session]\ncount_in_s = 0\n")
        words = (*PROGRAM, "run", "long", "--home", str(home))
        with Pty(*words, cells=120, lines=40) as terminal:
            terminal.read_until(b"NOW  1")
            terminal.read(1.5)
            for turn in range(presses):
                terminal.read(0.35)
                shown = b"The clock stands" if turn % 2 == 0 else b"next"
                begin = time.perf_counter()
                terminal.write(b" ")
                got = b""
                while shown not in got:
                    got += terminal.read(0.001)
                found.append((time.perf_counter() - begin) * 1000)
    print("key to bytes:", spread(found, "ms"))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
