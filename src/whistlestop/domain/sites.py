"""The sites of the body, one list for every question, limit and report.

Owns their ids, letters and names, and what older journals and limits called them.
It refuses to know what a movement asks of a site, and judges no complaint.
"""

from __future__ import annotations

from collections.abc import Mapping
from string import ascii_lowercase
from types import MappingProxyType
from typing import Final

from whistlestop.dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Site:
    """A site: `letter` answers for it, `name` stands on screens.

    `sided` is False where left and right make no sense. `swaps` is False where the
    answer is no other station, but the signs that need a doctor.
    """

    id: str
    letter: str
    name: str
    sided: bool = True
    swaps: bool = True


# Ids and order are fixed: journals hold the ids, and hands remember the letters.
_IN_ORDER: Final = (
    ("neck", "neck"),
    ("shoulder", "shoulder"),
    ("elbow", "elbow"),
    ("wrist-hand", "wrist or hand"),
    ("upper-back", "upper back"),
    ("ribs", "ribs"),
    ("lower-back", "lower back"),
    ("buttock", "buttock"),
    ("hip", "hip"),
    ("groin", "groin"),
    ("front-thigh", "front of the thigh"),
    ("hamstring", "hamstring"),
    ("knee", "knee"),
    ("calf", "calf"),
    ("achilles", "Achilles tendon"),
    ("shin", "shin"),
    ("ankle", "ankle"),
    ("foot", "foot"),
    ("chest", "chest"),
    ("head", "head"),
    ("belly", "belly"),
    ("elsewhere", "elsewhere"),
)
_NO_SIDE: Final = frozenset({"chest", "head", "belly"})
_NO_SWAP: Final = frozenset({"chest", "head", "belly", "elsewhere"})

SITES: Final[Mapping[str, Site]] = MappingProxyType(
    {
        key: Site(key, letter, name, key not in _NO_SIDE, key not in _NO_SWAP)
        for (key, name), letter in zip(_IN_ORDER, ascii_lowercase, strict=False)
    }
)
# The sites a station can ask something of.
BODY_SITES: Final = tuple(key for key, site in SITES.items() if site.swaps)

_OLD_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "back": "lower-back",
        "wrist": "wrist-hand",
        "hand": "wrist-hand",
        "heel cord": "achilles",
        "thigh, front": "front-thigh",
        "thigh, back": "hamstring",
        "back of the thigh": "hamstring",
    }
)
# What a limit by caution code was about, before limits named sites. The other codes
# are about a hazard, not about a site, and keep acting on the caution.
SITES_OF_CAUTION: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "Wr": ("wrist-hand",),
        "Sh": ("shoulder",),
        "Kn": ("knee",),
        "Bk": ("lower-back",),
        "Nk": ("neck",),
        "An": ("achilles", "calf", "shin"),
    }
)


def site_name(text: str) -> str:
    """What a site of today or of older files is called; any other word as it is.

    >>> site_name("wrist-hand"), site_name("tail")
    ('wrist or hand', 'tail')
    """
    site = site_of(text)
    return site.name if site else text


def side_and_site(text: str, side: str) -> str:
    """A site with its side, as people say it.

    >>> side_and_site("knee", "right"), side_and_site("calf", "both")
    ('right knee', 'calf, both sides')
    """
    name = site_name(text)
    if side in {"left", "right"}:
        return f"{side} {name}"
    more = {"both": "both sides"}.get(side, side)
    return f"{name}, {more}" if more else name


def site_of(text: str) -> Site | None:
    """Find the site that a word means, of today or of older files.

    >>> site_of("heel cord").id
    'achilles'
    >>> site_of("Wrist or hand").id
    'wrist-hand'
    >>> site_of("tail") is None
    True
    """
    word = " ".join(text.split()).casefold()
    if key := _OLD_WORDS.get(word):
        return SITES[key]
    for site in SITES.values():
        if word in {site.id, site.name.casefold()}:
            return site
    return None
