"""One durable append of a journal line, beside a bare write and flush.

By hand:  PYTHONPATH=src python -m tests.bench.append --lines 400 --folder DIR
The folder decides which disk is measured; without it, the one for temporary files.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from pathlib import Path

from tests.bench.figures import load_text, quantile, spread

from whistlestop.store.journal.writer import JournalWriter

LINE = {"k": "seen", "t": 123_456, "wall": "2031-04-12T06:15:02.123+02:00"}


def main() -> int:
    """Append in turn, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lines", type=int, default=400)
    parser.add_argument("--folder", type=Path, default=None)
    chosen = parser.parse_args()
    print(load_text())
    ours: list[float] = []
    bare: list[float] = []
    put: list[float] = []
    with tempfile.TemporaryDirectory(prefix="ws-", dir=chosen.folder) as folder:
        path = Path(folder) / "2031" / "20310412T061502Z-3f9a.jsonl"
        writer = JournalWriter(path, clock=time.monotonic, first={"k": "start", "t": 0})
        writer.flush(10)
        fd = os.open(Path(folder) / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        for _ in range(chosen.lines):
            begin = time.perf_counter()
            writer.put(LINE)
            put.append((time.perf_counter() - begin) * 1000)
            writer.flush(10)
            ours.append((time.perf_counter() - begin) * 1000)
            begin = time.perf_counter()
            os.write(fd, b"x" * 120 + b"\n")
            os.fdatasync(fd)
            bare.append((time.perf_counter() - begin) * 1000)
        os.close(fd)
        writer.close(10)
    print("what the caller waits for:", spread(put, "ms"))
    print("durable:", spread(ours, "ms"))
    print("bare write and flush:", spread(bare, "ms"))
    print(f"ratio of the medians: {quantile(ours, 0.5) / quantile(bare, 0.5):.2f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
