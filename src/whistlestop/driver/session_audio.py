"""What a session sounds like now: voice as it becomes ready, and what is switched off.

It brings soundtrack, voice and player together; the session asks it on each
tick whether anything is different.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Protocol

from whistlestop.domain.exercise import DrillInfo
from whistlestop.engine.track import Track
from whistlestop.sound.port import SoundPort
from whistlestop.sound.soundtrack import DrillSounds, Soundtrack
from whistlestop.sound.spoken_pair import Addressee
from whistlestop.sound.voice import Phrase


class Speaker(Protocol):
    """What is needed of a voice; see `sound.voice.Voice`."""

    def start(self, texts: Iterable[str]) -> None:
        """Begin to render sentences in the background."""
        ...

    def ready(self) -> Mapping[str, Phrase]:
        """What is rendered so far, by its text."""
        ...

    def close(self) -> None:
        """End it."""
        ...


@dataclass(frozen=True, slots=True)
class AudioChoices:
    """What the athlete wants to hear beside the cues."""

    voice: bool = True
    pacing: bool = True
    seed: int = 0


def drill_sounds(known: Mapping[str, DrillInfo]) -> DrillSounds:
    """Key points and beats of drills, by id."""
    return DrillSounds(
        key_points={d.id: d.key_point for d in known.values() if d.key_point},
        beats_per_minute={
            d.id: d.metronome_per_minute
            for d in known.values()
            if d.metronome_per_minute
        },
    )


class SessionAudio:
    """Keeps the soundtrack of one session up to date."""

    def __init__(
        self,
        port: SoundPort,
        *,
        choices: AudioChoices,
        drills: DrillSounds,
        voice: Speaker | None = None,
        people: tuple[Addressee, ...] = (),
    ) -> None:
        """Bring them together; nothing is prepared yet.

        `people` are those who do it together, the owner first; none for one alone.
        """
        self._port = port
        self._voice = voice
        self._loaded: dict[str, Phrase] = {}
        self.choices = choices
        self._base = Soundtrack(
            drills=drills, paced=choices.pacing, seed=choices.seed, people=people
        )
        self._soundtrack: Soundtrack | None = None

    def prepare(self, track: Track) -> None:
        """Begin to prepare what may be spoken on a track, if there is a voice.

        Again when something was swapped in it: only what is new takes time.
        """
        if self._voice is not None:
            self._voice.start(self._base.sentences(track.plan, track))

    @property
    def has_voice(self) -> bool:
        """Whether anything can be spoken at all."""
        return self._voice is not None

    def poll(self) -> Soundtrack | None:
        """The soundtrack, if it is another than at the last call; else None."""
        if self._voice is not None and self.choices.voice:
            for text, phrase in self._voice.ready().items():
                if text not in self._loaded:
                    self._port.load(phrase.id, phrase.path)
                    self._loaded[text] = phrase
        phrases = dict(self._loaded) if self.choices.voice else {}
        now = replace(self._base, phrases=phrases, paced=self.choices.pacing)
        if now == self._soundtrack:
            return None
        self._soundtrack = now
        return now

    def switch_voice(self) -> bool:
        """Voice off or on; whether it is on now."""
        self.choices = replace(self.choices, voice=not self.choices.voice)
        return self.choices.voice

    def switch_pacing(self) -> bool:
        """Pacing off or on; whether it is on now."""
        self.choices = replace(self.choices, pacing=not self.choices.pacing)
        return self.choices.pacing

    def close(self) -> None:
        """End the voice."""
        if self._voice is not None:
            self._voice.close()
