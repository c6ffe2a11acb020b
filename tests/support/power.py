"""Power cuts: what a session said by a moment, against what the medium had by then.

A `Recorder` stands between the program and the disk and writes down, in order, every
name made, every write, every sync and everything said. A cut at any place of that order
leaves what POSIX promises and no more: the bytes of a file up to its last sync, under
a name that its folder was synced for, in folders of which the same is true. Nothing
here knows how the program decides what to say.
"""

from __future__ import annotations

import asyncio
import contextlib
import io
import json
import os
import random
import re
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.support.processes import put_circuit, quiet_home, wait_until
from tests.support.rooms_app import RoomsApp

from whistlestop.cli.main import main
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.services import Services
from whistlestop.driver.session import Session
from whistlestop.store.journal.file import read_journal
from whistlestop.tui.floor.screen import FloorScreen

CIRCUIT = """\
format = 1
name = "Short"
loops = 3
work = "5 s"
recover = "0 s"
loop_break = "until key"
get_ready = "0 s"
[[station]]
exercise = "push-up"
[[station]]
exercise = "dead-bug"
"""
SLOWEST_S = 0.02
# The answer to an entry in line mode, as a pattern, and the kind of its line. A colon
# follows what was taken; a question has none.
ANSWERS = {
    "note saved": "note",
    r"effort for loop \d+: ": "effort",
    "effort for the session: ": "session_effort",
    "count 7 for station": "count",
    "discomfort noted": "discomfort",
    "easier version": "variant",
}
TYPED = (
    "note so so",
    "note",
    "count 7",
    "x knee left 3",
    "e",
    "",
    "n",
    "6.5",
    "s",
    "+",
)
PRESSED = (*("space", "e", "1", "c", "7", "enter", "x", "k", "l", "3", "n", "up"),
           *("down", "s", "2", "r", "b", "6", "8", "escape"))  # fmt: skip
NO_INPUTS = {"start", "done", "loop", "end", "sum", "seen", "gap", "sound"}
ALL_INPUTS = "every input"


@dataclass(frozen=True)
class Step:
    """One thing that happened, to the disk or to whoever looks and listens.

    `what` is `name` (made), `write`, `shorten` (to `size`), `sync` (of what the first
    `size` steps did) or `said`: by kind, how many entries are said to be safe so far.
    """

    what: str
    path: Path = Path()
    data: bytes = b""
    size: int = 0
    said: Counter[str] = field(default_factory=Counter)


class Recorder:
    """Stands before the calls that change a disk, for paths under one folder."""

    def __init__(self, root: Path, seed: int) -> None:
        self.root = root
        self.steps: list[Step] = []
        self._turn = threading.Lock()
        self._open: dict[int, Path] = {}
        self._drawn = random.Random(seed)

    def add(self, step: Step) -> None:
        with self._turn:
            self.steps.append(step)

    @contextlib.contextmanager
    def installed(self) -> Iterator[None]:
        stands_for = {
            "open": self._on_open(os.open),
            "close": self._on_close(os.close),
            "mkdir": self._on_mkdir(os.mkdir),
            "write": self._on_write(os.write),
            "ftruncate": self._on_ftruncate(os.ftruncate),
            "fsync": self._sync,
            "fdatasync": self._sync,
        }
        with contextlib.ExitStack() as stack:
            for name, call in stands_for.items():
                stack.enter_context(patch.object(os, name, call))
            yield

    def _mine(self, path: Any) -> Path | None:
        if not isinstance(path, (str, Path)):
            return None
        whole = Path(path).absolute()
        return whole if whole.is_relative_to(self.root) else None

    def _on_open(self, real: Any) -> Any:
        def call(path: Any, flags: int, *given: Any, **named: Any) -> int:
            mine = self._mine(path)
            is_new = bool(flags & os.O_CREAT) and not os.path.lexists(path)
            fd = int(real(path, flags, *given, **named))
            self._open.pop(fd, None)
            if mine is not None:
                self._open[fd] = mine
                if is_new:
                    self.add(Step("name", mine))
            return fd

        return call

    def _on_close(self, real: Any) -> Any:
        def call(fd: int) -> None:
            self._open.pop(fd, None)
            real(fd)

        return call

    def _on_mkdir(self, real: Any) -> Any:
        def call(path: Any, *given: Any, **named: Any) -> None:
            real(path, *given, **named)
            if (mine := self._mine(path)) is not None:
                self.add(Step("name", mine))

        return call

    def _on_write(self, real: Any) -> Any:
        def call(fd: int, data: bytes) -> int:
            if (path := self._open.get(fd)) is not None:
                self.add(Step("write", path, bytes(data)))
            return int(real(fd, data))

        return call

    def _on_ftruncate(self, real: Any) -> Any:
        def call(fd: int, size: int) -> None:
            real(fd, size)
            if (path := self._open.get(fd)) is not None:
                self.add(Step("shorten", path, size=size))

        return call

    def _sync(self, fd: int) -> None:
        """A slow medium; what it holds afterwards is what was done before."""
        path = self._open.get(fd)
        with self._turn:
            before = len(self.steps)
        time.sleep(self._drawn.uniform(0, SLOWEST_S))
        if path is not None:
            self.add(Step("sync", path, size=before))


