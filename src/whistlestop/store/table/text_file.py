"""Reading a text file that may come from anybody.

Owns the safe opening: never a device, never a wait, never more than is allowed.
Refuses to know what the text means.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

from whistlestop.domain.text import shown
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.table.toml_places import MAX_BYTES


def read_text(path: Path) -> str:
    """Read a regular UTF-8 file of at most 64 KiB; never waits, never a device.

    Raises:
        ProblemsFound: It is none of this; the one problem says what.
    """
    name = shown(str(path))
    try:
        data = _read_bytes(path)
    except FileNotFoundError:
        what = "there is no such file"
    except PermissionError:
        what = "the file may not be read"
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        what = f"the file cannot be read: {shown(reason, 120)}"
    else:
        return _decoded(data, name)
    raise ProblemsFound((Problem(name, 0, 0, what),))


def _read_bytes(path: Path) -> bytes:
    # Judged before it is opened, since opening alone may act on a device, and
    # again afterwards, since it may have been exchanged in between.
    _require_regular(path.stat().st_mode)
    flags = os.O_RDONLY
    for flag in ("O_NONBLOCK", "O_CLOEXEC", "O_NOCTTY", "O_BINARY"):
        flags |= getattr(os, flag, 0)
    number = os.open(path, flags)
    with os.fdopen(number, "rb") as file:
        _require_regular(os.fstat(number).st_mode)
        return file.read(MAX_BYTES + 1)


def _require_regular(mode: int) -> None:
    if stat.S_ISDIR(mode):
        raise ValueError("it is a folder")
    if not stat.S_ISREG(mode):
        raise ValueError("it is not a regular file")


def _decoded(data: bytes, name: str) -> str:
    if len(data) > MAX_BYTES:
        what = "the file is too large"
        raise ProblemsFound((Problem(name, 0, 0, what, "64 KiB at most"),))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # utf-8-sig counts from behind the mark, so the mark is cut off here too.
        body = data.removeprefix(b"\xef\xbb\xbf")
        before = body[: error.start].decode("utf-8", "replace")
        line = before.count("\n") + 1
        column = len(before) - (before.rfind("\n") + 1) + 1
        what = f"the byte 0x{body[error.start]:02x} is not UTF-8"
        problem = Problem(name, line, column, what, "text in UTF-8")
        raise ProblemsFound((problem,)) from None
