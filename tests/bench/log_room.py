"""The Log room over ten years beside the Log room over a month: ratio, memory.

By hand:  PYTHONPATH=src:. python -m tests.bench.log_room --folder DIR
Makes the histories where DIR does not hold them. Each is opened by its key in the
real application, in processes of their own taken in turn. The index is warm. The room
is open once its first rows, the newest weeks, are painted and its keys act; the rest
of the log is read behind them. Ends with status 1 if at 2,000 sessions that takes more
than twice the time with 20. The first opening of a process is told apart.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.bench.figures import load_text, quantile
from tests.bench.log_scale import GATED, MOST_RATIO, history, run
from tests.support.processes import environment
from tests.support.rooms_app import texts, whole

from whistlestop.driver.services import Services
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.rooms.log.room import LogRoom

SIZE = (120, 40)
Times = dict[str, float]


async def openings(home: Path, rounds: int) -> list[Times]:
    """Milliseconds from the key to the first rows, and to the whole log painted."""
    services = Services(home)
    services.memory.acknowledge_notice()
    app = WhistlestopApp(services)
    found: list[Times] = []
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        await app.workers.wait_for_complete()
        for _ in range(rounds):
            begin = time.perf_counter()
            app.open_log()
            rows = await _until(begin, lambda: _shows_rows(app))
            whole = await _until(begin, lambda: _is_whole(app))
            found.append({"first rows": rows, "whole log": whole})
            app.pop_screen()
            await pilot.pause()
    return found


async def _until(begin: float, is_so: Callable[[], bool]) -> float:
    while not is_so():  # noqa: ASYNC110 - what is on screen sets no event
        await asyncio.sleep(0.001)
    return (time.perf_counter() - begin) * 1000


def _room(app: WhistlestopApp) -> LogRoom | None:
    return app.screen if isinstance(app.screen, LogRoom) else None


def _shows_rows(app: WhistlestopApp) -> bool:
    room = _room(app)
    if room is None or not room.is_mounted or not room.items:
        return False
    return room.items[0].name in whole(app)


def _is_whole(app: WhistlestopApp) -> bool:
    room = _room(app)
    if room is None or not room.is_whole:
        return False
    return "reading on" not in texts(app)[0]


def main() -> int:
    """Measure each, in turn, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sessions", type=int, nargs="+", default=[20, 2_000])
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--turns", type=int, default=3, help="processes of each")
    parser.add_argument("--rounds", type=int, default=12, help="openings in each")
    parser.add_argument("--one", type=Path, default=None, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        found = asyncio.run(openings(chosen.one, chosen.rounds))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        unit = 1 if sys.platform == "darwin" else 1024
        print(json.dumps({"times": found, "mb": peak * unit / 1e6}))
        return 0
    print(load_text())
    with tempfile.TemporaryDirectory(prefix="ws-") as temporary:
        folder = chosen.folder or Path(temporary)
        homes = {n: history(folder, n, seen=False) for n in chosen.sessions}
        for home in homes.values():
            run(home, "log", "--all")  # warms the index
        return _compare(homes, chosen.turns, chosen.rounds)


def _compare(homes: dict[int, Path], turns: int, rounds: int) -> int:
    times: dict[int, list[Times]] = {count: [] for count in homes}
    memory: dict[int, float] = dict.fromkeys(homes, 0.0)
    for _ in range(turns):
        for count, home in homes.items():
            answer = _one(home, rounds)
            first, *later = answer["times"]
            times[count] += [
                {**each, "first of a process": first["first rows"]} for each in later
            ]
            memory[count] = max(memory[count], answer["mb"])
    worst = 0.0
    for what in ("first rows", "first of a process", "whole log"):
        medians = {n: quantile([t[what] for t in f], 0.5) for n, f in times.items()}
        least = medians[min(medians)]
        sentences = [f"{n}: {t:.0f} ms ({t / least:.2f} x)" for n, t in medians.items()]
        print(f"{what}: {'; '.join(sentences)}")
        ratios = [m / least for n, m in medians.items() if n <= GATED]
        worst = max(worst, *ratios) if what == "first rows" else worst
    print("memory: " + "; ".join(f"{n}: {mb:.0f} MB" for n, mb in memory.items()))
    return 1 if worst > MOST_RATIO else 0


def _one(home: Path, rounds: int) -> dict:
    words = ["-m", "tests.bench.log_room", "--one", str(home), "--rounds", str(rounds)]
    done = subprocess.run(
        [sys.executable, *words], env=environment(), capture_output=True, check=True
    )
    return json.loads(done.stdout.splitlines()[-1])


if __name__ == "__main__":
    raise SystemExit(main())
