"""Tracks what was spoken in the present visit: nothing is lost or spoken twice.

A pause cuts a sentence, a skipped station makes others true, and a voice may be
ready only after the session began: what was not heard whole is spoken from there
on. Knows the soundtrack and the engine it is shown; reads no clock.
"""

from __future__ import annotations

from typing import Final

from whistlestop.domain.plan.cues import LENGTH_MS, CueName
from whistlestop.engine.engine import Engine
from whistlestop.sound.soundtrack import (
    AIR_MS,
    NOTHING_HEARD,
    Heard,
    Layer,
    SentencesHeard,
    Soundtrack,
)
from whistlestop.sound.spoken import Saying

MARGIN_MS: Final = 250
"""What is with the device already lies up to 170 ms ahead of what is heard."""
AFTER_TONE_MS: Final = LENGTH_MS[CueName.RESUME] + AIR_MS
"""After a command a tone may answer, the longest of them this; then come words."""


class CueFilter:
    """Asks a soundtrack what comes, for one session.

    Ask each second, and after every command. Where the player had to withdraw
    what it had, words cut short are spoken again, `clear_ms` from now on.
    """

    def __init__(self) -> None:
        self._visit = 0
        self._heard = NOTHING_HEARD
        self._sayings: tuple[Saying, ...] = ()
        self._soundtrack: Soundtrack | None = None
        self._planned: frozenset[Heard] = frozenset()

    def upcoming(
        self,
        soundtrack: Soundtrack,
        engine: Engine,
        horizon_ms: int,
        *,
        clear_ms: int | None = None,
    ) -> tuple[Heard, ...]:
        """List what will be heard in the coming stretch, in elapsed ms."""
        self._notice(soundtrack, engine, clear_ms)
        heard = soundtrack.upcoming(engine, horizon_ms, self._heard)
        now = engine.t_ms
        still = (one for one in self._planned if one.at_ms + one.length_ms > now)
        self._planned = frozenset({*still, *heard})
        return heard

    def plays_at(self, t_ms: int) -> bool:
        """Whether something sounds just then: no moment to plan all again unasked."""
        return any(
            one.at_ms - MARGIN_MS <= t_ms < one.at_ms + one.length_ms + MARGIN_MS
            for one in self._planned
        )

    def _notice(
        self, soundtrack: Soundtrack, engine: Engine, clear_ms: int | None
    ) -> None:
        sayings = soundtrack.sayings(engine.track, engine.index)
        if engine.visit != self._visit:
            self._heard = NOTHING_HEARD
        elif sayings != self._sayings:
            self._heard = SentencesHeard(engine.offset_ms, AFTER_TONE_MS)
        elif clear_ms is not None:
            # Judged by the soundtrack that was heard, not by the one that comes.
            before = self._soundtrack or soundtrack
            self._heard = self._so_far(before, engine, clear_ms)
        self._visit, self._sayings = engine.visit, sayings
        self._soundtrack = soundtrack

    def _so_far(
        self, soundtrack: Soundtrack, engine: Engine, clear_ms: int
    ) -> SentencesHeard:
        """What was heard whole counts; the rest is spoken from here on."""
        here, details = engine.offset_ms, self._heard
        if here <= details.from_ms:
            return details
        heard = soundtrack.segment(
            engine.track, engine.index, engine.visit, engine.cut_ms, details
        )
        whole = [
            one
            for one in heard
            if one.layer is Layer.VOICE and one.at_ms + one.length_ms <= here
        ]
        texts = {one.name for one in whole}
        text = {ways for ways in self._sayings if texts.intersection(ways)}
        ends = [one.at_ms + one.length_ms for one in whole]
        return SentencesHeard(
            here, clear_ms, details.sayings | text, max([details.until_ms, *ends])
        )
