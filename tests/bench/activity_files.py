"""Activity files read: three hours at a second each, and the worst of damaged ones.

By hand:  PYTHONPATH=src:. python -m tests.bench.activity_files --damaged 200
Processor time and the most memory of this process; ends with status 1 if a damaged
file takes 5 s or the process more than 300 MB.
"""

from __future__ import annotations

import argparse
import io
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from tests.bench.figures import load_text

from whistlestop.engine.clock import SystemClock
from whistlestop.review.activities.activity import Deadline
from whistlestop.review.activities.reading import read_activities

NOW = datetime(2031, 6, 1, tzinfo=UTC)
MOST_S = 5.0
MOST_MB = 300


def seconds_of(data: bytes) -> float:
    """Processor seconds to read a file to its end."""
    clock = SystemClock()
    deadline = Deadline(lambda: clock.read().awake_ms)
    begin = time.process_time()
    list(read_activities(io.BytesIO(data), deadline, NOW))
    return time.process_time() - begin


def peak_mb() -> float:
    """The greatest resident size of this process so far, in MB; Linux alone says.

    Not `getrusage`: that of a child begins with what its parent had.
    """
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(x.split()[1]) for x in lines if x.startswith("VmHWM")) / 1000


def make(folder: Path, count: int) -> None:
    """Write the files; what writes them takes more memory than what reads them."""
    from tests.review.activities.test_hostile_files import (
        damaged,
        with_right_checksums,
        zipped,
    )
    from tests.support.activity_files import Recorded, fit_file, gpx_file

    start = datetime(2031, 5, 12, 7, tzinfo=UTC)
    long = Recorded(start, [(0, 10_800)], [(second, 140) for second in range(10_801)])
    fit, gpx = fit_file(long), gpx_file(long)
    (folder / "FIT of 3 h at 1 s").write_bytes(fit)
    (folder / "GPX of 3 h at 1 s").write_bytes(gpx)
    for seed in range(count):
        bad = damaged(fit, seed)
        (folder / f"damaged {seed} a").write_bytes(bad)
        (folder / f"damaged {seed} b").write_bytes(with_right_checksums(bad))
        (folder / f"damaged {seed} c").write_bytes(damaged(gpx, seed))
        both = zipped(("a.fit", bad), ("b.gpx", gpx))
        (folder / f"damaged {seed} d").write_bytes(both)


def read_all(folder: Path) -> int:
    """Read what lies there, and print what it took."""
    worst = 0.0
    paths = sorted(folder.iterdir())
    for path in paths:
        took = seconds_of(path.read_bytes())
        if not path.name.startswith("damaged"):
            print(f"{path.name}, {path.stat().st_size / 1000:.0f} kB: {took:.2f} s")
        worst = max(worst, took)
    print(f"{len(paths)} files: worst {worst:.2f} s, at most {peak_mb():.0f} MB")
    return int(worst >= MOST_S or peak_mb() > MOST_MB)


def main() -> int:
    """Make the files, and read them in a process of its own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--damaged", type=int, default=200)
    parser.add_argument("--read", type=Path)
    arguments = parser.parse_args()
    if arguments.read is not None:
        return read_all(arguments.read)
    print(load_text(), flush=True)
    with tempfile.TemporaryDirectory() as folder:
        make(Path(folder), arguments.damaged)
        command = [sys.executable, "-m", "tests.bench.activity_files", "--read", folder]
        return subprocess.run(command, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
