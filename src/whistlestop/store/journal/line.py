"""One journal line: how it is written, and how far a line found may be believed.

The checksum `c` is the CRC-32 (8 lower-case hex digits) of the canonical bytes:
the line as it stood before `,"c":"........"` was put in front of its last brace.
Refuses to know what kinds of line there are, and where lines are stored.
"""

from __future__ import annotations

import json
import math
import re
import zlib
from collections.abc import Mapping
from dataclasses import field
from typing import Any, Final, Literal

from whistlestop.dataclass import dataclass
from whistlestop.domain.text import shown
from whistlestop.errors import StoreError

State = Literal["ok", "edited", "damaged", "unreadable"]

MAX_LINE_BYTES: Final = 1024 * 1024
_LEADING: Final = ("s", "k", "t", "wall", "a")
_BOM: Final = b"\xef\xbb\xbf"
_CHECK: Final = re.compile(rb',"([^"\\])":"([0-9a-f]{8})"}\Z')
# A mark of earlier versions, exactly as they wrote it; later ones beat elsewhere.
_SEEN: Final = re.compile(
    rb'{"s":(0|[1-9]\d{0,8}),"k":"seen","t":(0|[1-9]\d{0,11}),'
    rb'"wall":"([0-9T:.+-]{1,40})"(?:,"a":"([a-z0-9]{1,20})")?,"c":"([0-9a-f]{8})"}\n'
)
_CHECK_BYTES: Final = len(b',"c":"')
_MOST_DEPTH: Final = 20
_WHOLE_FIELDS: Final = ("s", "t")
_TEXT_FIELDS: Final = ("wall", "a")


@dataclass(frozen=True, slots=True)
class JournalLine:
    """A line as found.

    `state` is `ok`; `edited` (no checksum: a person changed it, it counts);
    `damaged` (the checksum is wrong: `fields` are what it seems to say, and do
    not count); or `unreadable` (no fields at all). `reason` says why in words.
    `file` is its name where it comes from a copy of the file it is read with.
    `since` is set on the last of a run of marks `seen` that was folded into one
    line: the number `s` of the first of them.
    """

    fields: Mapping[str, Any]
    state: State
    number: int
    raw: bytes = field(repr=False)
    reason: str = ""
    file: str = ""
    since: int | None = None

    @property
    def first_sequence(self) -> int | None:
        """The least number `s` that it stands for."""
        return self.sequence if self.since is None else self.since

    @property
    def count(self) -> int:
        """How many lines of the file it stands for."""
        run = self.since is not None and self.sequence is not None
        return self.sequence - self.since + 1 if run else 1  # type: ignore[operator]

    @property
    def place(self) -> str:
        """Where it stands, in words."""
        text = f"line {self.number}"
        return f"{shown(self.file, 80)}, {text}" if self.file else text

    @property
    def counts(self) -> bool:
        """Whether the line is part of the record."""
        return self.state in {"ok", "edited"}

    @property
    def kind(self) -> str:
        """The field `k`; empty for an unreadable line."""
        return str(self.fields.get("k", ""))

    @property
    def sequence(self) -> int | None:
        """The field `s`, or None where a hand-written line has none."""
        sequence = self.fields.get("s")
        return sequence if isinstance(sequence, int) else None


def encode(fields: Mapping[str, Any]) -> bytes:
    """Write one line, checksum and newline included.

    `s, k, t, wall, a` come first in this order, where they are present; then the
    rest as given, then `c`.

    Raises:
        ValueError: There is no kind, there is a `c` already, or a value is no
            JSON (NaN and infinity are not).
        StoreError: The line would be longer than a reader accepts.
    """
    if not isinstance(fields.get("k"), str) or not fields["k"]:
        raise ValueError("a journal line has a kind, k")
    if "c" in fields:
        raise ValueError("the checksum c is not for the caller to write")
    body = _canonical(fields)
    line = b'%s,"c":"%08x"}\n' % (body[:-1], zlib.crc32(body))
    if len(line) > MAX_LINE_BYTES:
        raise StoreError(
            f"a journal line would be {len(line)} bytes long; "
            f"the limit is {MAX_LINE_BYTES}",
            "a circuit with fewer stations, loops or parts fits",
        )
    return line


def decode(raw: bytes, number: int = 0) -> JournalLine:
    """Read one line, with or without its newline. Never raises for content.

    Args:
        raw: The bytes of the line.
        number: Its number in the file, from 1, for the messages.
    """
    raw = raw.removesuffix(b"\n").removesuffix(b"\r").removeprefix(_BOM)
    if len(raw) >= MAX_LINE_BYTES:
        return JournalLine({}, "unreadable", number, raw, "it is longer than 1 MiB")
    try:
        fields = _parse(raw)
        check = fields.pop("c", None)
        state, reason = _judge(raw, fields, check)
    except (ValueError, RecursionError) as error:
        return JournalLine({}, "unreadable", number, raw, _plain(error))
    return JournalLine(fields, state, number, raw, reason)


@dataclass(frozen=True, slots=True)
class SeenRun:
    """A run of whole marks `seen`: its last line, how many there are, where it ends."""

    line: JournalLine
    count: int
    end: int


