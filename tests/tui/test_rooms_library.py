"""The library room: finding, marks by kit and limits, cards and their neighbours."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import groupby
from pathlib import Path
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import make_services

from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.kit.means import Means
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import parse_load
from whistlestop.domain.text import first_hostile
from whistlestop.library import drills, exercises
from whistlestop.library.cards import cards
from whistlestop.library.cautions import caution_for
from whistlestop.library.kit_words import PLACES
from whistlestop.tui.rooms.frame.filtering import FilterEntry, group_row, narrowed
from whistlestop.tui.rooms.library.card_lines import (
    drill_card,
    kit_words,
    station_card,
    tempo_text,
    ways,
)
from whistlestop.tui.rooms.library.known import KnownLibrary, read_known
from whistlestop.tui.rooms.library.lines import (
    drill_entries,
    entry_rows,
    station_entries,
)
from whistlestop.tui.rooms.library.room import CardRoom, LibraryRoom
from whistlestop.tui.widgets.safe_text import plain, width_of

SIZE = (80, 24)
TODAY = date(2026, 3, 12)
BELL = Kit(weights=(Weight("kettlebell", parse_load("12 kg")),), mats=1)
HOSTILE_STATION = """\
format = 1
[[station]]
id = "my-sled"
name = "[/] [bold]Sled[/bold] 日本語の体操"
call_name = "SLED"
region = "legs"
pattern = "squat"
kit = ["[link=x]sled[/]"]
key_point = "[red]Push[/] a[@click=app.quit]b"
"""


def known(kit: Kit | None = BELL, *limits: Limit) -> KnownLibrary:
    """The library that ships beside a kit and limits."""
    needs = {key: card.needs for key, card in cards().items()}
    means = Means(exercises(), kit, limits, TODAY, needs, frozenset(PLACES))
    return KnownLibrary(exercises(), cards(), drills(), means)


def said(rows) -> str:
    return "\n".join(plain(one) for one in rows)


async def type_text(pilot, words: str) -> None:
    names = {" ": "space", "-": "minus"}
    for character in words:
        await pilot.press(names.get(character, character))
    await pilot.pause()


# Marks


@pytest.mark.parametrize(
    ("exercise", "mark"),
    [
        ("push-up", "can"),
        ("goblet-squat", "can"),
        ("bar-back-squat", "swap"),
        ("front-rack-squat", "swap"),
        ("wall-sit", "can"),
        ("chair-stand", "swap"),
    ],
)
def test_a_mark_says_what_the_kit_allows(exercise, mark):
    assert known().mark(exercise) == mark


def test_nothing_in_a_family_that_can_be_done_is_a_cannot():
    """With no kit at all no pull is left: the library has none without."""
    bare = known(Kit())
    marks = {key: bare.mark(key) for key in exercises()}
    assert set(marks.values()) == {"can", "swap", "cannot"}
    for key, mark in marks.items():
        family = cards()[key].family
        able = [
            other
            for other, card in cards().items()
            if card.family == family
            and any(set(way) <= set(PLACES) for way in card.needs)
        ]
        alike = [
            other
            for other in able
            if exercises()[other].region == exercises()[key].region
            or exercises()[other].pattern == exercises()[key].pattern
        ]
        assert (mark == "can") == (key in able), key
        assert mark != "swap" or able, key
        assert mark != "cannot" or not alike, key


@pytest.mark.parametrize("words", ["quiet", "low ceiling"])
def test_a_room_can_be_searched_for(words):
    """A hotel room at night: quiet, under a low ceiling. No exercise is called so."""
    here = known(BELL)
    found = {one.value.id for one in narrowed(station_entries(here), "", words)}
    expected = {
        "quiet": {k for k, c in cards().items() if c.noise == "quiet"},
        "low ceiling": {k for k, c in cards().items() if c.ceiling == "low"},
    }[words]
    assert found == expected
    assert 0 < len(found) < len(exercises())


def test_without_a_kit_list_nothing_is_marked_as_missing():
    assert {known(None).mark(key) for key in exercises()} == {"unknown"}
    assert known(None).drill_mark("one-leg-stand") == "unknown"


def test_what_is_left_out_is_never_a_can_and_its_swap_is_not_left_out():
    wrists = Limit("caution", "Wr", date(2026, 4, 2))
    assert known(Kit(), wrists).mark("push-up") == "cannot"
    here = known(BELL, wrists)
    assert here.mark("push-up") == "swap"
    swap = here.swap("push-up")
    assert swap is not None
    assert "Wr" not in exercises()[swap.exercise].cautions
    over = known(Kit(), replace(wrists, until=date(2026, 3, 11)))
    assert over.mark("push-up") == "can"


@pytest.mark.parametrize("exercise", sorted(exercises()))
def test_a_swap_can_be_done_and_is_of_the_same_family(exercise):
    here = known(Kit())
    swap = here.swap(exercise)
    if swap is None:
        assert here.mark(exercise) in {"can", "cannot"}
        return
    assert here.mark(exercise) in {"can", "swap"}
    assert here.can(swap.exercise)
    assert cards()[swap.exercise].family == cards()[exercise].family


# Finding


def test_typing_finds_by_name_pattern_kit_and_without_accents():
    entries = station_entries(known())

    def ids(section: str, typed: str) -> list[str]:
        return [entry.value.id for entry in narrowed(entries, section, typed)]

    assert "goblet-squat" in ids("", "gob squ")
    assert "goblet-squat" in ids("legs", "GOBLET")
    assert ids("arms", "goblet") == []
    assert "push-up" in ids("", "horizontal-push")
    assert all("kettlebell" in exercises()[one].kit for one in ids("", "kettlebell sw"))
    accented = [FilterEntry("x", "Überzug-Übung", "", "")]
    assert narrowed(accented, "", "uber")
    assert narrowed(accented, "", "ubung")
    assert not narrowed(accented, "", "zug")


@given(st.text(max_size=20), st.sampled_from(["", "legs", "core", "arms", "whole"]))
def test_narrowing_never_adds_and_each_group_stands_once(typed, section):
    entries = station_entries(known(None))
    found = narrowed(entries, section, typed)
    assert len({id(one) for one in found}) == len(found)
    assert all(one.section == section or not section for one in found)
    groups = [group for group, _ in groupby(found, key=lambda one: one.group)]
    assert len(set(groups)) == len(groups)
    assert set(narrowed(entries, section, typed + " zq")) <= set(found)


def test_nothing_typed_leaves_the_order():
    entries = station_entries(known(None))
    assert narrowed(entries, "", "  ") == list(entries)


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("plank", "forearm-plank"),
        ("RDL", "romanian-deadlift"),
        ("burpee", "squat-thrust"),
        ("plnk", "forearm-plank"),
    ],
)
def test_the_best_answer_is_chosen_first(typed, first):
    assert narrowed(station_entries(known()), "", typed)[0].value.id == first


def test_every_station_and_drill_stands_in_the_list_once():
    ids = [entry.value.id for entry in station_entries(known())]
    assert sorted(ids) == sorted(exercises())
    ids = [entry.value.id for entry in drill_entries(known())]
    assert sorted(ids) == sorted(drills())
    rows, row_ranges = entry_rows(station_entries(known()), 5, 77)
    assert len(row_ranges) == len(exercises())
    assert all(width_of(one) <= 77 for one in rows)
    assert sum(plain(one).startswith("▌") for one in rows) == 1


@given(st.integers(0, 7), st.integers(20, 100))
def test_the_open_shelf_is_always_in_sight(place, cells):
    groups = ("all", "balance", "coordination", "juggling", "rope", "reaction",
               "footwork", "down-shift")  # fmt: skip
    spans = group_row(groups, place, cells)
    before = 0
    for span in spans:
        if span.tone == "board":
            assert span.text.strip() == groups[place]
            assert before + len(groups[place]) <= cells
        before += cell_len(span.text)


# Cards


@pytest.mark.parametrize("exercise", sorted(exercises()))
def test_a_card_says_everything_the_library_knows(exercise):
    own, card = exercises()[exercise], cards()[exercise]
    for cells in (77, 117):
        made = station_card(known(), exercise, 0, cells)
        assert all(width_of(one) <= cells for one in made.rows)
        text = " ".join(said(made.rows).split())
        for words in (card.set_up, card.key_point, card.mistake, card.ease):
            assert words in text
        assert own.position.replace("-", " ") in text
        assert own.tempo is None or own.tempo in text
        for code in own.cautions:
            assert caution_for(code, exercise, own.features).sheet in text
        for way in (*card.easier, *card.harder):
            assert way.by in text
        assert len(made.row_ranges) == len(card.easier) + len(card.harder)


@pytest.mark.parametrize("drill", sorted(drills()))
def test_a_card_of_a_drill_has_its_ladder_and_its_gate(drill):
    info = drills()[drill]
    text = " ".join(said(drill_card(known(), drill, 77).rows).split())
    for level in info.ladder:
        assert level in text
    assert info.gate in text
    assert ("Before you close your eyes" in text) == bool(info.gate)


@pytest.mark.parametrize(
    ("tempo", "words"),
    [
        ("3-1-1-0", "3-1-1-0 (down 3, pause 1, up 1, pause 0 s)"),
        ("X-0-1-0", "X-0-1-0"),
        ("hold", "hold"),
        ("flow", "a steady flow"),
        (None, "no tempo"),
    ],
)
def test_a_tempo_is_said_so_that_it_cannot_be_misread(tempo, words):
    assert tempo_text(tempo) == words


@pytest.mark.parametrize(
    ("needs", "words"),
    [
        ([()], "none"),
        ([("weight",), ("backpack",)], "weight; or backpack"),
        ([("mat", "band"), ()], "mat and band; or no kit at all"),
        ([("mat",), ("mat",)], "mat"),
    ],
)
def test_kit_and_its_alternatives_are_said(needs, words):
    assert kit_words(needs) == words


def test_following_harder_and_then_easier_leads_back():
    """But from one leg with no weight to two weights, which is no easier."""
    here = known()
    lost = set()
    for exercise in exercises():
        for way in ways(here, exercise):
            back = {(w.to, w.is_harder) for w in ways(here, way.to)}
            if way.is_harder and (exercise, False) not in back:
                lost.add((exercise, way.to))
    assert lost == {("staggered-deadlift", "one-leg-romanian-deadlift")}


# The room


@pytest.mark.parametrize("size", [*SIZES, (40, 12), (20, 6), (1, 1)], ids=str)
@pytest.mark.parametrize("takes", ["", "station", "drill"])
async def test_the_room_fills_its_screen_and_no_more(tmp_path: Path, size, takes):
    app = RoomsApp(make_services(tmp_path), LibraryRoom(takes=takes))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, "down", "end", "pageup", "tab", "shift+tab", "s", "right")
        lines = texts(app)
        assert len(lines) == size[1]
        for line in lines:
            assert cell_len(line) == size[0]
            assert first_hostile(line) is None


async def test_typing_narrows_enter_opens_and_escape_goes_back_step_by_step(tmp_path):
    app = RoomsApp(make_services(tmp_path), LibraryRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "148 stations, 48 drills" in whole(app)
        await type_text(pilot, "gob squ")
        assert "2 found" in whole(app)
        await press(pilot, "enter")
        assert "Station ━━ Goblet squat ━" in texts(app)[0]
        await press(pilot, "enter")
        assert "Station ━━ Goblet squat to a chair" in texts(app)[0]
        await press(pilot, "down", "enter")
        assert "Station ━━ Goblet squat ━" in texts(app)[0]
        await press(pilot, "escape")
        assert "Station ━━ Goblet squat to a chair" in texts(app)[0]
        await press(pilot, "escape", "escape")
        assert "find gob squ" in whole(app)
        await press(pilot, "backspace")
        assert "find gob sq" in whole(app)
        await press(pilot, "escape")
        assert "Type to find: " in whole(app)
        assert app.results == []
        await press(pilot, "escape")
    assert app.results == [None]


async def test_shelves_are_gone_through_with_tab(tmp_path):
    app = RoomsApp(make_services(tmp_path), LibraryRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        for first in ("Squat", "Anti extension", "Horizontal push"):
            await press(pilot, "tab")
            if first != "Squat":
                assert "━━ Squat" not in whole(app)
        await press(pilot, "shift+tab", "shift+tab", "shift+tab", "shift+tab")
        assert "━━ Balance" in whole(app)
        await press(pilot, "enter")
        assert texts(app)[0].startswith("━━ Drill ━━")


async def test_nothing_found_is_said_and_nothing_opens(tmp_path):
    app = RoomsApp(make_services(tmp_path), LibraryRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await type_text(pilot, "zzz")
        assert "nothing found" in whole(app)
        await press(pilot, "enter", "right", "down", "end")
        assert "nothing found" in whole(app)


async def test_where_one_is_to_be_taken_enter_gives_its_id(tmp_path):
    app = RoomsApp(make_services(tmp_path), LibraryRoom(takes="station", at="push-up"))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "▌" in next(line for line in texts(app) if "  Push-up" in line[:14])
        await press(pilot, "enter")
    assert app.results == ["push-up"]


async def test_a_station_can_be_taken_from_its_card(tmp_path):
    app = RoomsApp(make_services(tmp_path), LibraryRoom(takes="station", at="push-up"))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "right")
        assert "t use it" in texts(app)[-1]
        await press(pilot, "enter", "t")
    assert app.results == [ways(known(), "push-up")[0].to]


async def test_own_stations_stand_beside_the_others_and_do_no_harm(tmp_path):
    services = make_services(tmp_path)
    (tmp_path / "stations.toml").write_text(HOSTILE_STATION, encoding="utf-8")
    app = RoomsApp(services, LibraryRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert "149 stations" in whole(app)
        await type_text(pilot, "sled")
        assert "[/] [bold]Sled[/bold]" in whole(app)
        await press(pilot, "enter")
        assert "your own" in texts(app)[0]
        assert "[red]Push[/] a[@click=app.quit]b" in whole(app)
        for line in texts(app):
            assert cell_len(line) == 120
        assert not app._exit


async def test_a_broken_own_file_is_said_and_the_library_is_there(tmp_path):
    services = make_services(tmp_path)
    (tmp_path / "stations.toml").write_text("format = 2\n")
    (tmp_path / "kit.toml").write_text("formt = 1\n")
    app = RoomsApp(services, LibraryRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert "148 stations" in whole(app)
        assert "stations.toml:1:10: format is 2" in whole(app)
    assert any(
        "The kit cannot be used" in one for one in read_known(services).problems_found
    )


async def test_a_name_past_every_check_breaks_no_line(tmp_path):
    """Built by hand: names with escapes, newlines and marks that are never read."""
    evil = "\x1b[31mred\x07 [/]\nline\u202e" + "W" * 90
    own = replace(exercises()["push-up"], id="evil", name=evil, kit=(evil,))
    card = replace(cards()["push-up"], id="evil", set_up=evil, mistake=evil)
    base = known()
    made = replace(
        base,
        stations=MappingProxyType({**base.stations, "evil": own}),
        cards=MappingProxyType({**base.cards, "evil": card}),
        own=frozenset({"evil"}),
    )
    for room in (LibraryRoom(known=made, at="evil"), CardRoom(made, "evil")):
        app = RoomsApp(make_services(tmp_path), room)
        async with app.run_test(size=(200, 60)) as pilot:
            await settle(pilot)
            for line in texts(app):
                assert cell_len(line) == 200
                assert first_hostile(line) is None


async def test_ascii_only_means_ascii_only(tmp_path):
    services = make_services(tmp_path)
    screen = replace(services.settings.screen, ascii=True)
    services.settings = replace(services.settings, screen=screen)
    app = RoomsApp(services, LibraryRoom(takes="drill"))
    async with app.run_test(size=(60, 30)) as pilot:
        await settle(pilot)
        await press(pilot, *["tab"] * 7)
        await type_text(pilot, "b")
        assert whole(app).isascii()
