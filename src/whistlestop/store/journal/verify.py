"""Every file of the log looked at: what is damaged, missing or only looks like one.

Reads and names; changes nothing. Refuses to know what lines mean for a session: a
replay (`review.record`) finds what only shows there.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from whistlestop.errors import StoreError
from whistlestop.store.diary.copies import (
    ConflictCopy,
    conflict_copies,
    likenesses,
    missing_text,
    read_with_copies,
)
from whistlestop.store.diary.file import DECISIONS_NAME, DIARY_NAME, read_diary
from whistlestop.store.journal.file import (
    Journal,
    journal_path,
    list_journals,
    read_journal,
    session_id_in,
)
from whistlestop.store.journal.line import JournalLine


@dataclass(frozen=True, slots=True)
class FileState:
    """One file of the log, and what is wrong with it in sentences.

    `lines` are those that count. `is_open` is a session that never came to an end.
    `cut_off` names what a crash left of lines that were on their way to the disk: to
    be mentioned, and nothing is wrong.
    """

    path: Path
    lines: int
    problems: tuple[str, ...] = ()
    is_open: bool = False
    cut_off: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CopyState:
    """A copy or a stray beside the log, and in a sentence what it is and what to do.

    `is_read` says that its lines are read with the diary, each once; else nothing of
    it counts. `missing` is how many lines only it holds, where that is known.
    """

    path: Path
    what: str
    is_read: bool = False
    missing: int | None = None
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LogState:
    """The whole log: its files, and what lies beside them."""

    files: tuple[FileState, ...]
    copies: tuple[CopyState, ...]

    @property
    def is_sound(self) -> bool:
        """Whether nothing at all has to be named."""
        return not self.copies and not any(file.problems for file in self.files)


def verify_log(log_folder: Path) -> LogState:
    """Read every journal, the diary and the decisions whole, and name what is wrong.

    Raises:
        StoreError: The folder is there and cannot be listed.
    """
    listing = list_journals(log_folder)
    files = [_journal(path) for path in listing.journals]
    copies = [_journal_copy(log_folder, path) for path in listing.strays]
    for name in (DIARY_NAME, DECISIONS_NAME):
        path = log_folder / name
        files += _diary(path)
        copies += _diary_copies(path)
    return LogState(tuple(files), tuple(sorted(copies, key=lambda copy: copy.path)))


def _diary_copies(path: Path) -> list[CopyState]:
    try:
        read = {copy.path: copy for copy in read_with_copies(path).copies}
    except StoreError:
        read = {}  # the diary itself cannot be read: its own problem says so
    found = []
    for each in likenesses(path):
        if each in read:
            found.append(_read_copy(read[each]))
        elif each in conflict_copies(path):
            found.append(CopyState(each, f"not read, since {path.name} is not"))
        else:
            what = "looks like a copy: not read; you can move it elsewhere"
            found.append(CopyState(each, what))
    return found


def _read_copy(copy: ConflictCopy) -> CopyState:
    if copy.missing:
        what = f"{missing_text(copy)}; `log merge` writes them into it"
    elif copy.lines:
        what = "a conflict copy; the diary has all its lines, so it can be removed"
    else:
        what = "a conflict copy without a line that counts; it can be removed"
    return CopyState(copy.path, what, copy.lines > 0, copy.missing, copy.problems)


def _journal_copy(log_folder: Path, path: Path) -> CopyState:
    """Compare what looks like a journal with the session it is named after."""
    session_id = session_id_in(path.name)
    whole = journal_path(log_folder, session_id)
    name = f"{whole.parent.name}/{whole.name}"
    if not whole.is_file():
        return CopyState(path, f"not counted: named {name}, it would be a session")
    try:
        own, other = read_journal(whole), read_journal(path)
    except StoreError as error:
        return CopyState(path, f"a copy of {name}, not counted: {error}")
    has = [line.fields for line in own.lines]
    more = sum(line.fields not in has for line in other.lines)
    if not more:
        what = f"a copy, not counted; {name} has all its lines, so it can be removed"
        return CopyState(path, what, missing=0)
    lines = "1 line" if more == 1 else f"{more} lines"
    what = (
        f"a copy, not counted; it has {lines} that {name} has not: keep the better "
        "of the two under that name, and move the other out of the log"
    )
    return CopyState(path, what, missing=more)


def missing_lines(lines: tuple[JournalLine, ...]) -> tuple[str, ...]:
    """Name the gaps in the numbers of lines, the first number being 0."""
    known = sorted(
        (line.first_sequence, line.sequence)
        for line in lines
        if line.first_sequence is not None and line.sequence is not None
    )
    gaps = []
    expected = 0
    for first, last in known:
        if first == expected + 1:
            gaps.append(f"the line with s = {expected} is missing")
        elif first > expected:
            gaps.append(f"the lines with s = {expected} to {first - 1} are missing")
        expected = max(expected, last + 1)
    return tuple(gaps)


def _journal(path: Path) -> FileState:
    try:
        journal = read_journal(path)
    except StoreError as error:
        return FileState(path, 0, (str(error),))
    problems = [*journal.problems, *missing_lines(journal.lines)]
    problems += _parts_missing(journal)
    count = sum(line.count for line in journal.lines)
    is_open = not journal.is_finished
    return FileState(path, count, tuple(problems), is_open, journal.cut_off)


def _parts_missing(journal: Journal) -> list[str]:
    named = []
    start = journal.start
    if start is None:
        named.append("the first line with the plan is missing: it cannot be replayed")
    elif start.fields.get("id") not in {None, journal.id}:
        named.append("its first line is that of another session")
    # A sum that is missing is no damage: who is killed between end and sum leaves
    # none, and it is made again from the other lines.
    return named


def _diary(path: Path) -> list[FileState]:
    if not path.exists() and not path.is_symlink():
        return []
    try:
        found = read_diary(path)
    except StoreError as error:
        return [FileState(path, 0, (str(error),))]
    problems = [*found.problems, *missing_lines(found.lines)]
    counted = [line for line in found.lines if line.counts]
    if counted and counted[0].kind not in {"diary", "decisions"}:
        problems.append(f"the first line of {path.name} does not name its format")
    cut_off = found.cut_off
    return [FileState(path, len(counted), tuple(problems), cut_off=cut_off)]