def seen_run(buffer: bytes, begin: int, number: int) -> SeenRun | None:
    """Fold the marks `seen` that stand at a place into one line; None for none.

    They are numbered one after the other and time does not run back in them, so the
    last of them says what all say. Nine in ten lines of an older journal are such
    marks; each is checked as `decode` does it, and nothing is made of it.

    Args:
        buffer: Bytes of a journal.
        begin: Where a line begins in them.
        number: Its number in the file, from 1.
    """
    last: re.Match[bytes] | None = None
    first = sequence = t_ms = 0
    view = memoryview(buffer)
    at = begin
    while (found := _SEEN.match(buffer, at)) is not None:
        mark, mark_ms = int(found[1]), int(found[2])
        if last is not None and (mark != sequence + 1 or mark_ms < t_ms):
            break
        body = zlib.crc32(view[at : found.start(5) - _CHECK_BYTES])
        if zlib.crc32(b"}", body) != int(found[5], 16):
            break
        if last is None:
            first = mark
        last, sequence, t_ms, at = found, mark, mark_ms, found.end()
    if last is None:
        return None
    count = sequence - first + 1
    fields: dict[str, Any] = {"s": sequence, "k": "seen", "t": t_ms}
    fields["wall"] = last[3].decode("ascii")
    if last[4] is not None:
        fields["a"] = last[4].decode("ascii")
    raw = last[0].removesuffix(b"\n")
    since = first if count > 1 else None
    return SeenRun(
        JournalLine(fields, "ok", number + count - 1, raw, since=since), count, at
    )


def _canonical(fields: Mapping[str, Any]) -> bytes:
    ordered = {key: fields[key] for key in _LEADING if key in fields} | dict(fields)
    if not all(isinstance(key, str) for key in ordered):
        raise ValueError("the names of fields are texts")
    try:
        return _text(ordered, ascii_only=False).encode()
    except UnicodeEncodeError:
        # A lone surrogate, as a terminal in the wrong encoding hands over, is
        # no UTF-8; escaped it survives, and a note is not lost for one byte.
        return _text(ordered, ascii_only=True).encode()


def _text(fields: Mapping[str, Any], *, ascii_only: bool) -> str:
    return json.dumps(
        fields, ensure_ascii=ascii_only, allow_nan=False, separators=(",", ":")
    )


def _judge(raw: bytes, fields: dict[str, Any], check: object) -> tuple[State, str]:
    found = _CHECK.search(raw)
    right = found is not None and _crc(raw[: found.start()] + b"}") == found[2]
    if check is None:
        if right:
            # One flipped bit in the name `c` makes it, say, the athlete `a`.
            return "damaged", "the name of its checksum is damaged"
        return "edited", "it has no checksum; somebody changed it by hand"
    if right and found is not None and found[1] == b"c":
        return "ok", ""
    # An editor may have added spaces or moved the checksum; the line then still
    # says what was written, which its canonical form shows.
    if isinstance(check, str) and _crc(_canonical(fields)) == check.encode(
        "ascii", "replace"
    ):
        return "ok", ""
    return "damaged", "its checksum is wrong"


def _crc(body: bytes) -> bytes:
    return b"%08x" % zlib.crc32(body)


def _parse(raw: bytes) -> dict[str, Any]:
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        raise ValueError("it is not UTF-8 text") from None
    fields = _DECODER.decode(text)
    if not isinstance(fields, dict):
        raise ValueError("it is not a JSON object")  # noqa: TRY004 - content
    # As many brackets as that, some of them perhaps in texts: only then it can be.
    opened = raw.count(b"[") + raw.count(b"{")
    if opened > _MOST_DEPTH and _is_deeper_than(fields, _MOST_DEPTH):
        raise RecursionError
    kind = fields.get("k")
    if not isinstance(kind, str) or not kind:
        raise ValueError("it has no kind (k)")
    for name in _WHOLE_FIELDS:
        value = fields.get(name, 0)
        if isinstance(value, bool) or not isinstance(value, int) or value < 0:
            raise ValueError(f"{name} is not a whole number from 0")
    for name in _TEXT_FIELDS:
        if not isinstance(fields.get(name, ""), str):
            raise ValueError(f"{name} is not a text")  # noqa: TRY004 - content
    return fields


def _is_deeper_than(value: object, most: int) -> bool:
    """Judge the depth of a value without recursion: newer Pythons read any depth."""
    level: list[object] = [value]
    for _ in range(most):
        inner = (x.values() if isinstance(x, dict) else x for x in level)
        level = [y for x in inner for y in x if isinstance(y, (dict, list))]  # type: ignore[attr-defined]
        if not level:
            return False
    return True


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise ValueError("it names a field twice")
    return made


def _constant(name: str) -> Any:
    raise ValueError(f"{name} is not a number allowed here")


def _float(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError("it holds a number that is too large")
    return value


_DECODER: Final = json.JSONDecoder(
    object_pairs_hook=_pairs, parse_constant=_constant, parse_float=_float
)


def _plain(error: ValueError | RecursionError) -> str:
    if isinstance(error, RecursionError):
        return "it is nested too deeply"
    if isinstance(error, json.JSONDecodeError):
        return "it is not JSON"
    if "digits" in str(error):
        return "it holds a number that is too large"
    return shown(str(error), 120)
