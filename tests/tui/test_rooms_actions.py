"""The actions of every room: each acts, each key stands once, each has its sentence.

A room is walked with its keys in every state it can be in: what is possible is done
once, and must change what is seen or ask something of the application.
"""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import pytest
from tests.support.golden import same_as_golden
from tests.support.recording_sound import RecordingSound
from tests.support.rooms_app import SIZES, RoomsApp, do, press, settle, texts, whole
from tests.support.services import (
    SHED,
    ServicesForTests,
    break_off,
    do_session,
    make_services,
)
from tests.tui.test_rooms_pilot import FullDisk, ended
from tests.tui.test_rooms_sounds import OneVoice
from textual.screen import Screen
from textual.widgets import Input

from whistlestop.domain.wishes import CircuitWishes
from whistlestop.driver.building import save_wishes
from whistlestop.driver.keymap import is_key_name
from whistlestop.driver.wellbeing import MorningQuestion
from whistlestop.engine.commands import Do
from whistlestop.review.wellbeing import HealthStop
from whistlestop.sound.port import SoundStatus
from whistlestop.tui import rooms
from whistlestop.tui.rooms.builder.room import BuilderRoom
from whistlestop.tui.rooms.builder.wishes import SETTINGS as BUILDER_SETTINGS
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.close_out.room import CloseOutRoom
from whistlestop.tui.rooms.coach.next_room import NextRoom
from whistlestop.tui.rooms.coach.weeks_room import WeeksRoom
from whistlestop.tui.rooms.editor.lines import SETTINGS
from whistlestop.tui.rooms.editor.room import EditorRoom
from whistlestop.tui.rooms.frame.actions import (
    FRESH,
    ONCE,
    Action,
    action,
    actions_of,
    help_lines,
    key_line,
    key_text,
)
from whistlestop.tui.rooms.frame.asking import ASKING
from whistlestop.tui.rooms.frame.key_list import KeysScreen, RoomKeys, help_rows
from whistlestop.tui.rooms.frame.room import Room
from whistlestop.tui.rooms.kit.limits_room import LimitsRoom
from whistlestop.tui.rooms.kit.room import KitRoom
from whistlestop.tui.rooms.kit.setup import SetupRoom
from whistlestop.tui.rooms.library.room import LibraryRoom
from whistlestop.tui.rooms.log.changes import ChangesRoom
from whistlestop.tui.rooms.log.enter import EnterScreen
from whistlestop.tui.rooms.log.plots import PlotsRoom
from whistlestop.tui.rooms.log.record import RecordScreen
from whistlestop.tui.rooms.log.room import LogRoom
from whistlestop.tui.rooms.safety.discomfort import DiscomfortScreen
from whistlestop.tui.rooms.safety.health import HealthScreen
from whistlestop.tui.rooms.safety.notice import NoticeScreen
from whistlestop.tui.rooms.safety.well import MorningRoom, WellRoom
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.rooms.sounds.room import SoundsRoom

SIZE = (80, 24)
# Lists that are longer than this screen scroll in it.
DAY = date(2031, 3, 3)
LOW = (80, 12)
KIT = """\
format = 1
mats = 1
[[weight]]
kind = "kettlebell"
loads = ["12 kg", "2 x 16 kg"]
"""
# Frames of rooms, which are no rooms themselves.
FRAMES = {
    "Room", "ModalRoom", "ChoosingRoom", "AskingRoom", "FilterRoom", "ListScreen",
    "StepRoom", "EditorPart", "SavedListRoom",
}  # fmt: skip
Maker = Callable[[ServicesForTests], Screen[Any]]


def stuck(services: ServicesForTests) -> CloseOutRoom:
    """A close-out whose record the disk does not take."""
    running = ended(services)
    folder = services.places.circuits.parent
    running.writer = FullDisk(running.writer, folder)
    return CloseOutRoom(running, poll_s=None, save_wait_s=0, copy_folder=folder)


def unbuildable(_services: ServicesForTests) -> BuilderRoom:
    room = BuilderRoom()
    room.wishes = CircuitWishes(keep=("push-up",))
    return room


def answered(_services: ServicesForTests) -> BuilderRoom:
    room = BuilderRoom()
    room.wishes = CircuitWishes(minutes=12, stations=4)
    return room


