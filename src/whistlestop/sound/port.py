"""What the rest of the program may ask of sound, whatever plays it.

Owns the port and its small types. Knows nothing of processes, devices or files.
All times are seconds of `time.monotonic()`; the caller reads that clock.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Literal, Protocol

from whistlestop.dataclass import dataclass

State = Literal["starting", "ok", "lost", "off", "bell"]
ReportKind = Literal["played", "late", "dropped", "lost", "back"]


def _is_word(text: str) -> bool:
    """One printable word: what a line protocol can carry without quoting."""
    return 0 < len(text) <= 200 and text.isprintable() and not text.count(" ")


@dataclass(frozen=True)
class PlannedCue:
    """A cue to be heard at `at_s`, seconds of `time.monotonic()`.

    `id` is the caller's own name for this one sounding, unique within an epoch.
    ValueError for an id or cue that is not one printable word, or a time that
    is not a number.
    """

    id: str
    at_s: float
    cue: str

    def __post_init__(self) -> None:
        for name, text in (("id", self.id), ("cue", self.cue)):
            if not _is_word(text):
                raise ValueError(f"{name} {text!r} must be one printable word")
        if not math.isfinite(self.at_s):
            raise ValueError(f"cue {self.id}: the time must be a number")


@dataclass(frozen=True)
class SoundStatus:
    """How sound stands now. `detail` is a short sentence for people.

    `latency_ms` is what has been allowed for between the device taking a block
    and the ear, the user's own offset not included; 0 where unknown.
    """

    state: State
    backend: str = ""
    latency_ms: int = 0
    detail: str = ""
    muted: bool = False

    @property
    def wants_bell(self) -> bool:
        """Whether the caller should ring its terminal's bell for each cue."""
        return self.state in ("lost", "bell") and not self.muted


@dataclass(frozen=True)
class SoundReport:
    """What became of a cue, or of sound as a whole.

    `frame` goes with played (position in the device's stream), `late_ms` with
    late (it was played that much late), `detail` with lost and dropped.
    """

    kind: ReportKind
    id: str = ""
    frame: int = 0
    late_ms: int = 0
    detail: str = ""


class SoundPort(Protocol):
    """Where cues go. No method raises for want of sound, and none waits for it.

    Only `close` may take time, at most two seconds.
    """

    def plan(self, epoch: int, cues: Sequence[PlannedCue]) -> None:
        """Hand over the cues of at least the next 10 s.

        Adds to what is planned. An id already planned in this epoch is left as
        it was; an epoch older than the last `clear` is ignored.
        """
        ...

    def clear(self, epoch: int) -> None:
        """Withdraw all of older epochs that the device does not hold yet.

        Up to about 170 ms may still sound.
        """
        ...

    def now(self, cue: str) -> None:
        """Play a cue at once, to acknowledge a key."""
        ...

    def load(self, cue: str, path: Path) -> None:
        """Add a sound under a new cue name: a mono 16-bit WAV file at 44.1 kHz."""
        ...

    def offset(self, offset_ms: int) -> None:
        """Play that much earlier, -300 to 300 ms, for a loudspeaker that is late."""
        ...

    def volume(self, percent: int) -> None:
        """Set the level, 0 to 100; values beyond are brought back to the range."""
        ...

    def mute(self, on: bool) -> None:  # noqa: FBT001 - it is the order itself
        """Silence everything, or undo it; the volume is remembered."""
        ...

    def status(self) -> SoundStatus:
        """How sound stands now."""
        ...

    def reports(self) -> list[SoundReport]:
        """Everything reported since the last call, oldest first."""
        ...

    def close(self) -> None:
        """End sound within two seconds. Later calls of any method do nothing."""
        ...