# What is left


def survivors(
    steps: Sequence[Step], drawn: random.Random | None = None
) -> dict[Path, bytes]:
    """The files that are there after a cut behind these steps.

    Without `drawn` nothing survives but what has to; else some of the rest does too,
    the last of a file's writes perhaps in part.
    """
    made = {step.path: at for at, step in enumerate(steps) if step.what == "name"}
    synced: Counter[Path] = Counter()
    for step in steps:
        if step.what == "sync":
            synced[step.path] = max(synced[step.path], step.size)

    def is_there(path: Path) -> bool:
        chain = [path, *path.parents]
        lucky = drawn is not None and drawn.random() < 0.5
        return lucky or all(
            at not in made or synced[at.parent] > made[at] for at in chain
        )

    files = {step.path for step in steps if step.what == "write"}
    return {
        path: _content(steps, path, synced[path], drawn)
        for path in sorted(files)
        if is_there(path)
    }


def _content(
    steps: Sequence[Step], path: Path, synced: int, drawn: random.Random | None
) -> bytes:
    data = b""
    for at, step in enumerate(steps):
        if step.path != path:
            continue
        if at >= synced:
            if drawn is None or drawn.random() < 0.3:
                break
            if step.what == "write" and drawn.random() < 0.3:
                return data + step.data[: drawn.randrange(len(step.data))]
        if step.what == "write":
            data += step.data
        elif step.what == "shorten":
            data = data[: step.size]
    return data


