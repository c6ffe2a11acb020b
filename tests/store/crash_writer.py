"""A child process that writes a journal until it is killed, or until it is full.

crash_writer.py write PATH [append]   puts lines without end; prints each
                                      sequence number after it is durable
crash_writer.py full PATH             runs into a file size limit, has it
                                      lifted, and prints what it saw as JSON
"""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path

from whistlestop.store.journal.writer import JournalWriter

LIMIT_BYTES = 3_000


def acknowledge(sequence: int) -> None:
    os.write(1, b"%d\n" % sequence)


def write_without_end(path: Path, *, append: bool) -> None:
    first = {"k": "gap" if append else "start", "t": 0}
    writer = JournalWriter(
        path, clock=time.monotonic, first=first, append=append, on_saved=acknowledge
    )
    number = 0
    while True:
        number += 1
        sequence = writer.put({"k": "seen", "t": number, "pad": "x" * (number % 300)})
        # Now in batches, now one by one.
        if number % 3 == 0 and not writer.flush(20):
            raise SystemExit(f"line {sequence} was not kept")


def run_full(path: Path) -> None:
    import resource

    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (LIMIT_BYTES, hard))
    writer = JournalWriter(path, clock=time.monotonic, first={"k": "start", "t": 0})
    kept = 0
    for number in range(1, 100):
        kept = writer.put({"k": "seen", "t": number, "pad": "é" * 50})
        if not writer.flush(0.5):
            break
    # The session goes on although the disk takes nothing.
    last = [writer.put({"k": "effort", "loop": 1, "v": 6.5}) for _ in range(20)][-1]
    full = writer.state()
    size_when_full = path.stat().st_size
    lines_when_full = path.read_bytes().count(b"\n")
    whole_when_full = path.read_bytes().endswith(b"\n")
    resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
    closed = writer.close(20)
    print(
        json.dumps(
            {
                "first_refused": kept,
                "last": last,
                "kept_when_full": full.saved,
                "error_when_full": full.error,
                "size_when_full": size_when_full,
                "lines_when_full": lines_when_full,
                "whole_when_full": whole_when_full,
                "closed": closed,
                "error_after": writer.state().error,
                "acknowledged": writer.acknowledged,
            }
        )
    )


if __name__ == "__main__":
    if sys.argv[1] == "write":
        write_without_end(Path(sys.argv[2]), append="append" in sys.argv[3:])
    else:
        run_full(Path(sys.argv[2]))
