"""Stands in for the helper process; how it behaves is its first argument.

Appends each line it is told to the file named second. With no audio library in
reach, so that the port's own behaviour is what is tested.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path


def main() -> None:
    behaviour, log = sys.argv[1], Path(sys.argv[2])

    def say(text: str) -> None:
        print(text, flush=True)

    with log.open("a") as file:
        file.write(f"START {os.getpid()}\n")
    if behaviour == "no-library":
        say("lost The audio library cannot be used: none")
        sys.exit(4)
    if behaviour == "dies-at-once":
        sys.exit(1)
    if behaviour != "mute":
        say("ready Fake_Audio 44100 66")
    if behaviour == "garbage":
        sys.stdout.buffer.write(b"\xff\xfe\x00nonsense\nplayed\n" + b"x" * 50_000)
        say("\nplayed 1:g 7")
    for line in sys.stdin:
        with log.open("a") as file:
            file.write(line)
        words = line.split()
        if words[0] == "at" and words[3] != "unanswered":
            say(f"played {words[1]} 4410")
        if words[0] == "now" and behaviour == "dies-on-now":
            os._exit(9)
        if words[0] == "now" and words[1] == "lose":
            say("lost The sound device has stopped.")
        if words[0] == "now" and words[1] == "regain":
            say("ready Fake_Audio 44100 66")
            say("back")
        if words[0] == "quit" and behaviour != "hangs-at-close":
            return
    if behaviour == "hangs-at-close":
        import signal

        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        time.sleep(60)


main()
