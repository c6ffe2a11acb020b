"""What earlier versions left open to other users of the machine, closed at a start.

They made the log's own folder, the cache of spoken sentences and the index with
whatever mode the umask left. Looks only where the program makes what lies there: its
own folders of the platform, and log, cache and state of a home. The mode of a home is
for its maker to choose; so is that of circuits and tones, which people put
there themselves and may share.
"""

from __future__ import annotations

import os
import re
import stat
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final

from whistlestop.files import close_to_others
from whistlestop.store.places import Places

_YEAR: Final = re.compile(r"[0-9]{4}", re.ASCII)
_OTHERS: Final = stat.S_IRWXG | stat.S_IRWXO


def close_old_ones(places: Places) -> None:
    """Take from others what they may do with log, index, caches and state.

    Costs a look at some folders and at the few files of cache and state; at those of
    the log and at spoken sentences only where a folder of them was open. What cannot
    be changed stays.
    """
    if sys.platform == "win32":
        return
    if places.home is None:
        for folder in (places.log.parent, places.config_file.parent):
            close_to_others(folder)
    # There may be thousands. Journals were always made private, and sentences lay in
    # an open folder if they were open: in a closed one there is nothing to find.
    for folder in (*_and_years(places.log), places.cache / "voice"):
        if _is_open(folder):
            _close_files(folder)
            # Last, so that a start that is cut short is made good by the next.
            close_to_others(folder)
    # These were closed, and what lay in them was not.
    for folder in (places.cache, places.state):
        _close_files(folder)
        close_to_others(folder)


def _and_years(log: Path) -> Iterator[Path]:
    """The folders of the log, its own last; none where somebody put a link for it."""
    if log.is_symlink():
        return
    with suppress(OSError), os.scandir(log) as entries:
        yield from [
            log / entry.name for entry in entries if _YEAR.fullmatch(entry.name)
        ]
    yield log


def _is_open(folder: Path) -> bool:
    with suppress(OSError):
        mode = folder.lstat().st_mode
        return stat.S_ISDIR(mode) and bool(mode & _OTHERS)
    return False


def _close_files(folder: Path) -> None:
    if folder.is_symlink():
        return
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            with suppress(OSError):
                if entry.is_file(follow_symlinks=False):
                    close_to_others(Path(entry.path))
