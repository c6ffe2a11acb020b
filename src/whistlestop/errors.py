"""The errors of whistlestop, by whose move it is: the one tree.

WhistlestopError      shown to a person as one sentence
  x ProblemsFound     an input file has problems; each is a `Problem` with a place
  x UsageError        the command line or the terminal cannot be used as asked
  x CommandRejected   a command is not legal at this moment of a session
  x ActivityError     an activity file, or a part of one, cannot be read
  x RefusedError      a step in a room cannot be made; everything stays as it was
  x ChangeError       a step of the coach does not fit the circuit as it is now
  x PlanError         a circuit cannot be laid out in time
    x MisfitError     stations of two people that meet cannot share one clock
  x StoreError        the disk would not take or give what was asked
    x LockTakenError  another process runs a session in the same home
  x DeviceError       no audio device could be opened
  x AudioLibraryError an audio library is missing, and trying again does not help

Not in it, because nobody is shown them as they are: `domain.field.Wrong`, a ValueError
from which a judge makes its own sentence, and `cli.signals.EndedBySignal`, which must
get past every `except Exception`.
"""

from __future__ import annotations

from whistlestop.dataclass import dataclass


class WhistlestopError(Exception):
    """Base of every error that is shown to a person as one sentence."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} ({self.hint})" if self.hint else self.message


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a file: where, what, and what was expected.

    Lines and columns count from 1; 0 means the whole file, shown as its start.
    """

    path: str
    line: int
    column: int
    what: str
    expected: str = ""
    nearest: str = ""

    def __str__(self) -> str:
        parts = [self.what]
        if self.expected:
            parts.append(f"expected {self.expected}")
        if self.nearest:
            parts.append(f'nearest name: "{self.nearest}"')
        line, column = max(1, self.line), max(1, self.column)
        return f"{self.path}:{line}:{column}: {'; '.join(parts)}"


class ProblemsFound(WhistlestopError):
    """An input file has problems; `problems` holds every one of them."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems


class UsageError(WhistlestopError):
    """The command line is wrong, or the terminal cannot be used."""


class CommandRejected(WhistlestopError):
    """A command is not legal now. The session is exactly as it was."""


class StoreError(WhistlestopError):
    """A file or folder could not be read or written."""


class ActivityError(WhistlestopError):
    """A file of activities, or a part of it, cannot be read; one sentence says why."""


class RefusedError(WhistlestopError):
    """A step cannot be made, and why; nothing has changed."""


class ChangeError(WhistlestopError):
    """A change does not fit the circuit as it is now."""


class PlanError(WhistlestopError):
    """A circuit cannot be laid out; `station` and `loop` say where, from 1."""

    def __init__(self, message: str, *, station: int = 0, loop: int = 0) -> None:
        place = f"station {station}, loop {loop}: " if station else ""
        super().__init__(place + message)
        self.bare = message
        self.station = station
        self.loop = loop


class MisfitError(PlanError):
    """The stations that meet at an offset cannot be timed by one clock."""


class LockTakenError(StoreError):
    """Another process runs a session in the same home."""


class DeviceError(WhistlestopError):
    """No stream could be opened; the text says why."""


class AudioLibraryError(WhistlestopError):
    """The audio library is not there, and trying again will not bring it."""
