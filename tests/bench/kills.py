"""Kills at random moments, sound on, both modes, with both cores taken by others.

By hand:  PYTHONPATH=src python -m tests.bench.kills --kills 1000 --at-once 4
What the suite asserts of sixty, and that each goes on at most 1,000 ms before the
kill. Ends with status 1 if one of them is not as promised.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.bench.figures import busy, load_text, spread
from tests.terminal.killing import Killed, judge, kill_one

EACH = 50
"""How many are between one interim report and the next."""


def main() -> int:
    """Kill, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=1_000)
    parser.add_argument("--at-once", type=int, default=4)
    parser.add_argument("--busy", type=int, default=2, help="processes beside them")
    parser.add_argument("--most-s", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1_000)
    chosen = parser.parse_args()
    seeds = range(chosen.seed, chosen.seed + chosen.kills)
    with tempfile.TemporaryDirectory(prefix="ws-") as folder, busy(chosen.busy):

        def one(seed: int) -> Killed | str:
            home = Path(folder) / f"home-{seed}"
            try:
                return kill_one(home, seed, most_s=chosen.most_s)
            except Exception as error:  # noqa: BLE001 - one of a thousand: named below
                return f"{type(error).__name__}: {error}"
            finally:
                shutil.rmtree(home, ignore_errors=True)

        print(load_text())
        found = {}
        with ThreadPoolExecutor(chosen.at_once) as pool:
            for seed, kill in zip(seeds, pool.map(one, seeds), strict=True):
                found[seed] = kill
                if len(found) % EACH == 0:
                    _report(found)
        print(load_text())
    return _report(found)


def _report(found: dict[int, Killed | str]) -> int:
    kills = {seed: kill for seed, kill in found.items() if isinstance(kill, Killed)}
    wrong = {seed: judge(kill, in_time=True) for seed, kill in kills.items()}
    wrong |= {seed: [one] for seed, one in found.items() if isinstance(one, str)}
    resumed = [kill for kill in kills.values() if kill.resumed_ms is not None]
    if resumed:
        print("lost before the kill:", spread([k.lost_ms for k in resumed], "ms"))
    print(
        f"answers read: {sum(k.answered for k in kills.values())}; "
        f"not in the journal: {sum(k.missing for k in kills.values())}"
    )
    for seed, words in wrong.items():
        if words:
            print(f"seed {seed}: {'; '.join(words)}")
    bad = sum(bool(words) for words in wrong.values())
    ended = len(kills) - len(resumed)
    print(
        f"{len(found)} kills, {ended} after the end, {bad} not as promised", flush=True
    )
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
