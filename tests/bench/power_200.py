"""Two hundred power cuts in line mode and on the Floor; what test_power.py does of 20.

By hand:  PYTHONPATH=src:. python -m tests.bench.power_200 --cuts 200
Each cut is judged twice, by the least and by more of what can be left. Ends with
status 1 if an entry is lost that was said to be safe.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.bench.figures import load_text
from tests.support.power import cuts, floor_session, line_session, lost_by

A_SESSION = 10


def main() -> int:
    """Record, cut, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cuts", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1_000)
    chosen = parser.parse_args()
    print(load_text())
    lost = 0
    for name, session in (("line mode", line_session), ("Floor", floor_session)):
        done = answers = gone = 0
        for seed in range(chosen.seed, chosen.seed + chosen.cuts // 2 // A_SESSION):
            with tempfile.TemporaryDirectory(prefix="ws-") as folder:
                home = Path(folder) / "home"
                steps = session(home, seed)
                answers += sum(step.what == "said" for step in steps)
                for at in cuts(steps, A_SESSION, seed):
                    done += 1
                    for kind, chance in (("least", None), ("more", seed + at)):
                        into = Path(folder) / f"left-{done}-{kind}"
                        gone += lost_by(steps[:at], home, into, chance)
        print(f"{name}: {done} cuts, {answers} times said to be safe, {gone} lost")
        lost += gone
    return 1 if lost else 0


if __name__ == "__main__":
    raise SystemExit(main())
