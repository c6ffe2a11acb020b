"""Two thousand sessions with random keys; what the suite does with 224.

By hand:  PYTHONPATH=src:. python -m tests.bench.soak --soaks 2000 --at-once 2
Ends with status 1 if one of them ended but by a key or complete.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.bench.figures import load_text
from tests.support.soaking import SOAK_S, soak

EACH = 50
"""How many are between one interim report and the next."""


def main() -> int:
    """Soak, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--soaks", type=int, default=2_000)
    parser.add_argument("--at-once", type=int, default=2)
    parser.add_argument("--seed", type=int, default=10_000)
    parser.add_argument("--seconds", type=float, default=SOAK_S)
    chosen = parser.parse_args()
    print(load_text())
    seeds = range(chosen.seed, chosen.seed + chosen.soaks)
    bad = 0
    endings: Counter[str] = Counter()
    kills = 0
    with (
        tempfile.TemporaryDirectory(prefix="ws-") as folder,
        ThreadPoolExecutor(chosen.at_once) as pool,
    ):
        jobs = {
            seed: pool.submit(soak, Path(folder) / f"{seed}", seed, chosen.seconds)
            for seed in seeds
        }
        for seed, job in jobs.items():
            try:
                outcome = job.result()
            except Exception as error:  # noqa: BLE001 - one of many: named below
                bad += 1
                print(f"seed {seed}: {type(error).__name__}: {error}", flush=True)
                continue
            endings[f"{outcome.mode} {outcome.ending}"] += 1
            kills += outcome.kills
            if outcome.wrong:
                bad += 1
                print(f"seed {seed}: {'; '.join(outcome.wrong)}", flush=True)
            done = sum(endings.values())
            if done % EACH == 0:
                print(f"{done} so far, {bad} not as promised", load_text(), flush=True)
    print(f"{chosen.soaks} soaks, {kills} killed and resumed: {dict(endings)}")
    print(f"{bad} not as promised")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
