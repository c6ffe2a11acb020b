"""A whole session on the Floor, as it is painted: nothing overlaps, nothing is missing.

The session is walked at ten looks a second with keys pressed on the way; every
picture that was shown is judged by what stands in its cells.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import ClassVar

import pytest
from tests.support.halves import find, halves, texts
from tests.support.rooms_app import RoomsApp
from tests.support.scenes import CIRCUIT, PAIR_CIRCUIT
from tests.support.services import ServicesForTests, make_services

from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.session import Options
from whistlestop.driver.starting import RunningSession
from whistlestop.store.journal.writer import JournalWriter, Status
from whistlestop.tui.canvas import Canvas, Rows
from whistlestop.tui.floor import paint as paint_module
from whistlestop.tui.floor import paint_pair as pair_module
from whistlestop.tui.floor.model import FloorModel
from whistlestop.tui.floor.pair import PairModel
from whistlestop.tui.floor.screen import FloorScreen
from whistlestop.tui.floor.sizes import places_for
from whistlestop.tui.raster import clock_lines

LOOK_MS = 100
FAST = ((80, 24),)
SLOW = ((125, 40), (100, 30), (120, 40), (145, 43), (160, 50), (200, 60))
GRIDS = (*FAST, *(pytest.param(grid, marks=pytest.mark.slow) for grid in SLOW))
OPTIONS = Options(count_in_ms=3_000, watch_gaps=False)

# What is pressed, by elapsed seconds: a pause in work, in recovery, in a hold and in
# the break; every question; an effort with its half, cleared and entered again.
KEYS = {
    75: "x",
    77: "7",
    78: "l",
    79: "4",
    82: "space",
    85: "space",
    95: "q",
    97: "escape",
    118: "space",
    121: "space",
    125: "e",
    128: "escape",
    150: "c",
    152: "1",
    153: "enter",
    160: "m",
    165: "up",
    214: "right",
    230: "d",
    232: "escape",
    300: "7",
    302: "comma",
    304: "backspace",
    306: "6",
    320: "space",
    324: "space",
    340: "s",
    342: "1",
    360: "l",
    363: "escape",
}
PAIR_KEYS = {**KEYS, 298: "a", 301: "5", 304: "a"}


class StrictCanvas(Canvas):
    """A canvas on which nothing may be drawn over anything."""

    clashes: ClassVar[list[tuple[int, int, str]]] = []

    def __init__(self, width: int, height: int, *, ascii_only: bool = False) -> None:
        super().__init__(width, height, ascii_only=ascii_only)
        self._taken: dict[tuple[int, int], str] = {}

    def put(self, x: int, y: int, text: str, role: str) -> None:
        for column, character in enumerate(text, x):
            before = self._taken.get((column, y), " ")
            # A mark of the ring is set again, in its own role.
            if before not in (" ", "│", "─", "|", "-", character) and character != " ":
                self.clashes.append((column, y, before + character))
            if character != " ":
                self._taken[column, y] = character
        super().put(x, y, text, role)

    def _stroke(self, begin: int, end: int, at: int) -> None:
        for column in range(begin, end):
            if self._taken.get((column, at // 2), "#") != "#":
                self.clashes.append((column, at // 2, "#"))
            self._taken[column, at // 2] = "#"
        super()._stroke(begin, end, at)


@dataclass
class Walk:
    """What was shown, each with its model and when."""

    pictures: list[tuple[int, FloorModel | PairModel, Rows]] = field(
        default_factory=list
    )
    pressed: list[int] = field(default_factory=list)


def walked(
    services: ServicesForTests,
    running: RunningSession,
    screen: FloorScreen,
    keys: dict[int, str],
) -> Walk:
    """Go through the session, looking ten times a second."""
    walk = Walk()
    begin_ms = services.standing.now_ms
    due = sorted(keys)
    shown: Rows = ()
    for look in range(12_000):
        if running.session.is_over:
            break
        services.standing.now_ms = begin_ms + look * LOOK_MS
        if due and look * LOOK_MS >= due[0] * 1000:
            screen.press(keys[due.pop(0)])
            walk.pressed.append(look * LOOK_MS)
        screen.poll()
        if running.session.engine.at_gate and not due_soon(due, look):
            screen.press("right")
            walk.pressed.append(look * LOOK_MS)
        if screen.canvas._rows != shown and not running.session.is_over:
            shown = screen.canvas._rows
            walk.pictures.append((look * LOOK_MS, screen.model(), shown))
    assert running.session.is_over
    return walk


def due_soon(due: list[int], look: int) -> bool:
    """Whether a key is still to come within 20 s: a gate waits for it."""
    return bool(due) and due[0] * 1000 - look * LOOK_MS < 20_000


@pytest.fixture
def strict(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every picture of the Floor is drawn on strict canvases."""
    monkeypatch.setattr(StrictCanvas, "clashes", [])
    monkeypatch.setattr(paint_module, "Canvas", StrictCanvas)
    monkeypatch.setattr(pair_module, "Canvas", StrictCanvas)
    # A disk is late in real seconds, and the clock of these walks is not real.
    prompt = Status(saved=True, oldest_pending_s=0.0, error=None)
    monkeypatch.setattr(JournalWriter, "state", lambda _: prompt)


