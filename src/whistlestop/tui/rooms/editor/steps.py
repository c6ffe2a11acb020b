"""What keys and typed lines of the editor do to a circuit: pure steps on the domain.

Owns how far one press goes and how a typed value reads. It knows no screen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final, TypeVar

from whistlestop.domain.circuit import edit, edit_station
from whistlestop.domain.circuit.circuit import BREAK, WORK, Circuit, Station
from whistlestop.domain.duration import parse_duration_ms
from whistlestop.domain.field import Field, Length, Text, Whole, fields_of
from whistlestop.domain.tempo import Tempo
from whistlestop.errors import RefusedError

_T = TypeVar("_T")
STEP_MS: Final = WORK.step_ms
# Settings that have a room of their own.
OPENED: Final = ("warm-up", "cool-down", "each loop")
UNTIL_KEY: Final = ("until key", "until a key", "key")
# What p goes through. Parts of one's own are typed.
PART_CYCLE: Final = ((), ("left", "right"), ("left", "right", "together"))
SETTINGS: Final[Mapping[str, Field[Any]]] = {
    one.label: one for one in fields_of(Circuit)
}
TYPED: Final[Mapping[str, Field[Any]]] = {
    one.label: one for one in fields_of(Station) if one.press
}
ASKED: Final = {label: one.ask for label, one in TYPED.items()}
# What has more to it than its own value.
_SETTERS: Final[Mapping[str, Callable[[Circuit, Any], Circuit]]] = {
    "name": edit.renamed,
    "note": edit.noted,
    "loops": edit.loops_set,
    "work_ms": edit.work_set,
    "recover_ms": edit.recover_set,
    "loop_break_ms": edit.break_set,
    "changeover_ms": edit.changeover_set,
    "get_ready_ms": edit.get_ready_set,
}
_STATION_SETTERS: Final[Mapping[str, Callable[[Circuit, int, Any], Circuit]]] = {
    "load": edit_station.loaded,
    "name": edit_station.station_renamed,
    "note": edit_station.station_noted,
    "work_ms": edit_station.station_work_set,
    "recover_ms": edit_station.station_recover_set,
    "changeover_ms": edit_station.station_changeover_set,
}


def _set(circuit: Circuit, field: Field[Any], value: Any) -> Circuit:
    if field.name in _SETTERS:
        return _SETTERS[field.name](circuit, value)
    return edit.setting_set(circuit, field.name, value)


def with_steps(circuit: Circuit, setting: str, steps: int) -> Circuit:
    """Take a setting some steps down or up.

    Below no break lies the break until a key.

    Raises:
        RefusedError: It would leave its range, or has no steps.
    """
    field = SETTINGS.get(setting)
    if setting in OPENED or field is None or isinstance(field.kind, Text):
        raise RefusedError("Enter opens it" if setting in OPENED else "Enter types it")
    if setting == "loop break":
        return _break_changed(circuit, steps)
    now = getattr(circuit, field.name)
    match field.kind:
        # Beyond the range the setter says what the range is.
        case Length(step_ms=step_ms):
            return _set(circuit, field, now + steps * step_ms)
        case Whole():
            return _set(circuit, field, now + steps)
    return _set(circuit, field, field.kind.with_steps(now, steps))


def _break_changed(circuit: Circuit, steps: int) -> Circuit:
    if circuit.break_until_key:
        return edit.break_set(circuit, 0) if steps > 0 else circuit
    ms = (circuit.loop_break_ms or 0) + steps * BREAK.step_ms
    at_none = not circuit.loop_break_ms
    return edit.break_set(circuit, None if at_none and ms < 0 else max(0, ms))


def station_with_step(circuit: Circuit, number: int, steps: int) -> Circuit:
    """Give a station 5 s of work less or more; the circuit's own value is none.

    Raises:
        RefusedError: It would leave its range.
    """
    own = circuit.stations[number - 1].work_ms
    now_ms = circuit.work_ms if own is None else own
    new_ms = now_ms + steps * STEP_MS
    kept = None if new_ms == circuit.work_ms else new_ms
    return edit_station.station_work_set(circuit, number, kept)


def setting_typed(circuit: Circuit, setting: str, typed: str) -> Circuit:
    """Set a setting to what was typed.

    Raises:
        RefusedError: It cannot be read, or is out of range.
    """
    if setting in OPENED:
        raise RefusedError("Enter opens it")
    field, text = SETTINGS[setting], typed.strip()
    if setting == "loop break" and text.casefold() in UNTIL_KEY:
        return edit.break_set(circuit, None)
    match field.kind:
        case Text():
            return _set(circuit, field, text)
        case Length():
            return _set(circuit, field, ms_typed(text))
        case Whole(expected=expected):
            if not (text.isascii() and text.isdigit() and len(text) < 4):
                raise RefusedError(f"type a number, {expected}")
            return _set(circuit, field, int(text))
    return _set(circuit, field, read(field.kind.typed, text))


def setting_line(circuit: Circuit, setting: str) -> str:
    """What a setting holds, as it would be typed."""
    if setting == "loop break" and circuit.break_until_key:
        return UNTIL_KEY[1]
    field = SETTINGS[setting]
    value = getattr(circuit, field.name)
    return "" if value is None else field.kind.as_line(value)


def station_typed(
    circuit: Circuit, number: int, what: str, typed: str, usual: Tempo | None = None
) -> Circuit:
    """Set one thing of a station to what was typed; empty takes it away.

    Args:
        circuit: The circuit.
        number: The station, from 1.
        what: What was typed.
        typed: The line.
        usual: The tempo of the library, for an empty tempo.

    Raises:
        RefusedError: It cannot be read, or no plan results.
    """
    field, text = TYPED[what], typed.strip()
    value: Any
    match field.name:
        case "parts":
            parts = [part.strip() for part in text.split(",")] if text else []
            return edit_station.parted(circuit, number, parts)
        case "tempo" if not text:
            value = usual
        case "work_ms" | "recover_ms" | "changeover_ms" if text:
            value = ms_typed(text)
        case "name" | "note":
            value = text
        case _:
            value = read(field.kind.typed, text) if text else field.default
    if field.name in _STATION_SETTERS:
        return _STATION_SETTERS[field.name](circuit, number, value)
    return edit_station.setting_set(circuit, number, field.name, value)


def station_value(circuit: Circuit, number: int, what: str) -> str:
    """What stands there now, as it would be typed."""
    field, station = TYPED[what], circuit.stations[number - 1]
    if field.name == "parts":
        return ", ".join(station.parts)
    value = getattr(station, field.name)
    return "" if value is None else field.kind.as_line(value)


def next_parts(parts: tuple[str, ...]) -> tuple[str, ...]:
    """What p makes of the parts a station has."""
    if parts in PART_CYCLE:
        place = PART_CYCLE.index(parts)
        return PART_CYCLE[(place + 1) % len(PART_CYCLE)]
    return ()


def ms_typed(text: str) -> int:
    """Read a typed length in ms.

    Raises:
        RefusedError: It is none, in words.
    """
    return read(parse_duration_ms, text)


def read(parse: Callable[[str], _T], text: str) -> _T:
    """Read a typed line; what cannot be read is an RefusedError."""
    try:
        return parse(text)
    except ValueError as error:
        raise RefusedError(f"{error}") from None
