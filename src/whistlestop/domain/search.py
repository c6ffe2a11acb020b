"""Finding an entry by what somebody types: one order of answers for every search.

Owns how names are folded and ranked. It refuses to know what the entries are.

The exact name comes before an alias, an alias before words that begin like those
typed, those before letters that are nearly there. The last step is for slips of the
finger: it takes letters left out ('plnk'), put in, or swapped ('sqaut'). It is
of our own, in a few lines, since this package is imported by every command and knows
no screen: a matcher of the screens' would bring them along, and one of sequences
alone does not find letters that changed places.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

EXACT, ALIAS, BEGINS = range(3)
# A word may lose, gain or swap one letter in three; of fewer letters nothing is left.
LETTERS_TO_A_SLIP: Final = 3


@dataclass(frozen=True, slots=True)
class Sought:
    """What can be found: its id, its name, what else it is called, in what group.

    `names` stand as high as the name itself (the call name, say); `aliases` come
    after; `words` are only looked through for words that begin like those typed.
    """

    id: str
    name: str
    names: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


@lru_cache(maxsize=4096)
def folded(text: str) -> str:
    """Fold text for a search: no case, no accents, no signs, words set apart.

    >>> folded("Farmer's  Walk, Y-T-W")
    'farmers walk y t w'
    """
    plain = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(c for c in plain if not unicodedata.combining(c) and c not in "'’")
    return " ".join("".join(c if c.isalnum() else " " for c in bare).split())


def found(entries: Iterable[Sought], typed: str) -> list[Sought]:
    """Entries that answer to what is typed, the best first; all of them for "".

    Equals stand in the order they came.
    """
    sought = folded(typed)
    given = list(entries)
    if not sought:
        return given
    # Slips are guessed only where nothing answers to what was really typed.
    for rank_of in (_rank, _near):
        ranked = [
            (rank, place)
            for place, entry in enumerate(given)
            if (rank := rank_of(entry, sought)) is not None
        ]
        if ranked:
            return [given[place] for _, place in sorted(ranked)]
    return []


def first(entries: Iterable[Sought], typed: str) -> Sought | None:
    """The best answer, or None."""
    answers = found(entries, typed) if folded(typed) else []
    return answers[0] if answers else None


def named(entries: Iterable[Sought], typed: str) -> Sought | None:
    """The entry that is called just so, by its id, a name or an alias; or None.

    What is only like it is no answer here: somebody's words may be guessed where the
    guess is shown first, not where it is acted on.
    """
    sought = folded(typed)
    ranked = [
        (rank[0], place, entry)
        for place, entry in enumerate(entries)
        if sought and (rank := _rank(entry, sought)) is not None and rank[0] < BEGINS
    ]
    return min(ranked, key=lambda one: one[:2])[-1] if ranked else None


def _rank(entry: Sought, sought: str) -> tuple[int, int, int] | None:
    """How well an entry answers as typed, least is best; None where it does not."""
    own, others = _names(entry)
    joined = sought.replace(" ", "")
    for kind, names in ((EXACT, own), (ALIAS, others)):
        if any(joined == name.replace(" ", "") for name in names):
            return kind, 0, 0
    words = [folded(text) for text in entry.words]
    if _begins(f" {' '.join([*own, *others, *words])}", sought):
        in_name = any(_begins(f" {name}", sought) for name in own)
        return BEGINS, not in_name, len(own[1])
    return None


def _near(entry: Sought, sought: str) -> tuple[int, int] | None:
    """How near what is typed is to one of the names, slips allowed."""
    own, others = _names(entry)
    near = [n for name in (*own, *others) if (n := _nearness(sought, name)) is not None]
    return min(near, default=None)


def _names(entry: Sought) -> tuple[list[str], list[str]]:
    own = [folded(name) for name in (entry.id, entry.name, *entry.names)]
    return own, [folded(name) for name in entry.aliases]


def _begins(text: str, sought: str) -> bool:
    return all(f" {word}" in text for word in sought.split())


def _nearness(sought: str, name: str) -> tuple[int, int] | None:
    """Slips in what is typed against a name, and the words of it nobody typed."""
    words, typed = name.split(), sought.split()
    if not words:
        return None
    least = [min(_slips(one, word) for word in words) for one in typed]
    if any(
        n > len(one) // LETTERS_TO_A_SLIP for n, one in zip(least, typed, strict=True)
    ):
        return None
    return sum(least), max(0, len(words) - len(typed))


def _slips(typed: str, word: str) -> int:
    """Slips between two words; letters left out of one count as a single slip."""
    if typed[0] == word[0] and 2 * len(typed) > len(word) and _in_order(typed, word):
        return int(typed != word)
    return slips(typed, word, len(typed) // LETTERS_TO_A_SLIP)


def _in_order(typed: str, word: str) -> bool:
    rest = iter(word)
    return all(letter in rest for letter in typed)


def slips(one: Sequence[str], two: Sequence[str], most: int) -> int:
    """Letters to leave out, put in, change or swap with their neighbour.

    Counted no further than `most` + 1. This is the restricted Damerau-Levenshtein
    distance.

    >>> slips("plnk", "plank", 2), slips("sqaut", "squat", 2), slips("row", "raise", 1)
    (1, 1, 2)
    """
    if abs(len(one) - len(two)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(two) + 1))
    for i, a in enumerate(one, 1):
        older, before, row = before, row, [i]
        for j, b in enumerate(two, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == two[j - 2] and one[i - 2] == b:
                cost = min(cost, older[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)
