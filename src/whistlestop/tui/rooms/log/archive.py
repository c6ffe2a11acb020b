"""One archive of everything, written or put back, and what the Log room says of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from whistlestop.store.backup import (
    RestoreResult,
    restore_backup,
    try_restore,
    write_backup,
)
from whistlestop.store.places import Places
from whistlestop.tui.rooms.frame.words import counted

ASKED = "Back up to a new file; the path of an archive that is there puts it back."


@dataclass(frozen=True, slots=True)
class ArchiveAnswer:
    """What came of it, in a sentence; `archive` is one that can be put back now."""

    text: str
    archive: Path | None = None


def default_archive(today: date) -> str:
    """Where a backup goes if nothing else is typed: the present folder."""
    return str(Path.cwd() / f"whistlestop-backup-{today:%Y%m%d}.tar.gz")


def take_archive(places: Places, path: Path) -> ArchiveAnswer:
    """Write a backup to a new file; try the archive that is there, without a change.

    Raises:
        StoreError: It cannot be written, or is no whole archive.
    """
    if not path.exists():
        made = write_backup(places, path)
        files = counted(len(made.files), "file")
        return ArchiveAnswer(f"{files} in {path}, read back and whole.")
    found = try_restore(places, path)
    if not found.put:
        text = f"The archive is whole; nothing of it is missing here.{_stays(found)}"
        return ArchiveAnswer(text)
    files = counted(len(found.put), "file")
    text = f"The archive is whole: {files} to put back.{_stays(found)} Type yes."
    return ArchiveAnswer(text, path)


def put_back(places: Places, archive: Path) -> ArchiveAnswer:
    """Put back what is missing here.

    Raises:
        StoreError: The archive is not whole any more, or the disk is full.
    """
    done = restore_backup(places, archive)
    return ArchiveAnswer(f"{counted(len(done.put), 'file')} put back.{_stays(done)}")


def _stays(found: RestoreResult) -> str:
    if not found.different:
        return ""
    files = counted(len(found.different), "file")
    return f" {files} here differ from it and stay as they are."
