"""Until when a running session was seen: a small file in the state folder.

Two slots, written in place. One of them is always durable and the other is being
written to, so a write that is cut off leaves the former. It is this machine's own;
the journal is whole without it. Refuses to know what a session is.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.engine.clock import Clock
from whistlestop.errors import StoreError
from whistlestop.files import make_folder, private, sync_file, sync_folder
from whistlestop.store.journal.file import is_session_id
from whistlestop.store.journal.line import decode, encode
from whistlestop.store.places import read_regular

SLOT_BYTES: Final = 4096
"""A slot is a block of its own on most disks, so no write touches both."""
SYNC_AFTER_MS: Final = 200
"""From one durable beat to the next. They come every 0.1 s, so 0.4 s are kept to on a
slow disk too."""
MOST_AHEAD_MS: Final = 3_000
"""A session that has not looked at the clock for longer was not running."""
_OWN_BEAT_S: Final = 0.2
_SLOTS: Final = 2
_PREFIX: Final = "heartbeat-"
_CLOSE_WAIT_S: Final = 2.0


@dataclass(frozen=True, slots=True)
class Beat:
    """A moment at which a session was seen: elapsed ms, and the time of day."""

    t_ms: int
    wall: str


def heartbeat_path(state_folder: Path, session_id: str) -> Path:
    """Name the file of one session. Creates nothing.

    One for each session: another that begins takes nothing from one that was
    interrupted and is not taken up again yet.
    """
    return state_folder / f"{_PREFIX}{session_id}"


def read_heartbeat(state_folder: Path, session_id: str) -> Beat | None:
    """Read the latest whole beat of a session; None where there is none."""
    slots = dict(_slots(heartbeat_path(state_folder, session_id), session_id))
    latest = max(slots.values(), default=None, key=lambda slot: slot[0])
    return None if latest is None else latest[1]


def heartbeats(state_folder: Path) -> tuple[str, ...]:
    """The ids of the sessions that have a heartbeat here, whole or not."""
    try:
        names = sorted(path.name for path in state_folder.iterdir())
    except OSError:
        return ()
    ids = (name.removeprefix(_PREFIX) for name in names if name.startswith(_PREFIX))
    return tuple(session_id for session_id in ids if is_session_id(session_id))


def remove_heartbeat(state_folder: Path, session_id: str) -> None:
    """Remove a session's heartbeat, for one that is over; not there is as well."""
    with suppress(OSError):
        heartbeat_path(state_folder, session_id).unlink(missing_ok=True)


