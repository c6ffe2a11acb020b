"""A value described once: what it may be, and how files and people give it.

An attribute of a dataclass is described where it stands:

    loops: int = value(Whole(1, 20), 1, "how often all stations come")

The judge and the writer of files, options, typed lines, steps and the guide read it
from there. Owns the kinds of values. Refuses to know files, screens and options.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, field, fields
from datetime import date, datetime
from functools import lru_cache
from typing import Any, Final, Generic, TypeVar

from whistlestop.dataclass import dataclass
from whistlestop.domain.day import parse_day
from whistlestop.domain.duration import EXPECTED, exact, parse_duration_ms
from whistlestop.domain.text import as_typed, first_hostile

T = TypeVar("T")
NAME_LIMIT: Final = 80
NOTE_LIMIT: Final = 400
_DESCRIBED: Final = "described"
EXPECTED_ID: Final = (
    "1 to 48 of a-z, 0-9 and hyphen, with a letter or digit at both ends"
)
_ID: Final = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,46}[a-z0-9])?")
_DEVICES: Final = frozenset(
    ["con", "prn", "aux", "nul"]
    + [f"{port}{number}" for port in ("com", "lpt") for number in range(10)]
)


class Wrong(ValueError):
    """A value that cannot be taken: what it is, and what was expected instead.

    `nearest` is the word that was meant, where one of many is expected.
    """

    def __init__(self, found: str, expected: str, nearest: str = "") -> None:
        super().__init__(f"expected {expected}")
        self.found = found
        self.expected = expected
        self.nearest = nearest


def is_id(text: str) -> bool:
    """Say whether a text may be an id, and so the stem of a file on any system."""
    return bool(_ID.fullmatch(text)) and text not in _DEVICES


# --- Kinds ---------------------------------------------------------------------


class ValueKind(Generic[T]):
    """A kind of value: a `T` inside, a TOML value in a file, a line where typed.

    Args of a kind are its range; `judged` and `typed` raise `Wrong` outside of it.
    """

    @property
    def expected(self) -> str:
        """What may be given, in words: a range, or the choices."""
        return ""

    def judged(self, value: object) -> T:
        """Take a value as a file gives it."""
        raise NotImplementedError

    def typed(self, text: str) -> T:
        """Take a line as a person types it."""
        return self.judged(text)

    def written(self, value: T) -> object:
        """Give a value to a file, so that `judged` takes it back."""
        return value

    def shown(self, value: T) -> str:
        """Give a value to a person."""
        return str(value)

    def as_line(self, value: T) -> str:
        """Give a value as it would be typed, so that `typed` takes it back."""
        return str(self.written(value))

    def with_steps(self, value: T, steps: int) -> T:
        """Go some steps up or down, to the end of the range at most."""
        del steps
        return value


@dataclass(frozen=True)
class Whole(ValueKind[int]):
    """A whole number, both ends allowed."""

    least: int
    most: int

    @property
    def expected(self) -> str:
        """The range."""
        is_one = self.least == self.most
        return f"{self.least}" if is_one else f"{self.least} to {self.most}"

    def judged(self, value: object) -> int:
        """Take a number; true is none, though Python counts it as 1."""
        if type(value) is not int:
            raise Wrong(f"is {as_typed(value)}", f"a whole number, {self.expected}")
        if not self.least <= value <= self.most:
            raise Wrong(f"is {as_typed(value)}", self.expected)
        return value

    def typed(self, text: str) -> int:
        """Take digits; more than ten are no number that anybody means."""
        digits = text.removeprefix("-") if self.least < 0 else text
        if not (digits.isascii() and digits.isdigit() and len(digits) < 11):
            raise Wrong(f"is {as_typed(text)}", self.expected)
        return self.judged(int(text))

    def with_steps(self, value: int, steps: int) -> int:
        """Count."""
        return min(self.most, max(self.least, value + steps))


@dataclass(frozen=True)
class Length(ValueKind[int]):
    """A length of time in ms, whole seconds: 40, "40 s", "2 min" or "1:30"."""

    least_ms: int
    most_ms: int
    step_ms: int = 5_000

    @property
    def expected(self) -> str:
        """The range, as "5 s to 10 min"."""
        return f"{_length(self.least_ms)} to {_length(self.most_ms)}"

    def judged(self, value: object) -> int:
        """Take seconds as a number, or a text with a unit."""
        if type(value) is int:
            return self._within(value * 1000, f"is {as_typed(value)} s")
        if not isinstance(value, str):
            raise Wrong(f"is {as_typed(value)}", EXPECTED)
        Text(NAME_LIMIT).judged(value)
        return self.typed(value)

    def typed(self, text: str) -> int:
        """Take a text, with or without a unit."""
        ms = _parsed(parse_duration_ms, text)
        return self._within(ms, f"is {text.strip()}")

    def within(self, ms: int) -> int:
        """Take a length that came about by reckoning."""
        self._within(ms, f"is {exact(ms)}")
        if ms % 1000:
            raise Wrong(f"is {exact(ms)}", "a whole number of seconds")
        return ms

    def _within(self, ms: int, found: str) -> int:
        if not self.least_ms <= ms <= self.most_ms:
            raise Wrong(found, self.expected)
        return ms

    def written(self, value: int) -> object:
        """Give it with its unit."""
        return exact(value)

    def shown(self, value: int) -> str:
        """Give it in seconds, as the screens do."""
        return f"{value // 1000} s"

    def with_steps(self, value: int, steps: int) -> int:
        """Go by `step_ms`."""
        return min(self.most_ms, max(self.least_ms, value + steps * self.step_ms))


@dataclass(frozen=True)
class Seconds(Length):
    """A length in ms that files and options give as a bare number of seconds."""

    @property
    def _whole(self) -> Whole:
        return Whole(self.least_ms // 1000, self.most_ms // 1000)

    @property
    def expected(self) -> str:
        """The range, without a unit: the key or the option says it."""
        return self._whole.expected

    def judged(self, value: object) -> int:
        """Take a number."""
        return self._whole.judged(value) * 1000

    def typed(self, text: str) -> int:
        """Take digits."""
        return self._whole.typed(text) * 1000

    def written(self, value: int) -> object:
        """Give a number."""
        return value // 1000


@dataclass(frozen=True)
class Choice(ValueKind[T]):
    """One of a few words or figures; `words` gives to each what a person reads."""

    words: Mapping[T, str]

    @property
    def expected(self) -> str:
        """The words of the file."""
        *before, last = map(as_typed, self.words)
        return f"{', '.join(before)} or {last}" if before else last

    def judged(self, value: object) -> T:
        """Take one of the words; false is not 0, though Python counts it so."""
        for word in self.words:
            if type(word) is type(value) and word == value:
                return word
        raise Wrong(f"is {as_typed(value)}", self.expected)

    def typed(self, text: str) -> T:
        """Take one of the words as it stands."""
        return self.judged({str(word): word for word in self.words}.get(text, text))

    def shown(self, value: T) -> str:
        """Give what it means."""
        return self.words[value]

    def with_steps(self, value: T, steps: int) -> T:
        """Go along the words."""
        scale = list(self.words)
        return scale[min(len(scale) - 1, max(0, scale.index(value) + steps))]


@dataclass(frozen=True)
class YesNo(ValueKind[bool]):
    """True or false."""

    yes: str = "yes"
    no: str = "no"

    @property
    def expected(self) -> str:
        """The words of TOML."""
        return "true or false"

    def judged(self, value: object) -> bool:
        """Take true or false alone: 1 and "yes" are none."""
        if not isinstance(value, bool):
            raise Wrong(f"is {as_typed(value)}", self.expected)
        return value

    def typed(self, text: str) -> bool:
        """Take what is shown."""
        word = text.strip().casefold()
        if word not in {self.yes, self.no}:
            raise Wrong(f"is {as_typed(text)}", f"{self.yes} or {self.no}")
        return word == self.yes

    def shown(self, value: bool) -> str:  # noqa: FBT001 - the value itself
        """Give what it means."""
        return self.yes if value else self.no

    def as_line(self, value: bool) -> str:  # noqa: FBT001 - likewise
        """Give what is shown."""
        return self.shown(value)

    def with_steps(self, value: bool, steps: int) -> bool:  # noqa: FBT001 - likewise
        """Up is yes, down is no."""
        del value
        return steps > 0


@dataclass(frozen=True)
class Text(ValueKind[str]):
    """One line of text without blanks round it; `least` 1 asks for some."""

    most: int = NOTE_LIMIT
    least: int = 0

    @property
    def expected(self) -> str:
        """How long it may be."""
        return f"at most {self.most} characters"

    def judged(self, value: object) -> str:
        """Take a text that can be shown."""
        if not isinstance(value, str):
            raise Wrong(f"is {as_typed(value)}", "text in quotes")
        if "\n" in value:
            raise Wrong("goes over several lines", "one line of text")
        if hostile := first_hostile(value):
            found = f"holds the character {hostile}"
            raise Wrong(found, "text without invisible characters")
        if len(value) > self.most:
            raise Wrong(f"has {len(value):,} characters", f"{self.most} at most")
        if len(value.strip()) < self.least:
            raise Wrong("is empty", "some text")
        return value.strip()


@dataclass(frozen=True)
class Form(ValueKind[str]):
    """A text that a regular expression matches whole; `wanted` says so in words."""

    pattern: str
    wanted: str

    @property
    def expected(self) -> str:
        """Its form."""
        return self.wanted

    def judged(self, value: object) -> str:
        """Take a text of the form."""
        is_text = isinstance(value, str) and not first_hostile(value)
        if not (is_text and re.fullmatch(self.pattern, str(value))):
            raise Wrong(f"is {as_typed(value)}", self.wanted)
        return str(value)


@dataclass(frozen=True)
class Id(ValueKind[str]):
    """An id, which may be the stem of a file."""

    @property
    def expected(self) -> str:
        """Its form."""
        return EXPECTED_ID

    def judged(self, value: object) -> str:
        """Take an id."""
        if not isinstance(value, str) or not is_id(value):
            raise Wrong(f"is {as_typed(value)}", EXPECTED_ID)
        return value


@dataclass(frozen=True)
class DayValue(ValueKind[date]):
    """A date, as TOML has it without quotes."""

    @property
    def expected(self) -> str:
        """An example."""
        return "a date as 2026-05-31, without quotes"

    def judged(self, value: object) -> date:
        """Take a date without a time."""
        if isinstance(value, datetime) or not isinstance(value, date):
            raise Wrong(f"is {as_typed(value)}", self.expected)
        return value

    def typed(self, text: str) -> date:
        """Take a day as 2031-05-12, or raise ValueError."""
        return parse_day(text.strip())


@dataclass(frozen=True)
class ParsedText(ValueKind[T]):
    """A text that a function of the domain reads; its ValueError says what it wants."""

    parse: Callable[[str], T]
    write: Callable[[T], str] = str

    def judged(self, value: object) -> T:
        """Take a text; anything else is refused in the words for an empty one."""
        text = Text(NAME_LIMIT).judged(value) if isinstance(value, str) else ""
        return _parsed(self.parse, text, value)

    def typed(self, text: str) -> T:
        """Take a text."""
        return _parsed(self.parse, text)

    def written(self, value: T) -> object:
        """Give it as it was typed."""
        return self.write(value)

    def shown(self, value: T) -> str:
        """Give it as it was typed."""
        return self.write(value)


@dataclass(frozen=True)
class Read(ValueKind[T]):
    """A value that a function takes from a file, raising `Wrong`."""

    read: Callable[[object], T]
    write: Callable[[T], object] = str

    def judged(self, value: object) -> T:
        """Take it."""
        return self.read(value)

    def written(self, value: T) -> object:
        """Give it."""
        return self.write(value)


@dataclass(frozen=True)
class Optional(ValueKind[T | None]):
    """A value that may be left open. A step up from open gives the `usual` one."""

    kind: ValueKind[T]
    usual: T
    when_open: str

    @property
    def expected(self) -> str:
        """What is expected of the value."""
        return self.kind.expected

    def judged(self, value: object) -> T | None:
        """Take a value; only leaving the key out leaves it open."""
        return self.kind.judged(value)

    def typed(self, text: str) -> T | None:
        """Take a value; an empty line leaves it open."""
        return self.kind.typed(text) if text.strip() else None

    def written(self, value: T | None) -> object:
        """Give a value that is there."""
        return None if value is None else self.kind.written(value)

    def as_line(self, value: T | None) -> str:
        """Give nothing where it is open."""
        return "" if value is None else self.kind.as_line(value)

    def shown(self, value: T | None) -> str:
        """Say what open means."""
        return self.when_open if value is None else self.kind.shown(value)

    def with_steps(self, value: T | None, steps: int) -> T | None:
        """Go down from the lower end to open."""
        if value is None:
            return self.usual if steps > 0 else None
        after = self.kind.with_steps(value, steps)
        return None if steps < 0 and after == value else after


@dataclass(frozen=True)
class ListOf(ValueKind[Any]):
    """Several values of a kind, in their order; `make` may make a set of them."""

    kind: ValueKind[Any]
    most: int
    least: int = 0
    make: Callable[[Iterable[Any]], Any] = tuple

    @property
    def expected(self) -> str:
        """What is expected of each."""
        return self.kind.expected

    def judged(self, value: object) -> Any:
        """Take a list; a judge of files does this entry by entry, with places."""
        if not isinstance(value, (list, tuple)):
            raise Wrong(f"is {as_typed(value)}", f"a list of {self.expected}")
        if not self.least <= len(value) <= self.most:
            raise Wrong(f"has {len(value)} entries", f"{self.least} to {self.most}")
        return self.make(self._entry(*one) for one in enumerate(value, 1))

    def _entry(self, number: int, value: object) -> Any:
        try:
            return self.kind.judged(value)
        except Wrong as wrong:
            found = f"entry {number} {wrong.found}"
            raise Wrong(found, wrong.expected, wrong.nearest) from None

    def typed(self, text: str) -> Any:
        """Take a line with commas between."""
        entries = (entry.strip() for entry in text.split(","))
        return self.make(self.kind.typed(entry) for entry in entries if entry)

    def written(self, value: Any) -> object:
        """Give a list; what has no order of its own is sorted."""
        entries = sorted(value) if isinstance(value, frozenset) else value
        return [self.kind.written(entry) for entry in entries]

    def shown(self, value: Any) -> str:
        """Name all."""
        return ", ".join(self.kind.shown(entry) for entry in value) or "none"


@dataclass(frozen=True)
class TableOf(ValueKind[Any]):
    """A table of its own. A text alone stands for its key `alone`, where one is named.

    `make` takes the values of its fields by name: the class, or `dict` where a file
    says only part of it. `called` is how an entry is spoken of, as "station".
    """

    table: type
    make: Callable[..., Any]
    called: str = ""
    alone: str = ""

    @property
    def expected(self) -> str:
        """What may stand in a file."""
        if not self.alone:
            return "a table"
        keys = ", ".join(f'{one.key} = "..."' for one in fields_of(self.table))
        return f"an {self.alone}, or a table {{ {keys} }}"

    def as_table(self, given: object) -> object:
        """Let a text alone be a table of one key; anything else stays as it is."""
        is_alone = bool(self.alone) and isinstance(given, str)
        return {self.alone: given} if is_alone else given

    def written(self, value: Any) -> object:
        """Give what is not as by default."""
        is_whole = isinstance(value, self.table)
        return written(value if is_whole else self.table(*value))


def in_order(**values: Any) -> tuple[Any, ...]:
    """A `make` for tables whose values are a plain tuple inside."""
    return tuple(values.values())


def table_of(table: type, *, called: str = "", alone: str = "") -> TableOf:
    """A kind of the values of a dataclass that a file gives whole."""
    return TableOf(table, table, called, alone)


@dataclass(frozen=True)
class MapOf(ValueKind[Mapping[str, T]]):
    """Values of a kind, each under an id or another name."""

    kind: ValueKind[T]
    most: int
    names: ValueKind[str] = Id()

    def written(self, value: Mapping[str, T]) -> object:
        """Give them in their order."""
        return {key: self.kind.written(one) for key, one in value.items()}


def _parsed(parse: Callable[[str], T], text: str, given: object = None) -> T:
    """Have the domain read a text; its own words say what it expected."""
    try:
        return parse(text)
    except ValueError as error:
        found = as_typed(text if given is None else given)
        raise Wrong(f"is {found}", str(error).removeprefix("expected ")) from None


def _length(ms: int) -> str:
    return f"{ms // 60_000} min" if ms and ms % 60_000 == 0 else exact(ms)


# --- Fields --------------------------------------------------------------------


@dataclass(frozen=True)
class Field(Generic[T]):
    """One value of a table, described for all who ask for it or show it.

    Attributes:
        name: The attribute of the dataclass.
        kind: What it may be.
        default: What holds where nothing is given; MISSING where it must be.
        meaning: A few words, for options and the guide.
        group: Under which heading it stands in a room.
        label: What it is called on a screen.
        key: What it is called in a file.
        option: How it is given after a command, as "--loops N"; "" where it is not.
        also: Other people's words for it, only ever used to suggest ours.
        always: Whether a file says it even where it is the default.
        filled: Whether the library says it where a file does not.
        ask: What a room asks where it is typed; "" where it is not.
        press: The key of the editor that asks for it at a station.
    """

    name: str
    kind: ValueKind[T]
    default: Any
    meaning: str = ""
    group: str = ""
    label: str = ""
    key: str = ""
    option: str = ""
    also: str = ""
    always: bool = False
    filled: bool = False
    ask: str = ""
    press: str = ""

    @property
    def is_required(self) -> bool:
        """Whether a file has to say it."""
        return self.default is MISSING and not self.filled


def value(
    kind: ValueKind[Any],
    default: Any = MISSING,
    meaning: str = "",
    group: str = "",
    **more: Any,
) -> Any:
    """Describe an attribute of a dataclass; `more` are the other parts of a `Field`."""
    given = {"default_factory": dict} if default == {} else {"default": default}
    more |= {"kind": kind, "meaning": meaning, "group": group}
    return field(metadata={_DESCRIBED: more}, **given)


@lru_cache(maxsize=64)
def fields_of(table: type) -> tuple[Field[Any], ...]:
    """The described attributes of a dataclass, in its order."""
    found = []
    for one in fields(table):
        if more := one.metadata.get(_DESCRIBED):
            named = {"label": one.name.replace("_", " "), "key": one.name, **more}
            default = {} if one.default_factory is dict else one.default
            found.append(Field(one.name, default=default, **named))
    return tuple(found)


def options_of(table: Any) -> list[Field[Any]]:
    """The values of a table that can be given as options."""
    return [one for one in fields_of(table) if one.option]


def written(table: Any, usual: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Give the values of a table to a file, by key.

    What is as by default is left out, and so is what `usual` says, by attribute.
    """
    values: dict[str, Any] = {}
    described: Any = type(table)
    for one in fields_of(described):
        held = getattr(table, one.name)
        default = (usual or {}).get(one.name, one.default)
        if held is not None and (one.always or held != default):
            values[one.key] = one.kind.written(held)
    return values


def guide_lines(table: type) -> tuple[str, ...]:
    """Say of each value of a table what it is, what may be given, and the default."""
    lines = []
    for one in fields_of(table):
        sentences = [one.meaning, one.kind.expected]
        if not (one.is_required or one.filled) and one.default is not None:
            sentences.append(
                f"else {one.kind.shown(one.default)}" if one.default else ""
            )
        lines.append(f"{one.key}: {'; '.join(filter(None, sentences))}")
    return tuple(lines)
