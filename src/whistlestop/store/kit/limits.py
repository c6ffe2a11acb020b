"""limits.toml becomes limits, or a list of everything that is wrong with it.

Owns the keys of the file, that each entry names one thing to leave out or to go easy
on until a date, and what files of format 1 meant. Refuses to know today's date, and
why anybody leaves anything out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.demands import Strength
from whistlestop.domain.field import (
    NAME_LIMIT,
    DayValue,
    ListOf,
    Text,
    table_of,
    value,
    written,
)
from whistlestop.domain.limits import LIMIT_KINDS, SIDE, STRENGTH, Limit, LimitKind
from whistlestop.domain.sites import BODY_SITES, SITES, SITES_OF_CAUTION, site_of
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.kit.file import marked, write_saved
from whistlestop.store.table.judging import Judge, listed, problems_of
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import KeyPath, nearest, parse_toml

Vocabulary = Mapping[LimitKind, frozenset[str]]
FORMAT: Final = 2
_OLD_FORMAT: Final = 1
_NAME: Final = Text(NAME_LIMIT, least=1)
_MOST: Final = 90
_OLD_MOST: Final = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class _OldLimit:
    """An `[[avoid]]` of format 1: one of four kinds of things, until a day."""

    region: str | None = value(_NAME, None, "legs, core, arms or whole")
    pattern: str | None = value(_NAME, None, "a kind of movement, as hinge")
    movement: str | None = value(_NAME, None, "the id of a station")
    caution: str | None = value(_NAME, None, "the code of a caution, as Bal")
    since: date | None = value(DayValue(), None, "the first day")
    until: date = value(DayValue(), meaning="the last day")
    review: str = value(Text(), "", "what to ask once the time is over")
    note: str = value(Text(), "", "private")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Limit(_OldLimit):
    """A `[[limit]]`: a site with side and strength, or one of the older kinds."""

    site: str | None = value(_NAME, None, "a site of the body, as knee")
    side: str = value(SIDE, "", "of a site; without it both sides")
    strength: Strength = value(
        STRENGTH, "out", "whether a site goes easy or is left out"
    )

    @classmethod
    def of(cls, limit: Limit, *, private: bool) -> _Limit:
        named: dict[str, Any] = {limit.kind: limit.value}
        return cls(
            **named,
            side=limit.side,
            strength=limit.strength,
            since=limit.since,
            until=limit.until,
            review=limit.review,
            note=limit.note if private else "",
        )


def _meant(entry: _OldLimit) -> Iterator[Limit]:
    """The limits of an entry: a code of a caution may stand for several sites."""
    kind, word = next(
        (kind, text)
        for kind in LIMIT_KINDS
        if (text := getattr(entry, kind, None)) is not None
    )
    limit = Limit(kind, word, entry.until, entry.since, entry.review, entry.note)
    if isinstance(entry, _Limit) and (site := site_of(entry.site or "")):
        yield replace(limit, value=site.id, side=entry.side, strength=entry.strength)
    elif kind == "caution" and word in SITES_OF_CAUTION:
        for one in SITES_OF_CAUTION[word]:
            yield replace(limit, kind="site", value=one)
    else:
        yield limit


@dataclass(frozen=True, slots=True)
class _OldFile:
    avoid: tuple[_OldLimit, ...] = value(
        ListOf(table_of(_OldLimit, called="avoid"), most=_OLD_MOST), ()
    )

    @property
    def entries(self) -> tuple[_OldLimit, ...]:
        return self.avoid


@dataclass(frozen=True, slots=True)
class _File:
    limit: tuple[_Limit, ...] = value(
        ListOf(table_of(_Limit, called="limit"), most=_MOST), ()
    )

    @property
    def entries(self) -> tuple[_Limit, ...]:
        return self.limit


@lru_cache(maxsize=1)
def library_vocabulary() -> Vocabulary:
    """What a limit may name: the words of the library that ships."""
    from whistlestop import library

    exercises = library.exercises()
    return {
        "site": frozenset(BODY_SITES),
        "region": frozenset(e.region for e in exercises.values()),
        "pattern": frozenset(e.pattern for e in exercises.values()),
        "movement": frozenset(exercises),
        "caution": frozenset(library.CAUTIONS),
    }


def read_limits(path: Path) -> tuple[Limit, ...]:
    """Read a limits file.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    return parse_limits(read_text(path), name=shown(str(path)))


def check_limits(path: Path) -> tuple[Problem, ...]:
    """List the problems of a limits file; none where it can be used."""
    return problems_of(lambda: read_limits(path))


