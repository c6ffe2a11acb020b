"""What a sport is called: from the numbers of FIT, and from words that people type.

Numbers of the FIT profile, fields `sport` and `sub_sport`; the tests compare them with
the tables of two libraries.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from whistlestop.domain.text import shown

OTHER: Final = "other"
TRANSITION: Final = "transition"
_NAME_LIMIT: Final = 80

# Looked at first: an indoor ride may be filed under fitness equipment.
SUB_SPORTS: Final[Mapping[int, str]] = {
    **dict.fromkeys((1, 3, 4, 45), "running"),  # treadmill, trail, track, indoor
    **dict.fromkeys((5, 6, 7, 8, 9, 11, 13), "cycling"),  # spin, indoor, road ...
    **dict.fromkeys((28, 47), "e-bike"),
    14: "rowing",
    **dict.fromkeys((17, 18), "swimming"),
    **dict.fromkeys((27, 30, 31), "walking"),
    **dict.fromkeys((68, 69), "climbing"),
    20: "strength",
    **dict.fromkeys((19, 43, 44), "mobility"),  # flexibility, yoga, pilates
}
SPORTS: Final[Mapping[int, str]] = {
    1: "running",
    2: "cycling",
    3: TRANSITION,
    5: "swimming",
    11: "walking",
    12: "cross-country skiing",
    15: "rowing",
    17: "hiking",
    21: "e-bike",
    31: "climbing",
    48: "climbing",
}
# What is meant by a word, typed or in a file; the first whose stem is in it.
_WORDS: Final = (
    ("e-bike", r"e-?bik|ebike|electric"),
    ("cycling", r"cycl|bik|ride|riding|rad\b|velo|spinning"),
    ("cross-country skiing", r"ski|nordic"),
    ("hiking", r"hik|wander"),
    ("walking", r"walk"),
    ("running", r"run|jog|lauf"),
    ("swimming", r"swim|schwimm"),
    ("rowing", r"row|ruder"),
    ("climbing", r"climb|boulder|kletter"),
    ("strength", r"strength|weight|kraft|circuit"),
    ("mobility", r"mobility|yoga|pilates|stretch|flexib"),
)
_NOUNS: Final[Mapping[str, tuple[str, str]]] = {
    "cycling": ("ride", "rides"),
    "running": ("run", "runs"),
    "swimming": ("swim", "swims"),
    "walking": ("walk", "walks"),
    "hiking": ("hike", "hikes"),
}


def sport_of_numbers(sport: int | None, sub_sport: int | None, word: str = "") -> str:
    """What FIT's sport and sub-sport are called, else the file's own word.

    A sub-sport says more than a sport, except of a transition.
    """
    if sport == 3:
        return TRANSITION
    known = SUB_SPORTS.get(sub_sport or 0) or SPORTS.get(sport or 0)
    return known or sport_of_text(word)


def sport_of_text(text: str) -> str:
    """What a sport is called that somebody named; unknown words stay as they are."""
    word = " ".join(text.split())
    for name, stems in _WORDS:
        if re.search(stems, word.casefold()):
            return name
    return shown(word, _NAME_LIMIT) or OTHER


def counted_sports(sports: Mapping[str, int]) -> str:
    """Say how many of each there are, such as `4 rides and 1 run`; most first."""
    counts: dict[tuple[str, str], int] = {}
    for sport, count in sports.items():
        noun = _NOUNS.get(sport_of_text(sport), ("other training", "other trainings"))
        counts[noun] = counts.get(noun, 0) + count
    ordered = sorted(counts.items(), key=lambda each: -each[1])
    parts = [f"{n} {one if n == 1 else more}" for (one, more), n in ordered]
    return " and ".join(filter(None, (", ".join(parts[:-1]), parts[-1])))
