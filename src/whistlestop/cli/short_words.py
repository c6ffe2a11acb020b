"""What is typed most, understood without the parser, which costs a tenth of a start.

`whistlestop`, `whistlestop run CIRCUIT`, each with or without `--home DIR` at its end.
Everything else, and everything doubtful, is the parser's.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Final

# What the parser makes of `run` with a circuit and nothing else.
_RUN: Final[dict[str, Any]] = {
    "again": False,
    "resume": False,
    "plain": False,
    "speed": None,
    "effort": None,
    "stations": None,
    "companion": None,
    "offset": None,
}


def understood(words: Sequence[str]) -> SimpleNamespace | None:
    """Make what the parser would make of these words; None: it has to be asked."""
    found = SimpleNamespace(command=None)
    if len(words) >= 2 and words[-2] == "--home" and _is_plain(words[-1]):
        found.home = Path(words[-1])
        words = words[:-2]
    match words:
        case []:
            return found
        case ["run", circuit] if _is_plain(circuit):
            # Imported here: the circuits are shown without it.
            from whistlestop.domain.circuit.circuit import Circuit, Station
            from whistlestop.domain.field import options_of

            options = [*options_of(Circuit), *options_of(Station)]
            figures = dict.fromkeys(one.name for one in options)
            found.__dict__.update(_RUN, **figures, command="run", circuit=circuit)
            return found
        case _:
            return None


def _is_plain(word: str) -> bool:
    """Whether a word is a value beyond doubt: no option, not empty."""
    return bool(word) and not word.startswith("-")
