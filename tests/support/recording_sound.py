"""A sound port that plays nothing and remembers every call, for other tests."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from whistlestop.sound.port import PlannedCue, SoundReport, SoundStatus


class RecordingSound:
    """Stores calls in order as (method, arguments).

    `planned()` is what would still sound: the rules of plan and clear are kept.
    Tests set `next_status` and append to `next_reports` to play the other side.
    """

    def __init__(self) -> None:
        self.calls: list[tuple[str, tuple[object, ...]]] = []
        self.next_status = SoundStatus("ok", "recording", 0)
        self.next_reports: list[SoundReport] = []
        self.acknowledged: list[str] = []
        self.percent = 100
        self.closed = False
        self._epoch = 0
        self._plan: dict[tuple[int, str], PlannedCue] = {}

    def planned(self) -> list[PlannedCue]:
        """Cues not withdrawn, by time."""
        return sorted(self._plan.values(), key=lambda cue: (cue.at_s, cue.id))

    def _note(self, method: str, *arguments: object) -> None:
        self.calls.append((method, arguments))

    def plan(self, epoch: int, cues: Sequence[PlannedCue]) -> None:
        self._note("plan", epoch, tuple(cues))
        for cue in cues:
            if epoch >= self._epoch:
                self._plan.setdefault((epoch, cue.id), cue)

    def clear(self, epoch: int) -> None:
        self._note("clear", epoch)
        self._epoch = max(self._epoch, epoch)
        self._plan = {k: cue for k, cue in self._plan.items() if k[0] >= self._epoch}

    def now(self, cue: str) -> None:
        self._note("now", cue)
        self.acknowledged.append(cue)

    def load(self, cue: str, path: Path) -> None:
        self._note("load", cue, path)

    def offset(self, offset_ms: int) -> None:
        self._note("offset", offset_ms)

    def volume(self, percent: int) -> None:
        self._note("volume", percent)
        self.percent = max(0, min(100, percent))

    def mute(self, on: bool) -> None:
        self._note("mute", on)
        self.next_status = replace(self.next_status, muted=on)

    def status(self) -> SoundStatus:
        return self.next_status

    def reports(self) -> list[SoundReport]:
        found, self.next_reports = self.next_reports, []
        return found

    def close(self) -> None:
        self._note("close")
        self.closed = True
