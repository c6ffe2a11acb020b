"""How sessions sound: player, voice, the user's own tones, and whole soundtracks."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from whistlestop.data import sounds_folder
from whistlestop.domain.exercise import DrillInfo
from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.session_audio import AudioChoices, SessionAudio, drill_sounds
from whistlestop.errors import StoreError
from whistlestop.sound import open_sound
from whistlestop.sound.cues import ALL_TONES
from whistlestop.sound.own import OwnSounds, find_own
from whistlestop.sound.port import SoundPort
from whistlestop.sound.resting import RestingSound
from whistlestop.sound.soundtrack import Soundtrack
from whistlestop.sound.spoken_pair import Addressee
from whistlestop.sound.voice import Phrase, Voice, open_voice
from whistlestop.store.places import Places
from whistlestop.store.settings.values import SoundSettings

SAMPLE: Final = "Next: one-arm row."
_LOOK_S: Final = 0.05


class AudioFactory:
    """Opens what sounds; everything it opens is closed by the caller."""

    def __init__(
        self,
        places: Places,
        settings: SoundSettings,
        drills: Callable[[], Mapping[str, DrillInfo]],
    ) -> None:
        """Prepare; nothing is started, and drills are asked for when they sound."""
        self._places = places
        self._settings = settings
        self._drills = drills

    def port(self) -> SoundPort:
        """Start the player as the settings say; its status says what is wrong."""
        own = self._settings
        log = None
        with suppress(StoreError):
            log = self._places.ensure(self._places.state) / "sound.log"

        def wake() -> SoundPort:
            return open_sound(
                own.engine, log_path=log, volume=own.volume, offset_ms=own.offset_ms
            )

        port = wake() if own.stay_awake else RestingSound(wake, time.monotonic)
        for name, path in self.own_tones().files.items():
            port.load(name, path)
        if own.muted:
            port.mute(on=True)
        return port

    def own_tones(self) -> OwnSounds:
        """The user's own tones, and what is wrong with the files that are none."""
        return find_own(self._places.sounds, ALL_TONES)

    def tone_files(self) -> dict[str, Path]:
        """The file of each tone as it would be played."""
        shipped = {name: sounds_folder() / f"{name}.wav" for name in ALL_TONES}
        return shipped | self.own_tones().files

    def voice(self) -> Voice:
        """Find a voice as the settings say; its status says what is wrong."""
        wanted = "auto" if self._settings.voice else "none"
        return open_voice(
            self._settings.language, cache=self._places.cache / "voice", engine=wanted
        )

    def session_audio(
        self, port: SoundPort, *, seed: int, people: tuple[Addressee, ...] = ()
    ) -> SessionAudio:
        """What a session sounds like, voice included once it is ready."""
        voice = self.voice()
        return SessionAudio(
            port,
            choices=AudioChoices(pacing=self._settings.pacing, seed=seed),
            drills=drill_sounds(self._drills()),
            voice=None if voice.status.engine == "none" else voice,
            people=people,
        )

    def whole_soundtrack(
        self, plan: Plan, *, wait_s: float, seed: int = 0
    ) -> tuple[Soundtrack, Mapping[str, Phrase]]:
        """The soundtrack of a plan with every sentence rendered, as far as it goes."""
        drills = drill_sounds(self._drills())
        bare = Soundtrack(drills=drills, paced=self._settings.pacing, seed=seed)
        voice = self.voice()
        try:
            if voice.status.engine == "none":
                return bare, {}
            phrases = voice.render(bare.sentences(plan), timeout_s=wait_s)
        finally:
            voice.close()
        whole = Soundtrack(
            phrases=phrases, drills=bare.drills, paced=bare.paced, seed=seed
        )
        return whole, phrases


def wait_until_ready(port: SoundPort, seconds: float) -> bool:
    """Wait for the player to say how it stands; whether it sounds."""
    end = time.monotonic() + seconds
    while time.monotonic() < end and port.status().state == "starting":
        time.sleep(_LOOK_S)
    return port.status().state == "ok"