def missing(model: FloorModel, rows: Rows, grid: tuple[int, int]) -> list[str]:
    """What has to be there always and is not."""
    lines, text = halves(rows), "\n".join(texts(rows))
    gone = []
    if model.clock and not has_clock(model.clock, lines, grid, is_pair=False):
        gone.append(f"clock {model.clock}")
    for text_of_board in filter(
        None, (model.board.name, model.board.side, model.board.load)
    ):
        if find(lines, text_of_board) is None:
            gone.append(text_of_board)
    if model.present and model.next_name:
        is_lettered = find(lines, model.next_name) is not None
        if not is_lettered and f"next {model.next_name}" not in text:
            gone.append(f"next {model.next_name}")
    if model.finish[0] and model.finish[0].split()[-1] not in texts(rows)[0]:
        gone.append("finish")
    if find(lines, model.sign) is None:
        gone.append(model.sign)
    return gone


def missing_of_two(model: PairModel, rows: Rows, grid: tuple[int, int]) -> list[str]:
    """The same for two people."""
    lines, text = halves(rows), "\n".join(texts(rows))
    common = model.common
    gone = []
    if common.clock and not has_clock(common.clock, lines, grid, is_pair=True):
        gone.append(f"clock {common.clock}")
    for one in model.people:
        for text_of_board in filter(
            None, (one.board.name, one.board.side, one.board.load)
        ):
            if find(lines, text_of_board) is None:
                gone.append(text_of_board)
        if one.next_name and f"next {one.next_name}" not in text:
            gone.append(f"next {one.next_name}")
    if common.finish[0] and common.finish[0].split()[-1] not in texts(rows)[0]:
        gone.append("finish")
    return gone


def has_clock(
    clock: str, lines: list[str], grid: tuple[int, int], *, is_pair: bool
) -> bool:
    """Whether the clock stands there, at the place and size of the table."""
    places = places_for(*grid)
    line = places.two.clock if is_pair else places.clock
    room = places.inner - places.picture_width - 2
    drawn = clock_lines(clock, width=room, height=line.height)
    shown = [one[places.left :] for one in lines[line.y : line.y + len(drawn)]]
    return all(one.startswith(stroke) for one, stroke in zip(shown, drawn, strict=True))


def board_cells(rows: Rows, grid: tuple[int, int]) -> list[str]:
    """The characters of the board: from the name down to side and load."""
    places = places_for(*grid)
    first, last = places.name.y // 2, places.sentence_row
    return [line[places.left : places.right] for line in texts(rows)[first:last]]


def most_changes_a_second(walk: Walk, grid: tuple[int, int]) -> int:
    """Of any cell but the clock's, leaving out the second after a key."""
    places = places_for(*grid)
    room = range(places.left, places.right - places.picture_width - 1)
    rows = range(places.clock.y // 2, (places.clock.y + places.clock.height + 1) // 2)
    last: dict[tuple[int, int], list[int]] = {}
    most = 0
    for (_, _, before), (at, _, after) in zip(
        walk.pictures, walk.pictures[1:], strict=False
    ):
        if any(at - 1_000 < pressed <= at for pressed in walk.pressed):
            continue
        for y, (old, new) in enumerate(zip(texts(before), texts(after), strict=True)):
            if old == new:
                continue
            for x in range(grid[0]):
                if old[x] != new[x] and not (y in rows and x in room):
                    times = [t for t in last.get((x, y), []) if t > at - 1_000]
                    last[x, y] = [*times, at]
                    most = max(most, len(last[x, y]))
    return most


@pytest.mark.parametrize("grid", GRIDS)
async def test_a_session_of_one_is_whole_in_every_picture(
    tmp_path: Path, grid: tuple[int, int], strict: None
) -> None:
    services = make_services(tmp_path)
    running = services.sessions.start(compile_plan(CIRCUIT), options=OPTIONS)
    running.session.begin()
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    async with app.run_test(size=grid):
        walk = walked(services, running, screen, KEYS)
    running.release()
    signs = {model.sign for _, model, _ in walk.pictures}
    assert signs >= {"WARM UP", "READY", "WORK", "SWITCH", "RECOVER", "WAIT"}
    assert signs >= {"BREAK", "PAUSED", "COOL DOWN"}
    assert any(model.question for _, model, _ in walk.pictures)
    assert StrictCanvas.clashes == []
    gone = {
        (at, word)
        for at, model, rows in walk.pictures
        for word in missing(model, rows, grid)
    }
    assert gone == set()
    assert_the_board_stays(walk, grid)
    assert most_changes_a_second(walk, grid) <= 2


def assert_the_board_stays(walk: Walk, grid: tuple[int, int]) -> None:
    """From get ready, recovery or break to work not a cell of the board changes."""
    starts = 0
    for (_, before, old), (_, after, new) in zip(
        walk.pictures, walk.pictures[1:], strict=False
    ):
        begins = before.sign in ("RECOVER", "READY", "BREAK") and after.sign == "WORK"
        if begins and before.board.name == after.board.name:
            starts += 1
            assert board_cells(old, grid) == board_cells(new, grid)
    assert starts >= 4


@pytest.mark.parametrize("grid", GRIDS)
async def test_a_session_of_two_is_whole_in_every_picture(
    tmp_path: Path, grid: tuple[int, int], strict: None
) -> None:
    services = make_services(tmp_path)
    (tmp_path / "athletes.toml").write_text(
        'format = 1\n[[athlete]]\nid = "a2"\nname = "Robin"\n', encoding="utf-8"
    )
    own = {"goblet-squat": parse_load("8 kg")}
    first, second = paired_plans(replace(PAIR_CIRCUIT), 2, ({}, own))
    company = Company((("a2", second),), 2)
    running = services.sessions.start(first, options=OPTIONS, company=company)
    running.session.begin()
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    async with app.run_test(size=grid):
        walk = walked(services, running, screen, PAIR_KEYS)
    running.release()
    assert StrictCanvas.clashes == []
    gone = {
        (at, word)
        for at, model, rows in walk.pictures
        for word in missing_of_two(model, rows, grid)
    }
    assert gone == set()
