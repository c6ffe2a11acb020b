"""Files with activities: FIT, GPX, either as gzip, and zip archives of them.

Owns what a file is by its bytes, how much is unpacked, and that whatever a file holds
ends in activities or in one sentence. Refuses to write, and to open a file by a name
that an archive gives.
"""

from __future__ import annotations

import gzip
import hashlib
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import BinaryIO, Final, cast

from whistlestop.domain.text import shown
from whistlestop.errors import ActivityError
from whistlestop.review.activities import fit, gpx
from whistlestop.review.activities.activity import Activity, Deadline
from whistlestop.review.activities.fit import read_fit
from whistlestop.review.activities.gpx import read_gpx

MOST_MEMBERS: Final = 500
MOST_ARCHIVE_BYTES: Final = 512 * 1024 * 1024
# After so many members that took too long, the rest is not tried.
MOST_SLOW: Final = 3
_PIECE: Final = 64 * 1024
_MOST_DIRECTORY: Final = 256 * 1024
_END_BYTES: Final = 22
_END: Final = b"PK\5\6"
_LARGE: Final = b"PK\6\7"
_ZIP: Final = b"PK\3\4"
_GZIP: Final = b"\x1f\x8b"
_BLANKS: Final = b" \t\r\n"
_XML_BEGINS: Final = (b"<", b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")
_PLAIN: Final = frozenset({zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED})

ReadResult = Activity | ActivityError


class UnpackBudget:
    """How much may still be unpacked, counted while it is."""

    def __init__(self, most: int) -> None:
        """Begin with the most bytes."""
        self._most = self._left = most

    def take(self, count: int) -> None:
        """Count bytes.

        Raises:
            ActivityError: There are more than allowed.
        """
        self._left -= count
        if self._left < 0:
            size = self._most // (1024 * 1024)
            raise ActivityError(f"it unpacks to more than {size} MiB")


def read_activities(
    stream: BinaryIO, deadline: Deadline, now: datetime
) -> Iterator[ReadResult]:
    """Read all activities of a file, one after the other.

    Args:
        stream: The file, open for reading bytes, that can be sought.
        deadline: When to give up on a file.
        now: The present moment; nothing begins a day after it.

    Yields:
        Activities, and a refusal for what cannot be read. Nothing is raised for what
        the file holds.
    """
    deadline.restart()
    budget = UnpackBudget(MOST_ARCHIVE_BYTES)
    yield from _guarded(_any(stream, budget, deadline, now))


def _guarded(found: Iterator[ReadResult]) -> Iterator[ReadResult]:
    try:
        yield from found
    except ActivityError as refused:
        yield refused
    except Exception as error:  # noqa: BLE001 - files may come from anybody
        yield ActivityError(f"it is damaged ({type(error).__name__})")


def _any(
    stream: BinaryIO, budget: UnpackBudget, deadline: Deadline, now: datetime
) -> Iterator[ReadResult]:
    head = _head(stream)
    if head.startswith((_ZIP, _END)):
        yield from _members(stream, budget, deadline, now)
    elif head.startswith(_GZIP):
        yield from _unpacked(stream, budget, deadline, now)
    else:
        yield from _plain(stream, head, budget, deadline, now)


def _head(stream: BinaryIO) -> bytes:
    head = stream.read(512)
    stream.seek(0)
    return head


def _unpacked(
    stream: BinaryIO, budget: UnpackBudget, deadline: Deadline, now: datetime
) -> Iterator[ReadResult]:
    """The contents of a gzip, which may be no archive again."""
    with gzip.GzipFile(fileobj=stream, mode="rb") as inner:
        source = cast("BinaryIO", inner)
        head = _head(source)
        if head.startswith((_ZIP, _GZIP)):
            raise ActivityError("it is an archive in an archive; unpack it first")
        yield from _plain(source, head, budget, deadline, now)


def _plain(
    stream: BinaryIO,
    head: bytes,
    budget: UnpackBudget,
    deadline: Deadline,
    now: datetime,
) -> Iterator[ReadResult]:
    if not head:
        raise ActivityError("it is empty")
    if head[8:12] == b".FIT":
        pieces = _pieces(stream, budget, UnpackBudget(fit.MOST_BYTES), deadline)
        data = b"".join(pieces)
        key = hashlib.sha256(data).hexdigest()
        yield from read_fit(data, key, deadline, now)
    elif head.lstrip(_BLANKS).startswith(_XML_BEGINS) or not head.strip(_BLANKS):
        digest = hashlib.sha256()
        pieces = _pieces(stream, budget, UnpackBudget(gpx.MOST_BYTES), deadline)
        hashed = _hashed(pieces, digest)
        for found in read_gpx(hashed, deadline, now):
            if isinstance(found, Activity):
                yield replace(found, key=f"{digest.hexdigest()}-{found.key}")
            else:
                yield found
    else:
        raise ActivityError("it is no FIT or GPX file")


def _pieces(
    stream: BinaryIO, all_of_it: UnpackBudget, one: UnpackBudget, deadline: Deadline
) -> Iterator[bytes]:
    while piece := stream.read(_PIECE):
        deadline.check()
        all_of_it.take(len(piece))
        one.take(len(piece))
        yield piece


def _hashed(pieces: Iterator[bytes], digest: hashlib._Hash) -> Iterator[bytes]:
    for piece in pieces:
        digest.update(piece)
        yield piece


def _members(
    stream: BinaryIO, budget: UnpackBudget, deadline: Deadline, now: datetime
) -> Iterator[ReadResult]:
    """The members of a zip archive; a bad one costs a sentence, not the rest."""
    _check_directory(stream)
    slow = 0
    with zipfile.ZipFile(stream) as archive:
        members = [each for each in archive.infolist() if not each.is_dir()]
        if len(members) > MOST_MEMBERS:
            raise ActivityError(f"it has more than {MOST_MEMBERS} members")
        for member in members:
            deadline.restart()
            name = shown(member.filename, 80)
            for found in _guarded(_member(archive, member, budget, deadline, now)):
                if isinstance(found, Activity):
                    yield replace(found, member=name)
                else:
                    yield ActivityError(f'"{name}" in it: {found.message}')
            slow += deadline.was_missed
            if slow >= MOST_SLOW:
                raise ActivityError("the rest of it was not tried: it takes too long")


def _member(
    archive: zipfile.ZipFile,
    member: zipfile.ZipInfo,
    budget: UnpackBudget,
    deadline: Deadline,
    now: datetime,
) -> Iterator[ReadResult]:
    if member.flag_bits & 0x1:
        raise ActivityError("it is locked with a password")
    if member.compress_type not in _PLAIN:
        raise ActivityError("it is packed in a way that is not read")
    with archive.open(member) as opened:
        source = cast("BinaryIO", opened)
        head = _head(source)
        if head.startswith(_ZIP):
            raise ActivityError("it is an archive in an archive; unpack it first")
        if head.startswith(_GZIP):
            yield from _unpacked(source, budget, deadline, now)
        else:
            yield from _plain(source, head, budget, deadline, now)


def _check_directory(stream: BinaryIO) -> None:
    """Refuse a list of members that would not fit into memory, before it is read.

    Looks where `zipfile` looks: at the very end, else before a comment there.
    """
    size = stream.seek(0, 2)
    stream.seek(max(0, size - _END_BYTES - 0xFFFF - len(_LARGE) - 20))
    tail = stream.read()
    stream.seek(0)
    at = len(tail) - _END_BYTES
    if at < 0 or not (tail[at:].startswith(_END) and tail.endswith(b"\0\0")):
        at = tail.rfind(_END)
    if at < 0 or len(tail) - at < _END_BYTES:
        raise ActivityError("it is an archive that breaks off")
    length = int.from_bytes(tail[at + 12 : at + 16], "little")
    if tail[max(0, at - 20) : at].startswith(_LARGE) or length > _MOST_DIRECTORY:
        raise ActivityError(f"it has more than {MOST_MEMBERS} members")