@dataclass(frozen=True)
class State:
    """A room, with the keys that lead to where it is walked."""

    make: Maker
    keys: tuple[str, ...] = ()
    size: tuple[int, int] = SIZE


def sheet(services: ServicesForTests) -> Screen[Any]:
    return SheetRoom(services.circuits.read("rainy-shed"))


def editor(services: ServicesForTests) -> Screen[Any]:
    return EditorRoom(services.circuits.read("rainy-shed"), None)


def record(services: ServicesForTests) -> Screen[Any]:
    return RecordScreen(services.log.sessions()[0])


def library(_services: ServicesForTests) -> Screen[Any]:
    return LibraryRoom()


def taking(_services: ServicesForTests) -> Screen[Any]:
    return LibraryRoom(takes="station")


def close_out_room(services: ServicesForTests) -> Screen[Any]:
    return CloseOutRoom(ended(services), poll_s=None)


def cut_short(services: ServicesForTests) -> Screen[Any]:
    return CloseOutRoom(ended(services, Do.STOP), poll_s=None)


def sounds(services: ServicesForTests) -> Screen[Any]:
    services.audio.port = lambda: RecordingSound(SoundStatus("ok", "PulseAudio", 66))
    services.audio.voice = OneVoice
    return SoundsRoom()


def at(make: Maker, *keys: str, size: tuple[int, int] = SIZE) -> State:
    return State(make, keys, size)


def on(setting: str) -> tuple[str, ...]:
    """The keys to a setting of the editor."""
    return ("home", *["down"] * SETTINGS.index(setting), "enter")


# Of each room, the states in which all that it can do is possible at least once.
WALKS: dict[str, tuple[State, ...]] = {
    "circuits": (at(lambda _: CircuitsRoom()),),
    "sheet": (at(sheet), at(sheet, "end")),
    "fit": (at(sheet, "m"), at(sheet, "m", "5"), at(sheet, "m", "5", "enter")),
    "kit": (at(lambda _: KitRoom()), at(lambda _: KitRoom(), "x", "u")),
    "add-kit": (at(lambda _: KitRoom(), "a"),),
    "pick": tuple(
        at(room, *keys)
        for room, keys in (
            (lambda _: KitRoom(), "az"),
            (lambda _: KitRoom(), "azb"),
            (lambda _: LimitsRoom(), "a"),
            (lambda _: LimitsRoom(), "ab"),
        )
    ),
    "limits": (at(lambda _: LimitsRoom()),),
    "setup": (
        at(lambda _: SetupRoom()),
        at(lambda _: SetupRoom(), "d"),
        at(lambda _: SetupRoom(), "enter"),
    ),
    "editor": (
        at(editor),
        at(editor, "end", "l"),
        at(editor, "home"),
        at(editor, "home", *["down"] * SETTINGS.index("warm-up")),
    ),
    "warm-up": (at(editor, *on("warm-up")), at(editor, *on("warm-up"), "b")),
    "each-loop": (at(editor, *on("each loop")), at(editor, *on("each loop"), "end")),
    "library": (at(library), at(library, "p"), at(taking)),
    "card": (
        at(library, "b", "r", "i", "d", "g", "e", "enter", size=LOW),
        at(taking, "right"),
        at(library, "shift+tab", "enter", size=LOW),
    ),
    "log": (at(lambda _: LogRoom()),),
    "record": (at(record, size=LOW), at(record, "7")),
    "enter": (at(lambda _: EnterScreen()),),
    "plots": tuple(at(lambda _: PlotsRoom(), key) for key in "12345"),
    "changes": (at(lambda _: ChangesRoom(), size=LOW),),
    "next": (at(lambda _: NextRoom()),),
    "another-step": (at(lambda _: NextRoom(), "c"),),
    "weeks": (at(lambda _: WeeksRoom()), at(lambda _: WeeksRoom(), "enter")),
    "builder": (
        at(lambda _: BuilderRoom()),
        at(lambda _: BuilderRoom(), *["down"] * BUILDER_SETTINGS.index("avoid")),
        at(answered, "b"),
        at(unbuildable, "b"),
    ),
    "sounds": (at(sounds),),
    "close-out": (at(close_out_room), at(stuck, "enter"), at(cut_short)),
    "discomfort": tuple(
        at(lambda _: DiscomfortScreen(), *keys) for keys in ("", "b", "bl", "bl1")
    ),
    "health": (at(lambda _: HealthScreen(), size=LOW),),
    "well": tuple(
        at(lambda _: WellRoom(HealthStop("x", DAY)), *keys, size=LOW)
        for keys in ((), ("enter",), ("enter", "p"))
    ),
    "morning": (
        at(lambda _: MorningRoom(MorningQuestion("x", DAY, "knee", "knee", "left", 4))),
    ),
    "notice": (at(lambda _: NoticeScreen(), size=(40, 10)),),
    "keys": (at(lambda _: KeysScreen(), size=LOW),),
    "room-keys": (at(lambda _: KitRoom(), "f1", size=LOW),),
}
# What only two people can do stands in a test of its own.
ELSEWHERE = {("CloseOutRoom", "other_athlete")}
# What does nothing in the home of these walks, and what it would need.
NEEDS = {
    ("LogRoom", "save_circuit"): "a session done from a file elsewhere",
    ("NextRoom", "say_well"): "an illness that is over",
    ("NextRoom", "leave_out"): "a discomfort of 6 or more",
    ("NextRoom", "say_why"): "two steps put off without a reason",
    ("SheetRoom", "choose_load"): "a station with another load that is owned",
    ("PickRoom", "next_pane"): "a list with more than one pane",
    ("SetupRoom", "type_sign"): "a load with a sign in it",
    ("SetupRoom", "delete_sign"): "a load being typed",
    ("ChangeRoom", "choose_row"): "more than one step to choose among",
    ("SoundsRoom", "speak_sample"): "a voice",
    ("CloseOutRoom", "retry_save"): "a disk that did not take the record",
}


