"""The errors of whistlestop, by whose move it is.

WhistlestopError
  x ProblemsFound     an input file has problems; each is a `Problem` with a place
  x UsageError        the command line or the terminal cannot be used as asked
  x CommandRejected   a command is not legal at this moment; nothing changed
  x StoreError        the disk would not take or give what was asked
"""

from __future__ import annotations

from dataclasses import dataclass


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