class Heartbeat:
    """Writes the heartbeat of one session from a thread of its own.

    Each beat is handed to the system at once, which is enough where the process
    dies; for a power cut one in 0.2 s is made durable. Only the latest matters:
    those that come while the disk is busy are left out. A disk that refuses one is
    asked again at the next; the journal has its own words for that.

    Where none comes for a while it beats by itself: a session that is busy with a
    picture, on a machine that is busy with others, still runs and is still heard.
    """

    def __init__(
        self, state_folder: Path, session_id: str, clock: Clock | None = None
    ) -> None:
        """Begin; nothing is written before the first beat.

        Args:
            state_folder: Where the file is.
            session_id: Whose it is.
            clock: What it beats by where no beat comes; without one it does not.
        """
        self._clock = clock
        self._beaten_ms = self._looked_ms = self._awake_ms()
        self._folder = state_folder
        self._id = session_id
        self._turn = threading.Condition()
        self._latest: Beat | None = None
        self._closing = False
        self._fd: int | None = None
        self._sequence = 0
        self._slot = 0
        self._durable_ms = -SYNC_AFTER_MS
        self._thread = threading.Thread(target=self._run, name="heartbeat", daemon=True)
        self._thread.start()

    def beat(self, t_ms: int, wall: str) -> None:
        """Take a moment as seen, without waiting for the disk."""
        with self._turn:
            self._latest = Beat(t_ms, wall)
            self._beaten_ms = self._awake_ms()
            self._turn.notify_all()

    def close(self, *, over: bool) -> None:
        """End the thread; where the session is over the file goes as well."""
        with self._turn:
            self._closing = True
            self._turn.notify_all()
        self._thread.join(_CLOSE_WAIT_S)
        if over:
            remove_heartbeat(self._folder, self._id)

    def _run(self) -> None:
        written: Beat | None = None
        while True:
            with self._turn:
                self._turn.wait_for(
                    lambda: self._closing or self._latest is not written,  # noqa: B023
                    None if self._clock is None else _OWN_BEAT_S,
                )
                latest, closing = self._latest, self._closing
                ahead = self._ahead()
            if latest is written and ahead is not None and not closing:
                self._write(ahead, durable=False)
            elif latest is not None and latest is not written:
                self._write(latest, durable=closing)
                written = latest
            elif closing and latest is not None and latest.t_ms != self._durable_ms:
                self._write(latest, durable=True)
            if closing:
                break
        self._close_file()

    def _ahead(self) -> Beat | None:
        """How far the session is by the clock; None where it may not be running.

        Where the thread itself did not come to its turn the whole process was
        stopped, and the session will find that it has a gap.
        """
        if self._clock is None or self._latest is None:
            return None
        now_ms = self._awake_ms()
        since_look, self._looked_ms = now_ms - self._looked_ms, now_ms
        ahead_ms = now_ms - self._beaten_ms
        if max(since_look, ahead_ms) > MOST_AHEAD_MS:
            return None
        wall = self._clock.wall().isoformat(timespec="milliseconds")
        return Beat(self._latest.t_ms + ahead_ms, wall)

    def _awake_ms(self) -> int:
        return 0 if self._clock is None else self._clock.read().awake_ms

    def _write(self, beat: Beat, *, durable: bool) -> None:
        try:
            if self._fd is None:
                self._open()
            assert self._fd is not None
            self._sequence += 1
            fields = {"s": self._sequence, "k": "seen", "t": beat.t_ms}
            raw = encode({**fields, "wall": beat.wall, "id": self._id})
            os.lseek(self._fd, self._slot * SLOT_BYTES, os.SEEK_SET)
            os.write(self._fd, raw.ljust(SLOT_BYTES, b"\0"))
            # Either way: after a gap it goes on from an earlier moment.
            if durable or abs(beat.t_ms - self._durable_ms) >= SYNC_AFTER_MS:
                sync_file(self._fd)
                # Only now: until then the other slot is the one that is durable.
                self._slot = (self._slot + 1) % _SLOTS
                self._durable_ms = beat.t_ms
        except (OSError, StoreError):
            self._close_file()

    def _open(self) -> None:
        """Go on with the file that is there, or make one, for its owner only."""
        path = heartbeat_path(self._folder, self._id)
        make_folder(self._folder)
        earlier = dict(_slots(path, self._id))
        if earlier and not self._sequence:
            latest = max(earlier, key=lambda slot: earlier[slot][0])
            self._sequence = earlier[latest][0]
            self._slot = (latest + 1) % _SLOTS
        self._fd = private(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
        if os.fstat(self._fd).st_size != _SLOTS * SLOT_BYTES:
            # All of it now: later writes then change no size, and cost less.
            os.ftruncate(self._fd, 0)
            os.write(self._fd, bytes(_SLOTS * SLOT_BYTES))
            sync_folder(self._folder)

    def _close_file(self) -> None:
        if self._fd is not None:
            with suppress(OSError):
                os.close(self._fd)
        self._fd = None


def _slots(path: Path, session_id: str) -> Iterator[tuple[int, tuple[int, Beat]]]:
    """Give place, sequence and beat of each slot that is whole."""
    try:
        data = read_regular(path, _SLOTS * SLOT_BYTES)
    except StoreError:
        return
    for slot in range(_SLOTS):
        raw, newline, _ = data[slot * SLOT_BYTES :][:SLOT_BYTES].partition(b"\n")
        line = decode(raw)
        fields = line.fields
        whole = bool(newline) and line.state == "ok" and fields.get("id") == session_id
        if whole and isinstance(fields.get("t"), int) and line.sequence is not None:
            beat = Beat(fields["t"], str(fields.get("wall", "")))
            yield slot, (line.sequence, beat)