@pytest.fixture(scope="module")
def in_use(tmp_path_factory: pytest.TempPathFactory) -> ServicesForTests:
    """A home in use: kit, limits, sessions, saved wishes, one session broken off."""
    yard = SHED.replace("Rainy shed", "Yard")
    home = tmp_path_factory.mktemp("in-use") / "home"
    made = make_services(home, {"rainy-shed": SHED, "yard": yard})
    made.places.kit_file.write_text(KIT, encoding="utf-8")
    until = made.clock.wall().date() + timedelta(days=9)
    made.places.limits_file.write_text(
        f'format = 2\n[[limit]]\nsite = "neck"\nuntil = {until}\n'
        f'[[limit]]\nmovement = "push-up"\nuntil = {until}\n',
        encoding="utf-8",
    )
    for name in ("rainy-shed", "yard", "rainy-shed"):
        do_session(made, made.circuits.read(name), efforts=(5, 6), session_effort=6)
        made.standing.now_ms += 3 * 86_400_000
    break_off(made, made.circuits.read("yard"), 75_000)
    save_wishes(made, "short", CircuitWishes(minutes=12, stations=4))
    return made


@pytest.fixture
def services(tmp_path: Path, in_use: ServicesForTests) -> ServicesForTests:
    """A copy of that home, and the time it is there."""
    home = shutil.copytree(in_use.places.home, tmp_path / "home")
    made = make_services(home)
    made.standing.now_ms = in_use.standing.now_ms
    return made


def room_of(app: RoomsApp) -> Room[Any]:
    room = app.screen
    assert isinstance(room, Room)
    return room


def possible(room: Room[Any]) -> list[Action]:
    return [one for one in room.actions if one.when(room)]


def check_keys(room: Room[Any]) -> None:
    """No key stands twice in the state a room is in."""
    counted = Counter(key for one in possible(room) for key in one.names)
    assert [key for key, count in counted.items() if count > 1] == []


def seen(app: RoomsApp) -> tuple[object, ...]:
    return (
        whole(app),
        len(app.asked),
        len(app.results),
        [str(screen) for screen in app.screen_stack],
        bool(app.screen.query(Input)),
    )


async def acts(pilot: Any, one: Action) -> bool:
    """Whether one of its keys changes what is seen, or asks for something."""
    for key in dict.fromkeys((one.names[0], one.names[-1], *one.names[:6])):
        before = seen(pilot.app)
        await do(pilot, key)
        if seen(pilot.app) != before:
            return True
    return False


