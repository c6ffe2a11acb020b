"""The sounds room: hear each tone, see how sound stands, set level and offset.

Owns the player it opens, and the keys; the words stand in `sounds_lines`. What is
set here holds while the room is open: the settings file is the user's own.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import Final

from whistlestop.sound.port import SoundPort, SoundStatus
from whistlestop.sound.voice import Voice
from whistlestop.tui.rooms.frame.actions import action
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.room import BACK
from whistlestop.tui.rooms.sounds.lines import (
    TONES,
    SoundSummary,
    sounds_page,
    state_text,
)
from whistlestop.tui.widgets.page import PageLayout

SAMPLE: Final = "Next: one arm row."
VOLUME_STEP: Final = 5
OFFSET_STEP_MS: Final = 10
OFFSET_MOST_MS: Final = 300
LOOK_S: Final = 0.25
SPEAK_S: Final = 10.0
_OPENING: Final = SoundStatus("starting", detail="Sound is starting.")
_SEEKING: Final = "looking for a voice"


class SoundsRoom(ChoosingRoom[None]):
    """Every tone with its meaning, and how sound stands."""

    def __init__(self) -> None:
        super().__init__()
        self.port: SoundPort | None = None
        self.voice: Voice | None = None
        self.volume = 0
        self.offset_ms = 0
        self._voice_text = _SEEKING
        self._left = False
        self._lock = threading.Lock()
        self._row_ranges: list[tuple[int, int]] = [(0, 0)]
        self._problems: tuple[str, ...] = ()
        self._own: frozenset[str] = frozenset()

    # Coming and going

    def on_mount(self) -> None:
        """Open player and voice in threads; the room is on screen meanwhile."""
        super().on_mount()
        own = self.services.settings.sound
        self.volume, self.offset_ms = own.volume, own.offset_ms
        self._thread("sound", self._open_sound)
        self._thread("voice", self._open_voice)
        self.set_interval(LOOK_S, self.paint)

    def on_unmount(self) -> None:
        """Close what was opened, in a thread: it may take a second or two."""
        with self._lock:
            self._left = True
            held = [one for one in (self.port, self.voice) if one is not None]
            self.port = self.voice = None
        for one in held:
            threading.Thread(target=one.close, name="sounds-close").start()

    def _thread(self, name: str, work: object) -> None:
        self.run_worker(work, name=name, thread=True, exit_on_error=False)  # type: ignore[arg-type]

    def _open_sound(self) -> None:
        own = self.services.audio.own_tones()
        port = self.services.audio.port()
        with self._lock:
            if not self._left:
                self.port, self._problems = port, own.problems
                self._own = frozenset(own.files)
                return
        port.close()

    def _open_voice(self) -> None:
        voice = self.services.audio.voice()
        with self._lock:
            if not self._left:
                self.voice, self._voice_text = voice, voice.status.detail
                return
        voice.close()

    # What it says

    @property
    def status(self) -> SoundStatus:
        """How sound stands now."""
        port = self.port
        return _OPENING if port is None else port.status()

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, and how sound stands."""
        return "Sounds", "", state_text(self.status)

    def standing_text(self) -> str:
        """Where to save what was set here, once it is another than in the settings."""
        own = self.services.settings.sound
        lines = []
        if self.volume != own.volume:
            lines.append(f"volume = {self.volume}")
        if self.offset_ms != own.offset_ms:
            lines.append(f"offset_ms = {self.offset_ms}")
        if not lines:
            return ""
        return f"To save this, write under [sound] in config.toml: {', '.join(lines)}"

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The tones, under how sound stands."""
        del lines
        standing = SoundSummary(
            self.status,
            self.volume,
            self.offset_ms,
            self._voice_text,
            self._problems,
            self._own,
        )
        layout, self._row_ranges = sounds_page(standing, self.chosen, cells)
        return layout

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each tone stands."""
        return self._row_ranges

    # What can be done

    @action("enter", "play")
    def play_tone(self) -> None:
        """Play the chosen tone."""
        port = self._player()
        if port is not None:
            port.now(TONES[self.chosen].name)

    @action({"left": -VOLUME_STEP, "right": VOLUME_STEP}, "volume")
    def turn_volume(self, percent: int) -> None:
        """Turn the volume down or up."""
        self.volume = max(0, min(100, self.volume + percent))
        if self.port is not None:
            self.port.volume(self.volume)

    @action(
        {
            "minus": -OFFSET_STEP_MS,
            "plus": OFFSET_STEP_MS,
            "equals_sign": OFFSET_STEP_MS,
        },
        "offset",
        drop=1,
    )
    def shift_offset(self, offset_ms: int) -> None:
        """Play every tone earlier or later, by 10 ms."""
        moved = self.offset_ms + offset_ms
        self.offset_ms = max(-OFFSET_MOST_MS, min(OFFSET_MOST_MS, moved))
        if self.port is not None:
            self.port.offset(self.offset_ms)

    @action("", "mute", drop=2, mapped="mute")
    def mute(self) -> None:
        """Turn the sound off and on."""
        port = self._player()
        if port is not None:
            port.mute(not port.status().muted)

    @action("", "test voice", drop=3, mapped="voice")
    def speak_sample(self) -> None:
        """Hear a sentence of the voice."""
        voice, port = self.voice, self._player()
        if voice is None or voice.status.engine == "none":
            self.say(self._voice_text)
        elif port is not None:
            self._thread("speak", lambda: _speak_sample(voice, port))

    go_back = BACK

    def _player(self) -> SoundPort | None:
        """The player, or a word on why there is none."""
        status = self.status
        if self.port is None or status.state == "starting":
            self.say("Sound is starting; try again in a moment.")
        elif status.wants_bell:
            self.app.bell()
            self.say(f"No sound: the terminal bell rings instead. {status.detail}")
        elif status.state == "off":
            self.say(status.detail)
        return self.port


def _speak_sample(voice: Voice, port: SoundPort) -> None:
    """Speak the sample; rendered the first time, which takes a moment."""
    for phrase in voice.render([SAMPLE], timeout_s=SPEAK_S).values():
        port.load(phrase.id, phrase.path)
        port.now(phrase.id)
