"""Ears for tests: sentences as if rendered, a player's memory, and a listener.

The listener knows the sounds and what they mean, and nothing else: no plan, no
engine, no clock but the order in which things are heard.
"""

from __future__ import annotations

from dataclasses import dataclass

from whistlestop.domain.plan.cues import LENGTH_MS, CueName
from whistlestop.driver.session import heard_as
from whistlestop.engine.engine import Engine
from whistlestop.sound.cue_filter import AFTER_TONE_MS, CueFilter
from whistlestop.sound.soundtrack import Heard, Layer


@dataclass(frozen=True)
class Spoken:
    """A sentence as if rendered: about as long as a voice takes for it."""

    id: str
    length_ms: int


class EveryPhrase(dict):
    """Whatever is asked for has been rendered; 400 ms a word and a little."""

    def __contains__(self, text):
        return True

    def __missing__(self, text):
        made = Spoken(f"say-{abs(hash(text)) % 10**9}", 300 + 400 * len(text.split()))
        return self.setdefault(text, made)


class Listening:
    """A player that keeps what it was told ahead, as the session tells it."""

    def __init__(self, soundtrack, made, count_in_ms=3_000):
        self.soundtrack = soundtrack
        self.engine = Engine(made, count_in_ms=count_in_ms)
        self.telling = CueFilter()
        self.heard = set()
        self.take(self.engine.start())
        self.look()

    def take(self, events):
        """What sounds at the very moment of a key cannot be planned."""
        for event in events:
            if (name := heard_as(event)) is not None:
                length = LENGTH_MS[CueName(name)]
                self.heard.add(Heard(event.t_ms, Layer.CUE, name, length))

    def look(self, *, clear_ms=None):
        told = self.telling.upcoming(
            self.soundtrack, self.engine, 12_000, clear_ms=clear_ms
        )
        self.heard |= set(told)

    def do(self, do):
        """Do it; words not over by then are cut, and all that comes planned anew."""
        now = self.engine.t_ms
        events = self.engine.handle(do, now)
        self.heard = {
            one
            for one in self.heard
            if one.at_ms + one.length_ms <= now
            or (one.at_ms <= now and one.layer is Layer.CUE)
        }
        self.take(events)
        self.look(clear_ms=AFTER_TONE_MS)


OTHER_SIDE = {"left": "right", "right": "left"}


@dataclass
class Listener:
    """Somebody with eyes shut: what they would say, by the sounds so far.

    `doing` is one of recovering, working, break, paused, done.
    """

    doing: str = "recovering"
    station: str | None = None
    side: str | None = None
    coming: str | None = None
    coming_side: str | None = None
    coming_load: str | None = None
    last_loop: bool = False
    asked: bool = False
    before_pause: str = ""

    def hear(self, one):
        """Take in one sound that was heard to its end."""
        if one.layer is Layer.CUE:
            self._tone(one.name)
        elif one.layer is Layer.VOICE:
            self._wording(one.name.rstrip(".?").lower())

    def _tone(self, name):
        match name:
            case "go" if self.doing != "working":
                self.doing = "working"
                self.station, self.side = self.coming, self.coming_side
                self.coming = self.coming_side = self.coming_load = None
            case "switch":
                self.side = OTHER_SIDE.get(self.side)
            case "station_end":
                self.doing, self.side = "recovering", None
            case "loop_end":
                self.doing, self.side = "break", None
            case "session_end":
                self.doing, self.side = "done", None
            case "pause":
                self.before_pause, self.doing = self.doing, "paused"
            case "resume":
                self.doing = self.before_pause

    def _wording(self, words):
        head, _, rest = words.partition(": ")
        match head:
            case "first" | "next":
                if rest != self.coming:
                    self.coming_side = self.coming_load = None
                self.coming = rest
            case "switch":
                self.side = rest.removesuffix(" side")
            case "last loop":
                self.last_loop = True
            case "how hard was that loop":
                self.asked = True
            case _ if words.endswith(" side first"):
                self.coming_side = words.removesuffix(" side first")
            case _ if words.removesuffix(" side") in OTHER_SIDE:
                self.side = words.removesuffix(" side")
            case _ if words.endswith(("kilos", "kilo", "pounds", "pound", "band")):
                self.coming_load = words