async def back_in(pilot: Any, room: Screen[Any]) -> bool:
    """Go back into a room from what an action opened, where that can be."""
    for _ in range(4):
        if room not in pilot.app.screen_stack:
            return False
        if pilot.app.screen is room and not room.query(Input):
            return True
        await do(pilot, "escape")
    return False


def leave(screen: Screen[Any]) -> None:
    """Let a session of a room go, so that the next one can begin."""
    if isinstance(screen, CloseOutRoom):
        screen.running.release()


async def walk(
    services: ServicesForTests, state: State, done: dict[type, set[str]]
) -> list[str]:
    """Do all that can be done in a state and was not yet; what did nothing."""
    inert: list[str] = []
    is_going = True
    while is_going:
        is_going = False
        screen = state.make(services)
        app = RoomsApp(services, screen)
        async with app.run_test(size=state.size) as pilot:
            await settle(pilot)
            await do(pilot, *state.keys)
            room = room_of(app)
            own = done.setdefault(type(room), set())
            check_keys(room)
            while left := [
                one for one in possible(room) if one.id not in {*own, *inert}
            ]:
                is_going = True
                if await acts(pilot, left[0]):
                    own.add(left[0].id)
                else:
                    inert.append(left[0].id)
                if not await back_in(pilot, room):
                    break
                check_keys(room)
        leave(screen)
    return inert


# The longest walks are left to the long family.
LONG = frozenset(
    {
        *("builder", "card", "each-loop", "editor", "fit"),
        *("library", "pick", "plots", "setup", "warm-up"),
    }
)


@pytest.mark.parametrize(
    "name",
    [pytest.param(n, marks=pytest.mark.slow) if n in LONG else n for n in WALKS],
)
async def test_every_action_of_a_room_does_something(services, name):
    done: dict[type, set[str]] = {}
    inert: set[str] = set()
    for state in WALKS[name]:
        inert |= set(await walk(services, state, done))
    ((room, own),) = done.items()
    assert {(room.__name__, one) for one in inert - own} <= NEEDS.keys()
    missing = {(room.__name__, one.id) for one in room.ACTIONS}
    missing -= ELSEWHERE | NEEDS.keys()
    assert missing <= {(room.__name__, one) for one in own}


def test_every_room_is_walked():
    """Each walk is of one class of rooms, and no class is left out."""
    assert len(every_room()) == len(WALKS)


@cache
def every_room() -> tuple[type[Room[Any]], ...]:
    """Every class of rooms there is."""
    for module in walk_packages(rooms.__path__, f"{rooms.__name__}."):
        import_module(module.name)
    found: list[type[Room[Any]]] = []
    left: list[type[Room[Any]]] = [Room]
    while left:
        one = left.pop()
        left += one.__subclasses__()
        if one not in found and one.__name__ not in FRAMES:
            found.append(one)
    return tuple(found)


@pytest.mark.parametrize("room", every_room(), ids=lambda one: one.__name__)
def test_every_action_has_a_whole_sentence_keys_with_names_and_an_id(room):
    ids = [one.id for one in room.ACTIONS]
    assert len(ids) == len(set(ids))
    for one in (*room.ACTIONS, *ASKING):
        assert one.sentence[0].isupper(), one
        assert one.sentence.endswith("."), one
        assert len(one.sentence) <= 78, one
        assert one.id.isidentifier(), one
        assert one.names or one.mapped, one
        for key in one.names:
            # Textual calls - and + so.
            assert is_key_name(key) or key in {"minus", "plus"}, one


@pytest.mark.parametrize("room", every_room(), ids=lambda one: one.__name__)
def test_every_room_lists_its_keys(room):
    assert "show_help" in {one.id for one in room.ACTIONS}


def test_no_room_takes_a_key_besides_its_actions():
    """Every room takes its keys where the frame does, or adds only a condition."""
    own = {one.__name__ for one in every_room() if "press" in vars(one)}
    # Both wait for a thread, and take fewer keys meanwhile.
    assert own == {"BuilderRoom", "CloseOutRoom"}
    assert [one for one in every_room() if "on_key" in vars(one)] == []


# The lists of keys


