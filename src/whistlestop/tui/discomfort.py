"""The question about a discomfort, key by key: where, which side, how strong.

One for the Floor and the close-out. A key that answers nothing leaves it open and says
what is expected; only Escape leaves it. It judges no complaint: some places lead to the
page of warning signs, and that is all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, Literal

from whistlestop.domain.demands import MUCH, asked
from whistlestop.domain.sites import SITES, Site, side_and_site
from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.library import exercises

SIDES: Final[Mapping[str, str]] = MappingProxyType(
    {"l": "left", "r": "right", "b": "both", "m": "middle"}
)
KINDS: Final[Mapping[str, str]] = MappingProxyType(
    {"m": "a sore muscle", "s": "something else"}
)
LETTERS: Final[Mapping[str, Site]] = MappingProxyType(
    {site.letter: site for site in SITES.values()}
)
TEN_KEY: Final = "t"
# Chest and head show the signs at once, these two only where it is no sore muscle.
SHOWS_SIGNS: Final = frozenset({"chest", "head"})
ASKS_KIND: Final = frozenset({"belly", "elsewhere"})
# What one calls them in a hurry, where 22 names have to fit.
_SHORT: Final[Mapping[str, str]] = MappingProxyType(
    {"wrist-hand": "wrist/hand", "front-thigh": "front thigh", "achilles": "Achilles"}
)
Step = Literal["site", "kind", "side", "level"]
_EXPECTED: Final[Mapping[Step, str]] = MappingProxyType(
    {
        "site": "a letter, a to v",
        "kind": "m or s",
        "side": "l, r, b or m",
        "level": "0 to 9, or t for 10",
    }
)


@dataclass(frozen=True, slots=True)
class DiscomfortAnswer:
    """What a key did: the question that stands now, or None once it is closed.

    `entry` is what was answered; `signs` says that the page of signs is to be shown.
    """

    question: DiscomfortQuestion | None
    entry: EnterDiscomfort | None = None
    signs: bool = False


@dataclass(frozen=True, slots=True)
class DiscomfortQuestion:
    """Where, what kind, which side, how strong; `first` are sites to name first.

    `one` says that a 1 was typed, which a 0 makes 10. `wrong` is the key that answered
    nothing.
    """

    first: tuple[str, ...] = ()
    site: str = ""
    kind: str = ""
    side: str = ""
    one: bool = False
    wrong: str = ""

    @property
    def step(self) -> Step:
        """What is asked now."""
        if not self.site:
            return "site"
        if self.site in ASKS_KIND and not self.kind:
            return "kind"
        if SITES[self.site].sided and not self.side:
            return "side"
        return "level"

    @property
    def sites(self) -> tuple[Site, ...]:
        """All sites, those of today's stations first."""
        early = [SITES[key] for key in SITES if key in self.first]
        return (*early, *(site for site in SITES.values() if site not in early))

    @property
    def name(self) -> str:
        """What was answered so far, as people say it."""
        return side_and_site(self.site, self.side)

    @property
    def words(self) -> str:
        """The question as a line; two spaces stand between its choices."""
        return f"{self.correction}{self._asked}"

    @property
    def correction(self) -> str:
        """What is expected instead of a key that answered nothing; else empty."""
        if not self.wrong:
            return ""
        return f"Not {self.wrong}: expected {_EXPECTED[self.step]}.  "

    @property
    def _asked(self) -> str:
        if self.step == "site":
            listed = (f"{x.letter} {_SHORT.get(x.id, x.name)}" for x in self.sites)
            return "  ".join(("Where?", *listed))
        if self.step == "kind":
            return "  ".join((f"{self.name}:", *(f"{k} {w}" for k, w in KINDS.items())))
        if self.step == "side":
            sides = (f"{key} {word}" for key, word in SIDES.items())
            return "  ".join((f"{self.name}, which side?", *sides))
        if self.one:
            return f"{self.name}: 1 or 10?  0 makes it 10  Enter saves 1"
        return f"{self.name}: how strong?  0 none  to 9  {TEN_KEY} for 10"

    def press(self, key: str) -> DiscomfortAnswer:
        """Take one key; only Escape, or a whole answer, closes the question."""
        if key == "escape":
            return DiscomfortAnswer(None)
        if key == "backspace":
            return DiscomfortAnswer(self._one_back())
        return _taken(replace(self, wrong=""), key)

    def _one_back(self) -> DiscomfortQuestion | None:
        if self.one:
            return replace(self, one=False, wrong="")
        if self.side:
            return replace(self, side="", wrong="")
        if self.kind:
            return replace(self, kind="", wrong="")
        return replace(self, site="", wrong="") if self.site else None


def _taken(asked: DiscomfortQuestion, key: str) -> DiscomfortAnswer:
    if asked.step == "site" and key in LETTERS:
        site = LETTERS[key].id
        return DiscomfortAnswer(replace(asked, site=site), signs=site in SHOWS_SIGNS)
    if asked.step == "kind" and key in KINDS:
        return DiscomfortAnswer(replace(asked, kind=key), signs=key == "s")
    if asked.step == "side" and key in SIDES:
        return DiscomfortAnswer(replace(asked, side=SIDES[key]))
    if asked.step == "level":
        return _level(asked, key)
    return _unknown(asked, key)


def _level(asked: DiscomfortQuestion, key: str) -> DiscomfortAnswer:
    if key == TEN_KEY or (asked.one and key == "0"):
        return _entered(asked, 10)
    if asked.one:
        return _entered(asked, 1) if key in {"1", "enter"} else _unknown(asked, key)
    if key == "1":
        return DiscomfortAnswer(replace(asked, one=True))
    if len(key) == 1 and key.isascii() and key.isdigit():
        return _entered(asked, int(key))
    return _unknown(asked, key)


def _entered(asked: DiscomfortQuestion, level: int) -> DiscomfortAnswer:
    return DiscomfortAnswer(None, EnterDiscomfort(asked.site, asked.side, level))


def _unknown(asked: DiscomfortQuestion, key: str) -> DiscomfortAnswer:
    return DiscomfortAnswer(replace(asked, wrong=key.replace("_", " ")))


def sites_of(keys: Iterable[str]) -> tuple[str, ...]:
    """The sites that some stations ask much of, in the order of the sites."""
    known = exercises()
    much = {
        site
        for key in keys
        if key in known
        for site, value in asked(known[key]).items()
        if value == MUCH
    }
    return tuple(site for site in SITES if site in much)
