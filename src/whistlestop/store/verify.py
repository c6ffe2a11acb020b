"""Every file of the log looked at: what is damaged, missing or only looks like one.

Reads and names; changes nothing. Refuses to know what lines mean for a session: a
replay (`review.record`) finds what only shows there.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from whistlestop.errors import StoreError
from whistlestop.store.diary_file import (
    DIARY_NAME,
    diary_path,
    read_diary,
    stray_diaries,
)
from whistlestop.store.journal_file import Journal, list_journals, read_journal
from whistlestop.store.journal_line import Line


@dataclass(frozen=True, slots=True)
class FileState:
    """One file of the log, and what is wrong with it in sentences.

    `lines` are those that count. `is_open` is a session that never came to an end.
    """

    path: Path
    lines: int
    problems: tuple[str, ...] = ()
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class LogState:
    """The whole log. `copies` look like journals or the diary and are not counted."""

    files: tuple[FileState, ...]
    copies: tuple[Path, ...]

    @property
    def is_sound(self) -> bool:
        """Whether nothing at all has to be named."""
        return not self.copies and not any(file.problems for file in self.files)


def verify_log(log_folder: Path) -> LogState:
    """Read every journal and the diary whole, and name all that is wrong.

    Raises:
        StoreError: The folder is there and cannot be listed.
    """
    listing = list_journals(log_folder)
    files = [_journal(path) for path in listing.journals]
    diary = _diary(diary_path(log_folder))
    copies = (*listing.strays, *stray_diaries(log_folder))
    return LogState((*files, *([diary] if diary else [])), tuple(sorted(set(copies))))


def missing_lines(lines: tuple[Line, ...]) -> tuple[str, ...]:
    """Name the gaps in the numbers of lines, the first number being 0."""
    known = sorted({line.sequence for line in lines if line.sequence is not None})
    gaps = []
    expected = 0
    for number in known:
        if number == expected + 1:
            gaps.append(f"the line with s = {expected} is missing")
        elif number > expected:
            gaps.append(f"the lines with s = {expected} to {number - 1} are missing")
        expected = number + 1
    return tuple(gaps)


def _journal(path: Path) -> FileState:
    try:
        journal = read_journal(path)
    except StoreError as error:
        return FileState(path, 0, (str(error),))
    problems = [*journal.problems, *missing_lines(journal.lines)]
    problems += _parts_missing(journal)
    return FileState(
        path, len(journal.lines), tuple(problems), is_open=not journal.is_finished
    )


def _parts_missing(journal: Journal) -> list[str]:
    named = []
    start = journal.start
    if start is None:
        named.append("the first line with the plan is missing: it cannot be replayed")
    elif start.fields.get("id") not in {None, journal.id}:
        named.append("its first line is that of another session")
    if journal.is_finished and journal.sum is None:
        named.append("its sum is missing; it is made again from the other lines")
    return named


def _diary(path: Path) -> FileState | None:
    if not path.exists() and not path.is_symlink():
        return None
    try:
        found = read_diary(path)
    except StoreError as error:
        return FileState(path, 0, (str(error),))
    problems = [*found.problems, *missing_lines(found.lines)]
    counted = [line for line in found.lines if line.counts]
    if counted and counted[0].kind != "diary":
        problems.append(f"the first line of {DIARY_NAME} does not name its format")
    return FileState(path, len(counted), tuple(problems))
