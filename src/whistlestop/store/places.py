"""Where everything lies, and how bytes get there to stay.

One home folder, or the folders the platform has for it. Creates nothing before it
is asked to write. Refuses to know what the files hold.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from whistlestop.domain.text import shown
from whistlestop.errors import StoreError
from whistlestop.files import make_folder, private, sync_file, sync_folder

HOME_VARIABLE: Final = "WHISTLESTOP_HOME"
_APP: Final = "whistlestop"
_PIECE_BYTES: Final = 1024 * 1024
_WORDS: Final[Mapping[int, str]] = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk quota is used up",
    errno.EROFS: "the disk is read-only",
    errno.EACCES: "access is refused",
    errno.EPERM: "access is refused",
    errno.ENOENT: "it is not there",
    errno.ENOTDIR: "there is a file where a folder should be",
    errno.EISDIR: "there is a folder where a file should be",
    errno.EEXIST: "something of that name is there already",
    errno.EFBIG: "the file may not grow any further",
    errno.EIO: "the disk reports a fault",
    errno.ELOOP: "its links lead in a circle",
    errno.ENAMETOOLONG: "its name is too long",
    errno.EPIPE: "nobody reads it any more",
}


def in_text(error: OSError) -> str:
    """Say what the system refused, in words for a person; no path, no number."""
    known = _WORDS.get(error.errno or 0)
    return known or shown(error.strerror or "the system refused", 120)


class Places:
    """Every folder and file of one home.

    With `home`, or with WHISTLESTOP_HOME set, all of them lie under that folder;
    else they lie where the platform keeps data, settings, cache and state.
    """

    def __init__(
        self, home: Path | None = None, *, environ: Mapping[str, str] | None = None
    ) -> None:
        """Resolve the folders without touching the disk beyond a look at `home`.

        Raises:
            StoreError: `home` is no usable name, or is there and is no folder.
        """
        variable = (os.environ if environ is None else environ).get(HOME_VARIABLE, "")
        if home is None and variable:
            home = Path(variable)
        self.home: Path | None = None if home is None else _home(home)
        if self.home is not None:
            data = config = state = self.home
            self.cache = self.home / "cache"
            self.state = self.home / "state"
        else:
            # Imported here: only a start without --home pays for it.
            from platformdirs import PlatformDirs

            own = PlatformDirs(_APP, appauthor=False)
            data, config = own.user_data_path, own.user_config_path
            self.cache = own.user_cache_path
            # A lock in a synced or shared data folder would be no lock.
            self.state = state = own.user_state_path
        self.circuits = data / "circuits"
        self.wishes = data / "wishes"
        self.sounds = data / "sounds"
        self.log = data / "log"
        self.library = data
        self.kit_file = data / "kit.toml"
        self.limits_file = data / "limits.toml"
        self.weeks_file = data / "weeks.toml"
        self.plan_file = data / "plan.toml"
        self.config_file = config / "config.toml"
        self.athletes_file = config / "athletes.toml"
        self.run_lock = state / "run.lock"
        self.remembered_file = self.state / "remembered.toml"

    def ensure(self, folder: Path) -> Path:
        """Create a folder, for its owner only, and make sure it can be written to.

        Returns:
            The folder.

        Raises:
            StoreError: It is no folder, cannot be made or may not be written to.
        """
        try:
            make_folder(folder)
        except OSError as error:
            # mkdir says EEXIST for a file and for a link that leads nowhere.
            why = in_text(error)
            if error.errno == errno.EEXIST:
                why = "there is a file where a folder should be"
            raise StoreError(_cannot("make the folder", folder, why)) from None
        if not os.access(folder, os.W_OK | os.X_OK):
            raise StoreError(
                _cannot("write to the folder", folder, "it is not writable")
            )
        return folder


def read_regular(path: Path, most_bytes: int) -> bytes:
    """Read a whole file that may come from anybody.

    Raises:
        StoreError: It is not there, is no ordinary file, is longer than
            `most_bytes` or cannot be read.
    """
    return b"".join(regular_chunks(path, most_bytes))


def regular_chunks(path: Path, most_bytes: int) -> Iterator[bytes]:
    """Read a file that may come from anybody, in pieces of 1 MiB at most.

    Raises:
        StoreError: As `read_regular`, at whatever piece that shows.
    """
    # O_NONBLOCK: a pipe of that name must not hang the program.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        with open(os.open(path, flags), "rb") as file:  # noqa: PTH123 - a descriptor
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise StoreError(_cannot("read", path, "not an ordinary file"))
            left = most_bytes + 1
            while left and (piece := file.read(min(left, _PIECE_BYTES))):
                left -= len(piece)
                yield piece
    except OSError as error:
        raise StoreError(_cannot("read", path, in_text(error))) from None
    except ValueError:
        raise StoreError(f"{shown(str(path))} is not a file name") from None
    if not left:
        raise StoreError(
            _cannot("read", path, f"it is larger than {_size(most_bytes)}")
        )


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet, durably, readable by its owner only.

    Raises:
        OSError: It is there already, or the disk refuses it.
    """
    make_folder(path.parent)
    try:
        with open(path, "xb", opener=private) as file:
            file.write(data)
            file.flush()
            sync_file(file.fileno())
    except FileExistsError:
        raise
    except OSError:
        with suppress(OSError):
            path.unlink()
        raise
    sync_folder(path.parent)


def replace_file(path: Path, data: bytes) -> None:
    """Put new contents in the place of a file: all of them or none, durably.

    Raises:
        OSError: The disk refuses it; the old contents are still there.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.new")
    # Only a process of this number can have left one, and it is gone.
    beside.unlink(missing_ok=True)
    write_new(beside, data)
    try:
        beside.replace(path)
    except OSError:
        with suppress(OSError):
            beside.unlink()
        raise
    sync_folder(path.parent)


def _home(home: Path) -> Path:
    text = str(home)
    if "\0" in text:
        raise StoreError(f"{shown(text)} is not a folder name")
    try:
        home = home.expanduser().absolute()
        is_there, is_folder = home.exists(), home.is_dir()
    except (OSError, RuntimeError) as error:
        why = in_text(error) if isinstance(error, OSError) else "it has no owner"
        raise StoreError(_cannot("use the home folder", home, why)) from None
    if is_there and not is_folder:
        raise StoreError(
            _cannot("use the home folder", home, "it is a file"),
            "name a folder with --home",
        )
    if is_there and not os.access(home, os.X_OK):
        raise StoreError(_cannot("enter the home folder", home, "access is refused"))
    return home


def _size(count: int) -> str:
    mebibyte = 1024 * 1024
    whole = count % mebibyte == 0
    return f"{count // mebibyte} MiB" if whole else f"{count // 1024} KiB"


def _cannot(act: str, path: Path, why: str) -> str:
    return f"cannot {act} {shown(str(path))}: {why}"
