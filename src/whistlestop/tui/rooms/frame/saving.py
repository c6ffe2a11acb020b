"""Saving a circuit under a name of its own: where it goes, and what undo means then.

Owns the id and the file of a circuit that is new. It knows no screen.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from whistlestop.domain.circuit import edit
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.circuit.edit import EditHistory
from whistlestop.driver.services import Services
from whistlestop.store.circuits.writer import SUFFIX, save_circuit, under_new_id


def saved_as(services: Services, circuit: Circuit, name: str) -> tuple[Circuit, Path]:
    """Save a circuit among the athlete's own, under an id that is not taken.

    Returns:
        The circuit as it is saved, and its file.

    Raises:
        RefusedError: The name cannot be one.
        StoreError: It does not fit into a file, or the disk does not take it.
    """
    named = edit.renamed(circuit, name).name
    listing = services.circuits.find_all()
    taken = {*listing.circuits, *listing.duplicates}
    new = under_new_id(circuit, named, services.circuits.folders(), taken)
    path = services.places.circuits / f"{new.id}{SUFFIX}"
    save_circuit(new, path)
    return new, path


def rebased(history: EditHistory, circuit: Circuit) -> EditHistory:
    """Go on with a circuit just saved: what is undone now belongs to its file."""
    past = tuple(
        replace(step, circuit=replace(step.circuit, id=circuit.id))
        for step in history.past
    )
    return EditHistory(circuit, past)