def parse_limits(
    text: str, *, name: str, vocabulary: Vocabulary | None = None
) -> tuple[Limit, ...]:
    """Read the text of a limits file, in the order of the file.

    Args:
        text: TOML 1.0 of format 1 or 2. A code of a caution that is about a site
            is read as that site, left out.
        name: What stands for the file in problems.
        vocabulary: What a limit may name; by default the library. A movement may
            be any id, since circuits have exercises of their own.

    Raises:
        ProblemsFound: With every problem that could be found at once; of a later
            format that alone.
    """
    document = parse_toml(text, name=shown(name))
    number = document.values.get("format")
    if type(number) is int and number > FORMAT:
        what = f"format is {number}: a later version of whistlestop wrote it"
        expected = f"{_OLD_FORMAT} or {FORMAT}; nothing was changed"
        raise ProblemsFound((document.problem(("format",), what, expected),))
    is_old = type(number) is int and number == _OLD_FORMAT
    table: type[_OldFile | _File] = _OldFile if is_old else _File
    judge = Judge(document, table, _OLD_FORMAT if is_old else FORMAT)
    read, problems = judge.read(table)
    problems += _entry_problems(judge, vocabulary or library_vocabulary())
    if problems or read is None:
        raise ProblemsFound(listed(document.name, problems))
    return tuple(limit for entry in read.entries for limit in _meant(entry))


def _entry_problems(judge: Judge, words: Vocabulary) -> Iterator[Problem]:
    """Judge what each entry names; wrong types are left to the schema."""
    document = judge.document
    header, most = ("avoid", _OLD_MOST) if judge.table is _OldFile else ("limit", _MOST)
    kinds = [kind for kind in LIMIT_KINDS if kind != "site" or header == "limit"]
    entries = document.values.get(header)
    for place, entry in enumerate(entries[:most] if isinstance(entries, list) else ()):
        path: KeyPath = (header, place)
        if not isinstance(entry, dict):
            continue
        named = [kind for kind in kinds if kind in entry]
        if len(named) != 1:
            counted = "nothing" if not named else " and ".join(named)
            what = f"{judge.where(path)}it names {counted}"
            choice = ", ".join(kinds[:-1]) + f" or {kinds[-1]}"
            yield document.problem(path, what, f"one of {choice}", at_key=True)
        for kind in named:
            yield from _unknown_word(judge, (*path, kind), entry[kind], words[kind])
        for key in ("side", "strength"):
            if header == "limit" and key in entry and "site" not in named:
                what = f"{judge.where(path)}{key} without a site"
                yield document.problem((*path, key), what, 'a site, as "knee"')
        since, until = entry.get("since"), entry.get("until")
        if type(since) is type(until) is date and since > until:
            what = f"{judge.where(path)}since is after until"
            yield document.problem((*path, "since"), what, "the first day first")


def _unknown_word(
    judge: Judge, path: KeyPath, value: object, known: frozenset[str]
) -> Iterator[Problem]:
    if not isinstance(value, str) or value.strip() in known:
        return
    word, kind = value.strip(), str(path[-1])
    if kind == "site":
        yield from _unknown_site(judge, path, word)
        return
    same = (one for one in known if one.casefold() == word.casefold())
    close = next(same, "")
    if kind == "movement" and not close:
        # Imported here: most files have no problem.
        from whistlestop.library.finding import named_station

        close = named_station(word) or ""
    close = close or nearest(word, known)
    if kind == "movement" and not close:
        return
    what = f"{judge.where(path)}{kind} {as_typed(word)} is not in the library"
    expected = "a word of the library"
    yield replace(judge.document.problem(path, what, expected), nearest=close)


def _unknown_site(judge: Judge, path: KeyPath, word: str) -> Iterator[Problem]:
    """Take the names of sites as well as their ids, those of older files too."""
    site = site_of(word)
    if site is not None and site.swaps:
        return
    names = {
        one.casefold(): key for key in BODY_SITES for one in (key, SITES[key].name)
    }
    close = "" if site else names.get(nearest(word.casefold(), names), "")
    if site is not None:
        what = f"{judge.where(path)}site {as_typed(word)} is no site to exchange for"
        expected = "a site from neck to foot; for this one ask a doctor"
    else:
        what = f"{judge.where(path)}site {as_typed(word)} is not known"
        expected = f"one of {', '.join(BODY_SITES)}"
    yield replace(judge.document.problem(path, what, expected), nearest=close)


def limits_text(limits: Iterable[Limit], *, private: bool = True) -> str:
    """Write limits as the text of a file; `private=False` leaves out the notes."""
    # Imported here: limits are seldom written.
    import tomli_w

    entries = [written(_Limit.of(limit, private=private)) for limit in limits]
    return marked(tomli_w.dumps({"format": FORMAT, "limit": entries}))


def write_limits(path: Path, limits: Iterable[Limit]) -> None:
    """Write the limits file, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it; the old
            file still stands.
    """
    write_saved(path, limits_text(limits))
