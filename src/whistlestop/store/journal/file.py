"""Journals as files: their names, where they lie, and reading one whole.

Only lines that end in a newline count: the writer acknowledges nothing less.
Refuses to know what lines mean, and never changes a file.
"""

from __future__ import annotations

import os
import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.text import shown
from whistlestop.engine.commands import INPUT_KINDS
from whistlestop.errors import StoreError
from whistlestop.store.journal.line import MAX_LINE_BYTES, JournalLine, decode, seen_run
from whistlestop.store.places import in_text, regular_chunks

MAX_FILE_BYTES: Final = 64 * 1024 * 1024
SUFFIX: Final = ".jsonl"
_ID: Final = re.compile(r"[0-9]{8}T[0-9]{6}Z-[0-9a-f]{4}")
_YEAR: Final = re.compile(r"[0-9]{4}")
# Behind a line that lacked its newline only: nobody counted it, nobody may later.
_SPOILT: Final = b" not kept"


@dataclass(frozen=True, slots=True)
class Journal:
    """A journal as read. `lines` count; `set_aside` do not, and are named.

    `torn_tail` are bytes after the last newline: never acknowledged, and not
    part of the record even where they look whole. `problems` are sentences on what
    is damaged, `cut_off` those on lines that a crash cut off: no damage, since the
    disk never had them and nobody was told that it has.
    """

    path: Path
    lines: tuple[JournalLine, ...]
    set_aside: tuple[JournalLine, ...]
    torn_tail: bytes | None
    problems: tuple[str, ...]
    cut_off: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """The session's id: the name of the file without its ending."""
        return self.path.name.removesuffix(SUFFIX)

    @property
    def start(self) -> JournalLine | None:
        """The first line of kind `start`, or None where it is lost."""
        return next((line for line in self.lines if line.kind == "start"), None)

    @property
    def sum(self) -> JournalLine | None:
        """The last line of kind `sum`: a later one replaces an earlier one."""
        return next((x for x in reversed(self.lines) if x.kind == "sum"), None)

    @property
    def end(self) -> JournalLine | None:
        """The line that ended the session; None while no end stands.

        An end on health grounds can be taken back by the command `reopen`.
        """
        for line in reversed(self.lines):
            if line.kind == "end":
                return line
            if line.kind == "cmd" and line.fields.get("do") == "reopen":
                return None
        return None

    @property
    def is_finished(self) -> bool:
        """Whether the session came to an end, whatever was added afterwards."""
        return self.end is not None

    @property
    def last_sequence(self) -> int:
        """The greatest `s` of any line that counts; -1 where there is none."""
        return max((line.sequence or 0 for line in self.lines), default=-1)


@dataclass(frozen=True, slots=True)
class Listing:
    """The journals of a log folder, oldest first, and what only looks like one.

    `strays` are copies that file syncing left behind and other files of a wrong
    name or in a wrong year: to be named to a person, never counted.
    """

    journals: tuple[Path, ...]
    strays: tuple[Path, ...]


def new_session_id(utc: datetime) -> str:
    """Make the id of a session that starts now, such as 20310412T061502Z-3f9a.

    Args:
        utc: The start, with a zone; it is turned into UTC.

    Raises:
        ValueError: The time has no zone.
    """
    if utc.tzinfo is None:
        raise ValueError("the start of a session needs a zone")
    return f"{utc.astimezone(UTC):%Y%m%dT%H%M%SZ}-{os.urandom(2).hex()}"


def is_session_id(text: str) -> bool:
    """Say whether a text has the form of a session id."""
    return _ID.fullmatch(text) is not None


def session_id_in(name: str) -> str:
    """The session id that a file's name holds, or "" where it holds none."""
    found = _ID.search(name)
    return "" if found is None else found.group()


def journal_path(log_folder: Path, session_id: str) -> Path:
    """Name the file of a session: log/YYYY/<id>.jsonl. Creates nothing.

    Raises:
        StoreError: The text is not a session id, and so no file name either.
    """
    if not is_session_id(session_id):
        raise StoreError(
            f'"{shown(session_id, 60)}" is not a session id',
            "an id looks like 20310412T061502Z-3f9a",
        )
    return log_folder / session_id[:4] / f"{session_id}{SUFFIX}"


