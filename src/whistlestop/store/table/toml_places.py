"""TOML text from anywhere: bounded, parsed, and located by line and column.

Owns the limits of every TOML text, its syntax problems in plain words, and the map
from a key path to its place. Refuses to know files and what the keys mean.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.text import shown
from whistlestop.errors import Problem, ProblemsFound

# Measured on hostile files: a 40 KB dotted key costs the parser 5 s and 1.5 GB,
# 500 nested lists a RecursionError, so all of this is judged before it is asked.
MAX_BYTES: Final = 65_536
MAX_LINE_CHARACTERS: Final = 1_000
MAX_LINES: Final = 2_000
MAX_DEPTH: Final = 6
MAX_VALUES: Final = 2_000

KeyPath = tuple[str | int, ...]

_BASIC: Final = r'"(?:[^"\\\n]|\\.)*"'
_LITERAL: Final = r"'[^'\n]*'"
_LONG_BASIC: Final = r'"""(?:\\[\s\S]|(?!""")[^\\])*"""(?:"{0,2})'
_LONG_LITERAL: Final = r"'''(?:(?!''')[\s\S])*'''(?:'{0,2})"
_TEXT: Final = re.compile(
    f"{_LONG_BASIC}|{_LONG_LITERAL}|(?!\"\"\"|''')(?:{_BASIC}|{_LITERAL})"
)
_QUOTED_KEY: Final = re.compile(f"{_BASIC}|{_LITERAL}")
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_BLANK: Final = re.compile(r"[ \t]*")
_BLANKS: Final = re.compile(r"(?:[ \t\n]+|#[^\n]*)*")
_PLAIN_VALUE: Final = re.compile(r"[^\s,\[\]{}#\"'=][^,\]}#\n]*")
_PIECE: Final = re.compile(r"#[^\n]*|[^\"'#\[\]{}\n=,.]+|[\[\]{}\n=,.]")
_ESCAPE: Final = re.compile(
    r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|x([0-9A-Fa-f]{2})|(.))"
)
_ESCAPED: Final = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b"}
_AT: Final = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


@dataclass(frozen=True, slots=True)
class TomlPlace:
    """Where a key and its value begin; lines and columns count from 1.

    For a table with a header both are the name in the header, for an entry of a
    list both are the entry.
    """

    line: int
    column: int
    value_line: int
    value_column: int


class TomlDocument:
    """Parsed values, and the way back from a key path to the text."""

    def __init__(self, name: str, text: str, values: dict[str, Any]) -> None:
        self.name = name
        self.values = values
        self._text = text
        self._places: Mapping[KeyPath, TomlPlace] | None = None

    @property
    def places(self) -> Mapping[KeyPath, TomlPlace]:
        """Key path to place; made when first asked for."""
        if self._places is None:
            self._places = scan_places(self._text)
        return self._places

    def problem(
        self, path: KeyPath, what: str, expected: str = "", *, at_key: bool = False
    ) -> Problem:
        """Make a problem at a path, or at the nearest table round it."""
        for length in range(len(path), 0, -1):
            place = self.places.get(path[:length])
            if place is None:
                continue
            if at_key or length < len(path):
                return Problem(self.name, place.line, place.column, what, expected)
            return Problem(
                self.name, place.value_line, place.value_column, what, expected
            )
        return Problem(self.name, 1, 1, what, expected)


def nearest(word: str, known: Iterable[str]) -> str:
    """Find the known word that is most like this one, or nothing."""
    if len(word) > 2 * 48:
        return ""
    # Imported here: most files have no problem.
    from difflib import get_close_matches

    found = get_close_matches(word, list(known), n=1)
    return found[0] if found else ""


def parse_toml(text: str, *, name: str) -> TomlDocument:
    """Parse text within the limits; `name` stands for the file in problems.

    Raises:
        ProblemsFound: It is beyond a limit, or is not TOML 1.0.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    if problem := _beyond_limits(text, name):
        raise ProblemsFound((problem,))
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ProblemsFound((_syntax_problem(text, name, str(error)),)) from None
    except (RecursionError, ValueError):
        what = "the file holds something that cannot be read as TOML"
        raise ProblemsFound((Problem(name, 1, 1, what),)) from None
    if problem := _too_much(values, name):
        raise ProblemsFound((problem,))
    return TomlDocument(name, text, values)


# --- Limits ------------------------------------------------------------------


def _beyond_limits(text: str, name: str) -> Problem | None:
    if len(text) > MAX_BYTES or len(text.encode("utf-8", "replace")) > MAX_BYTES:
        return Problem(name, 0, 0, "the file is too large", "64 KiB at most")
    lines = text.removesuffix("\n").split("\n")
    if len(lines) > MAX_LINES:
        what = f"the file has {len(lines):,} lines"
        return Problem(name, MAX_LINES + 1, 1, what, f"{MAX_LINES:,} at most")
    for number, line in enumerate(lines, 1):
        if len(line) > MAX_LINE_CHARACTERS:
            what = f"the line has {len(line):,} characters"
            expected = f"{MAX_LINE_CHARACTERS:,} at most"
            return Problem(name, number, MAX_LINE_CHARACTERS + 1, what, expected)
    return _too_deep(text, name)


def _too_deep(text: str, name: str) -> Problem | None:
    """Find a key of too many parts or too deep a nest, without parsing.

    Texts and comments are passed over just as the parser does; where a text has
    no end this stops, because the parser cannot come any further either.
    """
    dots = depth = position = 0
    while position < len(text):
        match = (_TEXT if text[position] in "\"'" else _PIECE).match(text, position)
        if match is None:
            return None
        piece = text[position]
        if piece == ".":
            dots += 1
        elif piece in "\n=,[]{}":
            dots = 0
            depth = max(0, depth + (piece in "[{") - (piece in "]}"))
        if dots >= MAX_DEPTH or depth > MAX_DEPTH:
            line, column = _LineStarts(text).place(position)
            what = "a key has too many parts" if dots else "values are nested too deep"
            return Problem(name, line, column, what, f"{MAX_DEPTH} at most")
        position = match.end()
    return None


def _too_much(values: dict[str, Any], name: str) -> Problem | None:
    waiting: list[tuple[Any, int]] = [(values, 1)]
    for value, depth in waiting:  # it grows while it is walked
        if isinstance(value, (dict, list)):
            if depth > MAX_DEPTH:
                what = "values are nested too deep"
                return Problem(name, 0, 0, what, f"{MAX_DEPTH} levels at most")
            inner = value.values() if isinstance(value, dict) else value
            waiting += [(entry, depth + 1) for entry in inner]
        if len(waiting) > MAX_VALUES:
            what = "the file holds too many values"
            return Problem(name, 0, 0, what, f"{MAX_VALUES:,} at most")
    return None


# --- Syntax ------------------------------------------------------------------

# What the parser says, up to its first variable part | what is shown | expected.
_PLAIN_WORDS: Final = r"""
Invalid value|a value is missing or cannot be read|text in quotes or a number
Invalid statement|this cannot begin a line|key = value, or a [header]
Expected newline or end of document|something follows the value|a new line
Expected '=' after a key|a key without a value|key = value
Invalid initial character for a key|a key is missing|key = value
Expected ']]'|the header is not closed|]]
Expected ']'|the header is not closed|]
Unclosed array|the list is not closed|a comma or ]
Unclosed inline|the table is not closed|a comma or }
Unterminated string|the text is not closed|a closing quote
Expected|the text is not closed|a closing quote
Illegal character '\n'|the text is not closed on its line|a closing quote
Unescaped '\' in a string|a single \ stands in the text|\\
Escaped character is not|an escape names no character|\uXXXX
Invalid hex value|an escape names no character|\uXXXX
Invalid date|there is no such date or time|
Illegal character|a control character stands here|plain text
Found invalid character|a control character stands here|plain text
"""
_TWICE: Final = ("Cannot ", "Duplicate ")


def _syntax_problem(text: str, name: str, message: str) -> Problem:
    at = _AT.search(message)
    sentence = message[: at.start()] if at else message
    scanner = _Scanner(text)
    scanner.run()
    line, column = scanner.lines.place(scanner.position)
    if at and at[1] and scanner.unclosed is None:
        line, column = int(at[1]), int(at[2])
    if scanner.unclosed is not None:
        sentence = (
            "Unclosed array" if text[scanner.unclosed] == "[" else "Unclosed inline"
        )
    if sentence.startswith(_TWICE):
        if scanner.twice is not None:
            return _twice_problem(scanner, name)
        return Problem(name, line, column, "this key appears twice")
    for row in _PLAIN_WORDS.strip().splitlines():
        start, what, expected = row.split("|")
        if sentence.startswith(start):
            return Problem(name, line, column, what, expected)
    return Problem(name, line, column, f"this is not TOML: {shown(sentence, 120)}")


def _twice_problem(scanner: _Scanner, name: str) -> Problem:
    assert scanner.twice is not None
    path, offset = scanner.twice
    line, column = scanner.lines.place(offset)
    first = scanner.lines.place(scanner.found[path][0])[0]
    key = shown(str(path[-1]), 40)
    what = f'"{key}" appears twice; the first is on line {first}'
    return Problem(name, line, column, what)


# --- Places ------------------------------------------------------------------


class _LineStarts:
    """Turns an offset into line and column."""

    def __init__(self, text: str) -> None:
        self._starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def place(self, offset: int) -> tuple[int, int]:
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1


def scan_places(text: str) -> dict[KeyPath, TomlPlace]:
    """Locate every key path of a text that the TOML parser has accepted."""
    scanner = _Scanner(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    scanner.run()
    place = scanner.lines.place
    return {
        path: TomlPlace(*place(key), *place(value))
        for path, (key, value) in scanner.found.items()
    }


class _Stop(Exception):
    """The text goes on in a way that is not TOML, or a key stands twice."""


class _Scanner:
    """Walks TOML without judging it: `found` maps a path to two offsets.

    On a text the parser refused, `position` is how far it made sense, `twice` the
    first key given a second time, `unclosed` where a list without an end begins.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.lines = _LineStarts(text)
        self.position = 0
        self.found: dict[KeyPath, tuple[int, int]] = {}
        self.twice: tuple[KeyPath, int] | None = None
        self.unclosed: int | None = None
        self._made_by: dict[KeyPath, str] = {}
        self._entries: dict[KeyPath, int] = {}

    def run(self) -> None:
        """Walk to the end, or to where it stops being TOML."""
        table: KeyPath = ()
        try:
            while True:
                self._skip(_BLANKS)
                if self.position >= len(self.text):
                    return
                if self.text[self.position] == "[":
                    table = self._header()
                else:
                    self._pair(table)
                self._skip(_BLANK)
                if self.position < len(self.text):
                    self._require(self.text[self.position] in "#\n")
        except _Stop:
            return

    def _require(self, holds: object) -> None:
        if not holds:
            raise _Stop

    def _skip(self, blank: re.Pattern[str]) -> None:
        match = blank.match(self.text, self.position)
        self.position = match.end() if match else self.position

    def _take(self, sign: str) -> None:
        self._require(self.text.startswith(sign, self.position))
        self.position += len(sign)

    def _key(self) -> list[tuple[str, int]]:
        """Read a dotted key: each part with its offset."""
        parts: list[tuple[str, int]] = []
        while True:
            self._skip(_BLANK)
            start = self.position
            bare = _BARE_KEY.match(self.text, start)
            match = bare or _QUOTED_KEY.match(self.text, start)
            if match is None:
                raise _Stop
            parts.append((match[0] if bare else _unquoted(match[0]), start))
            self.position = match.end()
            self._skip(_BLANK)
            if not self.text.startswith(".", self.position):
                return parts
            self.position += 1

    def _header(self) -> KeyPath:
        sign = "[[" if self.text.startswith("[[", self.position) else "["
        self._take(sign)
        *outer, (last, start) = self._key()
        self._take("]" * len(sign))
        path = self._outer((), outer, "implied")
        path = (*path, last)
        allowed = ("entries",) if sign == "[[" else ("implied",)
        if path in self._made_by and self._made_by[path] not in allowed:
            self._stop_at_second(path, start)
        self._made_by[path] = "entries" if sign == "[[" else "header"
        self._note(path, start)
        if sign == "[[":
            entry = self._entries.get(path, 0)
            self._entries[path] = entry + 1
            path = (*path, entry)
            self._note(path, start)
        return path

    def _outer(
        self, path: KeyPath, parts: list[tuple[str, int]], made_by: str
    ) -> KeyPath:
        """Enter the tables before the last part of a key, making those not there."""
        for part, start in parts:
            path = (*path, part)
            if self._made_by.get(path) == "value":
                self._stop_at_second(path, start)
            self._made_by.setdefault(path, made_by)
            self._note(path, start)
            if path in self._entries:
                path = (*path, self._entries[path] - 1)
        return path

    def _note(self, path: KeyPath, start: int) -> None:
        self.found.setdefault(path, (start, start))

    def _stop_at_second(self, path: KeyPath, start: int) -> None:
        self.twice = (path, start)
        raise _Stop

    def _pair(self, table: KeyPath) -> None:
        *outer, (last, start) = self._key()
        self._take("=")
        path = (*self._outer(table, outer, "dotted"), last)
        if path in self._made_by:
            self._stop_at_second(path, start)
        self._skip(_BLANK)
        self._made_by[path] = "value"
        self.found[path] = (start, self.position)
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        sign = self.text[self.position : self.position + 1]
        if sign == "[":
            self._list(path)
        elif sign == "{":
            self._within("}", lambda _: self._pair(path))
        else:
            pattern = _TEXT if sign in ('"', "'") else _PLAIN_VALUE
            match = pattern.match(self.text, self.position)
            if match is None:
                raise _Stop
            self.position = match.end()

    def _list(self, path: KeyPath) -> None:
        def entry(number: int) -> None:
            inner = (*path, number)
            self._note(inner, self.position)
            self._value(inner)

        self._within("]", entry)

    def _within(self, end: str, read: Callable[[int], None]) -> None:
        start = self.position
        self.position += 1
        number = 0
        self._skip(_BLANKS)
        while not self.text.startswith(end, self.position):
            if self.position >= len(self.text):
                self.position = self.unclosed = start
                raise _Stop
            read(number)
            number += 1
            self._skip(_BLANKS)
            if self.text.startswith(",", self.position):
                self.position += 1
                self._skip(_BLANKS)
            elif self.position < len(self.text):
                self._require(self.text.startswith(end, self.position))
        self.position += 1


def _unquoted(key: str) -> str:
    return key[1:-1] if key[0] == "'" else _ESCAPE.sub(_meant, key[1:-1])


def _meant(escape: re.Match[str]) -> str:
    digits = escape[1] or escape[2] or escape[3]
    if digits:
        point = int(digits, 16)
        return chr(point) if point <= 0x10FFFF else escape[0]
    return _ESCAPED.get(escape[4], escape[4])
