"""When something failed that nobody foresaw: a sentence, and the details in a file."""

from __future__ import annotations

import traceback
from pathlib import Path
from typing import Final

from whistlestop.errors import StoreError
from whistlestop.files import private
from whistlestop.store.places import Places

_MOST_BYTES: Final = 200_000


def fault_text(error: BaseException, places: Places | None) -> str:
    """Say in one line that something failed; write the traceback to the state folder.

    The traceback holds no values: what was typed or logged stays out of it.
    """
    path = None if places is None else fault_file(error, places)
    where = f"; details: {path}" if path else ""
    return f"whistlestop: unexpected error ({type(error).__name__}){where}"


def fault_file(error: BaseException, places: Places) -> Path | None:
    """Write a traceback behind those before it; None where the disk does not take it.

    A file that has grown long begins again with the newest.
    """
    text = "".join(traceback.format_exception(error))
    try:
        path = places.ensure(places.state) / "fault.txt"
        is_long = path.exists() and path.stat().st_size > _MOST_BYTES
        mode = "w" if is_long else "a"
        with open(path, mode, encoding="utf-8", opener=private) as file:
            file.write(f"{text}\n")
    except (OSError, StoreError):
        return None
    return path
