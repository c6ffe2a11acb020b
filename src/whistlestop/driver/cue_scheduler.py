"""What a session sends to its player: cues planned ahead, and what sounds at once.

Owns epochs and how far ahead is planned. Apart from the session, which runs as well
where nothing sounds, and whose first picture does not wait for this.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from whistlestop.driver.guard import VOICE, Guard
from whistlestop.engine.engine import Engine
from whistlestop.sound.cue_filter import AFTER_TONE_MS, MARGIN_MS, CueFilter
from whistlestop.sound.port import PlannedCue, SoundPort
from whistlestop.sound.soundtrack import Heard, Soundtrack

if TYPE_CHECKING:
    from whistlestop.driver.session_audio import SessionAudio

AHEAD_MS: Final = 12_000
PLAN_EVERY_MS: Final = 1_000


class CueScheduler:
    """Keeps the next seconds of one session with its player.

    `origin_ms` comes with each call: it moves when a stretch of time is lost.
    """

    def __init__(self, engine: Engine, sound: SoundPort, guard: Guard) -> None:
        """Begin with the tones alone; nothing is planned yet."""
        self._guard = guard
        self._engine = engine
        self._sound = sound
        self._soundtrack = Soundtrack(paced=False)
        self._cue_filter = CueFilter()
        self._planned_ms = -PLAN_EVERY_MS
        self._epoch = 0

    def begin(self, session_audio: SessionAudio | None, origin_ms: int) -> None:
        """Plan from this very moment on."""
        self._listen(session_audio)
        self._plan(origin_ms, clear_ms=0)

    def go_on(self, session_audio: SessionAudio | None, origin_ms: int) -> None:
        """Plan on as time passes; take a soundtrack that became another."""
        # A new soundtrack begins a new epoch, which would cut what sounds now.
        quiet = not self._cue_filter.plays_at(self._engine.t_ms)
        again = quiet and self._listen(session_audio)
        self._plan(origin_ms, clear_ms=MARGIN_MS if again else None)

    def after_input(self, origin_ms: int, *, moved: bool) -> None:
        """Plan on after an input; one that moved time or place replans all."""
        # An entry moves nothing, so it must not cut a tone that is sounding.
        self._plan(origin_ms, clear_ms=AFTER_TONE_MS if moved else None)

    def change(self, session_audio: SessionAudio, origin_ms: int) -> None:
        """Be heard in another way from now on."""
        if self._listen(session_audio):
            self._plan(origin_ms, clear_ms=MARGIN_MS)

    def _listen(self, session_audio: SessionAudio | None) -> bool:
        """Take the soundtrack as it is now; whether it is another."""
        changed = (
            None
            if session_audio is None
            else self._guard.call(VOICE, session_audio.poll, None)
        )
        if changed is None:
            return False
        self._soundtrack = changed
        return True

    def _plan(self, origin_ms: int, *, clear_ms: int | None) -> None:
        """Keep the next seconds of cues with the player.

        With `clear_ms` a new epoch begins: what was planned is withdrawn, and so
        long nothing is spoken.
        """
        now = self._engine.t_ms
        if clear_ms is None and now - self._planned_ms < PLAN_EVERY_MS:
            return
        self._planned_ms = now
        if clear_ms is not None:
            self._epoch += 1
            self._sound.clear(self._epoch)
        planned = [
            PlannedCue(
                id=f"{self._epoch}.{heard.at_ms}.{heard.player_name}",
                at_s=(origin_ms + heard.at_ms) / 1000,
                cue=heard.player_name,
            )
            for heard in self._upcoming(clear_ms)
        ]
        if planned:
            self._sound.plan(self._epoch, planned)

    def _upcoming(self, clear_ms: int | None) -> Sequence[Heard]:
        """What is to be heard soon; the tones alone where the rest fails."""

        def ahead() -> Sequence[Heard]:
            return tuple(
                self._cue_filter.upcoming(
                    self._soundtrack, self._engine, AHEAD_MS, clear_ms=clear_ms
                )
            )

        found = self._guard.call(VOICE, ahead, None)
        if found is None:
            self._soundtrack = Soundtrack(paced=False)
            found = ahead()
        return found
