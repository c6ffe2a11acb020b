"""`sounds`: what each tone says, how sound stands, a session heard ahead of time."""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import Final

from whistlestop.cli.output import remark, say, say_json
from whistlestop.domain.columns import table
from whistlestop.domain.duration import clock
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.audio_factory import wait_until_ready
from whistlestop.driver.services import Services
from whistlestop.errors import UsageError
from whistlestop.sound.cues import TONES
from whistlestop.sound.rendering import render_wav
from whistlestop.sound.soundtrack import Heard, Layer
from whistlestop.sound.synth import read_wav

READY_WAIT_S: Final = 8.0
VOICE_WAIT_S: Final = 60.0
BETWEEN_S: Final = 0.7
LEVEL_WORDS: Final = (
    "Stand or lie where you train, with fan, rope or music on, and run",
    "`sounds check` again: you should tell every tone apart without effort. If not,",
    "move the speaker nearer before turning it up. Turn music down in its own program.",
    "Keep it below 85 dB(A) at the ear for long sessions (NIOSH: 8 h at 85, half",
    "the time for each 3 dB more). With headphones, start low and leave one ear free.",
)


def sounds(arguments: argparse.Namespace) -> int:
    """List, check or render."""
    services = Services(getattr(arguments, "home", None))
    for problem in services.audio.own_tones().problems:
        remark(problem)
    match arguments.what:
        case "check":
            return _check(services)
        case "render":
            return _render(services, arguments)
        case _:
            return _list(arguments)


def _list(arguments: argparse.Namespace) -> int:
    if arguments.json:
        say_json(
            [
                {"cue": c.name, "meaning": c.meaning, "length_ms": c.length_ms}
                for c in TONES.values()
            ]
        )
        return 0
    rows = [["tone", "length", "meaning"]]
    tones = TONES.values()
    rows += [[c.name, f"{c.length_ms} ms", c.meaning] for c in tones]
    say(*table(rows))
    return 0


def _check(services: Services) -> int:
    port = services.audio.port()
    try:
        if not wait_until_ready(port, READY_WAIT_S):
            say(f"no sound: {port.status().detail or 'no sound device found'}")
            say("The session still runs; the terminal bell rings instead.")
            return 1
        status = port.status()
        say(f"sound by {status.backend}, {status.latency_ms} ms to the ear")
        voice = services.audio.voice()
        say(voice.status.detail)
        voice.close()
        for cue in TONES.values():
            say(f"  {cue.name}: {cue.meaning}")
            port.now(cue.name)
            time.sleep(cue.length_ms / 1000 + BETWEEN_S)
        say(*LEVEL_WORDS)
    finally:
        port.close()
    return 0


def _render(services: Services, arguments: argparse.Namespace) -> int:
    if arguments.circuit is None:
        raise UsageError("sounds render needs a circuit")
    plan = compile_plan(services.circuits.read(arguments.circuit))
    track, phrases = services.audio.whole_soundtrack(plan, wait_s=VOICE_WAIT_S)
    heard = track.whole(plan)
    if arguments.list:
        _tell(heard, as_json=arguments.json)
    if arguments.out is None:
        if not arguments.list:
            raise UsageError("sounds render needs a file to write, or --list")
        return 0
    tones = services.audio.tone_files()
    samples = {name: read_wav(path) for name, path in tones.items()}
    samples |= {phrase.id: read_wav(phrase.path) for phrase in phrases.values()}
    count = render_wav(Path(arguments.out), heard, samples, length_ms=plan.total_ms)
    remark(f"{count} sounds, {clock(plan.total_ms)}, written to {arguments.out}")
    return 0


def _tell(heard: tuple[Heard, ...], *, as_json: bool) -> None:
    if as_json:
        say_json(
            [
                {
                    "at_ms": one.at_ms,
                    "layer": one.layer.name.lower(),
                    "name": one.name,
                    "length_ms": one.length_ms,
                }
                for one in heard
            ]
        )
        return
    words = {Layer.CUE: "tone", Layer.PACING: "pace", Layer.VOICE: "says"}
    for one in heard:
        name = f'"{one.name}"' if one.layer is Layer.VOICE else one.name
        say(f"{one.at_ms / 1000:9.3f}  {words[one.layer]}  {name}")