def least_name(since: date) -> str:
    """The least name of a journal of a day or later: it lies up to 14 h before UTC."""
    try:
        return f"{since - timedelta(days=1):%Y%m%d}"
    except OverflowError:
        return ""


def list_journals(log_folder: Path, first: str = "") -> Listing:
    """List a log folder by name alone; a folder that is not there holds nothing.

    Args:
        log_folder: The folder that holds the years.
        first: The least name of a journal wanted; earlier years are not listed.

    Raises:
        StoreError: The folder is there and cannot be listed.
    """
    journals: list[Path] = []
    strays: list[Path] = []
    for year in _entries(log_folder):
        if not _YEAR.fullmatch(year.name) or not _is_folder(year):
            if _ID.search(year.name):
                strays.append(Path(year.path))
            continue
        if year.name < first[:4]:
            continue
        for entry in _entries(Path(year.path)):
            session_id = entry.name.removesuffix(SUFFIX)
            if entry.name < first:
                continue
            is_journal = (
                entry.name.endswith(SUFFIX)
                and is_session_id(session_id)
                and session_id.startswith(year.name)
                and entry.is_file(follow_symlinks=False)
            )
            if is_journal:
                journals.append(Path(entry.path))
            elif _ID.search(entry.name):
                strays.append(Path(entry.path))
    return Listing(
        tuple(sorted(journals, key=lambda path: path.name)), tuple(sorted(strays))
    )


def read_journal(path: Path) -> Journal:
    """Read a whole journal. Never raises for what is in it.

    Raises:
        StoreError: It is not there, is no ordinary file, is larger than 64 MiB
            or cannot be read.
    """
    return parse_chunks(path, read_chunks(path))


def read_chunks(path: Path) -> Iterator[bytes]:
    """Read a journal's bytes piece by piece, under the limits of `read_journal`.

    Raises:
        StoreError: As `read_journal`.
    """
    return regular_chunks(path, MAX_FILE_BYTES)


def parse_journal(path: Path, data: bytes) -> Journal:
    """Make a journal of its bytes; `path` only names it."""
    return parse_chunks(path, [data])


def parse_chunks(path: Path, chunks: Iterable[bytes]) -> Journal:
    """Make a journal of its bytes, in pieces of any size; `path` only names it."""
    kept: list[JournalLine] = []
    set_aside: list[JournalLine] = []
    problems: list[str] = []
    found = _FoldedLines(chunks)
    odd: list[JournalLine] = []
    for line in found:
        (kept if line.counts else set_aside).append(line)
        if line.state != "ok":
            odd.append(line)
    cut_off = [line for line in set_aside if _is_cut_off(line, kept)]
    for line in odd:
        if line not in cut_off:
            fate = "" if line.counts else "; it is set aside"
            problems.append(f"line {line.number}: {line.reason}{fate}")
    named = [_torn(line.raw, line.number) for line in cut_off]
    if found.tail:
        is_crash = not decode(found.tail[:-1]).counts
        (named if is_crash else problems).append(_torn(found.tail, found.count + 1))
    lines = _in_order(_once(kept, problems), problems)
    return Journal(
        path,
        tuple(lines),
        tuple(set_aside),
        found.tail or None,
        tuple(problems),
        tuple(named),
    )


def _is_cut_off(line: JournalLine, counted: Sequence[JournalLine]) -> bool:
    """Whether a line set aside is what a crash left, before the session went on.

    Then its number was given again, and what follows it, behind lines that could be
    made again, is the gap of the interruption. A line damaged later leaves a hole.
    """
    if line.state != "unreadable":
        return False
    place = bisect_right(counted, line.number, key=lambda one: one.number)
    before, after = counted[:place], counted[place:]
    last = max((one.sequence or 0 for one in before), default=-1)
    if not after or after[0].first_sequence != last + 1:
        return False
    first = next((one for one in after if one.kind in INPUT_KINDS), after[0])
    return first.kind == "gap" and first.fields.get("cause") == "ended"


