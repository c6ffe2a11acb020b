"""When something failed that nobody foresaw: a sentence, and the details in a file."""

from __future__ import annotations

import traceback
from pathlib import Path

from whistlestop.errors import StoreError
from whistlestop.files import private
from whistlestop.store.places import Places


def fault_words(error: BaseException, places: Places | None) -> str:
    """Say in one line that something failed; keep the traceback in the state folder.

    The traceback holds no values: what was typed or logged stays out of it.
    """
    kept = None if places is None else _keep(error, places)
    where = f"; details: {kept}" if kept else ""
    return f"whistlestop: unexpected error ({type(error).__name__}){where}"


def _keep(error: BaseException, places: Places) -> Path | None:
    try:
        report = places.ensure(places.state) / "fault.txt"
        with open(report, "w", encoding="utf-8", opener=private) as file:
            file.writelines(traceback.format_exception(error))
    except (OSError, StoreError):
        return None
    return report
