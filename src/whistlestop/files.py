"""How a folder or a file of the program comes to be: for its owner only, and to stay.

The one place that makes either; a test looks for others. A log says when somebody was
at home and how they felt, and so do its index, its caches and whatever is exported.
Refuses to know what a file holds, and never asks for the mode of a folder that was
there already.
"""

from __future__ import annotations

import errno
import os
import stat
import sys
from contextlib import suppress
from pathlib import Path
from typing import Final

FOLDER_MODE: Final = 0o700
FILE_MODE: Final = 0o600
_OTHERS: Final = stat.S_IRWXG | stat.S_IRWXO


def make_folder(folder: Path) -> None:
    """Make a folder and those above it that are missing, each durable in its parent.

    One that is there already is left as it is.

    Raises:
        OSError: It cannot be made, or is there and is no folder.
    """
    try:
        # Not `parents=True`: those above would get the mode that the umask leaves.
        folder.mkdir(mode=FOLDER_MODE)
    except FileNotFoundError:
        if folder.parent == folder:
            raise
        make_folder(folder.parent)
        make_folder(folder)
    except OSError:
        # The system may say 'read-only' or 'refused' of a folder that is there.
        if not folder.is_dir():
            raise
    else:
        try:
            sync_folder(folder.parent)
        except OSError:
            # Else the next try would find it there and take it for durable.
            with suppress(OSError):
                folder.rmdir()
            raise


def private(path: str | Path, flags: int) -> int:
    """Open a file, made for its owner only where it is missing; for `open(opener=…)`.

    One that is there and lets others in no longer does; devices and pipes stay as
    they are.

    Raises:
        OSError: As `os.open`.
    """
    fd = os.open(path, flags | os.O_CREAT, FILE_MODE)
    if hasattr(os, "fchmod"):
        with suppress(OSError):
            mode = os.fstat(fd).st_mode
            if stat.S_ISREG(mode) and mode & _OTHERS:
                os.fchmod(fd, FILE_MODE)
    return fd


def make_file(path: Path) -> None:
    """Make an empty file, unless it is there; either way it lets nobody else in.

    For what a library opens by its name. One that is there is not opened: closing it
    again would end the locks that this process has on it (POSIX, fcntl).

    Raises:
        OSError: It cannot be made.
    """
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL
    try:
        os.close(os.open(path, flags, FILE_MODE))
    except FileExistsError:
        close_to_others(path)


def close_to_others(path: Path) -> None:
    """Take away what others may do with a file or folder; links stay as they are.

    What cannot be changed, such as somebody else's, stays as well.
    """
    with suppress(OSError):
        mode = path.lstat().st_mode
        if not mode & _OTHERS:
            return
        if stat.S_ISDIR(mode):
            path.chmod(FOLDER_MODE)
        elif stat.S_ISREG(mode):
            path.chmod(FILE_MODE)


def sync_file(fd: int) -> None:
    """Bring a file to the medium. From memory: macOS needs F_FULLFSYNC for that.

    Raises:
        OSError: The disk did not take it.
    """
    if sys.platform == "darwin":
        import fcntl

        with suppress(OSError):
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)
            return
    getattr(os, "fdatasync", os.fsync)(fd)


def sync_folder(folder: Path) -> None:
    """Bring new names in a folder to the medium, where a system offers that.

    A folder that may be entered and not be read offers no way to ask for it.

    Raises:
        OSError: The disk did not take it.
    """
    if sys.platform == "win32":
        return
    try:
        fd = os.open(folder, os.O_RDONLY)
    except PermissionError:
        return
    try:
        os.fsync(fd)
    except OSError as error:
        if error.errno not in {errno.EINVAL, errno.ENOTSUP, errno.EBADF}:
            raise
    finally:
        os.close(fd)
