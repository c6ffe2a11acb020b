"""Everything of a home that cannot be made again, as one archive, and back from it.

Owns what goes in, and that an archive is read back before it is called written.
Nothing of the machine goes in: no owner, no path outside the home, no host.
"""

from __future__ import annotations

import gzip
import hashlib
import io
import json
import os
import re
import stat
import tarfile
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Any, Final

from whistlestop import __version__
from whistlestop.domain.text import shown
from whistlestop.errors import StoreError
from whistlestop.files import private, sync_file, sync_folder
from whistlestop.store.journal.file import MAX_FILE_BYTES
from whistlestop.store.places import (
    Places,
    in_text,
    read_regular,
    write_new,
)

MANIFEST: Final = "manifest.json"
FORMAT: Final = 1
MOST_FILES: Final = 100_000
MOST_BYTES: Final = 4 * 1024**3
_TOP: Final = "whistlestop-backup"
_OWN: Final = "own"
_OWN_FILE: Final = re.compile(r"[a-z][a-z_-]{0,40}\.toml", re.ASCII)


@dataclass(frozen=True, slots=True)
class Backup:
    """What an archive holds: SHA-256 by name inside the home, and its size."""

    files: dict[str, str]
    size: int


@dataclass(frozen=True, slots=True)
class RestoreResult:
    """Names put back, those there already with the same bytes, and those that differ.

    What differs is left as it is.
    """

    put: tuple[str, ...]
    same: tuple[str, ...]
    different: tuple[str, ...]


def sources(places: Places) -> list[tuple[str, Path]]:
    """Every file that belongs in a backup, by its name inside, in order.

    The log with whatever lies in it, circuits, own tones, and files of settings.

    Raises:
        StoreError: A folder cannot be listed.
    """
    found = [
        (f"{name}/{path.relative_to(folder).as_posix()}", path)
        for name, folder in _folders(places)
        for path in _files(folder, is_flat=name == _OWN)
        if name != _OWN or (_is_own(path.name) and path != places.config_file)
    ]
    if places.config_file.is_file():
        found.append(("config.toml", places.config_file))
    return sorted(found)


def write_backup(places: Places, archive: Path) -> Backup:
    """Write all of a home into one tar.gz, and read it back to see that it is whole.

    A session that runs meanwhile is in it up to that moment.

    Raises:
        StoreError: A file cannot be read, the archive is there already or cannot be
            written, or it does not read back as it was written.
    """
    if archive.exists() or archive.is_symlink():
        raise StoreError(f"{shown(str(archive))} is there already", "name another file")
    beside = archive.with_name(f".{archive.name}.{os.getpid()}.new")
    try:
        written = _write(places, beside)
        if read_backup(beside).files != written:
            raise StoreError("the backup does not read back as it was written")
        beside.rename(archive)
        sync_folder(archive.absolute().parent)
        size = archive.stat().st_size
    except OSError as error:
        raise StoreError(
            f"cannot write {shown(str(archive))}: {in_text(error)}"
        ) from None
    finally:
        with suppress(OSError):
            beside.unlink()
    return Backup(written, size)


def read_backup(archive: Path) -> Backup:
    """Read an archive whole and compare every file with the archive's own list.

    Raises:
        StoreError: It cannot be read, or a file is missing, changed or too many.
    """
    found = {name: hashlib.sha256(data).hexdigest() for name, data in _members(archive)}
    listed = found.pop(MANIFEST, None)
    manifest = _manifest(archive)
    if listed is None or manifest.get("files") != found:
        raise StoreError(
            f"{shown(str(archive))} is not whole: its files and its list differ"
        )
    return Backup(found, archive.stat().st_size)


def try_restore(places: Places, archive: Path) -> RestoreResult:
    """What `restore_backup` would do; nothing is put anywhere.

    Raises:
        StoreError: The archive is not whole, or holds what no backup of this program
            holds.
    """
    read_backup(archive)
    return _compared(places, archive)


def restore_backup(places: Places, archive: Path) -> RestoreResult:
    """Put the files of a whole archive into a home; nothing there is overwritten.

    Raises:
        StoreError: As `try_restore`, and then nothing is put; or the disk does not
            take a file.
    """
    found = try_restore(places, archive)
    wanted = frozenset(found.put)
    for name, data in _members(archive):
        if name not in wanted:
            continue
        try:
            write_new(_target(places, name), data)
        except OSError as error:
            raise StoreError(
                f"cannot put {shown(name, 80)} back: {in_text(error)}",
                "what was put stays; the same command goes on from there",
            ) from None
    return found