class _FoldedLines:
    """The lines in pieces of bytes, runs of marks `seen` folded within each piece.

    Once they are through, `count` is how many lines ended in a newline, and `tail`
    what stands behind the last of them.
    """

    def __init__(self, chunks: Iterable[bytes]) -> None:
        self._chunks = chunks
        self.count = 0
        self.tail = b""

    def __iter__(self) -> Iterator[JournalLine]:
        waiting: list[bytes] = []
        for chunk in self._chunks:
            head, newline, rest = chunk.rpartition(b"\n")
            if newline:
                yield from self._in(b"".join([*waiting, head, newline]))
                waiting.clear()
            waiting.append(rest)
        self.tail = b"".join(waiting)

    def _in(self, whole: bytes) -> Iterator[JournalLine]:
        at = 0
        while at < len(whole):
            run = seen_run(whole, at, self.count + 1)
            if run is not None:
                self.count += run.count
                at = run.end
                yield run.line
                continue
            end = whole.index(b"\n", at)
            raw = whole[at:end]
            self.count += 1
            at = end + 1
            if raw and not raw.isspace():
                yield decode(raw, self.count)


def ending_for(tail: bytes) -> bytes:
    """Give what must follow a torn tail before anything may be appended.

    A newline; but a tail that only lacks its newline is spoilt first, because
    it was not acknowledged and an earlier reader did not count it.
    """
    if not tail:
        return b""
    whole = len(tail) < MAX_LINE_BYTES and decode(tail).counts
    return _SPOILT + b"\n" if whole else b"\n"


def _torn(tail: bytes, number: int) -> str:
    tail = tail.removesuffix(_SPOILT)
    looks = "looks whole but was" if decode(tail).counts else "was cut off,"
    return (
        f"line {number}: it {looks} never acknowledged "
        f"({len(tail)} bytes without a newline); it is set aside"
    )


def _once(lines: list[JournalLine], problems: list[str]) -> list[JournalLine]:
    """Drop exact repeats, which merging two copies of a file brings about."""
    known = _Known()
    kept = []
    for line in lines:
        first = known.first_of(line)
        if first is None:
            known.add(line)
            kept.append(line)
        elif _same(first, line):
            problems.append(f"line {line.number}: it repeats line {first.number}")
        else:
            kept.append(line)
            problems.append(
                f"line {line.number}: it has the number s = {line.sequence} "
                f"of line {first.number} and says something else"
            )
    return kept


class _Known:
    """The numbers `s` met so far, as stretches, and the line that has each."""

    def __init__(self) -> None:
        self._firsts: list[int] = []
        self._lines: list[JournalLine] = []

    def add(self, line: JournalLine) -> None:
        first = line.first_sequence
        if first is None:
            return
        place = bisect_right(self._firsts, first)
        self._firsts.insert(place, first)
        self._lines.insert(place, line)

    def first_of(self, line: JournalLine) -> JournalLine | None:
        """The line that has the last number of this one already."""
        if line.sequence is None:
            return None
        place = bisect_right(self._firsts, line.sequence) - 1
        if place < 0:
            return None
        before = self._lines[place]
        return before if line.sequence <= (before.sequence or 0) else None


def _same(one: JournalLine, other: JournalLine) -> bool:
    if one.since is not None and other.kind == "seen":
        # A mark within a run, or the same run again: its time is between others.
        return other.state == "ok" and (other.first_sequence or 0) >= one.since
    return one.state == other.state and one.fields == other.fields


def _in_order(lines: list[JournalLine], problems: list[str]) -> list[JournalLine]:
    """Order by `s`; a line without one stays behind the line before it."""
    keyed: list[tuple[int, JournalLine]] = []
    place = -1
    misplaced: list[int] = []
    for line in lines:
        first, last = line.first_sequence, line.sequence
        if first is not None and last is not None:
            if keyed and first < place:
                misplaced.append(line.number)
            place = last
        keyed.append((place, line))
    if not misplaced:
        return lines
    problems.extend(f"line {n}: it is out of order" for n in misplaced)
    return [line for _, line in sorted(keyed, key=lambda pair: pair[0])]


def _is_folder(entry: os.DirEntry[str]) -> bool:
    """Whether it is one, or a link to one; a link to itself holds nothing."""
    try:
        return entry.is_dir()
    except OSError:
        return False


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as entries:
            return list(entries)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise StoreError(
            f"cannot list {shown(str(folder))}: {in_text(error)}"
        ) from None
