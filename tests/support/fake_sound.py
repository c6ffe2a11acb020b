"""A fake device and a fake voice in the place of the real ones.

As a module it is the program itself with them:
`python -m tests.support.fake_sound run short --home DIR`.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from pathlib import Path

from tests.support.recording_sound import RecordingSound

from whistlestop.driver import audio_factory as sounding
from whistlestop.sound.voice import Phrase, VoiceStatus

# Sentences become ready one after another, as they do with a real voice.
AT_A_TIME = 7


class FakeVoice:
    """Renders some more sentences each time it is looked at."""

    status = VoiceStatus("command", "en-gb", "A fake voice.")

    def __init__(self) -> None:
        self._wanted: dict[str, None] = {}
        self._ready: dict[str, Phrase] = {}

    def start(self, texts: Iterable[str]) -> None:
        self._wanted |= dict.fromkeys(texts)

    def ready(self) -> Mapping[str, Phrase]:
        waiting = [text for text in self._wanted if text not in self._ready]
        for text in waiting[:AT_A_TIME]:
            number = len(self._ready)
            self._ready[text] = Phrase(
                f"say-{number}", text, Path(f"{number}.wav"), 60 * len(text)
            )
        return dict(self._ready)

    def close(self) -> None:
        pass


def fake_port(*_: object, **__: object) -> RecordingSound:
    return RecordingSound()


def fake_voice(*_: object, **__: object) -> FakeVoice:
    return FakeVoice()


FAKES = {"open_sound": fake_port, "open_voice": fake_voice}


def main() -> int:
    """Run the program with the fakes in it."""
    for name, fake in FAKES.items():
        setattr(sounding, name, fake)
    from whistlestop.cli.main import main as program

    return program(sys.argv[1:])


if __name__ == "__main__":
    raise SystemExit(main())
