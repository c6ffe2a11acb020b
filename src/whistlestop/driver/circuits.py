"""The circuits of one home: found, read by path or id, and remembered."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from whistlestop.data import samples_folder
from whistlestop.domain.field import is_id
from whistlestop.domain.text import shown
from whistlestop.driver.library import LibraryService
from whistlestop.errors import StoreError, UsageError
from whistlestop.store.places import Places

if TYPE_CHECKING:
    from whistlestop.domain.circuit.circuit import Circuit
    from whistlestop.store.circuits.circuit_list import CircuitList
    from whistlestop.store.circuits.memory import CircuitMemory
    from whistlestop.store.circuits.reader import CircuitReader


class CircuitService:
    """Finds and reads circuit files; what was read is remembered for the next start."""

    def __init__(
        self, places: Places, library: LibraryService, *, samples: bool = True
    ) -> None:
        """Prepare; nothing is read yet. `samples`: whether those that ship count."""
        self._places = places
        self._library = library
        self._samples = samples
        self._memory: CircuitMemory | None = None

    def folders(self) -> tuple[Path, ...]:
        """Where circuits are looked for: the user's own, then the samples."""
        own = (self._places.circuits,)
        return (*own, samples_folder()) if self._samples else own

    def find_all(self) -> CircuitList:
        """All circuits that can be found, and what is wrong with the others."""
        from whistlestop.store.circuits.circuit_list import find_circuits

        return find_circuits(self.folders(), read=self.reader().read)

    def read(self, argument: str) -> Circuit:
        """One circuit, by path or id.

        Raises:
            ProblemsFound: The file has problems.
            UsageError, StoreError: There is no such circuit, or two.
        """
        from whistlestop.store.circuits.circuit_list import resolve

        return resolve(argument, self.folders(), read=self.reader().read)

    def text_elsewhere(self, argument: str) -> str:
        """The text of a circuit file by its path; empty for one of the circuits here.

        Raises:
            ProblemsFound: It cannot be read.
        """
        from whistlestop.store.circuits.circuit_list import is_path
        from whistlestop.store.table.text_file import read_text

        path = Path(argument)
        homes = {folder.absolute() for folder in self.folders()}
        if not is_path(argument) or path.absolute().parent in homes:
            return ""
        return read_text(path)

    def save_text(self, key: str, text: str) -> Path:
        """Save a circuit's text among the athlete's circuits; returns where.

        Raises:
            ProblemsFound: It is no circuit that this program can read.
            UsageError: There is a circuit of that id already.
            StoreError: The disk does not take it.
        """
        from whistlestop.store.circuits.circuit_list import SUFFIX
        from whistlestop.store.circuits.file import parse_circuit
        from whistlestop.store.places import in_text, write_new

        if not is_id(key):
            raise UsageError(f'"{shown(key, 60)}" is no id of a circuit')
        path = self._places.circuits / f"{key}{SUFFIX}"
        catalogue = self._library.catalogue()
        parse_circuit(text, name=path.name, stem=key, catalogue=catalogue)
        if key in self.find_all().circuits:
            raise UsageError(f'"{key}" is among your circuits already')
        try:
            write_new(path, text.encode())
        except FileExistsError:
            raise UsageError(f"{shown(str(path))} is there already") from None
        except OSError as error:
            raise StoreError(f"circuit not saved: {in_text(error)}") from None
        return path

    def find_remembered(self) -> CircuitList | None:
        """The circuits that are known from last time; None where none are.

        Files that changed since, or have problems, are not among them.
        """
        from whistlestop.store.circuits.circuit_list import find_circuits

        reader = self.reader()
        if self._memory is None or self._memory.is_empty:
            return None
        return find_circuits(self.folders(), read=reader.remembered)

    def remember(self, *, whole: bool = True) -> None:
        """Save what the last look at the circuits found, for the next start.

        Args:
            whole: Whether all were looked at; what was not there is forgotten then.
        """
        if self._memory is not None:
            self._memory.save(whole=whole)

    def reader(self) -> CircuitReader:
        """What reads circuits; a new one for each look, since files change."""
        from whistlestop.store.circuits.memory import CircuitMemory, stamp
        from whistlestop.store.circuits.reader import CircuitReader

        path = self._places.cache / "circuits.json"
        self._memory = CircuitMemory(path, stamp=stamp(self._library.own_files()))
        return CircuitReader(self._memory, self._library.catalogue)
