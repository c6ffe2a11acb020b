"""The diary as last read, cached while its files do not change.

A diary of ten years takes as long to read as everything else that a list needs.
Refuses to know what is in it.
"""

from __future__ import annotations

from pathlib import Path

from whistlestop.dataclass import dataclass
from whistlestop.review.diary import Diary, fold
from whistlestop.store.diary.copies import DiaryWithCopies, read_with_copies, stamp_of


@dataclass(frozen=True, slots=True)
class _CachedLines:
    stamp: tuple[object, ...]
    lines: DiaryWithCopies
    diary: Diary | None = None


class DiaryCache:
    """The diary of one log folder; two threads may both read it, and no more."""

    def __init__(self, path: Path) -> None:
        """Prepare; nothing is read yet."""
        self._path = path
        self._kept: _CachedLines | None = None

    def lines(self) -> DiaryWithCopies:
        """Its lines and those of its conflict copies.

        Raises:
            StoreError: It cannot be read.
        """
        return self._now().lines

    def diary(self, lines: DiaryWithCopies) -> Diary:
        """The state after some lines that `lines` gave.

        Raises:
            StoreError: They are of a later format.
        """
        kept = self._kept
        if kept is not None and kept.lines is lines and kept.diary is not None:
            return kept.diary
        folded = fold(lines.lines)
        if kept is not None and kept.lines is lines:
            self._kept = _CachedLines(kept.stamp, lines, folded)
        return folded

    def _now(self) -> _CachedLines:
        # Before reading: what is appended meanwhile is found next time.
        stamp = stamp_of(self._path)
        kept = self._kept
        if kept is None or kept.stamp != stamp:
            kept = self._kept = _CachedLines(stamp, read_with_copies(self._path))
        return kept
