"""Reads circuit files for one look at the folders: remembered, or parsed.

Light, since a start waits for it: what parses is loaded for a text not known yet.
Refuses to know folders of circuits.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.circuits.memory import CircuitMemory
from whistlestop.store.table.text_file import read_text

if TYPE_CHECKING:
    from whistlestop.store.circuits.file import Catalogue


class CircuitReader:
    """Makes circuits of files, and has them remembered."""

    def __init__(
        self, memory: CircuitMemory, catalogue: Callable[[], Catalogue | None]
    ) -> None:
        """Prepare; `catalogue` is asked once at most, None means the library."""
        self._memory = memory
        self._ask = catalogue

    @cached_property
    def _catalogue(self) -> Catalogue | None:
        return self._ask()

    def remembered(self, path: Path) -> Circuit:
        """Take one file as it is remembered.

        Raises:
            ProblemsFound: It cannot be read; with no problem: it is not known yet.
        """
        known = self._memory.recall(path.stem, read_text(path))
        if known is None:
            raise ProblemsFound(())
        return known

    def problems(self, path: Path) -> tuple[Problem, ...]:
        """List the problems of one file; what is remembered has none."""
        try:
            self.read(path)
        except ProblemsFound as found:
            return found.problems
        return ()

    def read(self, path: Path) -> Circuit:
        """Read one file.

        Raises:
            ProblemsFound: With every problem that could be found at once.
        """
        text = read_text(path)
        known = self._memory.recall(path.stem, text)
        if known is not None:
            return known
        from whistlestop.store.circuits.file import parse_circuit

        circuit = parse_circuit(
            text, name=str(path), stem=path.stem, catalogue=self._catalogue
        )
        self._memory.remember(path.stem, text, circuit)
        return circuit
