"""Finds what can speak on this machine, and in which languages.

Owns the search, and loads nothing: the library is only looked at here, because
it may take its whole process down. Speaking is done in the child (`speaking`).
"""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from whistlestop.sound.surroundings import engine_environment
from whistlestop.sound.voice.phrases import EngineKind

COMMAND: Final = "espeak-ng"
PACKAGE: Final = "espeakng_loader"
LIBRARIES: Final = ("libespeak-ng.so", "libespeak-ng.dylib", "espeak-ng.dll")
DATA: Final = "espeak-ng-data"
CHOICES: Final = ("auto", "command", "library", "none")
ENGLISH: Final = ("en-gb", "en-us", "en")
LIST_LIMIT_S: Final = 3.0
HINT: Final = (
    "To hear sentences, install the program espeak-ng with your system's package "
    "manager, or whistlestop with its extra 'voice'."
)
_TAG: Final = re.compile(r"[a-z]{2,4}(-[a-z0-9]{1,8})*")


@dataclass(frozen=True, slots=True)
class VoiceEngine:
    """Something that speaks: the command's path, or the library's folder."""

    kind: EngineKind
    where: str
    languages: tuple[str, ...]


def find_engine(choice: str = "auto") -> VoiceEngine | None:
    """Find the first engine that speaks English at least, the command before all.

    `choice` is one of CHOICES. The command is asked for its voices, 20 ms where
    measured and at most 3 s; the library is not loaded.
    """
    searches = {"command": _command, "library": _library}
    for kind, search in searches.items():
        if choice in ("auto", kind):
            engine = search()
            if engine is not None and closest("en-gb", engine.languages):
                return engine
    return None


def library_file(folder: Path) -> Path | None:
    """Find the shared library in the loader's folder."""
    return next((folder / n for n in LIBRARIES if (folder / n).is_file()), None)


def closest(wanted: str, languages: Sequence[str]) -> str | None:
    """Choose the wanted language, else its plain form, else English, else None."""
    tag = wanted.strip().lower().replace("_", "-")
    for candidate in (tag, tag.partition("-")[0], *ENGLISH):
        if candidate in languages:
            return candidate
    return None


def languages_of_table(table: str) -> tuple[str, ...]:
    """Read the languages from what the command answers to `--voices`.

    The second column, one voice a line. Voices that need data of another engine
    (folder `mb`) are left out: they are listed even where that is missing.
    """
    found: set[str] = set()
    for line in table.splitlines()[1:]:
        fields = line.split()
        if len(fields) >= 5 and not fields[4].startswith("mb/"):
            found.update(_tags(fields[1:2]))
    return tuple(sorted(found))


def languages_of_data(data: Path) -> tuple[str, ...]:
    """Read the languages from the voice files of the library's data folder."""
    found: set[str] = set()
    for path in sorted((data / "lang").rglob("*")):
        with suppress(OSError):
            if path.is_file():
                lines = path.read_text("utf-8", errors="replace").splitlines()
                # The first language of a voice is its own, the rest are fallbacks.
                own = (line.split() for line in lines if line.startswith("language"))
                found.update(_tags(next(own, [])[1:2]))
    return tuple(sorted(found))


def _tags(words: Sequence[str]) -> list[str]:
    return [word.lower() for word in words if _TAG.fullmatch(word.lower())]


def _command() -> VoiceEngine | None:
    where = shutil.which(COMMAND)
    if where is None:
        return None
    try:
        answer = subprocess.run(
            [where, "--voices"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=engine_environment(os.environ),
            timeout=LIST_LIMIT_S,
            check=False,
        )
    except (OSError, subprocess.SubprocessError):
        return None
    table = answer.stdout.decode("utf-8", errors="replace")
    return VoiceEngine("command", where, languages_of_table(table))


def _library() -> VoiceEngine | None:
    try:
        spec = importlib.util.find_spec(PACKAGE)
    except (ImportError, ValueError):
        return None
    folders = spec.submodule_search_locations if spec else None
    for folder in map(Path, folders or ()):
        if library_file(folder) is not None:
            return VoiceEngine("library", str(folder), languages_of_data(folder / DATA))
    return None