def _compared(places: Places, archive: Path) -> RestoreResult:
    put: list[str] = []
    same: list[str] = []
    different: list[str] = []
    for name, data in _members(archive):
        if name == MANIFEST:
            continue
        target = _target(places, name)
        if not target.exists() and not target.is_symlink():
            put.append(name)
        elif _bytes(target) == data:
            same.append(name)
        else:
            different.append(name)
    return RestoreResult(tuple(put), tuple(same), tuple(different))


def _target(places: Places, name: str) -> Path:
    """Where a file of an archive belongs. Raises StoreError for one that does not."""
    homes = dict(_folders(places)) | {"config.toml": places.config_file}
    top, _, rest = name.partition("/")
    if top not in homes or (top == _OWN and not _is_own(rest)):
        raise StoreError(
            f'the archive holds "{shown(name, 80)}", which this program does not know'
        )
    return homes[top] / rest if rest else homes[top]


def _folders(places: Places) -> list[tuple[str, Path]]:
    return [
        ("log", places.log),
        ("circuits", places.circuits),
        ("sounds", places.sounds),
        (_OWN, places.circuits.parent),
    ]


def _is_own(name: str) -> bool:
    """Whether it is a file that lies beside the circuits, such as kit.toml."""
    return _OWN_FILE.fullmatch(name) is not None


def _files(folder: Path, *, is_flat: bool) -> Iterator[Path]:
    """Ordinary files in or below a folder; links are not followed, nor copied."""

    def refuse(error: OSError) -> None:
        raise StoreError(f"cannot list {shown(str(folder))}: {in_text(error)}")

    if not folder.is_dir():
        return
    for at, below, names in os.walk(folder, onerror=refuse):
        if is_flat:
            below.clear()
        for name in names:
            path = Path(at) / name
            if stat.S_ISREG(path.lstat().st_mode):
                yield path


def _write(places: Places, path: Path) -> dict[str, str]:
    digests: dict[str, str] = {}
    with open(path, "xb", opener=private) as file:
        # No name and no time in the head: the same home gives the same bytes.
        with (
            gzip.GzipFile("", "wb", fileobj=file, mtime=0) as packed,
            tarfile.open(fileobj=packed, mode="w", format=tarfile.PAX_FORMAT) as tar,
        ):
            for name, source in sources(places):
                data = read_regular(source, MAX_FILE_BYTES)
                digests[name] = hashlib.sha256(data).hexdigest()
                _add(tar, name, data, int(source.stat().st_mtime))
            listing = {"format": FORMAT, "app": __version__, "files": digests}
            _add(tar, MANIFEST, json.dumps(listing, indent=1).encode(), 0)
        file.flush()
        sync_file(file.fileno())
    return digests


def _add(tar: tarfile.TarFile, name: str, data: bytes, mtime_s: int) -> None:
    member = tarfile.TarInfo(f"{_TOP}/{name}")
    member.size, member.mtime, member.mode = len(data), mtime_s, 0o600
    tar.addfile(member, io.BytesIO(data))


def _members(archive: Path) -> Iterator[tuple[str, bytes]]:
    """Name inside the home and bytes of each file, in order; never trusts a name."""
    total = count = 0
    try:
        with gzip.open(archive) as packed, tarfile.open(fileobj=packed) as tar:
            for member in tar:
                count += 1
                total += member.size
                if count > MOST_FILES or total > MOST_BYTES:
                    raise StoreError("the archive is larger than a backup can be")
                yield _name(member), _read(tar.extractfile(member))
            # To the very end: the checksum of the whole stands there.
            while packed.read(1 << 20):
                pass
    except (tarfile.TarError, EOFError, gzip.BadGzipFile, zlib.error) as error:
        raise StoreError(
            f"{shown(str(archive))} is not a complete archive: {shown(str(error), 80)}"
        ) from None
    except OSError as error:
        raise StoreError(
            f"cannot read {shown(str(archive))}: {in_text(error)}"
        ) from None


def _name(member: tarfile.TarInfo) -> str:
    path = PurePosixPath(member.name)
    plain = not path.is_absolute() and ".." not in path.parts and "\\" not in str(path)
    if not member.isfile() or not plain or path.parts[:1] != (_TOP,):
        raise StoreError(
            f'the archive holds "{shown(member.name, 80)}", which no backup holds'
        )
    if member.size > MAX_FILE_BYTES:
        raise StoreError(f'"{shown(member.name, 80)}" is larger than 64 MiB')
    return "/".join(path.parts[1:])


def _read(file: IO[bytes] | None) -> bytes:
    return b"" if file is None else file.read()


def _manifest(archive: Path) -> dict[str, Any]:
    for name, data in _members(archive):
        if name == MANIFEST:
            try:
                listing = json.loads(data)
            except ValueError:
                break
            return listing if isinstance(listing, dict) else {}
    return {}


def _bytes(path: Path) -> bytes | None:
    try:
        return read_regular(path, MAX_FILE_BYTES)
    except StoreError:
        return None
