"""Copies of a diary that file syncing left beside it: read with it, each line once.

Owns which names are such copies, which of their lines the diary lacks, and where
these stand among its own. Refuses to remove a copy, and to know what lines mean.

A line is the same in two files if it says the same there, whatever its number; equal
lines of one file are counted. What only a copy holds stands behind the line that it
follows there and behind whatever was written before it, by the wall time of lines. It
gets the next number of the diary, and what an undo takes back is renumbered.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from datetime import datetime
from itertools import chain
from pathlib import Path
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.text import shown
from whistlestop.errors import StoreError
from whistlestop.store.diary.file import (
    BEFORE_ALL,
    DIARY_FORMAT,
    DiaryLines,
    append_with,
    parsed,
    read_diary,
)
from whistlestop.store.journal.file import MAX_FILE_BYTES
from whistlestop.store.journal.line import JournalLine
from whistlestop.store.places import in_text, read_regular

# How sync tools name the copy that lost, from memory; and a bare number for a twin.
_CONFLICT: Final = re.compile(r"conflict|conflit|konflikt", re.IGNORECASE)
_NUMBERED: Final = re.compile(r"[ _-]?\(?\d{1,3}\)?\.jsonl", re.ASCII)
_HEADS: Final = frozenset({"diary", "decisions"})
_PLACE_ONLY: Final = frozenset({"s", "after"})


@dataclass(frozen=True, slots=True)
class ConflictCopy:
    """A copy as read: its lines that count, and how many the diary lacks."""

    path: Path
    lines: int = 0
    missing: int = 0
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DiaryWithCopies:
    """The lines of a diary and of its copies, each once, in the order to be read."""

    lines: tuple[JournalLine, ...] = ()
    own: DiaryLines = field(default_factory=DiaryLines)
    copies: tuple[ConflictCopy, ...] = ()

    @property
    def missing(self) -> int:
        """How many lines only the copies hold."""
        return sum(copy.missing for copy in self.copies)

    @property
    def problems(self) -> tuple[str, ...]:
        """What is wrong with the files, and which copies hold more, in sentences."""
        named = [*self.own.problems, *(p for c in self.copies for p in c.problems)]
        named += [
            f"{missing_text(copy)}; `log merge` writes them into it"
            for copy in self.copies
            if copy.missing
        ]
        return tuple(named)


def missing_text(copy: ConflictCopy) -> str:
    """Say what only a copy holds."""
    lines = "1 line" if copy.missing == 1 else f"{copy.missing} lines"
    return f"{shown(copy.path.name, 80)}: {lines} more than the diary, read with it"


def likenesses(path: Path) -> tuple[Path, ...]:
    """All files beside a diary whose names begin and end like its own.

    Raises:
        StoreError: The folder is there and cannot be listed.
    """
    stem, begins = path.name, path.name.removesuffix(".jsonl").casefold()
    try:
        found = [each for each in path.parent.iterdir() if each.name != stem]
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise StoreError(
            f"cannot list {shown(str(path.parent))}: {in_text(error)}"
        ) from None
    alike = [p for p in found if p.name.casefold().startswith(begins)]
    return tuple(sorted(p for p in alike if ".jsonl" in p.name.casefold()))


def conflict_copies(path: Path) -> tuple[Path, ...]:
    """The copies that file syncing left of a diary, by their names, in order.

    Others, such as what an editor keeps of an earlier state, are not among them:
    what was taken out by hand is not to come back.

    Raises:
        StoreError: The folder is there and cannot be listed.
    """
    begins = len(path.name.removesuffix(".jsonl"))
    return tuple(
        each
        for each in likenesses(path)
        if _CONFLICT.search(each.name) or _NUMBERED.fullmatch(each.name[begins:])
    )


def read_with_copies(path: Path) -> DiaryWithCopies:
    """Read a diary and its conflict copies; a copy that cannot be read is named.

    Raises:
        StoreError: The diary itself cannot be read, or the folder not listed.
    """
    return _merged(read_diary(path), conflict_copies(path))


def take_over(path: Path) -> DiaryWithCopies:
    """Append to a diary what only its copies hold; the copies stay as they are.

    Returns:
        The state before, with the number of lines that each copy had more.

    Raises:
        StoreError: A file cannot be read, or the disk does not take it; then the
            diary is as it was.
    """
    before = read_with_copies(path)
    if not before.missing:
        return before
    copies = conflict_copies(path)

    def make(found: DiaryLines) -> list[Mapping[str, Any]]:
        nonlocal before
        before = _merged(found, copies)
        return list(_additions(before))

    append_with(path, make)
    return before


def _additions(merged: DiaryWithCopies) -> list[Mapping[str, Any]]:
    """What is to be appended so that the diary alone reads as it does with copies."""
    added: list[Mapping[str, Any]] = []
    behind = BEFORE_ALL
    for line in merged.lines:
        if line.file:
            added.append({**line.fields, "after": behind})
        behind = behind if line.sequence is None else line.sequence
    return sorted(added, key=lambda fields: int(fields["s"]))


def stamp_of(path: Path) -> tuple[object, ...]:
    """What changes whenever a diary or its copies change: for caches of them.

    Raises:
        StoreError: The folder is there and cannot be listed.
    """
    stamps: list[object] = []
    for each in (path, *conflict_copies(path)):
        try:
            status = each.stat()
        except OSError:
            stamps.append((each.name, None))
            continue
        stamps.append((each.name, status.st_ino, status.st_size, status.st_mtime_ns))
    return tuple(stamps)


def _merged(own: DiaryLines, copies: Sequence[Path]) -> DiaryWithCopies:
    if not copies:
        return DiaryWithCopies(own.lines, own)
    merging = _Merging(own)
    read = tuple(merging.take(path) for path in copies)
    return DiaryWithCopies(tuple(merging.lines), own, read)


class _Merging:
    """Lines in order, while those of one copy after the other are put among them."""

    def __init__(self, own: DiaryLines) -> None:
        self.lines = list(own.lines)
        self._keys = _keys(self.lines)
        self._next = own.next_sequence
        self._known = {
            key: line.sequence
            for key, line in zip(self._keys, self.lines, strict=True)
            if key
        }
        self._by_hand = {_spot(x): x.state for x in self.lines if x.counts}

    def take(self, path: Path) -> ConflictCopy:
        """Put in what is new in one copy; a copy that cannot be read is named."""
        try:
            found = parsed(read_regular(path, MAX_FILE_BYTES), path.name)
        except StoreError as error:
            return ConflictCopy(path, problems=(str(error),))
        counted = [line for line in found.lines if line.counts]
        later = [x for x in counted if x.kind in _HEADS and not _is_known_format(x)]
        if later:
            text = "it is of a later format, and not read"
            return ConflictCopy(path, problems=(f"{later[0].place}: {text}",))
        problems = _named(found, path.name)
        missing = self._put_in(counted, problems)
        return ConflictCopy(path, len(counted), missing, tuple(problems))

    def _put_in(self, counted: Sequence[JournalLine], problems: list[str]) -> int:
        missing = 0
        # Nothing stands before the line that names the format.
        at = int(bool(self.lines) and self.lines[0].kind in _HEADS)
        keys = _keys(counted)
        numbers: dict[int | None, int | None] = {}
        for line, key in zip(counted, keys, strict=True):
            if key in self._known:
                at = self._behind(key, at)
                numbers[line.sequence] = self._known[key]
                continue
            if line.kind in _HEADS and self.lines:
                continue
            state = self._by_hand.get(_spot(line))
            if state is not None and "edited" in {state, line.state}:
                problems.append(f"{line.place}: changed by hand; the diary's stands")
                numbers[line.sequence] = line.sequence
                continue
            made = self._numbered(line, numbers)
            if made is None:
                problems.append(f"{line.place}: what it undoes cannot be read")
                continue
            at = self._insert(made, key, at)
            numbers[line.sequence] = made.sequence
            missing += line.kind not in _HEADS
        return missing

    def _behind(self, key: str, at: int) -> int:
        """The place behind a line that is known; it is looked for from `at` on."""
        for found in chain(range(at, len(self._keys)), range(at)):
            if self._keys[found] == key:
                return max(at, found + 1)
        return at

    def _numbered(
        self, line: JournalLine, numbers: Mapping[int | None, int | None]
    ) -> JournalLine | None:
        fields = {k: v for k, v in line.fields.items() if k != "after"}
        fields["s"] = self._next
        if line.kind == "undo":
            of = fields.get("of")
            known = numbers.get(of) if isinstance(of, int) else None
            if known is None:
                return None
            fields["of"] = known
        self._next += 1
        return replace(line, fields=fields)

    def _insert(self, line: JournalLine, key: str, at: int) -> int:
        moment = _moment(line)
        if moment is not None:
            while at < len(self.lines) and _is_by(self.lines[at], moment):
                at += 1
        self.lines.insert(at, line)
        self._keys.insert(at, key)
        self._known[key] = line.sequence
        return at + 1


def _keys(lines: Sequence[JournalLine]) -> list[str]:
    """What each line says, whatever its number; "" for one that does not count."""
    keys: list[str] = []
    # Imported here: most diaries have no copies.
    from hashlib import sha256

    by_number: dict[int, str] = {}
    seen: Counter[str] = Counter()
    for line in lines:
        if not line.counts:
            keys.append("")
            continue
        fields = {k: v for k, v in line.fields.items() if k not in _PLACE_ONLY}
        of = fields.get("of")
        if line.kind == "undo" and isinstance(of, int):
            fields["of"] = by_number.get(of, "")
        text = json.dumps(fields, sort_keys=True, ensure_ascii=False)
        seen[text] += 1
        key = sha256(f"{seen[text]} {text}".encode()).hexdigest()
        keys.append(key)
        if line.sequence is not None:
            by_number.setdefault(line.sequence, key)
    return keys


def _spot(line: JournalLine) -> tuple[int | None, str, object]:
    return line.sequence, line.kind, line.fields.get("wall")


def _is_known_format(head: JournalLine) -> bool:
    version = head.fields.get("format")
    return not isinstance(version, int) or version <= DIARY_FORMAT


def _named(found: DiaryLines, name: str) -> list[str]:
    whose = shown(name, 80)
    named = (*found.problems, *found.cut_off)
    return [p if p.startswith(whose) else f"{whose}: {p}" for p in named]


def _is_by(line: JournalLine, moment: datetime) -> bool:
    """Whether a line was written by a moment; one without a time was."""
    own = _moment(line)
    return own is None or own <= moment


def _moment(line: JournalLine) -> datetime | None:
    try:
        found = datetime.fromisoformat(str(line.fields.get("wall")))
    except ValueError:
        return None
    return None if found.tzinfo is None else found
