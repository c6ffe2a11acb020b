"""How late the engine's side is: a session on the real clock, ticked as a driver does.

By hand:  PYTHONPATH=src python -m tests.bench.lateness --seconds 60
What is late here is line and screen; tones are planned ahead and are not moved by it.
The second figure is how far ahead of its time each tone was handed to the player.
"""

from __future__ import annotations

import argparse
import time

from tests.bench.figures import load_text, spread
from tests.support.clock import ListJournal
from tests.support.plans import plan, station
from tests.support.recording_sound import RecordingSound

from whistlestop.driver.session import Options, Session
from whistlestop.engine.clock import SystemClock
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import CueDue
from whistlestop.sound.port import PlannedCue

TICK_S = 0.1


class StampedSound(RecordingSound):
    """Remembers when each cue was handed over."""

    def __init__(self) -> None:
        super().__init__()
        self.ahead_s: dict[str, float] = {}

    def plan(self, epoch: int, cues: list[PlannedCue]) -> None:  # type: ignore[override]
        now = time.monotonic()
        for cue in cues:
            self.ahead_s.setdefault(cue.id, cue.at_s - now)
        super().plan(epoch, cues)


def main() -> int:
    """Run, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    seconds = parser.parse_args().seconds
    print(load_text())
    sound = StampedSound()
    stations = (station(1), station(2), station(3))
    clock = SystemClock()
    session = Session(
        Engine(plan(*stations, work_ms=5_000, recover_ms=4_000, loops=20)),
        clock=clock,
        journal=ListJournal(),
        sound=sound,
        options=Options(),
    )
    late: list[float] = []
    session.begin()
    end_s = time.monotonic() + seconds
    while time.monotonic() < end_s and not session.is_over:
        due = session.engine.next_due()
        wait = TICK_S if due is None else (due - session.now_ms) / 1000
        time.sleep(max(0.0, min(TICK_S, wait)))
        happened = session.tick()
        now = session.now_ms
        late += [float(now - e.t_ms) for e in happened if isinstance(e, CueDue)]
    print("late:", spread(late, "ms"))
    early = sorted(sound.ahead_s.values())
    print(f"handed over ahead by: least {early[0]:.2f}, median ", end="")
    print(f"{early[len(early) // 2]:.2f} s (n = {len(early)}; the first cues of all")
    print("of a session are near: they are handed over as it begins)")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
