"""Two hundred kills at random moments; what test_kill.py asserts of twenty.

By hand:  PYTHONPATH=src python -m tests.bench.kill_200 --kills 200
Ends with status 1 if one of them is not as promised.
"""

from __future__ import annotations

import argparse
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.bench.figures import load_words, spread
from tests.terminal.killing import judge, kill_one


def main() -> int:
    """Kill, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--at-once", type=int, default=6)
    parser.add_argument("--seed", type=int, default=1_000)
    chosen = parser.parse_args()
    print(load_words())
    seeds = range(chosen.seed, chosen.seed + chosen.kills)
    with (
        tempfile.TemporaryDirectory(prefix="ws-") as folder,
        ThreadPoolExecutor(chosen.at_once) as pool,
    ):
        homes = [Path(folder) / f"home-{seed}" for seed in seeds]
        kills = list(pool.map(kill_one, homes, seeds))
    lost = [kill.least_ms - kill.resumed_ms for kill in kills]
    wrong = {seed: judge(kill) for seed, kill in zip(seeds, kills, strict=True)}
    print("lost before the kill:", spread(lost, "ms"))
    print(
        f"answers read: {sum(k.answered for k in kills)}; "
        f"not in the journal: {sum(k.missing for k in kills)}, "
        f"of which read in the last second: {sum(k.fresh for k in kills)}"
    )
    for seed, words in wrong.items():
        if words:
            print(f"seed {seed}: {'; '.join(words)}")
    bad = sum(bool(words) for words in wrong.values())
    print(f"{len(kills)} kills, {bad} not as promised")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
