"""Which room of the editor's a setting opens, and what that room is given.

The rooms are imported where they are opened: they are seldom asked for.
"""

from __future__ import annotations

from whistlestop.errors import RefusedError
from whistlestop.tui.rooms.editor.part import Editing, EditorPart
from whistlestop.tui.rooms.library.known import KnownLibrary


def part_of(setting: str, editing: Editing, known: KnownLibrary | None) -> EditorPart:
    """Make the room of a setting: single loops, warm-up or cool-down.

    Raises:
        RefusedError: There is nothing in it yet that could be changed.
    """
    from whistlestop.tui.rooms.editor.items import ItemsRoom

    circuit = editing.circuit
    if setting == "cool-down":
        return ItemsRoom(editing, "cool-down")
    if setting == "warm-up":
        stock = known.stations if known else {}
        ids = (station.exercise for station in circuit.stations)
        return ItemsRoom(
            editing, "warm-up", [stock[i].pattern for i in ids if i in stock]
        )
    if not circuit.stations:
        raise RefusedError("it has no station yet: a adds one")
    from whistlestop.tui.rooms.editor.loops import LoopsRoom

    return LoopsRoom(editing)
