"""How exactly tones are heard: against the clock, through a private sound server.

By hand:  PYTHONPATH=src python -m tests.bench.cue_timing --runs 5
          PYTHONPATH=src python -m tests.bench.cue_timing --only idle --cues 1200
          PYTHONPATH=src python -m tests.bench.cue_timing --only screen \
              --circuit first-stop --runs 1
Conditions: idle; thread (a busy thread beside the port); screen (the program itself
on a terminal of 160 by 50, its Floor repainting); cores (both kept busy by others).
Errors are about each run's median; a sink that plays into nothing is no loudspeaker.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.bench.figures import load_text
from tests.sound.finding import find
from tests.sound.sound_server import SoundServer, StampedRecorder
from tests.sound.waiting import until
from tests.support.processes import PROGRAM, put_circuit
from tests.support.terminal import Pty

from whistlestop.domain.plan.timeline import compile_plan, plan_document
from whistlestop.driver.services import Services
from whistlestop.sound import open_sound
from whistlestop.sound.cues import TONES
from whistlestop.sound.port import PlannedCue
from whistlestop.sound.synth import RATE_HZ, render

CONDITIONS = ("idle", "thread", "screen", "cores")
WAVES = {name: np.array(render(cue), dtype=float) for name, cue in TONES.items()}
LOST_BELOW, CUT_BELOW = 0.5, 0.98
# 5 cues each 9 s: a hundred in three minutes.
SCREEN_CIRCUIT = """\
format = 1
name = "Bench"
loops = 10
work = "5 s"
recover = "4 s"
last_recover = "keep"
get_ready = "10 s"
[[station]]
exercise = "goblet-squat"
[[station]]
exercise = "push-up"
"""
SETTINGS = """\
[sound]
engine = "pulse"
volume = 100
voice = false
pacing = false
"""
READ = 'notice_acknowledged = "2031-04-12T06:15:02+02:00"\n'


@dataclass(frozen=True)
class Run:
    """What one run came to; errors in ms about the run's median."""

    times_s: np.ndarray
    errors_ms: np.ndarray
    lost: int
    cut: int
    extra: int

    @property
    def worst_ms(self) -> float:
        return float(np.max(np.abs(self.errors_ms)))

    def words(self) -> str:
        """One line."""
        slope = np.polyfit(self.times_s / 60, self.errors_ms, 1)[0]
        return (
            f"lost {self.lost}, cut short {self.cut}, extra {self.extra}; "
            f"worst {self.worst_ms:.2f} ms, sd {np.std(self.errors_ms):.2f} ms, "
            f"trend {slope:+.2f} ms a minute (n = {self.errors_ms.size})"
        )


