"""limits.toml becomes limits, or a list of everything that is wrong with it.

Owns the keys of the file and that each entry names one thing to leave out, until a
date. Refuses to know today's date, and why anybody leaves anything out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from whistlestop.domain.field import (
    NAME_LIMIT,
    DayValue,
    ListOf,
    Text,
    table_of,
    value,
    written,
)
from whistlestop.domain.limits import LIMIT_KINDS, Limit, LimitKind
from whistlestop.domain.text import as_typed, shown
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.store.kit.file import marked, write_saved
from whistlestop.store.table.text_file import read_text
from whistlestop.store.table.toml_places import KeyPath, nearest, parse_toml

if TYPE_CHECKING:
    from whistlestop.store.table.judging import Judge

Vocabulary = Mapping[LimitKind, frozenset[str]]
FORMAT: Final = 1
_NAME: Final = Text(NAME_LIMIT, least=1)
_MOST: Final = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class _Avoid:
    """An `[[avoid]]`: one of region, pattern, movement or caution, until a day."""

    region: str | None = value(_NAME, None)
    pattern: str | None = value(_NAME, None)
    movement: str | None = value(_NAME, None)
    caution: str | None = value(_NAME, None)
    since: date | None = value(DayValue(), None)
    until: date = value(DayValue())
    review: str = value(Text(), "")
    note: str = value(Text(), "")

    @classmethod
    def of(cls, limit: Limit, *, private: bool) -> _Avoid:
        named: dict[str, Any] = {limit.kind: limit.value}
        note = limit.note if private else ""
        return cls(
            **named,
            since=limit.since,
            until=limit.until,
            review=limit.review,
            note=note,
        )

    @property
    def limit(self) -> Limit:
        kind, word = next(
            (kind, getattr(self, kind)) for kind in LIMIT_KINDS if getattr(self, kind)
        )
        return Limit(kind, word, self.until, self.since, self.review, self.note)


@dataclass(frozen=True, slots=True)
class _Limits:
    avoid: tuple[_Avoid, ...] = value(
        ListOf(table_of(_Avoid, called="avoid"), most=_MOST), ()
    )


@lru_cache(maxsize=1)
def library_vocabulary() -> Vocabulary:
    """What a limit may name: the words of the library that ships."""
    from whistlestop import library

    exercises = library.exercises()
    return {
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
    try:
        read_limits(path)
    except ProblemsFound as found:
        return found.problems
    return ()


def parse_limits(
    text: str, *, name: str, vocabulary: Vocabulary | None = None
) -> tuple[Limit, ...]:
    """Read the text of a limits file, in the order of the file.

    Args:
        text: TOML 1.0 of format 1.
        name: What stands for the file in problems.
        vocabulary: What a limit may name; by default the library. A movement may
            be any id, since circuits have exercises of their own.

    Raises:
        ProblemsFound: With every problem that could be found at once.
    """
    document = parse_toml(text, name=shown(name))
    # Imported here: limits are seldom judged, and pydantic comes with it.
    from whistlestop.store.table.judging import Judge, listed

    judge = Judge(document, _Limits)
    table, problems = judge.read(_Limits)
    problems += _entry_problems(judge, vocabulary or library_vocabulary())
    if problems or table is None:
        raise ProblemsFound(listed(document.name, problems))
    return tuple(avoid.limit for avoid in table.avoid)


def _entry_problems(judge: Judge, words: Vocabulary) -> Iterator[Problem]:
    """Judge what each entry names; wrong types are left to the schema."""
    document = judge.document
    entries = document.values.get("avoid")
    for place, entry in enumerate(entries[:_MOST] if isinstance(entries, list) else ()):
        path: KeyPath = ("avoid", place)
        if not isinstance(entry, dict):
            continue
        named = [kind for kind in LIMIT_KINDS if kind in entry]
        if len(named) != 1:
            counted = "nothing" if not named else " and ".join(named)
            what = f"{judge.where(path)}it names {counted}"
            choice = ", ".join(LIMIT_KINDS[:-1]) + f" or {LIMIT_KINDS[-1]}"
            yield document.problem(path, what, f"one of {choice}", at_key=True)
        for kind in named:
            yield from _unknown_word(judge, (*path, kind), entry[kind], words[kind])
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
    same = (one for one in known if one.casefold() == word.casefold())
    close = next(same, nearest(word, known))
    if kind == "movement" and not close:
        return
    what = f"{judge.where(path)}{kind} {as_typed(word)} is not in the library"
    expected = "a word of the library"
    yield replace(judge.document.problem(path, what, expected), nearest=close)


def limits_text(limits: Iterable[Limit], *, private: bool = True) -> str:
    """Write limits as the text of a file; `private=False` leaves out the notes."""
    # Imported here: limits are seldom written.
    import tomli_w

    entries = [written(_Avoid.of(limit, private=private)) for limit in limits]
    return marked(tomli_w.dumps({"format": FORMAT, "avoid": entries}))


def write_limits(path: Path, limits: Iterable[Limit]) -> None:
    """Write the limits file, unless somebody has written or changed it by hand.

    Raises:
        StoreError: It is somebody's own, or the disk does not take it; the old
            file still stands.
    """
    write_saved(path, limits_text(limits))
