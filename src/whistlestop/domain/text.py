"""The only place that judges text from outside: what may be shown, and how.

Files come from friends and from synced folders; a name may carry an escape
sequence, a bidi override or a newline. Nothing of the sort leaves this module.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence
from typing import Final

CALL_NAME_LIMIT: Final = 14
CALL_NAME_CELLS: Final = 65
"""Columns of block letters that a call-name may take on the least screen, 80 by 24."""
# Columns of the letters that are not three wide, in the narrowest design there is.
_LETTER_CELLS: Final = {
    **dict.fromkeys("GKNOQ", 4),
    **dict.fromkeys("MW", 5),
    "I": 1,
    " ": 2,
}
_CALL_NAME_CHARACTERS: Final = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 -")
# Controls and C1 controls, surrogates, bidi controls and what is invisible, and tags;
# one pattern, since every line of every picture is searched for them.
_HOSTILE: Final = re.compile(
    "[\x00-\x1f\x7f-\x9f\u00ad\u061c\u180e\u200b\u200c\u200e\u200f\u2028-\u202e"
    "\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb\U000e0000-\U000e007f]"
)
_FOLDS: Final = {
    "ß": "SS",
    "ẞ": "SS",
    "Æ": "AE",
    "æ": "AE",
    "Œ": "OE",
    "œ": "OE",
    "Ø": "O",
    "ø": "O",
    "Ł": "L",
    "ł": "L",
    "Đ": "D",
    "đ": "D",
    "Þ": "TH",
    "þ": "TH",
    "ı": "I",
    "_": " ",
    "/": " ",
    "–": "-",
    "—": "-",
    "‐": "-",
    "‑": "-",
    "&": " AND ",
}


def is_hostile(character: str) -> bool:
    """Say whether one character may never reach a screen.

    Control characters (tab and newline included), C1 controls, bidi controls,
    zero-width marks, surrogates and private tags are hostile. The joiner
    U+200D is not: some scripts and pictographs need it.
    """
    return _HOSTILE.match(character) is not None


def first_hostile(text: str) -> str | None:
    """Name the first hostile character as `U+001B`, or None if there is none."""
    found = _HOSTILE.search(text)
    return f"U+{ord(found[0]):04X}" if found else None


def masked(text: str, mark: str) -> str:
    """A text of the same length, with a mark for each hostile character."""
    return _HOSTILE.sub(mark, text)


def shown(text: str, limit: int = 500) -> str:
    r"""Make any text harmless to print: hostile characters become `\x1b` and the like.

    Args:
        text: Anything, from anywhere.
        limit: The longest result, in characters; the rest becomes an ellipsis.
    """
    safe = _HOSTILE.sub(_escaped, text[: limit + 1])
    return safe if len(safe) <= limit else safe[: limit - 1] + "…"


def _escaped(found: re.Match[str]) -> str:
    point = ord(found[0])
    if point <= 0xFF:
        return f"\\x{point:02x}"
    return f"\\u{point:04x}" if point <= 0xFFFF else f"\\U{point:08x}"


def call_name_cells(call_name: str) -> int:
    """How many columns a folded name takes in the narrowest block letters."""
    widths = [_LETTER_CELLS.get(character, 3) for character in call_name]
    return sum(widths) + max(0, len(widths) - 1)


def is_drawable(call_name: str) -> bool:
    """Whether a call-name is made of block letters, single spaces inside only."""
    is_tidy = " ".join(call_name.split()) == call_name
    return is_tidy and _CALL_NAME_CHARACTERS.issuperset(call_name)


def call_name_fits(call_name: str) -> bool:
    """Whether a folded name is short and narrow enough for every screen."""
    is_short = len(call_name) <= CALL_NAME_LIMIT
    return is_short and call_name_cells(call_name) <= CALL_NAME_CELLS


def fold_call_name(name: str) -> str:
    """Fold a name to what block letters can draw: A-Z, 0-9, space and hyphen.

    Accents fall away, ligatures are spelt out, anything else becomes a space;
    the result has no double spaces, at most 14 characters and 65 columns of block
    letters, cut at a word if one ends in the second half. It may be empty when
    nothing can be drawn.
    """
    spelt = "".join(_FOLDS.get(character, character) for character in name)
    plain = unicodedata.normalize("NFKD", spelt)
    upper = "".join(c for c in plain if not unicodedata.combining(c)).upper()
    drawn = "".join(c if c in _CALL_NAME_CHARACTERS else " " for c in upper)
    words = " ".join(drawn.split())
    if call_name_fits(words):
        return words
    most = next(n for n in range(CALL_NAME_LIMIT, 0, -1) if call_name_fits(words[:n]))
    cut = words[: most + 1].rfind(" ")
    end = cut if cut >= CALL_NAME_LIMIT // 2 else most
    return words[:end].rstrip(" -")


def as_typed(value: object) -> str:
    """Show a value of a TOML file shortly and harmlessly, as it was typed."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return shown(str(value), 40) if value.bit_length() < 4_000 else "a huge number"
    if isinstance(value, float):
        return str(value) if math.isfinite(value) else "not a finite number"
    if isinstance(value, str):
        return f'"{shown(value, 40)}"'
    if isinstance(value, list):
        return "a list"
    return "a table" if isinstance(value, dict) else "a date or time"


def sentence_case(text: str) -> str:
    """A text with a capital first, and the rest as it is.

    >>> sentence_case("the IT band"), sentence_case("")
    ('The IT band', '')
    """
    return f"{text[:1].upper()}{text[1:]}"


def joined(words: Sequence[str]) -> str:
    """Several things in a sentence.

    >>> joined(["1"]), joined(["1", "2"]), joined(["1", "2", "3"])
    ('1', '1 and 2', '1, 2 and 3')

    Raises:
        ValueError: There are none.
    """
    *before, last = words
    return f"{', '.join(before)} and {last}" if before else last