def judge(recorder: StampedRecorder, wanted: list[tuple[float, str]]) -> Run:
    """Compare a recording with what was wanted: monotonic seconds and names."""
    heard = recorder.samples()
    start_s, frame_s = recorder.seconds()
    times, errors, lost, cut = [], [], 0, 0
    for at_s, name in wanted:
        wave = WAVES[name]
        frame, score = find(heard, wave, round((at_s - start_s) / frame_s))
        if score < LOST_BELOW:
            lost += 1
            continue
        cut += score < CUT_BELOW
        times.append(at_s)
        errors.append((start_s + frame * frame_s - at_s) * 1000)
        heard[frame : frame + wave.size] = 0
    left = np.flatnonzero(np.abs(heard) > 50)
    extra = int(np.sum(np.diff(left) > RATE_HZ // 20)) + 1 if left.size else 0
    off = np.array(errors) - np.median(errors)
    return Run(np.array(times) - times[0], off, lost, cut, extra)


@contextmanager
def loaded(condition: str) -> Iterator[None]:
    """Keep this process or the machine busy meanwhile."""
    stop = threading.Event()
    others: list[subprocess.Popen[bytes]] = []
    if condition == "thread":
        threading.Thread(target=_spin, args=(stop,), daemon=True).start()
    if condition == "cores":
        spin = [sys.executable, "-c", "while True: pass"]
        others = [subprocess.Popen(spin) for _ in range(os.cpu_count() or 2)]
    try:
        yield
    finally:
        stop.set()
        for other in others:
            other.kill()
            other.wait()


def _spin(stop: threading.Event) -> None:
    number = 0
    while not stop.is_set():
        number += 1


def planned_run(server: SoundServer, condition: str, cues: int, engine: str) -> Run:
    """Cues half a second apart, up to 50 ms off, handed over two seconds ahead."""
    rng = random.Random(cues)
    recorder = StampedRecorder(server)
    port = open_sound(engine, log_path=None, volume=100)
    try:
        until(lambda: port.status().state == "ok")
        with loaded(condition):
            begin_s = time.monotonic() + 3
            wanted = [
                (begin_s + n / 2 + rng.uniform(-0.05, 0.05), "count")
                for n in range(cues)
            ]
            for number, (at_s, name) in enumerate(wanted):
                time.sleep(max(0.0, at_s - 2 - time.monotonic()))
                port.plan(0, [PlannedCue(f"c{number}", at_s, name)])
            time.sleep(max(0.0, wanted[-1][0] + 1 - time.monotonic()))
    finally:
        port.close()
    return judge(recorder, wanted)


def screen_run(server: SoundServer, circuit: str) -> Run:
    """The program on a terminal, its tones against its plan."""
    with tempfile.TemporaryDirectory(prefix="ws-") as folder:
        home = Path(folder)
        (home / "config.toml").write_text(SETTINGS)
        (home / "state").mkdir()
        (home / "state" / "remembered.toml").write_text(READ)
        put_circuit(home, "bench", SCREEN_CIRCUIT)
        plan = compile_plan(Services(home).circuit(circuit))
        cues = [
            (cue["at_ms"] / 1000, cue["cue"])
            for segment in plan_document(plan)["segments"]  # type: ignore[attr-defined]
            for cue in segment["cues"]
        ]
        recorder = StampedRecorder(server)
        words = (*PROGRAM, "run", circuit, "--home", str(home))
        with Pty(
            *words,
            cells=160,
            lines=50,
            PULSE_SERVER=server.address,
            TERM="xterm-256color",
        ) as terminal:
            begun = time.monotonic()
            while time.monotonic() - begun < plan.total_ms / 1000 + 20:
                terminal.read(0.5)
        heard = recorder.samples()
        start_s, frame_s = recorder.seconds()
        onset = int(np.flatnonzero(np.abs(heard) > 50)[0])
        first_s = start_s + onset * frame_s - cues[0][0]
        return judge(recorder, [(first_s + at_s, name) for at_s, name in cues])


def main() -> int:
    """Run each condition some times, print each run and the summary."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--cues", type=int, default=100)
    parser.add_argument("--only", choices=CONDITIONS)
    parser.add_argument("--circuit", default="bench")
    parser.add_argument("--engine", default="pulse")
    asked = parser.parse_args()
    print(load_text())
    with tempfile.TemporaryDirectory(prefix="ws-") as folder:
        server = SoundServer(Path(folder))
        os.environ["PULSE_SERVER"] = server.address
        try:
            for condition in (asked.only,) if asked.only else CONDITIONS:
                runs = []
                for number in range(asked.runs):
                    if condition == "screen":
                        runs.append(screen_run(server, asked.circuit))
                    else:
                        runs.append(
                            planned_run(server, condition, asked.cues, asked.engine)
                        )
                    print(f"{condition} {number + 1}: {runs[-1].words()}", flush=True)
                worst = [run.worst_ms for run in runs]
                print(
                    f"{condition}: median of worst errors {np.median(worst):.2f} ms, "
                    f"worst of all {max(worst):.2f} ms",
                    flush=True,
                )
        finally:
            server.stop()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