def cuts(steps: Sequence[Step], count: int, seed: int) -> list[int]:
    """Places for cuts: half of them right after something was said, the worst."""
    drawn = random.Random(seed)
    after = [at for at, step in enumerate(steps, 1) if step.what == "said"]
    worst = drawn.sample(after, min(len(after), count // 2))
    return worst + [
        drawn.randrange(1, len(steps) + 1) for _ in range(count - len(worst))
    ]


def lost_by(steps: Sequence[Step], home: Path, into: Path, seed: int | None) -> int:
    """Cut behind these steps; how many entries said to be safe are in no journal.

    What is left is put into a home of its own, where the session must be taken up
    again. With a seed, some of what was not synced survives as well.
    """
    drawn = None if seed is None else random.Random(seed)
    text = next((s.said for s in reversed(steps) if s.what == "said"), Counter())
    have: Counter[str] = Counter()
    quiet_home(into)
    for path, data in survivors(steps, drawn).items():
        if path.suffix != ".jsonl" or path.parent.name == "log":
            continue
        target = into / path.relative_to(home)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
        lines = [json.loads(raw) for raw in data.split(b"\n")[:-1]]
        have += Counter(line["k"] for line in lines)
        have[ALL_INPUTS] += sum(line["k"] not in NO_INPUTS for line in lines)
        _resume(into, target)
    return sum((text - have).values())


def _resume(home: Path, path: Path) -> None:
    journal = read_journal(path)
    assert all(line.counts for line in journal.lines)
    kinds = [line.kind for line in journal.lines]
    if kinds and "end" not in kinds:
        assert Services(home).sessions.resume(path.stem).release()


# The sessions


class _Ear(io.TextIOBase):
    """Standard output that hears what is said of entries."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder, self._line = recorder, ""
        self._said: Counter[str] = Counter()

    def write(self, text: str) -> int:
        *whole, self._line = (self._line + text).split("\n")
        for line in whole:
            kinds = [kind for words, kind in ANSWERS.items() if re.search(words, line)]
            if kinds and "removed" not in line:
                self._said[kinds[0]] += 1
                self._recorder.add(Step("said", said=self._said.copy()))
        return len(text)

    def flush(self) -> None:
        pass


def line_session(home: Path, seed: int) -> list[Step]:
    """A session in line mode with somebody at the keyboard; what happened, in order."""
    drawn = random.Random(seed)
    put_circuit(quiet_home(home), "short", CIRCUIT)
    recorder = Recorder(home, seed)
    reading, writing = os.pipe()

    def type_lines() -> None:
        with os.fdopen(writing, "w", buffering=1) as keyboard:
            for _ in range(40):
                time.sleep(drawn.uniform(0, 0.03))
                keyboard.write(f"{drawn.choice(TYPED)}\n")
            keyboard.write("q\nq\n7\nnote well\n")

    typing = threading.Thread(target=type_lines)
    with (
        os.fdopen(reading) as keyboard,
        patch.object(sys, "stdin", keyboard),
        patch.object(sys, "stdout", _Ear(recorder)),
        # The notice before a first session goes there.
        contextlib.redirect_stderr(io.StringIO()),
        recorder.installed(),
    ):
        typing.start()
        status = main(["run", "short", "--plain", "--home", str(home)])
        typing.join()
    assert status == 0
    return recorder.steps


def floor_session(home: Path, seed: int) -> list[Step]:
    """A session on the Floor, keys pressed; what happened, in order.

    What is said there is the mark: that all that was entered so far is saved.
    """
    put_circuit(quiet_home(home), "short", CIRCUIT)
    recorder = Recorder(home, seed)
    services = Services(home)
    plan = compile_plan(services.circuits.read("short"))
    text = Counter({ALL_INPUTS: 0})
    real_do, real_model = Session.do, FloorScreen.model

    def do(session: Session, command: Any) -> Any:
        events = real_do(session, command)
        text[ALL_INPUTS] += 1
        return events

    def model(screen: FloorScreen) -> Any:
        seen = real_model(screen)
        if "saved" in getattr(seen, "status", "").split(" · "):
            recorder.add(Step("said", said=text.copy()))
        return seen

    with (
        patch.object(Session, "do", do),
        patch.object(FloorScreen, "model", model),
        recorder.installed(),
    ):
        running = services.sessions.start(plan)
        asyncio.run(_press(services, running, random.Random(seed)))
        running.session.close()
        assert running.release()
    return recorder.steps


async def _press(services: Any, running: Any, drawn: random.Random) -> None:
    screen = FloorScreen(services, running)
    app = RoomsApp(services, screen)
    async with app.run_test(size=(100, 30)):
        for _ in range(40):
            await asyncio.sleep(drawn.uniform(0, 0.06))
            if running.session.is_over:
                return
            screen.press(drawn.choice(PRESSED))
        # Long enough for a mark after the last of them.
        await asyncio.to_thread(wait_until, lambda: running.writer.state().saved)
        screen.show()
