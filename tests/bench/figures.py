"""Small things the benches share: quantiles, the load of the machine, a home."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from tests.support.processes import LONG_CIRCUIT, put_circuit, quiet_home


def quantile(values: Sequence[float], share: float) -> float:
    """The nearest-rank quantile of some values."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def spread(values: Sequence[float], unit: str) -> str:
    """Median, p95, p99 and greatest of some values, in words."""
    shares = (("p50", 0.5), ("p95", 0.95), ("p99", 0.99))
    named = [f"{name} {quantile(values, share):.2f}" for name, share in shares]
    return f"{', '.join(named)}, max {max(values):.2f} {unit} (n = {len(values)})"


def load_text() -> str:
    """How busy the machine is with other things."""
    return f"load {os.getloadavg()[0]:.2f} on {os.cpu_count()} cores"


_BUSY: Final = """\
import os, sys
parent = int(sys.argv[1])
while os.getppid() == parent:
    for _ in range(1_000_000):
        pass
"""


@contextmanager
def busy(count: int) -> Iterator[None]:
    """Processes that compute without a rest beside what is measured.

    They end with the block; and by themselves where the bench is killed.
    """
    words = [sys.executable, "-c", _BUSY, str(os.getpid())]
    running = [subprocess.Popen(words) for _ in range(count)]
    try:
        yield
    finally:
        for one in running:
            one.kill()
        for one in running:
            one.wait()


@contextmanager
def bench_home() -> Iterator[Path]:
    """A home that is gone afterwards: sound off, notice read, one long circuit."""
    with tempfile.TemporaryDirectory(prefix="ws-") as folder:
        home = quiet_home(Path(folder))
        put_circuit(home, "long", LONG_CIRCUIT)
        (home / "state").mkdir()
        read = 'notice_acknowledged = "2031-04-12T06:15:02+02:00"\n'
        (home / "state" / "remembered.toml").write_text(read)
        yield home
