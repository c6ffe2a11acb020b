"""What keys and typed lines of the editor do to a circuit: pure steps on the domain.

Owns how far one press goes and how a typed value reads. It knows no screen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, Literal, TypeVar

from whistlestop.domain import edit, edit_station
from whistlestop.domain.circuit import Circuit
from whistlestop.domain.duration import parse_duration_ms
from whistlestop.domain.edit import EditRefused
from whistlestop.domain.load import Load, parse_load
from whistlestop.domain.tempo import Tempo, parse_tempo

_T = TypeVar("_T")
STEP_MS: Final = 5_000
_BREAK_STEP_MS: Final = 15_000
_SECOND_MS: Final = 1_000
# Settings that have a room of their own.
OPENED: Final = ("warm-up", "cool-down", "each loop")
UNTIL_KEY: Final = ("until key", "until a key", "key")
# What p goes through. Parts of one's own are typed.
PART_CYCLE: Final = ((), ("left", "right"), ("left", "right", "together"))
Typed = Literal["load", "parts", "tempo", "work", "recover", "name", "note"]
ASKED: Final[Mapping[Typed, str]] = {
    "load": 'Load: 12 kg, 2 x 8 kg, 18 lb or "band: green"; empty is none',
    "parts": "Parts with commas between: left, right, together; empty is one part",
    "tempo": "Tempo: 3-1-1-0, hold or flow; empty is as the library says",
    "work": "Work: 40, 90 s or 1:30; empty is as the circuit says",
    "recover": "Recover: 20, 90 s or 1:30; empty is as the circuit says",
    "name": "Its name in this circuit; empty is as the library says",
    "note": "A note on this station; empty is none",
}
ASKED_SETTING: Final = {
    "name": "The name of the circuit",
    "note": "A note on the circuit; empty is none",
    "loops": "How many loops, 1 to 20?",
    "work": "Work: 40, 90 s or 1:30",
    "recover": "Recover: 20, 90 s or 1:30",
    "loop break": "Loop break: 0, 90 s, 1:30, or until key",
    "changeover": "Changeover between parts: 0 to 10 s",
    "get ready": "Get ready: 10, 30 s or 1:00",
}


def stepped(circuit: Circuit, setting: str, steps: int) -> Circuit:
    """Take a setting some steps down or up.

    Below no break lies the break until a key.

    Raises:
        EditRefused: It would leave its range, or has no steps.
    """
    match setting:
        case "loops":
            return edit.loops_set(circuit, circuit.loops + steps)
        case "work":
            return edit.work_set(circuit, circuit.work_ms + steps * STEP_MS)
        case "recover":
            return edit.recover_set(circuit, circuit.recover_ms + steps * STEP_MS)
        case "loop break":
            if circuit.break_until_key:
                return edit.break_set(circuit, 0) if steps > 0 else circuit
            ms = (circuit.loop_break_ms or 0) + steps * _BREAK_STEP_MS
            at_none = not circuit.loop_break_ms
            return edit.break_set(circuit, None if at_none and ms < 0 else max(0, ms))
        case "changeover":
            ms = circuit.changeover_ms + steps * _SECOND_MS
            return edit.changeover_set(circuit, ms)
        case "get ready":
            ms = circuit.get_ready_ms + steps * STEP_MS
            return edit.get_ready_set(circuit, ms)
    raise EditRefused("Enter opens it" if setting in OPENED else "Enter types it")


def station_stepped(circuit: Circuit, number: int, steps: int) -> Circuit:
    """Give a station 5 s of work less or more; the circuit's own value is none.

    Raises:
        EditRefused: It would leave its range.
    """
    own = circuit.stations[number - 1].work_ms
    now_ms = circuit.work_ms if own is None else own
    new_ms = now_ms + steps * STEP_MS
    kept = None if new_ms == circuit.work_ms else new_ms
    return edit_station.station_work_set(circuit, number, kept)


def setting_typed(circuit: Circuit, setting: str, typed: str) -> Circuit:
    """Set a setting to what was typed.

    Raises:
        EditRefused: It cannot be read, or is out of range.
    """
    text = typed.strip()
    if setting == "name":
        return edit.renamed(circuit, text)
    if setting == "note":
        return edit.noted(circuit, text)
    if setting == "loops":
        if not (text.isascii() and text.isdigit() and len(text) < 4):
            raise EditRefused("type a number, 1 to 20")
        return edit.loops_set(circuit, int(text))
    if setting == "loop break" and text.casefold() in UNTIL_KEY:
        return edit.break_set(circuit, None)
    ms = ms_typed(text)
    setters: dict[str, Callable[[Circuit, int], Circuit]] = {
        "work": edit.work_set,
        "recover": edit.recover_set,
        "loop break": edit.break_set,
        "changeover": edit.changeover_set,
        "get ready": edit.get_ready_set,
    }
    return setters[setting](circuit, ms)


def station_typed(
    circuit: Circuit, number: int, what: Typed, typed: str, usual: Tempo | None = None
) -> Circuit:
    """Set one thing of a station to what was typed; empty takes it away.

    Args:
        circuit: The circuit.
        number: The station, from 1.
        what: What was typed.
        typed: The line.
        usual: The tempo of the library, for an empty tempo.

    Raises:
        EditRefused: It cannot be read, or no plan results.
    """
    text = typed.strip()
    match what:
        case "load":
            load = load_typed(text) if text else None
            return edit_station.loaded(circuit, number, load)
        case "parts":
            parts = [part.strip() for part in text.split(",")] if text else []
            return edit_station.parted(circuit, number, parts)
        case "tempo":
            tempo = _read(parse_tempo, text) if text else usual
            return edit_station.tempo_set(circuit, number, tempo)
        case "work":
            ms = ms_typed(text) if text else None
            return edit_station.station_work_set(circuit, number, ms)
        case "recover":
            ms = ms_typed(text) if text else None
            return edit_station.station_recover_set(circuit, number, ms)
        case "name":
            return edit_station.station_renamed(circuit, number, text)
        case "note":
            return edit_station.station_noted(circuit, number, text)


def station_value(circuit: Circuit, number: int, what: Typed) -> str:
    """What stands there now, as it would be typed."""
    station = circuit.stations[number - 1]
    match what:
        case "load":
            return station.load.typed if station.load else ""
        case "parts":
            return ", ".join(station.parts)
        case "tempo":
            return str(station.tempo) if station.tempo else ""
        case "work":
            return _typed_ms(station.work_ms)
        case "recover":
            return _typed_ms(station.recover_ms)
        case "name":
            return station.name
        case "note":
            return station.note


def next_parts(parts: tuple[str, ...]) -> tuple[str, ...]:
    """What p makes of the parts a station has."""
    if parts in PART_CYCLE:
        place = PART_CYCLE.index(parts)
        return PART_CYCLE[(place + 1) % len(PART_CYCLE)]
    return ()


def _typed_ms(ms: int | None) -> str:
    return "" if ms is None else f"{ms // 1000} s"


def ms_typed(text: str) -> int:
    """Read a typed length in ms.

    Raises:
        EditRefused: It is none, in words.
    """
    return _read(parse_duration_ms, text)


def load_typed(text: str) -> Load:
    """Read a typed load.

    Raises:
        EditRefused: It is none, in words.
    """
    return _read(parse_load, text)


def _read(parse: Callable[[str], _T], text: str) -> _T:
    try:
        return parse(text)
    except ValueError as error:
        raise EditRefused(f"{error}") from None
