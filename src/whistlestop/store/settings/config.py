"""The person's settings (config.toml, theirs) and what the program remembers.

A bad file never stops the program: what is wrong in it is named, and its default
holds. Refuses to know what a key, a theme or an engine does.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.text import first_hostile, shown
from whistlestop.errors import Problem, ProblemsFound, StoreError
from whistlestop.store.places import in_text, read_regular, replace_file
from whistlestop.store.settings.values import LoadedSettings, Settings

if TYPE_CHECKING:
    from whistlestop.store.table.toml_places import TomlDocument

_TEXT_LIMIT: Final = 400


@dataclass(frozen=True, slots=True)
class RememberedState:
    """What the program itself saves between two starts.

    `notice_acknowledged` is the ISO 8601 time at which the safety notice was
    acknowledged; `last_circuit` is an id or a path, as it was given; `offered` the id
    of a session broken off before its first work, once it was offered to be resumed.
    """

    notice_acknowledged: str | None = None
    last_circuit: str | None = None
    offered: str | None = None


def load_settings(path: Path) -> LoadedSettings:
    """Read config.toml. Never raises; a file that is not there is no problem."""
    try:
        # A link that leads nowhere is there, and is a problem.
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return LoadedSettings(Settings())
    except OSError as error:
        problem = Problem(shown(str(path)), 0, 0, f"cannot be read: {in_text(error)}")
        return LoadedSettings(Settings(), (problem,))
    try:
        document = _document(path)
    except ProblemsFound as found:
        return LoadedSettings(Settings(), found.problems)
    except StoreError as error:
        problem = Problem(shown(str(path)), 0, 0, error.message)
        return LoadedSettings(Settings(), (problem,))
    # Imported here: most homes have no file of settings, and it is heavy.
    from whistlestop.store.settings.judging import TolerantJudge

    judge = TolerantJudge(document)
    return LoadedSettings(judge.read(Settings), tuple(sorted(judge.problems)))


def read_remembered(path: Path) -> RememberedState:
    """Read what is remembered. Never raises: what is unclear is forgotten."""
    try:
        values = _document(path).values
    except (ProblemsFound, StoreError):
        return RememberedState()
    acknowledged = _remembered_text(values.get("notice_acknowledged"))
    if acknowledged is not None:
        try:
            datetime.fromisoformat(acknowledged)
        except ValueError:
            acknowledged = None
    return RememberedState(
        acknowledged,
        _remembered_text(values.get("last_circuit")),
        _remembered_text(values.get("offered")),
    )


def write_remembered(path: Path, remembered: RememberedState) -> None:
    """Write what is remembered: the whole file or, on failure, none of it.

    Raises:
        StoreError: The disk does not take it; the old file still stands.
    """
    # Imported here: most starts remember nothing new.
    import tomli_w

    values = {k: v for k, v in asdict(remembered).items() if v is not None}
    try:
        replace_file(path, tomli_w.dumps(values).encode())
    except (OSError, UnicodeEncodeError) as error:
        why = in_text(error) if isinstance(error, OSError) else "not plain text"
        raise StoreError(f"cannot write {shown(str(path))}: {why}") from None


def _remembered_text(value: object) -> str | None:
    if not isinstance(value, str) or not 0 < len(value) <= _TEXT_LIMIT:
        return None
    return None if first_hostile(value) else value


def _document(path: Path) -> TomlDocument:
    from whistlestop.store.table.toml_places import MAX_BYTES, parse_toml

    name = shown(str(path))
    data = read_regular(path, MAX_BYTES)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = "the file is not UTF-8 text"
        raise ProblemsFound((Problem(name, line, 1, what),)) from None
    return parse_toml(text, name=name)
