"""Circuits that were done from a file elsewhere: their text is in the journal."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from whistlestop.domain.text import shown
from whistlestop.errors import UsageError

if TYPE_CHECKING:
    from whistlestop.driver.services import Services


def without_file(services: Services, done: Iterable[str]) -> frozenset[str]:
    """The ids of those that are not among the athlete's circuits, by file names."""
    folders = [folder for folder in services.circuits.folders() if folder.is_dir()]
    own = {path.stem for folder in folders for path in folder.glob("*.toml")}
    return frozenset(done) - own - {""}


def save_from_journal(services: Services, circuit: str) -> Path:
    """Save the circuit of the newest session of it, as its file was then.

    Raises:
        UsageError: No session has its file, or it is among the circuits already.
        ProblemsFound: It is no circuit that this program can read.
        StoreError: The log cannot be read, or the disk does not take it.
    """
    from whistlestop.store.journal.file import read_journal

    for line in services.log.sessions():
        if line.circuit != circuit:
            continue
        start = read_journal(line.path).start
        text = start.fields.get("circuit_text") if start else None
        if isinstance(text, str):
            return services.circuits.save_text(circuit, text)
    raise UsageError(
        f'no session has the file of a circuit "{shown(circuit, 60)}"',
        f"copy it into {services.places.circuits}",
    )