@pytest.mark.parametrize("name", [one for one in WALKS if "keys" not in one])
async def test_the_list_of_keys_as_it_was_looked_at(services, name):
    state = WALKS[name][0]
    screen = state.make(services)
    app = RoomsApp(services, screen)
    async with app.run_test(size=SIZES[0]) as pilot:
        await settle(pilot)
        await do(pilot, *state.keys)
        room = room_of(app)
        await press(pilot, "f1")
        assert isinstance(app.screen, RoomKeys)
        listed = "\n".join(help_text(room))
        for one in room.actions:
            assert one.sentence in listed
        for cells, lines in SIZES:
            await pilot.resize_terminal(cells, lines)
            await settle(pilot)
            text = "\n".join(line.rstrip() for line in texts(app)) + "\n"
            same_as_golden(f"keys/{name}-{cells}x{lines}.txt", text)
    leave(screen)


def help_text(room: Room[Any]) -> list[str]:
    rows = help_rows(help_lines(room.actions, room), 200)
    return ["".join(span.text for span in row) for row in rows]


async def test_the_list_of_keys_has_what_is_possible_first(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        lines = help_lines(room_of(app).actions, room_of(app))
    possible_now = [line.is_possible for line in lines]
    assert possible_now == sorted(possible_now, reverse=True)
    assert "Build a circuit for these wishes." in {line.sentence for line in lines[:9]}


async def test_a_key_the_user_gave_to_the_list_opens_it(services):
    from whistlestop.driver.keymap import build_keymap

    services.keymap = build_keymap({"keys": ["f2"]})
    app = RoomsApp(services, KitRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "question_mark")
        assert isinstance(app.screen, KitRoom)
        await press(pilot, "f2")
        assert isinstance(app.screen, RoomKeys)


# Actions by themselves


class Shelf:
    """Stands for a room."""

    level = 0
    is_open = True

    @action("x delete", "remove", drop=2, held=ONCE)
    def remove(self) -> None:
        """Remove
        the chosen line."""
        self.level = -1

    @action({"left": -1, "minus": -1, "right": 1}, lambda self: "move" * self.is_open)
    def move(self, step: int) -> None:
        """Move it."""
        self.level += step

    quiet = Action("quiet", "q", "", "Say nothing.", lambda _: None, held=FRESH)


class Upper(Shelf):
    """A room based on another."""

    @action("home", "top", when=lambda self: self.is_open)
    def top(self) -> None:
        """Go to the top."""

    def remove(self) -> None:
        """Remove it differently."""
        self.level = 9


def test_a_methods_name_and_docstring_are_the_actions_id_and_sentence():
    remove, move, quiet = actions_of(Shelf)
    assert (remove.id, remove.sentence) == ("remove", "Remove the chosen line.")
    assert (remove.names, remove.drop) == (("x", "delete"), 2)
    assert (move.short_keys, move.long_keys) == ("← →", "← - →")
    assert quiet.id == "quiet"


def test_a_room_has_its_own_actions_first_and_does_them_its_own_way():
    assert [one.id for one in actions_of(Upper)] == ["top", "remove", "move", "quiet"]
    room = Upper()
    actions_of(Upper)[1].run(room, "x")
    assert room.level == 9


def test_a_key_gives_its_value_and_rests_with_those_that_do_the_same():
    _, move, _ = actions_of(Shelf)
    room = Shelf()
    move.run(room, "minus")
    assert room.level == -1
    assert move.alike("minus") == ("left", "minus")


def test_the_key_line_names_what_is_possible_and_has_a_label():
    room = Upper()
    entries = [tuple(entry) for entry in key_line(actions_of(Upper), room)]
    assert entries == [("Home", "top", 0), ("x", "remove", 2), ("← →", "move", 0)]
    room.is_open = False
    assert [entry.key for entry in key_line(actions_of(Upper), room)] == ["x"]


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("x", "x"), ("X", "X"), ("escape", "Esc"), ("ctrl+z", "Ctrl+Z"),
        ("shift+up", "Shift ↑"), ("question_mark", "?"), ("pagedown", "PgDn"),
        ("f1", "F1"), ("space", "Space"),
    ],
)  # fmt: skip
def test_a_key_is_called_what_a_person_calls_it(key, text):
    assert key_text(key) == text
